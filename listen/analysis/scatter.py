"""A pointer's reading scatters: each stop was made somewhere about what was read off the dial.

So what a curve expects of a stop is its mean over all the places where the stop may have been
made, a normal spread about the reading.

Conventions
-----------
Offsets are kHz from a carrier, in even steps; curves are the same on both sides of it.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray


@cache
def blur(scatter_khz: float, step_khz: float, count: int) -> NDArray[np.float32]:
    """Means about each of count offsets that rise from 0, shape (count, count); rows add up to 1.

    An offset to the one side of the carrier counts as the same to the other.
    """
    here, there = np.arange(count)[:, None], np.arange(count)
    weight = np.zeros((count, count))
    for side in (1, -1):
        bell = np.exp(-0.5 * ((here - side * there) * step_khz / scatter_khz) ** 2)
        weight += bell if side > 0 else bell * (there > 0)
    return np.asarray(weight / weight.sum(axis=1, keepdims=True), dtype=np.float32)


def bell(scatter_khz: float, step_khz: float) -> NDArray[np.float64]:
    """The spread itself in steps either side, an odd number of them; adds up to 1."""
    aside = int(4 * scatter_khz / step_khz)
    away_khz = step_khz * np.arange(-aside, aside + 1)
    weight = np.exp(-0.5 * (away_khz / max(scatter_khz, 1e-9)) ** 2)
    return np.asarray(weight / weight.sum())
