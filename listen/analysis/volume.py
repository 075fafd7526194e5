"""What the volume knob did in mid-walk, as the open band's roars tell it.

The roar of one radio comes back to a tenth of a decibel wherever nothing is near, so roars that
are alike stand at the knob's setting, and those beside carriers, louder or softer, stand alone.
A knob was turned where roars of one level are followed by roars of another, and may be turned
again.  The likeliest path of levels is found over all roars in the order of their time: a level
that changes has its price, a roar apart from its level too (Viterbi's algorithm, textbook).

Between the last roar before a turn and the first after it nothing tells when it was: a stop
there has the mean gain, and may be off by half the step.  Where a walk begins or ends with roars
that are apart, the knob may have been turned or a carrier be near: then all the stops from there
on are in doubt by as much.

Conventions
-----------
Levels are dB re a full-scale sine.  A gain is what the knob added to a stop since the first
level, dB; its doubt is by how much that may be wrong, dB.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from listen.analysis.ranks import median

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.intp]

STEP_DB = 1.5  # the least volume step that is told from chance
ALIKE_DB = 0.25  # standard deviation of one level; model radios have 0.1, with 8 kHz too
APART_SHARE = 0.15  # of all roars; 1 to 15 % of them stood beside carriers, on model benches
APART_DB = 30.0  # they may have any level in so much: one roar apart costs 5.6
GRID_DB = 0.2  # levels that are tried
TURN_COSTS = 8.5  # log odds against a turn, and as much more as there are roars at which it can be
MEMBER_DB = 0.75  # a roar so near is of the level
SUSPECT_DB = 3.0  # one roar so far apart puts what is about it in doubt
LONG_SHARE = 0.15  # of all stops: of fewer at a walk's end a roar apart is a carrier's


@dataclass(frozen=True, slots=True, eq=False)
class Knob:
    """What the volume knob added.

    gain_db   shape (stops,): since the first level
    doubt_db  shape (stops,): by how much that may be wrong
    """

    gain_db: Floats
    doubt_db: Floats


def find_turns(level_db: Floats, pure: Flags, order: Indices) -> Knob:
    """What the knob added at each stop.

    level_db  shape (stops,)
    pure      shape (stops,): those that have the roar's own shape
    order     the stops' indices in the order of time
    """
    knob = Knob(np.zeros(level_db.size), np.zeros(level_db.size))
    places = np.flatnonzero(pure[order])  # in the order of time
    if places.size < 2:
        return knob
    roar_db = level_db[order[places]]
    path_db = _levels(roar_db)
    first: float | None = None
    before_db, last = 0.0, -1
    gain_db, doubt_db = np.zeros(order.size), np.zeros(order.size)
    for start, end in _stretches(path_db):
        member = np.abs(roar_db[start:end] - path_db[start]) <= MEMBER_DB
        if not member.any():
            continue
        at = places[start:end][member]
        here_db = float(median(roar_db[start:end][member]))
        if first is None:
            first = before_db = here_db
        gain_db[last + 1 : at[0]] = (before_db + here_db) / 2 - first
        doubt_db[last + 1 : at[0]] = abs(here_db - before_db) / 2
        gain_db[at[0] :] = here_db - first
        if last < 0:
            doubt_db[: at[0]] = _apart_db(roar_db, places < at[0], here_db, int(at[0]), order.size)
        before_db, last = here_db, int(at[-1])
    after = order.size - 1 - last
    doubt_db[last + 1 :] = _apart_db(roar_db, places > last, before_db, after, order.size)
    knob.gain_db[order], knob.doubt_db[order] = gain_db, doubt_db
    return knob


def _levels(roar_db: Floats) -> Floats:
    """The knob's level at each roar, the likeliest path."""
    level_db = GRID_DB * np.array(sorted(set(np.round(roar_db / GRID_DB))))
    off = (roar_db - level_db[:, np.newaxis]) / ALIKE_DB
    near = (1 - APART_SHARE) / (ALIKE_DB * np.sqrt(2 * np.pi)) * np.exp(-0.5 * off**2)
    fits = np.log(near + APART_SHARE / APART_DB)
    turned = np.abs(level_db - level_db[:, np.newaxis]) >= STEP_DB
    price = np.where(turned, TURN_COSTS + np.log(roar_db.size), np.inf)
    np.fill_diagonal(price, 0.0)
    score = fits[:, 0]
    came = np.zeros(fits.shape, np.intp)
    for k in range(1, roar_db.size):
        ways = score - price  # row: the level now; column: the one before
        came[:, k] = ways.argmax(axis=1)
        score = ways.max(axis=1) + fits[:, k]
    path = np.empty(roar_db.size, np.intp)
    path[-1] = int(score.argmax())
    for k in range(roar_db.size - 1, 0, -1):
        path[k - 1] = came[path[k], k]
    return np.asarray(level_db[path])


def _stretches(path_db: Floats) -> list[tuple[int, int]]:
    """First and one past the last of each run of equal levels."""
    cuts = np.flatnonzero(np.diff(path_db)) + 1
    edges = [0, *cuts.tolist(), path_db.size]
    return list(pairwise(edges))


def _apart_db(roar_db: Floats, beyond: Flags, level_db: float, stops: int, all_stops: int) -> float:
    """How far the roars at an end of the walk stand from the level next to them, dB.

    beyond  the roars before the first of that level, or after the last
    stops   all stops there; where these are no more than the roars, carriers are near them, and
            where the roars are not alike
    """
    if not beyond.any() or stops < max(LONG_SHARE * all_stops, beyond.sum() + 1):
        return 0.0
    if np.ptp(roar_db[beyond]) > MEMBER_DB:
        return 0.0
    apart_db = float(np.abs(median(roar_db[beyond]) - level_db))
    return apart_db if apart_db >= SUSPECT_DB else 0.0
