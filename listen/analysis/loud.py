"""What the loudness of a stop tells of where a carrier is, beside its hiss.

A discriminator gives, as the mean over a moment, the carrier's offset while it is held and nought
while noise has won: offset · kept(offset).  The programme swings the offset, so it is heard as
strongly as that product is steep:

    gain(d) = slope of  d · kept(d),  with kept = 1 - lost (plateau.py)

On the plateau that is one.  On a cliff it falls through nought, and at its foot, where the
carrier is seldom held but every swing decides how seldom, the programme comes back with its sign
turned and far louder than it was: louder than the roar, while the hiss beside it is hardly more
than the roar's.  So a foot, where hiss goes through the roar and back to it, is told from the
open band.  The whole loudness over the roar's is then

    noise(d) + programme · gain(d)²

with the programme as loud as at the loudest stop that is surely held.  A programme varies: it may
be softer at another stop, or rest there.

Loudness is left out of rough fits, but for those that place a station, and wherever a dial's
readings scatter, as an analogue scale's do.

Conventions
-----------
Loudness is the level of all that is recorded, dB over the roar's.  Densities are for 1 dB.

Source: the mean of a limiter's frequency with noise beside a carrier is the carrier's offset
times how seldom noise outgrows it, S. O. Rice (from memory); sizes below, set by trials
(docs/carrier-fit.md).
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from listen.analysis.plateau import STEP_KHZ, Family

HELD_DB = 15.0  # quieting from which a stop's loudness is the programme's
ROAR_DB = 0.5  # scatter of the roar's loudness
PROGRAMME_DB = 2.5  # and of a programme's
ASTRAY_KHZ = 5.0  # what a cliff may stand elsewhere than any curve of the family has it
PLAYS, RESTS, ODD = 0.7, 0.25, 0.05  # how often it goes on, rests, or something else is heard
ODD_RANGE_DB = 40.0  # over which that may lie
DEGREES = 4.0  # of freedom of Student's t
T_PEAK = 0.375  # its density where it is highest, of scale 1


def loud_log_like(
    quieting_db: Sequence[float],
    loud_db: Sequence[float | None],
    places: NDArray[np.intp],
    curves: Family,
    shapes: NDArray[np.intp],
) -> NDArray[np.float32]:
    """Log density of the stops' loudness, shape (carriers, shapes); nought where none tells.

    quieting_db, loud_db  of each stop; None where its loudness tells nothing
    places  shape (stops, carriers): the offset of each stop, in STEP_KHZ
    shapes  which curves
    """
    heard = list(zip(quieting_db, loud_db, places, strict=True))
    told = [(loud, rows) for _, loud, rows in heard if loud is not None]
    held_db = [loud for quiet, loud, _ in heard if loud is not None and quiet >= HELD_DB]
    log_like = np.zeros((places.shape[1], shapes.size), np.float32)
    if not held_db:
        return log_like
    rows = np.arange(max(0, places.min() - 1), min(len(curves.noise), places.max() + 2))
    noise = curves.noise[np.ix_(rows, shapes)]
    programme = np.float32(10 ** (max(held_db) / 10)) * curves.gain[np.ix_(rows, shapes)]
    plays, rests = _expected(noise, programme), _expected(noise, np.zeros_like(noise))
    for loud, places_there in told:
        there = places_there - rows[0]
        density = PLAYS * _density(loud, *(part[there] for part in plays))
        density += RESTS * _density(loud, *(part[there] for part in rests))
        log_like += np.log(density + np.float32(ODD / ODD_RANGE_DB))
    return log_like


def _expected(
    noise: NDArray[np.float32], programme: NDArray[np.float32]
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """The loudness in dB, and its scatter, at neighbouring offsets."""
    whole = noise + programme + np.float32(1e-6)
    loud_db = 10 * np.log10(whole)
    steep_db = np.gradient(loud_db, STEP_KHZ, axis=0)
    varies_db = np.float32(PROGRAMME_DB) * programme / whole
    scatter_db = np.sqrt(ROAR_DB**2 + varies_db**2 + np.square(np.float32(ASTRAY_KHZ) * steep_db))
    return loud_db, scatter_db.astype(np.float32)


def _density(
    loud_db: float, expected_db: NDArray[np.float32], scatter_db: NDArray[np.float32]
) -> NDArray[np.float32]:
    """Student's t of one loudness about what is expected."""
    gap = (np.float32(loud_db) - expected_db) / scatter_db
    power = np.float32(-(DEGREES + 1) / 2)
    density = np.float32(T_PEAK) * (1 + gap * gap / np.float32(DEGREES)) ** power / scatter_db
    return density.astype(np.float32)
