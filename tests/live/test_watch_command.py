"""`listen watch` over the real sound path: a program tunes, the carrier moves between rounds."""

import contextlib
import csv
import os
import re
import signal
import subprocess
import sys
import time

import pytest
from test_trim_command import heard

OPEN_MHZ = 90.3


@pytest.fixture
def tuner(tmp_path):
    """A program that writes where it is to tune into one pipe and waits at another."""
    for name in ("asked", "set"):
        os.mkfifo(tmp_path / name)
    program = tmp_path / "tuner.py"
    program.write_text("import sys\nopen('asked', 'w').write(sys.argv[1])\nopen('set').read()\n")
    return f"{sys.executable} {program} {{khz}}"


def watching(server, tmp_path, tuner, *words):
    command = [sys.executable, "-m", "listen", "watch", "--at", "100.74", "--input", "linein"]
    command += ["--open", str(OPEN_MHZ), "--every", "0", "--tune-with", tuner, *words]
    return subprocess.Popen(
        command,
        env=server.env,
        cwd=tmp_path,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def tuned(process, player, tmp_path, sound_mhz):
    """Be the radio once: tune where it is asked to and play what is heard there.

    Gives the dial; None where the command ended instead of asking.
    """
    pipe = os.open(tmp_path / "asked", os.O_RDONLY | os.O_NONBLOCK)
    text = b""
    ends_s = time.monotonic() + 30
    while process.poll() is None and time.monotonic() < ends_s:
        with contextlib.suppress(BlockingIOError):  # opened, and not yet written
            text += os.read(pipe, 64)
        if text:
            break
        time.sleep(0.02)
    os.close(pipe)
    if not text:
        return None
    dial_mhz = float(text) / 1e3
    player.play(heard(dial_mhz, sound_mhz))
    with (tmp_path / "set").open("w") as answer:
        answer.write("yes")
    return dial_mhz


def rows(path):
    if not path.exists():
        return []
    with path.open(newline="") as file:
        return list(csv.DictReader(file))


def test_a_carrier_that_moves_is_seen_to_and_drawn(server, player, tmp_path, tuner):
    words = ("--for", "1.25", "--picture", "drift.png")
    process = watching(server, tmp_path, tuner, *words)
    log, dials, sound_mhz = tmp_path / "drift.csv", [], 100.74
    while (dial_mhz := tuned(process, player, tmp_path, sound_mhz)) is not None:
        dials.append(dial_mhz)
        if len(rows(log)) >= 2:
            sound_mhz = 100.78
    said, errors = process.communicate(timeout=30)
    assert (process.returncode, errors) == (1, "")  # too short a time to have settled
    assert dials[0] == OPEN_MHZ
    kept = rows(log)
    assert len(kept) >= 4
    three = set(kept[1]["stops_mhz"].split())
    assert len(three) == 3
    assert all(set(row["stops_mhz"].split()) == three for row in kept[1:])
    # By 40 kHz: the interval must hold that.
    last = kept[-1]
    assert float(last["offset_low_khz"]) <= 40 <= float(last["offset_high_khz"])
    assert float(last["offset_khz"]) > 0
    assert "kHz since the first round" in said
    assert "\x1b" not in said
    assert (tmp_path / "drift.png").read_bytes().startswith(b"\x89PNG")


def test_an_input_that_is_lost_keeps_the_log(server, player, tmp_path, tuner):
    process = watching(server, tmp_path, tuner)
    log = tmp_path / "drift.csv"
    while not rows(log):
        tuned(process, player, tmp_path, 100.74)
    server.send(signal.SIGKILL)
    _, errors = process.communicate(timeout=60)
    assert process.returncode == 2
    first, second = errors.splitlines()
    assert "went away" in first
    assert re.match(
        r"The log is kept in drift\.csv\.  To go on:  listen watch .*--at 100\.7", second
    )
    assert len(rows(log)) == 1
