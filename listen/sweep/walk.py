"""The walk along the dial with whoever turns it, stop by stop until its planner is done.

A planner is asked after every stop and sees all that was done so far.  The walk is handed
callables: who tunes, what hears and what keeps are not its business.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar

from listen.clip import Console
from listen.tuner import Turn

Heard = TypeVar("Heard")


@dataclass(frozen=True, slots=True)
class Ask:
    """The next stop: its dial position, console on or off, why, and how many remain with it.

    left  None where the planner cannot tell
    """

    dial_mhz: float
    console: Console
    why: str
    left: int | None = None


@dataclass(frozen=True, slots=True)
class Visited:
    """A stop that is done with.

    kept  False where it was skipped
    """

    dial_mhz: float
    console: Console
    kept: bool = True


class Planner(Protocol):
    """Says which stop comes next."""

    def next_stop(self, so_far: Sequence[Visited]) -> Ask | None:
        """The next stop, in view of those done with; None: the question is settled."""
        ...


def walk(
    planner: Planner,
    tune: Callable[[Ask], Turn],
    hear: Callable[[Ask], Heard | None],
    keep: Callable[[Ask, Heard], Any],
    so_far: Iterable[Visited] = (),
) -> tuple[Visited, ...]:
    """Walk the dial until the planner is done, and give every stop in order.

    tune    brings the radio there: "go", "skip", or "back" for the stop before once more
    hear    a stop's clip, or whatever is made of it; None where the person would rather leave
            it out
    keep    puts that where it is safe, before the next stop is asked for
    so_far  stops done with in an earlier walk

    Whatever these raise ends the walk; what was kept stays kept.
    """
    done = list(so_far)
    again: list[Ask] = []  # stops to take once more, the nearest first
    while True:
        ask = again[0] if again else planner.next_stop(done)
        if ask is None:
            return tuple(done)
        turn = tune(ask)
        if turn == "back":
            before = [visit for visit in done if visit.kept][: -len(again) or None]
            if before:
                last = before[-1]
                again.insert(0, Ask(last.dial_mhz, last.console, "You went back to it."))
            continue
        clip = hear(ask) if turn == "go" else None
        if clip is not None:
            keep(ask, clip)
        if again:
            again.pop(0)
        done.append(Visited(ask.dial_mhz, ask.console, clip is not None))


def key(dial_mhz: float) -> int:
    """The same for two positions within 50 Hz: the same stop."""
    return round(dial_mhz * 1e4)
