"""What it costs to locate in a recorded sweep: `python tests/bench_folder.py [FOLDER]`.

time    `python -m listen locate FOLDER --json` over one cold process that reads the same
        recordings with soundfile and runs one scipy.signal.stft over each, in turns; wall
        and processor time, the least and the median of RUNS, and the ratio of the medians.
        At most 1 is wanted; more processor time than that is exit status 1, since what else
        the machine does moves the other
memory  the most that was resident while sweeps of 100, 500 and 2000 stops were located, and
        one take of an hour that is cut into 1200 rows

FOLDER is a sweep folder; without it one of 100 stops of 3 s is made by the model bench, in a
temporary place.  The longer sweeps are made of its recordings.  No test, since times hang on
the machine and on what else it does.
"""

import csv
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

HOME = Path(__file__).parent.parent
RUNS = 7
STOPS, DWELL_S = 100, 3.0
MANY = (100, 500, 2000)
HOUR_S = 3600
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
MAKE_SWEEP = f"""
import sys
from listen.simulate.bench import write_sweep
from listen.simulate.scenarios import demo_bench
dials_mhz = tuple(round(98.1 + 0.1 * number, 1) for number in range({STOPS}))
write_sweep(demo_bench(), sys.argv[1], dials_mhz, dwell_s={DWELL_S})
"""


def cost(command):
    """Wall seconds, processor seconds and the most resident memory in MiB of one run."""
    env = {**os.environ, "PYTHONPATH": str(HOME)}
    began_s = time.perf_counter()
    running = subprocess.Popen(command, env=env, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(running.pid, 0)
    running.returncode = os.waitstatus_to_exitcode(status)
    assert running.returncode in (0, 1), command
    wall_s = time.perf_counter() - began_s
    return wall_s, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def locate(folder):
    return [sys.executable, "-m", "listen", "locate", str(folder), "--json"]


def compare(folder):
    """Print both costs and their ratios; give the last one.  The first runs do not count."""
    theirs = [sys.executable, "-c", READ_AND_STFT, str(folder)]
    taken = [(cost(locate(folder)), cost(theirs)) for _ in range(RUNS + 1)][1:]
    print(f"{'':24}{'locate':>16}{'read and stft':>18}")
    print(f"{'':24}{'least  median':>16}{'least  median':>18}   ratio")
    for kind, name in enumerate(("wall", "processor")):
        ours_s, theirs_s = ([run[side][kind] for run in taken] for side in (0, 1))
        ratio = median(ours_s) / median(theirs_s)
        print(
            f"{f'{name} time, seconds':24}{min(ours_s):8.2f}{median(ours_s):8.2f}"
            f"{min(theirs_s):10.2f}{median(theirs_s):8.2f}{ratio:8.2f}"
        )
    return ratio


def rows_of(folder):
    with (folder / "stops.csv").open(newline="", encoding="utf-8") as table:
        return list(csv.DictReader(table))


def write_rows(folder, header, rows):
    with (folder / "stops.csv").open("w", newline="", encoding="utf-8") as table:
        csv.writer(table).writerows([header, *rows])


def repeated(folder, count, home):
    """A sweep of count stops over the same band, its recordings those of a folder."""
    made = home / f"of-{count}"
    made.mkdir()
    rows = rows_of(folder)
    dial_mhz = [float(row["dial_mhz"]) for row in rows]
    step_mhz = (max(dial_mhz) - min(dial_mhz)) / max(count - 1, 1)
    stops = []
    for number in range(count):
        name = rows[number * len(rows) // count]["file"]
        own = f"{number:04}-{name}"
        os.link(folder / name, made / own)
        stops.append([own, f"{min(dial_mhz) + number * step_mhz:.3f}"])
    write_rows(made, ["file", "dial_mhz"], stops)
    return made


def one_take(folder, home):
    """An hour in one recording, a row for each of the stops it is made of."""
    import soundfile

    made = home / "take"
    made.mkdir()
    rows = rows_of(folder)
    stops, at_s = [], 0.0
    about = soundfile.info(folder / rows[0]["file"])
    with soundfile.SoundFile(
        made / "take.flac", "w", about.samplerate, about.channels, "PCM_24"
    ) as take:
        while at_s < HOUR_S:
            row = rows[len(stops) * len(rows) * int(DWELL_S) // HOUR_S % len(rows)]
            samples, rate_hz = soundfile.read(folder / row["file"], dtype="int32")
            take.write(samples)
            end_s = at_s + len(samples) / rate_hz
            stops.append(["take.flac", row["dial_mhz"], f"{at_s:.3f}", f"{end_s:.3f}"])
            at_s = end_s
    write_rows(made, ["file", "dial_mhz", "start_s", "end_s"], stops)
    return made


def make_folder(path):
    """A sweep of STOPS stops with a console in it.

    Made by a process of its own: a child's memory is counted from what its parent held.
    """
    env = {**os.environ, "PYTHONPATH": str(HOME)}
    subprocess.run([sys.executable, "-c", MAKE_SWEEP, str(path)], env=env, check=True)


def main(words):
    """The ratio, then the memory."""
    with tempfile.TemporaryDirectory() as temporary:
        home = Path(temporary)
        folder = Path(words[0]) if words else home / "sweep"
        if not words:
            make_folder(folder)
        ratio = compare(folder)
        print()
        for name, path in [
            *((f"{count} stops", repeated(folder, count, home)) for count in MANY),
            ("an hour in one file", one_take(folder, home)),
        ]:
            wall_s, _, resident_mib = cost(locate(path))
            print(f"{name:24}{wall_s:8.2f} s{resident_mib:8.0f} MiB")
    return 0 if ratio <= 1 else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
