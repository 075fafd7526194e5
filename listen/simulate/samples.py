"""The sweep folders in samples/: `python -m listen.simulate.samples FOLDER` makes them anew.

Each is small: short stops, 32 kHz, 16 bits, as a plain sound card may record.  The same
version of the libraries gives the same samples.  Nothing that is there is overwritten.
"""

import sys
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from listen.clip import Console
from listen.errors import ListenError
from listen.folder import FolderWriter, SweepSettings
from listen.radio import Radio
from listen.simulate.bench import Bench
from listen.simulate.hands import Hands
from listen.simulate.scenarios import demo_bench

RATE_HZ = 32_000
DWELL_S = 0.9
FULL_SCALE = 32_768  # of 16 bits
STATED = frozenset(("band_mhz", "dial", "step_khz", "raster_khz"))


@dataclass(frozen=True, slots=True)
class Sample:
    """One sweep: its folder's name, what is on the bench, where the dial stood, the notes."""

    name: str
    bench: Bench
    stops: tuple[float, ...]
    off_mhz: float
    notes: str

    @property
    def walk(self) -> tuple[tuple[float, Console], ...]:
        """Its stops in order, the last with the console off."""
        return (*((mhz, "on") for mhz in self.stops), (self.off_mhz, "off"))


def samples() -> tuple[Sample, ...]:
    """Every sample."""
    before, after = demo_bench(), demo_bench(moved=True)
    made = "Simulated by the model bench, no sound was recorded."
    return (
        Sample(
            "imported-console",
            before,
            (101.9, 102.0, 102.1, 102.2, 102.3, *tenths(107.4, 108.0)),
            107.7,
            f"{made} A console bought in Australia, as it came.",
        ),
        Sample(
            "moved-console",
            after,
            (98.9, *tenths(100.4, 101.2), 107.7),
            100.7,
            f"{made} The same console after its trimmer was turned.",
        ),
        Sample(
            "stations-only",
            replace(before, console=None),
            (91.3, *tenths(98.7, 99.1), 101.8, 101.9, 102.0, *tenths(107.6, 107.8)),
            98.9,
            f"{made} The same aerial, nothing but local stations on it.",
        ),
    )


def tenths(low_mhz: float, high_mhz: float) -> tuple[float, ...]:
    """Every tenth of a MHz, both ends included."""
    return tuple(n / 10 for n in range(round(low_mhz * 10), round(high_mhz * 10) + 1))


def write(sample: Sample, home: Path) -> Path:
    """Make one sample in a new folder of home.  Raises CannotWrite where that is taken."""
    radio = Radio(step_khz=100.0, stated=STATED)
    folder = home / sample.name
    writer = FolderWriter.create(folder, SweepSettings(radio, (50.0,), None, sample.notes))
    line_in = replace(sample.bench.line_in, sample_rate_hz=RATE_HZ)
    hands = Hands(replace(sample.bench, line_in=line_in), DWELL_S)
    for dial_mhz, console in sample.walk:
        hands.tune(dial_mhz, console)
        clip = hands.hear(dial_mhz, console)
        steps = np.rint(clip.samples * FULL_SCALE) / FULL_SCALE
        writer.add(steps.astype(np.float32), RATE_HZ, dial_mhz, console, clip.at)
    return folder


def main(words: list[str]) -> int:
    """Make every sample in the folder named, or in samples/."""
    home = Path(words[0]) if words else Path("samples")
    try:
        for sample in samples():
            print(write(sample, home))
    except ListenError as why:
        print(f"{why}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
