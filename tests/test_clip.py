"""What a clip refuses, so that no measure has to; and that what it holds is its own."""

import numpy as np
import pytest

from listen.clip import Clip, spoiled_clip
from listen.errors import BadClip

GOOD = {"dial_mhz": 95.75, "sample_rate_hz": 48_000, "samples": np.zeros(4_800, np.float32)}


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"dial_mhz": float("nan")}, "dial of nan came: give what the dial showed, in MHz"),
        ({"dial_mhz": float("inf")}, "a clip's dial of inf came"),
        ({"dial_mhz": 0.0}, "a clip's dial of 0.0 came"),
        ({"sample_rate_hz": 0}, "a clip of 0 samples a second came: between 8000 and 192000"),
        ({"sample_rate_hz": 3_000}, "a clip of 3000 samples a second came"),
        ({"sample_rate_hz": 7_999}, "a clip of 7999 samples a second came"),
        ({"sample_rate_hz": 192_001}, "so record or resample it at 48000"),
        ({"sample_rate_hz": float("nan")}, "a clip of nan samples a second came"),
        ({"console": "maybe"}, "a clip's console 'maybe' came: write on or off"),
        ({"samples": np.zeros((0, 2))}, r"a column a channel, not \(0, 2\)"),
        ({"samples": np.zeros((2, 2, 2))}, r"a column a channel, not \(2, 2, 2\)"),
        ({"samples": np.array([0.0, np.nan])}, "some are infinite or not a number"),
    ],
)
def test_what_is_no_recording_of_a_stop_is_refused_in_words(wrong, says):
    with pytest.raises(BadClip, match=says):
        Clip(**(GOOD | wrong))


@pytest.mark.parametrize("rate_hz", [8_000, 44_100, 192_000])
def test_the_rates_of_a_sweep_folder_are_taken(rate_hz):
    clip = Clip(**(GOOD | {"sample_rate_hz": rate_hz}))
    assert clip.duration_s == pytest.approx(4_800 / rate_hz)


def test_its_samples_are_its_own_a_column_a_channel():
    samples = np.ones(8)
    clip = Clip(**(GOOD | {"samples": samples}))
    samples[:] = 0
    assert (clip.samples.shape, clip.samples.dtype) == ((8, 1), np.float32)
    assert clip.samples.min() == 1
    with pytest.raises(ValueError, match="read-only"):
        clip.samples[0] = 0


def test_a_spoiled_stop_needs_no_samples_but_a_dial():
    assert spoiled_clip(95.75, "it is empty").samples.size == 0
    with pytest.raises(BadClip, match="a clip's dial of nan came"):
        spoiled_clip(float("nan"), "it is empty")
