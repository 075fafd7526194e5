"""What the stations of a sweep tell of the radio: how far its dial is off, how wide it holds.

A station calibrates where it was heard alone: its run narrow enough for one carrier and no
other beside it.  Then its fit says where the dial shows it (raster.py), and its place on the
raster says how wide the radio holds it (width.py).
"""

from collections.abc import Sequence

import numpy as np

from listen.analysis.dialerror import DialError
from listen.analysis.evidence import Candidate
from listen.analysis.heard import Sound
from listen.analysis.raster import STATION_KHZ, dial_error_of, off_raster_khz
from listen.analysis.readings import deepest_db, readings_of
from listen.analysis.runs import Run
from listen.analysis.survey import Survey
from listen.analysis.width import Held
from listen.radio import Radio

ANYWHERE_KHZ = 1e4  # a carrier's place that is left to its fit alone
ALONE_MHZ = 0.45  # a station nearer than this to another carrier calibrates nothing


def stations_alone(
    carriers: Sequence[Candidate], runs: tuple[Run, ...], sweep: Survey
) -> tuple[Candidate, ...]:
    """The carriers that sound like stations and were heard alone."""
    return tuple(one for one in carriers if one.run.side < 0 and _alone(one.run, runs, sweep))


def calibrated(
    stations: Sequence[Candidate], sweep: Survey, sounds: tuple[Sound, ...], radio: Radio
) -> DialError:
    """The dial's error by the stations heard alone."""
    fitted = [(one.fit.mean_mhz, one.fit.spread_khz) for one in stations]
    return dial_error_of(radio, fitted, *_open_and_held(sweep, sounds, stations))


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


def _alone(run: Run, runs: tuple[Run, ...], sweep: Survey) -> bool:
    """Whether a run is narrow enough for one carrier and has no other beside it."""
    dial = [sweep.stops[i].dial_mhz for i in run.held]
    if dial[-1] - dial[0] > ALONE_MHZ:
        return False
    return all(
        min(abs(sweep.stops[i].dial_mhz - mhz) for i in other.held for mhz in (dial[0], dial[-1]))
        > ALONE_MHZ / 2
        for other in runs
        if other is not run
    )


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
