"""Judged benches on disk, so that hours of them can be stopped and gone on with.

One file, benches.jsonl: a line of JSON a bench and condition, with what judged it.
"""

import json
import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

from listen.errors import BadFolder, CannotWrite

RECORDS = "benches.jsonl"


class Judgement(Protocol):
    """What was judged: under which condition, which bench, and all of it for JSON."""

    @property
    def condition(self) -> str:
        """The row of the table that it belongs to."""
        ...

    @property
    def seed(self) -> int:
        """Which bench."""
        ...

    def as_dict(self) -> dict[str, Any]:
        """The line that is kept."""
        ...


Judged = TypeVar("Judged", bound=Judgement)


class Kept(Generic[Judged]):
    """The judged benches of a folder: lines of JSON, each synced before the next.

    folder  None: they are only remembered
    how     what judges them: the code's fingerprint, and what the command line changed; None:
            nothing will be added, and whatever judged them will do
    read    makes one of a line's fields

    Raises BadFolder where they were judged in another way, or in several; CannotWrite.
    """

    def __init__(
        self, folder: Path | None, how: str | None, read: Callable[[dict[str, Any]], Judged]
    ) -> None:
        self.records: list[Judged] = []
        self.how = how
        self._path = None if folder is None else folder / RECORDS
        if self._path is None:
            return
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            text = self._path.read_text("utf-8") if self._path.exists() else ""
            if text and not text.endswith("\n"):  # the last line was torn
                text = text[: text.rfind("\n") + 1]
                os.truncate(self._path, len(text.encode()))
        except (OSError, UnicodeDecodeError) as why:
            raise CannotWrite(f"cannot keep judged benches in {folder}: {why}") from why
        for number, line in enumerate(text.splitlines(), 1):
            try:
                fields = json.loads(line)
                judged_by = fields["how"]
                self.records.append(read(fields))
            except (ValueError, KeyError, TypeError) as why:
                raise BadFolder(
                    f"{self._path}:{number} is no judged bench ({why}): delete that line"
                ) from why
            self.how = self.how or judged_by
            if judged_by != self.how:
                raise BadFolder(
                    f"{folder} holds benches judged in another way ({judged_by}; this is "
                    f"{self.how}): give a new --out"
                )

    def done(self) -> set[tuple[str, int]]:
        """Condition and seed of each."""
        return {(record.condition, record.seed) for record in self.records}

    def add(self, records: Iterable[Judged]) -> None:
        """Keep them; they are on disk when this returns."""
        lines = []
        for record in records:
            self.records.append(record)
            lines.append(json.dumps({**record.as_dict(), "how": self.how}) + "\n")
        if self._path is None:
            return
        try:
            with self._path.open("a", encoding="utf-8") as file:
                file.write("".join(lines))
                file.flush()
                os.fsync(file.fileno())
        except OSError as why:
            raise CannotWrite(f"cannot write to {self._path}: {why.strerror or why}") from why
