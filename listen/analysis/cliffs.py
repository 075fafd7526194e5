"""How well every curve that a radio may draw explains one carrier's stops.

The curves are those of curve.py, plateaus with cliffs, but told apart more finely: where two
sweeps share a radio, a curve that is wrong in one is wrong in the other, and what decides is
how its cliffs lie to a few kilohertz and how far the roar rises at their feet.

A cliff looks the same wherever it stands.  So a curve is a profile over the distance beyond
the cliff, u = |dial - carrier| - half-width, and the profiles are few:

    noise(u) = floor + foot(u) · mean over the swing of 1 / (1 + exp(-u / scale))
    foot(u)  = 1 + overshoot · exp(-((u - reach) / spread)²)

Conventions
-----------
Dial positions and carriers are MHz on the dial's own scale, distances kHz, quieting dB below
the open-band roar.  Errors of a reading are Student's t, as in curve.py.
"""

from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from listen.analysis.curve import DEGREES, ROAR_DB, Floats, Reading
from listen.analysis.width import HALF_WIDTHS_KHZ

GRID_KHZ = 2.0  # of the carrier
BEYOND_KHZ = (-340.0, 620.0)  # u, in steps of 1 kHz
SCALES_KHZ = (1.3, 2.0, 3.2, 5.0, 8.0)
SWINGS_KHZ = (0.0, 18.0, 36.0)
OVERSHOOTS = (0.25, 0.5, 0.9, 1.4)  # as a power
FEET_KHZ = ((20.0, 17.0), (40.0, 32.0))  # where, and how wide
FLOORS_DB = (-0.5, 0.5, 2.0, 8.0)  # where the floor lies, beyond the quietest reading
# A reading scatters about its own radio's curve by less than about the nearest of a coarser
# family: what a cliff adds per dB and at most, and what a plateau may have.
CLIFF_PER_DB, CLIFF_DB = 0.1, 1.5
PLATEAU_DB = (0.6, 2.0)  # scatter of what stands on the floor
REACH_KHZ = (60.0, 250.0)  # how far from the first guess to look: least and most


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """A carrier of one sweep, as every curve explains it.

    carrier_mhz     shape (n,), rising
    likelihood      shape (half-widths, profiles, n), up to a factor
    half_width_khz  shape (half-widths,), rising in even steps
    prior           shape (half-widths,): how likely each was before, adds up to 1
    """

    carrier_mhz: Floats
    likelihood: NDArray[np.float32]
    half_width_khz: Floats
    prior: Floats


@cache
def _profiles(coarse: bool) -> NDArray[np.float32]:
    """Noise without the floor over u, shape (profiles, u)."""
    u = np.arange(BEYOND_KHZ[0], BEYOND_KHZ[1] + 1)
    feet = [(0.0, *FEET_KHZ[0]), *((o, *f) for o, f in product(OVERSHOOTS, FEET_KHZ))]
    scales = SCALES_KHZ[1:4] if coarse else SCALES_KHZ
    swings = SWINGS_KHZ[1:] if coarse else SWINGS_KHZ
    feet = feet[3:6:2] if coarse else feet
    rows = []
    for scale, swing, foot in product(scales, swings, feet):
        overshoot, reach, spread = foot
        inside = [-(u + side * swing) / scale for side in (0.0, -1.0, 1.0)]
        logistic = [1 / (1 + np.exp(np.clip(x, -60, 60))) for x in inside]
        noise = 0.5 * logistic[0] + 0.25 * logistic[1] + 0.25 * logistic[2]
        rows.append(noise * (1 + overshoot * np.exp(-(((u - reach) / spread) ** 2))))
    return np.array(rows, dtype=np.float32)


def drawn(
    readings: list[Reading],
    around_mhz: float,
    spread_khz: float,
    prior: Floats,
    *,
    coarse: bool = False,
) -> Drawn:
    """A carrier of one sweep by every curve.

    readings    the stops near it, as curve.fit_carrier takes them
    around_mhz, spread_khz  a first fit of it
    prior       shape of HALF_WIDTHS_KHZ: how likely each is before a stop was read
    coarse      fewer curves, for stations
    """
    reach_khz = float(np.clip(4 * spread_khz + 20, *REACH_KHZ))
    offsets_khz = np.arange(-reach_khz, reach_khz + GRID_KHZ, GRID_KHZ)
    step = 6.0 if coarse else 3.0
    widths = np.arange(HALF_WIDTHS_KHZ[0], HALF_WIDTHS_KHZ[-1] + step / 2, step)
    dial_khz = np.array([1e3 * (r.dial_mhz - around_mhz) for r in readings])
    away = np.abs(dial_khz[:, None, None] - offsets_khz) - widths[:, None]
    places = np.clip(np.rint(away - BEYOND_KHZ[0]), 0, BEYOND_KHZ[1] - BEYOND_KHZ[0])
    places = places.astype(np.intp)
    noise = _profiles(coarse)
    quietest_db = max((r.quieting_db for r in readings), default=30.0)
    logs = []
    for floor_db, plateau_db in product(FLOORS_DB[1::2] if coarse else FLOORS_DB, PLATEAU_DB):
        lowest_db = quietest_db + floor_db
        expected_db = -10 * np.log10(noise + np.float32(10 ** (-lowest_db / 10)))
        cliff_db = np.clip(ROAR_DB + CLIFF_PER_DB * np.abs(expected_db), ROAR_DB, CLIFF_DB)
        scatter_db = np.where(expected_db > lowest_db - 2, np.float32(plateau_db), cliff_db)
        log_like = np.zeros((noise.shape[0], widths.size, offsets_khz.size), np.float32)
        for reading, place in zip(readings, places, strict=True):
            log_like += _log_odds(reading, expected_db, scatter_db)[:, place]
        logs.append(log_like)
    top = max(float(log_like.max()) for log_like in logs)
    likelihood = np.zeros_like(logs[0])
    for log_like in logs:
        likelihood += np.exp(log_like - np.float32(top))
    own = np.interp(widths, HALF_WIDTHS_KHZ, prior) + 1e-6
    return Drawn(
        around_mhz + offsets_khz / 1e3,
        np.ascontiguousarray(likelihood.transpose(1, 0, 2)),
        widths,
        np.asarray(own / own.sum(), dtype=np.float64),
    )


def _log_odds(
    reading: Reading, expected_db: NDArray[np.float32], scatter_db: NDArray[np.floating]
) -> NDArray[np.float32]:
    """Log density of one reading over u."""
    gap = (expected_db - reading.quieting_db) / scatter_db
    odds = -(DEGREES + 1) / 2 * np.log1p(np.square(gap) / DEGREES) - np.log(scatter_db)
    return np.asarray(odds, dtype=np.float32)
