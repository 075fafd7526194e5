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
import scipy.fft
from numpy.typing import NDArray

from listen.analysis.spectrum import TINY, decibels, hann

LOWEST_HZ = 80.0  # mains hum and its first overtone are no tones of a console's
HIGHEST_HZ = 15_000.0
LONGEST_FIT_S = 1.0  # a second gives 0.01 Hz: more would only find notes that changed
STILL_RAD = 1e-6  # a round that turns the clip's far end by less than this was the last
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
    samples = np.asarray(row, dtype=np.float64)
    # Time counts from the middle: the frequency's column is then nearly square to the others.
    t_s = (np.arange(samples.size) - (samples.size - 1) / 2) / sample_rate_hz
    duration_s = samples.size / sample_rate_hz
    omega = 2 * np.pi * near_hz
    limit = np.pi / duration_s  # half a bin a round keeps it on this peak
    cosine, sine, found = _three(samples, t_s, omega)
    for _ in range(rounds):
        slope = t_s * (found[1] * cosine - found[0] * sine)
        basis = np.stack([cosine, sine, np.ones_like(t_s), slope])
        step = float(np.linalg.solve(basis @ basis.T, basis @ samples)[3])
        omega += float(np.clip(step, -limit, limit))
        cosine, sine, found = _three(samples, t_s, omega)
        if abs(step) * duration_s < STILL_RAD:
            break
    cos_part, sin_part, offset = found
    rest = samples - cos_part * cosine - sin_part * sine - offset
    phase_rad = np.arctan2(-sin_part, cos_part) + omega * t_s[0]
    return Tone(
        float(omega / (2 * np.pi)),
        float(np.hypot(cos_part, sin_part)),
        float((phase_rad + np.pi) % (2 * np.pi) - np.pi),
        float(offset),
        float(np.mean(rest**2)),
    )


def _three(
    samples: NDArray[np.float64], t_s: NDArray[np.floating], omega: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Cosine and sine of a frequency, and the parts of both and of a constant that fit best."""
    turning = np.exp(1j * omega * t_s)
    cosine, sine = np.ascontiguousarray(turning.real), np.ascontiguousarray(turning.imag)
    basis = np.stack([cosine, sine, np.ones_like(t_s)])
    return cosine, sine, np.linalg.solve(basis @ basis.T, basis @ samples)


def strongest_tone(row: NDArray[np.floating], sample_rate_hz: int) -> Tone | None:
    """The strongest tone between LOWEST_HZ and HIGHEST_HZ, or None if none stands out.

    row  shape (n,); the middle LONGEST_FIT_S of it is fitted

    A tone stands out when its peak in a Hann-windowed spectrum lies STANDS_OUT_DB above the
    median of the 200 Hz on either side of it.
    """
    keep = min(row.size, int(LONGEST_FIT_S * sample_rate_hz))
    if keep < 0.1 * sample_rate_hz:
        return None
    start = (row.size - keep) // 2
    part = np.asarray(row[start : start + keep], dtype=np.float64)
    size = scipy.fft.next_fast_len(keep, real=True)
    power = np.abs(scipy.fft.rfft(part * hann(keep), size)) ** 2
    bin_hz = sample_rate_hz / size
    first = int(np.ceil(LOWEST_HZ / bin_hz))
    last = int(min(HIGHEST_HZ, 0.47 * sample_rate_hz) / bin_hz)
    peak = first + int(np.argmax(power[first:last]))
    around = int(200 / bin_hz)
    nearby = np.median(power[max(first, peak - around) : peak + around + 1])
    if power[peak] <= 0 or decibels(power[peak]) - decibels(nearby) < STANDS_OUT_DB:
        return None
    low, mid, high = np.log(np.maximum(power[peak - 1 : peak + 2], 1e-300))
    bend = low - 2 * mid + high
    between = 0.5 * (low - high) / bend if bend < 0 else 0.0
    # From so near a steady tone needs two rounds; what needs more is no steady tone.
    return fit_sine(part, sample_rate_hz, (peak + between) * bin_hz, rounds=3)
