"""Which trimmer was turned, and what the other carriers of a modulator say of the move.

A modulator has two.  The picture oscillator moves the sound carrier, the picture carrier and
the mirror alike.  The sound subcarrier leaves the picture where it is, moves the sound, and
moves the mirror as far the other way.  So each carrier that was heard in both sweeps is a
second look at one and the same move, at other places of the dial's steps; and which of the
explanations they agree on tells what was turned.

Conventions
-----------
Distances are kHz, after minus before, the dial's own error taken out.
"""

from dataclasses import dataclass

import numpy as np

from listen.analysis.confirmation import Turned
from listen.analysis.curve import Floats
from listen.analysis.shift import Distance, bell, moved_by

# How often each is turned: a move is made with the oscillator, a spacing is set rarely.
TURNED: dict[Turned, float] = {"oscillator": 0.8, "subcarrier": 0.12, "both": 0.08}
REACH_KHZ = 400.0  # over which a trimmer may move a carrier, nothing else being known
DRIFT_KHZ = 1.5  # what the spacing drifts by itself while the oscillator is turned
ASTRAY = 0.004  # how often a carrier that was taken for its own is something else
SURE = 0.9  # probability from which a trimmer is named


@dataclass(frozen=True, slots=True, eq=False)
class Together:
    """A modulator's move.

    sound   how far its sound carrier went, by all that was heard
    odds    probability that each trimmer was turned, given that one was
    """

    sound: Distance
    odds: dict[Turned, float]

    @property
    def turned(self) -> Turned | None:
        """The trimmer that was turned, where it can be told."""
        likeliest = max(self.odds, key=lambda name: self.odds[name])
        return likeliest if self.odds[likeliest] >= SURE else None


def together(sound: Distance, picture: Distance | None, mirror: Distance | None) -> Together:
    """What a modulator's carriers say of its move, each heard in both sweeps or None."""
    if picture is None and mirror is None:
        return Together(sound, dict(TURNED))
    khz = np.asarray(np.arange(sound.khz[0], sound.khz[-1] + 1), dtype=np.float64)
    own = _density(sound, khz)
    drift = bell(0.0, DRIFT_KHZ)
    seen = [None if one is None else moved_by(one, drift) for one in (picture, mirror)]
    of_picture, of_mirror = seen
    ones = np.ones(khz.size)
    with_oscillator = [ones if one is None else _density(one, khz) for one in seen]
    still = ones if of_picture is None else _density(of_picture, 0 * khz)
    opposite = ones if of_mirror is None else _density(of_mirror, -khz)
    likely: dict[Turned, Floats] = {
        "oscillator": own * with_oscillator[0] * with_oscillator[1],
        "subcarrier": own * still * opposite,
        "both": own * _both(of_picture, of_mirror, khz),
    }
    weights = {name: TURNED[name] * likely[name] for name in likely}
    total = sum(float(weight.sum()) for weight in weights.values())
    if total <= 0:
        return Together(sound, dict(TURNED))
    whole = np.asarray(sum(weights.values()) / total)
    return Together(
        Distance(khz, whole), {name: float(w.sum()) / total for name, w in weights.items()}
    )


def _both(picture: Distance | None, mirror: Distance | None, khz: Floats) -> Floats:
    """How likely picture and mirror are for each move of the sound, both trimmers turned.

    The mirror lies as far below the picture as the sound above it: it moves by twice the
    picture's move less the sound's.
    """
    anywhere = np.full(khz.size, 1 / REACH_KHZ)
    if picture is None or mirror is None:
        return anywhere
    steps = np.asarray(np.arange(picture.khz[0], picture.khz[-1] + 1), dtype=np.float64)
    density = _density(picture, steps)
    return np.array([float(density @ _density(mirror, 2 * steps - d)) for d in khz]) / REACH_KHZ


def _density(one: Distance, khz: Floats) -> Floats:
    """Density per kHz, never quite nought: a fit may be of something else."""
    step_khz = float(one.khz[1] - one.khz[0])
    density = np.interp(khz, one.khz, one.weight / step_khz, left=0.0, right=0.0)
    return np.asarray((1 - ASTRAY) * density + ASTRAY / REACH_KHZ)
