"""What the stops of a station say of a carrier beside it: it is not nearest to them.

A limiter lets the stronger carrier through and takes the weaker one away (capture).  A carrier
that is heard at its own stops and not at a station's stands nearer to its own, unless the
station is so much stronger that it wins even where the dial stands beside the other.  That
happens, so a place nearer to a station's stop is made less likely and never ruled out.

Conventions
-----------
Dial positions MHz, distances kHz.  Source: capture, any handbook of FM; how often, model benches
(docs/carrier-fit.md).
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from listen.analysis.curve import Posterior

WITHIN_MHZ = 0.45  # of the carrier's own stops: further off the radio hears nothing of it
NEARER_KHZ, SOFT_KHZ = 20.0, 15.0  # so much nearer to a station's is half as likely; how soft
LEAST = 0.15  # what is left of a place much nearer to it


def nearest_to_own(
    fit: Posterior, own_mhz: Sequence[float], stations_mhz: Sequence[float]
) -> Posterior:
    """A carrier's fit, given which stops heard it and which heard a station instead."""
    own = np.asarray(own_mhz, dtype=np.float64)
    others = np.array(
        [mhz for mhz in stations_mhz if np.abs(own - mhz).min() <= WITHIN_MHZ], dtype=np.float64
    )
    if not others.size:
        return fit
    nearest_khz = [1e3 * np.abs(fit.carrier_mhz[:, None] - of).min(axis=1) for of in (own, others)]
    beyond = (nearest_khz[0] - nearest_khz[1] - NEARER_KHZ) / SOFT_KHZ
    joint = fit.joint * (LEAST + (1 - LEAST) / (1 + np.exp(np.clip(beyond, -50, 50))))
    joint = joint / joint.sum()
    return replace(fit, weight=joint.sum(axis=0), joint=joint)
