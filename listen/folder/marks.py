"""Time marks of one long take: what the dial showed from when on, as a person noted it.

A mark says that from a time of the recording on the dial stood at a place.  It holds until the
next one, less the time in which the dial was turned; the last one holds to the take's end.
A row that gives its end as well holds for just that part.

A row is `time dial`, `time dial console`, `start end dial` or `start end dial console`; with a
first row that names its columns, they may come in any order.  Times are seconds, m:ss or
h:mm:ss, counted from the take's beginning.  A dial of `-` says that nothing is to be used from
there on.

What it gives
-------------
read_marks   the marks of a file, whatever program saved it
stops_from   the stops that they make of a take
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Literal, cast

from listen.errors import BadFolder
from listen.folder.table import COLUMNS, Stop, dial_mhz_of, number_of, shown
from listen.folder.text import decode, listed, plain_name, read_bytes, rows_of

SHORTEST_STOP_S = 0.5  # what is left of a mark must last so long
SLACK_S = 0.5  # a mark written in whole seconds may overshoot the end by so much
NOTHING = ("-", "–", "—")
_NAMES = {
    "start": ("time", "start", "from", "begin", "mark", "at"),
    "end": ("end", "to", "until", "stop"),
    "dial": ("dial", "freq", "frequency", "mhz", "label", "title"),
    "console": ("console", "switch"),
}
_COLON_TIME = re.compile(r"(?:(\d{1,9}):)?(\d{1,9}):(\d{1,9}(?:[.,]\d*)?)")
_UNIT = re.compile(r"(?<=\d)[ \t]+(mhz|s|sec)\b", re.IGNORECASE)  # a number and its unit: one cell
_SWITCHED = re.compile(r"(.*\S)\s+(on|off)", re.IGNORECASE)

Console = Literal["on", "off"]


@dataclass(frozen=True, slots=True)
class Mark:
    """One row of a file of marks.

    row        as a spreadsheet counts it
    shown      the row as it is quoted in a sentence
    start_s    from when on, s
    end_s      until when, s; None: until the next mark
    dial_mhz   what the dial showed, MHz; None: nothing to be used
    console    "on" or "off", or None where the row does not say
    extra      the cells of other columns, by name
    """

    row: int
    shown: str
    start_s: float
    end_s: float | None
    dial_mhz: float | None
    console: Console | None
    extra: Mapping[str, str] = field(default_factory=dict, hash=False)


@dataclass(frozen=True, slots=True)
class Marks:
    """The marks of a file, in its order, with sentences on what had to be guessed."""

    name: str
    marks: tuple[Mark, ...]
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Table:
    """Rows of cells, and which column is which where a first row names them."""

    rows: tuple[tuple[int, tuple[str, ...]], ...]
    columns: tuple[str, ...] = ()
    where: Mapping[str, int] = field(default_factory=dict)


def seconds_of(text: str) -> float | None:
    """A time as a person writes it, in seconds: 75, 75.5 s, 1:15, 1:15,5 or 0:01:15.5."""
    clock = _COLON_TIME.fullmatch(text.strip())
    if clock is None:
        plain_s = number_of(text, "s(ec(onds?)?)?")
        return plain_s if plain_s is not None and plain_s >= 0 else None
    hours, minutes, seconds_s = clock[1], int(clock[2]), float(clock[3].replace(",", "."))
    if seconds_s >= 60 or (hours is not None and minutes >= 60):
        return None
    return 3600 * int(hours or 0) + 60 * minutes + seconds_s


def read_marks(path: Path) -> Marks:
    """The marks in a file: commas, semicolons, tabs or blanks; its first row may name columns.

    Raises CannotRead where it cannot be opened, BadFolder where a row is no mark, showing it.
    """
    text, _, warnings = decode(read_bytes(path), path.name)
    table = _table(text, path.name)
    if not table.rows:
        raise BadFolder(
            f"{path.name} holds no mark: write a row for each place of the dial, the time and what "
            "it showed, such as 1:15,95.75"
        )
    return Marks(path.name, tuple(_mark(n, c, table, path.name) for n, c in table.rows), warnings)


def _table(text: str, name: str) -> _Table:
    """The rows under the separator that makes marks of most of them."""
    first, _, rest = text.partition("\n")
    told = first.strip().lower()
    if told.startswith("sep=") and len(told) == 5:
        return _named(rows_of("\n" + rest, told[4], True, name))
    tables = [_named(rows_of(text, mark, True, name)) for mark in (";", "\t", ",")]
    whole = _UNIT.sub(r"\1", text)
    tables.append(_named(tuple(tuple(line.split()) for line in whole.split("\n"))))
    return max(tables, key=_reads)


def _reads(table: _Table) -> tuple[int, int]:
    """How many rows are marks; where none is, the separator that cuts the first row finest."""
    first = table.columns or (table.rows[0][1] if table.rows else ())
    return sum(_is_mark(cells, table) for _, cells in table.rows), len(first)


def _named(rows: Sequence[tuple[str, ...]]) -> _Table:
    """The rows that say anything, the first set apart where it names columns."""
    filled = [(n, c) for n, c in enumerate(rows, 1) if any(c) and not c[0].startswith("#")]
    if not filled or any(letter.isdigit() for letter in "".join(filled[0][1])):
        return _Table(tuple(filled))
    columns = filled[0][1]
    plain = [re.sub(r"_(s|sec|seconds|mhz)$", "", plain_name(column)) for column in columns]
    where = {
        key: next(n for n, column in enumerate(plain) if column in names)
        for key, names in _NAMES.items()
        if set(names) & set(plain)
    }
    return _Table(tuple(filled[1:]), columns, where)


def _cells(cells: tuple[str, ...], table: _Table) -> dict[str, str] | None:
    """The cells of a row by what they mean, or None where they are too many or too few."""
    if table.columns:
        if not {"start", "dial"} <= set(table.where) or any(cells[len(table.columns) :]):
            return None
        found = {key: cells[n] for key, n in table.where.items() if n < len(cells)}
    else:
        row = list(cells)
        while row and not row[-1]:
            row.pop()
        switched = _SWITCHED.fullmatch(row[-1]) if row else None
        if switched:
            row[-1:] = [switched[1], switched[2]]
        found = {"console": row.pop()} if row and row[-1].lower() in ("on", "off") else {}
        names = {2: ("start", "dial"), 3: ("start", "end", "dial")}.get(len(row))
        if names is None:
            return None
        found |= dict(zip(names, row, strict=True))
    switched = _SWITCHED.fullmatch(found.get("dial", ""))
    if switched and not found.get("console"):
        found |= {"dial": switched[1], "console": switched[2]}
    return found


def _is_mark(cells: tuple[str, ...], table: _Table) -> bool:
    """Whether a row reads as a mark, as far as its separator goes."""
    found = _cells(cells, table)
    if found is None or seconds_of(found.get("start", "")) is None:
        return False
    end = found.get("end", "")
    dial = found.get("dial", "")
    return (not end or seconds_of(end) is not None) and (
        dial in NOTHING or number_of(dial, "mhz") is not None
    )


def _mark(row: int, cells: tuple[str, ...], table: _Table, name: str) -> Mark:
    at_row = f"row {row} of {name} ({shown(cells)})"
    if table.columns and not {"start", "dial"} <= set(table.where):
        raise BadFolder(
            f"{name} names the columns {listed([c for c in table.columns if c], 8)}: it needs one "
            "named time and one named dial_mhz, and may have end and console"
        )
    found = _cells(cells, table)
    if found is None:
        raise BadFolder(
            f"{at_row} is no mark: write the time and the dial, such as 1:15,95.75, or start, end "
            "and dial, and on or off behind them; with decimal commas set semicolons between them"
        )
    times_s = {key: seconds_of(found.get(key, "")) for key in ("start", "end")}
    for key, time_s in times_s.items():
        if time_s is None and (key == "start" or found.get(key)):
            raise BadFolder(
                f"{at_row} has '{found.get(key, '')}' for a time: write seconds, 75.5, or minutes "
                "and seconds, 1:15.5"
            )
    console = found.get("console", "").lower()
    if console not in ("", "on", "off"):
        raise BadFolder(f"{at_row} says '{found['console']}' of the console: write on or off")
    start_s, end_s = cast(float, times_s["start"]), times_s["end"]
    if end_s is not None and end_s < start_s:
        raise BadFolder(f"{at_row} ends at {end_s:g} s, before it starts: swap the two times")
    dial = found.get("dial", "")
    known = set(table.where.values())
    return Mark(
        row,
        f"row {row} ({shown(cells)})",
        start_s,
        end_s if end_s != start_s else None,  # a label without a length is a point in time
        None if dial in NOTHING else dial_mhz_of(dial, at_row),
        cast(Console | None, console or None),
        {
            column: cells[n]
            for n, column in enumerate(table.columns)
            if n not in known and n < len(cells) and plain_name(column) not in ("", *COLUMNS)
        },
    )


def stops_from(
    marks: Marks,
    file: str,
    take_s: float | None,
    *,
    turning_s: float = 2.0,
    settle_s: float = 0.7,
    console: Console = "on",
    began: datetime | None = None,
) -> tuple[Stop, ...]:
    """The stops that marks make of a take.

    file       the take's name inside the folder
    take_s     how long it lasts, s; None: not known
    turning_s  left out before each mark: the dial was being turned
    settle_s   left out after each mark: the radio settled.  Neither is, of a row with an end
    console    what it was where a mark does not say
    began      when the take began, if that is known

    Raises BadFolder, with the row, for marks that do not rise, overlap, lie after the take's
    end or leave nothing to use; and for fewer than two stops.
    """
    stops: list[Stop] = []
    for n, mark in enumerate(marks.marks):
        after = marks.marks[n + 1] if n + 1 < len(marks.marks) else None
        _check_order(mark, after, take_s, marks.name)
        if mark.dial_mhz is None:
            continue
        start_s, end_s = _part(mark, after, take_s, (turning_s, settle_s), marks.name)
        stops.append(
            Stop(
                len(stops) + 2,
                file,
                mark.dial_mhz,
                mark.console or console,
                round(start_s, 3),
                None if end_s is None else round(end_s, 3),
                None if began is None else began + timedelta(seconds=round(start_s, 3)),
                dict(mark.extra),
            )
        )
    if len(stops) < 2:
        raise BadFolder(
            f"{marks.name} marks {len(stops)} stop{'' if len(stops) == 1 else 's'}: a sweep needs "
            "two or more; mark more of them"
        )
    return tuple(stops)


def _part(
    mark: Mark,
    after: Mark | None,
    take_s: float | None,
    left_out_s: tuple[float, float],
    name: str,
) -> tuple[float, float | None]:
    """Where a mark's part begins and ends, s; an end of None is the take's, which is not known.

    left_out_s  before the next mark, and after this one
    """
    turning_s, settle_s = left_out_s
    start_s, end_s, less = mark.start_s, mark.end_s, ""
    if end_s is None:
        start_s += settle_s
        end_s = take_s if after is None else after.start_s - turning_s
        less = f" when {settle_s:g} s after it"
        less += f" and {turning_s:g} s before the next are left out" if after else " are left out"
    elif take_s is not None:
        end_s = min(end_s, take_s)
    if end_s is not None and end_s - start_s < SHORTEST_STOP_S - 1e-9:
        todo = ", or give a smaller --turning and --settle" if less else ""
        raise BadFolder(
            f"{mark.shown} of {name} leaves {max(end_s - start_s, 0):.2f} s{less}: "
            f"{SHORTEST_STOP_S:g} s are needed, so correct the times{todo}"
        )
    return start_s, end_s


def _check_order(mark: Mark, after: Mark | None, take_s: float | None, name: str) -> None:
    """Refuse a mark that is not before the next one and inside the take."""
    if take_s is not None and mark.start_s >= take_s:
        raise BadFolder(
            f"{mark.shown} of {name} lies at {mark.start_s:g} s, and the take lasts "
            f"{take_s:.2f} s: count times from the take's beginning, or give the whole take"
        )
    if take_s is not None and mark.end_s is not None and mark.end_s > take_s + SLACK_S:
        raise BadFolder(
            f"{mark.shown} of {name} ends at {mark.end_s:g} s, and the take lasts {take_s:.2f} s: "
            "correct its end, or give the whole take"
        )
    if after is None:
        return
    if after.start_s <= mark.start_s:
        raise BadFolder(
            f"{after.shown} of {name} lies at {after.start_s:g} s, not after the mark before it at "
            f"{mark.start_s:g} s: set the rows in the order of the take, and one row a time"
        )
    if mark.end_s is not None and mark.end_s > after.start_s + 1e-9:
        raise BadFolder(
            f"{mark.shown} of {name} ends at {mark.end_s:g} s, after the next one starts at "
            f"{after.start_s:g} s: let each end before the next; with decimal commas set "
            "semicolons between the cells"
        )
