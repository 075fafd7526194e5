"""What the measures read on model benches: `python tests/bench_measures.py`.

Prints the two tables that docs/clarity.md and docs/carrier-fit.md show: what each measure of
a programme reads for consoles and for stations, and how wide a carrier of each strength is
held.  One core for about a minute.  No test: the constants of listen/analysis were chosen by
tables like these.
"""

from dataclasses import replace

import numpy as np

from listen.analysis.heard import judge
from listen.analysis.measures import measure
from listen.analysis.survey import survey
from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench
from listen.simulate.receiver import Receiver

OPEN_MHZ, CARRIER_MHZ = 90.0, 100.75
SEEDS = 30
DWELL_S = 2.0
KINDS = {
    "console, 25 kHz, chip": lambda db, seed: console(db, seed, 25.0, "chip"),
    "console, 50 kHz, chip": lambda db, seed: console(db, seed, 50.0, "chip"),
    "console, 50 kHz, tone": lambda db, seed: console(db, seed, 50.0, "tone"),
    "console, 50 kHz, effects": lambda db, seed: console(db, seed, 50.0, "effects"),
    "station, music": lambda db, seed: Station(CARRIER_MHZ, db, "music", seed),
    "station, speech": lambda db, seed: Station(CARRIER_MHZ, db, "speech", seed),
    "station, chip": lambda db, seed: Station(CARRIER_MHZ, db, "chip", seed),
}


def console(strength_db, seed, deviation_khz, programme):
    """A console with its sound carrier at CARRIER_MHZ, playing as loud as they vary."""
    share = 0.3 + 0.7 * (seed % 10) / 9
    return Console(
        CARRIER_MHZ,
        strength_db,
        deviation_khz=deviation_khz,
        modulation=share,
        programme=programme,
        seed=seed,
    )


def bench_with(emitter, receiver, seed=0):
    """A bench with this one emitter."""
    if isinstance(emitter, Station):
        return Bench((emitter,), receiver=receiver, seed=seed)
    return Bench((), emitter, receiver=receiver, seed=seed)


def read_kind(make):
    """Loudness over the roar, lines, still, buzz and odds, a row a bench."""
    rng = np.random.default_rng(1)
    rows = []
    for seed in range(SEEDS):
        off_khz, strength_db = rng.uniform(-50, 50), rng.uniform(20, 45)
        bench = bench_with(make(strength_db, seed), Receiver(), seed)
        dials = (OPEN_MHZ, OPEN_MHZ + 0.4, CARRIER_MHZ + off_khz / 1e3)
        sweep = survey(
            tuple(measure(bench.hear(d, DWELL_S, at_s=4.0 * i)) for i, d in enumerate(dials))
        )
        stop = sweep.stops[2]
        loud_db = stop.programme.peak_dbfs - sweep.stops[0].level_dbfs
        found = stop.programme.lines, stop.programme.still, stop.comb.buzz_db
        rows.append((loud_db, *found, judge(sweep, 2, (50.0, 60.0)).odds))
    return np.array(rows)


def print_kinds():
    """The table of docs/clarity.md: 10th, 50th and 90th percentile of each measure."""
    names = ("peak over roar, dB", "lines", "still", "buzz, dB", "odds")
    print("| " + " | ".join(("", *names)) + " |")
    print("|---" * (len(names) + 1) + "|")
    for kind, make in KINDS.items():
        rows = np.nanpercentile(read_kind(make), (10, 50, 90), axis=0)
        cells = [
            " ".join(f"{value:.{digits}f}" for value in rows[:, column])
            for column, digits in enumerate((1, 2, 2, 1, 1))
        ]
        print("| " + " | ".join((kind, *cells)) + " |")


def held(emitter, receiver):
    """Half-width in kHz where the hiss is 3 dB under the roar, and the deepest quieting, dB."""
    offsets_khz = np.arange(0.0, 433.0, 12.0)
    bench = bench_with(emitter, receiver)
    stops = [measure(bench.hear(OPEN_MHZ + 0.2 * i, DWELL_S)) for i in range(3)]
    stops += [measure(bench.hear(CARRIER_MHZ + khz / 1e3, DWELL_S)) for khz in offsets_khz]
    quieting_db = survey(tuple(stops)).quieting_db[3:]
    outside = int(np.argmax(quieting_db < 3.0))
    half_khz = np.interp(
        -3.0, -quieting_db[outside - 1 : outside + 1], offsets_khz[outside - 1 : outside + 1]
    )
    return float(half_khz), float(quieting_db.max())


def print_widths():
    """The table of docs/carrier-fit.md."""
    strengths_db = (10, 15, 25, 35, 45)
    print("| passband, carrier | " + " | ".join(f"{db} dB" for db in strengths_db) + " |")
    print("|---" * (len(strengths_db) + 1) + "|")
    silent = console(0, 0, 50.0, "silence")
    music = Station(CARRIER_MHZ, 0, "music", 3)
    for passband_khz in (150.0, 200.0, 250.0):
        for name, emitter in (("silent console", silent), ("station", music)):
            found = [
                held(replace(emitter, strength_db=float(db)), Receiver(passband_khz=passband_khz))
                for db in strengths_db
            ]
            cells = [f"±{half:.0f} kHz, {deep:.0f} dB" for half, deep in found]
            print(f"| {passband_khz:.0f} kHz, {name} | " + " | ".join(cells) + " |")


if __name__ == "__main__":
    print_kinds()
    print()
    print_widths()
