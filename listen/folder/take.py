"""One long take and its stops as a sweep folder.

The folder holds a copy of the take, byte for byte, and a stops.csv whose rows name parts of
it.  The original is only read.  A copy rather than a link, since a later edit of either must
not reach the other, and rather than a file a stop, since then a wrong mark would need a new
cut: this way it needs a number in stops.csv.  A take that lies in the folder already stays
where it is.

What it gives
-------------
name_in      the name that the take gets in the folder
write_take   the folder on disk: the take, sweep.toml, and at the very end stops.csv
"""

import os
from collections.abc import Sequence
from pathlib import Path

from listen.errors import CannotWrite
from listen.folder.disk import copy_in, csv_row, one_line, replace_file, sync_folder, writing
from listen.folder.settings import FILE as SETTINGS
from listen.folder.settings import TO_FILL_IN, SweepSettings
from listen.folder.table import COLUMNS, Stop
from listen.folder.text import listed

STOPS = "stops.csv"
BESIDE = (".toml", ".txt", ".md", ".csv", ".tsv")  # may lie in the folder before


def name_in(take: Path) -> str:
    """The take's name, as a cell of a table and a path inside a folder can hold it."""
    letters = ("_" if letter in "\\/:" or ord(letter) < 32 else letter for letter in take.name)
    return one_line("".join(letters))


def write_take(
    folder: Path, take: Path, stops: Sequence[Stop], settings: SweepSettings | None = None
) -> None:
    """Write the folder: a copy of the take, the settings unless they are there, the stops.

    stops   as stops_from gives them, their file being name_in(take)

    Raises CannotWrite for a folder that holds a sweep or other files, or where nothing can be
    written.  Until stops.csv is there, the folder is no sweep, and a second attempt may use it.
    """
    name = name_in(take)
    with writing(folder, 0):
        if folder.exists() and not folder.is_dir():
            raise CannotWrite(f"{folder} is a file: name another folder with --out")
        there = _in_place(folder, take, name)
        _refuse_others(folder, {name} if there else set())
        folder.mkdir(parents=True, exist_ok=True)
        sync_folder(folder.parent)
        if not there:
            copy_in(take, folder / name)
        if not (folder / SETTINGS).exists():
            replace_file(folder / SETTINGS, settings.as_toml() if settings else TO_FILL_IN)
        replace_file(folder / STOPS, _table(stops))


def _in_place(folder: Path, take: Path, name: str) -> bool:
    """Whether the take itself, and no link to it, lies in the folder under that name."""
    inside = folder / name
    return inside.is_file() and not inside.is_symlink() and os.path.samefile(inside, take)


def _refuse_others(folder: Path, known: set[str]) -> None:
    names = sorted(os.listdir(folder)) if folder.is_dir() else []
    if STOPS in (name.lower() for name in names):
        raise CannotWrite(f"{folder} holds a sweep already: name a new folder with --out")
    others = [
        name
        for name in names
        if name not in known and name[0] != "." and not name.lower().endswith(BESIDE)
    ]
    if others:
        raise CannotWrite(
            f"{folder} holds other files ({listed(others, 4)}): name a new folder with --out"
        )


def _table(stops: Sequence[Stop]) -> str:
    """The text of a stops.csv with these stops."""
    more = list(dict.fromkeys(column for stop in stops for column in stop.extra))
    rows: list[Sequence[str]] = [(*COLUMNS, *more)]
    for stop in stops:
        cells = {
            "file": stop.file,
            "dial_mhz": repr(stop.dial_mhz),
            "console": stop.console,
            "start_s": f"{stop.start_s:.3f}",
            "end_s": "" if stop.end_s is None else f"{stop.end_s:.3f}",
            "at": stop.at.isoformat() if stop.at else "",
        }
        rows.append([*(cells[c] for c in COLUMNS), *(stop.extra.get(c, "") for c in more)])
    return "".join(map(csv_row, rows))
