"""What the console's switch tells of a carrier: off stops held against on stops at one place.

What changed with the switch is the console's, what stayed is not.  Where the off stop only
roars, that is plain.  Where something stays held it is a station either way: the one that was
heard before, or a weaker one that the console had captured.  How far one station's measures
wander from one moment to another at one place of the dial was read off model stations
(docs/carrier-fit.md); what changed by more was another carrier.

A console that is off plays nothing.  What sounds like one all the same is a station's, mostly its
slope.  If that may be what was heard before, it speaks against the carrier.  If not, something was
captured that sounds so as well: another slope, somebody else's tune.  That is no proof either way,
for a slope changes much by itself.

A volume that was turned between the two stops moves level, peaks and floor alike, whatever is
heard: then no change is proved, unless the off stop has the open band's own roar, and what goes on
playing is a station more likely than not.  What plays is no open band, however loud its floor.

Conventions
-----------
Odds are natural logarithms, console against station; 0 where nothing is known.
"""

from dataclasses import replace

import numpy as np

from listen.analysis.heard import HELD_DB, LIKE_CONSOLE, OPEN_DB, STEREO_PILOT_DB, Sound
from listen.analysis.roar import SAME_DB, SHAPE_OWN_DB, level_without_hum_db
from listen.analysis.runs import SAME_PLACE_MHZ, Run
from listen.analysis.survey import Survey

STRAYS_MHZ = 0.155  # a stop so near still stands between a pointer's two visits and a cliff
SWITCH = 16.0  # it outweighs all the rest: where it was used, it decides
FELL_DB = 10.0  # a quieting that falls by this much at one dial is a carrier gone
FAINT_FELL_DB = 4.0  # and a faint one's, where nothing but the open band is left
SLOPE_FELL_DB = 6.0  # likewise where a station's slope is left, if something else tells as well
SAME_LEVEL_DB = 5.0  # the level of a station's slope changes by up to 3.4 dB
OTHER_DB, TUNE_LINES = 6.0, 0.5  # louder than a tune and held otherwise: another carrier
FAINT_SWITCH = 6.0  # what that is worth: edges come and go a little by themselves
SAME_PILOT_DB = 20.0  # from one moment to another that changes by up to 11
SAME_LOUD_DB = 4.0  # one station's peaks change by up to 2 dB from one moment to another
OTHER_ODDS = 4.0  # a station that sounds so much less like a console is another carrier
PLAYS_DB = 11.0  # so far over the roar's shape something plays; a strong station beside has 9.7
TURNED_DB, TOGETHER_DB = 3.0, 7.0  # a station's floor wanders by up to 5.5 dB against its level
PEAKS_DB = 2.0  # and its peaks by 0.6
SHUT_DB, SHUT_LINES = 3.0, 0.1  # a mute that opens at moments: its floor, and no tune


def switch_told(
    run: Run, sweep: Survey, sounds: tuple[Sound, ...], scatter_khz: float = 0.0
) -> tuple[float, int | None]:
    """What the off stops on a run's dial say, and which of them says it.

    Each is held against the on stops at the same place of the dial and no other: a step of the
    dial changes what is heard as well.  A pointer does not come back to the same place, and on a
    cliff that alone changes all: there an end of the run tells nothing.

    scatter_khz  how far a stop is from what was read off the dial; 0: not at all
    """
    said = [verdict for verdict in _verdicts(run, sweep, sounds, scatter_khz) if verdict[0]]
    if not said or min(said)[0] < 0 < max(said)[0]:
        return 0.0, None  # nothing, or one says yes and another no
    return max(said, key=lambda verdict: abs(verdict[0]))


def _verdicts(
    run: Run, sweep: Survey, sounds: tuple[Sound, ...], scatter_khz: float
) -> list[tuple[float, int]]:
    """The odds of each pair of an off stop and an on stop of the run, and the off stop."""
    told: list[tuple[float, int]] = []
    for off, stop in enumerate(sweep.stops):
        gone = sweep.roar.muting == "hard" and bool(sweep.roar.muted[off])
        if stop.console != "off" or not (gone or np.isfinite(sweep.quieting_db[off])):
            continue
        for on in run.held:
            if scatter_khz > 0 and _is_end(run, sweep, sounds, on):
                continue
            if abs(sweep.stops[on].dial_mhz - stop.dial_mhz) <= SAME_PLACE_MHZ:
                verdict = _gone(sweep, on) if gone else _changed(sweep, sounds, on, off)
                told.append((verdict, off))
    return told


def in_doubt(run: Run, sweep: Survey, sounds: tuple[Sound, ...], scatter_khz: float = 0.0) -> bool:
    """Whether the console was off at a stop of a run of which the switch told nothing.

    Then its sound alone proves nothing any more: what was the console's would be gone.  Where a
    pointer strays, that is so if a carrier as deep is still held where the dial reads as before.
    """
    strayed = scatter_khz > 0 and still_held(run, sweep)
    return strayed or bool(_verdicts(run, sweep, sounds, scatter_khz))


def _is_end(run: Run, sweep: Survey, sounds: tuple[Sound, ...], on: int) -> bool:
    """Whether a carrier is not held on both sides of a stop, as far as a pointer may stray.

    A carrier's shoulder is no stop of the run, but as deep a one holds it there as well.
    """
    beside = [
        i
        for i, sound in enumerate(sounds)
        if i in run.held
        or (
            sweep.stops[i].console == "on"
            and sound.kind == "edge"
            and sweep.quieting_db[i] >= HELD_DB
        )
    ]
    away_mhz = [sweep.stops[i].dial_mhz - sweep.stops[on].dial_mhz for i in beside]
    near = [mhz for mhz in away_mhz if abs(mhz) <= STRAYS_MHZ]
    return not (min(near) < -SAME_PLACE_MHZ and max(near) > SAME_PLACE_MHZ)


def still_held(run: Run, sweep: Survey) -> bool:
    """Whether a carrier as deep is held with the console off where the dial reads as before.

    A pointer may have come back beside it; but then it may have strayed when the run was heard,
    and what sounded like a console was that carrier's slope.
    """
    return any(
        off.console == "off"
        and abs(off.dial_mhz - sweep.stops[on].dial_mhz) <= SAME_PLACE_MHZ
        and sweep.quieting_db[i] > sweep.quieting_db[on] - OPEN_DB
        for i, off in enumerate(sweep.stops)
        for on in run.held
    )


def _gone(sweep: Survey, on: int) -> float:
    """Odds where a hard mute closed once the console was off.

    At the end of a station's window it opens and closes by itself: then it tells nothing.
    """
    stop, band = sweep.stops[on], sweep.band
    closed_db = [
        h.burst_db[band]
        for i in np.flatnonzero(sweep.roar.muted)
        if (h := sweep.stops[i].hiss) is not None
    ]
    if stop.hiss is None or stop.programme is None or not closed_db:
        return SWITCH
    shut = stop.hiss.burst_db[band] < float(np.median(closed_db)) + SHUT_DB
    return 0.0 if shut and stop.programme.lines < SHUT_LINES else SWITCH


def _changed(sweep: Survey, sounds: tuple[Sound, ...], on: int, off: int) -> float:
    """Odds from one pair: the hiss came back, another programme came, or nothing changed.

    A programme hides the floor more at one moment than at another, and rests: neither depth
    alone nor a pause is a change while a carrier stays held.  A station that was captured
    beneath the console is told by its pilot, which no console has and which does not come and
    go, or by a sound that is a station's where a console's was.  What still sounds like a console's
    is no station's that came up, and if it is much as before, it is what was there before.
    """
    roars = bool(sweep.roar.pure.any() and sweep.roar.pure[off])
    if _turned(sweep, on, off) and not (roars and abs(sweep.quieting_db[off]) <= SAME_DB):
        before, after = sounds[on].odds, sounds[off].odds
        another = before > LIKE_CONSOLE and after < -1  # or louder, and so no console's
        goes_on = _over_shape_db(sweep, off) > PLAYS_DB and not another
        return -FAINT_SWITCH if goes_on else 0.0
    if sweep.quieting_db[off] < OPEN_DB:
        return _came_open(sweep, on, off, roars)
    if roars and _over_shape_db(sweep, on) > FELL_DB:
        return SWITCH / 2  # the open band, the volume turned down
    if sweep.quieting_db[off] < HELD_DB:
        return _on_slope(sweep, sounds, on, off)
    return _other_programme(sweep, sounds, on, off)


def _came_open(sweep: Survey, on: int, off: int, roars: bool) -> float:
    """Odds of a pair whose off stop is open: by how much its floor surely rose.

    roars  whether it has the open band's own roar
    """
    surely = roars or sweep.quieting_db[off] + sweep.roar.doubt(off) < OPEN_DB
    if not surely or _over_shape_db(sweep, off) > PLAYS_DB:
        return 0.0
    left_db = max(float(sweep.quieting_db[off]), 0.0)
    fell_db = sweep.quieting_db[on] - left_db - _doubt_db(sweep, on, off)
    faint = FAINT_SWITCH if fell_db > FAINT_FELL_DB else 0.0
    return SWITCH if fell_db > FELL_DB else faint


def _on_slope(sweep: Survey, sounds: tuple[Sound, ...], on: int, off: int) -> float:
    """Odds of a pair whose off stop is half-way: a faint carrier's, or a station's slope."""
    fell_db = sweep.quieting_db[on] - sweep.quieting_db[off]
    if sounds[on].kind == "faint" and abs(fell_db) < OPEN_DB:
        return -SWITCH / 2
    doubt_db = _doubt_db(sweep, on, off)
    rose = sweep.level_db(off) - sweep.level_db(on) - doubt_db > SAME_LEVEL_DB
    if fell_db - doubt_db > SLOPE_FELL_DB and (rose or sounds[on].odds > LIKE_CONSOLE):
        return SWITCH / 2  # a station's slope is left
    return 0.0


def _other_programme(sweep: Survey, sounds: tuple[Sound, ...], on: int, off: int) -> float:
    """Odds of a pair that holds a carrier both times: by its pilot, its sound and its loudness."""
    fell_db = sweep.quieting_db[on] - sweep.quieting_db[off]
    before, after = sounds[on], sounds[off]
    had, has = (_pilot_db(sweep, i) for i in (on, off))
    more_db = 0.0 if had is None or has is None else has - had
    if more_db > SAME_PILOT_DB and has is not None and has > STEREO_PILOT_DB:
        return SWITCH
    with_pilot = had is not None and had > STEREO_PILOT_DB  # no console has one
    was_station = with_pilot or (before.kind == "programme" and before.odds < 0)
    other = before.odds - after.odds > OTHER_ODDS and not was_station
    if after.kind == "programme" and after.odds < -1 and other:
        return SWITCH / 2
    doubt_db = _doubt_db(sweep, on, off)
    louder_db = after.loud_db - before.loud_db  # nan: a bare carrier's, or a picture's
    still_plays = after.kind == "programme" and after.odds > LIKE_CONSOLE
    came = _plays(sweep, on) and not with_pilot and not still_plays
    if came and min(louder_db, abs(fell_db)) - doubt_db > OTHER_DB:
        return SWITCH / 2
    both_pilots = with_pilot and has is not None and has > STEREO_PILOT_DB
    apart_db = 0.0 if both_pilots or np.isnan(louder_db) else abs(louder_db)  # a pause is no other
    alike = before.kind == after.kind and abs(fell_db) < FELL_DB and abs(more_db) < SAME_PILOT_DB
    if alike and apart_db <= SAME_LOUD_DB:
        return -SWITCH
    if alike and still_plays and apart_db <= OTHER_DB:
        return -SWITCH / 2
    if alike and apart_db <= SAME_LOUD_DB + doubt_db:
        return -FAINT_SWITCH  # but for the volume, nobody knows how far it was turned
    return 0.0


def _doubt_db(sweep: Survey, on: int, off: int) -> float:
    """By how much the volume may have changed between two stops, dB."""
    return sweep.roar.doubt(on) + sweep.roar.doubt(off)


def _turned(sweep: Survey, on: int, off: int) -> bool:
    """Whether level, peaks and floor of two stops differ by about the same, as by the volume."""
    one, other = sweep.stops[on], sweep.stops[off]
    if one.hiss is None or other.hiss is None or one.programme is None or other.programme is None:
        return False
    known_db = sweep.roar.gain_db[off] - sweep.roar.gain_db[on]
    louder_db = other.level_dbfs - one.level_dbfs - known_db
    peaks_db = other.programme.peak_dbfs - one.programme.peak_dbfs - known_db
    noisier_db = sweep.quieting_db[on] - sweep.quieting_db[off]
    moved_db = np.array([louder_db, peaks_db, noisier_db])
    alike = abs(peaks_db - louder_db) < PEAKS_DB and np.ptp(moved_db) < TOGETHER_DB
    had, has = (_pilot_db(sweep, i) for i in (on, off))
    if had is not None and has is not None and abs(has - had) > SAME_PILOT_DB:
        return False
    return bool(alike and abs(moved_db.mean()) > TURNED_DB)


def _over_shape_db(sweep: Survey, index: int) -> float:
    """How far a stop's level stands over its floor, more than the open band's does, dB."""
    stop, band = sweep.stops[index], sweep.band
    own_db = sweep.roar.shape_db
    if own_db is None:
        own_db = SHAPE_OWN_DB[band][1]
    return (
        0.0 if stop.hiss is None else level_without_hum_db(stop) - stop.hiss.calm_db[band] - own_db
    )


def _plays(sweep: Survey, index: int) -> bool:
    """Whether a stop has a tune, and no pause."""
    programme = sweep.stops[index].programme
    return programme is not None and programme.lines > TUNE_LINES


def _pilot_db(sweep: Survey, index: int) -> float | None:
    """How far 19 kHz stands out at a stop; None where its rate does not reach it."""
    programme = sweep.stops[index].programme
    return None if programme is None else programme.pilot_db


def split_by_switch(
    runs: tuple[Run, ...], sweep: Survey, sounds: tuple[Sound, ...]
) -> tuple[Run, ...]:
    """The runs, those divided of which one stop changed with the switch and another did not.

    Such a run is two carriers, a station and the console beside it: each stop goes with the
    nearest one of which the switch spoke.
    """
    found: list[Run] = []
    for run in runs:
        spoken = [
            (sweep.stops[i].dial_mhz, verdict > 0)
            for i in run.held
            if (verdict := switch_told(replace(run, held=(i,)), sweep, sounds)[0])
        ]
        if len({changed for _, changed in spoken}) < 2:
            found.append(run)
            continue
        sides = [
            min(spoken, key=lambda one: abs(one[0] - sweep.stops[i].dial_mhz))[1] for i in run.held
        ]
        start = 0
        for end in range(1, len(sides) + 1):
            if end == len(sides) or sides[end] != sides[start]:
                held = run.held[start:end]
                kind = "programme" if run.kind == "programme" else sounds[held[0]].kind
                found.append(Run(held, run.side if sides[start] else -1, kind))
                start = end
    return tuple(found)
