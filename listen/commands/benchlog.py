"""A log of what happened at the bench: a CSV file that grows a row at a time.

Every row is on disk when it was written.  A log that is there already goes on, where its
columns are the same; another file is never touched.
"""

import csv
import io
from pathlib import Path
from typing import Any

from listen.errors import CannotWrite


class BenchLog:
    """One open log.

    Raises CannotWrite where the file cannot be written, or holds something else.
    """

    def __init__(self, path: Path, columns: tuple[str, ...]) -> None:
        self.path = path
        self._columns = columns
        try:
            there = path.exists() and path.stat().st_size > 0
            if there:
                with path.open(encoding="utf-8", errors="replace", newline="") as file:
                    first = next(csv.reader(file), [])
                if tuple(first) != columns:
                    raise CannotWrite(
                        f"{path} is there and is no log of this kind: give another name with --log"
                    )
            self._file = path.open("a", encoding="utf-8", newline="")
        except OSError as why:
            if isinstance(why, CannotWrite):
                raise
            raise CannotWrite(
                f"the log cannot be written to {path} ({why.strerror}): name another place "
                "with --log"
            ) from why
        if not there:
            self._write(columns)

    def add(self, **cells: Any) -> None:
        """One row; a column that is not given, or None, stays empty."""
        unknown = cells.keys() - set(self._columns)
        assert not unknown, unknown
        self._write(tuple(_cell(cells.get(name)) for name in self._columns))

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    def _write(self, cells: tuple[str, ...]) -> None:
        row = io.StringIO()
        csv.writer(row, lineterminator="\n").writerow(cells)
        try:
            self._file.write(row.getvalue())
            self._file.flush()
        except OSError as why:
            raise CannotWrite(
                f"the log {self.path} cannot be written on ({why.strerror}): see that its disk "
                "is there and not full"
            ) from why


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return f"{value:g}" if isinstance(value, float) else str(value)
