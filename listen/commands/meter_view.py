"""The meter as it is shown: a thick bar and one big word, or plain lines where it is piped.

On a terminal it is drawn DRAWN_PER_S times a second, and at once where the clarity jumps by
JUMP; sentences scroll by above it.  Piped, a line is written when the word changes and once a
second, unless sentences alone are wanted.
"""

from typing import Any, Self

from listen.commands.prompts import Prompts
from listen.terminal import on_terminal
from listen.trim import Ask, Frame, Say

DRAWN_PER_S = 20
JUMP = 8.0  # of clarity since it was last drawn: not to be waited with
LEAST_S = 0.02  # between two drawings
SAID_EVERY_S = 1.0
CELLS = 60
STYLES = {"do": "bold", "good": "bold green", "warn": "bold red", "note": ""}
WORDS = {
    "SET THE DIAL": "SET THE DIAL",
    "TURN": "TURN",
    "COMING": "IT COMES",
    "WARMER": "WARMER",
    "COLDER": "COLDER",
    "HOLD": "HOLD",
    "PASSED": "PASSED THE PEAK: TURN BACK",
    "LISTENING": "LISTENING",
    "SILENT": "NO SOUND AT ALL",
    "WAIT": "WAIT",
    "DONE": "DONE",
}


def bar(clarity: float | None, cells: int = CELLS) -> str:
    """Clarity, 0 to 100, as a bar."""
    filled = 0 if clarity is None else round(cells * min(max(clarity, 0.0), 100.0) / 100)
    return "█" * filled + "░" * (cells - filled)


def figures(frame: Frame) -> str:
    """The dial, the clarity and the hiss in numbers."""
    dial = "open spot" if frame.dial_mhz is None else f"{frame.dial_mhz:g} MHz"
    clips = "   CLIPPING: turn the volume down" if frame.clips else ""
    if frame.clarity is None or frame.quieting_db is None:
        return f"{dial}   clarity   -{clips}"
    return (
        f"{dial}   clarity {frame.clarity:3.0f}   "
        f"hiss {-frame.quieting_db:+.0f} dB against the open band{clips}"
    )


class MeterView:
    """Shows frames and sentences as they come, as a context manager.

    goal     what stands above the bar
    prompts  bell and voice; None: neither
    lines    whether the meter is written where it cannot be drawn
    """

    def __init__(self, goal: str, prompts: Prompts | None = None, *, lines: bool = True) -> None:
        self._goal, self._prompts, self._lines = goal, prompts or Prompts(), lines
        self._live: Any = None
        self._ask: Ask | None = None
        self._drawn_s = self._word_s = -1.0
        self._drawn: float | None = None
        self._word = ""

    def __enter__(self) -> Self:
        """Begin to draw."""
        if on_terminal():
            from rich.console import Console
            from rich.live import Live

            console = Console(highlight=False)
            self._live = Live(console=console, auto_refresh=False, transient=True)
            self._live.start()
        return self

    def __exit__(self, *_: object) -> None:
        """Stop drawing; what was said stays."""
        if self._live is not None:
            self._live.stop()

    def say(self, said: Say) -> None:
        """A sentence above the meter."""
        if self._live is not None:
            self._live.console.print(said.text, style=STYLES[said.kind], markup=False)
        else:
            print(said.text, flush=True)
        self._prompts.said(said)

    def want(self, ask: Ask, key: str) -> None:
        """The dial is wanted elsewhere; key says how to tell that it is there."""
        self._ask = ask
        self.say(Say("do", f"{ask.where}  {ask.why}{key}"))

    def is_set(self) -> None:
        """The dial is there."""
        self._ask = None

    def show(self, frame: Frame) -> None:
        """One reading, drawn if it is time."""
        for said in self._prompts.sentences(frame):
            self.say(said)
        if self._live is None:
            if self._lines:
                self._plain(frame)
            return
        since_s = frame.t_s - self._drawn_s
        before, now = self._drawn or 0.0, frame.clarity or 0.0
        if since_s > 0.999 / DRAWN_PER_S or (since_s >= LEAST_S and abs(now - before) >= JUMP):
            self._live.update(self._picture(frame), refresh=True)
            self._drawn_s, self._drawn = frame.t_s, frame.clarity

    def _picture(self, frame: Frame) -> Any:
        from rich.text import Text

        row = bar(frame.clarity)
        wanted = ""
        if self._ask is not None:
            mhz = self._ask.dial_mhz
            wanted = "  → an open spot" if mhz is None else f"  → {mhz:g} MHz"
        return Text.assemble(
            (f"{self._goal}\n", "dim"),
            f"{row}\n{row}\n{figures(frame)}\n",
            (f"  {' '.join(WORDS[frame.word])}{wanted}  ", "bold reverse"),
        )

    def _plain(self, frame: Frame) -> None:
        if frame.word != self._word or frame.t_s - self._word_s >= SAID_EVERY_S:
            self._word, self._word_s = frame.word, frame.t_s
            print(f"{frame.t_s:7.1f} s  {figures(frame)}  {WORDS[frame.word]}", flush=True)
