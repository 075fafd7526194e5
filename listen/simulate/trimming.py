"""A trimmer turned by chance: one console before and after its trimmer was turned.

A move is two walks along parts of one dial.  Each visits the stops round the console, those
round a few stations, and a few where nothing stands: what lies elsewhere tells nothing of a
move and would only cost time.  Between the walks the console's carriers are shifted, its
strength changes a little (a trimmer changes its tuned circuit, a cable is laid anew), and
noise and programme have gone on.

The radio may be another one afterwards: another passband, another error of its dial, another
line-in.  The bench draws all of it by chance from the seed, and no analysis sees that.
"""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from listen.channels import by_name
from listen.simulate.bench import Bench
from listen.simulate.hands import Hands
from listen.simulate.scenarios import BAND_MHZ, WITHIN_REACH, dial_stops, random_bench

Trimmer = Literal["oscillator", "subcarrier"]

BESIDE_MHZ = 0.55  # stops this near the console's carrier are visited
STATION_MHZ = 0.26  # and this near a station
STATIONS, OPEN = 3, 5  # how many stations and open places are
OPEN_MHZ = 0.6  # an open place lies this far from every carrier
CLEAR_KHZ = 520.0  # no station is nearer than this to the console, so that small moves stay clear
FAR_MHZ = 1.0  # a move called far goes to another channel at least so far away
FAR_OFF_KHZ = 100.0  # and ends up to so far off it
EDGE_MHZ = 0.2  # well inside the band
STRENGTH_DB = {"near": 0.7, "far": 2.0}  # spread of the change of strength that comes with it
AFTER_S = 900.0  # the second walk begins so long after the first


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """Two benches, and where their dials are walked.

    before, after            the benches
    before_mhz, after_mhz    the stops of each walk
    shift_khz                how far the sound carrier truly moved
    spacing_khz              how far the spacing did: not nought where the subcarrier was turned
    """

    before: Bench
    after: Bench
    before_mhz: tuple[float, ...]
    after_mhz: tuple[float, ...]
    shift_khz: float
    spacing_khz: float


def random_move(
    seed: int,
    by_khz: float | None,
    *,
    other_radio: bool = False,
    trimmer: Trimmer = "oscillator",
    pictures: bool = False,
    step_khz: float = 100.0,
    console_db: tuple[float, float] = (20.0, 45.0),
) -> Move:
    """A console that was moved, and the two walks.

    seed         which bench
    by_khz       how far, the way being chosen by chance; None: to another channel, megahertz away
    other_radio  whether the second walk is made with another radio and line-in
    trimmer      which of the two was turned: the oscillator moves both carriers
    pictures     whether the stops round its picture and its mirror are visited too
    step_khz     the dial's step
    console_db   weakest and strongest sound carrier, dB in 200 kHz
    """
    bench, _ = random_bench(seed, console_db=console_db, clear_khz=CLEAR_KHZ)
    rng = np.random.default_rng([seed, 2, 0 if by_khz is None else round(by_khz)])
    console = bench.console
    assert console is not None
    shift_khz = _far_khz(bench, rng) if by_khz is None else by_khz * rng.choice((-1.0, 1.0))
    strength_db = STRENGTH_DB["far" if by_khz is None else "near"] * float(rng.standard_normal())
    turned = replace(
        console,
        sound_mhz=console.sound_mhz + (shift_khz / 1e3 if trimmer == "oscillator" else 0.0),
        sound_trim_khz=console.sound_trim_khz + (shift_khz if trimmer == "subcarrier" else 0.0),
        strength_db=console.strength_db + strength_db,
    )
    after = replace(bench, console=turned)
    if other_radio:
        another, _ = random_bench(seed + 500_000)
        after = replace(after, receiver=another.receiver, line_in=another.line_in)
    return Move(
        bench,
        after,
        _visited(bench, after, pictures, step_khz),
        _visited(after, bench, pictures, step_khz),
        float(shift_khz),
        float(shift_khz) if trimmer == "subcarrier" else 0.0,
    )


def _far_khz(bench: Bench, rng: np.random.Generator) -> float:
    """A shift to about another channel of some plan, clear of stations and inside the band."""
    here_mhz = bench.console.true_sound_mhz if bench.console else 0.0
    for _ in range(1000):
        channel = by_name(WITHIN_REACH[int(rng.integers(len(WITHIN_REACH)))])
        there_mhz = channel.sound_mhz + float(rng.uniform(-FAR_OFF_KHZ, FAR_OFF_KHZ)) / 1e3
        inside = BAND_MHZ[0] + EDGE_MHZ < there_mhz < BAND_MHZ[1] - EDGE_MHZ
        far = abs(there_mhz - here_mhz) > FAR_MHZ
        if inside and far and all(abs(s.mhz - there_mhz) * 1e3 > CLEAR_KHZ for s in bench.stations):
            return 1e3 * (there_mhz - here_mhz)
    raise AssertionError("no clear channel on the dial: the bench holds too many stations")


def _visited(bench: Bench, other: Bench, pictures: bool, step_khz: float) -> tuple[float, ...]:
    """The stops of one walk, rising; stations and open places serve the other walk as well."""
    stops = np.array(dial_stops(step_khz))
    console = bench.console
    assert console is not None
    own_mhz = [console.true_sound_mhz]
    if pictures:
        own_mhz += [e.mhz for e in console.emissions()]
    near = np.zeros(stops.size, bool)
    for mhz in own_mhz:
        near |= np.abs(stops - mhz) <= BESIDE_MHZ
    carriers = np.unique([e.mhz for one in (bench, other) for e in one.emissions()])
    apart = np.abs(stops[:, None] - carriers).min(axis=1)
    opens = stops[apart > OPEN_MHZ]
    chosen = opens[np.linspace(0, opens.size - 1, OPEN).astype(int)] if opens.size else opens
    near |= np.isin(stops, chosen)
    alone = [
        s.mhz
        for s in bench.stations
        if s.strength_db > 20 and np.sort(np.abs(carriers - s.mhz))[1] > OPEN_MHZ
    ]
    for mhz in alone[:STATIONS]:
        near |= np.abs(stops - mhz) <= STATION_MHZ
    return tuple(float(mhz) for mhz in stops[near])


def hands_at(move: Move, after: bool, dwell_s: float) -> Hands:
    """Somebody at the first or the second bench, whose clocks go on."""
    bench = move.after if after else move.before
    return Hands(bench, dwell_s, 60.0 + (AFTER_S if after else 0.0))
