"""How far the dial is off, from the stations it heard: they can only sit on their raster.

Every error that the dial may have is held against every station heard.  A station of unknown
name fits where the error puts it on the raster, one of known name where it puts it on its own
frequency; a known station that should have been heard and was not speaks against.

    p(error) ~ prior(error) · Π stations ∫ p(x) [ raster(x) + known(x) + stray ] · Π absent ones

with x a place that the station's fit leaves open, less the error there, and known stations that
should have been heard as the absent ones.  The raster alone leaves the error open by whole
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
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from listen.analysis.dialerror import CELL_KHZ, DialError, Floats
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
OUTLIERS = 0.1  # share of stations that are none, or two, if they were heard alone
UNKNOWN = 6.0  # stations heard over the band that nobody named, about
PRESENT = 0.95  # how often a known station that the dial passes is heard
SILENT_MHZ = 0.1  # a known station this near to open stops alone is not there
LEAST = 1e-7  # hypotheses less likely than this beside the best are let go


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """A station as the dial shows it.

    carrier_mhz  shape (n,): where its fit puts it, in even steps
    weight       shape (n,): the probabilities of these, which add up to 1
    rough_khz    what its fit leaves out, one standard deviation
    stray        how often such a one is no station, or two
    """

    carrier_mhz: Floats
    weight: Floats
    rough_khz: float = 0.0
    stray: float = OUTLIERS

    @property
    def mean_mhz(self) -> float:
        """Where on the dial it is, on the average."""
        return float(self.carrier_mhz @ self.weight)

    @property
    def spread_khz(self) -> float:
        """How well that is known, one standard deviation."""
        off_khz = 1e3 * (self.carrier_mhz - self.mean_mhz)
        return float(np.sqrt(off_khz**2 @ self.weight + self.rough_khz**2))

    def density(self, more_khz: float) -> tuple[Floats, Floats]:
        """Places in kHz from its mean, CELL_KHZ apart, and the density per kHz at each.

        more_khz  spread of what else it may be off
        """
        off_khz = 1e3 * (self.carrier_mhz - self.mean_mhz)
        wide_khz = float(np.hypot(self.rough_khz, more_khz))
        reach = np.ceil(4 * wide_khz / CELL_KHZ)
        cells = np.ceil((off_khz[-1] - off_khz[0]) / CELL_KHZ)
        bell = np.exp(-0.5 * (np.arange(-reach, reach + 1) * CELL_KHZ / wide_khz) ** 2)
        khz = off_khz[0] + CELL_KHZ * np.arange(-reach, cells + reach + 1)
        density = np.interp(khz, off_khz, self.weight, left=0.0, right=0.0)
        density = np.convolve(density, bell, mode="same")
        return khz, density / (density.sum() * CELL_KHZ)


def dial_error_of(
    radio: Radio,
    stations: Sequence[Shown],
    open_mhz: Sequence[float] = (),
    held_mhz: Sequence[float] = (),
) -> DialError:
    """The error that puts the stations where they can be.

    radio     its raster, kind of dial, known stations and learned marks
    stations  as the dial shows them
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
    for one in stations:
        at_khz = _error_khz(low_khz, high_khz, ends_mhz, one.mean_mhz)
        more_khz = float(np.hypot(STATION_KHZ, bends_khz))
        log_p = log_p + np.log(_explained(one, at_khz, more_khz, known_mhz, radio))
    if known_mhz.size and len(open_mhz):
        for mhz in known_mhz:
            shown_mhz = mhz + _error_khz(low_khz, high_khz, ends_mhz, mhz) / 1e3
            absent = _silent(shown_mhz, open_mhz, held_mhz)
            for one in stations:
                near_mhz = 2.5e-3 * (one.spread_khz + STATION_KHZ)
                absent &= np.abs(shown_mhz - one.mean_mhz) > near_mhz
            log_p = log_p + np.log(1 - PRESENT) * absent
    weight = np.exp(log_p - log_p.max())
    kept = weight > LEAST
    weight = weight[kept] / weight[kept].sum()
    found = DialError(low_khz[kept], high_khz[kept], weight, ends_mhz, step_khz, len(stations))
    return replace(found, known_mhz=_known_among(found, stations, radio))


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


def _explained(
    one: Shown, at_khz: Floats, more_khz: float, known_mhz: Floats, radio: Radio
) -> Floats:
    """How well a station is explained by each error of the dial there, as a density per kHz.

    By the raster, where UNKNOWN stations stand somewhere over the band; by a known one, which
    stands at one place and no other, so much denser; or by no station at all.  Where the raster
    begins nobody knows where they stand, but for the known ones.

    more_khz  what a station and the dial may be off besides
    """
    khz, shown = one.density(more_khz)
    density: Floats = np.full(at_khz.shape, 1 / radio.raster_khz)
    if radio.raster_origin_mhz is not None:
        first_khz = 1e3 * (radio.raster_origin_mhz - one.mean_mhz)
        density = _folded(khz, shown, at_khz + first_khz, radio.raster_khz)
    denser = PRESENT * USUAL_BAND_KHZ / (UNKNOWN * radio.raster_khz)
    for mhz in known_mhz:
        there_khz = at_khz + 1e3 * (mhz - one.mean_mhz)
        density = density + denser * np.interp(there_khz, khz, shown, left=0.0, right=0.0)
    return np.asarray((1 - one.stray) * density + one.stray / radio.raster_khz)


def _folded(khz: Floats, density: Floats, at_khz: Floats, raster_khz: float) -> Floats:
    """The density at some places and at all that are whole steps of the raster from them."""
    phase_khz = np.arange(0.0, raster_khz, CELL_KHZ)
    first, last = np.floor(khz[0] / raster_khz), np.ceil(khz[-1] / raster_khz)
    places_khz = phase_khz[:, None] + np.arange(first, last + 1) * raster_khz
    folded = np.interp(places_khz, khz, density, left=0.0, right=0.0).sum(axis=1)
    return np.asarray(np.interp(at_khz, phase_khz, folded, period=raster_khz))


def _silent(mhz: Floats, open_mhz: Sequence[float], held_mhz: Sequence[float]) -> NDArray[np.bool_]:
    """Where the dial was open beside a place, and nothing else was held there."""
    near = [
        np.searchsorted(places, mhz + SILENT_MHZ, "right")
        > np.searchsorted(places, mhz - SILENT_MHZ)
        for places in (np.sort(open_mhz), np.sort(held_mhz))
    ]
    return np.asarray(near[0] & ~near[1], dtype=np.bool_)


def _known_among(error: DialError, stations: Sequence[Shown], radio: Radio) -> tuple[float, ...]:
    """The known stations that were heard where the error puts them."""
    met = []
    for known_mhz in known_on_dial(radio):
        for one in stations:
            local = error.at(one.mean_mhz)
            wide_khz = np.sqrt(one.spread_khz**2 + local.spread_khz**2 + 2 * STATION_KHZ**2)
            reach_khz = min(2.5 * wide_khz, error.raster_khz / 2)  # no neighbour on the raster
            if abs(1e3 * (one.mean_mhz - known_mhz) - local.mean_khz) <= reach_khz:
                met.append(known_mhz)
                break
    return tuple(met)
