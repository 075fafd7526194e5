"""How wide this radio holds a carrier, learned from every carrier of the sweep.

On a coarse dial no stop may stand on a cliff; then only the distance between the cliffs
tells where the carrier can be.  That distance is the radio's: all carriers of a sweep share
its passband, and a stronger one is held further down the same skirts.  With skirts of a
constant number of dB per octave

    half_width = basic · exp(slope · (strength - 25 dB))

with strength the carrier-to-noise ratio in 200 kHz.  How deep a carrier quiets tells its
strength, unless its programme hides the floor: then it is only known to be no weaker.

Conventions
-----------
Half-widths are kHz, strengths dB.  Probabilities lie on fixed grids.  The numbers below were
read off model benches (docs/carrier-fit.md).
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

BASIC_KHZ = np.arange(90.0, 261.0, 5.0)
SLOPES = np.arange(0.008, 0.041, 0.004)
STRENGTHS_DB = np.arange(6.0, 61.0, 3.0)
SLOPE, SLOPE_SPREAD = 0.022, 0.007
HALF_WIDTH_OF_PASSBAND = 0.75  # half-width over passband for 25 dB
QUIETS_DB = 17.0  # quieting over strength in a programme's pauses
QUIETS_SPREAD_DB = 3.0
SCATTER = 0.09  # of a half-width about the law, as a share
STATION = 0.85  # a full deviation narrows what is held


@dataclass(frozen=True, slots=True)
class Held:
    """One carrier's half-width as fitted, with what its quieting says of its strength.

    half_width_khz, spread_khz   as fitted
    quieting_db                  its deepest
    station                      whether it swings as far as a station
    """

    half_width_khz: float
    spread_khz: float
    quieting_db: float
    station: bool


def strength_weights(quieting_db: float, station: bool) -> Floats:
    """Probability of each of STRENGTHS_DB, given how deep a carrier quiets."""
    seen_db = quieting_db - QUIETS_DB
    floor_is_noise = np.exp(-0.5 * ((STRENGTHS_DB - seen_db) / QUIETS_SPREAD_DB) ** 2)
    hidden = (seen_db - QUIETS_SPREAD_DB < STRENGTHS_DB) * np.exp(
        -0.5 * ((STRENGTHS_DB - 30) / 14) ** 2
    )
    share = 0.1 if station and quieting_db < 28 else 0.6
    weight = share * floor_is_noise / max(floor_is_noise.sum(), 1e-9) + (1 - share) * hidden / max(
        hidden.sum(), 1e-9
    )
    return np.asarray(weight / weight.sum())


@cache
def _law_khz() -> Floats:
    """Half-widths by the law, shape (basics, slopes, strengths)."""
    basic, slope, strength = np.meshgrid(BASIC_KHZ, SLOPES, STRENGTHS_DB, indexing="ij")
    return np.asarray(basic * np.exp(slope * (strength - 25)))


def radio_weights(others: list[Held], passband_khz: tuple[float, float]) -> Floats:
    """Probability of each (basic, slope) of this radio, shape (basics, slopes).

    others        the carriers that tell it
    passband_khz  the range that its passband is believed to lie in
    """
    narrow, wide = (HALF_WIDTH_OF_PASSBAND * khz for khz in passband_khz)
    log_p = -0.5 * ((BASIC_KHZ - (narrow + wide) / 2) / ((wide - narrow) / 3 + 5)) ** 2
    log_p = log_p[:, None] - 0.5 * ((SLOPES - SLOPE) / SLOPE_SPREAD) ** 2
    for one in others:
        centre = _law_khz() * (STATION if one.station else 1.0)
        spread = np.hypot(one.spread_khz, SCATTER * centre)
        density = np.exp(-0.5 * ((one.half_width_khz - centre) / spread) ** 2) / spread
        likely = density @ strength_weights(one.quieting_db, one.station)
        log_p = log_p + np.log(0.95 * likely + 0.05 / 200)
    weight = np.exp(log_p - log_p.max())
    return np.asarray(weight / weight.sum())


def half_width_weights(wanted_khz: Floats, quieting_db: float, radio: Floats) -> Floats:
    """Probability of each half-width of a console's carrier.

    wanted_khz   the half-widths asked for, kHz, evenly spaced
    quieting_db  its deepest quieting
    radio        radio_weights
    """
    law_khz = _law_khz().ravel()
    own = (radio[:, :, None] * strength_weights(quieting_db, False)).ravel()
    step_khz = float(wanted_khz[1] - wanted_khz[0])
    place = np.clip(np.rint((law_khz - wanted_khz[0]) / step_khz), 0, wanted_khz.size - 1)
    share = np.bincount(place.astype(np.intp), weights=own, minlength=wanted_khz.size)
    # The scatter is a share of the half-width: each place of the law spreads to its neighbours.
    apart = wanted_khz[:, None] - wanted_khz[None, :]
    bell = np.exp(-0.5 * (apart / (SCATTER * wanted_khz)) ** 2)
    weight = (bell / bell.sum(axis=0)) @ share
    return np.asarray(weight / weight.sum())
