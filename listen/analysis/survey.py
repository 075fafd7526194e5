"""What the stops of a sweep say together: the open-band roar, and each stop's quieting.

One clip alone cannot tell hiss from quiet, since the volume is unknown: the roar of the open
band, heard somewhere in the same sweep, is the yardstick for all of it.

Conventions
-----------
All stops are compared in the highest band of hiss.BANDS_HZ that every one of them reaches.
Quieting is dB below the roar that an unmuted radio would make; nan where a stop says nothing
(spoiled, silent, muted).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from listen.analysis.measures import Measures
from listen.analysis.roar import SAME_DB, Roar, find_roar

CLIFF_ROUGH_DB = 12.0  # of what roars louder than a soft mute's open band: a carrier is near
CLIPPED_SHARE = 1e-4  # of the samples, from which a level is not what came in
SUPPRESSED_DB = 5.0  # what a noise suppressor does to a floor, from clip to clip
EVEN_DB = 3.2  # heard.LOUD_DB: peaks so far over the roar are a console's or a station's alike


@dataclass(frozen=True, slots=True, eq=False)
class Survey:
    """A sweep, measured.

    stops        one a row of the folder, in its order
    quieting_db  shape (stops,): below the roar, in calm moments; nan: nothing to say
    roar         the yardstick
    band         index into hiss.BANDS_HZ of the band compared
    """

    stops: tuple[Measures, ...]
    quieting_db: NDArray[np.float64]
    roar: Roar
    band: int

    def level_db(self, index: int) -> float:
        """A stop's level, dBFS, with the volume knob where it was at first."""
        return float(self.stops[index].level_dbfs - self.roar.gain_db[index])

    def over_roar_db(self, index: int) -> float | None:
        """How far a stop's level stands over the roar's; None where that is not known."""
        roar_dbfs = self.roar.level_dbfs
        return None if roar_dbfs is None else self.level_db(index) - roar_dbfs

    def loud_db(self, index: int) -> float | None:
        """How far a stop's peaks stand over the roar's level; None where either is unknown.

        Where the volume is in doubt, what of all that may be tells the least.
        """
        programme = self.stops[index].programme
        if programme is None or self.roar.level_dbfs is None:
            return None
        loud_db = programme.peak_dbfs - self.roar.gain_db[index] - self.roar.level_dbfs
        doubt_db = self.roar.doubt(index)
        return float(np.clip(EVEN_DB, loud_db - doubt_db, loud_db + doubt_db))

    def rough_db(self, index: int) -> float:
        """Scatter that a mute, a suppressor or a volume in doubt gives a stop's quieting, dB.

        A soft mute lets the noise of a cliff through in part and turns a weakened carrier down,
        nobody knows how far: all that it does not turn down whole is rough.
        """
        return float(np.hypot(self._bent_db(index), self.roar.doubt(index)))

    def _bent_db(self, index: int) -> float:
        """That of a mute or a suppressor."""
        if self.roar.muting == "suppressed":
            return SUPPRESSED_DB
        hiss = self.stops[index].hiss
        if self.roar.muting != "soft" or hiss is None:
            return 0.0
        over_db = hiss.calm_db[self.band] - self.roar.gain_db[index] - self.roar.hiss_db
        if over_db > SAME_DB:
            return CLIFF_ROUGH_DB
        return self.roar.hidden_db / 2 if over_db < -SAME_DB else 0.0


def survey(stops: tuple[Measures, ...]) -> Survey:
    """Put the stops of a sweep on one scale."""
    usable = [stop.hiss.calm_db for stop in stops if stop.hiss is not None]
    band = int(np.argmax(np.isfinite(np.array(usable)).all(axis=0))) if usable else 2
    roar = find_roar(stops, band)
    calm_db = np.array([stop.hiss.calm_db[band] if stop.hiss else np.nan for stop in stops])
    below_db = roar.hiss_db - (calm_db - roar.gain_db)
    if roar.muting == "soft":
        below_db = _behind_soft_mute(below_db, roar.hidden_db)
    return Survey(stops, np.where(roar.muted, np.nan, below_db), roar, band)


def _behind_soft_mute(below_db: NDArray[np.float64], hidden_db: float) -> NDArray[np.float64]:
    """Quieting below the whole roar, given that below the roar as the mute lets it through.

    What is quieter than that was let through whole; what is noisier, in part.
    """
    with np.errstate(invalid="ignore"):
        whole = np.maximum(below_db + hidden_db, 0.0)
        return np.where(np.abs(below_db) <= SAME_DB, 0.0, whole)
