"""How far the dial is off, from the stations it heard: they can only sit on their raster.

Every error that the dial may have is held against every station heard.  A station of unknown
name fits where the error puts it on the raster, one of known name where it puts it on its own
frequency; a known station that should have been heard and was not speaks against.

    p(error) ~ prior(error) · Π stations [ raster(x) + known(x) + stray ] · Π absent known ones

with x the fitted place less the error there.  The raster alone leaves the error open by whole
steps of it.  So without a known station an error of less than half a step is believed, but only
as far as the prior goes: where the stations fit no such error, several steps stay possible, and
Local.ambiguous says so.  A raster that begins nobody knows where tells nothing: then the
prior holds, and a known station alone calibrates.

Priors
------
digital   under half a raster, a normal one of 12 kHz; with known stations up to 200 kHz, and now
          and then one of 45 kHz, as of badly aligned sets
analogue  an error at either end of the scale, in proportion between: mostly under 50 kHz at both,
          sometimes up to 420 kHz; the other way round where known stations are named
marks     what a radio's profile learned, Radio.dial_marks, for the most part; else as above

Orders of magnitude are common practice; docs/radio.md tells how they were tried.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from listen.analysis.dialerror import DialError, Floats
from listen.radio import (
    MOST_SCALE_KHZ,
    USUAL_BAND_KHZ,
    USUAL_RASTER_KHZ,
    Radio,
    refuse_odd_marks,
)

BELIEVED_KHZ = 12.0  # spread of a digital set's error before anything is heard
# Share and spread of the belief, without known stations and with.  Without them a few sets of a
# larger error would cost more than they gain: their stations fit the next raster step as well.
DIGITAL_KHZ = {False: ((1.0, BELIEVED_KHZ),), True: ((0.85, BELIEVED_KHZ), (0.15, 45.0))}
DIGITAL_STEP_KHZ, DIGITAL_KNOWN_KHZ = 0.5, 200.0
SCALE_STEP_KHZ = 4.0  # in which an analogue scale's ends are tried, up to MOST_SCALE_KHZ
NEAR_KHZ, FAR_KHZ, EDGE_KHZ = 48.0, 410.0, 4.0  # where the two priors of an end fall off
FAR_SHARE = {False: 0.05, True: 0.9}  # of the far one, without known stations and with
AGAIN_KHZ = {"digital": 2.0, "analogue": 8.0}  # a learned error comes back as well as this
UNLEARNED = 0.03  # how often a profile is not this radio's
# Stations keep to 2 kHz (47 CFR 73.1545); the rest is the fit's own bias, and a scale's bends.
STATION_KHZ, SCALE_BENDS_KHZ = 3.0, 4.0
OUTLIERS = 0.1  # share of runs that are no single station
UNKNOWN = 6.0  # stations heard over the band that nobody named, about
PRESENT = 0.95  # how often a known station that the dial passes is heard
SILENT_MHZ = 0.1  # a known station this near to open stops alone is not there
LEAST = 1e-7  # hypotheses less likely than this beside the best are let go


def dial_error_of(
    radio: Radio,
    fitted: Sequence[tuple[float, float]],
    open_mhz: Sequence[float] = (),
    held_mhz: Sequence[float] = (),
) -> DialError:
    """The error that puts the stations where they can be.

    radio     its raster, kind of dial, known stations and learned marks
    fitted    (carrier on the dial in MHz, spread in kHz) of each station heard alone
    open_mhz  stops of the dial where nothing but the open band was heard
    held_mhz  stops where something else was than these stations

    Raises BadDial for marks that no such dial has.
    """
    refuse_odd_marks(radio)
    known_mhz = np.array(known_on_dial(radio))
    step_khz = radio.raster_khz if radio.raster_origin_mhz is not None else USUAL_RASTER_KHZ
    low_khz, high_khz, prior = _hypotheses(
        radio.dial, step_khz, bool(known_mhz.size), _reach_khz(radio)
    )
    ends_mhz = radio.band_mhz
    log_p = np.log(_learned(radio, low_khz, high_khz, prior))
    bends_khz = SCALE_BENDS_KHZ if radio.dial == "analogue" else 0.0
    for mhz, spread_khz in fitted:
        wide_khz = float(np.sqrt(spread_khz**2 + STATION_KHZ**2 + bends_khz**2))
        true_mhz = mhz - _error_khz(low_khz, high_khz, ends_mhz, mhz) / 1e3
        log_p = log_p + np.log(_explained(true_mhz, wide_khz, known_mhz, radio))
    if known_mhz.size and len(open_mhz):
        for mhz in known_mhz:
            shown_mhz = mhz + _error_khz(low_khz, high_khz, ends_mhz, mhz) / 1e3
            absent = _silent(shown_mhz, open_mhz, held_mhz)
            for heard_mhz, spread_khz in fitted:
                absent &= np.abs(shown_mhz - heard_mhz) > 2.5e-3 * (spread_khz + STATION_KHZ)
            log_p = log_p + np.log(1 - PRESENT) * absent
    weight = np.exp(log_p - log_p.max())
    kept = weight > LEAST
    weight = weight[kept] / weight[kept].sum()
    found = DialError(low_khz[kept], high_khz[kept], weight, ends_mhz, step_khz, len(fitted))
    return replace(found, known_mhz=_known_among(found, fitted, radio))


def off_raster_khz(mhz: Floats | float, raster_khz: float, origin_mhz: float) -> Floats:
    """Distance to the nearest place of the raster, kHz, signed."""
    khz = 1e3 * (np.asarray(mhz, dtype=np.float64) - origin_mhz)
    return np.asarray((khz + raster_khz / 2) % raster_khz - raster_khz / 2)


def most_known_khz(radio: Radio) -> float:
    """How far off a dial may be where a known station is still looked for, kHz."""
    if radio.dial == "analogue":
        return FAR_KHZ
    return max(radio.raster_khz / 2, DIGITAL_KNOWN_KHZ, _reach_khz(radio))


def known_on_dial(radio: Radio) -> tuple[float, ...]:
    """The known stations that the dial shows, however far it is off; others tell nothing of it."""
    low_mhz, high_mhz = radio.band_mhz
    reach_mhz = most_known_khz(radio) / 1e3
    return tuple(
        mhz
        for mhz in radio.known_stations_mhz
        if low_mhz - reach_mhz <= mhz <= high_mhz + reach_mhz
    )


def _reach_khz(radio: Radio) -> float:
    """How far a digital dial's learned error may lie: one of half a raster or more is tried too."""
    wide_khz = AGAIN_KHZ[radio.dial]
    return max(
        (abs(khz) + 4 * float(np.hypot(spread, wide_khz)) for _, khz, spread in radio.dial_marks),
        default=0.0,
    )


@cache
def _hypotheses(
    dial: str, raster_khz: float, known: bool, reach_khz: float
) -> tuple[Floats, Floats, Floats]:
    """The errors at the dial's two ends that are tried, and how likely each pair was before."""
    if dial == "digital":
        most_khz = max(raster_khz / 2, DIGITAL_KNOWN_KHZ if known else 0.0, reach_khz)
        khz = np.arange(-most_khz, most_khz, DIGITAL_STEP_KHZ)
        prior = sum(
            share / wide_khz * np.exp(-0.5 * (khz / wide_khz) ** 2)
            for share, wide_khz in DIGITAL_KHZ[known]
        )
        return khz, khz, np.asarray(prior / np.sum(prior))
    ends = np.arange(-MOST_SCALE_KHZ, MOST_SCALE_KHZ + 1, SCALE_STEP_KHZ)
    low_khz, high_khz = (part.ravel() for part in np.meshgrid(ends, ends, indexing="ij"))
    near, far = (
        _within(low_khz, most_khz) * _within(high_khz, most_khz)
        for most_khz in (min(NEAR_KHZ, 0.48 * raster_khz), FAR_KHZ)
    )
    share = FAR_SHARE[known]
    prior = (1 - share) * near / near.sum() + share * far / far.sum()
    return low_khz, high_khz, np.asarray(prior)


def _within(khz: Floats, most_khz: float) -> Floats:
    """Even up to a limit and soon nothing beyond it."""
    return np.asarray(1 / (1 + np.exp(np.clip((np.abs(khz) - most_khz) / EDGE_KHZ, -60, 60))))


def _learned(radio: Radio, low_khz: Floats, high_khz: Floats, prior: Floats) -> Floats:
    """The prior with what a profile says of this dial."""
    if not radio.dial_marks:
        return prior
    log_p = np.zeros(low_khz.size)
    for mark_mhz, mark_khz, spread_khz in radio.dial_marks:
        wide_khz = float(np.hypot(spread_khz, AGAIN_KHZ[radio.dial]))
        apart = (_error_khz(low_khz, high_khz, radio.band_mhz, mark_mhz) - mark_khz) / wide_khz
        log_p = log_p - 0.5 * apart**2
    learned = np.exp(log_p - log_p.max())
    either = (1 - UNLEARNED) * learned / learned.sum() + UNLEARNED * prior
    # What is as good as impossible has a logarithm too.
    return np.asarray(np.maximum(either, np.finfo(np.float64).tiny))


def _error_khz(
    low_khz: Floats, high_khz: Floats, ends_mhz: tuple[float, float], mhz: float
) -> Floats:
    along = (mhz - ends_mhz[0]) / (ends_mhz[1] - ends_mhz[0])
    return np.asarray(low_khz + along * (high_khz - low_khz))


def _explained(true_mhz: Floats, wide_khz: float, known_mhz: Floats, radio: Radio) -> Floats:
    """How well a station at these places is explained, as a density per kHz.

    By the raster, where UNKNOWN stations stand somewhere over the band; by a known one, which
    stands at one place and no other, so much denser; or by no station at all.  Where the raster
    begins nobody knows where they stand, but for the known ones.
    """
    density: Floats = np.full(true_mhz.shape, 1 / radio.raster_khz)
    if radio.raster_origin_mhz is not None:
        off_khz = off_raster_khz(true_mhz, radio.raster_khz, radio.raster_origin_mhz)
        density = (1 - OUTLIERS) * _bell(off_khz, wide_khz) + OUTLIERS / radio.raster_khz
    denser = PRESENT * USUAL_BAND_KHZ / (UNKNOWN * radio.raster_khz)
    for mhz in known_mhz:
        density = density + denser * _bell(1e3 * (true_mhz - mhz), wide_khz)
    return np.asarray(density)


def _bell(khz: Floats, wide_khz: float) -> Floats:
    return np.asarray(np.exp(-0.5 * (khz / wide_khz) ** 2) / (wide_khz * np.sqrt(2 * np.pi)))


def _silent(mhz: Floats, open_mhz: Sequence[float], held_mhz: Sequence[float]) -> NDArray[np.bool_]:
    """Where the dial was open beside a place, and nothing else was held there."""
    near = [
        np.searchsorted(places, mhz + SILENT_MHZ, "right")
        > np.searchsorted(places, mhz - SILENT_MHZ)
        for places in (np.sort(open_mhz), np.sort(held_mhz))
    ]
    return np.asarray(near[0] & ~near[1], dtype=np.bool_)


def _known_among(
    error: DialError, fitted: Sequence[tuple[float, float]], radio: Radio
) -> tuple[float, ...]:
    """The known stations that were heard where the error puts them."""
    met = []
    for known_mhz in known_on_dial(radio):
        for mhz, spread_khz in fitted:
            local = error.at(mhz)
            wide_khz = np.sqrt(spread_khz**2 + local.spread_khz**2 + 2 * STATION_KHZ**2)
            if abs(1e3 * (mhz - known_mhz) - local.mean_khz) <= 2.5 * wide_khz:
                met.append(known_mhz)
                break
    return tuple(met)
