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

HALF_WIDTHS_KHZ = np.arange(66.0, 431.0, 4.0)
BASIC_KHZ = np.arange(90.0, 261.0, 5.0)
SLOPES = np.arange(0.008, 0.041, 0.004)
STRENGTHS_DB = np.arange(6.0, 61.0, 2.0)
SLOPE, SLOPE_SPREAD = 0.022, 0.006
HALF_WIDTH_OF_PASSBAND = 0.775  # half-width over passband for 25 dB
QUIETS_DB, QUIETS_SPREAD_DB = 17.5, 2.0  # quieting over strength where only noise is left
HIDDEN, HIDDEN_DB = 0.55, 9.0  # how often something else hides it, and by how much on average
DENSE_DB = 30.0  # a station that quiets less than this plays dense music: it says nothing
USUAL_DB, USUAL_SPREAD_DB = 32.0, 13.0  # strengths met before anything is known
SCATTER = 0.06  # of a half-width about the law, as a share
STATION = 0.94  # a full deviation narrows what is held


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """One carrier whose place is known, with what its stops say of its half-width.

    likelihood   shape of HALF_WIDTHS_KHZ: how well each explains its stops
    quieting_db  its deepest
    station      whether it swings as far as a station
    """

    likelihood: Floats
    quieting_db: float
    station: bool


def strength_weights(quieting_db: float, station: bool) -> Floats:
    """Probability of each of STRENGTHS_DB, given how deep a carrier quiets."""
    beyond_db = STRENGTHS_DB - (quieting_db - QUIETS_DB)
    seen = np.exp(-0.5 * (beyond_db / QUIETS_SPREAD_DB) ** 2) / QUIETS_SPREAD_DB / 2.5
    hidden = np.where(beyond_db > -QUIETS_SPREAD_DB, np.exp(-beyond_db / HIDDEN_DB), 0) / HIDDEN_DB
    if station and quieting_db < DENSE_DB:
        seen, hidden = 0 * seen, (beyond_db > -QUIETS_SPREAD_DB).astype(np.float64)
    usual = np.exp(-0.5 * ((STRENGTHS_DB - USUAL_DB) / USUAL_SPREAD_DB) ** 2)
    weight = ((1 - HIDDEN) * seen + HIDDEN * hidden) * usual + 1e-9
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
        blurred = _scattered() @ one.likelihood
        law_khz = _law_khz() * (STATION if one.station else 1.0)
        density = np.interp(law_khz, HALF_WIDTHS_KHZ, blurred)
        likely = density @ strength_weights(one.quieting_db, one.station)
        log_p = log_p + np.log(0.95 * likely + 0.05 / HALF_WIDTHS_KHZ.size)
    weight = np.exp(log_p - log_p.max())
    return np.asarray(weight / weight.sum())


def half_width_weights(quieting_db: float, radio: Floats) -> Floats:
    """Probability of each of HALF_WIDTHS_KHZ for a console's carrier.

    quieting_db  its deepest quieting
    radio        radio_weights
    """
    own = (radio[:, :, None] * strength_weights(quieting_db, False)).ravel()
    step_khz = float(HALF_WIDTHS_KHZ[1] - HALF_WIDTHS_KHZ[0])
    place = np.rint((_law_khz().ravel() - HALF_WIDTHS_KHZ[0]) / step_khz)
    place = np.clip(place, 0, HALF_WIDTHS_KHZ.size - 1).astype(np.intp)
    share = np.bincount(place, weights=own, minlength=HALF_WIDTHS_KHZ.size)
    weight = _scattered() @ share
    return np.asarray(weight / weight.sum())


@cache
def _scattered() -> Floats:
    """Spreads each half-width to its neighbours by SCATTER; columns add up to 1."""
    apart = HALF_WIDTHS_KHZ[:, None] - HALF_WIDTHS_KHZ[None, :]
    bell = np.exp(-0.5 * (apart / (SCATTER * HALF_WIDTHS_KHZ)) ** 2)
    return np.asarray(bell / bell.sum(axis=0))
