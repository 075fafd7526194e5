"""What a thinking planner needs to know of all that was heard: a protocol, filled elsewhere.

Frequencies are dial positions, MHz.  Only stops with the console on are listed.
"""

from typing import Protocol


class Carrier(Protocol):
    """A carrier heard so far."""

    @property
    def centre_mhz(self) -> float:
        """Where it stands."""
        ...

    @property
    def spread_khz(self) -> float:
        """The standard deviation of that."""
        ...

    @property
    def held_mhz(self) -> tuple[float, ...]:
        """The stops that held it, rising."""
        ...

    @property
    def sounds_like(self) -> str:
        """One of "console", "station", "picture", "bare", "unclear"."""
        ...

    @property
    def probability(self) -> float:
        """That it is a console's, heard in whatever way, 0 to 1."""
        ...

    @property
    def switch(self) -> int:
        """+1: it changed with the console's switch; -1: it stayed; 0: not known."""
        ...

    def spread_with_khz(self, dial_mhz: float) -> float:
        """The standard deviation to expect once this stop was heard too."""
        ...


class Outlook(Protocol):
    """All that was heard, as far as it helps to choose a stop."""

    @property
    def found(self) -> bool:
        """Whether the likeliest carrier could be named already."""
        ...

    @property
    def roar_heard(self) -> bool:
        """Whether the open band was heard: the yardstick of all hiss."""
        ...

    @property
    def stops(self) -> tuple[tuple[float, str], ...]:
        """Dial position and what was heard, in the order of the walk.

        "open", "edge", "held", "muted" (the radio mutes where it holds nothing), "silent" or
        "spoiled".
        """
        ...

    @property
    def carriers(self) -> tuple[Carrier, ...]:
        """The likeliest first."""
        ...

    @property
    def switch_at_mhz(self) -> float | None:
        """The stop where the console's switch would settle most, or None."""
        ...

    def shown_mhz(self, true_mhz: float) -> float:
        """Where the dial shows a true frequency, as far as its error is known; else the same."""
        ...

    @property
    def known_mhz(self) -> tuple[float, ...]:
        """True frequencies of stations that tell how far this dial is off, as far as it may be."""
        ...

    def is_open_at(self, true_mhz: float) -> bool:
        """Whether it is not known where the dial shows a true frequency."""
        ...
