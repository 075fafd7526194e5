"""Hum of the mains against buzz of the picture: combs of harmonics near 50 and 60 Hz.

Mains hum is a few harmonics of 50 or 60 Hz, the supply's ripple of 100 or 120 Hz.  A picture
carrier is buzz: many harmonics of the field rate, up to kilohertz.  The two rates lie so
close that only the high harmonics of a long clip tell them apart.

Conventions
-----------
Samples are full scale ±1.0, shape (n,).  Levels are dB re a full-scale sine, rates Hz.
A rate's uncertainty is what the clip's length allows; a mains rate wanders by 0.05 Hz.

What it gives
-------------
measure_comb  the comb of one clip: its rate, how many harmonics stand out, its share
FIELD_RATES   the field rates that pictures run at, with what each belongs to

Source of the rates: 525 lines, 4.5 MHz / 286 a line: 47 CFR 73.682(a)(6); 625 lines of
15 625 Hz: ITU-R BT.470; undivided fields of 262, 263, 312 and 313 lines: those line rates
divided (that consoles use them is common practice).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from listen.analysis.ranks import median
from listen.analysis.spectrum import TINY, decibels, lines

LINE_525_HZ = 4_500_000 / 286
FIELD_RATES = {
    "525 lines, interlaced": LINE_525_HZ / 262.5,
    "262 lines": LINE_525_HZ / 262,
    "263 lines": LINE_525_HZ / 263,
    "625 lines, interlaced": 15_625 / 312.5,
    "312 lines": 15_625 / 312,
    "313 lines": 15_625 / 313,
}
MAINS_WANDER_HZ = 0.06  # 50 or 60 Hz ± this is what a grid may run at: common practice
HIGHEST_HZ = 2_600.0
SLOW_HZ = 12_000.0  # samples a second that suffice up to there
LONGEST_S = 20.0
HARMONICS = 40
NUMBERS = np.arange(1, HARMONICS + 1)
NOMINAL_HZ = (50.0, 60.0)
RATES_HZ = np.arange(-0.3, 0.3001, 0.01)  # tried about a nominal one
TWICE = 2.0  # power of the second harmonic over the first from which it is ripple
FIRST = 4  # hum is in the harmonics below this, buzz in all of them
HUMS_DB = 15.0  # one low harmonic alone over the floor beside it
STANDS_OUT_DB = 9.0  # a harmonic over the floor beside it
BESIDE = (0.27, 0.38, 0.5, 0.62, 0.73)  # combs shifted by these parts of the rate are decoys
BUZZ_DB = 3.0  # median harmonic over that of the decoys; noise, speech and music reach 1


@dataclass(frozen=True, slots=True)
class Comb:
    """The harmonics of one rate near 50 or 60 Hz in one clip.

    rate_hz     the rate that fits them best; 0 where none stand out
    hum_dbfs    level of its first four harmonics together, dB re a full-scale sine
    harmonics   how many of the first HARMONICS stand out of the floor beside them
    buzz_db     how far the median harmonic stands over the best shifted comb's, dB
    share       0 to 1: the comb's part of the power from 40 Hz to HIGHEST_HZ
    sharp_hz    half-width of the rate's uncertainty, Hz
    hums        whether a low harmonic stands out by HUMS_DB, or two of the first four do
    twice       whether the second harmonic stands over the first: a rectifier's ripple
    """

    rate_hz: float
    hum_dbfs: float
    harmonics: int
    buzz_db: float
    share: float
    sharp_hz: float
    twice: bool = False
    hums: bool = False

    @property
    def rich(self) -> bool:
        """Whether the harmonics go on far enough for a picture's buzz."""
        return self.buzz_db > BUZZ_DB

    @property
    def nominal_hz(self) -> int:
        """50 or 60; 0 where no comb stands out."""
        return 0 if not self.rate_hz else 50 if self.rate_hz < 55 else 60

    def hum_hz(self, mains_hz: Sequence[float]) -> float | None:
        """The mains rate heard, or twice it, if this is the hum of one of these mains."""
        if not self.may_be_mains(mains_hz) or self.rich or self.harmonics < 2:
            return None
        return float(self.nominal_hz * (2 if self.twice else 1))

    @property
    def field_rates(self) -> tuple[str, ...]:
        """Which field rates the comb's rate fits."""
        reach_hz = max(self.sharp_hz, 0.012)
        return tuple(n for n, hz in FIELD_RATES.items() if abs(hz - self.rate_hz) <= reach_hz)

    def may_be_mains(self, mains_hz: Sequence[float]) -> bool:
        """Whether one of these mains could run at this rate."""
        reach_hz = MAINS_WANDER_HZ + self.sharp_hz
        return self.nominal_hz in mains_hz and abs(self.rate_hz - self.nominal_hz) <= reach_hz


NO_COMB = Comb(0.0, -200.0, 0, 0.0, 0.0, 0.0)


def measure_comb(row: NDArray[np.floating], sample_rate_hz: int) -> Comb:
    """The strongest comb near 50 or 60 Hz.

    row  shape (n,), at least a quarter of a second; at most its first LONGEST_S count
    """
    part = np.asarray(row[: int(LONGEST_S * sample_rate_hz)], np.float32)
    long_s = part.size / sample_rate_hz
    if long_s < 0.25:
        return NO_COMB
    step = max(1, int(sample_rate_hz // SLOW_HZ))
    slow = _slowed(part, step)
    fine = lines(slow, sample_rate_hz / step, HIGHEST_HZ)
    # Scaled so that it sums to twice the mean square.
    power = fine.power * np.float32(4 / (3 / 8 * slow.size) / slow.size)
    power /= _gain(step, fine.bin_hz / sample_rate_hz, power.size)
    half = max(1, round(1.5 / long_s / fine.bin_hz))  # a main lobe is 2/duration each side
    level_db = 10 * np.log10(np.maximum(power, np.float32(TINY)))
    lobe_db = _widest(level_db, half)
    combs = [_comb_at(power, level_db, lobe_db, fine.bin_hz, hz, long_s) for hz in NOMINAL_HZ]
    best = max(
        combs,
        key=lambda comb: (comb.harmonics >= 2, comb.buzz_db if comb.rich else 0.0, comb.share),
    )
    return best if best.rich or best.hums else NO_COMB


def _slowed(row: NDArray[np.float32], step: int) -> NDArray[np.float32]:
    """Every step-th sample of a row, each the mean under a bell over three of its steps.

    What folds back below HIGHEST_HZ is 30 dB down or more.
    """
    bell = _bell(step)
    count = (row.size - bell.size) // step + 1
    slow = np.zeros(count, np.float32)
    for first, weight in enumerate(bell):
        slow += weight * row[first : first + (count - 1) * step + 1 : step]
    return slow


def _bell(step: int) -> NDArray[np.float32]:
    """A Hann bell over three steps, that adds up to 1; for single steps it is nothing but 1."""
    if step < 2:
        return np.ones(1, np.float32)
    bell = np.hanning(3 * step + 1)[1:-1].astype(np.float32)
    bell /= bell.sum()
    return bell


@lru_cache(maxsize=4)
def _gain(step: int, turn: float, count: int) -> NDArray[np.float32]:
    """What a bell leaves of the power at the first count multiples of turn, cycles a sample."""
    bell = _bell(step)
    at = 2 * np.pi * turn * np.arange(count)
    middle = (bell.size - 1) / 2
    left = np.zeros(count)
    for place, weight in enumerate(bell):
        left += weight * np.cos(at * (place - middle))
    return np.square(left).astype(np.float32)


@lru_cache(maxsize=8)
def _grid(bin_hz: float, nominal_hz: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Where to look in a spectrum, as indices; clips of one sweep share it.

    The first, shape (shifts, rates, harmonics): the harmonics of every rate tried, those of
    the rate itself and of its decoys.  The second, shape (harmonics + 1, places): what lies
    around each harmonic of the nominal rate.
    """
    rates_hz = nominal_hz + RATES_HZ[:, None]
    shifts = np.array((0.0, *BESIDE))[:, None, None]
    places = np.rint(rates_hz * (NUMBERS + shifts) / bin_hz).astype(np.intp)
    gap = round(nominal_hz / 2 / bin_hz)
    around = np.rint(np.arange(1, HARMONICS + 2) * nominal_hz / bin_hz).astype(np.intp)
    return places, around[:, None] + np.arange(-gap, gap + 1)


def _comb_at(
    power: NDArray[np.float32],
    level_db: NDArray[np.float32],
    lobe_db: NDArray[np.float32],
    bin_hz: float,
    nominal_hz: float,
    long_s: float,
) -> Comb:
    """The best comb within 0.3 Hz of a nominal rate.

    level_db, lobe_db  the power, and the most of it within a main lobe, in dB
    """
    places, around = _grid(bin_hz, nominal_hz)
    floor_db = median(level_db[np.minimum(around, level_db.size - 1)])
    shift = np.array((0.0, *BESIDE))[:, None]
    beside_db = (1 - shift) * floor_db[:-1] + shift * floor_db[1:]
    over_db = lobe_db[places] - beside_db[:, None, :].astype(np.float32)
    high = over_db[:, :, FIRST - 1 :]  # odd and even ones both: a pitch of 100 Hz has no odd
    score = np.minimum(median(high[..., ::2]), median(high[..., 1::2])).max(axis=1)
    buzz_db = float(score[0] - score[1:].max())
    total_db = np.clip(over_db[0], 0, 30).sum(axis=1)
    near = np.flatnonzero(total_db >= total_db.max() - 1e-3)  # strong harmonics all count 30 dB
    best = int(np.rint(near.mean()))
    stands = over_db[0, best] > STANDS_OUT_DB
    half = max(1, round(1.5 / long_s / bin_hz))
    at = places[0, best]
    held = power[np.clip(at + np.arange(-half, half + 1)[:, None], 0, power.size - 1)].sum(axis=0)
    total = power[int(40 / bin_hz) :].sum(dtype=np.float64)
    highest = int(NUMBERS[stands].max()) if stands.any() else 1
    return Comb(
        rate_hz=_refined_hz(power, level_db, at[stands], NUMBERS[stands], half, bin_hz)
        or float(nominal_hz + RATES_HZ[best]),
        hum_dbfs=float(decibels(held[:FIRST].sum())),
        harmonics=int(stands.sum()),
        buzz_db=buzz_db,
        share=float(min(1.0, held[stands].sum() / max(total, 1e-20))),
        sharp_hz=float(0.5 / long_s / highest),
        hums=bool(stands[:FIRST].sum() >= 2 or over_db[0, best, :2].max() > HUMS_DB),
        twice=bool(held[1] > TWICE * held[0]),
    )


def _refined_hz(
    power: NDArray[np.float32],
    level_db: NDArray[np.float32],
    at: NDArray[np.intp],
    number: NDArray[np.intp],
    half: int,
    bin_hz: float,
) -> float:
    """The rate that fits the harmonics' own peaks best, Hz; 0 where there are none."""
    if not at.size:
        return 0.0
    around = at + np.arange(-half, half + 1)[:, None]
    top = np.minimum(at - half + np.argmax(power[around], axis=0), power.size - 2)
    low, mid, high = (level_db[top + k] for k in (-1, 0, 1))
    past = 0.5 * (low - high) / np.minimum(low - 2 * mid + high, -1e-3)
    peak_hz = (top + np.clip(past, -0.5, 0.5)) * bin_hz
    weight = power[top].astype(np.float64)
    return float((number * peak_hz * weight).sum() / (np.square(number) * weight).sum())


def _widest(level_db: NDArray[np.float32], half: int) -> NDArray[np.float32]:
    """The largest of each bin and its neighbours within half."""
    padded = np.pad(level_db, half, constant_values=-np.inf)
    widest = level_db
    for shift in range(2 * half + 1):
        widest = np.maximum(widest, padded[shift : shift + level_db.size])
    return widest
