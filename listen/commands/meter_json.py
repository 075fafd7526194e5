"""A trim or a watch as lines of JSON, one an event, for a program that reads them.

meter   a reading, at most READ_PER_S of them a second
say     a sentence, with its kind: do, note, warn or good
dial    the dial is wanted there; null is an open spot
result  what came of it: the last line

docs/trim.md has the fields.
"""

import json
import sys
from typing import Any, Self

from listen.commands.prompts import Prompts
from listen.trim import Ask, Frame, Say

READ_PER_S = 10


class MeterJson:
    """Prints what a MeterView would show."""

    def __init__(self, prompts: Prompts | None = None) -> None:
        self._prompts = prompts or Prompts()
        self._due_s = 0.0

    def __enter__(self) -> Self:
        """Nothing is to be prepared."""
        return self

    def __exit__(self, *_: object) -> None:
        """Nothing is to be put back."""

    def say(self, said: Say) -> None:
        """A sentence."""
        self._line("say", kind=said.kind, text=said.text.strip())
        self._prompts.said(said)

    def want(self, ask: Ask, key: str) -> None:
        """The dial is wanted elsewhere."""
        self._line("dial", dial_mhz=ask.dial_mhz, why=ask.why)
        self._prompts.said(Say("do", ask.where))

    def is_set(self) -> None:
        """The dial is there."""

    def show(self, frame: Frame) -> None:
        """One reading."""
        for said in self._prompts.sentences(frame):
            self.say(said)
        if frame.t_s < self._due_s:
            return
        self._due_s = frame.t_s + 1 / READ_PER_S - 1e-6
        self._line(
            "meter",
            t_s=round(frame.t_s, 3),
            stage=frame.stage,
            dial_mhz=frame.dial_mhz,
            clarity=_rounded(frame.clarity),
            quieting_db=_rounded(frame.quieting_db),
            word=frame.word,
            clips=frame.clips,
        )

    def result(self, **fields: Any) -> None:
        """The last line."""
        self._line("result", **fields)

    def _line(self, event: str, **fields: Any) -> None:
        sys.stdout.write(json.dumps({"event": event, **fields}, ensure_ascii=False) + "\n")
        sys.stdout.flush()


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 1)
