"""From the radio's socket to a recording: volume, hum, the sound card and its "help".

One question: what the computer records, given what the set plays.  Levels are dB re full
scale (a sine that just reaches ±1 has 0 dBFS), times seconds since the bench was switched
on, so that hum goes on from stop to stop.

Mains wanders by some 0.02 to 0.05 Hz about its nominal rate (common practice); a rectifier
hums at twice the mains rate with harmonics (textbook).
"""

from dataclasses import dataclass

import numpy as np
import scipy.fft
from numpy.typing import NDArray

FRAME_S = 0.032  # the noise suppressor's frame
SUPPRESS_MOST_DB = 18.0
AGC_TARGET = 0.1  # rms that automatic gain aims at
AGC_STEP_S = 0.01

Samples = NDArray[np.floating]


@dataclass(frozen=True, slots=True)
class LineIn:
    """The cable, the sound card and the operating system.

    sample_rate_hz       samples a second, a multiple of 100
    channels             1 for mono; more repeat left and right
    volume_db            level at which 75 kHz of deviation is recorded, dBFS
    volume_steps         (at_s, change_db): the knob was touched then
    ac_hz                corner of the output's coupling capacitor, Hz
    hum_dbfs             mains hum, dBFS; None: no hum at all
    buzz_dbfs            twice-mains hum with its harmonics, dBFS; None: none
    mains_hz             50 or 60
    mains_wander_hz      how far that wanders, Hz
    floor_dbfs           the card's own noise, rms over all frequencies, dBFS
    noise_suppression    whether the system takes steady noise (and tones) away
    agc                  whether the system turns the gain by itself
    dead_channel         a channel that records nothing but its floor
    """

    sample_rate_hz: int = 48_000
    channels: int = 1
    volume_db: float = -12.0
    volume_steps: tuple[tuple[float, float], ...] = ()
    ac_hz: float = 20.0
    hum_dbfs: float | None = -75.0
    buzz_dbfs: float | None = None
    mains_hz: float = 50.0
    mains_wander_hz: float = 0.03
    floor_dbfs: float = -85.0
    noise_suppression: bool = False
    agc: bool = False
    dead_channel: int | None = None


def record(
    line_in: LineIn, played: Samples, start_s: float, rng: np.random.Generator
) -> NDArray[np.float32]:
    """What is recorded of what the set plays.

    played   shape (n, 1) or (n, 2), in units of 75 kHz deviation
    start_s  when it begins, s
    """
    count = played.shape[0]
    t_s = start_s + np.arange(count) / line_in.sample_rate_hz
    level_db = line_in.volume_db + np.zeros(1)
    for at_s, change_db in line_in.volume_steps:
        level_db = level_db + change_db * (t_s >= at_s)
    left_right = played * (10 ** (level_db / 20))[:, np.newaxis]
    out = left_right[:, np.arange(line_in.channels) % played.shape[1]].astype(np.float32)
    if line_in.dead_channel is not None:
        out[:, line_in.dead_channel] = 0
    out += hum(line_in, t_s)[:, np.newaxis]
    floor = rng.standard_normal(out.shape, dtype=np.float32)
    floor *= np.float32(np.sqrt(0.5) * 10 ** (line_in.floor_dbfs / 20))
    out += floor
    np.clip(out, -1, 1, out=out)
    if line_in.noise_suppression:
        out = suppress_noise(out, line_in.sample_rate_hz)
    if line_in.agc:
        out = turn_gain(out, line_in.sample_rate_hz)
    return out


def hum(line_in: LineIn, t_s: NDArray[np.float64]) -> NDArray[np.float32]:
    """Mains hum with a little of its third harmonic, and a rectifier's buzz, shape of t_s."""
    out = np.zeros(t_s.size)
    if line_in.hum_dbfs is None and line_in.buzz_dbfs is None:
        return out.astype(np.float32)
    swing = line_in.mains_wander_hz * 37.0 / (2 * np.pi)
    cycles = line_in.mains_hz * t_s + swing * np.sin(2 * np.pi * t_s / 37.0)
    if line_in.hum_dbfs is not None:
        size = 10 ** (line_in.hum_dbfs / 20)
        out += size * (np.sin(2 * np.pi * cycles) + 0.15 * np.sin(6 * np.pi * cycles + 1))
    if line_in.buzz_dbfs is not None:
        size = 10 ** (line_in.buzz_dbfs / 20)
        for n in range(1, 9):
            out += size / n**1.5 * np.sin(4 * np.pi * n * cycles + 0.7 * n)
    return out.astype(np.float32)


def suppress_noise(recorded: NDArray[np.float32], sample_rate_hz: int) -> NDArray[np.float32]:
    """Spectral suppression as operating systems do to microphones: what is steady fades.

    Each band's floor is followed downward at once and upward over a second; what does not
    rise well above it is turned down by up to SUPPRESS_MOST_DB (common practice).
    """
    half = round(FRAME_S * sample_rate_hz / 2)
    window = np.sqrt(0.5 - 0.5 * np.cos(np.pi * (np.arange(2 * half) + 0.5) / half))[:, None]
    padded = np.pad(recorded, ((half, 2 * half), (0, 0)))
    out = np.zeros_like(padded)
    floor = None
    smoothed = None
    for begins in range(0, padded.shape[0] - 2 * half + 1, half):
        lines = scipy.fft.rfft(padded[begins : begins + 2 * half] * window, axis=0)
        power = np.abs(lines) ** 2 + 1e-12
        smoothed = power if smoothed is None else 0.7 * smoothed + 0.3 * power
        if floor is None:
            floor = smoothed * 0.05
        floor = np.minimum(smoothed, floor * 10 ** (1.2 * FRAME_S / 2))  # 12 dB a second upward
        gain = np.clip(1 - 2.5 * floor / smoothed, 10 ** (-SUPPRESS_MOST_DB / 20), 1)
        back = scipy.fft.irfft(lines * gain, 2 * half, axis=0) * window
        out[begins : begins + 2 * half] += back
    return np.asarray(out[half : half + recorded.shape[0]])


def turn_gain(recorded: NDArray[np.float32], sample_rate_hz: int) -> NDArray[np.float32]:
    """Automatic gain: down within 20 ms when loud, up over seconds when quiet, 20 dB at most."""
    block = max(1, round(AGC_STEP_S * sample_rate_hz))
    count = -(-recorded.shape[0] // block)
    padded = np.pad(recorded, ((0, count * block - recorded.shape[0]), (0, 0)))
    loud = np.sqrt((padded.reshape(count, -1) ** 2).mean(1)) + 1e-6
    gains = np.empty(count + 1)
    gain_db = 0.0
    for number, rms in enumerate(loud):
        gains[number] = gain_db
        wanted_db = float(np.clip(20 * np.log10(AGC_TARGET / rms), -20, 20))
        share = 0.4 if wanted_db < gain_db else 0.006
        gain_db += share * (wanted_db - gain_db)
    gains[count] = gain_db
    at = np.arange(recorded.shape[0]) / block
    turned = recorded * (10 ** (np.interp(at, np.arange(count + 1), gains) / 20))[:, None]
    return np.asarray(np.clip(turned, -1, 1).astype(np.float32))
