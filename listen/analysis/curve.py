"""Where a carrier sits, from how far the radio was quieted at each dial stop.

Hiss over the dial is a plateau with cliffs.  The fit lays a family of theoretical curves
over the stops, for every carrier frequency on a fine grid, and adds up how well each
explains what was measured: the sum over all the curves is the probability of each
frequency.  So nothing is said of a cliff that no stop stands on, and the interval widens by
itself where a flank is missing.

Conventions
-----------
Dial positions and carriers are MHz, quieting dB (0 is the open-band roar).  A stop is either
held by this carrier, open to it (nothing else is heard there), or taken by a stronger one;
at a taken stop the carrier can only be weaker than what was heard.  Errors of a reading are
Student's t with 4 degrees of freedom, so that one bad stop does not move the answer.

What it gives
-------------
Reading      one stop, as the fit sees it
fit_carrier  Posterior: the carrier's frequency with its probabilities, and the best curve

It knows nothing of channels, programmes or people.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from listen.analysis.quieting import REACH_KHZ, STEP_KHZ, shapes

Floats = NDArray[np.float64]

STRENGTHS_DB = tuple(float(db) for db in range(4, 58, 3))
SHARPNESSES = (2.0, 3.0, 4.5)
SWINGS_KHZ = (0.0, 15.0, 35.0)
FLOORS_DB = (60.0, 50.0, 42.0, 34.0, 26.0, 18.0, 12.0)  # what hides the quietest hiss
READING_DB = 1.6  # scatter of a quieting against theory; set by trials, docs/carrier-fit.md
SLACK_DB = 3.0  # a taken stop may be this much noisier than the weaker carrier would be
DEGREES = 4.0
GRID_KHZ = 2.0


@dataclass(frozen=True, slots=True)
class Reading:
    """One stop as the fit sees it: its dial, its quieting, and whose it is."""

    dial_mhz: float
    quieting_db: float
    taken: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """A carrier's frequency as probabilities, on the dial's own scale.

    carrier_mhz   shape (n,), rising
    weight        shape (n,), adds up to 1
    best          the likeliest curve: quieting in dB against offset every STEP_KHZ from 0
    best_mhz      the carrier that the likeliest curve belongs to
    misfit_db     root mean square distance of the readings from that curve
    """

    carrier_mhz: Floats
    weight: Floats
    best: Floats
    best_mhz: float
    misfit_db: float

    @property
    def mean_mhz(self) -> float:
        """The mean, which is the answer with the least expected square error."""
        return float(self.carrier_mhz @ self.weight)

    @property
    def spread_khz(self) -> float:
        """Standard deviation, kHz."""
        return float(1e3 * np.sqrt(((self.carrier_mhz - self.mean_mhz) ** 2) @ self.weight))

    def interval_mhz(self, share: float = 0.95, blur_khz: float = 0.0) -> tuple[float, float]:
        """The central interval that holds this share, after an independent error of blur_khz."""
        step_mhz = float(self.carrier_mhz[1] - self.carrier_mhz[0])
        weight, start_mhz = self.weight, float(self.carrier_mhz[0])
        if blur_khz > 0:
            half = int(np.ceil(4 * blur_khz / 1e3 / step_mhz))
            bell = np.exp(-0.5 * (np.arange(-half, half + 1) * step_mhz * 1e3 / blur_khz) ** 2)
            weight = np.convolve(weight, bell / bell.sum())
            start_mhz -= half * step_mhz
        edges_mhz = start_mhz + (np.arange(weight.size + 1) - 0.5) * step_mhz
        below = np.concatenate([[0.0], np.cumsum(weight)])
        low, high = np.interp(((1 - share) / 2, (1 + share) / 2), below / below[-1], edges_mhz)
        return float(low), float(high)

    def curve_db(self, dial_mhz: Floats, centre_mhz: float) -> Floats:
        """Quieting of the likeliest curve, moved to a centre, at dial positions."""
        away_khz = 1e3 * np.abs(np.asarray(dial_mhz) - centre_mhz)
        return np.interp(away_khz, np.arange(self.best.size) * STEP_KHZ, self.best)


def fit_carrier(
    readings: list[Reading],
    around_mhz: float,
    *,
    passband_khz: tuple[float, float] = (150.0, 280.0),
    reach_khz: float = 250.0,
    tone_hz: float = 12_000.0,
    quick: bool = False,
) -> Posterior:
    """The carrier that explains the readings, somewhere within reach_khz of a first guess.

    readings      the stops near the carrier, roar on either side included where there is any
    around_mhz    the first guess, on the dial's scale
    passband_khz  the range that the radio's passband lies in
    reach_khz     how far from the guess to look
    tone_hz       middle of the band in which the hiss was measured
    quick         a coarser family, for what need not be known to kilohertz
    """
    narrow, wide = passband_khz
    bands = tuple(np.linspace(narrow, wide, 3 if quick else 6)) if wide > narrow else (narrow,)
    family = shapes(
        STRENGTHS_DB[::2] if quick else STRENGTHS_DB,
        bands,
        SHARPNESSES[1:2] if quick else SHARPNESSES,
        SWINGS_KHZ[:1] if quick else SWINGS_KHZ,
        tone_hz,
    )
    step_khz = 2 * GRID_KHZ if quick else GRID_KHZ
    offsets_khz = np.arange(-reach_khz, reach_khz + step_khz, step_khz)
    dial_khz = np.array([1e3 * (r.dial_mhz - around_mhz) for r in readings])
    read_db = np.array([r.quieting_db for r in readings])
    taken = np.array([r.taken for r in readings])
    away = np.abs(dial_khz[None, :] - offsets_khz[:, None])
    place = np.rint(np.minimum(away, REACH_KHZ) / STEP_KHZ).astype(np.intp)
    noise = family.noise[:, place]  # (shapes, carriers, stops)
    floors = 10 ** (-np.array(FLOORS_DB) / 10)
    log_like = np.empty((len(floors), family.noise.shape[0], offsets_khz.size), np.float32)
    for number, floor in enumerate(floors):
        expected_db = -10 * np.log10(noise + np.float32(floor))
        gap = (read_db.astype(np.float32) - expected_db) / np.float32(READING_DB)
        if taken.any():
            over = expected_db - (read_db + SLACK_DB).astype(np.float32)
            gap[..., taken] = np.maximum(over, 0)[..., taken] / np.float32(READING_DB)
        log_like[number] = (
            -(DEGREES + 1) / 2 * np.log1p(np.square(gap) / np.float32(DEGREES)).sum(axis=-1)
        )
    best = np.unravel_index(int(np.argmax(log_like)), log_like.shape)
    like = np.exp(log_like - log_like[best])
    weight = like.sum(axis=(0, 1), dtype=np.float64)
    curve = -10 * np.log10(family.noise[best[1]].astype(np.float64) + floors[best[0]])
    best_mhz = around_mhz + offsets_khz[best[2]] / 1e3
    expected = np.interp(
        np.abs(dial_khz - offsets_khz[best[2]]), np.arange(curve.size) * STEP_KHZ, curve
    )
    rest = (read_db - expected)[~taken]
    return Posterior(
        around_mhz + offsets_khz / 1e3,
        weight / weight.sum(),
        curve,
        float(best_mhz),
        float(np.sqrt(np.mean(rest**2))) if rest.size else 0.0,
    )


