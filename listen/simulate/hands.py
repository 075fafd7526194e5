"""Somebody at a simulated bench: turns its dial, switches its console and records its radio.

It is a tuner as listen/tuner.py has them, and it hears as a line-in does, so that a walk
along a simulated dial takes the path of a real one.  Its clock is the bench's own: nothing
waits.
"""

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Literal

from listen.clip import Clip, Console
from listen.simulate.bench import SWITCHED_ON, Bench

TURN_S = 1.0  # what turning the dial takes, on the bench's clock


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a dial stands, how it came there, and for how long it is recorded.

    at_s           when the recording begins, s since the bench was switched on
    came_from_mhz  where the dial stood before; None: this is the first stop
    """

    dial_mhz: float
    console: Console
    dwell_s: float
    at_s: float
    came_from_mhz: float | None


class Hands:
    """Hands and ears at one bench.

    bench    the simulated bench
    dwell_s  how long each stop is recorded, s
    start_s  when the first recording begins, s since the bench was switched on
    """

    def __init__(self, bench: Bench, dwell_s: float, start_s: float = 60.0) -> None:
        self.bench = bench
        self._dwell_s = dwell_s
        self._now_s = start_s
        self._came_from_mhz: float | None = None

    def tune(self, dial_mhz: float, console: Console) -> Literal["go"]:
        """Turn the dial there; the bench's clock goes on while it is turned."""
        self._now_s += TURN_S
        return "go"

    def hear(self, dial_mhz: float, console: Console) -> Clip:
        """Record one stop, with the time of the bench's clock."""
        return self.record(self.stand(dial_mhz, console))

    def stand(self, dial_mhz: float, console: Console) -> Standing:
        """Let the time of one recording go by, and say what would be on it."""
        standing = Standing(dial_mhz, console, self._dwell_s, self._now_s, self._came_from_mhz)
        self._now_s += self._dwell_s
        self._came_from_mhz = dial_mhz
        return standing

    def record(self, standing: Standing) -> Clip:
        """The recording of it: the same whenever it is asked for."""
        clip = self.bench.hear(
            standing.dial_mhz,
            standing.dwell_s,
            standing.console,
            standing.at_s,
            came_from_mhz=standing.came_from_mhz,
        )
        return replace(clip, at=SWITCHED_ON + timedelta(seconds=standing.at_s))
