"""Makes a sweep folder stop by stop, so that no crash can lose a stop that is listed.

The order is the guarantee: a recording is written under a name of its own and synced, the
folder is synced, and only then is its row added to stops.csv and synced.  A crash before the
row leaves a recording that no row lists; a crash within it leaves half a row, which readers
leave out and a resumed sweep removes.  No recording is ever written to again.

What it gives
-------------
FolderWriter   create, open or resume a folder; add puts one stop into it
"""

import contextlib
import os
from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from listen.errors import BadDial, BadFolder, CannotWrite
from listen.folder.audio import encode
from listen.folder.disk import (
    append_row,
    csv_row,
    one_line,
    replace_file,
    sync_folder,
    write_all,
    writing,
)
from listen.folder.settings import FILE as SETTINGS
from listen.folder.settings import SweepSettings
from listen.folder.table import COLUMNS, Stop, stops_of
from listen.folder.text import find_file, listed, names_in, plain_name, read_sheet
from listen.radio import DIAL_LIMITS_MHZ

STOPS = "stops.csv"


class FolderWriter:
    """A sweep folder that is being written; one writer a folder.

    path    the folder
    stops   the stops that it lists, in order

    Made by create, resume or open.
    """

    def __init__(
        self, path: Path, stops: tuple[Stop, ...] = (), columns: tuple[str, ...] = (), rows: int = 1
    ) -> None:
        self.path = path
        self._stops = list(stops)
        self._columns = columns  # none: stops.csv must be written anew before a row is added
        self._rows = rows
        self._table = find_file(path, STOPS) or path / STOPS

    @property
    def stops(self) -> tuple[Stop, ...]:
        """The stops listed so far, in the order of the walk."""
        return tuple(self._stops)

    @staticmethod
    def holds_sweep(path: str | Path) -> bool:
        """Whether a folder holds a sweep; False where one can be begun.  Nothing is made.

        Raises CannotWrite for a path that is a file, or a folder of something else.
        """
        folder = Path(path)
        if folder.exists() and not folder.is_dir():
            raise CannotWrite(f"{folder} is a file: give another name for the sweep folder")
        with writing(folder, 0):
            names = os.listdir(folder) if folder.exists() else []
        names = [name for name in names if not name.startswith(".")]
        if {STOPS, SETTINGS} & {name.lower() for name in names}:
            return True
        others = [name for name in names if not name.lower().endswith((".toml", ".txt", ".md"))]
        if others:
            raise CannotWrite(
                f"{folder} holds other files ({listed(sorted(others), 4)}): name a new folder "
                "for the sweep"
            )
        return False

    @classmethod
    def create(cls, path: str | Path, settings: SweepSettings | None = None) -> "FolderWriter":
        """A new sweep folder, its settings written.

        Raises CannotWrite for a path that is a file, a folder that holds a sweep or files of
        something else, or a place where nothing can be written.
        """
        folder = Path(path)
        with writing(folder, 0):
            if cls.holds_sweep(folder):
                raise CannotWrite(
                    f"{folder} holds a sweep already: resume it, or name a new folder"
                )
            folder.mkdir(parents=True, exist_ok=True)
            sync_folder(folder.parent)
            replace_file(folder / SETTINGS, (settings or SweepSettings()).as_toml())
            replace_file(folder / STOPS, csv_row(COLUMNS))
        return cls(folder, (), COLUMNS)

    @classmethod
    def resume(cls, path: str | Path) -> "FolderWriter":
        """The writer of a folder that was begun before; `stops` tells what is there.

        Nothing is changed until the next stop is added.  Raises BadFolder or CannotRead where
        its stops.csv cannot be read.
        """
        folder = Path(path)
        names_in(folder)
        table_path = find_file(folder, STOPS)
        if table_path is None:
            if find_file(folder, SETTINGS) is None:
                raise BadFolder(f"{folder} holds no sweep to resume: it has no stops.csv")
            return cls(folder)
        sheet = read_sheet(table_path)
        if not any(any(row) for row in sheet.rows):
            return cls(folder)
        table = stops_of(sheet, table_path.name)
        known = {plain_name(column) for column in table.columns}
        usable = sheet.plain and set(COLUMNS) <= known
        return cls(folder, table.stops, table.columns if usable else (), len(sheet.rows))

    @classmethod
    def open(cls, path: str | Path, settings: SweepSettings | None = None) -> "FolderWriter":
        """Resume the folder if it holds a sweep, else create it with these settings.

        A sweep that is there keeps its own settings: read_settings tells them.
        """
        return cls.resume(path) if cls.holds_sweep(path) else cls.create(path, settings)

    def add(
        self,
        samples: NDArray[np.float32],
        sample_rate_hz: int,
        dial_mhz: float,
        console: Literal["on", "off"] = "on",
        at: datetime | None = None,
        extra: Mapping[str, str] | None = None,
    ) -> Stop:
        """Put one stop on disk and list it; when this returns, both are synced.

        samples         shape (n, channels) or (n,), full scale ±1.0
        sample_rate_hz  samples a second, 8000 to 192000
        dial_mhz        what the dial shows, MHz
        extra           cells for further columns, by column name

        Raises BadClip for samples that are no recording; CannotWrite if the disk refuses:
        the stops listed before stay whole.
        """
        more = {one_line(name): one_line(cell) for name, cell in (extra or {}).items()}
        low_mhz, high_mhz = DIAL_LIMITS_MHZ
        if not low_mhz <= dial_mhz <= high_mhz:
            raise BadDial(
                f"a dial at {dial_mhz:g} MHz cannot be listed: give what it showed in MHz, "
                f"{low_mhz:g} to {high_mhz:g}"
            )
        if console not in ("on", "off"):
            raise BadFolder(f"console came as {console!r}: a stop is listed as on or off")
        if {plain_name(name) for name in more} & {*COLUMNS, ""}:
            raise BadFolder(
                f"extra columns {listed(more)} came: none may be named as a column that is"
            )
        data = encode(samples, sample_rate_hz)
        with writing(self.path, len(self._stops)):
            self._widen(more)
            file = self._write_recording(data, dial_mhz, console)
            cells = {
                "file": file,
                "dial_mhz": repr(float(dial_mhz)),
                "console": console,
                "at": at.isoformat() if at else "",
            }
            row = [cells.get(plain_name(c), more.get(c, "")) for c in self._columns]
            append_row(self._table, csv_row(row).encode())
        stop = Stop(
            self._rows + 1,
            file,
            float(dial_mhz),
            console,
            at=at,
            extra={c: more.get(c, "") for c in self._columns if plain_name(c) not in COLUMNS},
        )
        self._rows += 1
        self._stops.append(stop)
        return stop

    def _write_recording(self, data: bytes, dial_mhz: float, console: str) -> str:
        """Write a recording under a name that nothing has, and its name."""
        dial = f"{dial_mhz:07.3f}".removesuffix("0")
        stem = f"{len(self._stops) + 1:03d}-{dial}-{console}"
        for attempt in range(1, 1000):
            name = f"{stem}.flac" if attempt == 1 else f"{stem}-{attempt}.flac"
            path = self.path / name
            try:
                handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
            except FileExistsError:
                continue
            try:
                write_all(handle, data)
            except BaseException:
                with contextlib.suppress(OSError):
                    path.unlink()  # half a recording, that nothing lists
                raise
            sync_folder(self.path)
            return name
        raise CannotWrite(
            f"{self.path} holds a thousand recordings named {stem}: name a new folder"
        )

    def _widen(self, extra: Mapping[str, str]) -> None:
        """Make stops.csv one at whose end a row with these further columns can be added."""
        new = [name for name in extra if name not in self._columns]
        if self._columns and not new:
            return
        header: tuple[str, ...] = COLUMNS
        rows: list[Sequence[str]] = []
        if self._table.exists():
            sheet = read_sheet(self._table)
            filled = [row for row in sheet.rows if any(row)]
            if filled:
                header, rows = filled[0], list(filled[1:])
                if stops_of(sheet, self._table.name).cut_off:
                    rows.pop()
        known = {plain_name(column) for column in header}
        columns = (*header, *(c for c in COLUMNS if c not in known))
        columns = (*columns, *(name for name in extra if name not in columns))
        wide = [(*row, *("",) * (len(columns) - len(row))) for row in rows]
        replace_file(self._table, "".join(map(csv_row, (columns, *wide))))
        self._columns = columns
        self._rows = 1 + len(rows)
