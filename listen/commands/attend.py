"""One loop for whatever leads a person at the bench: hear, show, have the dial set, obey keys."""

from collections.abc import Callable, Iterable
from typing import Protocol

from listen.capture.linein import Block
from listen.commands.dialler import KEY, Dialler, Keys
from listen.trim import Ask, Frame, Say
from listen.trim.meter import Samples


class Leader(Protocol):
    """A machine that is fed with sound and asks for dial positions: a guide or a watcher."""

    ask: Ask | None

    @property
    def sounds_turned(self) -> bool:
        """Whether the sound has changed since the dial was wanted elsewhere."""
        ...

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to do."""
        ...

    def hear(self, samples: Samples) -> list[Frame]:
        """Take a block of sound."""
        ...

    def dial_set(self, dial_mhz: float | None) -> None:
        """The dial stands there now."""
        ...

    def enter(self) -> None:
        """A key was pressed while no dial position was wanted."""
        ...


class View(Protocol):
    """What shows it: a meter on the screen, or lines for a program."""

    def say(self, said: Say) -> None:
        """A sentence."""
        ...

    def want(self, ask: Ask, key: str) -> None:
        """The dial is wanted elsewhere; key says how to tell that it is there."""
        ...

    def is_set(self) -> None:
        """The dial is there."""
        ...

    def show(self, frame: Frame) -> None:
        """One reading."""
        ...


def attend(
    leader: Leader,
    blocks: Iterable[Block],
    keys: Keys,
    dialler: Dialler,
    view: View,
    heard: Callable[[Frame], None],
    comes: Callable[[Block], None] = lambda block: None,
    asks: Callable[[Ask], None] = lambda ask: None,
    not_yet: Callable[[bool], None] = lambda dial_moves: None,
) -> None:
    """Until the leader is done, or the person types q.

    heard  called with every frame, after it was shown
    comes  called with every block, before the leader hears it: its clock, and what was lost
    asks   called with every wish for the dial
    not_yet  called where the person types n; with whether anything else sets the dial
    """
    asked: Ask | None = None
    now_s: float | None = None
    for block in blocks:
        comes(block)
        for frame in leader.hear(block.samples):
            view.show(frame)
            heard(frame)
            now_s = frame.t_s
        if now_s is None:
            continue
        typed = keys.next()
        if leader.is_done or typed in ("q", "quit"):
            return
        if typed == "n":
            not_yet(not dialler.needs_key)
            if leader.ask is None:
                view.is_set()
        if leader.ask is not None and leader.ask is not asked:
            asked = leader.ask
            view.want(asked, KEY if dialler.needs_key else "")
            asks(asked)
            dialler.want(asked.dial_mhz, now_s)
        elif leader.ask is not None and dialler.is_set(now_s, typed, leader.sounds_turned):
            view.is_set()
            leader.dial_set(leader.ask.dial_mhz)
        elif leader.ask is not None:
            reminder = dialler.reminder(leader.ask.where, now_s)
            if reminder:
                view.say(Say("do", reminder))
        elif typed == "":
            leader.enter()
