"""What each piece of knowledge of the radio would buy: `python -m listen.simulate.known`.

The bound (bound.py) knows a radio's whole curve, the locator only a family of curves.  Between
them lie three pieces: how steep the cliffs are and how the roar rises at their feet (steepness
and foot: a profile), and how far apart the cliffs stand (the half-width).  Each may be given to
the locator alone, and what is left of its error says what learning it would be worth.

For each bench the curve is drawn with nothing but the console on the air.  Dials of DIALS_KHZ
are laid over it, one at every offset that they may have; their readings are the curve's plus
its scatter.  With L(h, p, x) how well half-width h, profile p and carrier x explain them, the
answer is the mean over x of

    sum over h and p of  prior(h, p) · L(h, p, x)

and only the prior differs.  Without knowledge it is the locator's own before any station is
heard.  With knowledge its part for h, for p or for both is replaced by what every offset of the
curve says together, the carrier's place given.  x is as likely anywhere within WINDOW_KHZ.

    python -m listen.simulate.known --benches 8 --first-seed 20000
"""

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from listen.analysis.cliffs import (
    CLIFF_DB,
    CLIFF_PER_DB,
    FLOORS_DB,
    LEAKS,
    LIFTS,
    ON_FLOOR_DB,
    STEEP_SPREAD,
    STEEPS,
    SWING,
    USUAL_STEEP,
)
from listen.analysis.curve import DEGREES, ROAR_DB
from listen.analysis.plateau import noise_share
from listen.analysis.width import HALF_WIDTHS_KHZ, half_width_weights, radio_weights
from listen.errors import ListenError
from listen.simulate.bound import Curve, draw_curve
from listen.simulate.scenarios import random_bench

Floats = NDArray[np.float64]

DIALS_KHZ = (105.0, 195.0)  # multiples of the curve's offsets
WINDOW_KHZ = np.arange(-80.0, 81.0, 4.0)  # of the carrier, about its true place
WIDTHS_KHZ = np.arange(70.0, 431.0, 8.0)
GRID_KHZ = float(np.hypot(4.0, 8.0) / np.sqrt(12))  # what a cliff may stand off either grid
AWAY_KHZ = np.arange(0.0, 511.0)  # distances told apart
PLATEAU_DB = 1.4  # scatter on the floor
PASSBAND_KHZ = (150.0, 280.0)  # believed before anything is heard
HELD_DB = 5.0  # a dial without a stop as quiet as this has nothing to place
KNOWN = ("nothing", "steepness and foot", "half-width", "all")
DWELL_S = 1.0
RESAMPLES = 400


@dataclass(frozen=True, slots=True)
class Answer:
    """Where one dial's readings put the carrier.

    error_khz   the mean's, its sign kept
    spread_khz  what the answer believes its error to be
    score       natural logarithm of its density at the true place, per kHz
    """

    error_khz: float
    spread_khz: float
    score: float


class Family:
    """Every curve, over distance: noise and its slope in dB a kHz, shape (h, distance, p)."""

    def __init__(self) -> None:
        steep, lift, leak = (x.ravel() for x in np.meshgrid(STEEPS, LIFTS, LEAKS, indexing="ij"))
        far = AWAY_KHZ[:, None] / WIDTHS_KHZ[:, None, None]
        self.noise = np.asarray(noise_share(far, steep, lift, leak, SWING), np.float32)
        slope = np.gradient(10 * np.log10(self.noise + 1e-9), AWAY_KHZ, axis=1)
        self.slope = slope.astype(np.float32)
        share = np.exp(-0.5 * np.square(np.log(steep / USUAL_STEEP) / STEEP_SPREAD))
        self.profiles: Floats = share / share.sum()
        self.radio = radio_weights([], PASSBAND_KHZ)

    def likelihood(self, stops_khz: Floats, quieting_db: Floats, carrier_khz: Floats) -> Floats:
        """Of readings, up to a factor, shape (h, carriers, p)."""
        logs = []
        for beyond_db in FLOORS_DB:
            floor_db = float(quieting_db.max()) + beyond_db
            total = np.zeros((WIDTHS_KHZ.size, carrier_khz.size, self.profiles.size), np.float32)
            for stop_khz, reading_db in zip(stops_khz, quieting_db, strict=True):
                place = np.rint(np.abs(stop_khz - carrier_khz)).astype(np.intp)
                noise = self.noise[:, place]
                whole = noise + np.float32(10 ** (-floor_db / 10))
                expected_db = -10 * np.log10(whole)
                rough_db = np.clip(ROAR_DB + CLIFF_PER_DB * np.abs(expected_db), ROAR_DB, CLIFF_DB)
                astray_db = np.float32(GRID_KHZ) * self.slope[:, place] * noise / whole
                rough_db = np.hypot(rough_db, astray_db)
                on_floor = expected_db > floor_db - ON_FLOOR_DB
                rough_db = np.where(on_floor, np.float32(PLATEAU_DB), rough_db)
                gap = (expected_db - np.float32(reading_db)) / rough_db
                total -= (DEGREES + 1) / 2 * np.log1p(gap * gap / DEGREES) + np.log(rough_db)
            logs.append(total)
        top = max(float(total.max()) for total in logs)
        return np.asarray(sum(np.exp(total - top, dtype=np.float64) for total in logs))

    def priors(self, drawn: Curve, deepest_db: float) -> dict[str, Floats]:
        """Each shape (h, p), by what is known.

        drawn       the radio's curve, which whoever knows has read
        deepest_db  the quietest reading of the dial: it tells the carrier's strength
        """
        seen = self.likelihood(drawn.offset_khz, drawn.middle_db, np.zeros(1))[:, 0]
        own = half_width_weights(deepest_db, self.radio)
        width = np.interp(WIDTHS_KHZ, HALF_WIDTHS_KHZ, own)
        width /= width.sum()
        told = seen * self.profiles / (seen * self.profiles).sum()
        choices = (
            np.outer(width, self.profiles),
            np.outer(width, told.sum(axis=0)),
            np.outer(told.sum(axis=1), self.profiles),
            told,
        )
        return dict(zip(KNOWN, choices, strict=True))


def answers(family: Family, drawn: Curve, stops_khz: Floats, reading_db: Floats) -> list[Answer]:
    """One dial's answers, in the order of KNOWN.

    stops_khz   shape (n,): dial minus the place of the dial that is centred on the carrier
    reading_db  shape (n,): quieting
    """
    likely = family.likelihood(stops_khz, reading_db, WINDOW_KHZ)
    step_khz = float(WINDOW_KHZ[1] - WINDOW_KHZ[0])
    found = []
    for prior in family.priors(drawn, float(reading_db.max())).values():
        weight = np.einsum("hxp,hp->x", likely, prior)
        weight /= weight.sum()
        mean = float(weight @ WINDOW_KHZ)
        variance = float(weight @ np.square(WINDOW_KHZ - mean)) + step_khz**2 / 12
        at_truth = float(weight[WINDOW_KHZ.size // 2]) / step_khz
        found.append(Answer(mean, float(np.sqrt(variance)), float(np.log(at_truth + 1e-6))))
    return found


def judged(
    family: Family, drawn: Curve, dial_khz: float, rng: np.random.Generator
) -> list[list[Answer]]:
    """The answers of every dial of this step that fits on the curve's offsets."""
    every = round(dial_khz / float(np.diff(drawn.offset_khz[:2])[0]))
    found = []
    for phase in range(every):
        stops = slice(phase, None, every)
        middle_db, scatter_db = drawn.middle_db[stops], drawn.scatter_db[stops]
        reading_db = middle_db + scatter_db * rng.standard_normal(middle_db.size)
        if reading_db.max() >= HELD_DB:
            found.append(answers(family, drawn, drawn.offset_khz[stops], reading_db))
    return found


def table(by_dial: dict[float, list[list[list[Answer]]]]) -> str:
    """Median and RMS error and mean spread, a row for what is known, as Markdown.

    by_dial  for each step, for each bench, what judged() gave
    """
    heads = "".join(f" {khz:.0f} kHz: median | RMS | spread |" for khz in by_dial)
    lines = ["| known |" + heads, "|---|" + "---:|---:|---:|" * len(by_dial)]
    for row, known in enumerate(KNOWN):
        cells = ""
        for benches in by_dial.values():
            missed_khz = [np.array([abs(dial[row].error_khz) for dial in b]) for b in benches if b]
            every = np.concatenate(missed_khz)
            spread_khz = np.mean([dial[row].spread_khz for b in benches for dial in b])
            rms_khz = np.sqrt(np.mean(np.square(every)))
            cells += f" {np.median(every):.1f} ± {unsure_khz(missed_khz):.1f} | {rms_khz:.1f} |"
            cells += f" {spread_khz:.1f} |"
        lines.append(f"| {known} |{cells}")
    return "\n".join(lines)


def unsure_khz(missed_khz: list[Floats]) -> float:
    """Standard error of the median: benches drawn anew (the bootstrap, B. Efron 1979, from
    memory), since the dials of one bench are alike.
    """
    rng = np.random.default_rng(1)
    drawn = (rng.integers(len(missed_khz), size=len(missed_khz)) for _ in range(RESAMPLES))
    return float(np.std([np.median(np.concatenate([missed_khz[n] for n in d])) for d in drawn]))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m listen.simulate.known",
        description="What each piece of knowledge of the radio would buy the locator.",
    )
    parser.add_argument("--benches", type=int, default=8, metavar="N", help="(8)")
    parser.add_argument("--first-seed", type=int, default=20_000, metavar="S", help="(20000)")
    return parser


def main(words: Sequence[str] | None = None) -> int:
    """Print the table over the benches asked for."""
    options = _parser().parse_args(words)
    try:
        if options.benches < 1 or options.first_seed < 0:
            raise ListenError(
                f"--benches {options.benches} --first-seed {options.first_seed}: give at least "
                "1 bench and a seed of 0 or more"
            )
        family = Family()
        by_dial: dict[float, list[list[list[Answer]]]] = {khz: [] for khz in DIALS_KHZ}
        for seed in range(options.first_seed, options.first_seed + options.benches):
            bench, truth = random_bench(seed, stations=(0, 0), passband_khz=PASSBAND_KHZ)
            assert truth.sound_mhz is not None  # random_bench has a console unless told otherwise
            centre_mhz = truth.sound_mhz - truth.misalignment_khz / 1e3
            drawn = draw_curve(bench, centre_mhz, 2, DWELL_S)
            rng = np.random.default_rng([seed, 10])
            for dial_khz, benches in by_dial.items():
                benches.append(judged(family, drawn, dial_khz, rng))
            print(f"bench {seed} heard", file=sys.stderr, flush=True)
        counts = {khz: sum(map(len, benches)) for khz, benches in by_dial.items()}
        if not all(counts.values()):
            raise ListenError(f"no stop was quieted by {HELD_DB:.0f} dB: give other seeds")
        print(", ".join(f"{count} dials of {khz:.0f} kHz" for khz, count in counts.items()))
        print(table(by_dial))
    except ListenError as why:
        print(f"known: {why}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("\nStopped.", file=sys.stderr)
        return 130
    return 0


if __name__ == "__main__":
    sys.exit(main())
