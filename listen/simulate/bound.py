"""How well a carrier can be placed at all: `python -m listen.simulate.bound` prints the bound.

For each bench the radio's own curve is drawn first: quieting against the carrier's offset,
every few kilohertz, over and over with fresh noise, with nothing but the console on the air.
Whoever knew that curve would still not know what the programme and the noise do to a single
reading.  Readings about the curve scatter as those repeats did; a carrier at x explains the
stops that the walk made with

    p(x) = product over the stops of  bell(reading - curve(stop - x), scatter(stop - x))

and x is as likely anywhere before a stop was read.  What is left is the posterior's spread at
stops whose readings are drawn from the curve itself: the expected square error of the best
answer that there is (the mean), with all but the chance of the readings known.  Fisher's
information would not do: a dial of 200 kHz may have no stop on a cliff, where the curve is
flat and the posterior is a box.  Derivation: docs/carrier-fit.md.

    python -m listen.simulate.bound --conditions dial-100 dial-200 --benches 6
    python -m listen.simulate.bound --benches 6 --out bound   # goes on where it stopped
"""

import argparse
import hashlib
import json
import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from listen.analysis.measures import Measures, measure
from listen.errors import CannotWrite, ListenError
from listen.simulate.bench import Bench
from listen.simulate.heard import code_that_hears
from listen.simulate.scenarios import dial_stops
from listen.simulate.trials import chosen

Floats = NDArray[np.float64]

OFFSETS_KHZ = np.arange(-420.0, 421.0, 15.0)
OPEN_KHZ = (-1400.0, -1100.0, 1100.0, 1400.0)  # where nothing but roar is heard
WITHIN_KHZ = 430.0  # stops that tell
STEP_KHZ = 0.5  # of the carrier
REACH_KHZ = 200.0
LEAST_DB = 0.15  # scatter below which few repeats cannot be believed
DRAWS = 40  # of the readings


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """What one radio draws of one carrier.

    offset_khz  shape (n,): dial minus the place of the dial that is centred on the carrier
    middle_db   shape (n,): quieting there, the mean of the repeats
    scatter_db  shape (n,): standard deviation of a single reading
    """

    offset_khz: Floats
    middle_db: Floats
    scatter_db: Floats

    def at(self, offset_khz: Floats) -> tuple[Floats, Floats]:
        """Quieting and scatter at offsets; beyond its ends, as at its ends."""
        return (
            np.interp(offset_khz, self.offset_khz, self.middle_db),
            np.interp(offset_khz, self.offset_khz, self.scatter_db),
        )


def draw_curve(bench: Bench, centre_mhz: float, repeats: int, dwell_s: float) -> Curve:
    """The curve of a bench's console, alone on the air.

    centre_mhz  where on the dial it stands in the passband's middle
    repeats     how often each offset is heard
    """
    alone = replace(bench, stations=(), spurs=())

    def calm_db(offset_khz: float, visit: int) -> float:
        at_s = float(13 * visit)
        heard = alone.hear(centre_mhz + offset_khz / 1e3, dwell_s, "on", at_s, visit=visit)
        return _calm_db(measure(heard))

    roar_db = float(np.median([calm_db(khz, visit) for khz in OPEN_KHZ for visit in range(2)]))
    heard_db = np.array([[calm_db(khz, n) for khz in OFFSETS_KHZ] for n in range(repeats)])
    middle_db = roar_db - heard_db.mean(axis=0)
    # A few repeats tell a spread badly; neighbours scatter alike, so five are taken together.
    each = np.pad(heard_db.var(axis=0, ddof=1), 2, mode="edge")
    pooled = np.convolve(each, np.full(5, 0.2), "valid")
    return Curve(OFFSETS_KHZ, middle_db, np.maximum(np.sqrt(pooled), LEAST_DB))


def _calm_db(stop: Measures) -> float:
    """The floor in the highest band, which every bench's recording reaches."""
    if stop.hiss is None:
        raise ListenError("a stop of the bench gave no sound: its curve cannot be drawn")
    return stop.hiss.calm_db[0]


def spread_khz(
    curve: Curve, stops_khz: Floats, rng: np.random.Generator, draws: int = DRAWS
) -> float:
    """Root mean square error of the best answer from these stops, the curve known.

    stops_khz  where they stand, dial minus the carrier's true place on it
    draws      how many sets of readings it is averaged over
    """
    carrier_khz = np.arange(-REACH_KHZ, REACH_KHZ + STEP_KHZ, STEP_KHZ)
    middle_db, scatter_db = curve.at(stops_khz)
    expected_db, wide_db = curve.at(stops_khz[:, None] - carrier_khz)
    variance = []
    for _ in range(draws):
        reading_db = middle_db + scatter_db * rng.standard_normal(stops_khz.size)
        log_p = -0.5 * ((reading_db[:, None] - expected_db) / wide_db) ** 2 - np.log(wide_db)
        total = log_p.sum(axis=0)
        weight = np.exp(total - total.max())
        weight /= weight.sum()
        mean = carrier_khz @ weight
        variance.append((carrier_khz - mean) ** 2 @ weight)
    return float(np.sqrt(np.mean(variance) + STEP_KHZ**2 / 12))  # a cell is a box


def placed(name: str, seed: int) -> tuple[Bench, float, float, Floats]:
    """A bench of a condition: itself, where on its dial the carrier stands in the passband's middle
    (MHz), how long a stop is recorded (s), and the stops that tell, in kHz from that place.

    Raises ListenError for a condition without a console.
    """
    scene = chosen([name])[0].scene
    bench, truth = scene.make(seed)
    if truth.sound_mhz is None:
        raise ListenError(f"{name} has no console: there is no carrier to place")
    centre_mhz = truth.sound_mhz - truth.misalignment_khz / 1e3
    stops_khz = 1e3 * (np.array(dial_stops(scene.step_khz, scene.band_mhz)) - centre_mhz)
    return bench, centre_mhz, scene.dwell_s, stops_khz[np.abs(stops_khz) <= WITHIN_KHZ]


def bound_of(name: str, seed: int, repeats: int) -> float:
    """The bound of one bench under one condition, kHz."""
    bench, centre_mhz, dwell_s, near_khz = placed(name, seed)
    curve = draw_curve(bench, centre_mhz, repeats, dwell_s)
    return spread_khz(curve, near_khz, np.random.default_rng([seed, 9]))


def key_of(name: str, seed: int, repeats: int) -> str:
    """What a bound is kept under: what it is of, and a fingerprint of all that decides it.

    That is this module, the code that makes and measures sound, the bench and its stops.
    """
    bench, centre_mhz, dwell_s, near_khz = placed(name, seed)
    whole = hashlib.sha256(Path(__file__).read_bytes())
    whole.update(repr((code_that_hears(), bench, centre_mhz, dwell_s, near_khz.tolist())).encode())
    return f"{name} {seed} {repeats} {whole.hexdigest()[:12]}"


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m listen.simulate.bound",
        description="How well the sound carrier can be placed, the radio's own curve known.",
    )
    add = parser.add_argument
    add("--conditions", nargs="+", default=["dial-100", "dial-200"], metavar="NAME")
    add("--benches", type=int, default=6, metavar="N", help="of each condition (6)")
    add("--first-seed", type=int, default=20_000, metavar="S", help="(20000)")
    add("--repeats", type=int, default=4, metavar="N", help="of each reading (4)")
    add("--out", type=Path, metavar="DIR", help="keep each bench's bound there, and go on there")
    return parser


def _kept(path: Path | None) -> dict[str, float]:
    """The bounds that a folder holds, by key_of: those of other code are never met again."""
    if path is None or not path.exists():
        return {}
    try:
        return {str(k): float(v) for k, v in json.loads(path.read_text("utf-8")).items()}
    except (OSError, ValueError, AttributeError) as why:
        raise ListenError(f"{path} holds no bounds ({why}): give a new --out") from why


def main(words: Sequence[str] | None = None) -> int:
    """Print the bound of each bench asked for, and their root mean square."""
    options = _parser().parse_args(words)
    try:
        if options.benches < 1 or options.repeats < 2 or options.first_seed < 0:
            raise ListenError("--benches start at 1, --repeats at 2, --first-seed at 0")
        names = [condition.name for condition in chosen(options.conditions)]
        path = None if options.out is None else options.out / "bounds.json"
        kept = _kept(path)
        for name in names:
            found = []
            for seed in range(options.first_seed, options.first_seed + options.benches):
                key = key_of(name, seed, options.repeats)
                if key not in kept:
                    kept[key] = bound_of(name, seed, options.repeats)
                    _keep(path, kept)
                found.append(kept[key])
                print(f"{name} {seed}: {found[-1]:.1f} kHz", flush=True)
            rms_khz = float(np.sqrt(np.mean(np.square(found))))
            print(f"{name}: RMS {rms_khz:.1f} kHz, median {np.median(found):.1f} kHz", flush=True)
    except ListenError as why:
        print(f"bound: {why}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("\nStopped.  With --out, the same command goes on.", file=sys.stderr)
        return 130
    return 0


def _keep(path: Path | None, bounds: dict[str, float]) -> None:
    if path is None:
        return
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(bounds, indent=0), "utf-8")
    except OSError as why:
        raise CannotWrite(f"cannot keep bounds in {path}: {why.strerror or why}") from why


if __name__ == "__main__":
    sys.exit(main())
