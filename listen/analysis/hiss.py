"""How much hiss a clip holds: the noise floor between the lines of whatever plays.

A carrier quiets an FM radio whatever its programme, so the floor tells whether a carrier is
held.  It is read in a band above most programmes and below the radio's 15 kHz cut; which
band that can be depends on the recording's rate, so every band that fits is measured and a
sweep is compared in the highest one that all of its stops have.

Conventions
-----------
Levels are dB of mean square per hertz.  A band that the recording does not reach is nan.
Within a frame the floor is a low quantile over frequency, so that lines do not count; over
the frames `calm` is a low quantile (pauses, soft passages) and `burst` a high one (noise
that comes on loud passages, when the swing leaves the passband).

Source: the quantile of an exponential distribution, -mean·ln(1-q): a periodogram's cells
have one in Gaussian noise (textbook).
"""

from dataclasses import dataclass

import numpy as np

from listen.analysis.ranks import quantiles
from listen.analysis.spectrum import Cells, decibels

BANDS_HZ = ((9_000.0, 14_500.0), (4_800.0, 7_400.0), (2_200.0, 3_600.0))
TILT_HZ = (2_000.0, 3_500.0)  # low band whose floor, against the top one, tells roar's colour
LOW_CELLS = 0.3  # quantile over a frame's cells
CALM_FRAMES, BURST_FRAMES = 0.2, 0.85  # quantiles over the frames


@dataclass(frozen=True, slots=True)
class Hiss:
    """The floor of one clip, in each of BANDS_HZ.

    calm_db   in the clip's quiet moments, dB per hertz
    burst_db  in its loud ones
    low_db    the calm floor of TILT_HZ, dB per hertz
    """

    calm_db: tuple[float, float, float]
    burst_db: tuple[float, float, float]
    low_db: float

    def tilt_db(self, band: int) -> float:
        """Floor at 2 to 3.5 kHz over that of a band, dB: open-band roar leans low."""
        return self.low_db - self.calm_db[band]


def measure_hiss(cells: Cells) -> Hiss:
    """The floor of one clip's cells, in each band that it reaches."""
    calm_db, burst_db = [], []
    for low_hz, high_hz in BANDS_HZ:
        if high_hz > cells.hz[-1]:
            calm_db.append(np.nan)
            burst_db.append(np.nan)
            continue
        calm, burst = _floor_db(cells, low_hz, high_hz)
        calm_db.append(calm)
        burst_db.append(burst)
    low_db, _ = _floor_db(cells, *TILT_HZ)
    return Hiss((*calm_db,), (*burst_db,), low_db)  # type: ignore[arg-type]


def _floor_db(cells: Cells, low_hz: float, high_hz: float) -> tuple[float, float]:
    """The calm and the burst floor of a band, dB per hertz."""
    band = cells.between(low_hz, high_hz)
    rank = int(LOW_CELLS * band.shape[1])
    floors = np.sort(band, axis=1)[:, rank] / -np.log1p(-LOW_CELLS)
    calm, burst = quantiles(floors, (CALM_FRAMES, BURST_FRAMES))
    return float(decibels(calm)), float(decibels(burst))
