"""Recordings as the guide would have heard them live: a long take with marks, or a folder.

Marks are those of a long take (listen/folder/marks.py): when the dial was set, and where to; `-`
where it was being turned.  The first must be an open spot, the yardstick.  A folder's stops are
heard in the order of the walk, after the one that roared most.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

from listen.clip import Clip
from listen.errors import BadFolder, CannotRead
from listen.folder import read_folder
from listen.folder.audio import CUT_SHORT, Held, lasts_s, read_part
from listen.folder.marks import Mark, Marks
from listen.terminal import followed
from listen.trim.meter import Samples

PART_S = 20.0
BLOCK_S = 0.05
STOP_S = 2.8  # what the guide hears of a stop; a shorter recording is heard again


@dataclass(frozen=True, slots=True)
class Turned:
    """The dial was set, MHz; None: to an open spot."""

    dial_mhz: float | None


@dataclass(frozen=True, slots=True)
class Unheard:
    """Something of the recording cannot be heard; why, as a sentence."""

    why: str


Events = Iterator[Turned | Unheard | Samples]


def take_events(take: Path, marks: Marks) -> tuple[int, Events]:
    """The rate of a long take, Hz, and what happened in it, in order.  Raises CannotRead."""
    first = read_part(take, 0.0, PART_S)
    if first.spoiled:
        raise CannotRead(f"{take} cannot be replayed: {first.spoiled}")
    return first.sample_rate_hz, _of_take(take, first.sample_rate_hz, marks, lasts_s(take))


def _of_take(take: Path, rate_hz: int, marks: Marks, ends_s: float | None) -> Events:
    left = sorted(marks.marks, key=lambda mark: mark.start_s)
    now: Mark | None = None
    begins_s, first_mark = 0.0, True
    size = round(BLOCK_S * rate_hz)
    held = Held()
    while ends_s is None or begins_s < ends_s:
        part = read_part(take, begins_s, begins_s + PART_S, held)
        if part.spoiled:
            yield Unheard(f"From {begins_s:g} s on the take is not heard: {part.spoiled}")
            return
        yield from (Unheard(note) for note in part.notes if CUT_SHORT in note)
        for first in range(0, len(part.samples), size):
            at_s = begins_s + first / rate_hz
            while left and left[0].start_s <= at_s:
                now = left.pop(0)
                if now.dial_mhz is not None:
                    yield Turned(None if first_mark else now.dial_mhz)
                    first_mark = False
            over = now is not None and now.end_s is not None and at_s >= now.end_s
            if now is not None and now.dial_mhz is not None and not over:
                yield part.samples[first : first + size]
        if len(part.samples) < round(PART_S * rate_hz):
            return
        begins_s += PART_S


def folder_events(folder: Path) -> tuple[int, Events]:
    """The rate of a sweep folder's recordings, Hz, and its stops as events.

    Raises BadFolder where its recordings differ in rate, or none of them roars.
    """
    from listen.analysis.measures import measure
    from listen.trim.kinds import band_of, is_roar

    sweep = read_folder(folder)
    clips: list[Clip] = []
    unheard: list[Unheard] = []
    roaring: tuple[float, int] | None = None
    for clip in followed(sweep.clips(), len(sweep.stops), "Reading the stops"):
        if clip.spoiled:
            unheard.append(
                Unheard(f"The stop on {clip.dial_mhz:g} MHz is not heard: {clip.spoiled}")
            )
        if clip.spoiled or clip.console == "off":
            continue
        heard = measure(clip)
        band = band_of(heard)
        if is_roar(heard) and heard.hiss is not None and band is not None:
            roaring = max(roaring or (-999.0, 0), (heard.hiss.calm_db[band], len(clips)))
        clips.append(clip)
    rates_hz = {clip.sample_rate_hz for clip in clips}
    if len(rates_hz) != 1 or roaring is None:
        raise BadFolder(
            f"{folder} cannot be replayed: its recordings need one rate of 32,000 a second or "
            "more, and one stop of open band, which roars"
        )
    return rates_hz.pop(), chain(unheard, _of_clips(clips, roaring[1]))


def _of_clips(clips: list[Clip], roaring: int) -> Events:
    for place, clip in enumerate([clips[roaring], *clips]):
        yield Turned(clip.dial_mhz if place else None)
        size = round(BLOCK_S * clip.sample_rate_hz)
        for _ in range(math.ceil(STOP_S / clip.duration_s)):
            for first in range(0, len(clip.samples), size):
                yield clip.samples[first : first + size]
