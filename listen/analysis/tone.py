"""The strongest steady tone of a clip: its frequency, its level, and all that is not it.

Conventions
-----------
Samples are full scale ±1.0, shape (n,).  SINAD has two conventions in print and they differ
by 3 dB at 0 dB: `sinad_db` is (S+N+D)/(N+D), which a radio's data sheet gives (12 dB SINAD);
`signal_to_rest_db` is S/(N+D), which IEEE 1057 and 1241 give for digitizers.

What it gives
-------------
fit_sine        the four-parameter least-squares sine fit
strongest_tone  the tone that stands out of a clip, or None where none does

Source: IEEE 1057, four-parameter fit; P. Händel, "Properties of the IEEE-STD-1057
four-parameter sine wave fit algorithm", IEEE Trans. Instrum. Meas. 49(6), 2000.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from listen.analysis.ranks import median
from listen.analysis.spectrum import TINY, Lines, decibels, second

Floats = NDArray[np.float64]

LOWEST_HZ = 80.0  # mains hum and its first overtone are no tones of a console's
HIGHEST_HZ = 15_000.0
STILL_RAD = 1e-6  # a round that turns the clip's far end by less than this was the last
ROUNDING = 1e-12  # of the strongest line's power: what float32 leaves of nothing
STANDS_OUT_DB = 16.0  # over the median of its surroundings; noise alone reaches 12 in 1 s


@dataclass(frozen=True, slots=True)
class Tone:
    """A sine fitted to a clip by least squares.

    tone_hz    its frequency, Hz
    amplitude  its peak, full scale 1.0
    phase_rad  its phase at the first sample, of a cosine
    offset     the constant beside it
    rest       mean square of what is left when both are taken away
    """

    tone_hz: float
    amplitude: float
    phase_rad: float
    offset: float
    rest: float

    @property
    def tone_dbfs(self) -> float:
        """Level, dB re a full-scale sine."""
        return float(decibels(np.float64(self.amplitude**2)))

    @property
    def sinad_db(self) -> float:
        """(S+N+D)/(N+D), dB."""
        return float(decibels(np.float64(1 + self.amplitude**2 / 2 / max(self.rest, TINY))))

    @property
    def signal_to_rest_db(self) -> float:
        """S/(N+D), dB."""
        return float(decibels(np.float64(self.amplitude**2 / 2 / max(self.rest, TINY))))


def fit_sine(
    row: NDArray[np.floating], sample_rate_hz: float, near_hz: float, rounds: int = 12
) -> Tone:
    """The sine that leaves the least mean square behind.

    row             shape (n,), more than four samples
    sample_rate_hz  samples a second
    near_hz         a first guess, within about half of 1/duration of the truth
    rounds          at most so many

    Solves for cosine, sine, offset and frequency at once and repeats until the frequency
    stands still (IEEE 1057, four-parameter algorithm).
    """
    split = _split(np.asarray(row, dtype=np.float64), sample_rate_hz)
    duration_s = split.count / sample_rate_hz
    omega = 2 * np.pi * near_hz
    limit = np.pi / duration_s  # half a bin a round keeps it on this peak
    fitted = _three(split, omega)
    for _ in range(rounds):
        step = _step(split, fitted)
        omega += float(np.clip(step, -limit, limit))
        fitted = _three(split, omega)
        if abs(step) * duration_s < STILL_RAD:
            break
    cos_part, sin_part, offset = fitted.parts
    phase_rad = np.arctan2(-sin_part, cos_part) - omega * (split.count - 1) / 2 / sample_rate_hz
    return Tone(
        float(omega / (2 * np.pi)),
        float(np.hypot(cos_part, sin_part)),
        float((phase_rad + np.pi) % (2 * np.pi) - np.pi),
        float(offset),
        max(0.0, split.power - float(fitted.parts @ fitted.against)) / split.count,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Split:
    """Samples x at times t, laid out in rows: t is a row's time and a column's, added.

    A sine of the sum is a product of a row's and a column's, so that a sum over all samples
    is a small product of matrices.  Time counts from the middle: the frequency's column is
    then nearly square to the others.

    rows, row_s, column_s  shape (r, c), (r,) and (c,)
    tail, tail_s           the few samples after the last whole row, and their times
    count, total, power    number, sum and sum of squares of all samples
    """

    rows: Floats
    row_s: Floats
    column_s: Floats
    tail: Floats
    tail_s: Floats
    count: int
    total: float
    power: float


@dataclass(frozen=True, slots=True, eq=False)
class _Fitted:
    """The three-parameter fit at a frequency, with the sums that it and the next step need.

    parts     those of cosine, sine and constant, shape (3,)
    normal    products of these three with each other, shape (3, 3)
    against   products of these three with the samples, shape (3,)
    once      sums of t·exp(i·omega·t)
    twice     sums of 1, t and t² times exp(2i·omega·t)
    later     sum of x·t·exp(i·omega·t)
    """

    parts: Floats
    normal: Floats
    against: Floats
    once: complex
    twice: tuple[complex, complex, complex]
    later: complex


def _split(samples: Floats, sample_rate_hz: float) -> _Split:
    """Samples of shape (n,) laid out in about as many rows as columns."""
    columns = max(1, int(np.sqrt(samples.size)))
    whole = samples.size - samples.size % columns
    middle = (samples.size - 1) / 2
    number = np.arange(samples.size, dtype=np.float64)
    return _Split(
        samples[:whole].reshape(-1, columns),
        (number[:whole:columns] - middle) / sample_rate_hz,
        number[:columns] / sample_rate_hz,
        samples[whole:],
        (number[whole:] - middle) / sample_rate_hz,
        samples.size,
        float(samples.sum()),
        float(np.square(samples).sum()),
    )


def _turning(split: _Split, omega: float) -> tuple[complex, complex, complex]:
    """Sums over the samples' times of 1, t and t² times exp(i·omega·t)."""
    row, column, tail = (
        [np.exp(1j * omega * t_s) * t_s**power for power in range(3)]
        for t_s in (split.row_s, split.column_s, split.tail_s)
    )
    r, c, t = ([complex(part.sum()) for part in parts] for parts in (row, column, tail))
    return (
        r[0] * c[0] + t[0],
        r[1] * c[0] + r[0] * c[1] + t[1],
        r[2] * c[0] + 2 * r[1] * c[1] + r[0] * c[2] + t[2],
    )


def _three(split: _Split, omega: float) -> _Fitted:
    """Cosine, sine and constant of a frequency that fit best."""
    once, twice = _turning(split, omega), _turning(split, 2 * omega)
    row, column, tail = (
        np.exp(1j * omega * t_s) for t_s in (split.row_s, split.column_s, split.tail_s)
    )
    delayed = column * split.column_s
    sums = split.rows @ np.stack([column.real, column.imag, delayed.real, delayed.imag], axis=1)
    here, later = sums[:, 0] + 1j * sums[:, 1], sums[:, 2] + 1j * sums[:, 3]
    tail_parts = split.tail * tail
    found = complex(row @ here + tail_parts.sum())
    against = np.array([found.real, found.imag, split.total])
    normal = np.array(
        [
            [(split.count + twice[0].real) / 2, twice[0].imag / 2, once[0].real],
            [twice[0].imag / 2, (split.count - twice[0].real) / 2, once[0].imag],
            [once[0].real, once[0].imag, split.count],
        ]
    )
    return _Fitted(
        np.linalg.solve(normal, against),
        normal,
        against,
        once[1],
        twice,
        complex((row * split.row_s) @ here + row @ later + tail_parts @ split.tail_s),
    )


def _step(split: _Split, fitted: _Fitted) -> float:
    """How far the frequency is off, rad/s, when it is fitted beside the other three."""
    cos_part, sin_part, _ = fitted.parts
    _, first, bent = fitted.twice
    squares = float(
        (np.square(split.row_s).sum() * split.column_s.size)
        + 2 * split.row_s.sum() * split.column_s.sum()
        + np.square(split.column_s).sum() * split.row_s.size
        + np.square(split.tail_s).sum()
    )
    # The column is t·(sin_part·cos - cos_part·sin); t itself adds up to nothing.
    column = np.array(
        [
            (sin_part * first.real - cos_part * first.imag) / 2,
            (sin_part * first.imag + cos_part * first.real) / 2,
            sin_part * fitted.once.real - cos_part * fitted.once.imag,
        ]
    )
    own = (
        sin_part**2 * (squares + bent.real) / 2
        - sin_part * cos_part * bent.imag
        + cos_part**2 * (squares - bent.real) / 2
    )
    normal = np.block([[fitted.normal, column[:, None]], [column[None, :], np.array([[own]])]])
    against = sin_part * fitted.later.real - cos_part * fitted.later.imag
    return float(np.linalg.solve(normal, np.append(fitted.against, against))[3])


def strongest_tone(
    row: NDArray[np.floating], sample_rate_hz: int, fine: Lines | None = None
) -> Tone | None:
    """The strongest tone between LOWEST_HZ and HIGHEST_HZ, or None if none stands out.

    row   shape (n,); the middle second of it is fitted: 0.01 Hz, and a longer piece would
          only find notes that changed
    fine  spectrum.second of the row, where it is at hand

    A tone stands out when its peak in a Hann-windowed spectrum lies STANDS_OUT_DB above the
    median of the 200 Hz on either side of it.
    """
    if row.size < 0.1 * sample_rate_hz:
        return None
    fine = fine or second(np.asarray(row, np.float32), sample_rate_hz)
    power, bin_hz = fine.power, fine.bin_hz
    first = int(np.ceil(LOWEST_HZ / bin_hz))
    last = int(min(HIGHEST_HZ, 0.47 * sample_rate_hz) / bin_hz)
    peak = first + int(np.argmax(power[first:last]))
    around = int(200 / bin_hz)
    nearby = median(power[max(first, peak - around) : peak + around + 1])
    if power[peak] <= ROUNDING * power.max():  # nothing but a constant
        return None
    if decibels(power[peak]) - decibels(nearby) < STANDS_OUT_DB:
        return None
    low, mid, high = np.log(np.maximum(power[peak - 1 : peak + 2], TINY)).tolist()
    bend = low - 2 * mid + high
    between = 0.5 * (low - high) / bend if bend < 0 else 0.0
    # From so near a steady tone needs two rounds; what needs more is no steady tone.
    return fit_sine(fine.row, sample_rate_hz, (peak + between) * bin_hz, rounds=3)
