"""Where a carrier sits, from how far the radio was quieted at each dial stop.

Hiss over the dial is a plateau with cliffs.  The fit lays a family of such curves over the
stops, for every carrier frequency on a fine grid, and adds up how well each explains what
was measured: the sum over all the curves is the probability of each frequency.  So nothing
is said of a cliff that no stop stands on, and the interval widens by itself where a flank is
missing.

The curves are those of plateau.py with a floor: whatever hides the last of the hiss (the
carrier's own noise, the line-in's, the programme).  A reading scatters about the nearest of
them by what its clip's chance does, and on a cliff by what the family's cliff stands astray.

Conventions
-----------
Dial positions and carriers are MHz, quieting dB (0 is the open-band roar).  A stop is either
held by this carrier or open to it: nothing else is heard there.  Errors of a reading are
Student's t with 4 degrees of freedom, so that one bad stop does not move the answer.

What it gives
-------------
Reading      one stop, as the fit sees it
fit_carrier  Posterior: the carrier's frequency with its probabilities, and the best curve

It knows nothing of channels, programmes or people.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from listen.analysis.dialerror import Kernel, without_error
from listen.analysis.loud import loud_log_like
from listen.analysis.plateau import REACH_KHZ, STEP_KHZ, Family, family
from listen.analysis.scatter import blur
from listen.analysis.width import HALF_WIDTHS_KHZ

Floats = NDArray[np.float64]

GRID_KHZ = 2.0  # of the carrier's frequency
ABOVE_DB = (-1.0, 0.0, 1.0, 2.5, 10.0)  # where the floor lies, beyond the quietest reading
# Scatter of a reading about the best curve: the roar's, what a cliff adds per dB and at most,
# and three that a plateau may have, since some programmes hide the floor and some do not.
# Set by trials, docs/carrier-fit.md.
ROAR_DB, CLIFF_PER_DB, CLIFF_DB = 0.2, 0.06, 1.0
ASTRAY_KHZ = 5.0  # what a cliff may stand elsewhere than any curve of the family has it
PLATEAU_DB = (0.5, 1.4, 3.5)
DEGREES = 4.0
STRAY = 40.0  # squared distance over scatter and DEGREES from which a reading says no more
# Of the finer family only what can matter is worked out.  A fifth of the carriers shows what.
LOOK_EVERY, LOOK_WITHIN = 5, 14.0
SHAPES_AT_ONCE = 640  # so that memory does not grow with the stops of a carrier
AT_ONCE = 8  # densities whose product stays far from the ends of float32


@dataclass(frozen=True, slots=True)
class Reading:
    """One stop as the fit sees it: its dial and its quieting.

    rough_db  scatter of this reading beyond the usual, dB
    loud_db   its loudness over the roar's, dB; None where that tells nothing of this carrier
    """

    dial_mhz: float
    quieting_db: float
    rough_db: float = 0.0
    loud_db: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """A carrier's frequency as probabilities, on the dial's own scale.

    carrier_mhz   shape (n,), rising
    weight        shape (n,), adds up to 1
    joint         shape (half-widths, n): the same for each of half_width_khz
    half_width_khz, width_prior  shape (half-widths,), rising, and how likely each was before
    best          the likeliest curve: quieting in dB against offset every STEP_KHZ from 0
    best_mhz      the carrier that the likeliest curve belongs to
    """

    carrier_mhz: Floats
    weight: Floats
    joint: Floats
    half_width_khz: Floats
    width_prior: Floats
    best: Floats
    best_mhz: float

    @property
    def mean_mhz(self) -> float:
        """The mean, which is the answer with the least expected square error."""
        return float(self.carrier_mhz @ self.weight)

    @property
    def spread_khz(self) -> float:
        """Standard deviation, kHz."""
        return float(1e3 * np.sqrt(((self.carrier_mhz - self.mean_mhz) ** 2) @ self.weight))

    def interval_mhz(
        self, share: float = 0.95, kernel: Kernel | None = None
    ) -> tuple[float, float]:
        """The central interval that holds this share.

        kernel  the dial's error there, as dialerror.Local has it: it is taken out, and what is
                not known of it widens the interval
        """
        step_mhz = float(self.carrier_mhz[1] - self.carrier_mhz[0])
        weight, start_mhz = self.weight, float(self.carrier_mhz[0])
        if kernel is not None:
            weight, start_mhz = without_error(weight, start_mhz, step_mhz, kernel)
        edges_mhz = start_mhz + (np.arange(weight.size + 1) - 0.5) * step_mhz
        rising = np.concatenate([[0.0], np.cumsum(weight)])
        low, high = np.interp(((1 - share) / 2, (1 + share) / 2), rising / rising[-1], edges_mhz)
        return float(low), float(high)

    def width_likelihood(self, near_mhz: float, spread_khz: float) -> Floats:
        """How well each of HALF_WIDTHS_KHZ explains the stops, its prior taken out again.

        near_mhz, spread_khz  where the carrier is known to be, and how well
        """
        nearness = np.exp(-0.5 * (1e3 * (self.carrier_mhz - near_mhz) / spread_khz) ** 2)
        likely = (self.joint @ nearness) / self.width_prior
        all_widths = np.interp(HALF_WIDTHS_KHZ, self.half_width_khz, likely)
        return np.asarray(all_widths / max(float(all_widths.sum()), 1e-300))

    def curve_db(self, dial_mhz: Floats, centre_mhz: float) -> Floats:
        """Quieting of the likeliest curve, moved to a centre, at dial positions."""
        away_khz = 1e3 * np.abs(np.asarray(dial_mhz) - centre_mhz)
        return np.interp(away_khz, np.arange(self.best.size) * STEP_KHZ, self.best)


def posterior_of_box(
    log_like: Floats,
    around_mhz: float,
    offsets_khz: Floats,
    widths_khz: Floats,
    prior: Floats,
    curve_db: Callable[[Floats, float], Floats],
) -> Posterior:
    """What a box of unknown width explains, shape (widths, offsets), summed over the widths.

    log_like  log density of the readings, the prior included
    curve_db  the curve at offsets (rising, kHz) of a box that is so wide
    """
    joint = np.exp(log_like - log_like.max())
    joint /= joint.sum()
    width, place = np.unravel_index(int(joint.argmax()), joint.shape)
    return Posterior(
        around_mhz + offsets_khz / 1e3,
        joint.sum(axis=0),
        joint,
        widths_khz,
        prior,
        curve_db(np.arange(0.0, REACH_KHZ + STEP_KHZ, STEP_KHZ), float(widths_khz[width])),
        float(around_mhz + offsets_khz[place] / 1e3),
    )


def fit_carrier(
    readings: list[Reading],
    around_mhz: float,
    *,
    half_width_weights: Floats,
    reach_khz: float = 250.0,
    coarse: bool = False,
    scatter_khz: float = 0.0,
) -> Posterior:
    """The carrier that explains the readings, somewhere within reach_khz of a first guess.

    readings    the stops near the carrier, roar on either side included where there is any
    around_mhz  the first guess, on the dial's scale
    half_width_weights  how likely each of HALF_WIDTHS_KHZ is before a stop was read
    reach_khz   how far from the guess to look
    coarse      a smaller family, for what need not be known to kilohertz
    scatter_khz  how far a stop is from what was read off the dial, one standard deviation; where
                it is not 0 the smaller family is fine enough
    """
    coarse = coarse or scatter_khz > 0
    curves = family(coarse)
    half_width = curves.half_width_khz
    step_khz = 2 * GRID_KHZ if coarse else GRID_KHZ
    offsets_khz = np.arange(-reach_khz, reach_khz + step_khz, step_khz)
    dial_khz = np.array([1e3 * (r.dial_mhz - around_mhz) for r in readings])
    away_khz = np.minimum(np.abs(dial_khz[:, None] - offsets_khz), REACH_KHZ)
    places = np.rint(away_khz / STEP_KHZ).astype(np.intp)
    quietest_db = max((r.quieting_db for r in readings), default=30.0)
    prior = half_width_weights + 1e-6
    believed = np.log(prior[np.searchsorted(HALF_WIDTHS_KHZ, half_width)]).astype(np.float32)
    settings = [
        (quietest_db + above_db, plateau_db)
        for above_db in (ABOVE_DB[1::2] if coarse else ABOVE_DB)
        for plateau_db in (PLATEAU_DB[1:2] if coarse else PLATEAU_DB)
    ]
    every = np.arange(half_width.size)
    if coarse:
        carriers, likely = np.arange(offsets_khz.size), [every] * len(settings)
    else:
        carriers, likely = _worth_a_look(readings, places, curves, believed, settings)
    looked = np.flatnonzero(np.bincount(np.concatenate(likely)))
    more = np.tile(believed[looked], (carriers.size, 1))
    if scatter_khz == 0:
        quieting_db, loud_db = [r.quieting_db for r in readings], [r.loud_db for r in readings]
        more += loud_log_like(quieting_db, loud_db, places[:, carriers], curves, looked)
    parts = []
    for (floor_db, plateau_db), shapes in zip(settings, likely, strict=True):
        if shapes.size:
            like = _log_like(
                *(readings, places[:, carriers], curves, shapes, floor_db, plateau_db),
                scatter_khz,
            )
            parts.append((like + more[:, np.searchsorted(looked, shapes)], shapes, floor_db))
    return _posterior(parts, carriers, curves, prior, around_mhz, offsets_khz)


def _worth_a_look(
    readings: list[Reading],
    places: NDArray[np.intp],
    curves: Family,
    believed: NDArray[np.float32],
    settings: list[tuple[float, float]],
) -> tuple[NDArray[np.intp], list[NDArray[np.intp]]]:
    """The carriers, and for each setting the shapes, that can matter to the sum over all.

    Every shape is tried at every LOOK_EVERY-th carrier; what comes nowhere within LOOK_WITHIN
    of the best is left out.
    """
    every = np.arange(believed.size)
    looked = np.arange(0, places.shape[1], LOOK_EVERY)
    of_carrier, of_shape = [], []
    for setting in settings:
        like = _log_like(readings, places[:, looked], curves, every, *setting) + believed
        of_carrier.append(like.max(axis=1))
        of_shape.append(like.max(axis=0))
    least = float(np.max(of_shape)) - LOOK_WITHIN
    near = np.max(of_carrier, axis=0) >= least
    first, last = looked[near][0] - LOOK_EVERY, looked[near][-1] + LOOK_EVERY
    carriers = np.arange(max(0, first), min(places.shape[1], last + 1))
    return carriers, [np.flatnonzero(top >= least) for top in of_shape]


def _log_like(
    readings: list[Reading],
    places: NDArray[np.intp],
    curves: Family,
    shapes: NDArray[np.intp],
    floor_db: float,
    plateau_db: float,
    scatter_khz: float = 0.0,
) -> NDArray[np.float32]:
    """Log density of all readings, shape (carriers, shapes).

    places  shape (readings, carriers): the offset of each reading, in STEP_KHZ
    shapes  which curves

    The densities are multiplied, and one logarithm is taken of AT_ONCE of them.
    """
    if shapes.size > SHAPES_AT_ONCE:
        cuts = range(SHAPES_AT_ONCE, shapes.size, SHAPES_AT_ONCE)
        return np.concatenate(
            [
                _log_like(readings, places, curves, some, floor_db, plateau_db, scatter_khz)
                for some in np.split(shapes, cuts)
            ],
            axis=1,
        )
    if scatter_khz > 0:
        return _log_like_scattered(
            *(readings, places, curves.noise[:, shapes], floor_db, plateau_db), scatter_khz
        )
    used = np.flatnonzero(np.bincount(places.ravel()))
    row_of = np.searchsorted(used, places)
    noise = curves.noise[np.ix_(used, shapes)]
    whole = noise + np.float32(10 ** (-floor_db / 10))
    expected_db = -10 * np.log10(whole)
    scatter_db = ROAR_DB + CLIFF_PER_DB * np.abs(expected_db)
    np.clip(scatter_db, ROAR_DB, CLIFF_DB, out=scatter_db)
    steep_db = curves.slope[np.ix_(used, shapes)] * noise / whole
    scatter_db = np.hypot(scatter_db, np.float32(ASTRAY_KHZ) * steep_db)
    scatter_db[expected_db > floor_db - 2] = plateau_db
    sharp = np.float32(DEGREES**-0.5) / scatter_db
    blunt = scatter_db ** np.float32(2 / (DEGREES + 1))
    log_like = np.zeros((places.shape[1], shapes.size), np.float32)
    for start in range(0, len(readings), AT_ONCE):
        product = np.ones_like(log_like)
        for reading, rows in list(zip(readings, row_of, strict=True))[start : start + AT_ONCE]:
            gap = expected_db[rows]
            gap -= np.float32(reading.quieting_db)
            if reading.rough_db:
                wide_db = np.hypot(scatter_db[rows], np.float32(reading.rough_db))
                gap *= np.float32(DEGREES**-0.5) / wide_db
                product *= wide_db ** np.float32(2 / (DEGREES + 1))
            else:
                gap *= sharp[rows]
                product *= blunt[rows]
            gap *= gap
            np.minimum(gap, np.float32(STRAY), out=gap)
            gap += 1
            product *= gap
        log_like -= np.log(product)
    log_like *= np.float32((DEGREES + 1) / 2)
    return log_like


def _log_like_scattered(
    readings: list[Reading],
    places: NDArray[np.intp],
    noise: NDArray[np.float32],
    floor_db: float,
    plateau_db: float,
    scatter_khz: float,
) -> NDArray[np.float32]:
    """The same where each stop was made somewhere about its reading: the mean over where."""
    expected_db = -10 * np.log10(noise + np.float32(10 ** (-floor_db / 10)))
    scatter_db = np.clip(ROAR_DB + CLIFF_PER_DB * np.abs(expected_db), ROAR_DB, CLIFF_DB)
    scatter_db[expected_db > floor_db - 2] = plateau_db
    power = np.float32(-(DEGREES + 1) / 2)
    log_like = np.zeros((places.shape[1], noise.shape[1]), np.float32)
    for reading, rows in zip(readings, places, strict=True):
        wide_db = np.hypot(scatter_db, np.float32(reading.rough_db))
        gap = np.square((expected_db - np.float32(reading.quieting_db)) / wide_db)
        density = (1 + np.minimum(gap / np.float32(DEGREES), np.float32(STRAY))) ** power / wide_db
        log_like += np.log(blur(scatter_khz, STEP_KHZ, len(density))[rows] @ density)
    return log_like


def _posterior(
    parts: list[tuple[NDArray[np.float32], NDArray[np.intp], float]],
    carriers: NDArray[np.intp],
    curves: Family,
    prior: Floats,
    around_mhz: float,
    offsets_khz: Floats,
) -> Posterior:
    """The sum over all curves, and the likeliest one of them."""
    tops = [float(log_like.max()) for log_like, _, _ in parts]
    half_width = curves.half_width_khz
    widths = half_width[np.flatnonzero(np.diff(half_width, prepend=0.0))]
    width_of = np.searchsorted(widths, half_width)
    joint = np.zeros((widths.size, offsets_khz.size))
    for log_like, shapes, _ in parts:
        like = np.exp(log_like - np.float32(max(tops)))
        first = np.flatnonzero(np.diff(width_of[shapes], prepend=-1))
        of_width = np.add.reduceat(like, first, axis=1, dtype=np.float64)
        joint[np.ix_(width_of[shapes[first]], carriers)] += of_width.T
    joint /= joint.sum()
    log_like, shapes, floor_db = parts[int(np.argmax(tops))]
    row, column = np.unravel_index(int(np.argmax(log_like)), log_like.shape)
    curve = -10 * np.log10(
        curves.noise[:, shapes[column]].astype(np.float64) + 10 ** (-floor_db / 10)
    )
    place = carriers[row]
    return Posterior(
        around_mhz + offsets_khz / 1e3,
        joint.sum(axis=0),
        joint,
        widths,
        prior[np.searchsorted(HALF_WIDTHS_KHZ, widths)],
        curve,
        float(around_mhz + offsets_khz[place] / 1e3),
    )
