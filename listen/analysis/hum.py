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

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from listen.analysis.spectrum import decibels, hann

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
LONGEST_S = 20.0
HARMONICS = 40
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
    part = row[: int(LONGEST_S * sample_rate_hz)]
    duration_s = part.size / sample_rate_hz
    if duration_s < 0.25:
        return NO_COMB
    size = scipy.fft.next_fast_len(part.size, real=True)
    window = hann(part.size)
    line = scipy.fft.rfft(np.asarray(part, np.float32) * window, size)
    bin_hz = sample_rate_hz / size
    top = min(int(HIGHEST_HZ / bin_hz), line.size - 2)
    power = (np.abs(line[: top + 1]) ** 2).astype(np.float64)
    power *= 4 / np.square(window, dtype=np.float64).sum() / part.size  # sums to twice mean square
    best = max(
        (_comb_at(power, bin_hz, nominal_hz, duration_s) for nominal_hz in (50.0, 60.0)),
        key=lambda comb: (comb.harmonics >= 2, comb.buzz_db if comb.rich else 0.0, comb.share),
    )
    return best if best.rich or best.hums else NO_COMB


def _comb_at(power: NDArray[np.float64], bin_hz: float, nominal_hz: float, long_s: float) -> Comb:
    """The best comb within 0.3 Hz of a nominal rate."""
    count = min(HARMONICS, int(power.size * bin_hz / (nominal_hz + 0.5)) - 2)
    number = np.arange(1, count + 1)
    half = max(1, round(1.5 / long_s / bin_hz))  # the window's main lobe is 2/duration each side
    lobe_peak = _widest(power, half)
    gap = round(nominal_hz / 2 / bin_hz)
    around = np.rint(np.arange(1, count + 2) * nominal_hz / bin_hz).astype(int)
    beside = np.clip(around[:, None] + np.arange(-gap, gap + 1), 0, power.size - 1)
    floor_db = decibels(np.median(power[beside], axis=1))
    rates_hz = nominal_hz + np.arange(-0.3, 0.3001, 0.01)
    score, over_db = [], []
    for shift in (0.0, *BESIDE):
        places = np.rint(rates_hz[:, None] * (number + shift) / bin_hz).astype(int)
        beside_db = (1 - shift) * floor_db[:-1] + shift * floor_db[1:]
        over_db.append(decibels(lobe_peak[places]) - beside_db)
        high = over_db[-1][:, FIRST - 1 :]  # odd and even ones both: a pitch of 100 Hz has no odd
        score.append(np.minimum(np.median(high[:, ::2], axis=1), np.median(high[:, 1::2], axis=1)))
    total_db = np.clip(over_db[0], 0, 30).sum(axis=1)
    near = np.flatnonzero(total_db >= total_db.max() - 1e-6)  # strong harmonics all count 30 dB
    best = int(np.rint(near.mean()))
    buzz_db = float(np.max(score[0]) - np.max(np.stack(score[1:])))
    stands = over_db[0][best] > STANDS_OUT_DB
    at = np.rint(rates_hz[best] * number / bin_hz).astype(int)
    held = np.stack([power[np.clip(at + k, 0, power.size - 1)] for k in range(-half, half + 1)])
    held = held.sum(axis=0)
    total = power[int(40 / bin_hz) :].sum()
    highest = int(number[stands].max()) if stands.any() else 1
    return Comb(
        rate_hz=_refined_hz(power, at[stands], number[stands], half, bin_hz)
        or float(rates_hz[best]),
        hum_dbfs=float(decibels(held[:FIRST].sum())),
        harmonics=int(stands.sum()),
        buzz_db=buzz_db,
        share=float(min(1.0, held[stands].sum() / max(total, 1e-20))),
        sharp_hz=float(0.5 / long_s / highest),
        hums=bool(stands[:FIRST].sum() >= 2 or over_db[0][best][:2].max() > HUMS_DB),
        twice=bool(held[1] > TWICE * held[0]),
    )


def _refined_hz(
    power: NDArray[np.float64],
    at: NDArray[np.intp],
    number: NDArray[np.intp],
    half: int,
    bin_hz: float,
) -> float:
    """The rate that fits the harmonics' own peaks best, Hz; 0 where there are none."""
    top = np.array([k - half + int(np.argmax(power[k - half : k + half + 1])) for k in at], np.intp)
    if not top.size:
        return 0.0
    low, mid, high = (decibels(power[top + k]) for k in (-1, 0, 1))
    past = 0.5 * (low - high) / np.minimum(low - 2 * mid + high, -1e-3)
    peak_hz = (top + np.clip(past, -0.5, 0.5)) * bin_hz
    return float((number * peak_hz * power[top]).sum() / (np.square(number) * power[top]).sum())


def _widest(power: NDArray[np.float64], half: int) -> NDArray[np.float64]:
    """The largest of each bin and its neighbours within half."""
    padded = np.pad(power, half)
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1)
    return np.asarray(windows.max(axis=1))
