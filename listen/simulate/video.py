"""The picture signal, as far as an FM radio notices it.

A game's picture repeats field after field, so its video is periodic at the field rate (at
half of it where fields interlace) and is kept here as one period, cut at TOP_HZ, which is
more than an FM radio's passband.  Two scenes take turns slowly.

Levels are of negative modulation: sync tips at 1, blanking 0.75, white 0.125 of the peak
carrier (47 CFR 73.682(a)(12)-(13), 73.699 figure 5: 75 % blanking, 12.5 % reference white).
Lines a field: 262, 263, 312 or 313 where a console does not interlace (common practice),
262.5 and 312.5 where it does.
"""

from functools import lru_cache

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from listen.simulate.waves import AUDIO_TOP_HZ, Wave, chance, closed, draw, from_table

TOP_HZ = 230_000.0
POINTS_A_LINE = 64
TABLE_POINTS = 1 << 16
LINES_A_FIELD = {60.054: 262, 59.940: 262.5, 59.826: 263, 50.080: 312, 50.0: 312.5, 49.920: 313}
SYNC, BLANKING, WHITE = 1.0, 0.75, 0.125


def lines_a_field(field_hz: float) -> float:
    """Lines of one field at that field rate; half a line more where fields interlace."""
    nearest = min(LINES_A_FIELD, key=lambda known_hz: abs(known_hz - field_hz))
    return LINES_A_FIELD[nearest]


def period_s(field_hz: float) -> float:
    """The time after which the picture signal repeats: one field, or two interlaced ones."""
    return (1 if lines_a_field(field_hz) % 1 == 0 else 2) / field_hz


def _luminance(seed: int, scene: int, lines: int, across: int) -> NDArray[np.float64]:
    """A game's screen, shape (lines, across), 0 black to 1 white: sky, ground, tiles, letters."""
    rows, columns = np.arange(lines)[:, None], np.arange(across)[None, :]
    horizon = lines * (0.4 + 0.4 * draw(seed, scene, 21))
    screen = np.where(rows < horizon, draw(seed, scene, 22), draw(seed, scene, 23)) * 0.8
    screen = np.broadcast_to(screen, (lines, across)).copy()
    tile = chance(seed, ((rows // 16) * 97 + columns // 4).ravel(), 24 + scene)
    tile = tile.reshape(lines, across)
    screen[tile > 0.7] = 1 - screen[tile > 0.7]
    dots = chance(seed, (rows * 131 + columns).ravel(), 30 + scene).reshape(lines, across)
    text = (rows % 24 < 8) & (rows < lines * 0.2)
    return np.where(text & (dots > 0.5), 1.0, screen)


@lru_cache(maxsize=32)
def video_table(seed: int, scene: int, field_hz: float) -> Wave:
    """One period of the picture carrier's envelope, sync tips at 1; see from_table."""
    fields = round(period_s(field_hz) * field_hz)
    lines = round(lines_a_field(field_hz) * fields)
    level = np.full((lines, POINTS_A_LINE), BLANKING)
    level[:, 11:63] = BLANKING - (BLANKING - WHITE) * _luminance(seed, scene, lines, 52)
    wave = level.ravel()
    sync = np.tile(np.arange(POINTS_A_LINE) < 5, lines)
    for field in range(fields):
        begins = round(field * lines * POINTS_A_LINE / fields)
        wave[begins : begins + 20 * POINTS_A_LINE] = BLANKING  # the field's blanking
        broad = slice(begins + 3 * POINTS_A_LINE, begins + 6 * POINTS_A_LINE)
        sync[broad] = ~sync[broad]
    wave[sync] = SYNC
    spectrum = scipy.fft.rfft(wave)
    top = int(TOP_HZ * period_s(field_hz))
    hz = np.arange(top) / period_s(field_hz)
    kept = spectrum[:top] * np.exp(-((hz / TOP_HZ) ** 8))
    return closed(scipy.fft.irfft(kept, TABLE_POINTS) * TABLE_POINTS / wave.size)


@lru_cache(maxsize=16)
def buzz_table(seed: int, field_hz: float) -> Wave:
    """One period of the video's audible part, mean 0, peak 1: what leaks into the sound."""
    spectrum = scipy.fft.rfft(video_table(seed, 0, field_hz)[:-1].astype(np.float64))
    spectrum[0] = 0
    spectrum[int(AUDIO_TOP_HZ * period_s(field_hz)) :] = 0
    period = scipy.fft.irfft(spectrum, TABLE_POINTS)
    return closed(period / np.abs(period).max())


def envelope(seed: int, field_hz: float, t_s: NDArray[np.float64]) -> Wave:
    """The picture carrier's amplitude at those times, sync tips at 1."""
    cycles = t_s / period_s(field_hz)
    turn = (0.5 + 0.5 * np.sin(2 * np.pi * (0.11 * t_s + draw(seed, 0, 31)))).astype(np.float32)
    first = from_table(video_table(seed, 0, field_hz), cycles)
    return first + turn * (from_table(video_table(seed, 1, field_hz), cycles) - first)


def buzz(seed: int, field_hz: float, t_s: NDArray[np.float64]) -> Wave:
    """The audible part of the video at those times, peak 1."""
    return from_table(buzz_table(seed, field_hz), t_s / period_s(field_hz))
