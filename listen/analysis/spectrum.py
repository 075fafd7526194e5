"""What frequencies a clip holds, and when: the one short-time spectrum every measure reads.

Conventions
-----------
Samples are full scale ±1.0, shape (n,).  Powers are mean squares: 0.5 is a full-scale sine.
A cell is one frequency over one frame; cells have shape (frames, frequencies).  Levels are
10·log10 of a power.

What it gives
-------------
mono       one row of samples out of a clip's channels, and how unlike they were
settled    the part of it after the radio has found its feet
mean_square  how strong a row is
cells      the power density of every cell, per hertz
lines      the fine spectrum of a whole row
second     that of the middle second of a row

It knows nothing of dials, consoles or people.
"""

from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from listen.analysis.ranks import median

Row = NDArray[np.float32]

FRAME_S = 0.0427  # 45 ms at 48 kHz, once rounded to a quick size: bins of 22 Hz
LIVE_WITHIN_DB = 20.0  # a channel further below the loudest one is taken as not connected
ANTIPHASE_DB = 20.0  # difference over sum: two channels of a station reach 0
LONGEST_MUTE_S = 0.6  # some sets mute for up to half a second after a step: common practice
AT_ONCE = 16  # frames transformed at once: few enough to stay in a processor's cache
TINY = 1e-20  # below the square of any 24-bit step: keeps a logarithm finite


def decibels(power: float | NDArray[np.float64]) -> NDArray[np.float64]:
    """10·log10 of a power, with digital silence at -200 dB."""
    return 10 * np.log10(np.maximum(power, TINY))


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """A short-time power spectrum.

    density   shape (frames, frequencies): mean square per hertz
    hz        shape (frequencies,), rising
    hop_s     time from a frame to the next, seconds
    """

    density: NDArray[np.float32]
    hz: NDArray[np.float64]
    hop_s: float

    def between(self, low_hz: float, high_hz: float) -> NDArray[np.float32]:
        """The cells of a band, shape (frames, frequencies of it)."""
        first, last = np.searchsorted(self.hz, (low_hz, high_hz))
        return self.density[:, first:last]

    @property
    def bin_hz(self) -> float:
        """Width of a cell, Hz."""
        return float(self.hz[1])


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """A fine power spectrum of one row.

    row     shape (n,): the samples it was made of
    power   shape (frequencies,): square of the Hann-windowed transform
    bin_hz  from a frequency to the next, Hz
    """

    row: Row
    power: NDArray[np.float32]
    bin_hz: float


@lru_cache(maxsize=6)
def hann(size: int) -> NDArray[np.float64]:
    """A symmetric Hann window; clips of one sweep share a few sizes."""
    window = np.hanning(size)
    window.setflags(write=False)
    return window


def mono(samples: NDArray[np.float32]) -> tuple[Row, float | None]:
    """One row out of shape (n, channels): the mean of the channels that are connected.

    The mean is the radio's own mono; a channel LIVE_WITHIN_DB below the loudest one has
    nothing plugged in and is left out.  The second value is the level of the difference
    between the first two live channels over their sum, dB: very low for mono, None where
    only one channel is live.  Where it is ANTIPHASE_DB or more the channels are one signal and
    its opposite, as of a balanced lead; the row is then the first of them alone.
    """
    if samples.shape[1] == 1:
        row = samples[:, 0]
        return row - np.float32(row.mean(dtype=np.float64)), None
    level_db = decibels(samples.var(axis=0, dtype=np.float64))
    live = np.flatnonzero(level_db > level_db.max() - LIVE_WITHIN_DB)
    row = samples[:, live].mean(axis=1, dtype=np.float32)
    row = row - np.float32(row.mean(dtype=np.float64))
    if live.size < 2:
        return row, None
    side = samples[:, live[0]] - samples[:, live[1]]
    total = samples[:, live[0]] + samples[:, live[1]]
    side_db = float(decibels(side.var(dtype=np.float64)) - decibels(total.var(dtype=np.float64)))
    if side_db >= ANTIPHASE_DB:
        row = samples[:, live[0]]
        row = row - np.float32(row.mean(dtype=np.float64))
    return row, side_db


def mean_square(row: Row) -> float:
    """Mean square of a row about its mean."""
    return max(0.0, float(np.square(row).mean()) - float(row.mean()) ** 2)


def settled(row: Row, sample_rate_hz: int) -> Row:
    """The samples after a mute that follows a step of the dial, if there is one.

    A start that lies 20 dB under the rest is cut, up to LONGEST_MUTE_S, with 50 ms more for
    the volume to come up; at least a quarter of the clip is kept.
    """
    block = max(1, int(0.01 * sample_rate_hz))
    count = row.size // block
    if count < 20:
        return row
    blocks = row[: count * block].reshape(count, block)
    power = np.einsum("ij,ij->i", blocks, blocks)
    loud = power > 0.01 * median(power[count // 2 :])
    first = int(np.argmax(loud)) if loud.any() else 0
    if first == 0:
        return row
    most = min(int(LONGEST_MUTE_S / 0.01), 3 * count // 4)
    return row[min(first + 5, most) * block :]


def cells(row: Row, sample_rate_hz: int) -> Cells:
    """The short-time spectrum, Hann windows of FRAME_S that overlap by half.

    A clip shorter than a frame is one frame, padded with zeros.  Scaled so that white noise
    of mean square p has density p / (sample_rate_hz / 2).
    """
    size = quick_size(round(FRAME_S * sample_rate_hz))
    size += size % 2
    if row.size < size:
        row = np.pad(row, (0, size - row.size))
    hop = size // 2
    window = hann(size + 1)[:-1]
    frames = np.lib.stride_tricks.sliding_window_view(row, size)[::hop]
    density = np.empty((len(frames), hop + 1), np.float32)
    for start in range(0, len(frames), AT_ONCE):
        some = slice(start, start + AT_ONCE)
        density[some] = _power(frames[some] * window)
    density *= np.float32(2 / (sample_rate_hz * np.square(window).sum()))
    hz = np.arange(hop + 1, dtype=np.float64) * (sample_rate_hz / size)
    return Cells(density, hz, hop / sample_rate_hz)


def lines(row: Row, sample_rate_hz: float, highest_hz: float | None = None) -> Lines:
    """The fine spectrum of a row under one Hann window, up to highest_hz or to the end."""
    size = quick_size(row.size)
    bin_hz = sample_rate_hz / size
    count = None if highest_hz is None else int(highest_hz / bin_hz) + 2
    return Lines(row, _power(row * hann(row.size), size, count), bin_hz)


def second(row: Row, sample_rate_hz: int) -> Lines:
    """The fine spectrum of a row's middle second, or of all of it if it is shorter."""
    kept = min(row.size, sample_rate_hz)
    start = (row.size - kept) // 2
    return lines(row[start : start + kept], sample_rate_hz)


@cache
def quick_size(size: int) -> int:
    """The next size that has no prime factor over 5: its transform is quick."""
    while True:
        rest = size
        for prime in (2, 3, 5):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return size
        size += 1


def _power(
    rows: NDArray[np.float64], size: int | None = None, count: int | None = None
) -> NDArray[np.float32]:
    """Squared size of the transform of each row, the first count frequencies of it.

    Worked out in double: numpy's transform is several times slower in single.
    """
    spectrum = np.fft.rfft(rows, size)[..., :count]
    return (np.square(spectrum.real) + np.square(spectrum.imag)).astype(np.float32)
