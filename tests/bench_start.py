"""What starting costs, as a ratio: `python tests/bench_start.py`.

`listen --version` over `python -c "import numpy"`: medians of 9 runs each, taken in turns.
At most 1.5 is wanted; more is exit status 1.  No test, since times hang on the machine and on
what else it does.
"""

import os
import subprocess
import sys
import time
from pathlib import Path
from statistics import median

HOME = Path(__file__).parent.parent
STARTS = 9
MOST = 1.5


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


def main():
    """The ratio."""
    print(f"{'':10}{'listen':>11}{'other':>11}")
    ours, theirs = [*entry_point(), "--version"], [sys.executable, "-c", "import numpy"]
    return 0 if compare("version", ours, theirs, STARTS) <= MOST else 1


if __name__ == "__main__":
    sys.exit(main())
