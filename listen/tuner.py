"""Who turns the dial: a person, a person without free hands, or a command.

A tuner is asked for one dial position, with the console on or off, and comes back when the
radio is there.  Its answer is "go", "skip" (leave this stop out) or "back" (the one before
once more).  What the stop is, and why, has been said before it is asked.

What it gives
-------------
Person   waits for Enter
Dwell    waits a set time; needs no key
Command  runs the user's own program, without a shell

It knows nothing of recordings, and of the screen only the callables it is handed.
"""

import shlex
import subprocess
from collections.abc import Callable
from typing import Literal, Protocol

from listen.errors import TunerFailed

Turn = Literal["go", "skip", "back"]
Console = Literal["on", "off"]

KEYS = "Enter when it is there, s Enter to skip, b Enter for the one before, Ctrl-C to stop"
PLACES = ("{hz}", "{khz}", "{mhz}")
COMMAND_TIMEOUT_S = 20.0


class Tuner(Protocol):
    """Brings the radio to a dial position and the console to on or off."""

    def tune(self, dial_mhz: float, console: Console) -> Turn:
        """Come back when both are so.  Raises TunerFailed."""
        ...


class Person:
    """Somebody at the bench who presses Enter.

    read_line  shows a prompt and gives the line typed; raises EOFError when there is nobody
    """

    def __init__(self, read_line: Callable[[str], str]) -> None:
        self._read_line = read_line

    def tune(self, dial_mhz: float, console: Console) -> Turn:
        """Wait for a key.  Raises TunerFailed where no key can come."""
        while True:
            try:
                typed = self._read_line(f"{KEYS}: ").strip().lower()
            except EOFError:
                raise TunerFailed(
                    "nobody is at the keyboard to say that the dial is set: give a time for "
                    "each stop with --dwell, or a program that tunes with --tune-with"
                ) from None
            if typed in ("", "s", "b"):
                return {"": "go", "s": "skip", "b": "back"}[typed]  # type: ignore[return-value]


class Dwell:
    """Somebody at the bench without a free hand: each stop is given dwell_s seconds.

    wait  lets so many seconds pass, and may show them
    """

    def __init__(self, dwell_s: float, wait: Callable[[float], None]) -> None:
        self._dwell_s = dwell_s
        self._wait = wait

    def tune(self, dial_mhz: float, console: Console) -> Turn:
        """Wait for the set time."""
        self._wait(self._dwell_s)
        return "go"


class Command:
    """The user's own program, run once a stop and without a shell.

    template   such as "tune-my-radio {hz}"; also {khz}, {mhz}, and {console} for a switch
    switch     who switches the console, asked when it has to change; None where the template
               holds {console}, or where nobody is there: then such a stop is left out
    timeout_s  how long the program may take

    Raises TunerFailed for a template without a place for the frequency.
    """

    def __init__(
        self,
        template: str,
        *,
        switch: Tuner | None = None,
        console: Console = "on",
        timeout_s: float = COMMAND_TIMEOUT_S,
    ) -> None:
        try:
            self._words = shlex.split(template)
        except ValueError as why:
            raise TunerFailed(f"{template!r} cannot be read as a command: {why}") from why
        if not self._words or not any(place in template for place in PLACES):
            raise TunerFailed(
                f"{template!r} does not say where the frequency goes: write {{hz}}, {{khz}} or "
                "{mhz} in it, as in 'tune-my-radio {hz}'"
            )
        self._switches = "{console}" in template
        self._switch = switch
        self._console = console
        self._timeout_s = timeout_s

    def tune(self, dial_mhz: float, console: Console) -> Turn:
        """Run the program.  Raises TunerFailed where it cannot be run or does not succeed."""
        if console != self._console and not self._switches:
            turn = self._switch.tune(dial_mhz, console) if self._switch else "skip"
            if turn != "go":
                return turn
        self._console = console
        words = [filled(word, dial_mhz, console) for word in self._words]
        shown = shlex.join(words)
        try:
            done = subprocess.run(
                words,
                stdin=subprocess.DEVNULL,
                capture_output=True,
                text=True,
                errors="replace",
                timeout=self._timeout_s,
                check=False,
            )
        except subprocess.TimeoutExpired:
            raise TunerFailed(
                f"the tuning command did not end within {self._timeout_s:g} s: {shown}"
            ) from None
        except OSError as why:
            raise TunerFailed(
                f"the tuning command cannot be run ({why.strerror or why}): {shown}"
            ) from why
        if done.returncode != 0:
            said = (done.stderr.strip() or done.stdout.strip() or "it said nothing").split("\n")
            raise TunerFailed(
                f"the tuning command failed with status {done.returncode} ({said[-1].strip()}): "
                f"{shown}"
            )
        return "go"


def filled(word: str, dial_mhz: float, console: Console) -> str:
    """A word of the template with the frequency and the console's state put in."""
    places = {
        "{hz}": str(round(dial_mhz * 1e6)),
        "{khz}": f"{dial_mhz * 1e3:.3f}".rstrip("0").rstrip("."),
        "{mhz}": f"{dial_mhz:.6f}".rstrip("0").rstrip("."),
        "{console}": console,
    }
    for place, value in places.items():
        word = word.replace(place, value)
    return word
