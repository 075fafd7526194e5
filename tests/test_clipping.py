"""Flat tops of an overdriven input, counted against how the samples were made."""

import numpy as np
import pytest

from listen.analysis.clipping import flat_tops
from listen.analysis.measures import measure
from listen.clip import Clip

T_S = np.arange(48_000) / 48_000


@pytest.mark.parametrize("tone_hz", [30.0, 60.0, 100.0, 440.0, 1000.0, 9000.0])
@pytest.mark.parametrize("peak", [0.5, 0.999])
def test_a_clean_tone_has_none(tone_hz, peak):
    sine = np.round(peak * 32767 * np.sin(2 * np.pi * tone_hz * T_S + 0.4)) / 32768
    assert flat_tops(sine)[0] == 0


@pytest.mark.parametrize("tone_hz, periods", [(100.0, 100), (400.0, 400)])
def test_an_overdriven_tone_has_two_a_period(tone_hz, periods):
    """Driven by a tenth: cos⁻¹(1/1.1) / π = 13.7 % of the time is cut off."""
    sine = np.clip(1.1 * np.sin(2 * np.pi * tone_hz * T_S + 0.4), -1, 1)
    count, samples = flat_tops(sine)
    assert count == pytest.approx(2 * periods, rel=0.02)
    assert samples / sine.size == pytest.approx(2 * np.arccos(1 / 1.1) / np.pi, rel=0.1)


def test_noise_that_is_cut_off_is_told_and_noise_that_is_not_is_not():
    noise = np.random.default_rng(2).standard_normal(48_000)
    smooth = np.convolve(noise, np.ones(6) / np.sqrt(6), "same")  # neighbours are alike
    assert flat_tops(np.clip(0.4 * smooth, -1, 1))[0] > 100
    assert flat_tops(0.15 * smooth)[0] == 0


def test_a_clip_counts_its_worst_channel():
    clean = 0.6 * np.sin(2 * np.pi * 440 * T_S)
    cut = np.clip(1.3 * np.sin(2 * np.pi * 440 * T_S), -1, 1)
    shares = [
        measure(Clip(98.0, 48_000, np.stack(pair, axis=1).astype(np.float32))).clipped
        for pair in ((clean, clean), (clean, cut))
    ]
    assert shares[0] == 0
    assert shares[1] == pytest.approx(2 * np.arccos(1 / 1.3) / np.pi, rel=0.1)


def test_channels_in_antiphase_are_heard_all_the_same():
    """A balanced lead: right is minus left, and their mean is nothing at all."""
    tone = (0.3 * np.sin(2 * np.pi * 440 * T_S)).astype(np.float32)
    one = measure(Clip(98.0, 48_000, np.stack([tone, -tone], axis=1)))
    assert one.antiphase
    assert not one.silent
    assert one.tone.tone_hz == pytest.approx(440, abs=0.01)
    assert not measure(Clip(98.0, 48_000, np.stack([tone, tone], axis=1))).antiphase
