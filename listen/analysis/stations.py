"""What the stations of a sweep tell of the radio: how far its dial is off, how wide it holds.

A station's fit says where the dial shows it (raster.py), its run being narrow enough for one
carrier.  Where it was heard alone, with no other beside it, its place on the raster says how wide
the radio holds it too (width.py).  One with others beside it is believed less.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from listen.analysis.curve import Floats
from listen.analysis.dialerror import DialError
from listen.analysis.evidence import Candidate, fitted
from listen.analysis.heard import Sound
from listen.analysis.raster import STATION_KHZ, Shown, dial_error_of, off_raster_khz
from listen.analysis.readings import deepest_db, readings_of
from listen.analysis.runs import Run
from listen.analysis.survey import Survey
from listen.analysis.width import Held
from listen.radio import Radio

ANYWHERE_KHZ = 1e4  # a carrier's place that is left to its fit alone
ALONE_MHZ = 0.45  # a run no wider than this is one carrier's; half of it parts two of them
ONE_MHZ = 0.65  # one as wide as this mostly is: a strong station's, or one that outdoes another
BESIDE_KHZ = 15.0  # spread more of a station that was not heard alone
BESIDE_STRAY = 0.3  # and how often it is none, or two


def stations_heard(carriers: Sequence[Candidate], sweep: Survey) -> tuple[Candidate, ...]:
    """The carriers that sound like stations and may be one each."""
    return tuple(
        one for one in carriers if one.run.side < 0 and _width_mhz(one.run, sweep) <= ONE_MHZ
    )


def placed(
    one: Candidate,
    runs: tuple[Run, ...],
    sweep: Survey,
    sounds: tuple[Sound, ...],
    unknown: Floats,
    scatter_khz: float,
) -> Candidate:
    """A station placed by hiss and loudness.

    How wide it is held is for its hiss alone to tell, by which the law of widths was set: with
    loudness stations come out wider.

    unknown  how wide a radio holds a carrier before any was heard
    scatter_khz  of the dial's readings
    """
    if scatter_khz > 0:  # loudness is left out then
        return one
    fit = fitted(one.run, runs, sweep, sounds, unknown, True, scatter_khz, loud=True)
    return replace(one, fit=fit)


def calibrated(
    stations: Sequence[Candidate],
    runs: tuple[Run, ...],
    sweep: Survey,
    sounds: tuple[Sound, ...],
    radio: Radio,
) -> DialError:
    """The dial's error by the stations heard."""
    alone = [one for one in stations if is_alone(one.run, runs, sweep)]
    shown = [
        Shown(one.fit.carrier_mhz, one.fit.weight)
        if one in alone
        else Shown(one.fit.carrier_mhz, one.fit.weight, BESIDE_KHZ, BESIDE_STRAY)
        for one in stations
    ]
    return dial_error_of(radio, shown, *_open_and_held(sweep, sounds, alone))


def held_by(one: Candidate, sweep: Survey, error: DialError, radio: Radio) -> Held:
    """A station's half-width, its carrier being on the raster, if it is known where that is."""
    if radio.raster_origin_mhz is None:
        anywhere = one.fit.width_likelihood(one.fit.mean_mhz, ANYWHERE_KHZ)
        return Held(anywhere, deepest_db(one.run, sweep), station=True)
    local = error.at(one.fit.mean_mhz)
    true_mhz = one.fit.mean_mhz - local.mean_khz / 1e3
    off_khz = off_raster_khz(true_mhz, radio.raster_khz, radio.raster_origin_mhz)
    place_mhz = true_mhz - float(off_khz) / 1e3
    near_khz = float(np.hypot(local.spread_khz, STATION_KHZ))
    likelihood = one.fit.width_likelihood(place_mhz + local.mean_khz / 1e3, near_khz)
    return Held(likelihood, deepest_db(one.run, sweep), station=True)


def is_alone(run: Run, runs: tuple[Run, ...], sweep: Survey) -> bool:
    """Whether a run is narrow enough for one carrier and has no other beside it."""
    ends_mhz = [sweep.stops[i].dial_mhz for i in (run.held[0], run.held[-1])]
    return _width_mhz(run, sweep) <= ALONE_MHZ and all(
        min(abs(sweep.stops[i].dial_mhz - mhz) for i in other.held for mhz in ends_mhz)
        > ALONE_MHZ / 2
        for other in runs
        if other is not run
    )


def _width_mhz(run: Run, sweep: Survey) -> float:
    return sweep.stops[run.held[-1]].dial_mhz - sweep.stops[run.held[0]].dial_mhz


def _open_and_held(
    sweep: Survey, sounds: tuple[Sound, ...], stations: Sequence[Candidate]
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """The stops, console on, that heard the open band alone, and those that heard something else.

    stations  heard alone: their stops are neither, nor are the edges beside them
    """
    own = {i for one in stations for i in readings_of(one.run, (one.run,), sweep, sounds)[1]}
    told = [
        (stop.dial_mhz, sound.kind == "open")
        for i, (stop, sound) in enumerate(zip(sweep.stops, sounds, strict=True))
        if stop.console == "on"
        and sound.kind not in ("silent", "muted")
        and not (i in own and sound.kind != "open")
    ]
    return tuple(mhz for mhz, is_open in told if is_open), tuple(mhz for mhz, o in told if not o)
