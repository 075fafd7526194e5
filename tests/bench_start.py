"""What starting and locating cost, as ratios: `python tests/bench_start.py [FOLDER]`.

version  `listen --version` over `python -c "import numpy"`: medians of 9 runs each, taken in
         turns.  At most 1.5 is wanted; more is exit status 1
locate   `listen locate FOLDER` over one cold process that reads the same recordings and runs
         one scipy.signal.stft over each: medians of 5 in turns.  No goal is claimed yet

FOLDER is a sweep folder; without it one of 100 stops of 3 s is made by the model bench, in a
temporary place.  No test, since times hang on the machine and on what else it does.
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

HOME = Path(__file__).parent.parent
STARTS, LOCATES = 9, 5
MOST = 1.5
STOPS, DWELL_S = 100, 3.0
READ_AND_STFT = """
import csv, sys
from pathlib import Path
import scipy.signal, soundfile
folder = Path(sys.argv[1])
with (folder / "stops.csv").open(newline="", encoding="utf-8") as table:
    for row in csv.DictReader(table):
        samples, rate_hz = soundfile.read(folder / row["file"], dtype="float32", always_2d=True)
        scipy.signal.stft(samples[:, 0], rate_hz, nperseg=2048)
"""


def seconds(command):
    """Wall-clock seconds of one run, its output thrown away."""
    env = {**os.environ, "PYTHONPATH": str(HOME)}
    began_s = time.perf_counter()
    done = subprocess.run(command, env=env, capture_output=True, check=False)
    took_s = time.perf_counter() - began_s
    assert done.returncode in (0, 1), done.stderr.decode()
    return took_s


def compare(name, ours, theirs, runs):
    """Print both medians and their ratio; give the ratio.  The first run of each is not counted."""
    taken = [(seconds(ours), seconds(theirs)) for _ in range(runs + 1)][1:]
    ours_s, theirs_s = (median(column) for column in zip(*taken, strict=True))
    print(f"{name:10}{ours_s:9.3f} s{theirs_s:9.3f} s   ratio {ours_s / theirs_s:.2f}")
    return ours_s / theirs_s


def entry_point():
    """The installed `listen` beside this Python, or the module where there is none."""
    script = Path(sys.executable).parent / "listen"
    return [str(script)] if script.exists() else [sys.executable, "-m", "listen"]


def make_folder(path):
    """A sweep of STOPS stops with a console in it."""
    from listen.simulate.bench import write_sweep
    from listen.simulate.scenarios import demo_bench

    dials_mhz = tuple(round(98.1 + 0.1 * number, 1) for number in range(STOPS))
    write_sweep(demo_bench(), path, dials_mhz, dwell_s=DWELL_S)


def main(words):
    """Both ratios."""
    python, listen = sys.executable, entry_point()
    print(f"{'':10}{'listen':>11}{'other':>11}")
    ratio = compare("version", [*listen, "--version"], [python, "-c", "import numpy"], STARTS)
    with tempfile.TemporaryDirectory() as home:
        folder = Path(words[0]) if words else Path(home) / "sweep"
        if not words:
            make_folder(folder)
        theirs = [python, "-c", READ_AND_STFT, str(folder)]
        compare("locate", [*listen, "locate", str(folder)], theirs, LOCATES)
    return 0 if ratio <= MOST else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
