"""What a radio's hiss does as its dial passes a carrier: the curves that a fit chooses among.

A limiter and a discriminator hear a carrier d away from the passband's middle with a
carrier-to-noise ratio that falls as a power of the distance once the skirts weaken it:

    ratio(d) = half · (half_width / |d|)^steep

While the ratio is large they are quiet.  Three things bring the hiss back, and each is a
function of the ratio alone:

    lost(d)   = exp(-ratio)                   how often noise outgrows the carrier (the envelope
                                              of Gaussian noise is Rayleigh distributed)
    noise(d)  = lost · (1 + lift · (1 - lost))      the roar, and clicks on top of it: every
                                              change between carrier and noise is a jump of d
              + leak · (1 - lost) / (1 + ratio²)    noise beside the carrier, brought down to
                                              audio by whatever is not straight: the
                                              discriminator's bend, the limiter's leak

as shares of the open band's roar.  `half` is the ratio at which the first of them is half the
roar, so that half_width is where hiss is 3 dB under it.  The programme swings the carrier: the
curve is averaged over three places of it.

Source: lost, S. O. Rice's "statistical properties of a sine wave plus random noise" (from
memory); the second order of the leak, that the square of a narrow noise has half its power
near nought, textbook; sizes of lift and leak, set by trials (docs/carrier-fit.md).

Conventions
-----------
Offsets are kHz from the carrier, 0 upward; noise is a power, the floor left out.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from listen.analysis.width import HALF_WIDTHS_KHZ

STEP_KHZ = 2.0  # of the tabulated offsets
REACH_KHZ = 600.0
STEEPS = (7.0, 9.0, 11.5, 15.0)
SWING_KHZ = 10.0
# (lift, leak): both grow with a carrier's strength, until the discriminator's range ends.
FEET = ((1.2, 0.004), (3.0, 0.03), (4.0, 0.12), (5.5, 0.35), (6.0, 0.9), (1.0, 0.2), (1.0, 0.9))
AT_ONCE = 256  # curves worked out at once
PLACES = ((0.0, 0.5), (-1.0, 0.25), (1.0, 0.25))  # of a swing, and their shares


@dataclass(frozen=True, slots=True, eq=False)
class Family:
    """Curves side by side.

    noise          shape (offsets every STEP_KHZ, curves), the floor left out
    slope          likewise: dB a kHz at which it rises there
    gain           likewise: the programme's power there over that on the plateau (loud.py)
    half_width_khz shape (curves,), rising
    """

    noise: NDArray[np.float32]
    slope: NDArray[np.float32]
    gain: NDArray[np.float32]
    half_width_khz: NDArray[np.float64]


def noise_share(
    far: NDArray[np.floating],
    steep: NDArray[np.floating] | float,
    lift: NDArray[np.floating] | float,
    leak: NDArray[np.floating] | float,
    swing: NDArray[np.floating] | float,
) -> NDArray[np.floating]:
    """The hiss as a share of the roar; all broadcast together.

    far, swing  offsets and the programme's swing, both over the half-width
    """
    noise = np.zeros(1, np.float32)
    for side, share in PLACES:
        ratio = _ratio(far + side * swing, steep, lift)
        lost = np.exp(-np.minimum(ratio, 80.0))
        kept = 1 - lost
        noise = noise + share * (lost * (1 + lift * kept) + leak * kept / (1 + ratio**2))
    return noise


def programme_gain(
    offset_khz: NDArray[np.floating],
    half_width_khz: NDArray[np.floating],
    steep: NDArray[np.floating],
    lift: NDArray[np.floating],
) -> NDArray[np.floating]:
    """The programme's power over that on the plateau: the square of what a swing either way moves
    the mean frequency by, over the swing.  All broadcast together.
    """

    def mean_khz(at_khz: NDArray[np.floating]) -> NDArray[np.floating]:
        kept = 1 - np.exp(-np.minimum(_ratio(at_khz / half_width_khz, steep, lift), 80.0))
        return np.asarray(at_khz * kept)

    moved_khz = mean_khz(offset_khz + SWING_KHZ) - mean_khz(offset_khz - SWING_KHZ)
    return np.asarray(np.square(moved_khz / (2 * SWING_KHZ)))


def _ratio(
    far: NDArray[np.floating],
    steep: NDArray[np.floating] | float,
    lift: NDArray[np.floating] | float,
) -> NDArray[np.floating]:
    """Carrier over noise at offsets over the half-width."""
    half_lost = (1 + lift - np.sqrt(1 + np.square(lift))) / (2 * lift)
    away = np.maximum(np.abs(far), 0.005)
    return np.asarray(-np.log(half_lost) * away ** (-np.asarray(steep)))


@cache
def family(coarse: bool) -> Family:
    """All curves, or a smaller family for what need not be known to kilohertz."""
    offset_khz = np.arange(0, REACH_KHZ + STEP_KHZ, STEP_KHZ)
    feet = np.array(FEET[:5:2] if coarse else FEET)
    parts = np.meshgrid(
        HALF_WIDTHS_KHZ[::2] if coarse else HALF_WIDTHS_KHZ,
        STEEPS[1::2] if coarse else STEEPS,
        np.arange(len(feet)),
        indexing="ij",
    )
    half_width, steep = (part.reshape(-1, 1) for part in parts[:2])
    foot = feet[parts[2].ravel()]
    noise = np.empty((offset_khz.size, half_width.size), np.float32)
    slope, gain = np.empty_like(noise), np.empty_like(noise)
    for first in range(0, half_width.size, AT_ONCE):  # the whole in double takes 70 MiB
        some = slice(first, first + AT_ONCE)
        wide = half_width[some]
        own = noise_share(
            offset_khz / wide, steep[some], foot[some, :1], foot[some, 1:], SWING_KHZ / wide
        )
        noise[:, some] = own.T
        slope[:, some] = np.gradient(10 * np.log10(own + 1e-9), STEP_KHZ, axis=1).T
        gain[:, some] = programme_gain(offset_khz, wide, steep[some], foot[some, :1]).T
    return Family(noise, slope, gain, half_width.ravel())
