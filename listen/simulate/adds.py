"""What each thing heard adds to placing a carrier: `python -m listen.simulate.adds`.

Benches are walked, and each walk is answered four times: by the hiss alone; with the loudness of
the stops (loud.py); with the picture's stops (picture_fit.py), which speak for the sound carrier
one spacing above; with both, as `listen locate` does.  The errors of the same benches stand under
each other, the dial's own error left in.  A console that drifts is looked for where it stood
when the stop nearest to it was recorded.

    python -m listen.simulate.adds --heard heard --benches 40 --first-seed 20000
"""

import argparse
import sys
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np

from listen.analysis.measures import Measures
from listen.analysis.weigh import Weighed, weigh
from listen.errors import ListenError
from listen.radio import Radio
from listen.simulate.heard import Store
from listen.simulate.judge import drifted_mhz, walked
from listen.simulate.pool import each
from listen.simulate.trials import chosen

ROWS = ("hiss alone", "and loudness", "and the picture", "all")
RIGHT_KHZ = 150.0  # what is further off is another carrier


def errors_khz(stops: tuple[Measures, ...], radio: Radio, truth_mhz: float) -> tuple[float, ...]:
    """Answer minus truth, kHz, in the order of ROWS; the likeliest carrier, found or not."""
    deaf = tuple(replace(stop, clipped=1.0) for stop in stops)  # then no loudness is believed
    off = []
    for heard in (weigh(deaf, radio), weigh(stops, radio)):
        off += [_off_khz(heard, joined, truth_mhz) for joined in (False, True)]
    return off[0], off[2], off[1], off[3]


def _off_khz(heard: Weighed, joined: bool, truth_mhz: float) -> float:
    if not heard.candidates:
        return float("inf")
    best = heard.candidates[0]
    fit = best.joined if joined and best.joined is not None else best.fit
    return 1e3 * (heard.error.true_mhz(fit.mean_mhz) - truth_mhz)


def judged(name: str, heard: Path | None, seed: int) -> tuple[float, ...] | None:
    """One bench of a condition; None where another carrier than the console's was likeliest."""
    scene = chosen([name])[0].scene
    bench, truth = scene.make(seed)
    if truth.sound_mhz is None:
        raise ListenError(f"{name} has no console: there is no carrier to place")
    radio = scene.told(truth)
    walk = walked(scene, bench, radio, False, scene.plan(truth), Store(heard))
    found = errors_khz(walk.stops, radio, truth.sound_mhz + drifted_mhz(bench, walk.stops))
    return found if max(map(abs, found)) < RIGHT_KHZ else None


def table(found: Sequence[tuple[float, ...]]) -> str:
    """Median, RMS and 95 % of the absolute error, a row for what is heard, as Markdown."""
    lines = ["| heard | median kHz | RMS kHz | 95 % kHz |", "|---|---:|---:|---:|"]
    for words, column in zip(ROWS, np.abs(np.array(found)).T, strict=True):
        rms_khz = np.sqrt(np.mean(np.square(column)))
        cells = (np.median(column), rms_khz, np.percentile(column, 95))
        lines.append(f"| {words} |" + "".join(f" {khz:.1f} |" for khz in cells))
    return "\n".join(lines)


def main(words: Sequence[str] | None = None) -> int:
    """Print the table over the benches asked for."""
    parser = argparse.ArgumentParser(
        prog="python -m listen.simulate.adds",
        description="What loudness and picture add to hiss in placing a sound carrier.",
    )
    add = parser.add_argument
    add("--condition", default="dial-200", metavar="NAME", help="(dial-200)")
    add("--benches", type=int, default=40, metavar="N", help="(40)")
    add("--first-seed", type=int, default=20_000, metavar="S", help="(20000)")
    add("--heard", type=Path, metavar="DIR", help="keep what was heard there, and use it again")
    add("--workers", type=int, default=2, metavar="N", help="processes (2)")
    options = parser.parse_args(words)
    try:
        if min(options.benches, options.workers) < 1 or options.first_seed < 0:
            raise ListenError("--benches and --workers start at 1, --first-seed at 0")
        seeds = range(options.first_seed, options.first_seed + options.benches)
        one = partial(judged, options.condition, options.heard)
        found = [errors for errors in each(one, seeds, options.workers) if errors is not None]
        if not found:
            raise ListenError("no bench's console was the likeliest carrier: give other seeds")
        print(f"{len(found)} of {options.benches} benches, {options.condition}")
        print(table(found))
    except ListenError as why:
        print(f"adds: {why}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("\nStopped.", file=sys.stderr)
        return 130
    return 0


if __name__ == "__main__":
    sys.exit(main())
