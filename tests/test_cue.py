"""The tone that tells the clarity: its pitch counted from its own wave, and no clicks."""

import threading

import numpy as np
import pytest

import listen.capture.cue as cue
from listen.capture.cue import GLIDE_S, LOUDNESS, RATE_HZ, Cue, Tone, pitch_hz


def crossings_hz(wave):
    """Pitch from upward zero crossings."""
    up = np.flatnonzero((wave[:-1] < 0) & (wave[1:] >= 0))
    return (up.size - 1) * RATE_HZ / (up[-1] - up[0])


@pytest.mark.parametrize(("clarity", "hz"), [(0, 220), (50, 440), (100, 880), (250, 880)])
def test_the_pitch_rises_an_octave_each_half(clarity, hz):
    assert pitch_hz(clarity) == pytest.approx(hz)
    tone = Tone()
    tone.clarity = float(clarity)
    wave = np.concatenate([tone.next(480) for _ in range(100)])[round(10 * GLIDE_S * RATE_HZ) :]
    # Whole samples at both ends: half a second of 220 Hz is known to one part in 20,000.
    assert crossings_hz(wave) == pytest.approx(hz, rel=1e-3)
    assert np.abs(wave).max() == pytest.approx(LOUDNESS, rel=0.01)


def test_it_is_silent_until_there_is_something_to_tell_and_never_clicks():
    tone = Tone()
    assert not tone.next(480).any()
    waves = []
    for clarity in (10.0, 90.0, None, 40.0):
        tone.clarity = clarity
        waves += [tone.next(256) for _ in range(60)]
    # The steepest slope of a sine is its size times the angle of a sample (calculus).
    steepest = LOUDNESS * 2 * np.pi * 880 / RATE_HZ
    assert np.abs(np.diff(np.concatenate(waves))).max() <= 1.05 * steepest


def test_a_loudspeaker_that_hangs_at_the_end_does_not_replace_the_reason(monkeypatch):
    released = threading.Event()

    class Hung:
        def close(self):
            released.wait(10)

    monkeypatch.setattr(cue, "CLOSE_S", 0.05)
    monkeypatch.setattr(Cue, "_open", lambda self: Hung())
    with pytest.raises(KeyboardInterrupt), Cue():
        raise KeyboardInterrupt
    released.set()
