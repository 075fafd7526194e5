"""How well every curve that a radio may draw explains one carrier's stops, told apart finely.

Where two sweeps share a radio, a curve that is wrong in one is wrong in the other, and what
decides is how its cliffs lie to a few kilohertz and how far the roar rises at their feet.  So
the curves are those of plateau.py in a finer family.  They look the same at every half-width
but for their scale: a curve is a profile over offset / half-width, and the profiles are few.

Some plateaus fall to their cliffs, where a programme's loud moments swing the carrier over the
edge.  So the floor may sag:

    floor(d)  in dB, floor - sag · min(|d| / half_width, 1)²

Not every steepness is as likely: profiles are weighed by how steep the model benches were
(USUAL_STEEP).

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
from listen.analysis.plateau import noise_share
from listen.analysis.width import HALF_WIDTHS_KHZ

GRID_KHZ = 2.0  # of the carrier
STEEPS = (8.0, 10.5, 13.5, 17.0, 21.0, 26.0)
LIFTS = (0.6, 1.8, 3.2, 5.5)
LEAKS = (0.005, 0.04, 0.2, 1.0)
USUAL_STEEP, STEEP_SPREAD = 16.0, 0.3  # of radios: mean, and spread of the logarithm
SWING = 0.06  # of the carrier, over the half-width
LOG_STEP = 0.012  # of the half-width's logarithm, and of an offset's
NEAREST, FARTHEST = 0.02, 12.0  # offsets over half-widths that are told apart
FLOORS_DB = (0.0, 2.0, 8.0)  # where the floor lies, beyond the quietest reading
SAGS_DB = (0.0, 9.0)
# A reading scatters about its own radio's curve by less than about the nearest of a coarser
# family: what a cliff adds per dB and at most, and what a plateau may have.
CLIFF_PER_DB, CLIFF_DB = 0.04, 1.0
ASTRAY = 0.006  # of the half-width: what a cliff may stand elsewhere than any curve has it
PLATEAU_DB = (0.6, 2.0)  # scatter of what stands on the floor
ON_FLOOR_DB = 2.0  # so near the floor a reading stands on it
# Within BESIDE_MHZ of a stop that another carrier holds: what is neither within PLATEAU_WITHIN_DB
# of the deepest nor within AT_ROAR_DB of the open band's roar may be that carrier's doing
# altogether.
BESIDE_MHZ, PLATEAU_WITHIN_DB, AT_ROAR_DB = 0.255, 6.0, 0.3
OPEN_ROUGH_DB, CLIFF_ROUGH_DB = 0.3, 12.0  # what that adds to the scatter
REACH_KHZ = (60.0, 250.0)  # how far from the first guess to look: least and most


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """A carrier of one sweep, as every curve explains it.

    carrier_mhz     shape (n,), rising
    likelihood      shape (half-widths, profiles, n), up to a factor
    half_width_khz  shape (half-widths,), rising in even steps of its logarithm
    prior           shape (half-widths,): how likely each was before, adds up to 1
    profiles        shape (profiles,): likewise of each profile
    """

    carrier_mhz: Floats
    likelihood: NDArray[np.float32]
    half_width_khz: Floats
    prior: Floats
    profiles: Floats


@cache
def _profiles(coarse: bool) -> tuple[NDArray[np.float32], NDArray[np.float32], Floats]:
    """The profiles without the floor, shape (profiles, offsets): noise and its slope in dB a
    natural logarithm of the offset; and how likely each was before, shape (profiles,).
    """
    steeps = STEEPS[1::2] if coarse else STEEPS
    lifts, leaks = (LIFTS[1:3], LEAKS[1:3]) if coarse else (LIFTS, LEAKS)
    steep, lift, leak = (
        part.reshape(-1, 1) for part in np.meshgrid(steeps, lifts, leaks, indexing="ij")
    )
    noise = noise_share(_offsets(), steep, lift, leak, SWING)
    slope = np.gradient(10 * np.log10(noise + 1e-9), LOG_STEP, axis=1)
    share = np.exp(-0.5 * np.square(np.log(steep[:, 0] / USUAL_STEEP) / STEEP_SPREAD))
    return noise.astype(np.float32), slope.astype(np.float32), share / share.sum()


def _offsets() -> Floats:
    """Offsets over half-widths, rising in even steps of their logarithm."""
    return np.asarray(np.exp(np.arange(np.log(NEAREST), np.log(FARTHEST), LOG_STEP)))


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
    narrowest, widest = np.log(HALF_WIDTHS_KHZ[0]), np.log(HALF_WIDTHS_KHZ[-1])
    log_widths = np.arange(narrowest, widest, 2 * LOG_STEP if coarse else LOG_STEP)
    widths = np.exp(log_widths)
    dial_khz = np.array([1e3 * (r.dial_mhz - around_mhz) for r in readings])
    log_away = np.log(np.maximum(np.abs(dial_khz[:, None] - offsets_khz), 1.0))
    noise, slope, share = _profiles(coarse)
    places = np.rint((log_away[:, None] - log_widths[:, None] - np.log(NEAREST)) / LOG_STEP)
    places = np.clip(places, 0, noise.shape[1] - 1).astype(np.intp)
    quietest_db = max((r.quieting_db for r in readings), default=30.0)
    inside = np.square(np.minimum(_offsets(), 1.0))
    logs = []
    for floor_db, plateau_db, sag_db in product(
        FLOORS_DB[::2] if coarse else FLOORS_DB, PLATEAU_DB, SAGS_DB
    ):
        lowest_db = (quietest_db + floor_db - sag_db * inside).astype(np.float32)
        whole = noise + 10 ** (-lowest_db / 10)
        expected_db = -10 * np.log10(whole)
        cliff_db = np.clip(ROAR_DB + CLIFF_PER_DB * np.abs(expected_db), ROAR_DB, CLIFF_DB)
        cliff_db = np.hypot(cliff_db, np.float32(ASTRAY) * slope * noise / whole)
        on_floor = expected_db > lowest_db - ON_FLOOR_DB
        scatter_db = np.where(on_floor, np.float32(plateau_db), cliff_db)
        log_like = np.zeros((noise.shape[0], widths.size, offsets_khz.size), np.float32)
        for reading, place in zip(readings, places, strict=True):
            log_like += _log_odds(reading, expected_db, scatter_db)[:, place]
        logs.append(log_like)
    top = max(float(log_like.max()) for log_like in logs)
    likelihood = np.zeros_like(logs[0])
    for log_like in logs:
        likelihood += np.exp(log_like - np.float32(top))
    own = (np.interp(widths, HALF_WIDTHS_KHZ, prior) + 1e-6) * widths  # even in its logarithm
    return Drawn(
        around_mhz + offsets_khz / 1e3,
        np.ascontiguousarray(likelihood.transpose(1, 0, 2)),
        widths,
        np.asarray(own / own.sum(), dtype=np.float64),
        share,
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
        rough_db = OPEN_ROUGH_DB if abs(reading.quieting_db) < AT_ROAR_DB else CLIFF_ROUGH_DB
        found.append(replace(reading, rough_db=max(rough_db, reading.rough_db)))
    return found


def _log_odds(
    reading: Reading, expected_db: NDArray[np.float32], scatter_db: NDArray[np.floating]
) -> NDArray[np.float32]:
    """Log density of one reading over _offsets(), by profile."""
    if reading.rough_db:
        scatter_db = np.hypot(scatter_db, np.float32(reading.rough_db))
    gap = (expected_db - reading.quieting_db) / scatter_db
    odds = -(DEGREES + 1) / 2 * np.log1p(np.square(gap) / DEGREES) - np.log(scatter_db)
    return np.asarray(odds, dtype=np.float32)
