"""What happens to a recording before it is kept, with a scripted line and a scripted person."""

import numpy as np
import pytest

from listen.commands.ears import Ears, heard_level
from listen.errors import InputLost, SamplesLost

RATE_HZ = 48_000
T_S = np.arange(RATE_HZ) / RATE_HZ
GOOD = (0.2 * np.sin(2 * np.pi * 1000 * T_S)).astype(np.float32)[:, np.newaxis]
CLIPPED = np.clip(GOOD * 10, -1, 1)
SILENT = np.zeros_like(GOOD)
LOST = SamplesLost("40 ms of sound never arrived")


class Line:
    """Gives its takes one by one, or raises those that are errors; all must be used up."""

    rate_hz = RATE_HZ

    def __init__(self, *takes):
        self.takes = list(takes)
        self.skipped = []

    def skip(self, duration_s):
        self.skipped.append(duration_s)

    def record(self, duration_s, on_block=None):
        take = self.takes.pop(0)
        if isinstance(take, Exception):
            raise take
        return take


def person(*typed):
    left = list(typed)

    def read_line(prompt):
        assert "r Enter to take it again" in prompt
        return left.pop(0)

    return read_line, left


def heard(takes, typed=None):
    line = Line(*takes)
    read_line, left = person(*typed) if typed is not None else (None, [])
    ears = Ears(line, 1.0, 0.7, read_line)
    clip = ears.hear(95.5, "on")
    assert (line.takes, left) == ([], [])
    assert line.skipped == [0.7] * len(takes)
    return clip, ears


def test_a_good_recording_is_kept_without_a_question(capsys):
    clip, _ = heard([GOOD], [])
    assert (clip.dial_mhz, clip.console, clip.sample_rate_hz) == (95.5, "on", RATE_HZ)
    assert np.array_equal(clip.samples, GOOD)
    assert clip.at is not None
    assert clip.at.tzinfo is not None
    # 0.2 of a full-scale sine: 20·log10(0.2) = -13.98 dBFS by AES17, and its peak the same.
    assert capsys.readouterr().out == "  recorded: level -14 dBFS, peak -14 dB\n"


@pytest.mark.parametrize(
    ("takes", "typed", "kept"),
    [
        ([CLIPPED], ["\n"], CLIPPED),
        ([CLIPPED, GOOD], ["r\n"], GOOD),
        ([CLIPPED, SILENT, GOOD], ["R\n", "r\n"], GOOD),
        ([SILENT], ["what\n", "\n"], SILENT),
        ([CLIPPED], ["s\n"], None),
    ],
)
def test_trouble_is_asked_about_before_it_is_kept(takes, typed, kept):
    clip, _ = heard(takes, typed)
    assert clip is None if kept is None else np.array_equal(clip.samples, kept)


def test_trouble_that_was_kept_on_purpose_is_not_asked_about_again():
    line = Line(SILENT, SILENT, GOOD, SILENT)
    read_line, left = person("\n", "\n")
    ears = Ears(line, 1.0, 0.7, read_line)
    for _ in range(2):
        assert ears.hear(95.5, "on") is not None
    assert len(left) == 1
    ears.hear(95.6, "on")
    ears.hear(95.7, "on")  # the sound had come back in between: asked anew
    assert left == []


def test_without_a_hand_free_trouble_is_taken_again_once_then_kept():
    clip, _ = heard([CLIPPED, GOOD])
    assert np.array_equal(clip.samples, GOOD)
    clip, ears = heard([CLIPPED, CLIPPED])
    assert np.array_equal(clip.samples, CLIPPED)
    ears._line.takes.append(CLIPPED)
    assert ears.hear(95.6, "on") is not None  # known by now


def test_lost_samples_are_taken_again_twice_then_refused():
    clip, _ = heard([LOST, LOST, GOOD])
    assert np.array_equal(clip.samples, GOOD)
    line = Line(LOST, LOST, LOST)
    with pytest.raises(SamplesLost, match="never arrived"):
        Ears(line, 1.0, 0.7, None).hear(95.5, "on")
    assert line.takes == []


def test_a_lost_input_is_not_tried_again():
    line = Line(InputLost("the input went away"))
    with pytest.raises(InputLost, match="went away"):
        Ears(line, 1.0, 0.7, None).hear(95.5, "on")


def test_the_loudest_channel_speaks_and_any_channel_clips():
    both = np.hstack((SILENT, GOOD))
    level_dbfs, peak_db, trouble = heard_level(both, RATE_HZ)
    assert (round(level_dbfs, 2), round(peak_db, 2), trouble) == (-13.98, -13.98, "")
    assert heard_level(np.hstack((CLIPPED, GOOD)), RATE_HZ)[2].startswith("It clips")
    assert heard_level(SILENT, RATE_HZ)[2].startswith("Nothing came in")
