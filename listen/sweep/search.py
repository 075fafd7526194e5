"""In which order a dial is searched before anything is known: passes, each upward.

The first passes stand round the sound carriers of channel plans, the likeliest stops first.
Without a plan the rest of the band follows, in hops.  A carrier is held over some 200 kHz of
the dial by the narrowest radio and 500 by the widest (docs/carrier-fit.md), so stops 200 kHz
apart miss none, and stops 400 kHz apart only some.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import count, takewhile
from typing import Literal

from listen.sweep.stops import AROUND_KHZ
from listen.sweep.walk import key

Why = Literal["channel", "drifted", "hop", "between"]

HOP_KHZ = 200.0
LONG_HOP_KHZ = 400.0
SLACK_KHZ = 0.05  # positions are given to 100 Hz


@dataclass(frozen=True, slots=True)
class Pass:
    """Stops to be visited in one go upward, and why they are."""

    stops: tuple[float, ...]
    why: Why


def passes(grid: Sequence[float], sounds_mhz: Iterable[float], whole: bool) -> tuple[Pass, ...]:
    """The passes over a dial.

    grid        every position of the dial, rising, MHz
    sounds_mhz  where it shows the sounds of the channels that are looked for
    whole       whether the rest of the band follows
    """
    low_mhz, high_mhz = grid[0] - AROUND_KHZ / 1e3, grid[-1] + AROUND_KHZ / 1e3
    nominal = sorted({mhz for mhz in sounds_mhz if low_mhz <= mhz <= high_mhz})
    found: list[Pass] = []
    taken: list[float] = []

    def add(stops: Iterable[float], apart_khz: float, why: Why) -> None:
        mine: list[float] = []
        for stop in sorted(stops):
            if _clear(stop, [*taken, *mine], apart_khz):
                mine.append(stop)
        taken.extend(mine)
        if mine:
            found.append(Pass(tuple(mine), why))

    rings = [around(grid, mhz) for mhz in nominal]
    add((ring[0] for ring in rings if ring), HOP_KHZ / 2, "channel")
    for place in range(1, max((len(ring) for ring in rings), default=0)):
        add((ring[place] for ring in rings if place < len(ring)), HOP_KHZ / 2, "drifted")
    if whole:
        add(grid, LONG_HOP_KHZ, "hop")
        add(grid, HOP_KHZ, "between")
    return tuple(found)


def around(grid: Sequence[float], centre_mhz: float, far_khz: float = AROUND_KHZ) -> list[float]:
    """Stops round a frequency, hops apart, the nearest first."""
    start_mhz = nearest(grid, centre_mhz)
    steps = takewhile(lambda k: k * HOP_KHZ <= 2 * far_khz, count())
    wanted = {nearest(grid, start_mhz + way * k * HOP_KHZ / 1e3) for k in steps for way in (-1, 1)}
    near = [mhz for mhz in wanted if abs(mhz - centre_mhz) * 1e3 <= far_khz + SLACK_KHZ]
    return sorted(near, key=lambda mhz: abs(mhz - centre_mhz))


def nearest(grid: Sequence[float], mhz: float) -> float:
    """The dial position nearest to a frequency."""
    return min(grid, key=lambda stop: abs(stop - mhz))


def _clear(stop: float, others: Sequence[float], apart_khz: float) -> bool:
    """Whether a stop is at least so far from all others."""
    return all(abs(key(stop) - key(other)) >= 10 * (apart_khz - SLACK_KHZ) for other in others)
