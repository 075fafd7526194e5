"""Where a walk stands: what was asked for, what was heard, and what the dial has left."""

from dataclasses import dataclass

from listen.sweep.outlook import Carrier, Outlook
from listen.sweep.search import HOP_KHZ
from listen.sweep.walk import Visited, key

NEAR_MHZ = HOP_KHZ / 2e3  # a stop this near has heard the same
BESIDE_MHZ = 0.31  # stops further apart than this do not stand side by side


@dataclass(frozen=True, slots=True)
class Now:
    """A moment of a walk.

    grid     every position of the dial, rising, MHz
    so_far   all that is done with
    outlook  what was heard, weighed
    """

    grid: tuple[float, ...]
    so_far: tuple[Visited, ...]
    outlook: Outlook

    @property
    def dial_mhz(self) -> float:
        """Where the dial stands."""
        return self.so_far[-1].dial_mhz

    @property
    def step_mhz(self) -> float:
        """The dial's step; 0 for a dial of one position."""
        return self.grid[1] - self.grid[0] if len(self.grid) > 1 else 0.0

    def done(self, console: str = "on") -> list[float]:
        """The positions done with, left out or not."""
        return [visit.dial_mhz for visit in self.so_far if visit.console == console]

    def is_done(self, mhz: float, within_mhz: float = 5e-5) -> bool:
        """Whether a stop so near was done with, console on."""
        return any(abs(mhz - one) <= within_mhz for one in self.done())

    def next_done(self, mhz: float, way: int) -> float | None:
        """The next position done with above (way 1) or below (-1), if it stands beside."""
        beyond = [one for one in self.done() if 5e-5 < way * (one - mhz) <= BESIDE_MHZ]
        return min(beyond, key=lambda one: abs(one - mhz)) if beyond else None

    def word_at(self, mhz: float) -> str:
        """What was heard last at a position; "" where it was left out."""
        words = [word for one, word in self.outlook.stops if key(one) == key(mhz)]
        return words[-1] if words else ""

    def word_near(self, mhz: float) -> str:
        """What was heard at the stop nearest to a frequency; "" where none is near."""
        near = [
            (abs(mhz - one), word) for one, word in self.outlook.stops if abs(mhz - one) <= 0.151
        ]
        return min(near)[1] if near else ""

    def nearest_free(self, mhz: float, within_mhz: float = NEAR_MHZ) -> float | None:
        """The dial position nearest to a frequency, if it is on the dial and not done with."""
        stop = min(self.grid, key=lambda one: abs(one - mhz))
        off_dial = abs(stop - mhz) > within_mhz + 0.05
        return None if off_dial or self.is_done(stop) else stop

    def off_checked(self, carrier: Carrier) -> bool:
        """Whether the switch was asked for at one of a carrier's stops."""
        checked = {key(mhz) for mhz in self.done("off")}
        return any(key(mhz) in checked for mhz in carrier.held_mhz)

    @property
    def switch_works(self) -> bool:
        """Whether somebody is there to switch the console: no off check was left out."""
        return all(visit.kept for visit in self.so_far if visit.console == "off")
