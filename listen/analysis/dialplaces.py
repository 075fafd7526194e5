"""Places of the dial that an answer's words speak of, as a person can find them again.

where a carrier was held, where the console's switch may speak of it and whether it was asked
there before, which stops beside it were left out, what of the dial was walked.

Conventions
-----------
Places are MHz as the dial shows them.  Nothing here is ever beyond the radio's band, or the
stops that were made: what they reached, the dial reaches.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from listen.analysis.evidence import Candidate
from listen.analysis.modulator import spacings_mhz
from listen.analysis.runs import LISTENED_MHZ, SAME_PLACE_MHZ
from listen.analysis.survey import Survey
from listen.channels import channels, mhz_text
from listen.radio import USUAL_STEP_KHZ, Radio

FLANK_MHZ = 0.15  # where a carrier's cliffs stand, about
FINEST_MHZ = 0.004  # dial positions closer than this are one
WALKED_MHZ = 0.25  # a carrier is heard over more of the dial than this


@dataclass(frozen=True, slots=True)
class OffStop:
    """A stop with the console off that did not settle anything.

    came  "silent": nothing was let through; "spoiled": it could not be used; "doubt": it was
          heard, but neither as a change nor as none
    """

    dial_mhz: float
    came: Literal["silent", "spoiled", "doubt"]


def dials(one: Candidate, sweep: Survey) -> str:
    """Over which stops a carrier was held, in words."""
    held = [sweep.stops[i].dial_mhz for i in one.run.held]
    low, high = mhz_text(min(held)), mhz_text(max(held))
    return f"{low} MHz" if low == high else f"{low} to {high} MHz"


def best_dial_mhz(one: Candidate, sweep: Survey) -> float:
    """The stop that stands nearest to a carrier's centre."""
    return min(
        (sweep.stops[i].dial_mhz for i in one.run.held), key=lambda d: abs(d - one.fit.mean_mhz)
    )


def off_stop(one: Candidate, sweep: Survey) -> OffStop | None:
    """What came of switching the console off at a carrier's stops, the best of it; None: never."""
    held = [sweep.stops[i].dial_mhz for i in one.run.held]
    tried: list[OffStop] = []
    for i, stop in enumerate(sweep.stops):
        if stop.console == "off" and any(abs(stop.dial_mhz - d) <= SAME_PLACE_MHZ for d in held):
            silent = stop.silent or bool(sweep.roar.muted[i])
            came: Literal["silent", "spoiled", "doubt"] = "silent" if silent else "doubt"
            tried.append(OffStop(stop.dial_mhz, "spoiled" if stop.spoiled else came))
    order = ("doubt", "silent", "spoiled")
    return min(tried, key=lambda off: order.index(off.came), default=None)


def switch_dial_mhz(one: Candidate, sweep: Survey) -> float:
    """Where the switch should speak of a carrier: where it was tried in vain, else its best."""
    tried = off_stop(one, sweep)
    return best_dial_mhz(one, sweep) if tried is None else tried.dial_mhz


def reach_mhz(sweep: Survey, radio: Radio) -> tuple[float, float]:
    """What the dial reaches: the radio's band, and every stop."""
    made = [stop.dial_mhz for stop in sweep.stops]
    return min(radio.band_mhz[0], *made), max(radio.band_mhz[1], *made)


def listened_at(sweep: Survey, dial_mhz: float) -> bool:
    """Whether a stop was made there with the console on."""
    return any(abs(mhz - dial_mhz) <= LISTENED_MHZ for mhz in _heard_mhz(sweep))


def whole_dial(sweep: Survey, radio: Radio) -> bool:
    """Whether the console would have been heard wherever on the dial it is."""
    return walked(sweep, *reach_mhz(sweep, radio))


def heard_through(sweep: Survey, low_mhz: float, high_mhz: float) -> bool:
    """Whether a part of the dial was walked, by a radio that does not mute what it holds badly."""
    return sweep.roar.muting != "hard" and walked(sweep, low_mhz, high_mhz)


def walked(sweep: Survey, low_mhz: float, high_mhz: float) -> bool:
    """Whether a carrier would have been heard wherever in this part of the dial it is."""
    return _closely(_heard_mhz(sweep), low_mhz, high_mhz)


def left_out(sweep: Survey, low_mhz: float, high_mhz: float) -> bool:
    """Whether stops of this part of the dial were not made at all, not even in vain."""
    return not _closely(_visited_mhz(sweep), low_mhz, high_mhz)


def _closely(stops_mhz: Sequence[float], low_mhz: float, high_mhz: float) -> bool:
    """Whether stops lie close enough in a part of the dial."""
    inside = sorted(mhz for mhz in stops_mhz if low_mhz <= mhz <= high_mhz)
    gaps = [b - a for a, b in pairwise([low_mhz, *inside, high_mhz])]
    return bool(inside) and max(gaps) <= WALKED_MHZ + 1e-9


def finer_step(sweep: Survey, radio: Radio) -> bool:
    """Whether the stops lie further apart than the usual step, and the dial may stop between."""
    visited = sorted({stop.dial_mhz for stop in sweep.stops if stop.console == "on"})
    apart_mhz = [b - a for a, b in pairwise(visited) if b - a > FINEST_MHZ]
    step_khz = radio.step_khz or USUAL_STEP_KHZ
    usual_khz = min(apart_mhz, default=0.0) * 1e3
    return usual_khz > max(step_khz, USUAL_STEP_KHZ) + 1e3 * FINEST_MHZ


def any_sound_on(reach_mhz: tuple[float, float], plans: Sequence[str]) -> bool:
    """Whether a channel of these plans has a sound on the dial that an FM radio can play."""
    low_mhz, high_mhz = reach_mhz[0] - WALKED_MHZ, reach_mhz[1] + WALKED_MHZ
    return any(
        channel.sound == "FM" and low_mhz <= channel.sound_mhz <= high_mhz
        for channel in channels(plans)
    )


def above_picture_mhz(
    picture_mhz: float, reach_mhz: tuple[float, float]
) -> tuple[float, float] | None:
    """The part of the dial where the sound to a picture may be; None: it is beyond the dial."""
    low_mhz = max(picture_mhz + min(spacings_mhz()), reach_mhz[0])
    high_mhz = min(picture_mhz + max(spacings_mhz()), reach_mhz[1])
    return (low_mhz, high_mhz) if low_mhz <= high_mhz else None


def unvisited_mhz(sweep: Survey, centre_mhz: float, radio: Radio) -> list[float]:
    """Up to two stops near a carrier's cliffs, that the dial can make and that were left out.

    Where the stop nearest to a cliff was made, one a step off serves, inward first.
    """
    visited = _visited_mhz(sweep)
    step_mhz = _step_mhz(sweep, radio)
    low_mhz, high_mhz = reach_mhz(sweep, radio)
    places: list[float] = []
    for side in (-1, 1):
        cliff_mhz = centre_mhz + side * FLANK_MHZ
        near = round((cliff_mhz - visited[0]) / step_mhz)
        for steps_off in (0, -side, side):
            mhz = round(visited[0] + (near + steps_off) * step_mhz, 4)
            new = min(abs(mhz - one) for one in (*visited, *places)) > FINEST_MHZ
            beside = steps_off == 0 or abs(mhz - cliff_mhz) <= FLANK_MHZ
            if new and beside and low_mhz <= mhz <= high_mhz:
                places.append(mhz)
                break
    return places


def nearest_stop_mhz(sweep: Survey, mhz: float, radio: Radio) -> float:
    """The position nearest to a place of the dial at which the dial can stop."""
    first_mhz, step_mhz = _visited_mhz(sweep)[0], _step_mhz(sweep, radio)
    low_mhz, high_mhz = reach_mhz(sweep, radio)
    steps = round((mhz - first_mhz) / step_mhz)
    near = [first_mhz + (steps + k) * step_mhz for k in (-1, 0, 1)]
    on_dial = [stop for stop in near if low_mhz - 1e-6 <= stop <= high_mhz + 1e-6] or near
    nearest_mhz = min(on_dial, key=lambda stop: abs(stop - mhz))
    return round(nearest_mhz, 4)


def _visited_mhz(sweep: Survey) -> list[float]:
    """The stops with the console on, each once, rising."""
    return sorted({stop.dial_mhz for stop in sweep.stops if stop.console == "on"})


def _step_mhz(sweep: Survey, radio: Radio) -> float:
    """The dial's step: the one stated, else the smallest between two stops, at most the usual."""
    if radio.step_khz:
        return radio.step_khz / 1e3
    steps = [b - a for a, b in pairwise(_visited_mhz(sweep)) if b - a > FINEST_MHZ]
    usual_mhz = USUAL_STEP_KHZ / 1e3
    return min([*steps, usual_mhz])


def _heard_mhz(sweep: Survey) -> list[float]:
    """The stops with the console on at which something could be heard."""
    return [
        stop.dial_mhz
        for i, stop in enumerate(sweep.stops)
        if stop.console == "on" and not (stop.spoiled or stop.silent or sweep.roar.muted[i])
    ]
