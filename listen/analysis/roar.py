"""The open band's roar: the yardstick of a whole sweep, with what may have bent it.

Without a carrier the radio roars, and its roar has one shape whatever the volume: how far its
whole level stands over its floor in a band is a number of the radio's de-emphasis alone, and
nothing that plays, no quiet carrier and no sound card's floor has the same.  So the stops that
only roar are known by their shape, and their levels then tell

volume    a knob that was touched in mid-walk moves all levels from then on (volume.py)
soft mute the set turns the open band down, but not what it holds: stations are then louder over
          the roar than any deviation makes them, and a cliff roars louder than the open band
hard mute the set is silent where it holds nothing: many stops with the line-in's floor alone
suppressed  the operating system takes steady noise away wherever it stands; what is left of a
          roar comes and goes, while noise by itself is steady

Conventions
-----------
Levels are dB re a full-scale sine, floors dB of mean square per hertz in one of hiss.BANDS_HZ.
A gain is what the volume knob added to a stop, dB; its doubt is by how much that may be wrong.

The shape comes of a discriminator's noise, its clicks, the 15 kHz cut and 50 or 75 µs of
de-emphasis (any handbook of FM); the numbers were read off model benches (docs/clarity.md).
"""

from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from listen.analysis.hiss import BANDS_HZ
from listen.analysis.measures import Measures
from listen.analysis.ranks import median, quantiles
from listen.analysis.volume import STEP_DB, find_turns

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Muting = Literal["none", "soft", "hard", "suppressed"]

# Level over floor of the roar, dB, in each of BANDS_HZ: lowest and highest that are met.
SHAPE_DB = ((50.0, 57.5), (45.2, 51.5), (39.8, 46.0))
SHAPE_OWN_DB = ((51.6, 53.4), (46.7, 48.2), (42.8, 43.0))  # with 50 and with 75 µs
BENT_DB = 6.5  # a suppressor, an overdriven line-in and near carriers bend it by up to 5
ALIKE_DB = 1.3  # the roar of one radio keeps its shape to this
SAME_DB = 1.2  # and its level, while nothing is touched
ROAR_SPREAD_DB = 2.5  # stops this close under the loudest hiss are roar too
OPEN_TILT_DB = 3.0  # roar falls with frequency after de-emphasis; a carrier's noise does not
NOMINAL_QUIET_DB = 30.0  # where no stop roared, the noisiest is taken this far under roar
FLAT_DB = 3.0  # a sound card's floor is level from 2 to 14 kHz
SPAN_MHZ = 1.0  # what lies further apart is not one carrier
FEW = 5  # stops that make a mute
SEVERAL = 4  # carriers, the louder of which are taken for stations
STATION_OVER_DB = 9.7  # how loud the louder stations' peaks stand over a whole roar
STATION_LEAST_DB = 5.0  # and those of the softer ones, that play music
TONE_OVER_DB = 12.5  # nothing within ±75 kHz is louder than this, and that is a steady tone
LOUDER_DB = 4.0  # loudness beyond that tells of a mute
RESTLESS_DB = 3.0  # loud over calm floor of a roar: noise alone has 1, a suppressor's 6


@dataclass(frozen=True, slots=True, eq=False)
class Roar:
    """What the open band sounds like in a sweep.

    hiss_db     its floor, dB per hertz, at gain 0
    level_dbfs  its level at gain 0, unmuted; None where nothing tells it
    heard       False where no stop told it and it had to be guessed
    gain_db     shape (stops,): what the volume knob had added by then
    muted       shape (stops,): True where the set let nothing through
    muting      whether the set mutes, or the system suppresses noise
    hidden_db   how far a soft mute turns the open band down
    doubt_db    shape (stops,): by how much gain_db may be wrong; empty: nowhere
    pure        shape (stops,): the stops that have the roar's own shape, whatever their level;
                empty: none
    shape_db    that shape: the level over the floor, dB; None where no stop has it
    """

    hiss_db: float
    level_dbfs: float | None
    heard: bool
    gain_db: Floats
    muted: Flags
    muting: Muting = "none"
    hidden_db: float = 0.0
    doubt_db: Floats = field(default_factory=lambda: np.zeros(0))
    pure: Flags = field(default_factory=lambda: np.zeros(0, bool))
    shape_db: float | None = None

    def doubt(self, index: int) -> float:
        """By how much a stop's gain may be wrong, dB."""
        return float(self.doubt_db[index]) if self.doubt_db.size else 0.0


def find_roar(stops: tuple[Measures, ...], band: int) -> Roar:
    """The roar of a sweep; band is the index into BANDS_HZ in which floors are compared.

    Stops without hiss (spoiled, silent) tell nothing; silent ones may be muted.
    """
    calm_db = np.array([_calm(stop, band) for stop in stops])
    level_db = np.array([stop.level_dbfs for stop in stops])
    muted = _hard_muted(stops, level_db, calm_db, band)
    pure = _pure(level_db, calm_db, muted, band)
    bare_db = np.array([level_without_hum_db(stop) for stop in stops]) - calm_db
    pure &= bare_db >= SHAPE_DB[band][0]  # on a bare carrier hum may stand as far over its floor
    knob = find_turns(level_db, pure, in_time(stops))
    shape_db = float(median((level_db - calm_db)[pure])) if pure.any() else None
    sure = knob.doubt_db < STEP_DB
    roar = _yardstick(stops, band, knob.gain_db, muted, pure, sure)
    return replace(roar, doubt_db=knob.doubt_db, pure=pure, shape_db=shape_db)


def in_time(stops: tuple[Measures, ...]) -> NDArray[np.intp]:
    """The stops in the order in which they were recorded; as they come where that is not known."""
    times = [stop.at for stop in stops]
    known = [at.timestamp() for at in times if at is not None]
    if len(known) < len(times):
        return np.arange(len(stops))
    return np.argsort(known, kind="stable")


def _yardstick(
    stops: tuple[Measures, ...],
    band: int,
    gain_db: Floats,
    muted: Flags,
    pure: Flags,
    sure: Flags,
) -> Roar:
    """The roar, the knob's gain being known; sure: where it is."""
    calm_db = np.array([_calm(stop, band) for stop in stops]) - gain_db
    level_db = np.array([stop.level_dbfs for stop in stops]) - gain_db
    dial = np.array([stop.dial_mhz for stop in stops])[muted]
    hard: Muting = "hard" if dial.size >= FEW and np.ptp(dial) >= SPAN_MHZ else "none"
    told = np.isfinite(calm_db) & ~muted
    if not told.any():
        return Roar(0.0, None, False, gain_db, muted, hard)
    if hard == "hard" and not pure.any():
        return _behind_hard_mute(stops, calm_db, gain_db, muted, band)
    tilt_db = np.array([s.hiss.tilt_db(band) if s.hiss else np.nan for s in stops])
    if (pure & sure).any():
        pure = pure & sure
    among = pure if pure.sum() >= 2 else told  # a valley between two stations is no roar
    shape_db = np.array([level_without_hum_db(stop) for stop in stops]) - gain_db - calm_db
    hiss_db, heard, roars = _plain(calm_db[among], tilt_db[among], shape_db[among], band)
    if heard and pure.sum() >= FEW:  # the noisiest of many stand at cliffs, which roar louder
        roars = np.flatnonzero(_commonest(calm_db[pure]))
        hiss_db = float(median(calm_db[pure][roars]))
    where = np.flatnonzero(among)[roars]
    if not heard:
        return Roar(hiss_db, None, False, gain_db, muted, hard)
    level = float(median(level_db[where]))
    if _is_restless(stops, where, band):
        return Roar(hiss_db, level, True, gain_db, muted, "suppressed")
    if pure.sum() < 2:
        level = min(level, hiss_db + _own_shape_db(level_db - calm_db, pure, band))
    return _soft(stops, level_db, calm_db, pure, gain_db, muted, sure) or Roar(
        hiss_db, level, True, gain_db, muted, hard
    )


def _own_shape_db(shape_db: Floats, pure: Flags, band: int) -> float:
    """How far the open band's level stands over its floor: a cliff's stands further.

    As the one stop has it that has the roar's shape, else as far as any radio's.
    """
    return float(shape_db[pure][0]) if pure.any() else SHAPE_OWN_DB[band][1]


def _calm(stop: Measures, band: int) -> float:
    return stop.hiss.calm_db[band] if stop.hiss is not None else np.nan


def without_hum_db(share: float) -> float:
    """By how much a level falls without the hum that has this share of its power, dB."""
    return 10 * float(np.log10(max(1 - share, 1e-4)))


def level_without_hum_db(stop: Measures) -> float:
    """A stop's level less the mains' hum, which would hide the roar's shape."""
    if stop.comb is None or stop.comb.rich:
        return stop.level_dbfs
    return stop.level_dbfs + without_hum_db(stop.comb.share)


def _plain(
    calm_db: Floats, tilt_db: Floats, shape_db: Floats, band: int
) -> tuple[float, bool, NDArray[np.intp]]:
    """The noisiest stops' floor, whether it is roar, and which stops these are.

    The noisiest stops are the open band if they have about the roar's shape, and if their hiss
    leans toward low frequencies, as a discriminator's does without a carrier; in the lowest band
    that cannot be told.  A carrier's floor lies far deeper under its programme: where all the
    stops stand on one carrier, the noisiest of them is no roar.
    """
    order = np.sort(calm_db)[::-1]
    top = order[min(order.size - 1, max(0, round(0.05 * order.size)))]
    loud = calm_db > top - ROAR_SPREAD_DB
    shaped = median(shape_db[loud]) <= SHAPE_DB[band][1] + BENT_DB
    if shaped and (band == len(BANDS_HZ) - 1 or median(tilt_db[loud]) > OPEN_TILT_DB):
        return float(median(calm_db[loud])), True, np.flatnonzero(loud)
    return float(top + NOMINAL_QUIET_DB), False, np.flatnonzero(loud)


def _pure(level_db: Floats, calm_db: Floats, muted: Flags, band: int) -> Flags:
    """The stops that have the shape of pure roar, whatever their level."""
    shape_db = level_db - calm_db
    low_db, high_db = SHAPE_DB[band]
    with np.errstate(invalid="ignore"):
        may = (shape_db >= low_db) & (shape_db <= high_db) & ~muted
    if not may.any():
        return may
    (own_db,) = quantiles(shape_db[may], (0.1,))
    return may & (np.abs(shape_db - own_db) <= ALIKE_DB)


def _commonest(levels_db: Floats) -> Flags:
    """The levels that are within SAME_DB of each other and the most."""
    edges_db = levels_db + np.array([[-0.5], [0.5]]) * SAME_DB
    low, high = np.searchsorted(np.sort(levels_db), edges_db)
    return np.asarray(np.abs(levels_db - levels_db[int((high - low).argmax())]) <= SAME_DB / 2)


def _hard_muted(stops: tuple[Measures, ...], level_db: Floats, calm_db: Floats, band: int) -> Flags:
    """Stops with no more than the line-in's own floor, where there are many far apart.

    Bare carriers quiet a radio to that floor too; then more stops roar than are so quiet, and a
    hard mute would have silenced those.
    """
    silent = np.array([stop.silent and not stop.spoiled for stop in stops])
    floor = np.zeros(len(stops), bool)
    heard = np.isfinite(calm_db)
    if heard.any():
        lowest_db = level_db[heard].min()
        flat = np.array([s.hiss is not None and _is_flat(s) for s in stops])
        floor = heard & flat & (level_db < lowest_db + SAME_DB)
        rest = level_db[heard & ~floor]
        if rest.size == 0 or median(rest) < lowest_db + 20:
            floor[:] = False
    many = silent | floor
    dial = np.array([stop.dial_mhz for stop in stops])[many]
    roaring = int(_pure(level_db, calm_db, many, band).sum())
    if dial.size < FEW or np.ptp(dial) < SPAN_MHZ or roaring > dial.size:
        return silent
    return many


def _is_flat(stop: Measures) -> bool:
    """Whether the floor is as high at 2 kHz as in the top band that is reached."""
    assert stop.hiss is not None
    band = int(np.argmax(np.isfinite(stop.hiss.calm_db)))
    return abs(stop.hiss.tilt_db(band)) < FLAT_DB


def _peaks(
    stops: tuple[Measures, ...], calm_db: Floats, gain_db: Floats, below_db: float
) -> tuple[list[float], int]:
    """The peaks' levels of the stops well below a floor, dB, and how many carriers these hold."""
    held = [i for i, calm in enumerate(calm_db) if np.isfinite(calm) and calm < below_db]
    dial = sorted(stops[i].dial_mhz for i in held)
    carriers = min(len(held), 1) + sum(b - a > 0.35 for a, b in pairwise(dial))
    peaks = [p.peak_dbfs - gain_db[i] for i in held if (p := stops[i].programme) is not None]
    return peaks, carriers


def _loudest(
    stops: tuple[Measures, ...], calm_db: Floats, gain_db: Floats, below_db: float
) -> float | None:
    """How loud stations' peaks are, from the stops well below a floor; None if too few."""
    peaks, carriers = _peaks(stops, calm_db, gain_db, below_db)
    return quantiles(peaks, (0.8,))[0] if carriers >= SEVERAL and len(peaks) >= SEVERAL else None


def _behind_hard_mute(
    stops: tuple[Measures, ...],
    calm_db: Floats,
    gain_db: Floats,
    muted: Flags,
    band: int,
) -> Roar:
    """The roar that a hard mute hides: from how loud stations are, which fill ±75 kHz."""
    shown = np.where(muted, np.nan, calm_db)
    top_db = _loudest(stops, shown, gain_db, np.inf)
    if top_db is None:
        noisiest_db = float(np.nanmax(shown))
        return Roar(noisiest_db + NOMINAL_QUIET_DB, None, False, gain_db, muted, "hard")
    level = top_db - STATION_OVER_DB
    return Roar(level - float(np.mean(SHAPE_OWN_DB[band])), level, True, gain_db, muted, "hard")


def _is_restless(stops: tuple[Measures, ...], roars: NDArray[np.intp], band: int) -> bool:
    """Whether the roar's floor comes and goes."""
    over_db = [
        h.burst_db[band] - h.calm_db[band] for i in roars if (h := stops[i].hiss) is not None
    ]
    return bool(len(over_db) >= 3 and median(over_db) > RESTLESS_DB)


def _soft(
    stops: tuple[Measures, ...],
    level_db: Floats,
    calm_db: Floats,
    pure: Flags,
    gain_db: Floats,
    muted: Flags,
    sure: Flags,
) -> Roar | None:
    """The roar that a soft mute turns down, or None where there is no such mute.

    The open band is then the commonest level of roar, and louder roar stands at cliffs only.  A
    stop at which the knob may have been turned proves no mute, nor does an off stop, which
    comes when the walk is done.
    """
    steady = sure & np.array([stop.console == "on" for stop in stops])
    calm_db = np.where(steady, calm_db, np.nan)
    pure = pure & steady
    where = np.flatnonzero(pure)
    if where.size < FEW:
        return None
    common = where[_commonest(level_db[where])]
    dial = np.array([stops[i].dial_mhz for i in common])
    if common.size < FEW or np.ptp(dial) < SPAN_MHZ:
        return None
    level, calm = float(median(level_db[common])), float(median(calm_db[common]))
    noisiest_db = float(np.sort(calm_db[np.isfinite(calm_db)])[-2:].min()) - calm
    top_db = _loudest(stops, calm_db, gain_db, calm - 8.0)
    if top_db is None:
        peaks, _ = _peaks(stops, calm_db, gain_db, calm - 8.0)
        return _soft_by_few(
            [peak - level for peak in peaks], noisiest_db, calm, level, gain_db, muted
        )
    louder_db = top_db - STATION_OVER_DB - level
    if min(louder_db, noisiest_db) < LOUDER_DB:
        return None
    return Roar(calm, level + louder_db, True, gain_db, muted, "soft", louder_db)


def _soft_by_few(
    over_db: list[float],
    noisiest_db: float,
    calm_db: float,
    level_dbfs: float,
    gain_db: Floats,
    muted: Flags,
) -> Roar | None:
    """A soft mute where hardly a carrier is heard; None where there is none.

    over_db      how loud peaks stand over the open band
    noisiest_db  how far cliffs do

    Peaks louder than any deviation makes them prove it, and how far it turns down lies between
    what the softer and what the louder stations tell.  Without such, cliffs that roar louder may
    be a mute's, or the valley between two strong carriers: then the roar's level is not known.
    """
    top_db = max(over_db, default=0.0)
    if top_db <= TONE_OVER_DB + 1 and noisiest_db < LOUDER_DB:
        return None
    if top_db <= TONE_OVER_DB:
        return Roar(calm_db, None, True, gain_db, muted)
    least_db, most_db = top_db - STATION_OVER_DB, top_db - STATION_LEAST_DB
    hidden_db = float(np.clip(noisiest_db, least_db, most_db))
    return Roar(calm_db, level_dbfs + hidden_db, True, gain_db, muted, "soft", hidden_db)
