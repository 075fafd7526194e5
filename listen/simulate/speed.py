"""How many times faster than real time the bench is: `python -m listen.simulate.speed`.

One core is used.  Each row hears several stops of one kind and prints seconds of recording
made a second of processor time.
"""

import time
from dataclasses import replace

from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench
from listen.simulate.scenarios import dial_stops, random_bench

STOPS = 8


def speed(bench: Bench, dials_mhz: tuple[float, ...], dwell_s: float) -> float:
    """Seconds of recording made a second of processor time; the first stop is not counted."""
    bench.hear(dials_mhz[0], dwell_s)
    began_s = time.process_time()
    for number, dial_mhz in enumerate(dials_mhz):
        bench.hear(dial_mhz, dwell_s, at_s=3.0 * number)
    return len(dials_mhz) * dwell_s / (time.process_time() - began_s)


def main() -> None:
    """Print one row a kind of stop."""
    bench = Bench((Station(98.0, 40.0),), Console(107.75, 30.0))
    crowded, _ = random_bench(1, stations=(15, 15))
    rows = [
        ("no carrier near", bench, (90.0,) * STOPS),
        ("a console's sound", bench, (107.75,) * STOPS),
        ("a console's picture", bench, (102.25,) * STOPS),
        ("a stereo station", bench, (98.0,) * STOPS),
        ("a whole crowded dial", crowded, dial_stops()),
    ]
    print(f"{'times real time':28}{'1 s stops':>12}{'4 s stops':>12}")
    for name, row_bench, dials_mhz in rows:
        speeds = [speed(row_bench, dials_mhz, dwell_s) for dwell_s in (1.0, 4.0)]
        print(f"{name:28}{speeds[0]:12.1f}{speeds[1]:12.1f}")
    full = speed(replace(bench, quality="full"), (107.75,) * 3, 1.0)
    print(f"{'the same console, full':28}{full:12.1f}")


if __name__ == "__main__":
    main()
