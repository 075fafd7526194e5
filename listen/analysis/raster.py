"""How far the dial is off, from the stations it heard: they can only sit on their raster.

Conventions
-----------
A dial error is dial minus truth, kHz: a carrier fitted at 95.80 on a dial 20 kHz high is on
95.78.  The raster fixes an error of less than half of itself; before any station is heard
the error is only believed to be small.
"""

from dataclasses import dataclass

import numpy as np

BELIEVED_KHZ = 12.0  # spread of a digital set's error before anything is heard
STATION_KHZ = 3.0  # stations keep to 2 kHz (47 CFR 73.1545); the rest is the fit's own bias
OUTLIERS = 0.1  # share of runs that are no single station


@dataclass(frozen=True, slots=True)
class DialError:
    """Dial minus truth, kHz: its mean, its spread, and how many stations told it."""

    mean_khz: float
    spread_khz: float
    stations: int


def dial_error(
    fitted: list[tuple[float, float]], raster_khz: float, origin_mhz: float
) -> DialError:
    """The error that puts the stations on their raster.

    fitted      (carrier on the dial in MHz, spread in kHz) of each station heard alone
    raster_khz  spacing of the stations
    origin_mhz  any one place of the raster
    """
    errors_khz = np.arange(-raster_khz / 2, raster_khz / 2, 0.5)
    log_p = -0.5 * (errors_khz / BELIEVED_KHZ) ** 2
    for mhz, spread_khz in fitted:
        wide = np.hypot(spread_khz, STATION_KHZ)
        off = off_raster_khz(mhz - errors_khz / 1e3, raster_khz, origin_mhz)
        fits = np.exp(-0.5 * (off / wide) ** 2) / (wide * np.sqrt(2 * np.pi))
        log_p = log_p + np.log((1 - OUTLIERS) * fits + OUTLIERS / raster_khz)
    weight = np.exp(log_p - log_p.max())
    weight /= weight.sum()
    mean = float(errors_khz @ weight)
    return DialError(mean, float(np.sqrt((errors_khz - mean) ** 2 @ weight)), len(fitted))


def off_raster_khz(mhz: np.ndarray | float, raster_khz: float, origin_mhz: float) -> np.ndarray:
    """Distance to the nearest place of the raster, kHz, signed."""
    khz = 1e3 * (np.asarray(mhz, dtype=np.float64) - origin_mhz)
    return np.asarray((khz + raster_khz / 2) % raster_khz - raster_khz / 2)
