"""What more than hiss would add: `python -m listen.simulate.beyond` prints it.

The bound of bound.py, with a second reading at every stop.  Besides hiss a stop tells how loud
it is in loud moments (bursts), on which polarity of the programme those come, how skewed the
programme is, how loud, and how distorted.  Of each a bench's own curve is drawn from repeats, and
how readings scatter about the curves, together; then the best answer that knows all of that is
judged with hiss alone, with each of the others, and with all.

    python -m listen.simulate.beyond --benches 3

The seeds with the most to gain are those whose stops stand on no cliff.
"""

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

from listen.analysis.measures import measure
from listen.clip import Clip
from listen.errors import ListenError
from listen.simulate.bench import Bench
from listen.simulate.bound import DRAWS, LEAST_DB, OFFSETS_KHZ, REACH_KHZ, placed

Floats = NDArray[np.float64]

KINDS = ("hiss", "bursts", "polarity", "skewness", "level", "distortion")
STEP_KHZ = 1.0  # of the carrier
NOISE_HZ, PROGRAMME_HZ, SWING_HZ = (9_000.0, 14_000.0), (60.0, 3_000.0), 3_000.0
POLARITY, SKEWNESS = 30.0, 5.0  # brings them to the size of decibels
POOLED = 7  # neighbouring offsets scatter alike


@dataclass(frozen=True, slots=True, eq=False)
class Curves:
    """What one radio draws of one carrier, in every kind.

    middle   shape (offsets, kinds)
    scatter  shape (offsets, kinds, kinds): covariance of single readings
    """

    middle: Floats
    scatter: Floats


def readings(clip: Clip) -> Floats:
    """All kinds of one clip, shape (kinds,)."""
    stop = measure(clip)
    if stop.hiss is None:
        raise ListenError("a stop of the bench gave no sound: its curves cannot be drawn")
    row, rate_hz = clip.samples.mean(axis=1), clip.sample_rate_hz
    noise = sosfilt(butter(4, NOISE_HZ, "band", fs=rate_hz, output="sos"), row) ** 2
    swell = sosfilt(butter(1, SWING_HZ, fs=rate_hz, output="sos"), noise)
    programme = sosfilt(butter(2, PROGRAMME_HZ, "band", fs=rate_hz, output="sos"), row)
    power = float(np.mean(programme**2))
    return np.array(
        [
            stop.hiss.calm_db[0],
            stop.hiss.burst_db[0],
            POLARITY * float(np.corrcoef(swell, programme)[0, 1]),
            SKEWNESS * float(np.mean(programme**3)) / power**1.5,
            10 * np.log10(power + 1e-12),
            stop.tone.sinad_db if stop.tone else 0.0,
        ]
    )


def draw_curves(bench: Bench, centre_mhz: float, repeats: int, dwell_s: float) -> Curves:
    """The curves of a bench's console, alone on the air."""
    alone = replace(bench, stations=(), spurs=())

    def heard(offset_khz: float, visit: int) -> Floats:
        dial_mhz, at_s = centre_mhz + offset_khz / 1e3, float(13 * visit)
        return readings(alone.hear(dial_mhz, dwell_s, "on", at_s, visit=visit))

    each = np.array([[heard(khz, n) for khz in OFFSETS_KHZ] for n in range(repeats)])
    middle = each.mean(axis=0)
    rest = each - middle
    own = np.einsum("noi,noj->oij", rest, rest) / (repeats - 1)
    near = np.arange(POOLED) - POOLED // 2
    places = np.clip(np.arange(len(own))[:, None] + near, 0, len(own) - 1)
    return Curves(middle, own[places].mean(axis=1) + LEAST_DB**2 * np.eye(len(KINDS)))


def spread_khz(curves: Curves, stops_khz: Floats, use: Sequence[int], seed: int) -> float:
    """Root mean square error of the best answer from these stops, with these kinds, kHz."""
    rng = np.random.default_rng([seed, 11])
    carrier_khz = np.arange(-REACH_KHZ, REACH_KHZ + STEP_KHZ, STEP_KHZ)

    def at(offset_khz: Floats) -> Floats:
        columns = [np.interp(offset_khz, OFFSETS_KHZ, curves.middle[:, kind]) for kind in use]
        return np.stack(columns, axis=-1)

    def cell(offset_khz: Floats) -> NDArray[np.intp]:
        step_khz = OFFSETS_KHZ[1] - OFFSETS_KHZ[0]
        place = np.rint((offset_khz - OFFSETS_KHZ[0]) / step_khz)
        return np.asarray(np.clip(place, 0, OFFSETS_KHZ.size - 1), dtype=np.intp)

    away_khz = stops_khz[:, None] - carrier_khz
    expected, wide = at(away_khz), cell(away_khz)
    scatter = curves.scatter[:, use][:, :, use]
    inverse, size = np.linalg.inv(scatter), np.linalg.slogdet(scatter)[1]
    root = np.linalg.cholesky(scatter)[cell(stops_khz)]
    truth = at(stops_khz)
    variance = []
    for _ in range(DRAWS):
        read = truth + np.einsum("sij,sj->si", root, rng.standard_normal(truth.shape))
        gap = read[:, None] - expected
        square = np.einsum("sci,scij,scj->sc", gap, inverse[wide], gap)
        total = (-0.5 * (square + size[wide])).sum(axis=0)
        weight = np.exp(total - total.max())
        weight /= weight.sum()
        mean = carrier_khz @ weight
        variance.append((carrier_khz - mean) ** 2 @ weight)
    return float(np.sqrt(np.mean(variance) + STEP_KHZ**2 / 12))


def bounds_of(name: str, seed: int, repeats: int) -> list[tuple[str, float]]:
    """The bound of one bench with hiss alone, with each other kind beside it, and with all."""
    bench, centre_mhz, dwell_s, near_khz = placed(name, seed)
    curves = draw_curves(bench, centre_mhz, repeats, dwell_s)
    uses = [("hiss", [0]), *((f"hiss, {KINDS[kind]}", [0, kind]) for kind in range(1, len(KINDS)))]
    uses.append(("all", list(range(len(KINDS)))))
    return [(words, spread_khz(curves, near_khz, use, seed)) for words, use in uses]


def main(words: Sequence[str] | None = None) -> int:
    """Print the bounds of each bench asked for, a column a bench."""
    parser = argparse.ArgumentParser(
        prog="python -m listen.simulate.beyond",
        description="What more than hiss would add to the bound on placing a carrier.",
    )
    parser.add_argument("--condition", default="dial-200", metavar="NAME", help="(dial-200)")
    parser.add_argument("--benches", type=int, default=3, metavar="N", help="(3)")
    parser.add_argument("--first-seed", type=int, default=20_000, metavar="S", help="(20000)")
    parser.add_argument("--repeats", type=int, default=5, metavar="N", help="of each reading (5)")
    options = parser.parse_args(words)
    try:
        if options.benches < 1 or options.repeats < 3 or options.first_seed < 0:
            raise ListenError("--benches start at 1, --repeats at 3, --first-seed at 0")
        seeds = range(options.first_seed, options.first_seed + options.benches)
        columns = [bounds_of(options.condition, seed, options.repeats) for seed in seeds]
    except ListenError as why:
        print(f"beyond: {why}", file=sys.stderr)
        return 2
    print("kHz".ljust(20) + "".join(f"{seed:>9}" for seed in seeds))
    for row in zip(*columns, strict=True):
        print(row[0][0].ljust(20) + "".join(f"{khz:9.1f}" for _, khz in row))
    return 0


if __name__ == "__main__":
    sys.exit(main())
