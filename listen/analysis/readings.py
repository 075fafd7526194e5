"""Which stops a run's carrier is fitted to, and what each of them tells of it.

Its own held stops, the open ones beside it and the edges that are no other carrier's.  A stop near
another carrier counts for less, one where two meet or clash for nothing, and where no stop stands
clear of all carriers every reading is as uncertain as the roar.  Loudness is believed where nothing
but the radio has made it.

What it gives
-------------
readings_of  the readings of a run, and their stops
roar_beside  whether the yardstick of all hiss is a few stops beside carriers
deepest_db   the deepest quieting of a run
"""

import numpy as np

from listen.analysis.curve import Floats, Reading
from listen.analysis.heard import Sound
from listen.analysis.ranks import median
from listen.analysis.runs import SAME_PLACE_MHZ, Run
from listen.analysis.survey import CLIPPED_SHARE, Survey

FLANK_MHZ = 0.45  # stops this near a run's ends tell where its cliffs are
BESIDE_OTHER_MHZ = 0.32  # a stop nearer than this to another carrier's may hear some of it as noise
BESIDE_OTHER_DB = 3.0  # which makes its quieting so uncertain
BESIDE_LITTLE_DB = 1.0  # a held stop's, or an open one's where the other is hardly heard:
BESIDE_LOUD_DB = 3.0  # it is less than this louder than the roar
UNHELD_MHZ = FLANK_MHZ + BESIDE_OTHER_MHZ  # a carrier so far out still spoils a flank
FAINT_DB, SPLATTER_DB = 20.0, 6.0  # quieted by less, its own slopes are not so loud over the roar
CLEAR_MHZ, CLEAR_STOPS = 0.45, 5  # so far from carriers, or so many, open stops are the open band
BESIDE_ROAR_DB = 6.0  # from 5 louder, at a foot, to 15 softer, on a cliff, all as likely
CLASH_MHZ = 0.25  # a carrier's stop this near beyond a loud one: the two clash there
CLASH_DB = 10.0  # over the roar's level; a carrier's own slope has up to 9
AGAIN_DB = 2.0  # an edge deeper by this than a stop nearer to the run is another carrier's
ALIKE_DB = 3.0  # two stops of one programme differ by less than this


def readings_of(
    run: Run, runs: tuple[Run, ...], sweep: Survey, sounds: tuple[Sound, ...]
) -> tuple[list[Reading], list[int]]:
    """The stops a run's carrier is fitted to, and their indices.

    Its own held stops, and the open and edge stops beside it.  An edge where two carriers meet
    is left out, and so is a stop that another carrier holds: both may be heard there at once.
    """
    own = set(run.held)
    yardstick_db = BESIDE_ROAR_DB if roar_beside(sweep, sounds) else 0.0
    others = [i for other in runs if other is not run for i in other.held]
    other_mhz = np.array(sorted(sweep.stops[i].dial_mhz for i in others))
    if run.kind != "buzz":  # a picture's shelf may be as deep again
        other_mhz = np.append(other_mhz, _unheld_mhz(run, sweep, sounds, other_mhz))
    open_mhz = np.array(  # with the console off its own place is open: that parts nothing
        [
            stop.dial_mhz
            for stop, sound in zip(sweep.stops, sounds, strict=True)
            if sound.kind == "open" and stop.console == "on"
        ]
    )
    low_mhz = sweep.stops[run.held[0]].dial_mhz - FLANK_MHZ
    high_mhz = sweep.stops[run.held[-1]].dial_mhz + FLANK_MHZ
    faint = deepest_db(run, sweep) < FAINT_DB
    readings, used = [], []
    for i, stop in enumerate(sweep.stops):
        if stop.console != "on" or not low_mhz <= stop.dial_mhz <= high_mhz:
            continue
        if sweep.roar.muting == "hard" and sweep.roar.muted[i]:
            readings.append(Reading(stop.dial_mhz, 0.0))  # nothing was held there
            used.append(i)
            continue
        if not np.isfinite(sweep.quieting_db[i]):
            continue
        if i not in own:
            if sounds[i].kind not in ("open", "edge"):
                continue  # another carrier's, or two at once: of this one it says nothing
            own_gap = min(abs(stop.dial_mhz - sweep.stops[k].dial_mhz) for k in run.held)
            if faint and _drowned(sweep, i, other_mhz):
                continue  # too loud for so faint a carrier: another one's slope lies over it
            if run.side > 0 and _clashing(sweep, i, run, other_mhz):
                continue  # two carriers, neither stronger, roar louder than none
            near_mhz = other_mhz[np.abs(other_mhz - stop.dial_mhz) <= own_gap + 0.11]
            contested = sounds[i].kind == "edge" and not _parted(stop.dial_mhz, near_mhz, open_mhz)
            if contested and not _sounds_like(sounds[i], run, sweep, sounds, i):
                continue  # two carriers meet there: its hiss tells of neither alone
        rough_db = float(np.hypot(sweep.rough_db(i), yardstick_db))
        if other_mhz.size and np.abs(other_mhz - stop.dial_mhz).min() < BESIDE_OTHER_MHZ:
            little = i in own or _hardly_hears_another(sweep, sounds, i)
            rough_db = float(np.hypot(rough_db, BESIDE_LITTLE_DB if little else BESIDE_OTHER_DB))
        loud_db = None if rough_db > 0 else _loud_db(sweep, i)
        readings.append(Reading(stop.dial_mhz, float(sweep.quieting_db[i]), rough_db, loud_db))
        used.append(i)
    return readings, used


def _unheld_mhz(
    run: Run, sweep: Survey, sounds: tuple[Sound, ...], held_mhz: Floats
) -> list[float]:
    """Where beside a run a faint carrier makes edges while no stop holds it.

    On its way out of a run's carrier the dial hears more hiss, but for a rise of a decibel or so at
    the foot of a cliff.

    held_mhz  where stops hold other carriers, whose slopes are edges too
    """
    found = []
    for end, side in ((run.held[0], -1), (run.held[-1], 1)):
        end_mhz = sweep.stops[end].dial_mhz
        out_mhz = {
            i: side * (stop.dial_mhz - end_mhz)
            for i, stop in enumerate(sweep.stops)
            if stop.console == "on" and np.isfinite(sweep.quieting_db[i])
        }
        least_db, nearest_mhz = np.inf, 0.0
        for i in sorted(
            (i for i in out_mhz if out_mhz[i] > SAME_PLACE_MHZ), key=out_mhz.__getitem__
        ):
            dial_mhz, quieting_db = sweep.stops[i].dial_mhz, float(sweep.quieting_db[i])
            if out_mhz[i] > UNHELD_MHZ or sounds[i].kind not in ("open", "edge"):
                break
            deeper = out_mhz[i] > nearest_mhz + SAME_PLACE_MHZ and quieting_db > least_db + AGAIN_DB
            alone = not (np.abs(held_mhz - dial_mhz) <= FLANK_MHZ).any()
            if sounds[i].kind == "edge" and deeper and alone:
                found.append(dial_mhz)
            if quieting_db < least_db:
                least_db, nearest_mhz = quieting_db, out_mhz[i]
    return found


def _hardly_hears_another(sweep: Survey, sounds: tuple[Sound, ...], index: int) -> bool:
    """Whether an open stop beside another carrier is hardly louder than the roar."""
    over_db = sweep.over_roar_db(index)
    return sounds[index].kind == "open" and over_db is not None and over_db < BESIDE_LOUD_DB


def _loud_db(sweep: Survey, index: int) -> float | None:
    """How loud a stop is over the roar; None where a mute, a suppressor or an overdriven input has
    changed it.
    """
    roar = sweep.roar
    whole = roar.heard and roar.muting == "none" and sweep.stops[index].clipped <= CLIPPED_SHARE
    return sweep.over_roar_db(index) if whole else None


def roar_beside(sweep: Survey, sounds: tuple[Sound, ...]) -> bool:
    """Whether the yardstick of all hiss is a few stops beside carriers.

    On a carrier's cliff a radio roars softer than the open band, and at its foot louder; where
    no stop stands clear of all carriers, how far every stop is quieted is as uncertain.  The
    console being off, its carrier is not there.
    """
    if not sweep.roar.heard:
        return False
    places: dict[tuple[str, bool], list[float]] = {}
    for stop, sound in zip(sweep.stops, sounds, strict=True):
        if sound.kind not in ("silent", "muted"):
            places.setdefault((stop.console, sound.kind == "open"), []).append(stop.dial_mhz)
    open_mhz = [places.get((console, True), []) for console in ("on", "off")]
    if sum(map(len, open_mhz)) >= CLEAR_STOPS:
        return False
    return not any(
        all(abs(mhz - held) > CLEAR_MHZ for held in places.get((console, False), []))
        for console, those in zip(("on", "off"), open_mhz, strict=True)
        for mhz in those
    )


def _drowned(sweep: Survey, index: int, others_mhz: Floats) -> bool:
    """Whether a stop is so loud that another carrier near it must be heard there."""
    near = np.abs(others_mhz - sweep.stops[index].dial_mhz) <= FLANK_MHZ
    return bool(near.any()) and (sweep.over_roar_db(index) or 0.0) > SPLATTER_DB


def _clashing(sweep: Survey, index: int, run: Run, others_mhz: Floats) -> bool:
    """Whether a stop is louder than the roar with another carrier as near beyond it.

    Where two carriers are alike a limiter follows now one and now the other, which is loud and
    quieted by neither: that is no open band.
    """
    here_mhz = sweep.stops[index].dial_mhz
    own_mhz = min((sweep.stops[k].dial_mhz for k in run.held), key=lambda mhz: abs(mhz - here_mhz))
    beyond = (others_mhz - here_mhz) * (here_mhz - own_mhz) > 0
    near = beyond & (np.abs(others_mhz - here_mhz) < CLASH_MHZ)
    return bool(near.any()) and (sweep.over_roar_db(index) or 0.0) > CLASH_DB


def _parted(dial_mhz: float, others_mhz: Floats, open_mhz: Floats) -> bool:
    """Whether an open stop lies between a place and each of the others."""
    return all(
        ((open_mhz > min(dial_mhz, mhz)) & (open_mhz < max(dial_mhz, mhz))).any()
        for mhz in others_mhz
    )


def _sounds_like(
    sound: Sound, run: Run, sweep: Survey, sounds: tuple[Sound, ...], index: int
) -> bool:
    """Whether an edge stop is as loud as a run's stops and quieted as deep."""
    loud_db = np.array([sounds[i].loud_db for i in run.held])
    alike = abs(sound.loud_db - median(loud_db)) < ALIKE_DB
    deep = sweep.quieting_db[index] > deepest_db(run, sweep) - 2 * ALIKE_DB
    return bool(alike and deep)


def deepest_db(run: Run, sweep: Survey) -> float:
    """The deepest quieting of a run, dB."""
    return float(max(sweep.quieting_db[i] for i in run.held))
