"""What of an answer is drawn where: everything but ink.

Plain values: the part of the scale, the plans' brackets, the groups of stops that heard the
same, the answer in words.  All frequencies MHz.
"""

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from listen.analysis.answer import Location, StopAnswer
from listen.channels import Channel, channels
from listen.radio import Radio

MOST_ROWS = 6  # of plans; more would crowd out the dial
WIDEST_MHZ = 0.2  # of a bar
LETTER = 0.0078  # width of a letter beside a carrier, as a share of the drawing
SAME_GROUP_MHZ = 0.35  # stops further apart than this hear different carriers


@dataclass(frozen=True, slots=True)
class Bracket:
    """One channel's pair of carriers.  level: 0, or more where pairs of its plan overlap."""

    channel: Channel
    fits: bool
    level: int


@dataclass(frozen=True, slots=True)
class Row:
    """A plan and those of its channels that have a carrier in view."""

    plan: str
    brackets: tuple[Bracket, ...]

    @property
    def levels(self) -> int:
        """How many brackets lie above each other at most."""
        return 1 + max(bracket.level for bracket in self.brackets)


def window_mhz(answer: Location, radio: Radio) -> tuple[float, float]:
    """The part of the scale that is drawn: the radio's band, and every stop."""
    dial = [stop.dial_mhz for stop in answer.stops]
    low_mhz, high_mhz = min(*radio.band_mhz, *dial), max(*radio.band_mhz, *dial)
    edge_mhz = 0.012 * (high_mhz - low_mhz)
    return low_mhz - edge_mhz, high_mhz + edge_mhz


def rows_of(
    answer: Location, window_mhz: tuple[float, float], plans: Sequence[str] | None = None
) -> tuple[tuple[Row, ...], int]:
    """The plans to draw, the best fitting first, and how many had to be left out.

    First the plans with a channel that fits, in the answer's order; then those with a sound
    carrier in view, then those with a picture carrier, in the tables' order.
    """
    low_mhz, high_mhz = window_mhz
    fitting = {(one.plan, one.channel) for one in answer.channels}
    first = list(dict.fromkeys(one.plan for one in answer.channels))
    by_plan: dict[str, list[Channel]] = {}
    sounds: set[str] = set()
    for channel in channels(plans):
        sound_seen = low_mhz <= channel.sound_mhz <= high_mhz
        if channel.sound == "FM" and (sound_seen or low_mhz <= channel.picture_mhz <= high_mhz):
            by_plan.setdefault(channel.plan, []).append(channel)
            if sound_seen:
                sounds.add(channel.plan)
    ordered = sorted(
        by_plan, key=lambda p: (first.index(p) if p in first else len(first), p not in sounds)
    )
    rows = tuple(Row(plan, tuple(_stacked(by_plan[plan], fitting))) for plan in ordered[:MOST_ROWS])
    return rows, max(0, len(ordered) - MOST_ROWS)


def _stacked(of_plan: list[Channel], fitting: set[tuple[str, str]]) -> Iterator[Bracket]:
    """Brackets of one plan, those that would overlap on further levels."""
    ends: list[float] = []  # where the last bracket of each level ends, MHz
    for one in sorted(of_plan, key=lambda c: min(c.picture_mhz, c.sound_mhz)):
        low_mhz, high_mhz = sorted((one.picture_mhz, one.sound_mhz))
        free = [level for level, end in enumerate(ends) if end < low_mhz]
        level = free[0] if free else len(ends)
        ends[level : level + 1] = [high_mhz]
        yield Bracket(one, (one.plan, one.label) in fitting, level)


def words_of(answer: Location) -> list[str]:
    """The answer in a few lines, for the head of the drawing."""
    if answer.found and answer.sound_carrier_mhz is not None and answer.interval_95_mhz:
        low_mhz, high_mhz = answer.interval_95_mhz
        names = [f"{one.plan}:{one.channel}" for one in answer.channels]
        shown = ", ".join(names[:5]) + (f" and {len(names) - 5} more" if len(names) > 5 else "")
        line = (
            f"Sound carrier on {answer.sound_carrier_mhz:.3f} MHz "
            f"(95 %: {low_mhz:.3f} to {high_mhz:.3f}).  "
        )
        if not names:
            return [f"{line}Fits no channel.", *textwrap.wrap(answer.no_channel, 150)[:2]]
        return [f"{line}Fits {shown}."]
    return textwrap.wrap(f"Not found.  {answer.reason}", 150)[:3]


def bar_widths_mhz(answer: Location, window_mhz: tuple[float, float]) -> list[float]:
    """How wide each stop's bar is: most of the way to its neighbour, never too thin to see."""
    dial = sorted({round(stop.dial_mhz, 4) for stop in answer.stops})
    steps = [WIDEST_MHZ, *(high - low for low, high in pairwise(dial)), WIDEST_MHZ]
    near = {mhz: min(steps[i], steps[i + 1], WIDEST_MHZ) for i, mhz in enumerate(dial)}
    least_mhz = 0.0022 * (window_mhz[1] - window_mhz[0])
    return [max(0.82 * near[round(stop.dial_mhz, 4)], least_mhz) for stop in answer.stops]


def carrier_words(
    answer: Location, window_mhz: tuple[float, float]
) -> list[tuple[float, str, Literal["left", "right"], int]]:
    """What stands beside the lines of the carriers: where, the words, which side, which level.

    The lower carrier's words stand left of it and the upper one's right of it, unless the
    drawing ends there; level 1 is under level 0, for words that would overlap.
    """
    left_mhz, right_mhz = window_mhz
    said = []
    if answer.sound_carrier_mhz is not None:
        mhz = answer.sound_carrier_mhz
        said.append((mhz, f"sound carrier {mhz:.3f}"))
    if answer.picture_carrier_mhz is not None:
        mhz = answer.picture_carrier_mhz
        said.append((mhz, f"picture carrier {mhz:.2f}, {answer.picture_basis}"))
    placed: list[tuple[float, str, Literal["left", "right"], int]] = []
    taken: list[tuple[float, float]] = []
    for mhz, words in said:
        if not left_mhz <= mhz <= right_mhz:
            continue
        wide_mhz = LETTER * len(words) * (right_mhz - left_mhz)
        lower = len(said) == 2 and mhz == min(other for other, _ in said)
        leftward = mhz - wide_mhz > left_mhz if lower else mhz + wide_mhz > right_mhz
        span = (mhz - wide_mhz, mhz) if leftward else (mhz, mhz + wide_mhz)
        level = int(any(span[0] < high and low < span[1] for low, high in taken))
        taken.append(span)
        placed.append((mhz, words, "left" if leftward else "right", level))
    return placed


def groups_of(stops: tuple[StopAnswer, ...]) -> list[list[StopAnswer]]:
    """Runs of neighbouring stops, console on, that heard the same carrier's kind."""
    groups: list[list[StopAnswer]] = []
    before = ""
    for stop in sorted((s for s in stops if s.console == "on"), key=lambda s: s.dial_mhz):
        if stop.heard in ("console", "station", "picture"):
            if stop.heard == before and stop.dial_mhz - groups[-1][-1].dial_mhz < SAME_GROUP_MHZ:
                groups[-1].append(stop)
            else:
                groups.append([stop])
        before = stop.heard
    return groups
