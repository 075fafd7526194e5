"""Where a picture carrier sits, from the stops that heard its buzz.

A picture carrier is amplitude modulated, which a limiter takes away as long as the carrier
itself stands inside the passband; the radio is then as quiet as it gets but for the buzz.  As
soon as the carrier leaves the passband the skirt turns its modulation into noise over the
whole band, at any strength.  So quieting over the dial is a box as wide as the passband, with
walls some 30 kHz thick, and beyond them a level of its own, far above the roar's zero.

    quieting(d) = deep                          |d| ≤ w
                  deep → OUTSIDE_DB, straight   w ≤ |d| ≤ w + WALL_KHZ
                  OUTSIDE_DB                    beyond

with w half the passband.  Only w and the carrier are unknown; w is believed from what the
sweep's other carriers say of the radio (width.py).

Conventions
-----------
As in curve.py.  The numbers were read off model benches (docs/carrier-fit.md).
"""

import numpy as np

from listen.analysis.curve import (
    DEGREES,
    GRID_KHZ,
    Floats,
    Posterior,
    Reading,
    posterior_of_box,
)
from listen.analysis.scatter import bell
from listen.analysis.width import BASIC_KHZ, HALF_WIDTH_OF_PASSBAND

WIDTHS_KHZ = np.arange(60.0, 181.0, 4.0)
HALF_OF_BASIC = 0.5 / HALF_WIDTH_OF_PASSBAND  # half the passband over width.BASIC_KHZ
WIDTH_SCATTER = 0.06  # of that about the law, as a share
WALL_KHZ = 30.0
OUTSIDE_DB, OUTSIDE_SPREAD_DB = 6.0, 5.0
INSIDE_SPREAD_DB, WALL_SPREAD_DB = 4.0, 9.0
PICTURE_REACH_KHZ = 250.0


def fit_picture(
    readings: list[Reading], around_mhz: float, radio: Floats, *, scatter_khz: float = 0.0
) -> Posterior:
    """The picture carrier that explains the readings, within 250 kHz of a first guess.

    readings  the stops near it
    radio     how wide this radio holds a carrier, as width.radio_weights gives it
    scatter_khz  how far a stop is from what was read off the dial, one standard deviation
    """
    deep_db = max((reading.quieting_db for reading in readings), default=30.0)
    offsets_khz = np.arange(-PICTURE_REACH_KHZ, PICTURE_REACH_KHZ + GRID_KHZ, GRID_KHZ)
    prior = _width_prior(radio)
    log_like = np.log(prior)[:, None] + np.zeros(offsets_khz.size)
    scatter = bell(scatter_khz, GRID_KHZ)
    aside = scatter.size // 2  # a stop may have been made so many cells away
    wider_khz = offsets_khz[0] + GRID_KHZ * np.arange(-aside, offsets_khz.size + aside)
    for reading in readings:
        away_khz = np.abs(1e3 * (reading.dial_mhz - around_mhz) - wider_khz)
        beyond = (away_khz - WIDTHS_KHZ[:, None]) / WALL_KHZ
        share = np.clip(beyond, 0.0, 1.0)
        expected_db = deep_db + share * (OUTSIDE_DB - deep_db)
        spread_db = np.where(share <= 0, INSIDE_SPREAD_DB, WALL_SPREAD_DB)
        spread_db = np.where(share >= 1, OUTSIDE_SPREAD_DB, spread_db)
        spread_db = np.hypot(spread_db, reading.rough_db)
        gap = (reading.quieting_db - expected_db) / spread_db
        density = (1 + gap**2 / DEGREES) ** (-(DEGREES + 1) / 2) / spread_db
        where = np.lib.stride_tricks.sliding_window_view(density, scatter.size, axis=1)
        log_like += np.log(where @ scatter)

    def curve_db(away_khz: Floats, width_khz: float) -> Floats:
        share = np.clip((away_khz - width_khz) / WALL_KHZ, 0.0, 1.0)
        return np.asarray(deep_db + share * (OUTSIDE_DB - deep_db))

    return posterior_of_box(log_like, around_mhz, offsets_khz, WIDTHS_KHZ, prior, curve_db)


def _width_prior(radio: Floats) -> Floats:
    """Probability of each of WIDTHS_KHZ."""
    basic = radio.sum(axis=1)
    middle_khz = HALF_OF_BASIC * BASIC_KHZ
    apart = (WIDTHS_KHZ[:, None] - middle_khz) / (WIDTH_SCATTER * middle_khz)
    bell = np.exp(-0.5 * apart**2)
    weight = (bell / bell.sum(axis=0)) @ basic + 1e-4
    return np.asarray(weight / weight.sum())
