"""What consoles and test signals play: chip tunes, tones, sparse effects, silence.

A programme answers one question: what was played from start_s on, `count` samples at
rate_hz.  It gives the middle (left + right) / 2 and the side (left - right) / 2, each
within ±1, where ±1 stands for the full deviation.  side is None where all is mono.
Speech and broadcast music are in listen.simulate.broadcast.

Sound chips as described in the handbooks of the time (common practice): two pulse waves
with a choice of duty, one triangle, one noise; notes begin on a picture field.
"""

from typing import Literal

import numpy as np

from listen.simulate.waves import Wave, draw, noise, steps, wave

ProgrammeKind = Literal["speech", "music", "chip", "tone", "effects", "silence"]
Played = tuple[Wave, Wave | None]

FIELD_S = 1 / 60
SCALES = ((0, 2, 4, 7, 9), (0, 3, 5, 7, 10), (0, 2, 3, 5, 7, 8, 10), (0, 2, 4, 5, 7, 9, 11))
DUTIES = ("pulse:0.125", "pulse:0.25", "pulse:0.5")
TONES_HZ = (220.0, 440.0, 523.25, 1000.0, 1760.0, 2093.0)


def pitch_hz(seed: int, degree: int, octave: int) -> float:
    """The pitch of a degree of the tune's own scale, Hz."""
    scale = SCALES[int(draw(seed, 0, 1) * len(SCALES))]
    key_hz = 55.0 * 2 ** (int(draw(seed, 0, 2) * 12) / 12)
    up, step = divmod(degree, len(scale))
    return float(key_hz * 2 ** (octave + up + scale[step] / 12))


def chip(seed: int, start_s: float, count: int, rate_hz: int) -> Played:
    """A tune of two pulse waves, a triangle and noise; notes, arpeggio and vibrato."""
    out = np.zeros(count, np.float32)
    step_s = FIELD_S * (5 + int(draw(seed, 0, 3) * 5))
    lead, second = (DUTIES[int(draw(seed, 0, salt) * 3)] for salt in (4, 5))
    for number, part, since_s in steps(start_s, count, rate_hz, step_s):
        place = number % 64 if number % 256 < 192 else 64 + number % 64  # a tune comes round
        bar = place // 16
        _lead(out[part], seed, place, lead, since_s)
        chord = (0, 3, 4, 2)[bar % 4] if draw(seed, bar, 6) < 0.7 else 0
        _arpeggio(out[part], seed, chord, second, since_s)
        if draw(seed, place // 2, 7) < 0.85:
            bass_hz = pitch_hz(seed, chord + (0, 0, 4, 0)[(place // 2) % 4], 0)
            bass_hz *= 2 if bass_hz < 70 else 1
            held_s = since_s + (place % 2) * step_s
            out[part] += 0.24 * wave("triangle", bass_hz, bass_hz * held_s)
        if place % 4 == 2 or draw(seed, place, 8) < 0.25:
            beat = noise("white", start_s, part, rate_hz)
            out[part] += 0.22 * beat * np.exp(-since_s / 0.04).astype(np.float32)
    return out, None


def _lead(out: Wave, seed: int, place: int, shape: str, since_s: np.ndarray) -> None:
    """Add the melody's note at one step; one step in five rests."""
    if draw(seed, place, 9) < 0.2:
        return
    degree = int(7 * (draw(seed, place, 10) + draw(seed, place // 4, 11)) / 1.4)
    hz = pitch_hz(seed, degree, 3)
    swing = 0.006 * hz / 6.0 * (1 - np.cos(2 * np.pi * 6.0 * since_s)) / (2 * np.pi)
    fade = np.exp(-since_s / 0.35).astype(np.float32)
    out += 0.27 * fade * wave(shape, hz, hz * since_s + swing)


def _arpeggio(out: Wave, seed: int, chord: int, shape: str, since_s: np.ndarray) -> None:
    """Add a chord broken up field by field, as chips with few voices play it."""
    notes_hz = np.array([pitch_hz(seed, degree, 2) for degree in (chord, chord + 2, chord + 4)])
    begun = np.concatenate([[0.0], np.cumsum(notes_hz)[:2]]) * FIELD_S  # cycles before each
    field = (since_s / FIELD_S).astype(int)
    turn, which = np.divmod(field, 3)
    within_s = since_s - field * FIELD_S
    cycles = turn * (notes_hz.sum() * FIELD_S) + begun[which] + notes_hz[which] * within_s
    out += 0.2 * wave(shape, float(notes_hz.max()), cycles)


def tone(seed: int, start_s: float, count: int, rate_hz: int) -> Played:
    """One steady sine; the seed picks its pitch."""
    hz = TONES_HZ[int(draw(seed, 0, 1) * len(TONES_HZ))]
    t_s = start_s + np.arange(count) / rate_hz
    return np.asarray(np.sin(2 * np.pi * ((hz * t_s) % 1.0)), np.float32), None


def effects(seed: int, start_s: float, count: int, rate_hz: int) -> Played:
    """Short blips, sweeps and bursts with long pauses between."""
    out = np.zeros(count, np.float32)
    for number, part, since_s in steps(start_s, count, rate_hz, 0.5):
        kind = draw(seed, number, 1)
        length_s = 0.08 + 0.3 * draw(seed, number, 2)
        alive = (np.exp(-since_s / (length_s / 3)) * (since_s < length_s)).astype(np.float32)
        if kind < 0.2:
            hz = 300 + 1500 * draw(seed, number, 3)
            slide = (draw(seed, number, 4) - 0.3) * hz / length_s
            cycles = hz * since_s + slide / 2 * np.minimum(since_s, length_s) ** 2
            out[part] += 0.6 * alive * wave("pulse:0.5", 2 * hz, cycles)
        elif kind < 0.3:
            out[part] += 0.7 * alive * noise("white", start_s, part, rate_hz)
    return out, None


def silence(seed: int, start_s: float, count: int, rate_hz: int) -> Played:
    """Nothing at all: the carrier stands unmodulated."""
    return np.zeros(count, np.float32), None
