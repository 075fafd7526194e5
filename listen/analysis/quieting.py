"""How far a carrier quiets a radio, by theory: the shape that the fit lays over the stops.

A discriminator's noise near an audio frequency f, with carrier-to-noise ratio rho in the
passband B, has two parts per hertz: one that rises with f² and falls with rho, and clicks,
flat in f, that vanish with exp(-rho).  Their sum over its value at rho = 0 is the quieting.

Conventions
-----------
Offsets are kHz from the passband's middle; ratios are dB.  Quieting is positive and is zero
without a carrier.  A passband of width B falls by 3·(2·offset/B)^sharpness dB: 3 dB at its
edges, whatever the sharpness.

Source: W. C. Jakes, "Microwave Mobile Communications", 1974, section 4.1 (after S. O. Rice,
"Noise in FM receivers", 1963); the sum's form and its constant 2.35 are from memory.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STEP_KHZ = 2.0  # of the tabulated offsets
REACH_KHZ = 500.0
EDGE_DB = 3.0


def noise_parts(rho: Floats, tone_hz: float, passband_hz: float) -> Floats:
    """Discriminator noise per hertz at an audio frequency, (rad/s)²/Hz.

        (1 - e^-rho)² (2 pi f)² / (rho B)  +  8 pi² B e^-rho / sqrt(2 (rho + 2.35))

    rho          carrier-to-noise power ratio in the passband, any shape, zero or more
    tone_hz      the audio frequency f, Hz
    passband_hz  B, Hz
    """
    rho = np.maximum(rho, 1e-6)
    held = (1 - np.exp(-rho)) ** 2 * (2 * np.pi * tone_hz) ** 2 / (rho * passband_hz)
    clicks = 8 * np.pi**2 * passband_hz * np.exp(-np.minimum(rho, 700)) / np.sqrt(2 * (rho + 2.35))
    return np.asarray(held + clicks)


def quieting_db(rho: Floats, tone_hz: float, passband_hz: float) -> Floats:
    """How far the noise lies below that of no carrier at all, dB."""
    roar = noise_parts(np.zeros(1), tone_hz, passband_hz)
    return np.asarray(10 * np.log10(roar / noise_parts(rho, tone_hz, passband_hz)))


@dataclass(frozen=True, slots=True, eq=False)
class Shapes:
    """Quieting against offset for a family of carriers and passbands.

    noise        shape (shapes, offsets): noise over the open-band roar, as a power
    strength_db  shape (shapes,): carrier-to-noise in 200 kHz
    passband_khz, sharpness, swing_khz   shape (shapes,)
    """

    noise: NDArray[np.float32]
    strength_db: Floats
    passband_khz: Floats
    sharpness: Floats
    swing_khz: Floats


@cache
def shapes(
    strengths_db: tuple[float, ...],
    passbands_khz: tuple[float, ...],
    sharpnesses: tuple[float, ...],
    swings_khz: tuple[float, ...],
    tone_hz: float,
) -> Shapes:
    """All combinations, tabulated every STEP_KHZ from 0 to REACH_KHZ.

    swings_khz is how far the programme swings the carrier in the moments measured; the noise
    is the mean of that at the carrier's rest and at either end of the swing.
    """
    offset_khz = np.arange(0, REACH_KHZ + STEP_KHZ, STEP_KHZ)
    grid = np.meshgrid(strengths_db, passbands_khz, sharpnesses, swings_khz, indexing="ij")
    strength, passband, sharpness, swing = (part.reshape(-1, 1) for part in grid)
    total = np.zeros((strength.size, offset_khz.size))
    for side, share in ((0.0, 0.5), (-1.0, 0.25), (1.0, 0.25)):
        away_khz = np.abs(offset_khz + side * swing)
        loss_db = EDGE_DB * (2 * away_khz / passband) ** sharpness
        rho = 10 ** ((strength - 10 * np.log10(passband / 200) - loss_db) / 10)
        total += share * 10 ** (-quieting_db(rho, tone_hz, passband * 1e3) / 10)
    flat = [part.ravel() for part in grid]
    return Shapes(total.astype(np.float32), *flat)
