"""Which stops heard the same carrier: the sweep, cut into runs of neighbouring stops.

A carrier is heard over some 200 to 500 kHz of the dial.  Neighbouring held stops belong to
one run unless the sound changes hands between them, the band opens, or no stop was made
in between.

Conventions
-----------
Indices are into Survey.stops.  Only stops with the console on make runs.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from listen.analysis.heard import STEREO_PILOT_DB, Sound
from listen.analysis.survey import Survey

GAP_MHZ = 0.31  # held stops further apart than this are not taken for one carrier
HANDOVER = 2.5  # odds that a change of hands between two neighbours costs
OWN_HANDOVER = 1.0  # likewise where one of them shows a carrier of its own
SHOULDER_MHZ = 0.215  # how far beyond its last good stop a station can still be held
STATION_LIKE = -1.0  # odds below which a stop is a station's
DEEPER_DB = 0.7  # a neighbour this much quieter stands further inside the carrier
OWN_DB = 18.0  # a carrier's own stop is held so deep
DEEPER_THAN_STATION_DB = 10.0  # a slope plays softer, which hides less: it reads up to 7 deeper
STILL = 0.95  # lines and stillness of a steady tone
BESIDE_MHZ = 0.45  # a strong station may still be held, soft and distorted, this far out
NO_PILOT_DB = 22.0  # 19 kHz over its surroundings where no pilot is heard
FAINT_DB = 4.0  # quieting from which an edge far from all carriers is a faint one itself
SAME_PLACE_MHZ = 0.006  # a switch is judged at one place of the dial
LISTENED_MHZ = 0.11  # a stop so near to a place is held by a carrier there, on every radio
WIDEST_MHZ = 0.75  # no radio holds one carrier over more of its dial than this
HELD_KINDS = ("programme", "bare", "buzz", "faint")


@dataclass(frozen=True, slots=True)
class Run:
    """Neighbouring stops that heard one carrier, by rising dial.

    held  the stops at which it was held
    side  +1 sounds like a console, -1 like a station, 0 undecided
    kind  the kind of sound that most of its stops have
    """

    held: tuple[int, ...]
    side: int
    kind: str


def too_wide(run: Run, sweep: Survey) -> bool:
    """Whether a run is held over more of the dial than one carrier can be."""
    dial_mhz = [sweep.stops[i].dial_mhz for i in run.held]
    return max(dial_mhz) - min(dial_mhz) > WIDEST_MHZ


def shoulders(sweep: Survey, sounds: tuple[Sound, ...]) -> tuple[Sound, ...]:
    """The sounds again, with those of a carrier's shoulders no longer judged.

    On the way down a cliff a radio still holds a carrier but plays it softer and distorted, so
    that a station sounds like a console there.  Not judged are console-like stops that stand
    within SHOULDER_MHZ of a station's stops with nothing held beyond them, the first such stop
    beside a station in any case, and the outermost of a group where the next one inward holds
    the carrier deeper.  A stop that shows a carrier of its own is judged all the same, and where
    no station is heard beside it so is one at which the band opened with the console off.
    """
    found = list(sounds)
    for group in _groups(sweep, sounds):
        station = [sounds[i].odds < STATION_LIKE for i in group]
        beside = [
            _beside_station(sweep, group, station, k) and not has_its_own(sweep, sounds, group[k])
            for k in range(len(group))
        ]
        for place, i in enumerate(group):
            if station[place] or sounds[i].kind != "programme":
                continue
            if not any(station) and _opens_when_off(sweep, sounds, i):
                continue
            if beside[place] or _outermost(sweep, group, beside, place):
                found[i] = replace(
                    sounds[i], kind="edge", odds=0.0, why="the shoulder of a carrier"
                )
    return _with_faint(sweep, found)


def _with_faint(sweep: Survey, sounds: list[Sound]) -> tuple[Sound, ...]:
    """The sounds, with edges that are no carrier's edge called faint carriers.

    An edge with nothing held within BESIDE_MHZ, and with a stop on either side that would have
    held what it is the edge of, is nobody's slope.  If it is no louder than the roar either, which
    the far splatter of a strong station is, a carrier too faint to be judged by its sound stands
    there.  The switch can still tell whose it is.  Where it told already, beside a station, the
    edge was no slope of that.
    """
    on = [i for i, stop in enumerate(sweep.stops) if stop.console == "on"]
    held = [i for i in on if sounds[i].kind not in ("open", "edge", "silent", "muted")]
    found = list(sounds)
    for i in on:
        if sounds[i].kind != "edge" or sweep.quieting_db[i] < FAINT_DB or not is_quiet(sweep, i):
            continue
        if _went_with_the_switch(sweep, sounds, i):
            found[i] = replace(
                sounds[i], kind="faint", why="a carrier that goes when the console is off"
            )
            continue
        mhz = sweep.stops[i].dial_mhz
        beside = [sweep.stops[k].dial_mhz - mhz for k in on if 0 < _apart(sweep, i, k) <= GAP_MHZ]
        enclosed = bool(beside) and min(beside) < 0 < max(beside)
        if enclosed and all(_apart(sweep, i, k) > BESIDE_MHZ for k in held):
            found[i] = replace(
                sounds[i], kind="faint", why="a carrier too faint to be judged by its sound"
            )
    return tuple(found)


def _went_with_the_switch(sweep: Survey, sounds: Sequence[Sound], index: int) -> bool:
    """Whether the open band came back at an edge beside stations alone once the console was off."""
    near = [
        i
        for i, stop in enumerate(sweep.stops)
        if stop.console == "on"
        and sounds[i].kind not in ("open", "edge", "silent", "muted")
        and _apart(sweep, index, i) <= BESIDE_MHZ
    ]
    if any(sounds[i].odds >= STATION_LIKE for i in near):
        return False  # it may be the console's own slope
    return _opens_when_off(sweep, sounds, index)


def _opens_when_off(sweep: Survey, sounds: Sequence[Sound], index: int) -> bool:
    """Whether the open band was heard at a stop's place of the dial once the console was off."""
    return any(
        stop.console == "off"
        and sounds[i].kind == "open"
        and _apart(sweep, index, i) <= SAME_PLACE_MHZ
        and sweep.quieting_db[index] - sweep.quieting_db[i] > FAINT_DB
        for i, stop in enumerate(sweep.stops)
    )


def is_quiet(sweep: Survey, index: int) -> bool:
    """Whether a stop is no louder than the open band's roar."""
    over_db = sweep.over_roar_db(index)
    return over_db is None or over_db < 0


def has_its_own(sweep: Survey, sounds: tuple[Sound, ...], index: int) -> bool:
    """Whether a stop beside a station shows a carrier of its own, and not the station's slope.

    A slope keeps the station's pilot, holds no tone still, and is not much less noisy than its
    station.  A pilot that is missing speaks only where it would be heard through what the slope
    hisses more than the station: on the foot of a strong one it drowns.
    """
    here = sweep.stops[index]
    depth_db = sweep.quieting_db[index]
    if depth_db < OWN_DB or here.programme is None:
        return False
    if here.programme.lines > STILL and here.programme.still > STILL:
        return True
    near = [
        i
        for i, stop in enumerate(sweep.stops)
        if stop.console == "on"
        and sounds[i].odds < STATION_LIKE
        and abs(stop.dial_mhz - here.dial_mhz) <= BESIDE_MHZ
    ]
    if not near:
        return True
    pilots = [(p.pilot_db or 0.0, i) for i in near if (p := sweep.stops[i].programme) is not None]
    own_pilot = here.programme.pilot_db
    if own_pilot is not None and max(pilots)[0] > STEREO_PILOT_DB:
        left_db = max(db - max(0.0, sweep.quieting_db[i] - depth_db) for db, i in pilots)
        if own_pilot < NO_PILOT_DB and left_db > STEREO_PILOT_DB:
            return True
        if own_pilot > STEREO_PILOT_DB:
            return False
    station_db = max(sweep.quieting_db[i] for i in near)
    return bool(depth_db > station_db + DEEPER_THAN_STATION_DB)


def _groups(sweep: Survey, sounds: tuple[Sound, ...]) -> list[list[int]]:
    """Held stops with no open or missing stop between them, by rising dial."""
    order = sorted(
        (
            i
            for i, stop in enumerate(sweep.stops)
            if stop.console == "on" and sounds[i].kind != "silent"
        ),
        key=lambda i: sweep.stops[i].dial_mhz,
    )
    groups: list[list[int]] = [[]]
    for i in order:
        if groups[-1] and _apart(sweep, groups[-1][-1], i) > GAP_MHZ:
            groups.append([])
        if sounds[i].kind in HELD_KINDS:
            groups[-1].append(i)
        elif groups[-1]:
            groups.append([])
    return [group for group in groups if group]


def _beside_station(sweep: Survey, group: list[int], station: list[bool], place: int) -> bool:
    """Whether a stop lies on the slope between a station in its group and the open band."""
    for step in (-1, 1):
        beside = place + step
        if not 0 <= beside < len(group):
            continue
        if station[beside]:
            return True  # the first stop beside a station is a slope or a valley
        towards = place
        while 0 <= towards < len(group) and not station[towards]:
            towards += step
        if not 0 <= towards < len(group):
            continue
        end = place
        while 0 <= end - step < len(group) and not station[end - step]:
            end -= step
        if _apart(sweep, group[towards], group[end]) <= SHOULDER_MHZ:
            return True
    return False


def _outermost(sweep: Survey, group: list[int], beside: list[bool], place: int) -> bool:
    """Whether a stop is at a group's end and the next one inward holds the carrier deeper."""
    inward = {0: 1, len(group) - 1: len(group) - 2}.get(place)
    if inward is None or not 0 <= inward < len(group) or beside[inward]:
        return False
    gain_db = sweep.quieting_db[group[inward]] - sweep.quieting_db[group[place]]
    return bool(gain_db > DEEPER_DB)


def _apart(sweep: Survey, one: int, other: int) -> float:
    return abs(sweep.stops[one].dial_mhz - sweep.stops[other].dial_mhz)


def find_runs(sweep: Survey, sounds: tuple[Sound, ...]) -> tuple[Run, ...]:
    """All runs of a sweep, by rising dial."""
    held = [
        i
        for i, sound in enumerate(sounds)
        if sound.kind in HELD_KINDS and sweep.stops[i].console == "on"
    ]
    held.sort(key=lambda i: sweep.stops[i].dial_mhz)
    opens = sorted(
        sweep.stops[i].dial_mhz
        for i, sound in enumerate(sounds)
        if sound.kind in ("open", "muted") and sweep.stops[i].console == "on"
    )
    runs: list[Run] = []
    group: list[int] = []
    for i in held:
        if group:
            before, here = sweep.stops[group[-1]].dial_mhz, sweep.stops[i].dial_mhz
            opened = np.searchsorted(opens, here) > np.searchsorted(opens, before, "right")
            if here - before > GAP_MHZ or opened:
                runs += _divide(group, sweep, sounds)
                group = []
        group.append(i)
    return tuple(runs + (_divide(group, sweep, sounds) if group else []))


def _divide(group: list[int], sweep: Survey, sounds: tuple[Sound, ...]) -> list[Run]:
    """Cut a group where its sound changes hands: the cheapest labelling of its stops."""
    labels = (-1, 0, 1)  # station, neither (a picture or a bare carrier), console
    cost = np.array([[_cost(sounds[i], label) for label in labels] for i in group])
    stations = any(sounds[i].odds < STATION_LIKE for i in group)
    own = [stations and _is_own(sweep, sounds, i) for i in group]
    total, came = cost[0], []
    for row, either_own in zip(cost[1:], map(any, pairwise(own)), strict=True):
        ways = total[:, None] + (OWN_HANDOVER if either_own else HANDOVER) * (1 - np.eye(3))
        came.append(ways.argmin(axis=0))
        total = ways.min(axis=0) + row
    state = int(total.argmin())
    states = [state]
    for step in reversed(came):
        state = int(step[state])
        states.append(state)
    states.reverse()
    runs, start = [], 0
    for end in range(1, len(group) + 1):
        if end == len(group) or states[end] != states[start]:
            part = tuple(group[start:end])
            kinds = [sounds[i].kind for i in part]
            kind = max(sorted(set(kinds)), key=kinds.count)  # of as many, the buzz before a tune
            runs.append(
                Run(part, labels[states[start]], "programme" if states[start] != 1 else kind)
            )
            start = end
    return runs


def _is_own(sweep: Survey, sounds: tuple[Sound, ...], index: int) -> bool:
    """Whether a stop sounds like a console and is no slope of a station near it."""
    return sounds[index].odds > -STATION_LIKE and has_its_own(sweep, sounds, index)


def _cost(sound: Sound, label: int) -> float:
    """How ill a stop's sound fits a carrier of this kind, in odds.

    A console's carrier may rest or buzz at one stop and play at the next; a station's hardly.
    """
    if sound.kind == "programme":
        return 1.5 if label == 0 else max(0.0, -label * min(3.0, max(-3.0, sound.odds)))
    if sound.kind == "buzz":
        return {0: 0.0, 1: 0.8, -1: 3.0}[label]
    return {0: 0.0, 1: 0.4, -1: 1.5}[label]
