"""How much hiss there is now, and how much there has been for a moment.

The fast meter reads the floor between the programme's lines over the last WINDOW_S, every
TICK_S: it moves while the hand moves.  The steady one takes the calm part of the last STEADY_S,
so that a loud passage does not look like a lost carrier, and carries the words.

A window that is not whole gives no reading: one over a gap that was told of, and one of which a
part is digital silence, as a sound system fills in what it has lost.  Its floor would be far lower
or higher than the radio's.  Where all of it is silent the reading says so.

Conventions
-----------
Samples are float32, shape (n, channels), full scale ±1.0.  Floors are dB of mean square per
hertz in the highest of hiss.BANDS_HZ that the rate reaches, as the analysis has them, but from
shorter frames.  Times are seconds of sound since the meter began.

It knows nothing of dials, carriers or channels.
"""

import math
from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from listen.analysis.hiss import BANDS_HZ, LOW_CELLS
from listen.analysis.spectrum import decibels, hann, mono

Samples = NDArray[np.float32]

TICK_S = 0.025
WINDOW_S = 0.07
FRAME_S = 0.0213  # 1024 samples at 48,000 a second
STEADY_S = 0.7
MEMORY_S = 3.0
CALM = 0.3  # quantile of the fast floors that is their calm part
SILENT_DBFS = -90.0  # nothing connected, or the radio mutes
CLIPS_AT = 0.995
HOLE_S = 0.002  # of samples that are all the same, among others: no radio's hiss stands so still
HOLE_DBFS = -75.0  # in a fainter sound few steps of a sample may be all that there is


@dataclass(frozen=True, slots=True)
class Fast:
    """The last WINDOW_S.

    t_s         when it ends
    hiss_db     its floor, dB per hertz; nan where it is silent
    level_dbfs  its level, dB re a full-scale sine
    clips       whether samples stand at full scale
    """

    t_s: float
    hiss_db: float
    level_dbfs: float
    clips: bool

    @property
    def silent(self) -> bool:
        """Whether there is no sound at all."""
        return self.level_dbfs < SILENT_DBFS


class Meter:
    """Blocks in, a reading every TICK_S of sound out.

    rate_hz  samples a second
    """

    def __init__(self, rate_hz: int) -> None:
        self.rate_hz = rate_hz
        self._tick = max(1, round(TICK_S * rate_hz))
        self._window = max(2, round(WINDOW_S * rate_hz))
        self._hole = max(2, round(HOLE_S * rate_hz))
        self._frame = 2 * max(1, round(FRAME_S * rate_hz / 2))
        top_hz = rate_hz / 2
        self._band_hz = next((b for b in BANDS_HZ if b[1] < top_hz), BANDS_HZ[-1])
        first, last = (round(hz * self._frame / rate_hz) for hz in self._band_hz)
        self._bins = slice(first, last)
        shape = hann(self._frame + 1)[:-1]
        self._shape = shape
        self._scale = 2 / (rate_hz * float(np.square(shape, dtype=np.float64).sum()))
        self._recent: Samples = np.zeros((0, 1), np.float32)
        self._fed = 0  # samples so far
        self._next = self._window  # sample at which the next reading ends

    @property
    def now_s(self) -> float:
        """Seconds of sound fed so far."""
        return self._fed / self.rate_hz

    def feed(self, samples: Samples) -> list[Fast]:
        """Take a block, shape (n, channels), and give the readings that it completes."""
        if self._recent.shape[1] != samples.shape[1]:
            self._recent = np.zeros((0, samples.shape[1]), np.float32)
        self._recent = np.concatenate([self._recent, samples])
        self._fed += samples.shape[0]
        found = []
        while self._next <= self._fed:
            end = self._recent.shape[0] - (self._fed - self._next)
            if end >= self._window:
                fast = self._read(self._recent[end - self._window : end])
                found += [] if fast is None else [fast]
            self._next += self._tick
        self._recent = self._recent[-(self._window + self._tick) :]
        return found

    def gap(self) -> None:
        """Some sound before the next block is missing: no window goes over it."""
        self._recent = self._recent[:0]

    def _read(self, window: Samples) -> Fast | None:
        """The reading of a window; None where it has a hole."""
        row, _ = mono(window)
        level_dbfs = float(decibels(2 * row.var(dtype=np.float64)))
        t_s = self._next / self.rate_hz
        if level_dbfs < SILENT_DBFS:
            return Fast(t_s, math.nan, level_dbfs, False)
        clips = bool(np.abs(window).max() > CLIPS_AT)
        if not clips and level_dbfs > HOLE_DBFS and _longest_still(row) >= self._hole:
            return None
        hop = self._frame // 2
        frames = np.lib.stride_tricks.sliding_window_view(row, self._frame)[::hop] * self._shape
        lines = np.fft.rfft(frames, axis=1)[:, self._bins]
        density = np.square(lines.real) + np.square(lines.imag)
        rank = int(LOW_CELLS * density.shape[1])
        floors = np.partition(density, rank, axis=1)[:, rank] * (
            self._scale / -math.log1p(-LOW_CELLS)
        )
        hiss_db = float(decibels(floors.astype(np.float64)).mean())
        return Fast(t_s, hiss_db, level_dbfs, clips)


def _longest_still(row: NDArray[np.float32]) -> int:
    """The longest run of samples that do not differ."""
    moves = np.flatnonzero(np.diff(row))
    return int(np.diff(moves, prepend=-1, append=row.size - 1).max())


class Steady:
    """The calm floor of any moments among the last MEMORY_S."""

    def __init__(self) -> None:
        self._last: deque[tuple[float, float]] = deque()

    def forget(self) -> None:
        """Begin anew: the dial was turned."""
        self._last.clear()

    def saw(self, fast: Fast) -> None:
        """Take a reading; a silent one counts for nothing."""
        if not fast.silent:
            self._last.append((fast.t_s, fast.hiss_db))
        while self._last and self._last[0][0] < fast.t_s - MEMORY_S:
            self._last.popleft()

    def hiss_db(self, until_s: float, span_s: float | None = None) -> float | None:
        """The calm floor of the span_s (None: STEADY_S) that end there.

        None where too little was heard.
        """
        span_s = span_s or STEADY_S
        span = sorted(db for t_s, db in self._last if until_s - span_s < t_s <= until_s)
        if len(span) < span_s / TICK_S / 3:
            return None
        return span[int(CALM * len(span))]
