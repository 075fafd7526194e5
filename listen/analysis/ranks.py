"""Medians and quantiles of small arrays, by sorting.

The same numbers as numpy's own, which look for masked arrays and not-a-numbers first: to
import those alone costs as much as measuring ten clips.

Conventions
-----------
Values are finite numbers; a quantile between two of them is interpolated linearly.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray


def median(values: ArrayLike) -> NDArray[Any]:
    """The median over the last axis, of the shape without it; at least one value there."""
    ordered = np.sort(values, axis=-1)
    half = ordered.shape[-1] // 2
    if ordered.shape[-1] % 2:
        return np.asarray(ordered[..., half])
    return np.asarray((ordered[..., half - 1] + ordered[..., half]) / 2)


def quantiles(values: ArrayLike, shares: Sequence[float]) -> list[float]:
    """Quantiles of values of shape (n,), one for each share from 0 to 1."""
    ordered = np.sort(np.asarray(values, dtype=np.float64))
    places = np.asarray(shares) * (ordered.size - 1)
    return [float(at) for at in np.interp(places, np.arange(ordered.size), ordered)]
