"""Repeatable randomness and band-limited waves, by time rather than by state.

Every programme of the bench can be asked for any stretch of time, in any order, and gives
the same sound for the same time.  So nothing here keeps a state: chance comes from a hash
of (seed, index), and a wave from its phase.

Times are in seconds, frequencies in Hz, phases in cycles.
"""

from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import numpy as np
import scipy.fft
from numpy.typing import NDArray

Wave = NDArray[np.float32]

AUDIO_TOP_HZ = 15_000.0  # no programme holds anything above this
TABLE_SIZE = 8192
HARMONIC_STEPS = (1, 2, 3, 4, 6, 8, 11, 16, 22, 32, 45, 64, 90, 128, 180, 256)


def chance(seed: int, index: int | NDArray[np.int64], salt: int = 0) -> NDArray[np.float64]:
    """Uniform numbers in [0, 1), shape of index (at least 1-D), the same for the same arguments.

    Source: the finaliser of SplitMix64 (Steele, Lea and Flood, OOPSLA 2014).
    """
    x = np.atleast_1d(np.asarray(index)).astype(np.int64).astype(np.uint64)
    key = (seed * 0x9E3779B97F4A7C15 + salt * 0xD1B54A32D192ED03) & 0xFFFFFFFFFFFFFFFF
    x = x * np.uint64(0xBF58476D1CE4E5B9) + np.uint64(key)
    x ^= x >> np.uint64(30)
    x *= np.uint64(0xBF58476D1CE4E5B9)
    x ^= x >> np.uint64(27)
    x *= np.uint64(0x94D049BB133111EB)
    x ^= x >> np.uint64(31)
    return np.asarray((x >> np.uint64(11)).astype(np.float64) * 2.0**-53)


def draw(seed: int, index: int, salt: int = 0) -> float:
    """One uniform number in [0, 1) for (seed, index, salt)."""
    return float(chance(seed, index, salt)[0])


def steps(
    start_s: float, count: int, rate_hz: int, step_s: float
) -> Iterator[tuple[int, slice, NDArray[np.float64]]]:
    """Cut a stretch of time into steps of equal length.

    Yields the step's number (counted from time 0), the samples that fall into it, and their
    time since the step began, seconds.
    """
    number = int(np.floor(start_s / step_s + 1e-9))
    first = 0
    while first < count:
        begins_s = number * step_s
        last = min(count, int(np.ceil((begins_s + step_s - start_s) * rate_hz - 1e-6)))
        if last > first:
            since_s = start_s - begins_s + np.arange(first, last) / rate_hz
            yield number, slice(first, last), np.maximum(since_s, 0.0)
            first = last
        number += 1


def from_table(table: Wave, cycles: NDArray[np.float64]) -> Wave:
    """Read one period of a wave, shape (size + 1,), at the given phases."""
    at = (cycles - np.floor(cycles)) * (table.size - 1)
    left = at.astype(np.int32)
    part = (at - left).astype(np.float32)
    low = table[left]
    return np.asarray(low + (table[left + 1] - low) * part)


def closed(period: NDArray[np.floating]) -> Wave:
    """One period with its first point repeated at the end, as from_table reads it."""
    return np.append(period, period[0]).astype(np.float32)


def from_harmonics(weights: NDArray[Any]) -> Wave:
    """One period of the wave whose n-th harmonic has weights[n], peak 1."""
    spectrum = np.zeros(TABLE_SIZE // 2 + 1, np.complex128)
    spectrum[: weights.size] = weights
    period = scipy.fft.irfft(spectrum, TABLE_SIZE)
    return closed(period / np.abs(period).max())


@lru_cache(maxsize=512)
def shape_table(shape: str, harmonics: int) -> Wave:
    """One period of "triangle", "saw", "soft", "sine" or "pulse:DUTY", cut at that harmonic."""
    n = np.arange(1, harmonics + 1)
    weights: NDArray[Any]
    if shape == "triangle":
        weights = np.where(n % 2 == 1, 1.0 / n**2, 0.0) + 0j
    elif shape == "saw":
        weights = 1j / n
    elif shape == "soft":
        weights = 1j / n**1.6
    elif shape == "sine":
        weights = np.where(n == 1, 1j, 0)
    else:
        duty = float(shape.removeprefix("pulse:"))
        weights = np.sin(np.pi * n * duty) / n + 0j
    return from_harmonics(np.concatenate([[0j], weights]))


def wave(shape: str, top_hz: float, cycles: NDArray[np.float64]) -> Wave:
    """A band-limited wave, peak about 1, whose highest fundamental in use is top_hz."""
    fitting = max(1, int(AUDIO_TOP_HZ / top_hz))
    harmonics = max(step for step in HARMONIC_STEPS if step <= fitting)
    return from_table(shape_table(shape, harmonics), cycles)


@lru_cache(maxsize=4)
def noise_table(colour: str) -> Wave:
    """A second or two of "white", "bright" or "hollow" noise, rms 0.33, peak within ±1.3."""
    rng = np.random.default_rng(20)
    spectrum = scipy.fft.rfft(rng.standard_normal(1 << 16))
    part = np.arange(spectrum.size) / spectrum.size
    tilt = {"white": np.ones_like(part), "bright": part**2, "hollow": np.exp(-(part**2) * 30)}
    period = scipy.fft.irfft(spectrum * tilt[colour])
    period *= 0.33 / period.std()
    return np.asarray(np.clip(period, -1.3, 1.3).astype(np.float32))


def noise(colour: str, start_s: float, samples: slice, rate_hz: int) -> Wave:
    """Noise of one colour at the absolute time of these samples."""
    table = noise_table(colour)
    first = round(start_s * rate_hz) + samples.start
    return np.asarray(table[(first + np.arange(samples.stop - samples.start)) % table.size])
