"""What stations play: speech with syllables and pauses, and music made loud.

Both are synthetic and hold what a measure may trip over: voiced harmonics under moving
formants, fricatives up to 15 kHz, pauses; chords, bass, drums and cymbals, wide in stereo
and compressed until they hardly breathe.  See listen.simulate.programmes for the form.

Formants: round figures for adult voices (common practice).
"""

from functools import lru_cache

import numpy as np

from listen.simulate.programmes import (
    Played,
    ProgrammeKind,
    chip,
    effects,
    pitch_hz,
    silence,
    tone,
)
from listen.simulate.waves import Wave, draw, from_harmonics, from_table, noise, steps, wave

SYLLABLE_S = 0.19
VOWELS_HZ = (
    (730, 1090, 2440),
    (270, 2290, 3010),
    (300, 870, 2240),
    (530, 1840, 2480),
    (570, 840, 2410),
    (490, 1350, 1690),
)


@lru_cache(maxsize=2048)
def _vowel(which: int, voice_hz: int) -> Wave:
    """One period of a vowel at that pitch: a falling source under three resonances."""
    n = np.arange(0, int(8000 / voice_hz) + 1)
    hz = n * voice_hz + 0j
    weights = 1j / np.maximum(n, 1) ** 1.3
    for formant_hz, width_hz in zip(VOWELS_HZ[which], (90, 110, 170), strict=True):
        weights = weights * formant_hz**2 / (formant_hz**2 - hz**2 + 1j * hz * width_hz)
    weights[0] = 0
    return from_harmonics(weights)


def speech(seed: int, start_s: float, count: int, rate_hz: int) -> Played:
    """One voice: some five syllables a second, falling pitch, pauses between phrases."""
    out = 0.004 * noise("hollow", start_s, slice(0, count), rate_hz)  # the studio's air
    base_hz = 95 + 110 * draw(seed, 0, 1)
    for number, part, since_s in steps(start_s, count, rate_hz, SYLLABLE_S):
        phrase, place = divmod(number, 14)
        if place >= 9 + int(5 * draw(seed, phrase, 2)):
            continue  # a breath
        x = since_s / SYLLABLE_S
        opening = 0.12 + 0.25 * draw(seed, number, 3)
        start_hz = base_hz * (1.15 - 0.02 * place + 0.12 * draw(seed, number, 4))
        cycles = start_hz * since_s * (1 - 0.06 * x)
        first, second = (int(draw(seed, number, salt) * len(VOWELS_HZ)) for salt in (5, 6))
        table_hz = 5 * round(start_hz / 5)
        glide = np.clip((x - 0.4) * 2, 0, 1).astype(np.float32)
        voiced = from_table(_vowel(first, table_hz), cycles) * (1 - glide)
        voiced += from_table(_vowel(second, table_hz), cycles) * glide
        rise = np.clip((x - opening) * 9, 0, 1) * np.clip((1 - x) * 7, 0, 1)
        loud = 0.5 + 0.5 * draw(seed, number, 7)
        out[part] += (loud * rise).astype(np.float32) * voiced
        if draw(seed, number, 8) < 0.6:
            burst = np.clip(x * 12, 0, 1) * np.clip((opening + 0.08 - x) * 12, 0, 1)
            colour = "bright" if draw(seed, number, 9) < 0.6 else "white"
            hiss = noise(colour, start_s, part, rate_hz)
            out[part] += 0.4 * burst.astype(np.float32) * hiss
    return _loud(out, 1.6), None


def music(seed: int, start_s: float, count: int, rate_hz: int) -> Played:
    """A band: chords left and right, bass and voice in the middle, drums; made loud."""
    middle = np.zeros(count, np.float32)
    side = np.zeros(count, np.float32)
    beat_s = 0.38 + 0.22 * draw(seed, 0, 3)
    for number, part, since_s in steps(start_s, count, rate_hz, beat_s / 2):
        half, bar = number % 8, (number // 8) % 4
        held_s = since_s + half * beat_s / 2
        root = (0, 4, 5, 3)[(bar + int(3 * draw(seed, 0, 4))) % 4]
        for voice in range(3):
            hz = pitch_hz(seed, root + 2 * voice, 2) * (1 + 0.0007 * voice)
            sound = 0.17 * wave("soft", hz, hz * held_s + 0.3 * voice)
            middle[part] += sound
            side[part] += sound * (0.7, -0.8, 0.3)[voice]
        bass_hz = pitch_hz(seed, root, 0)
        middle[part] += 0.3 * wave("soft", bass_hz, bass_hz * since_s)
        if draw(seed, number % 32, 5) < 0.75:
            hz = pitch_hz(seed, root + int(6 * draw(seed, number % 32, 6)), 3)
            swing = 0.004 * hz / 5.5 * (1 - np.cos(2 * np.pi * 5.5 * since_s))
            fade = np.clip(since_s / 0.02, 0, 1).astype(np.float32)
            middle[part] += 0.3 * fade * wave("soft", hz, hz * since_s + swing)
        _drums(middle[part], side[part], half, start_s, part, since_s, rate_hz)
    return _loud(middle, 1.4), 0.7 * _loud(side, 1.2)


def _drums(
    middle: Wave,
    side: Wave,
    half: int,
    start_s: float,
    part: slice,
    since_s: np.ndarray,
    rate_hz: int,
) -> None:
    """Add kick, snare and cymbal of one half beat."""
    if half % 4 == 0:
        cycles = 50 * since_s + 2.5 * (1 - np.exp(-since_s / 0.03))
        middle += (0.6 * np.exp(-since_s / 0.09) * np.sin(2 * np.pi * cycles)).astype(np.float32)
    elif half % 4 == 2:
        snare = noise("white", start_s, part, rate_hz)
        middle += 0.6 * snare * np.exp(-since_s / 0.07).astype(np.float32)
    cymbal = noise("bright", start_s, part, rate_hz)
    cymbal = 0.2 * cymbal * np.exp(-since_s / 0.04).astype(np.float32)
    middle += cymbal
    side += 0.4 * cymbal


def _loud(sound: Wave, drive: float) -> Wave:
    """Compress until the peaks lie at full deviation."""
    return np.asarray(np.tanh(drive * sound), np.float32)


PLAYERS = {
    "speech": speech,
    "music": music,
    "chip": chip,
    "tone": tone,
    "effects": effects,
    "silence": silence,
}


def play(kind: ProgrammeKind, seed: int, start_s: float, count: int, rate_hz: int) -> Played:
    """Middle and side of a programme from start_s on, each of shape (count,), within ±1."""
    return PLAYERS[kind](seed, start_s, count, rate_hz)
