"""What of an answer is drawn where: everything but ink.

Plain values: the part of the scale, the plans' brackets, the groups of stops that heard the
same, the answer in words.  All frequencies MHz.
"""

import textwrap
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from listen.analysis.answer import CarrierFit, Location, StopAnswer
from listen.analysis.identify import WITHIN_KHZ
from listen.channels import Channel, channels
from listen.radio import Radio

MOST_ROWS = 6  # of plans; more would crowd out the dial
WIDEST_MHZ = 0.2  # of a bar
LETTER = 0.0078  # width of a letter beside a carrier, as a share of the drawing
NOTHING = 1.0  # clarity of a curve that has come down to the open band, at most
BEYOND_MHZ = 0.1  # a curve is drawn so far past the last stop that bears it out
SAME_GROUP_MHZ = 0.35  # stops further apart than this hear different carriers


@dataclass(frozen=True, slots=True)
class Bracket:
    """One channel's pair of carriers.

    level  0, or more where pairs of its plan overlap
    note   what stands beside its label: that it fits, or why it does not although its sound does
    """

    channel: Channel
    fits: bool
    level: int
    note: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A plan and those of its channels that have a carrier in view."""

    plan: str
    brackets: tuple[Bracket, ...]

    @property
    def levels(self) -> int:
        """How many brackets lie above each other at most."""
        return 1 + max(bracket.level for bracket in self.brackets)


def on_true_scale(answer: Location) -> Location:
    """The answer with its stops and curves where they truly are; a digital dial's stay.

    A scale may be off by more than a bar is wide, and by more at one end than at the other; a
    digital dial is off by less than the drawing shows.
    """
    error = answer.error
    if error.same_everywhere:
        return answer

    def moved(fit: CarrierFit) -> CarrierFit:
        true_mhz = tuple(error.true_mhz(mhz) for mhz in fit.curve_dial_mhz)
        return replace(fit, curve_dial_mhz=true_mhz)

    return replace(
        answer,
        stops=tuple(replace(s, dial_mhz=error.true_mhz(s.dial_mhz)) for s in answer.stops),
        fit=None if answer.fit is None else moved(answer.fit),
        others=tuple(moved(fit) for fit in answer.others),
    )


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

    First the plans with a channel that fits, in the answer's order; then those with the most
    sound carriers in view, in the tables' order.
    """
    low_mhz, high_mhz = window_mhz
    first = list(dict.fromkeys(one.plan for one in answer.channels))
    by_plan: dict[str, list[Channel]] = {}
    sounds: Counter[str] = Counter()
    for channel in channels(plans):
        sound_seen = low_mhz <= channel.sound_mhz <= high_mhz
        if channel.sound == "FM" and (sound_seen or low_mhz <= channel.picture_mhz <= high_mhz):
            by_plan.setdefault(channel.plan, []).append(channel)
            if sound_seen:
                sounds[channel.plan] += 1
    ordered = sorted(
        by_plan, key=lambda p: (first.index(p) if p in first else len(first), -sounds[p])
    )
    rows = tuple(Row(plan, tuple(_stacked(by_plan[plan], answer))) for plan in ordered[:MOST_ROWS])
    return rows, max(0, len(ordered) - MOST_ROWS)


def _stacked(of_plan: list[Channel], answer: Location) -> Iterator[Bracket]:
    """Brackets of one plan, those that would overlap on further levels."""
    fitting = {(one.plan, one.channel) for one in answer.channels}
    ends: list[float] = []  # where the last bracket of each level ends, MHz
    for one in sorted(of_plan, key=lambda c: min(c.picture_mhz, c.sound_mhz)):
        low_mhz, high_mhz = sorted((one.picture_mhz, one.sound_mhz))
        free = [level for level, end in enumerate(ends) if end < low_mhz]
        level = free[0] if free else len(ends)
        ends[level : level + 1] = [high_mhz]
        fits = (one.plan, one.label) in fitting
        yield Bracket(one, fits, level, "fits" if fits else _why_not(one, answer))


def _why_not(channel: Channel, answer: Location) -> str:
    """Why a channel does not fit although its sound carrier stands where one was found."""
    if answer.interval_95_mhz is None or answer.picture_basis != "measured":
        return ""
    low_mhz, high_mhz = answer.interval_95_mhz
    reach_mhz = WITHIN_KHZ / 1e3
    at_sound = low_mhz - reach_mhz <= channel.sound_mhz <= high_mhz + reach_mhz
    return "its picture is elsewhere" if at_sound else ""


def label_of(answer: Location, group: list[StopAnswer]) -> str:
    """The word over a group of stops: what was heard, and of the console, whether its mirror."""
    word = group[0].heard
    if word != "console" or answer.fit is None:
        return word
    fitted_mhz = [answer.stops[i].dial_mhz for i in answer.fit.stops]
    reach_mhz = SAME_GROUP_MHZ
    near = any(abs(stop.dial_mhz - mhz) < reach_mhz for stop in group for mhz in fitted_mhz)
    return word if near or not fitted_mhz else "its mirror"


def curve_beside_stops(answer: Location, fit: CarrierFit) -> list[tuple[float, float]]:
    """That part of a fitted curve which stops bear out: (dial MHz, clarity) from end to end.

    A curve through a single stop shows nothing and has no part.  A picture carrier's ends on a
    floor above 0, which only says that nothing is claimed there: that part is left out too.
    """
    dial = sorted({answer.stops[i].dial_mhz for i in fit.stops})
    if len(dial) < 2:
        return []
    low_mhz, high_mhz = dial[0] - BEYOND_MHZ, dial[-1] + BEYOND_MHZ
    pairs = zip(fit.curve_dial_mhz, fit.curve_clarity, strict=True)
    least = min(fit.curve_clarity)
    claimed = least if least > NOTHING else -1.0
    return [(mhz, high) for mhz, high in pairs if low_mhz <= mhz <= high_mhz and high > claimed]


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
            why = f"{answer.no_channel[:1].upper()}{answer.no_channel[1:]}."
            return [f"{line}Fits no channel.", *textwrap.wrap(why, 150)[:2]]
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
        said.append((mhz, f"picture carrier {mhz:.3f}, {answer.picture_basis}"))
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
