"""What is held at a stop: a tune, a picture's buzz, a carrier without a programme, or nothing.

The same measures as a sweep's, without its weighing: at the trimmer it is known that a console
plays.  A mirror of the sound plays the same tune; only the order of what comes by tells it.
"""

from typing import Literal

import numpy as np

from listen.analysis.heard import PICTURE_LINES, PICTURE_SHARE
from listen.analysis.hiss import BANDS_HZ
from listen.analysis.measures import Measures, measure
from listen.analysis.roar import SHAPE_DB
from listen.clip import Clip

Kind = Literal["tune", "buzz", "bare"]

BARE_DB = -24.0  # peaks so far under the roar's level are no programme
PICTURE_DB = -20.0  # a picture's buzz is louder than this


def kind_of(stop: Measures, roar_level_dbfs: float) -> Kind:
    """What a held stop plays, given the level of the open band's roar, dBFS."""
    if stop.comb is None or stop.programme is None:
        return "bare"
    loud_db = stop.programme.peak_dbfs - roar_level_dbfs
    bright = stop.comb.share > PICTURE_SHARE or stop.programme.whistle_hz is not None
    if stop.comb.rich and bright and stop.programme.lines < PICTURE_LINES and loud_db > PICTURE_DB:
        return "buzz"
    if loud_db < BARE_DB and not stop.programme.lines > 0.5:
        return "bare"
    return "tune"


def is_roar(stop: Measures) -> bool:
    """Whether it is the open band's roar, by the shape that this has whatever the volume."""
    band = band_of(stop)
    if stop.silent or stop.hiss is None or band is None:
        return False
    low_db, high_db = SHAPE_DB[band]
    return low_db <= stop.level_dbfs - stop.hiss.calm_db[band] <= high_db


def band_of(stop: Measures) -> int | None:
    """The highest of hiss.BANDS_HZ that was measured, as its index."""
    if stop.hiss is None:
        return None
    return next((n for n in range(len(BANDS_HZ)) if np.isfinite(stop.hiss.calm_db[n])), None)


def measured(samples: np.ndarray, rate_hz: int, dial_mhz: float) -> Measures:
    """All measures of what was heard at one stop."""
    return measure(Clip(dial_mhz, rate_hz, samples))
