"""Which stops heard the same carrier: the sweep, cut into runs of neighbouring stops.

A carrier is heard over some 200 to 500 kHz of the dial.  Neighbouring held stops belong to
one run unless the sound changes hands between them, the band opens, or no stop was made
in between.

Conventions
-----------
Indices are into Survey.stops.  Only stops with the console on make runs.
"""

from dataclasses import dataclass

import numpy as np

from listen.analysis.heard import Sound
from listen.analysis.survey import Survey

GAP_MHZ = 0.31  # held stops further apart than this are not taken for one carrier
HANDOVER = 2.5  # odds that a change of hands between two neighbours costs
WIDEST_MHZ = 0.9


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


def find_runs(sweep: Survey, sounds: tuple[Sound, ...]) -> tuple[Run, ...]:
    """All runs of a sweep, by rising dial."""
    held = [
        i
        for i, sound in enumerate(sounds)
        if sound.kind in ("programme", "bare", "buzz") and sweep.stops[i].console == "on"
    ]
    held.sort(key=lambda i: sweep.stops[i].dial_mhz)
    opens = sorted(
        sweep.stops[i].dial_mhz
        for i, sound in enumerate(sounds)
        if sound.kind == "open" and sweep.stops[i].console == "on"
    )
    runs: list[Run] = []
    group: list[int] = []
    for i in held:
        if group:
            before, here = sweep.stops[group[-1]].dial_mhz, sweep.stops[i].dial_mhz
            opened = np.searchsorted(opens, here) > np.searchsorted(opens, before, "right")
            if here - before > GAP_MHZ or opened:
                runs += _divide(group, sounds)
                group = []
        group.append(i)
    return tuple(runs + (_divide(group, sounds) if group else []))


def _divide(group: list[int], sounds: tuple[Sound, ...]) -> list[Run]:
    """Cut a group where its sound changes hands: the cheapest labelling of its stops."""
    labels = (-1, 0, 1)  # station, neither (a picture or a bare carrier), console
    cost = np.array([[_cost(sounds[i], label) for label in labels] for i in group])
    change = HANDOVER * (1 - np.eye(3))
    total, came = cost[0], []
    for row in cost[1:]:
        ways = total[:, None] + change
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
            kind = max(set(kinds), key=kinds.count)
            runs.append(Run(part, labels[states[start]], "programme" if states[start] != 1 else kind))
            start = end
    return runs


def _cost(sound: Sound, label: int) -> float:
    """How ill a stop's sound fits a carrier of this kind, in odds.

    A console's carrier may rest or buzz at one stop and play at the next; a station's hardly.
    """
    if sound.kind == "programme":
        return 1.5 if label == 0 else max(0.0, -label * min(3.0, max(-3.0, sound.odds)))
    return {0: 0.0, 1: 0.4 if sound.kind == "bare" else 0.8, -1: 1.5}[label]
