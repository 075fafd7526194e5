"""How far a dial is off, as a function of the place on it.

A digital dial is off by the same everywhere.  An analogue scale is off by one amount at its low
end and another at its high end, and in between in proportion.  What is known of it is a list of
such pairs with their probabilities, so that several raster steps may stay possible at once.

Conventions
-----------
A dial error is dial minus truth, kHz: a carrier fitted at 95.80 on a dial 20 kHz high is on
95.78.  Places are dial positions in MHz unless a name says true.

What it gives
-------------
Local      the error at one place: the likeliest raster step's mean and spread, and all of it
DialError  the error at every place
steady     one that is the same everywhere
shifted    one of a carrier that is heard elsewhere than it is
of_image   one of a carrier that is heard by its image
without_error  a place on the dial as a true one
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Kernel = tuple[Floats, Floats]  # errors in kHz, rising in even steps; their probabilities

CELL_KHZ = 1.0  # of a Local's kernel
AMBIGUOUS = 0.05  # what other raster steps may weigh before it is said
ROUNDS = 12  # of the search for the middle of the likeliest raster step
SAME_KHZ = 0.1  # and when it has been found


@dataclass(frozen=True, slots=True, eq=False)
class Local:
    """The error at one place, kHz.

    mean_khz, spread_khz  of the likeliest raster step: less than half a raster to either side
    kernel                all that is possible, other raster steps included
    elsewhere             how much of the probability is in those
    """

    mean_khz: float
    spread_khz: float
    kernel: Kernel
    elsewhere: float = 0.0

    @property
    def ambiguous(self) -> bool:
        """Whether another raster step may be the true one."""
        return self.elsewhere > AMBIGUOUS


@dataclass(frozen=True, slots=True, eq=False)
class DialError:
    """Dial minus truth, wherever on the dial.

    low_khz, high_khz  shape (n,): the errors at the two ends that are possible together
    weight             shape (n,): their probabilities, adds up to 1
    ends_mhz           where the two are
    raster_khz         spacing of the stations that told it
    stations           how many there were
    known_mhz          those of known frequency among them, true
    """

    low_khz: Floats
    high_khz: Floats
    weight: Floats
    ends_mhz: tuple[float, float]
    raster_khz: float
    stations: int = 0
    known_mhz: tuple[float, ...] = ()

    def at(self, mhz: float) -> Local:
        """The error at a place of the dial."""
        return _at(self, mhz)

    def true_mhz(self, dial_mhz: float) -> float:
        """What a place of the dial truly is, by the likeliest raster step."""
        return dial_mhz - self.at(dial_mhz).mean_khz / 1e3

    def dial_mhz(self, true_mhz: float) -> float:
        """Where the dial shows a true frequency."""
        shown_mhz = true_mhz
        for _ in range(3):  # the error changes by at most some percent of a shift
            shown_mhz = true_mhz + self.at(shown_mhz).mean_khz / 1e3
        return shown_mhz

    def between(self, first_mhz: float, second_mhz: float) -> Local:
        """The error at one place minus that at another: what a difference of readings is off.

        Only of the raster step that is the likeliest at both, since a step common to both
        cancels anyway.
        """
        apart_khz = self.khz_at(first_mhz) - self.khz_at(second_mhz)
        return _local(apart_khz, self.weight, self.raster_khz)

    @property
    def same_everywhere(self) -> bool:
        """Whether it cancels in every difference of readings."""
        return bool(np.array_equal(self.low_khz, self.high_khz))

    @property
    def image_khz(self) -> float:
        """How much higher an image's carrier is than the mixing alone says, kHz.

        A digital dial's error is its passband's, which stands off the dial.  An image comes to
        that from the oscillator's other side: a dial that shows what is heard directly too high
        shows an image too low by as much.  With that error taken out as of a direct carrier, an
        image is off by twice it.  A scale's error is its oscillator's, which shows both alike.
        """
        return 2 * self.at(self.ends_mhz[0]).mean_khz if self.same_everywhere else 0.0

    def khz_at(self, mhz: float) -> Floats:
        """Every error that is possible there, with the probabilities of `weight`."""
        low_mhz, high_mhz = self.ends_mhz
        along = (mhz - low_mhz) / (high_mhz - low_mhz)
        return np.asarray(self.low_khz + along * (self.high_khz - self.low_khz))


@lru_cache(maxsize=2048)  # asked of the same few hundred places again and again
def _at(error: DialError, mhz: float) -> Local:
    return _local(error.khz_at(mhz), error.weight, error.raster_khz)


def steady(mean_khz: float = 0.0, spread_khz: float = 0.0) -> DialError:
    """An error that is the same everywhere, normal about its mean."""
    away = np.arange(-4.0, 4.1, 0.1) if spread_khz > 0 else np.zeros(1)
    weight = np.exp(-0.5 * away**2)
    khz = mean_khz + away * spread_khz
    raster_khz = max(1000.0, 20 * spread_khz)
    return DialError(khz, khz, weight / weight.sum(), (87.5, 108.0), raster_khz)


def shifted(error: DialError, by_khz: float) -> DialError:
    """The same of a carrier that the dial shows elsewhere by so much, as a mirror."""
    return replace(error, low_khz=error.low_khz + by_khz, high_khz=error.high_khz + by_khz)


def of_image(error: DialError, by_khz: float) -> DialError:
    """The error with which a dial shows an image that the mixing alone puts so far off.

    A digital dial's own error has the other sign there, a scale's the same: see `image_khz`.
    """
    if not error.same_everywhere:
        return shifted(error, by_khz)
    return shifted(replace(error, low_khz=-error.low_khz, high_khz=-error.high_khz), by_khz)


def without_error(
    weight: Floats, first_mhz: float, step_mhz: float, kernel: Kernel
) -> tuple[Floats, float]:
    """Probabilities of a place on the dial as those of the true one: their difference's.

    weight               of places from first_mhz up, step_mhz apart
    kernel               the dial's error there, independent of them

    Gives the same for true places, and the first of these.
    """
    errors_khz, probability = kernel
    steps = -errors_khz / (1e3 * step_mhz)  # true is dial minus error
    below = np.floor(steps).astype(np.intp)
    first = int(below.min())
    above = steps - below  # the part that belongs to the next cell up
    size = int(np.ptp(below)) + 2
    spread = np.bincount(below - first, probability * (1 - above), size)
    spread += np.bincount(below - first + 1, probability * above, size)
    return np.convolve(weight, spread), first_mhz + first * step_mhz


def _local(khz: Floats, weight: Floats, raster_khz: float) -> Local:
    """Errors of some probability as what is known at one place."""
    cells = np.rint(khz / CELL_KHZ).astype(np.intp)
    first = int(cells.min())
    kernel: Floats = np.asarray(np.bincount(cells - first, weights=weight), dtype=np.float64)
    cell_khz: Floats = CELL_KHZ * (first + np.arange(kernel.size, dtype=np.float64))
    middle_khz = float(cell_khz[_blurred(kernel).argmax()])
    for _ in range(ROUNDS):
        step = np.abs(khz - middle_khz) <= raster_khz / 2
        inside = float(weight[step].sum())
        if inside <= 0:  # nothing but rounding about the middle
            break
        mean_khz = float(khz[step] @ weight[step]) / inside
        moved_khz, middle_khz = abs(mean_khz - middle_khz), mean_khz
        if moved_khz < SAME_KHZ:
            break
    step = np.abs(khz - middle_khz) <= raster_khz / 2
    own = weight[step] / weight[step].sum() if step.any() else weight
    around = khz[step] if step.any() else khz
    spread_khz = float(np.sqrt((around - middle_khz) ** 2 @ own))
    kernel = kernel / kernel.sum()
    elsewhere = 1 - float(weight[step].sum() / weight.sum())
    return Local(middle_khz, spread_khz, (cell_khz, kernel), max(0.0, elsewhere))


def _blurred(kernel: Floats) -> Floats:
    """Neighbouring cells together, so that a peak is no matter of rounding."""
    return np.asarray(np.convolve(kernel, np.ones(11) / 11, mode="same")[: kernel.size])
