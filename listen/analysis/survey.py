"""What the stops of a sweep say together: the open-band roar, and each stop's quieting.

One clip alone cannot tell hiss from quiet, since the volume is unknown: the roar of the open
band, heard somewhere in the same sweep, is the yardstick for all of it.

Conventions
-----------
All stops are compared in the highest band of hiss.BANDS_HZ that every one of them reaches.
Quieting is dB below the roar; nan where a stop says nothing (spoiled, silent, muted).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from listen.analysis.hiss import BANDS_HZ
from listen.analysis.measures import Measures

ROAR_SPREAD_DB = 2.5  # stops this close under the loudest hiss are roar too
OPEN_TILT_DB = 3.0  # roar falls with frequency after de-emphasis; a carrier's noise does not
NOMINAL_QUIET_DB = 30.0  # where no stop roared, the noisiest is taken this far under roar


@dataclass(frozen=True, slots=True, eq=False)
class Survey:
    """A sweep, measured.

    stops        one a row of the folder, in its order
    quieting_db  shape (stops,): below the roar, in calm moments; nan: nothing to say
    roar_db      hiss of the open band, dB per hertz
    roar_heard   False where no stop was open and the roar had to be guessed
    band         index into hiss.BANDS_HZ of the band compared
    """

    stops: tuple[Measures, ...]
    quieting_db: NDArray[np.float64]
    roar_db: float
    roar_heard: bool
    band: int


def survey(stops: tuple[Measures, ...]) -> Survey:
    """Put the stops of a sweep on one scale."""
    usable = [i for i, stop in enumerate(stops) if stop.hiss is not None]
    quieting = np.full(len(stops), np.nan)
    if not usable:
        return Survey(stops, quieting, 0.0, False, len(BANDS_HZ) - 1)
    calm_db = np.array([stops[i].hiss.calm_db for i in usable])  # type: ignore[union-attr]
    tilt_all = np.array(
        [
            [stops[i].hiss.tilt_db(b) for b in range(len(BANDS_HZ))]  # type: ignore[union-attr]
            for i in usable
        ]
    )
    band = int(np.argmax(np.isfinite(calm_db).all(axis=0)))
    calm, tilt = calm_db[:, band], tilt_all[:, band]
    roar_db, heard = _roar(calm, tilt, band)
    quieting[usable] = roar_db - calm
    return Survey(stops, quieting, roar_db, heard, band)


def _roar(calm: NDArray[np.float64], tilt: NDArray[np.float64], band: int) -> tuple[float, bool]:
    """The open band's hiss, and whether any stop heard it.

    The noisiest stops are the open band if their hiss leans toward low frequencies, as a
    discriminator's does without a carrier; in the lowest band that cannot be told.
    """
    order = np.sort(calm)[::-1]
    top = order[min(order.size - 1, max(0, round(0.05 * order.size)))]
    loud = calm > top - ROAR_SPREAD_DB
    if band == len(BANDS_HZ) - 1 or np.median(tilt[loud]) > OPEN_TILT_DB:
        return float(np.median(calm[loud])), True
    return float(top + NOMINAL_QUIET_DB), False
