"""The tone over the real sound path: it comes out of the loudspeaker at its pitch."""

import subprocess
import sys

import numpy as np
import pytest

RATE_HZ = 48_000
PLAYS = """
import sys, time
from listen.capture.cue import Cue
with Cue("pulse") as cue:
    cue.set(50.0)
    print("plays", flush=True)
    time.sleep(2.5)
"""


def test_the_tone_comes_out_at_its_pitch(server):
    playing = subprocess.Popen(
        [sys.executable, "-c", PLAYS], env=server.env, stdout=subprocess.PIPE, text=True
    )
    assert playing.stdout.readline() == "plays\n"
    words = ["parec", "--device=ci.monitor", "--raw", "--channels=1"]
    recorder = subprocess.Popen(
        [*words, f"--rate={RATE_HZ}", "--format=float32le"],
        env=server.env,
        stdout=subprocess.PIPE,
    )
    data = recorder.stdout.read(4 * 2 * RATE_HZ)
    recorder.kill()
    recorder.communicate()
    playing.communicate(timeout=20)
    assert playing.returncode == 0
    wave = np.frombuffer(data, np.float32)[RATE_HZ // 2 : RATE_HZ * 3 // 2]
    lines = np.abs(np.fft.rfft(wave * np.hanning(wave.size)))
    # One second: lines are 1 Hz apart.  Half of the clarity is one octave over 220 Hz.
    assert np.argmax(lines) == pytest.approx(440, abs=1)
    assert lines[400:480].max() > 100 * np.median(lines)


def test_a_loudspeaker_that_is_not_there_is_said_in_one_sentence(server, run):
    done = run("trim", "--to", "au-air:4", "--wait", "--input", "linein", "--output", "nowhere to")
    assert done.returncode == 2
    assert done.stderr.startswith("listen: no tone can be played")
    assert "--output" in done.stderr
    assert "Traceback" not in done.stderr
