"""A sweep that is killed, cut off or out of room keeps every stop that it listed.

Kills are real ones, of a process of its own; cuts fall at every single call to the system in
turn, half of what was to be written being written; a full disk is a limit on file sizes.
"""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from listen.folder import FolderWriter, read_folder

REPOSITORY = Path(__file__).parent.parent


WALK = """
import sys, numpy as np
from datetime import datetime, UTC
from listen.folder import FolderWriter
writer = FolderWriter.open(sys.argv[1])
for n in range(len(writer.stops), 4000):
    samples = np.random.default_rng(n).integers(-9000, 9000, (1600, 2)) / np.float32(2**15)
    extra = {f"more {n // 5}": "x"} if n % 5 == 0 else {}  # a new column: the table is rewritten
    writer.add(samples, 8000, 88 + n / 1000, "on" if n % 2 else "off", datetime.now(UTC), extra)
    print(n, flush=True)
"""


def test_a_sweep_killed_at_any_instant_keeps_every_stop_it_listed(tmp_path):
    folder = tmp_path / "s"
    pick = random.Random(7)
    said = -1
    for _ in range(8):
        walk = subprocess.Popen(
            [sys.executable, "-c", WALK, str(folder)],
            cwd=REPOSITORY,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert walk.stdout is not None
        for _ in range(pick.randrange(1, 12)):
            said = int(walk.stdout.readline())
        time.sleep(pick.random() * 0.01)  # somewhere within the writing of a stop
        walk.send_signal(signal.SIGKILL)
        said = max([said, *map(int, walk.stdout.read().split())])
        walk.wait()
        walk.stdout.close()
        sweep = read_folder(folder)
        assert len(sweep.stops) - 1 in (said, said + 1)  # listed, perhaps not yet told
        for n, clip in enumerate(sweep.clips()):
            samples = np.random.default_rng(n).integers(-9000, 9000, (1600, 2)) / 2**15
            assert clip.spoiled == ""
            assert clip.dial_mhz == 88 + n / 1000
            assert clip.console == ("on" if n % 2 else "off")
            assert np.array_equal(clip.samples, samples), n
        assert len({stop.file for stop in sweep.stops}) == len(sweep.stops)


POWER_CUTS = """
import os, sys, numpy as np
from pathlib import Path
from listen.folder import FolderWriter

def cut_at(call, folder):
    calls = 0
    def cutting(name):
        real = getattr(os, name)
        def instead(*args, **kwargs):
            nonlocal calls
            calls += 1
            if calls == call:
                if name == "write":
                    real(args[0], args[1][: len(args[1]) // 2])
                os._exit(9)
            return real(*args, **kwargs)
        setattr(os, name, instead)
    for name in ("mkdir", "open", "write", "fsync", "close", "replace"):
        cutting(name)
    writer = FolderWriter.create(folder)
    for n in range(3):
        writer.add(np.full(1000, n / 8, np.float32), 8000, 88.5 + n, extra={"n": "x"} if n else {})
        with open(f"{folder}.told", "a") as told:
            print(n, file=told)
    os._exit(0)

call = 0
ended = 9
while ended == 9:
    call += 1
    child = os.fork()
    if not child:
        cut_at(call, Path(sys.argv[1]) / str(call))
    ended = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
print(call, ended)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork")
def test_a_stop_at_every_single_call_to_the_system_loses_nothing_that_was_told(tmp_path):
    run = subprocess.run(
        [sys.executable, "-c", POWER_CUTS, str(tmp_path)],
        cwd=REPOSITORY,
        capture_output=True,
        text=True,
        check=True,
    )
    calls, ended = map(int, run.stdout.split())
    assert ended == 0
    assert calls > 30  # eight calls for each stop, eight for each small file, and the folder's
    torn = unlisted = 0
    for call in range(1, calls + 1):
        folder = tmp_path / str(call)
        note = Path(f"{folder}.told")
        told = len(note.read_text().split()) if note.exists() else 0
        if not (folder / "sweep.toml").exists():
            assert told == 0
            FolderWriter.open(folder)  # nothing had been begun: it is begun
        writer = FolderWriter.resume(folder)
        assert told <= len(writer.stops) <= told + 1
        torn += (folder / "stops.csv").exists() and not (
            (folder / "stops.csv").read_bytes().endswith(b"\n")
        )
        unlisted += len(list(folder.glob("*.flac"))) > len(writer.stops)
        for n in range(len(writer.stops), 4):
            writer.add(np.full(1000, n / 8, np.float32), 8000, 88.5 + n)
        clips = list(read_folder(folder).clips())
        assert [clip.dial_mhz for clip in clips] == [88.5, 89.5, 90.5, 91.5]
        assert [clip.spoiled for clip in clips] == [""] * 4
        assert [float(clip.samples[0, 0]) for clip in clips] == [0, 0.125, 0.25, 0.375]
    assert torn >= 2  # the cuts did fall within rows, and between a recording and its row
    assert unlisted >= 6


FULL = """
import resource, signal, sys, numpy as np
from listen.errors import CannotWrite
from listen.folder import FolderWriter
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
writer = FolderWriter.create(sys.argv[1])
quiet = np.zeros((1600, 1), np.float32)
writer.add(quiet, 8000, 88.0, extra={"why": "x"})
writer.add(quiet, 8000, 88.1)
resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, resource.RLIM_INFINITY))
loud = np.random.default_rng(0).uniform(-1, 1, (16000, 1)).astype(np.float32)
try:
    if sys.argv[2] == "recording":
        writer.add(loud, 8000, 88.2)
    else:
        writer.add(quiet, 8000, 88.2, extra={"why": "x" * 30_000})
except CannotWrite as why:
    print(why)
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
writer.add(quiet, 8000, 88.3)
"""


@pytest.mark.parametrize("what", ["recording", "row"])
def test_a_full_disk_is_one_sentence_and_what_was_listed_stays(tmp_path, what):
    # A limit on the size of a file makes the system refuse in the middle of writing it, as a
    # full disk does.
    folder = tmp_path / "s"
    run = subprocess.run(
        [sys.executable, "-c", FULL, str(folder), what],
        cwd=REPOSITORY,
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.stderr == ""
    assert run.stdout.startswith(f"cannot write to {folder}: file too large; the 2 stops listed")
    assert [stop.dial_mhz for stop in read_folder(folder).stops] == [88.0, 88.1, 88.3]
    names = {path.name for path in folder.glob("*.flac")}
    unlisted = names - {stop.file for stop in read_folder(folder).stops}
    # Half a recording is taken away; a whole one whose row found no room stays.
    assert unlisted == (set() if what == "recording" else {"003-088.20-on.flac"})
    assert [clip.spoiled for clip in read_folder(folder).clips()] == ["", "", ""]
