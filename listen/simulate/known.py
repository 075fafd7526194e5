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
curve says together, the carrier's place given.  x is as likely anywhere within so many kHz of the
truth as --within says.  The curves and L are those of cliffs.py.

    python -m listen.simulate.known --benches 8 --first-seed 20000
"""

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from listen.analysis.cliffs import Drawn, drawn
from listen.analysis.curve import Floats, Reading
from listen.analysis.width import half_width_weights, radio_weights
from listen.errors import ListenError
from listen.simulate.bound import Curve, draw_curve
from listen.simulate.scenarios import random_bench

DIALS_KHZ = (105.0, 195.0)  # multiples of the curve's offsets
AROUND_MHZ = 100.0  # where the carrier stands; any place would do
WITHIN_KHZ = 80  # of it, where it is looked for
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


def laid(stops_khz: Floats, reading_db: Floats, within_khz: float) -> Drawn:
    """Readings as every curve explains them, the carrier being within within_khz of its place.

    stops_khz   shape (n,): dial minus the place of the dial that is centred on the carrier
    reading_db  shape (n,): quieting
    """
    pairs = zip(stops_khz, reading_db, strict=True)
    readings = [Reading(AROUND_MHZ + float(khz) / 1e3, float(db)) for khz, db in pairs]
    widths = half_width_weights(float(reading_db.max()), radio_weights([], PASSBAND_KHZ))
    return drawn(readings, AROUND_MHZ, (within_khz - 20.0) / 4, widths)  # drawn looks so far


def told_by(curve: Curve) -> Floats:
    """What all offsets of a curve say together of half-width and profile, shape (h, p)."""
    whole = laid(curve.offset_khz, curve.middle_db, WITHIN_KHZ)
    seen = whole.likelihood[:, :, whole.carrier_mhz.size // 2] * whole.profiles
    return np.asarray(seen / seen.sum(), dtype=np.float64)


def priors(one: Drawn, told: Floats) -> tuple[Floats, ...]:
    """Each of shape (h, p), in the order of KNOWN."""
    return (
        np.outer(one.prior, one.profiles),
        np.outer(one.prior, told.sum(axis=0)),
        np.outer(told.sum(axis=1), one.profiles),
        told,
    )


def answers(
    told: Floats, stops_khz: Floats, reading_db: Floats, within_khz: float = WITHIN_KHZ
) -> list[Answer]:
    """One dial's answers, in the order of KNOWN.

    told        what whoever knows the radio's curve has read off it
    within_khz  of its place, where the carrier is looked for
    """
    one = laid(stops_khz, reading_db, within_khz)
    place_khz = 1e3 * (one.carrier_mhz - AROUND_MHZ)
    step_khz = float(place_khz[1] - place_khz[0])
    found = []
    for prior in priors(one, told):
        weight = np.einsum("hpx,hp->x", one.likelihood, prior)
        weight /= weight.sum()
        mean = float(weight @ place_khz)
        variance = float(weight @ np.square(place_khz - mean)) + step_khz**2 / 12
        at_truth = float(weight[place_khz.size // 2]) / step_khz
        found.append(Answer(mean, float(np.sqrt(variance)), float(np.log(at_truth + 1e-6))))
    return found


def judged(
    curve: Curve,
    told: Floats,
    dial_khz: float,
    rng: np.random.Generator,
    within_khz: float = WITHIN_KHZ,
) -> list[list[Answer]]:
    """The answers of every dial of this step that fits on the curve's offsets."""
    every = round(dial_khz / float(np.diff(curve.offset_khz[:2])[0]))
    found = []
    for phase in range(every):
        stops = slice(phase, None, every)
        middle_db, scatter_db = curve.middle_db[stops], curve.scatter_db[stops]
        reading_db = middle_db + scatter_db * rng.standard_normal(middle_db.size)
        if reading_db.max() >= HELD_DB:
            found.append(answers(told, curve.offset_khz[stops], reading_db, within_khz))
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
    parser.add_argument(
        "--within",
        type=int,
        default=WITHIN_KHZ,
        metavar="KHZ",
        help=f"of its place, where the carrier is looked for, 60 to 250 ({WITHIN_KHZ})",
    )
    return parser


def main(words: Sequence[str] | None = None) -> int:
    """Print the table over the benches asked for."""
    options = _parser().parse_args(words)
    try:
        if options.benches < 1 or options.first_seed < 0 or not 60 <= options.within <= 250:
            raise ListenError(
                f"--benches {options.benches} --first-seed {options.first_seed} --within "
                f"{options.within}: give at least 1 bench, a seed of 0 or more, and 60 to 250 kHz"
            )
        by_dial: dict[float, list[list[list[Answer]]]] = {khz: [] for khz in DIALS_KHZ}
        for seed in range(options.first_seed, options.first_seed + options.benches):
            bench, truth = random_bench(seed, stations=(0, 0), passband_khz=PASSBAND_KHZ)
            assert truth.sound_mhz is not None  # random_bench has a console unless told otherwise
            centre_mhz = truth.sound_mhz - truth.misalignment_khz / 1e3
            curve = draw_curve(bench, centre_mhz, 2, DWELL_S)
            told = told_by(curve)
            rng = np.random.default_rng([seed, 10])
            for dial_khz, benches in by_dial.items():
                benches.append(judged(curve, told, dial_khz, rng, options.within))
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
