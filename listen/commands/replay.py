"""Recordings as the guide would have heard them live: a long take with marks, or a folder.

Marks are a table, `start_s,dial_mhz`: from that second on the dial stood there; the word `open`
in place of a position is an open spot.  A folder's stops are heard in the order of the walk,
after the one that roared most, which is the yardstick.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from listen.channels import mhz_from
from listen.clip import Clip
from listen.errors import BadFolder, CannotRead
from listen.folder import read_folder
from listen.folder.audio import read_part
from listen.folder.text import plain_name, read_sheet
from listen.terminal import followed
from listen.trim.meter import Samples

PART_S = 20.0
BLOCK_S = 0.05


@dataclass(frozen=True, slots=True)
class Turned:
    """The dial was set, MHz; None: to an open spot."""

    dial_mhz: float | None


Events = Iterator[Turned | Samples]


def read_marks(path: Path) -> tuple[tuple[float, float | None], ...]:
    """When the dial was set, and where to, in the order of time.  Raises BadFolder, CannotRead."""
    header, *rows = read_sheet(path).rows or ((),)
    names = [plain_name(name) for name in header]
    if "start_s" not in names or "dial_mhz" not in names:
        raise BadFolder(
            f"{path} has the columns {', '.join(header) or 'none'}: marks need start_s and "
            "dial_mhz, a row each time the dial was set"
        )
    start, dial = names.index("start_s"), names.index("dial_mhz")
    marks = []
    for number, row in enumerate(rows, 2):
        cells = [*row, *names]
        if not any(row):
            continue
        try:
            at_s = float(cells[start].replace(",", "."))
        except ValueError:
            raise BadFolder(
                f"row {number} of {path} has '{cells[start]}' for start_s: give seconds"
            ) from None
        text = cells[dial].strip()
        opens = text.casefold() == "open"
        marks.append((at_s, None if opens else mhz_from(text, "dial position")))
    if not marks or any(b[0] <= a[0] for a, b in pairwise(marks)):
        raise BadFolder(f"{path} needs at least one mark, each later than the one before")
    return tuple(marks)


def take_events(take: Path, marks: tuple[tuple[float, float | None], ...]) -> tuple[int, Events]:
    """The rate of a long take, Hz, and what happened in it, in order.  Raises CannotRead."""
    first = read_part(take, 0.0, PART_S)
    if first.spoiled:
        raise CannotRead(f"{take} cannot be replayed: {first.spoiled}")
    return first.sample_rate_hz, _of_take(take, first.sample_rate_hz, marks)


def _of_take(take: Path, rate_hz: int, marks: tuple[tuple[float, float | None], ...]) -> Events:
    left = list(marks)
    begins_s = 0.0
    while True:
        part = read_part(take, begins_s, begins_s + PART_S)
        if part.spoiled:
            return
        for first in range(0, len(part.samples), round(BLOCK_S * rate_hz)):
            block = part.samples[first : first + round(BLOCK_S * rate_hz)]
            while left and left[0][0] <= begins_s + first / rate_hz:
                yield Turned(left.pop(0)[1])
            yield block
        if len(part.samples) < round(PART_S * rate_hz):
            return
        begins_s += PART_S


def folder_events(folder: Path) -> tuple[int, Events]:
    """The rate of a sweep folder's recordings, Hz, and its stops as events.

    Raises BadFolder where its recordings differ in rate, or none of them roars.
    """
    from listen.analysis.measures import measure
    from listen.analysis.roar import SHAPE_DB

    sweep = read_folder(folder)
    clips: list[Clip] = []
    roaring: tuple[float, int] | None = None
    for clip in followed(sweep.clips(), len(sweep.stops), "Reading the stops"):
        if clip.spoiled or clip.console == "off":
            continue
        heard = measure(clip)
        if heard.hiss is not None:
            shape_db = heard.level_dbfs - heard.hiss.calm_db[0]
            if SHAPE_DB[0][0] <= shape_db <= SHAPE_DB[0][1]:
                roaring = max(roaring or (-999.0, 0), (heard.hiss.calm_db[0], len(clips)))
        clips.append(clip)
    rates_hz = {clip.sample_rate_hz for clip in clips}
    if len(rates_hz) != 1 or roaring is None:
        raise BadFolder(
            f"{folder} cannot be replayed: its recordings need one rate of 32,000 a second or "
            "more, and one stop of open band, which roars"
        )
    return rates_hz.pop(), _of_clips(clips, roaring[1])


def _of_clips(clips: list[Clip], roaring: int) -> Events:
    for place, clip in enumerate([clips[roaring], *clips]):
        yield Turned(clip.dial_mhz if place else None)
        size = round(BLOCK_S * clip.sample_rate_hz)
        for first in range(0, len(clip.samples), size):
            yield clip.samples[first : first + size]
