"""The model bench: a radio on a bench with whatever is on the air, turned into recordings.

One question: what does the line-in record while the dial stands at dial_mhz?  The same
question gets the same answer: all chance comes from the bench's seed, the dial, the
console's switch, the visit and the time.  Programmes and hum go on in time from stop to
stop; noise is new at each visit.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from listen.clip import Clip
from listen.clip import Console as Switch
from listen.errors import BadDial
from listen.folder import FolderWriter, SweepSettings
from listen.radio import DIAL_LIMITS_MHZ
from listen.simulate.air import Console, Emission, Spur, Station, Window
from listen.simulate.detector import audio, discriminate, if_rate_hz, intermediate, needed
from listen.simulate.frontend import arrivals, tuned_mhz
from listen.simulate.linein import LineIn, record
from listen.simulate.receiver import Receiver

GUARD = 2  # hundredths of a second at each end that are made and thrown away
LONGEST = 1000  # hundredths of a second worked in one piece
UNMUTE_S = 0.02
SWITCHED_ON = datetime(2020, 1, 1, 12, tzinfo=UTC)  # time 0 of a bench in a sweep's `at`


@dataclass(frozen=True, slots=True)
class Bench:
    """A radio, what is on the air, and the line-in that records it.

    quality  "trial": single precision at the lowest rate that serves; "full": double
             precision at twice that rate.  Both agree within their own spread
    """

    stations: tuple[Station, ...] = ()
    console: Console | None = None
    spurs: tuple[Spur, ...] = ()
    receiver: Receiver = field(default_factory=Receiver)
    line_in: LineIn = field(default_factory=LineIn)
    seed: int = 0
    quality: Literal["trial", "full"] = "trial"

    def emissions(self, console: Switch = "on") -> tuple[Emission, ...]:
        """Every carrier on the air with the console's switch so."""
        switched = (self.console,) if self.console and console == "on" else ()
        emitters = (*self.stations, *self.spurs, *switched)
        return tuple(e for emitter in emitters for e in emitter.emissions())

    def hear(
        self,
        dial_mhz: float,
        dwell_s: float,
        console: Switch = "on",
        at_s: float = 0.0,
        *,
        visit: int = 0,
        came_from_mhz: float | None = None,
    ) -> Clip:
        """Record the radio for dwell_s with its dial at dial_mhz.

        dial_mhz       what the dial shows, MHz
        dwell_s        how long, s
        console        "on" or "off"
        at_s           when the recording begins, s since the bench was switched on
        visit          which visit to this stop it is: another one has other noise
        came_from_mhz  where the dial stood before; AFC remembers it

        Raises BadDial for a dial or a dwell that no radio could have.
        """
        if not DIAL_LIMITS_MHZ[0] <= dial_mhz <= DIAL_LIMITS_MHZ[1]:
            raise BadDial(f"a dial at {dial_mhz:g} came: give it in MHz, as the radio shows it")
        if not 0 < dwell_s <= 7200:
            raise BadDial(f"a stop of {dwell_s:g} s came: give it more than 0 s, up to two hours")
        key = (round(dial_mhz * 1e6), console == "off", visit, round(at_s * 1000) & 0xFFFFFFFF)
        rng = np.random.Generator(np.random.SFC64(np.random.SeedSequence([self.seed, *key])))
        emissions = self.emissions(console)
        scatter = self.receiver.dial_scatter_khz * float(rng.standard_normal()) / 1000
        tuned = tuned_mhz(self.receiver, dial_mhz, emissions, came_from_mhz) + scatter
        rate_hz = self.line_in.sample_rate_hz
        count = max(1, round(dwell_s * rate_hz))
        played = np.concatenate(list(self._played(tuned, emissions, count, at_s, rng)))
        recorded = record(self.line_in, self._after_step(played), at_s, rng)
        return Clip(dial_mhz, rate_hz, recorded, console)

    def _played(
        self,
        tuned: float,
        emissions: tuple[Emission, ...],
        count: int,
        at_s: float,
        rng: np.random.Generator,
    ) -> Iterator[NDArray[np.floating]]:
        """What the set plays, piece by piece, count samples in all."""
        exact = self.quality == "full"
        rate_hz = if_rate_hz(self.receiver)
        heard = arrivals(self.receiver, tuned, emissions, rate_hz / 1000)
        made, looked = (n * (2 if exact else 1) for n in needed(self.receiver, heard, rate_hz))
        sample_rate_hz = self.line_in.sample_rate_hz
        done = 0
        while done < count:
            left = -(-(count - done) * 100 // sample_rate_hz)
            starts_s = at_s + done / sample_rate_hz - GUARD / 100
            window = Window(starts_s, smooth(min(left, LONGEST) + 2 * GUARD))
            lines = intermediate(
                self.receiver, heard, window, made * rate_hz, self.seed, rng, exact
            )
            detected = discriminate(self.receiver, lines, window, rate_hz, max(made, looked))
            piece = audio(self.receiver, detected, window, sample_rate_hz, self.line_in.ac_hz)
            first = GUARD * sample_rate_hz // 100
            kept = min(count - done, LONGEST * sample_rate_hz // 100)
            yield piece[first : first + kept]
            done += kept

    def _after_step(self, played: NDArray[np.floating]) -> NDArray[np.floating]:
        """Silence the beginning, where the set mutes after a step."""
        mute_s = self.receiver.mute_after_step_s
        if not mute_s:
            return played
        t_s = np.arange(played.shape[0]) / self.line_in.sample_rate_hz
        return np.asarray(played * np.clip((t_s - mute_s) / UNMUTE_S, 0, 1)[:, np.newaxis])


def smooth(hundredths: int) -> int:
    """The next number that has no prime factor over 5: transforms of such lengths are fast."""
    while True:
        rest = hundredths
        for prime in (2, 3, 5):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return hundredths
        hundredths += 1


def write_sweep(
    bench: Bench,
    folder: str | Path,
    stops: Iterable[float | tuple[float, Switch]],
    dwell_s: float = 2.0,
    *,
    pause_s: float = 1.0,
    start_s: float = 0.0,
    settings: SweepSettings | None = None,
) -> None:
    """Walk a bench's dial and write an ordinary sweep folder.

    stops    dial positions in MHz in the order of the walk; with the console switched, pairs
             (dial_mhz, "on" or "off")
    dwell_s  how long each is recorded, s
    pause_s  time between two recordings, s
    start_s  when the first begins, s since the bench was switched on

    Raises BadDial for a stop that no radio has; CannotWrite where the folder cannot be made.
    """
    writer = FolderWriter.create(folder, settings)
    at_s, came_from_mhz = start_s, None
    for stop in stops:
        dial_mhz, console = stop if isinstance(stop, tuple) else (stop, "on")
        clip = bench.hear(dial_mhz, dwell_s, console, at_s, came_from_mhz=came_from_mhz)
        at = SWITCHED_ON + timedelta(seconds=at_s)
        writer.add(clip.samples, clip.sample_rate_hz, dial_mhz, console, at)
        came_from_mhz = dial_mhz
        at_s += dwell_s + pause_s
