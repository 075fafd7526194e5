"""What the guide gives: a reading with its word, a sentence, a wish for the dial."""

from dataclasses import dataclass
from typing import Literal

from listen.trim.left import Left

Weight = Literal["do", "note", "warn", "good"]
Stage = Literal["roar", "start", "ahead", "look", "goal", "sides", "pair", "done", "round", "pause"]


@dataclass(frozen=True, slots=True)
class Say:
    """A sentence for the person: to "do" now, a "note", a "warn"ing, or "good" news."""

    kind: Weight
    text: str


@dataclass(frozen=True, slots=True)
class Ask:
    """Where the dial is wanted, MHz (None: on any open spot), and why."""

    dial_mhz: float | None
    why: str

    @property
    def where(self) -> str:
        """The wish without its reason, as a sentence."""
        place = "an open spot" if self.dial_mhz is None else f"{self.dial_mhz:g} MHz"
        return f"Dial to {place}."


@dataclass(frozen=True, slots=True)
class Frame:
    """One reading of the meter with what the guide makes of it.

    clarity      0 to 100, over the last 70 ms; None before the roar is known, and in silence
    quieting_db  the same in dB below the roar
    word         the big one
    says         sentences that fell due with this reading
    left         what is left, with the reading at which it was found
    """

    t_s: float
    dial_mhz: float | None
    stage: Stage
    clarity: float | None
    quieting_db: float | None
    word: str
    clips: bool
    says: tuple[Say, ...] = ()
    left: Left | None = None
