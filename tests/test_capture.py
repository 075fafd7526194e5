"""The line-in against a scripted stream: what is lost, late or flagged is noticed.

A script is a list of steps, each played when the line waits for sound; one that is not used up
fails the test.  The real sound path is driven in tests/live.
"""

import re
import subprocess
import sys
import threading
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

import listen.capture.linein as linein
from listen.capture.devices import Input, choose
from listen.capture.linein import LineIn
from listen.errors import InputLost, NoInput, SamplesLost

HOME = Path(__file__).parents[1]
SOURCE = Input(3, "Bench line", 2, 44_100.0, "test", True)
RATE_HZ = 48_000
BLOCK = 2_400  # 50 ms
FLAWLESS = SimpleNamespace(input_overflow=False)
OVERFLOWED = SimpleNamespace(input_overflow=True)


class Script:
    """A clock and a stream in one.  Each step: (frames, seconds that pass, status)."""

    def __init__(self, *steps, refuse=()):
        self.steps = list(steps)
        self.now_s = 100.0
        self.frame = 0
        self.refuse = set(refuse)
        self.asked = []
        self.active = True
        self.closed = []

    def clock(self):
        return self.now_s

    def open(self, **wanted):
        self.asked.append(wanted["samplerate"])
        if wanted["samplerate"] in self.refuse:
            raise RuntimeError("Invalid sample rate\nfurther words")
        self.wanted = wanted
        return self

    def start(self):
        self.closed = []

    def abort(self):
        self.closed.append("abort")

    def close(self):
        self.closed.append("close")

    def play(self):
        """Play the next step into the callback."""
        frames, passed_s, status = self.steps.pop(0)
        self.now_s += passed_s
        if frames:
            count = np.arange(self.frame, self.frame + frames, dtype=np.float32)
            block = np.repeat(count[:, np.newaxis], self.wanted["channels"], axis=1)
            self.frame += frames
            self.wanted["callback"](block, frames, None, status)


@pytest.fixture
def scripted():
    made = []

    def make(*steps, **options):
        script = Script(*steps, **options)
        made.append(script)

        class Arrived(threading.Condition):
            def wait(self, timeout=None):
                if script.steps:
                    script.play()
                    return True
                return False

        line = LineIn(SOURCE, open_stream=script.open, clock=script.clock)
        line._arrived = Arrived()
        return script, line

    yield make
    for script in made:
        assert script.steps == [], "the script was not used up"


def steady(count, passed_s=0.05):
    return [(BLOCK, passed_s, FLAWLESS)] * count


def test_a_recording_is_every_sample_in_order(scripted):
    script, line = scripted(*steady(24))
    with line:
        line.skip(0.2)
        samples = line.record(1.0)
    assert samples.dtype == np.float32
    # 0.2 s were left out; the level of sample n is n in this script.
    expected = np.arange(9_600, 57_600, dtype=np.float32)
    assert np.array_equal(samples, np.stack((expected, expected), axis=1))
    assert script.closed == ["abort", "close"]


def test_each_block_is_shown_as_it_comes(scripted):
    _, line = scripted(*steady(10))
    shown = []
    with line:
        line.record(0.5, lambda block, done_s: shown.append((block.shape, done_s)))
    assert [shape for shape, _ in shown] == [(BLOCK, 2)] * 10
    assert [done_s for _, done_s in shown] == pytest.approx([0.05 * n for n in range(1, 11)])


def test_blocks_go_on_for_a_meter(scripted):
    _, line = scripted(*steady(3))
    with line:
        coming = line.blocks()
        blocks = [next(coming) for _ in range(3)]
    assert [block.samples[0, 0] for block in blocks] == [0, BLOCK, 2 * BLOCK]
    assert [block.arrived_s for block in blocks] == pytest.approx([100.05, 100.1, 100.15])
    assert not any(block.lost for block in blocks)


def taken(line, count):
    """The numbers of those of the next blocks before which sound was lost."""
    with line:
        coming = line.blocks()
        return [number for number in range(count) if next(coming).lost]


def test_blocks_tell_an_overflow_and_what_never_arrived_once_each(scripted):
    _, line = scripted(*steady(3), (BLOCK, 0.05, OVERFLOWED), *steady(3))
    assert taken(line, 7) == [3]
    # 0.3 s pass without sound before block 20, and it does not come within the 1.5 s, 30 blocks,
    # that late sound has to catch up.
    _, line = scripted(*steady(20), (BLOCK, 0.35, FLAWLESS), *steady(60))
    assert taken(line, 81) == [51]


def test_blocks_that_come_late_or_in_bursts_are_not_lost(scripted):
    late = (BLOCK, 0.35, FLAWLESS)
    _, line = scripted(*steady(20), late, *steady(19), *[(BLOCK, 0.0, FLAWLESS)] * 6, *steady(40))
    assert taken(line, 86) == []
    burst = [(BLOCK, 0.2, FLAWLESS), *[(BLOCK, 0.0, FLAWLESS)] * 3]
    _, line = scripted(*burst * 20)
    assert taken(line, 80) == []
    # A server that delivers 0.1 s later from now on has lost nothing.
    _, line = scripted(*steady(20), (BLOCK, 0.15, FLAWLESS), *steady(60))
    assert taken(line, 81) == []


def test_blocks_that_fell_off_are_a_gap(scripted):
    script, line = scripted(*steady(606))
    with line:
        coming = line.blocks()
        assert not next(coming).lost
        while script.steps:
            script.play()
        assert [next(coming).lost for _ in range(3)] == [True, False, False]


def test_an_overflow_flag_spoils_the_recording(scripted):
    _, line = scripted(*steady(3), (BLOCK, 0.05, OVERFLOWED))
    with line, pytest.raises(SamplesLost, match="ran over and some sound was lost: take"):
        line.record(1.0)


def test_samples_that_never_arrive_are_missed_without_any_flag(scripted):
    # After a second, 0.3 s pass without sound; 1.5 s of patience does not bring it back.
    lost = (BLOCK, 0.35, FLAWLESS)
    _, line = scripted(*steady(20), lost, *steady(19), *steady(31))
    # Up to 1.5 ms of it could be the clocks' drift: 5e-4 of the 3 s.
    with line, pytest.raises(SamplesLost, match=r"^(299|300) ms of sound from Bench line never"):
        line.record(2.0)


def test_samples_that_come_late_are_waited_for(scripted):
    # The last second is delivered 0.3 s late, then all at once: nothing is missing.
    late = (BLOCK, 0.35, FLAWLESS)
    caught_up = [(BLOCK, 0.0, FLAWLESS)] * 6
    _, line = scripted(*steady(20), late, *steady(19), *caught_up)
    with line:
        assert len(line.record(2.0)) == 2 * RATE_HZ


def test_bursts_are_no_loss(scripted):
    burst = [(BLOCK, 0.2, FLAWLESS), *[(BLOCK, 0.0, FLAWLESS)] * 3]
    _, line = scripted(*burst * 10)
    with line:
        assert len(line.record(2.0)) == 2 * RATE_HZ


def test_a_stream_that_stops_delivering_has_stalled(scripted):
    _, line = scripted(*steady(5))
    with line, pytest.raises(InputLost, match="Bench line has stalled: no sound for 1 s"):
        line.record(1.0)


def test_a_stream_that_never_begins_has_stalled(scripted):
    _, line = scripted()
    with line, pytest.raises(InputLost, match="has stalled: no sound for 3 s"):
        line.record(1.0)


def test_one_long_wait_is_not_yet_a_stall(scripted, monkeypatch):
    """Our own process was stopped: a single wait lapses, then the sound is there."""
    script, line = scripted(*steady(20))
    waits = []

    def wait(timeout=None):
        waits.append(timeout)
        if len(waits) in (2, 3, 4):
            return False
        script.play()
        return True

    with line:
        monkeypatch.setattr(line._arrived, "wait", wait)
        assert len(line.record(1.0)) == RATE_HZ
    assert len(waits) == 23


def test_a_stream_that_has_finished_went_away(scripted):
    script, line = scripted(*steady(5))
    with line:
        line.skip(0.25)
        assert script.wanted["finished_callback"]() is None
        with pytest.raises(InputLost, match="Bench line went away: see that it is plugged"):
            line.record(1.0)


def test_a_stream_that_is_no_longer_active_went_away(scripted):
    script, line = scripted()
    with line:
        script.active = False
        with pytest.raises(InputLost, match="went away"):
            line.record(1.0)


def test_sound_that_nobody_takes_for_half_a_minute_falls_off(scripted):
    script, line = scripted(*steady(604))
    with line:
        for _ in range(604):  # 600 blocks, 30 s, are kept
            script.play()
        samples = line.record(30.0)
    assert samples[0, 0] == 4 * BLOCK


def test_sound_that_fell_off_within_a_recording_is_a_gap(scripted):
    script, line = scripted(*steady(606))

    def dawdle(block, done_s):
        while script.steps:
            script.play()

    with line, pytest.raises(SamplesLost, match="ran over"):
        line.record(1.0, dawdle)


def test_a_hung_close_is_left_behind(scripted, monkeypatch):
    script, line = scripted()
    released = threading.Event()
    monkeypatch.setattr(linein, "CLOSE_S", 0.05)
    left = []
    monkeypatch.setattr(linein, "do_not_wait_at_exit", lambda: left.append(True))
    script.abort = released.wait
    with line:
        pass
    assert left == [True]
    released.set()
    line._hush.stop()


def test_another_rate_is_taken_only_where_48_kilohertz_is_refused(scripted):
    script, line = scripted(refuse={48_000})
    with line:
        assert line.rate_hz == 44_100
    assert script.asked == [48_000, 44_100]


def test_an_input_that_takes_no_rate_is_refused_in_one_sentence(scripted):
    rates = {48_000, 44_100, 96_000, 32_000, 16_000, 8_000}
    _, line = scripted(refuse=rates)
    with pytest.raises(NoInput, match=r"Bench line cannot be opened \(Invalid sample rate\): see"):
        line.__enter__()


INPUTS = (
    Input(0, "Built-in microphone", 2, 44_100.0, "Alpha", True),
    Input(4, "USB line in", 2, 48_000.0, "Alpha", False),
    Input(7, "USB line in", 2, 48_000.0, "Beta", False),
    Input(9, "USB", 1, 48_000.0, "Beta", False),
)


@pytest.mark.parametrize(
    ("wanted", "number"),
    [
        (None, 0),
        ("7", 7),
        ("MICRO", 0),
        ("line beta", 7),
        ("usb", 9),
    ],
)
def test_an_input_is_chosen_by_number_or_words(wanted, number):
    assert choose(wanted, INPUTS).number == number


@pytest.mark.parametrize(
    ("wanted", "among", "says"),
    [
        (
            "line",
            INPUTS,
            "'line' fits inputs 4, 7, give a number: 0 Built-in microphone (Alpha); 4",
        ),
        ("5", INPUTS, "no sound input is '5', choose by number or name: 0 Built-in"),
        ("", INPUTS, "no sound input is ''"),
        (None, INPUTS[1:], "no input is the default, choose one with --input: 4 USB line in"),
        (None, (), "this machine has no sound input: plug in"),
    ],
)
def test_a_choice_that_is_none_or_several_is_refused_with_the_list(wanted, among, says):
    with pytest.raises(NoInput, match=f"^{re.escape(says)}"):
        choose(wanted, among)


def test_a_hush_keeps_c_libraries_quiet_and_our_own_words_heard():
    code = """
import os, sys
from listen.capture.hush import Hush
hush = Hush()
hush.start()
os.write(2, b"chatter\\n")
print("a sentence", file=sys.stderr)
inner = Hush()
inner.start()
os.write(2, b"more chatter\\n")
print("another", file=sys.stderr)
inner.stop()
os.write(2, b"and more\\n")
hush.stop()
os.write(2, b"afterwards\\n")
print("the last", file=sys.stderr)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=HOME)
    assert done.stderr.splitlines() == ["a sentence", "another", "afterwards", "the last"]


def test_nothing_here_needs_portaudio_to_be_imported():
    assert "sounddevice" not in sys.modules
