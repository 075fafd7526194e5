"""What a sweep over known stations tells of the radio itself: passband, misalignment, scale.

The same chain as for any sweep: the stations are fitted, and what they say of the dial's error
(raster.py) and of how wide the radio holds a carrier (width.py) is all there is to learn.  It is
learned where it would serve another sweep: the error without a raster step left open, and known
to LEARNED_KHZ at both ends of what the stations span.

A scale's error is given at two places whose errors are independent, so that a later sweep may
take each for itself.  With the errors at the ends of variances A and B and covariance C, and t
the way along the scale from the low end, the variance of the error is

    V(t) = A + 2 t (C - A) + t² S        with S = A + B - 2 C, the slope's

It is least, V0, at t0 = (A - C) / S; the errors at t0 ± √(V0 / S) have covariance V0 - V0 = 0.

Conventions
-----------
Errors are dial minus truth, kHz, with one standard deviation; places are dial positions, MHz.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from listen.analysis.dialerror import DialError, Floats
from listen.analysis.dialwords import dial_warnings, steps_words
from listen.analysis.measures import Measures
from listen.analysis.raster import known_on_dial, most_known_khz, off_raster_khz
from listen.analysis.reasons import sweep_warnings
from listen.analysis.stations import is_alone
from listen.analysis.weigh import Weighed, weigh
from listen.analysis.width import BASIC_KHZ, HALF_WIDTH_OF_PASSBAND
from listen.channels import mhz_text
from listen.errors import BadClip
from listen.radio import DIAL_LIMITS_MHZ, Radio

SCHEMA = "listen.radio/1"
LEARNED_KHZ = {"digital": 10.0, "analogue": 25.0}
PASSBAND_SHARE = 0.9  # that the range given for the passband holds
OWN = ("band_mhz", "raster_khz", "step_khz", "oscillator")  # passed on where stated
KNOWN_NEEDED = (
    "One{more} known station is needed: find out the frequency of one that you hear, and give it "
    "with --station MHZ."
)
GRID_KHZ = 1.0  # of the errors held against the stations, about: nothing is known better

NO_ROAR = (
    "No stop heard the open band's roar, so there is nothing to measure the hiss against.",
    "Add two or three stops where the radio only hisses, with muting off.",
)
NO_STATION = (
    "No single station was told apart, so nothing tells how far the dial is off.",
    "Sweep a part of the dial where stations stand, with open band between them.",
)
NONE_ALONE = (
    "No station stands alone, so the passband is not learned: the one given is what was believed."
)
DRAWN = (
    "The radio seems to pull its dial towards strong carriers (AFC), so no station is where the "
    "dial shows it.",
    "Switch the radio's AFC off and sweep again.",
)


@dataclass(frozen=True, slots=True)
class Mark:
    """The dial's error at one place of it."""

    dial_mhz: float
    error_khz: float
    spread_khz: float


@dataclass(frozen=True, slots=True)
class StationMark:
    """A station that told it.

    dial_mhz  where the dial showed it, fitted
    true_mhz  where it stands: its own frequency if that is known, else the raster's
    known     whether it was named
    left_khz  what the learned error leaves unexplained there
    """

    dial_mhz: float
    true_mhz: float
    known: bool
    left_khz: float


@dataclass(frozen=True, slots=True)
class Learned:
    """What was learned of a radio.

    learned       whether it serves another sweep
    radio         the radio as its profile describes it; as it was told where nothing was learned
    passband_khz  the likeliest, and passband_90_khz the range that holds it with 90 %
    errors        the dial's error at its low end, its middle and its high end; () without stations
    stations      those that told it, rising
    reason        one sentence: what it was learned from, or why not
    next          the one thing to do, or None
    """

    learned: bool
    radio: Radio
    reason: str
    passband_khz: float
    passband_90_khz: tuple[float, float]
    errors: tuple[Mark, ...] = ()
    stations: tuple[StationMark, ...] = ()
    next: str | None = None
    warnings: tuple[str, ...] = ()

    def as_dict(self) -> dict[str, Any]:
        """As plain values, in the order docs/radio.md gives them."""
        return {
            "schema": SCHEMA,
            "learned": self.learned,
            "dial": self.radio.dial,
            "passband_khz": round(self.passband_khz, 1),
            "passband_90_khz": [round(khz, 1) for khz in self.passband_90_khz],
            "errors": [_plain(mark) for mark in self.errors],
            "stations": [_plain(one) for one in self.stations],
            "reason": self.reason,
            "next": self.next,
            "warnings": list(self.warnings),
        }


def learn_radio(
    stops: tuple[Measures, ...],
    radio: Radio | None = None,
    *,
    mains_hz: Sequence[float] = (50.0, 60.0),
    warnings: Sequence[str] = (),
) -> Learned:
    """What the measured stops of a sweep tell of the radio.

    radio     what is known of it before, known stations included; None: the defaults of Radio
    mains_hz  the mains rates that may be on this bench
    warnings  sentences to pass on, such as those of the folder's reader

    Raises BadClip if there are no stops at all.
    """
    radio = radio or Radio()
    if not stops:
        raise BadClip("no stops came: a sweep needs at least one recording")
    weighed = weigh(stops, radio, mains_hz)
    passband_khz, range_khz = _passband(weighed)
    said = [*warnings, *sweep_warnings(weighed.sweep, weighed.sounds, mains_hz)]
    said += dial_warnings(weighed.error, radio, None)
    found = Learned(False, radio, "", passband_khz, range_khz, warnings=tuple(dict.fromkeys(said)))
    if weighed.afc.likely:
        return replace(found, reason=DRAWN[0], next=DRAWN[1])
    if not weighed.sweep.roar.heard or not weighed.stations:
        reason, then = NO_STATION if weighed.sweep.roar.heard else NO_ROAR
        return replace(found, reason=reason, next=then)
    low_mhz, high_mhz = radio.band_mhz
    places = (low_mhz, (low_mhz + high_mhz) / 2, high_mhz)
    found = replace(
        found,
        errors=tuple(_mark(weighed.error, mhz) for mhz in places),
        stations=tuple(
            _station(one.fit.mean_mhz, weighed.error, radio) for one in _by_dial(weighed)
        ),
    )
    alone = any(is_alone(one.run, weighed.runs, weighed.sweep) for one in weighed.stations)
    notes = (*_unmet(radio, found.stations), *(() if alone else (NONE_ALONE,)))
    found = replace(found, warnings=(*found.warnings, *notes))
    left = open_left(weighed.error, found.stations, radio)
    if left is not None:
        return replace(found, reason=left[0], next=left[1])
    profile = replace(
        radio,
        dial_marks=marks_of(weighed.error, [one.dial_mhz for one in found.stations]),
        known_stations_mhz=(),
        stated=(radio.stated & {*OWN, "passband_khz"}) | {"dial", "dial_marks"},
    )
    if alone:
        passband = (round(range_khz[0], 1), round(range_khz[1], 1))
        told = profile.stated | {"passband_khz"}
        profile = replace(profile, passband_khz=passband, stated=told)
    return replace(found, learned=True, radio=profile, reason=_from_what(found.stations))


def marks_of(
    error: DialError, stations_mhz: Sequence[float]
) -> tuple[tuple[float, float, float], ...]:
    """The error as Radio.dial_marks: at one place, or at two where it is independent.

    stations_mhz  where on the dial the stations stood that told it
    """
    if error.same_everywhere:
        local = error.at(stations_mhz[0])
        spread_khz = float(np.hypot(local.spread_khz, GRID_KHZ / np.sqrt(12)))
        return (_rounded(sum(stations_mhz) / len(stations_mhz), local.mean_khz, spread_khz),)
    low_khz, high_khz, weight = _one_step(error, stations_mhz)
    mean_low, mean_high = float(low_khz @ weight), float(high_khz @ weight)
    grid = float(np.min(np.diff(np.unique(low_khz)), initial=1e3)) if low_khz.size > 1 else 1.0
    a = float((low_khz - mean_low) ** 2 @ weight) + grid**2 / 12
    b = float((high_khz - mean_high) ** 2 @ weight) + grid**2 / 12
    c = float((low_khz - mean_low) * (high_khz - mean_high) @ weight)
    slope = a + b - 2 * c
    middle = (a - c) / slope
    least = max(a - (a - c) ** 2 / slope, 1e-6)
    aside = float(np.sqrt(least / slope))
    first_mhz, last_mhz = error.ends_mhz
    marks = []
    for along in (middle - aside, middle + aside):
        variance = a + 2 * along * (c - a) + along**2 * slope
        marks.append(
            _rounded(
                float(np.clip(first_mhz + along * (last_mhz - first_mhz), *DIAL_LIMITS_MHZ)),
                mean_low + along * (mean_high - mean_low),
                float(np.sqrt(variance)),
            )
        )
    return tuple(marks)


def _one_step(error: DialError, stations_mhz: Sequence[float]) -> tuple[Floats, Floats, Floats]:
    """The pairs of errors that belong to the likeliest raster step where the stations stood."""
    inside = np.ones(error.weight.size, dtype=bool)
    for mhz in (min(stations_mhz), max(stations_mhz)):
        away_khz = error.khz_at(mhz) - error.at(mhz).mean_khz
        inside &= np.abs(away_khz) <= error.raster_khz / 2
    weight = error.weight[inside]
    return error.low_khz[inside], error.high_khz[inside], weight / weight.sum()


def _rounded(mhz: float, khz: float, spread_khz: float) -> tuple[float, float, float]:
    return round(mhz, 3), round(khz, 1), max(0.5, round(spread_khz, 1))


def _passband(weighed: Weighed) -> tuple[float, tuple[float, float]]:
    """The likeliest passband and the range that holds it, kHz."""
    assert weighed.radio is not None
    weight = weighed.radio.sum(axis=1)
    passband_khz = BASIC_KHZ / HALF_WIDTH_OF_PASSBAND
    step_khz = float(passband_khz[1] - passband_khz[0])
    edges_khz = np.append(passband_khz - step_khz / 2, passband_khz[-1] + step_khz / 2)
    below = np.concatenate([[0.0], np.cumsum(weight)])
    ends = ((1 - PASSBAND_SHARE) / 2, (1 + PASSBAND_SHARE) / 2)
    low_khz, high_khz = np.interp(ends, below, edges_khz)
    return float(passband_khz @ weight), (float(low_khz), float(high_khz))


def _by_dial(weighed: Weighed) -> list[Any]:
    return sorted(weighed.stations, key=lambda one: one.fit.mean_mhz)


def _mark(error: DialError, mhz: float) -> Mark:
    local = error.at(mhz)
    return Mark(mhz, local.mean_khz, local.spread_khz)


def _station(dial_mhz: float, error: DialError, radio: Radio) -> StationMark:
    """A station with the place that it is taken to stand at."""
    there_mhz = error.true_mhz(dial_mhz)
    origin_mhz, true_mhz = radio.raster_origin_mhz, there_mhz
    if origin_mhz is not None:
        true_mhz -= float(off_raster_khz(there_mhz, radio.raster_khz, origin_mhz)) / 1e3
    known = [mhz for mhz in error.known_mhz if abs(mhz - there_mhz) < radio.raster_khz / 2e3]
    if known:
        true_mhz = min(known, key=lambda mhz: abs(mhz - there_mhz))
    return StationMark(dial_mhz, true_mhz, bool(known), 1e3 * (there_mhz - true_mhz))


def open_left(
    error: DialError, stations: tuple[StationMark, ...], radio: Radio
) -> tuple[str, str] | None:
    """Why the dial's error is not known well enough, and what to do; None where it is."""
    places = (stations[0].dial_mhz, stations[-1].dial_mhz)
    for mhz in places:
        if error.at(mhz).ambiguous:
            steps = steps_words(error, mhz)
            fit = "go" if radio.raster_origin_mhz is None else "fit their raster"
            return (
                f"The stations {fit} with more than one error of the dial: at "
                f"{mhz:.2f} MHz it may be {steps} kHz.",
                KNOWN_NEEDED.format(more=" more" if error.known_mhz else ""),
            )
    worst_khz = max(error.at(mhz).spread_khz for mhz in places)
    if worst_khz <= LEARNED_KHZ[radio.dial]:
        return None
    return (
        f"By the {_count(stations)} heard the dial's error stays open by {worst_khz:.0f} kHz, "
        f"and {LEARNED_KHZ[radio.dial]:g} or less would serve another sweep.",
        KNOWN_NEEDED.format(more="")
        if radio.raster_origin_mhz is None and not error.known_mhz
        else "Sweep once more over more stations, or with finer steps beside them.",
    )


def _unmet(radio: Radio, stations: tuple[StationMark, ...]) -> list[str]:
    """What is said of stations that were named and are none of those that told anything.

    Those off the dial are told by dial_warnings.
    """
    met = {one.true_mhz for one in stations if one.known}
    unmet = [f"{mhz_text(mhz)} MHz" for mhz in known_on_dial(radio) if mhz not in met]
    if not unmet:
        return []
    return [
        f"Named, but not told apart within {most_known_khz(radio):g} kHz of its place: "
        f"{', '.join(unmet)}. See that the frequency is right, and visit it with open band on both "
        "sides."
    ]


def _from_what(stations: tuple[StationMark, ...]) -> str:
    named = sum(one.known for one in stations)
    of_known = f", {named} of known frequency" if named else ", none of known frequency"
    return f"Learned from {_count(stations)}{of_known}."


def _count(stations: tuple[StationMark, ...]) -> str:
    return f"{len(stations)} stations" if len(stations) > 1 else "one station"


def _plain(item: Any) -> dict[str, Any]:
    values = {name: getattr(item, name) for name in item.__slots__}
    return {k: round(v, 4) if isinstance(v, float) else v for k, v in values.items()}
