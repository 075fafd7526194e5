"""Flat tops: samples that an overdriven input has cut off.

A cut-off peak stays at its extreme for two samples or more and comes there with a jump; a
slow sine stays near its top as well, but comes there gently.  So a run at the extreme counts
if the sample before it or behind it lies well below.
"""

import numpy as np
from numpy.typing import NDArray

TOP = 0.9998  # of the extreme: at it, but for a rounding
JUMP = 0.998  # of the extreme: the sample beside a flat top lies below this
RUN = 2  # samples that make a flat top
QUIETEST = 0.1  # of full scale: below it nothing clips, and a few coarse steps look alike


def flat_tops(column: NDArray[np.floating]) -> tuple[int, int]:
    """How many flat tops one channel has, at either end, and how many samples lie on them.

    column  shape (n,), full scale ±1.0
    """
    count = samples = 0
    for side in (column, -column):
        top = float(side.max(initial=0.0))
        if top < QUIETEST:
            continue
        at_top = np.concatenate(([False], side >= top * TOP, [False]))
        edges = np.flatnonzero(at_top[1:] != at_top[:-1])
        first, end = edges[::2], edges[1::2]
        padded = np.concatenate(([top], side, [top]))  # padded[k] is the sample before side[k]
        jumps = (padded[first] < JUMP * top) | (padded[end + 1] < JUMP * top)
        flat = (end - first >= RUN) & jumps
        count += int(np.count_nonzero(flat))
        samples += int((end - first)[flat].sum())
    return count, samples
