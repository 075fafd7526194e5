"""How far the carrier still is from its goal: a stop at the goal and one step either side.

On the flat top of what a radio holds one stop says next to nothing; the cliffs on either side
do.  So the steps aside are taken about as wide as a cliff is away, and one step further where
both were still on the top.  The fit is the sweep's own, with the roar as its yardstick.

Conventions
-----------
`left` is goal minus measured, kHz: positive where the carrier must still rise.  Intervals hold
95 %.  Quieting is dB below the open band's roar.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from listen.analysis.curve import Posterior, Reading, fit_carrier
from listen.analysis.dialerror import Local, steady
from listen.analysis.width import half_width_weights, radio_weights
from listen.radio import Radio
from listen.trim.route import step_khz

ASIDE_KHZ = 120.0  # about where a radio's cliffs stand
# A side is on a cliff, or beyond, where it is so much noisier than the middle, and noisy at all.
TOP_DB, CLIFF_DB = 6.0, 18.0
MOST_ASIDE = 4  # steps either side: the widest that a radio holds a carrier ends there
BESIDE_STATION_MHZ = 0.15  # a station's own cliff reaches so far
WITHIN_KHZ = 100.0
HELD_DB = 8.0  # a carrier that quiets less at every stop is none
EDGE_KHZ = 5.0  # an interval so near to the end of where it was sought has no end of its own
SURE = 0.95


@dataclass(frozen=True, slots=True)
class Left:
    """What is left to the goal.

    left_khz         goal minus measured
    interval_95_khz  of that
    sound_mhz        the sound carrier as measured, true
    on_target        True inside, False outside of ±within, None where the interval straddles
    """

    left_khz: float
    interval_95_khz: tuple[float, float]
    sound_mhz: float
    on_target: bool | None


def aside_khz(radio: Radio) -> float:
    """One step aside: the multiple of the radio's step nearest to a cliff's distance."""
    step = step_khz(radio)
    return max(1, round(ASIDE_KHZ / step)) * step


def next_sides(
    goal_dial_mhz: float,
    heard_db: Mapping[float, float],
    radio: Radio,
    stations_mhz: tuple[float, ...] = (),
) -> float | None:
    """The next dial stop wanted round a goal; None where it has been gone round.

    heard_db      quieting heard at stops so far, dB
    stations_mhz  stops beside a station are not asked for: they tell of that

    The goal first, then a step to each side, then further on the side that was still on top.
    """
    low_mhz, high_mhz = radio.band_mhz
    if goal_dial_mhz not in heard_db:
        return goal_dial_mhz
    top_db = max(heard_db.values())
    open_side = {-1: True, 1: True}
    for number in range(1, MOST_ASIDE + 1):
        for side in open_side:
            mhz = round(goal_dial_mhz + side * number * aside_khz(radio) / 1e3, 4)
            taken = any(abs(mhz - station) < BESIDE_STATION_MHZ for station in stations_mhz)
            open_side[side] &= low_mhz <= mhz <= high_mhz and not taken
            if not open_side[side]:
                continue
            if mhz not in heard_db:
                return mhz
            open_side[side] = _is_on_top(heard_db[mhz], top_db)
    return None


def stops_needed(
    goal_dial_mhz: float, radio: Radio, stations_mhz: tuple[float, ...] = ()
) -> tuple[float, ...]:
    """The dial stops without which nothing is measured: the goal's, and those a step either side.

    stations_mhz  as for next_sides
    """
    needed: dict[float, float] = {}
    wanted: float | None = goal_dial_mhz
    while wanted is not None:
        needed[wanted] = 0.0  # nothing is held there: no further stop is wanted on its side
        wanted = next_sides(goal_dial_mhz, needed, radio, stations_mhz)
    return tuple(needed)


def is_too_wide(goal_dial_mhz: float, heard_db: Mapping[float, float], radio: Radio) -> bool:
    """Whether it is as quiet at the last stop on both sides: no radio holds one carrier so wide."""
    top_db = max(heard_db.values())
    ends = [
        heard_db.get(round(goal_dial_mhz + side * MOST_ASIDE * aside_khz(radio) / 1e3, 4))
        for side in (-1, 1)
    ]
    return all(db is not None and _is_on_top(db, top_db) for db in ends)


def _is_on_top(quieting_db: float, top_db: float) -> bool:
    return top_db >= HELD_DB and quieting_db >= min(top_db - TOP_DB, CLIFF_DB)


def fitted(heard_db: Mapping[float, float], radio: Radio) -> Posterior:
    """The carrier that explains what was heard, on the dial's own scale.

    heard_db  quieting by dial stop, dB
    """
    readings = [Reading(mhz, db) for mhz, db in sorted(heard_db.items())]
    deepest = max(readings, key=lambda reading: reading.quieting_db)
    widths = half_width_weights(deepest.quieting_db, radio_weights([], radio.passband_khz))
    return fit_carrier(
        *(readings, deepest.dial_mhz), half_width_weights=widths, scatter_khz=radio.scatter_khz
    )


def what_is_left(
    heard_db: Mapping[float, float],
    goal_mhz: float,
    radio: Radio,
    *,
    error: Local | None = None,
    within_khz: float = WITHIN_KHZ,
) -> Left | None:
    """How far the carrier heard at those stops is from a goal; None where they hold none.

    goal_mhz  true, MHz
    error     of the dial at these stops; None: it has none

    Stops that hold one on a flat top alone leave its place open as far as it was sought: None too.
    """
    if max(heard_db.values()) < HELD_DB:
        return None
    fit = fitted(heard_db, radio)
    ends_mhz = fit.interval_mhz(SURE)
    edge_mhz = EDGE_KHZ / 1e3
    if ends_mhz[0] < fit.carrier_mhz[0] + edge_mhz or ends_mhz[1] > fit.carrier_mhz[-1] - edge_mhz:
        return None
    off = error or steady().at(goal_mhz)
    low_mhz, high_mhz = fit.interval_mhz(SURE, off.kernel)
    sound_mhz = fit.mean_mhz - off.mean_khz / 1e3
    low_khz, high_khz = 1e3 * (goal_mhz - high_mhz), 1e3 * (goal_mhz - low_mhz)
    on_target: bool | None = None
    if max(abs(low_khz), abs(high_khz)) <= within_khz:
        on_target = True
    elif low_khz > within_khz or high_khz < -within_khz:
        on_target = False
    return Left(1e3 * (goal_mhz - sound_mhz), (low_khz, high_khz), sound_mhz, on_target)
