"""Whether two sweeps' stops beside stations read alike, as one radio's do.

A station stands still and does not change, so what a stop on its slope reads is the radio's:
the same passband gives the same quieting at the same place of the dial, and another passband
gives another, on every slope in one direction.  Unlike a station's place and width this needs
no curve.  A reading of the plateau or of the open band tells nothing: all radios have both.

Conventions
-----------
Quieting is dB below the roar, cut off at DEEP_DB, beyond which programme and line-in hide it.
Gaps are the second sweep's reading minus the first's.  One radio's gaps scatter by READ_DB, now
and then by ASTRAY_DB, about what another aerial or coupling does to all of them (AERIAL_DB,
mostly small, now and then large); two radios' by OTHERS_DB about what another passband does,
PASSBAND_DB.  They were set by model benches (docs/confirmation.md).
"""

import numpy as np
from numpy.typing import NDArray

from listen.analysis.survey import Survey

Floats = NDArray[np.float64]

SAME_PLACE_KHZ = 1.0  # of the dial
DEEP_DB, SHALLOW_DB = 20.0, 3.0
SURELY_DEEP_DB = 17.0  # both readings deeper than this: no slope
READ_DB, ASTRAY_DB, ASTRAY = 2.0, 8.0, 0.1
AERIAL_DB, AERIAL_MOVED_DB, AERIAL_MOVED = 1.0, 4.0, 0.15
OTHERS_DB, PASSBAND_DB = 5.0, 12.0
COMMON_DB = np.arange(-30.0, 30.1, 0.5)


def gaps_db(before: Survey, after: Survey, stations_mhz: list[tuple[float, float]]) -> Floats:
    """What the second sweep reads more than the first at the same places on stations' slopes.

    stations_mhz  low and high end of each part of the dial where only a station is heard
    """
    first, second = (_read(sweep, stations_mhz) for sweep in (before, after))
    common = sorted(first.keys() & second.keys())
    if not common:
        return np.zeros(0)
    read = np.array([(first[place], second[place]) for place in common])
    slope = (read.max(axis=1) > SHALLOW_DB) & (read.min(axis=1) < SURELY_DEEP_DB)
    return np.asarray(np.diff(read[slope], axis=1)[:, 0])


def two_radios_odds(gaps: Floats) -> float:
    """Natural logarithm of how much likelier these gaps are with two radios than with one."""
    if gaps.size == 0:
        return 0.0
    rest = gaps[:, None] - COMMON_DB
    one = (1 - ASTRAY) * _bell(rest, READ_DB) + ASTRAY * _bell(rest, ASTRAY_DB)
    aerial = (1 - AERIAL_MOVED) * _bell(COMMON_DB, AERIAL_DB)
    aerial = aerial + AERIAL_MOVED * _bell(COMMON_DB, AERIAL_MOVED_DB)
    two = _bell(rest, OTHERS_DB)
    likely = [
        float(np.log(prior / prior.sum() @ each.prod(axis=0) + 1e-300))
        for prior, each in ((aerial, one), (_bell(COMMON_DB, PASSBAND_DB), two))
    ]
    return likely[1] - likely[0]


def _read(sweep: Survey, stations_mhz: list[tuple[float, float]]) -> dict[int, float]:
    """Mean quieting at each place of the dial beside a station, by the place in SAME_PLACE_KHZ."""
    read: dict[int, list[float]] = {}
    for stop, quieting_db in zip(sweep.stops, sweep.quieting_db, strict=True):
        beside = any(low <= stop.dial_mhz <= high for low, high in stations_mhz)
        if beside and stop.console == "on" and np.isfinite(quieting_db):
            place = round(1e3 * stop.dial_mhz / SAME_PLACE_KHZ)
            read.setdefault(place, []).append(float(np.clip(quieting_db, 0.0, DEEP_DB)))
    return {place: float(np.mean(own)) for place, own in read.items()}


def _bell(away: Floats, spread: float) -> Floats:
    return np.asarray(np.exp(-0.5 * (away / spread) ** 2) / spread)
