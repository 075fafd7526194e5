"""How well every curve that a radio may draw explains one carrier's stops.

The curves are those of curve.py, plateaus with cliffs, but told apart more finely: where two
sweeps share a radio, a curve that is wrong in one is wrong in the other, and what decides is
how its cliffs lie to a few kilohertz and how far the roar rises at their feet.

A cliff looks the same wherever it stands.  So a curve is a profile over the distance beyond
the cliff, u = |dial - carrier| - half-width, and the profiles are few:

    straight(u)  in dB, minus that of the mean over the swing of 1 / (1 + exp(-u / scale))
    bent(u)      straight + bend · (tanh((straight - 18) / 8) + tanh(18 / 8)): steeper at 18 dB
    foot(u)      1 + overshoot · exp(-((u - reach) / spread)²): louder than the open band
    floor(u)     in dB, floor - sag · exp(u / 70) inside: some plateaus fall to their cliffs
    noise(u)     floor(u) + foot(u) · bent(u), all as powers

The numbers were read off model benches whose dials were walked in steps of 10 kHz: cliffs of 0.3
to 3 dB a kHz, over which straight ones miss by 1.8 dB and bent ones by 1.4.

Conventions
-----------
Dial positions and carriers are MHz on the dial's own scale, distances kHz, quieting dB below
the open-band roar.  Errors of a reading are Student's t, as in curve.py.
"""

from dataclasses import dataclass, replace
from functools import cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from listen.analysis.curve import DEGREES, ROAR_DB, Floats, Reading
from listen.analysis.width import HALF_WIDTHS_KHZ

GRID_KHZ = 2.0  # of the carrier
BEYOND_KHZ = (-340.0, 620.0)  # u, in steps of 1 kHz
SAGS_DB, SAG_KHZ = (0.0, 8.0), 70.0  # of the plateau, towards its cliffs
SCALES_KHZ = (1.5, 2.4, 4.0, 7.0, 12.0)
SWINGS_KHZ = (0.0, 18.0)
BENDS_DB = (0.0, 5.0)  # by how much, either way
BEND_AT_DB, BEND_OVER_DB = 18.0, 8.0
# What the roar does at the foot: overshoot (a power), where, and how wide, kHz.
FEET = (
    (0.0, 20.0, 17.0),
    (0.25, 20.0, 17.0),
    (0.6, 20.0, 17.0),
    (0.5, 40.0, 32.0),
    (1.2, 40.0, 32.0),
)
FLOORS_DB = (0.0, 2.0, 8.0)  # where the floor lies, beyond the quietest reading
# A reading scatters about its own radio's curve by less than about the nearest of a coarser
# family: what a cliff adds per dB and at most, and what a plateau may have.
CLIFF_PER_DB, CLIFF_DB = 0.1, 1.5
PLATEAU_DB = (0.6, 2.0)  # scatter of what stands on the floor
# Within BESIDE_MHZ of a stop that another carrier holds: what is neither within PLATEAU_WITHIN_DB
# of the deepest nor within OPEN_DB of the open band's roar may be that carrier's doing altogether.
BESIDE_MHZ, PLATEAU_WITHIN_DB, OPEN_DB = 0.255, 6.0, 0.3
OPEN_ROUGH_DB, CLIFF_ROUGH_DB = 0.3, 12.0  # what that adds to the scatter
WIDEST_KHZ, WIDER_KHZ = 430.0, 40.0  # half-widths beyond the prior's, ever less likely
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
    scales = SCALES_KHZ[1:4] if coarse else SCALES_KHZ
    swings = SWINGS_KHZ[1:] if coarse else SWINGS_KHZ
    feet = FEET[2:4] if coarse else FEET
    rows = []
    for scale, swing, foot, bend_db in product(scales, swings, feet, BENDS_DB):
        overshoot, reach, spread = foot
        inside = [-(u + side * swing) / scale for side in (0.0, -1.0, 1.0)]
        logistic = [1 / (1 + np.exp(np.clip(x, -60, 60))) for x in inside]
        straight_db = -10 * np.log10(0.5 * logistic[0] + 0.25 * logistic[1] + 0.25 * logistic[2])
        beyond, foremost = (db / BEND_OVER_DB for db in (straight_db - BEND_AT_DB, BEND_AT_DB))
        bent_db = straight_db + bend_db * (np.tanh(beyond) + np.tanh(foremost))
        noise = 10 ** (-bent_db / 10)
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

    readings    the stops near it, as curve.fit_carrier takes them; see beside_others
    around_mhz, spread_khz  a first fit of it
    prior       shape of HALF_WIDTHS_KHZ: how likely each is before a stop was read
    coarse      fewer curves, for stations
    """
    reach_khz = float(np.clip(4 * spread_khz + 20, *REACH_KHZ))
    offsets_khz = np.arange(-reach_khz, reach_khz + GRID_KHZ, GRID_KHZ)
    step = 6.0 if coarse else 3.0
    widths = np.arange(HALF_WIDTHS_KHZ[0], WIDEST_KHZ + step / 2, step)
    dial_khz = np.array([1e3 * (r.dial_mhz - around_mhz) for r in readings])
    away = np.abs(dial_khz[:, None, None] - offsets_khz) - widths[:, None]
    places = np.clip(np.rint(away - BEYOND_KHZ[0]), 0, BEYOND_KHZ[1] - BEYOND_KHZ[0])
    places = places.astype(np.intp)
    noise = _profiles(coarse)
    quietest_db = max((r.quieting_db for r in readings), default=30.0)
    inside = np.minimum(np.arange(BEYOND_KHZ[0], BEYOND_KHZ[1] + 1, dtype=np.float32), 0)
    logs = []
    for floor_db, plateau_db, sag_db in product(
        FLOORS_DB[::2] if coarse else FLOORS_DB, PLATEAU_DB, SAGS_DB
    ):
        lowest_db = quietest_db + floor_db - np.float32(sag_db) * np.exp(inside / SAG_KHZ)
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
    own *= np.exp(-np.maximum(widths - HALF_WIDTHS_KHZ[-1], 0) / WIDER_KHZ)
    return Drawn(
        around_mhz + offsets_khz / 1e3,
        np.ascontiguousarray(likelihood.transpose(1, 0, 2)),
        widths,
        np.asarray(own / own.sum(), dtype=np.float64),
    )


def beside_others(readings: list[Reading], others_mhz: list[float]) -> list[Reading]:
    """The readings, those trusted less that another carrier bends.

    others_mhz  the dial stops that other carriers hold

    On a cliff two carriers may be heard at once, and neither is then as quiet as alone.  Open
    band beside a strong station roars louder, or is quieted a little.
    """
    deepest_db = max((r.quieting_db for r in readings), default=0.0)
    found = []
    for reading in readings:
        gap_mhz = min((abs(mhz - reading.dial_mhz) for mhz in others_mhz), default=9.0)
        if gap_mhz > BESIDE_MHZ or reading.quieting_db > deepest_db - PLATEAU_WITHIN_DB:
            found.append(reading)
            continue
        rough_db = OPEN_ROUGH_DB if abs(reading.quieting_db) < OPEN_DB else CLIFF_ROUGH_DB
        found.append(replace(reading, rough_db=max(rough_db, reading.rough_db)))
    return found


def _log_odds(
    reading: Reading, expected_db: NDArray[np.float32], scatter_db: NDArray[np.floating]
) -> NDArray[np.float32]:
    """Log density of one reading over u."""
    if reading.rough_db:
        scatter_db = np.hypot(scatter_db, np.float32(reading.rough_db))
    gap = (expected_db - reading.quieting_db) / scatter_db
    odds = -(DEGREES + 1) / 2 * np.log1p(np.square(gap) / DEGREES) - np.log(scatter_db)
    return np.asarray(odds, dtype=np.float32)
