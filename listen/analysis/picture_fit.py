"""Where a picture carrier sits, from the stops that heard its buzz.

A picture carrier is amplitude modulated, which a limiter takes away as long as the carrier
itself stands inside the passband; the radio is then as quiet as it gets but for the buzz.  As
soon as the carrier leaves the passband the skirt turns its modulation into noise over the
whole band, at any strength.  So quieting over the dial is a box as wide as the passband with
steep walls, on a shelf far above the roar's zero, and the shelf ends where the carrier and its
sidebands sink into the noise, as a sound carrier of that strength would:

    quieting(d) = (shelf + slope · e^(-x/SLOPE_KHZ) + the rest of deep · e^(-(x/WALL_KHZ)^1.2))
                  · fall((|d| - end) / FALL_KHZ)

with x = |d| - w beyond the box, w half the passband, end = half_width(w, strength) by the law of
width.py and fall the logistic step from 1 to 0.  Only w, the strength and the carrier are unknown;
w is believed from what the sweep's other carriers say of the radio.

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
from listen.analysis.width import BASIC_KHZ, HALF_WIDTH_OF_PASSBAND, SLOPE

WIDTHS_KHZ = np.arange(60.0, 181.0, 4.0)
HALF_OF_BASIC = 0.5 / HALF_WIDTH_OF_PASSBAND  # half the passband over width.BASIC_KHZ
WIDTH_SCATTER = 0.06  # of that about the law, as a share
STRENGTHS_DB = np.arange(26.0, 61.0, 6.0)
USUAL_DB, USUAL_SPREAD_DB = 42.0, 11.0  # some 10 dB over the sound: common practice
WALL_KHZ, WALL_BEND = 9.0, 1.2
SHELF_DB, SLOPE_DB, SLOPE_KHZ = 5.5, 5.0, 40.0
FALL_KHZ = 18.0
INSIDE_SPREAD_DB, OUTSIDE_SPREAD_DB = 4.0, 1.5
ASTRAY_KHZ = 6.0  # what a wall or the shelf's end may stand elsewhere
STRAY = 25.0  # squared distance, over scatter and DEGREES, from which a reading says no more
FAR_KHZ = 700.0  # to which the curve is tabulated
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
    usual = np.exp(-0.5 * ((STRENGTHS_DB - USUAL_DB) / USUAL_SPREAD_DB) ** 2)
    prior = _width_prior(radio)
    log_like = np.log(prior)[:, None, None] + np.log(usual)[:, None] + np.zeros(offsets_khz.size)
    table_khz = np.arange(0.0, FAR_KHZ, GRID_KHZ)
    curves_db = _curve_db(table_khz, deep_db, WIDTHS_KHZ[:, None, None], STRENGTHS_DB[:, None])
    inside = table_khz <= WIDTHS_KHZ[:, None, None]
    spreads_db = np.hypot(
        np.where(inside, INSIDE_SPREAD_DB, OUTSIDE_SPREAD_DB),
        ASTRAY_KHZ * np.gradient(curves_db, GRID_KHZ, axis=2),
    )
    scatter = bell(scatter_khz, GRID_KHZ)
    aside = scatter.size // 2  # a stop may have been made so many cells away
    wider_khz = offsets_khz[0] + GRID_KHZ * np.arange(-aside, offsets_khz.size + aside)
    for reading in readings:
        away_khz = np.abs(1e3 * (reading.dial_mhz - around_mhz) - wider_khz)
        cells = np.minimum(np.rint(away_khz / GRID_KHZ).astype(np.intp), table_khz.size - 1)
        spread_db = np.hypot(spreads_db, reading.rough_db)
        gap = np.square((reading.quieting_db - curves_db) / spread_db) / DEGREES
        density = (1 + np.minimum(gap, STRAY)) ** (-(DEGREES + 1) / 2) / spread_db
        where = np.lib.stride_tricks.sliding_window_view(density[..., cells], scatter.size, axis=2)
        log_like += np.log(where @ scatter)
    most = float(log_like.max())
    of_width = np.log(np.exp(log_like - most).sum(axis=1) + 1e-300)
    width, place = np.unravel_index(int(of_width.argmax()), of_width.shape)
    strength_db = STRENGTHS_DB[log_like[width, :, place].argmax()]  # of the curve that is shown

    def curve_db(away_khz: Floats, width_khz: float) -> Floats:
        return _curve_db(away_khz, deep_db, np.array(width_khz), strength_db)

    return posterior_of_box(of_width, around_mhz, offsets_khz, WIDTHS_KHZ, prior, curve_db)


def _curve_db(away_khz: Floats, deep_db: float, width_khz: Floats, strength_db: Floats) -> Floats:
    """Quieting at offsets (0 upward) of a box that is so wide, of a carrier that is so strong."""
    beyond_khz = np.maximum(away_khz - width_khz, 0.0)
    wall_db = max(deep_db - SHELF_DB - SLOPE_DB, 0.0)
    stands_db = SHELF_DB + SLOPE_DB * np.exp(-beyond_khz / SLOPE_KHZ)
    stands_db = stands_db + wall_db * np.exp(-((beyond_khz / WALL_KHZ) ** WALL_BEND))
    end_khz = width_khz / HALF_OF_BASIC * np.exp(SLOPE * (strength_db - 25.0))
    return np.asarray(stands_db / (1 + np.exp((away_khz - end_khz) / FALL_KHZ)))


def _width_prior(radio: Floats) -> Floats:
    """Probability of each of WIDTHS_KHZ."""
    basic = radio.sum(axis=1)
    middle_khz = HALF_OF_BASIC * BASIC_KHZ
    apart = (WIDTHS_KHZ[:, None] - middle_khz) / (WIDTH_SCATTER * middle_khz)
    bell = np.exp(-0.5 * apart**2)
    weight = (bell / bell.sum(axis=0)) @ basic + 1e-4
    return np.asarray(weight / weight.sum())
