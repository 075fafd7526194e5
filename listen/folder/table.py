"""The stops that a sweep folder lists, from the rows of its stops.csv.

Rows are in the order of the walk.  Dial positions are MHz, parts of recordings seconds from
the recording's start.  What is wrong with the table as such is a BadFolder that shows the
row; a part that cannot be, such as an end before its start, spoils that stop alone.

What it gives
-------------
stops_of      the stops, with sentences on what was odd about them
number_of     a number in a cell, whatever its decimal mark
dial_mhz_of   a dial position in a cell, or the refusal that shows its row
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Literal, cast

from listen.errors import BadFolder
from listen.folder.text import Sheet, listed, plain_name
from listen.radio import DIAL_LIMITS_MHZ

COLUMNS = ("file", "dial_mhz", "console", "start_s", "end_s", "at")
NEEDED = ("file", "dial_mhz")
_LIKELY = {
    "file": ("file_name", "filename", "name", "recording", "wav", "audio", "path", "files"),
    "dial_mhz": ("dial", "freq", "frequency", "mhz", "freq_mhz", "frequency_mhz", "fm", "station"),
}
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")


@dataclass(frozen=True, slots=True)
class Stop:
    """One row of stops.csv: a dial stop and the recording made there.

    row        its row in stops.csv as a spreadsheet counts them, the header being row 1
    file       the recording's name inside the folder
    dial_mhz   what the dial showed, MHz
    console    "on" or "off"
    start_s    where in the recording the stop begins, s
    end_s      where it ends, s; None: at the recording's end
    at         when it was recorded, where that is said
    extra      the cells of columns that this format does not know, by column name
    spoiled    why the row names nothing that can be measured, as a clause; empty when it does
    """

    row: int
    file: str
    dial_mhz: float
    console: Literal["on", "off"] = "on"
    start_s: float = 0.0
    end_s: float | None = None
    at: datetime | None = None
    extra: Mapping[str, str] = field(default_factory=dict, hash=False)
    spoiled: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """The stops of a stops.csv, its columns as their header spells them, and warnings."""

    stops: tuple[Stop, ...]
    columns: tuple[str, ...]
    cut_off: bool
    warnings: tuple[str, ...]


def stops_of(sheet: Sheet, name: str) -> Table:
    """The stops in a sheet, none if it has only a header.

    Raises BadFolder for a column that is missing, a dial that is no frequency, a console word
    that is neither on nor off, a file name that leaves the folder.
    """
    first = next((n for n, cells in enumerate(sheet.rows) if any(cells)), None)
    if first is None:
        raise BadFolder(
            f"{name} is empty: its first row must be file,dial_mhz and more, then a row a stop"
        )
    columns = sheet.rows[first]
    where = _where(columns, name)
    rows = [(n + 1, cells) for n, cells in enumerate(sheet.rows) if n > first and any(cells)]
    cut_off = bool(rows) and is_cut_off(sheet, columns)
    warnings = list(sheet.warnings)
    if cut_off:
        _, cells = rows.pop()
        warnings.append(
            f"The last row of {name} ({shown(cells)}) broke off while it was written: left out."
        )
    stops = []
    bad_times = []
    for number, cells in rows:
        stop, time_is_bad = _stop(number, cells, columns, where, name)
        stops.append(stop)
        if time_is_bad:
            bad_times.append(number)
    if bad_times:
        warnings.append(
            f"The time in row {listed(bad_times)} of {name} is not in the form "
            "2026-05-01T14:30:00: it is left out."
        )
    stops, mixed = _one_clock(stops, name)
    return Table(tuple(stops), columns, cut_off, (*warnings, *mixed, *_twice(stops, name)))


def is_cut_off(sheet: Sheet, columns: tuple[str, ...]) -> bool:
    """Whether the last row broke off while a live sweep wrote it.

    Live sweeps write every cell and a line break, so a last row with neither is half a row.
    Hand-made tables, which have no `at` column, may end without one.
    """
    live = "at" in (plain_name(column) for column in columns)
    return live and not sheet.ended and len(sheet.rows[-1]) < len(columns)


def shown(cells: tuple[str, ...]) -> str:
    """A row as it is quoted in a sentence."""
    text = ",".join(cells).rstrip(",")
    return text if len(text) <= 60 else text[:57] + "..."


def _where(columns: tuple[str, ...], name: str) -> dict[str, int]:
    """The place of each column that this format knows."""
    plain = [plain_name(column) for column in columns]
    for column in COLUMNS:
        if plain.count(column) > 1:
            raise BadFolder(f"{name} has {plain.count(column)} columns named {column}: keep one")
    for column in NEEDED:
        if column not in plain:
            came = listed([c for c in columns if c], 8)
            like = [c for c, p in zip(columns, plain, strict=True) if p in _LIKELY[column]]
            if like:
                raise BadFolder(
                    f"{name} has no column named {column}: rename {like[0]} to {column}"
                )
            raise BadFolder(
                f"{name} has no column named {column} in its first row, only {came}: name the "
                "columns file and dial_mhz, and console if it was switched"
            )
    return {column: plain.index(column) for column in COLUMNS if column in plain}


def _stop(
    number: int, cells: tuple[str, ...], columns: tuple[str, ...], where: dict[str, int], name: str
) -> tuple[Stop, bool]:
    """The stop in one row, and whether its time could not be read."""
    at_row = f"row {number} of {name} ({shown(cells)})"
    if any(cells[len(columns) :]):
        raise BadFolder(
            f"{at_row} has more cells than the {len(columns)} columns of the first row: put a "
            'number with a decimal comma in quotes ("95,75"), or write 95.75'
        )
    cell = {column: cells[n] if n < len(cells) else "" for column, n in where.items()}
    console = cell.get("console", "").lower() or "on"
    if console not in ("on", "off"):
        raise BadFolder(f"{at_row} says '{cell['console']}' under console: write on or off")
    start_s, end_s, spoiled = _part(cell.get("start_s", ""), cell.get("end_s", ""))
    at, time_is_bad = _time(cell.get("at", ""))
    known = set(where.values())
    extra = {
        column: cells[n]
        for n, column in enumerate(columns)
        if n not in known and column and n < len(cells)
    }
    return Stop(
        number,
        _inside(cell["file"], at_row),
        dial_mhz_of(cell["dial_mhz"], at_row),
        cast(Literal["on", "off"], console),
        start_s,
        end_s,
        at,
        extra,
        spoiled if cell["file"] else "its row names no recording",
    ), time_is_bad


def _inside(file: str, at_row: str) -> str:
    """The file name, if it cannot lead out of the folder."""
    parts = file.split("/")
    if file and (
        "\\" in file
        or file.startswith("/")
        or ".." in parts
        or re.match(r"[A-Za-z]:", file)
        or any(ord(letter) < 32 for letter in file)
    ):
        raise BadFolder(
            f"{at_row} names a file outside of the folder: copy the recording into the folder "
            "and give its name alone"
        )
    return file


def number_of(text: str, unit: str) -> float | None:
    """A number with a point or a decimal comma, perhaps followed by its unit."""
    bare = re.sub(rf"\s*{unit}\.?$", "", text.replace("\xa0", " ").strip(), flags=re.IGNORECASE)
    number = float(bare.replace(",", ".")) if _NUMBER.fullmatch(bare) else math.inf
    return number if math.isfinite(number) else None  # so many digits are no number either


def dial_mhz_of(text: str, at_row: str) -> float:
    """The dial position in a cell, MHz; BadFolder, naming the row, for what is none."""
    low_mhz, high_mhz = DIAL_LIMITS_MHZ
    dial_mhz = number_of(text, "mhz")
    if dial_mhz is not None and low_mhz <= dial_mhz <= high_mhz:
        return dial_mhz
    came = f"has '{text}' under dial_mhz" if text else "has nothing under dial_mhz"
    guess = ""
    if dial_mhz is not None and dial_mhz > 0:
        scaled = [dial_mhz / 10**n for n in (1, 2, 3, 4, 6)] + [dial_mhz * 1000]
        like = [mhz for mhz in scaled if 64 <= mhz <= 108.5]
        guess = f" (did you mean {like[0]:g}?)" if like else ""
    raise BadFolder(
        f"{at_row} {came}, which is no frequency of an FM dial: give what the dial showed in "
        f"MHz, such as 95.75{guess}"
    )


def _part(start: str, end: str) -> tuple[float, float | None, str]:
    """Where a stop's part of its recording begins and ends, and why that cannot be."""
    start_s = number_of(start, "s(ec)?") if start else 0.0
    end_s = number_of(end, "s(ec)?") if end else None
    if start_s is None:
        return 0.0, None, f"its start_s is {start}, not a number of seconds"
    if end and end_s is None:
        return start_s, None, f"its end_s is {end}, not a number of seconds"
    if start_s < 0:
        return start_s, end_s, f"its part starts before the recording does, at {start_s:g} s"
    if end_s is not None and end_s <= start_s:
        return start_s, end_s, f"its part ends at {end_s:g} s, not after its start at {start_s:g} s"
    return start_s, end_s, ""


def _time(text: str) -> tuple[datetime | None, bool]:
    if not text:
        return None, False
    try:
        return datetime.fromisoformat(text), False
    except ValueError:
        return None, True


def _one_clock(stops: list[Stop], name: str) -> tuple[list[Stop], tuple[str, ...]]:
    """The stops with times that can be compared: all with an offset from UTC, or none."""
    bare = [s.row for s in stops if s.at and s.at.utcoffset() is None]
    if not bare or not any(s.at and s.at.utcoffset() is not None for s in stops):
        return stops, ()
    kept = [replace(s, at=None) if s.row in bare else s for s in stops]
    return kept, (
        f"The time in row {listed(bare)} of {name} has no offset from UTC while others have: "
        "it is left out.",
    )


def _twice(stops: list[Stop], name: str) -> tuple[str, ...]:
    """Sentences on recordings, or parts of one, that more than one row lists."""
    seen: dict[tuple[str, float, float | None], list[Stop]] = {}
    for stop in stops:
        if stop.file:
            seen.setdefault((stop.file, stop.start_s, stop.end_s), []).append(stop)
    same: list[str] = []
    moved: list[str] = []
    for twins in seen.values():
        if len(twins) > 1:
            alike = len({(twin.dial_mhz, twin.console) for twin in twins}) == 1
            (same if alike else moved).append("rows " + listed([twin.row for twin in twins]))
    sentences = []
    if same:
        sentences.append(
            f"In {name}, {listed(same)} list one recording more than once: each row counts "
            "as a stop."
        )
    if moved:
        sentences.append(
            f"In {name}, {listed(moved)} list one recording as different stops: one of them must "
            "be wrong."
        )
    return tuple(sentences)
