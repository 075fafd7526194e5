"""A log of what happened at the bench: a CSV file that grows a row at a time.

A row is on disk, synced, when `add` returns; only what a live meter writes twice a second is left
to the system, since a meter cannot wait for a disk.  A log that is there already goes on, where
its columns are the same, and a last line that a crash cut short is ended first.  Another file is
never touched.
"""

import csv
import io
import os
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
            there = _goes_on(path, columns)
            self._file = path.open("a" if there else "w", encoding="utf-8", newline="")
        except OSError as why:
            if isinstance(why, CannotWrite):
                raise
            raise CannotWrite(
                f"the log cannot be written to {path} ({why.strerror}): name another place "
                "with --log"
            ) from why
        if not there:
            self._write(_row(columns), True)
        elif _is_cut(path):
            self._write("\n", True)

    def add(self, synced: bool = True, **cells: Any) -> None:
        """One row; a column that is not given, or None, stays empty.

        synced  False: the system may keep it in memory for a while
        """
        unknown = cells.keys() - set(self._columns)
        assert not unknown, unknown
        self._write(_row(tuple(_cell(cells.get(name)) for name in self._columns)), synced)

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    def _write(self, text: str, synced: bool) -> None:
        try:
            self._file.write(text)
            self._file.flush()
            if synced:
                os.fsync(self._file.fileno())
        except OSError as why:
            raise CannotWrite(
                f"the log {self.path} cannot be written on ({why.strerror}): see that its disk "
                "is there and not full"
            ) from why


def _goes_on(path: Path, columns: tuple[str, ...]) -> bool:
    """Whether a log of these columns is there; False for nothing, or a header cut short."""
    if not path.exists():
        return False
    with path.open(encoding="utf-8", errors="replace", newline="") as file:
        first = file.readline()
    header = _row(columns)
    if not first.endswith("\n") and header.startswith(first):
        return False
    if next(csv.reader([first]), []) != list(columns):
        raise CannotWrite(
            f"{path} is there and is no log of this kind: give another name with --log"
        )
    return True


def _is_cut(path: Path) -> bool:
    with path.open("rb") as file:
        file.seek(-1, os.SEEK_END)
        return file.read(1) != b"\n"


def _row(cells: tuple[str, ...]) -> str:
    row = io.StringIO()
    csv.writer(row, lineterminator="\n").writerow(cells)
    return row.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return f"{value:g}" if isinstance(value, float) else str(value)
