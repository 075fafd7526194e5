"""What a person at the bench sees while sound is recorded: words, a bar, a level.

On a terminal the bar and the level move; piped, only plain lines are written.  Prompts go to
standard output and the answer is read from standard input; keys hit before the prompt was
shown do not answer it.
"""

import math
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from time import monotonic, sleep

import numpy as np
from numpy.typing import NDArray

from listen.terminal import on_terminal, say

Samples = NDArray[np.float32]
OnBlock = Callable[[Samples, float], None]

CELLS = 24  # of the level bar, over LOWEST_DB to 0
NARROW = 80  # letters a line: with less the bar is short
LOWEST_DB = -60.0
TICK_S = 0.1


def has_keys() -> bool:
    """Whether a person can type here: standard input is open, and a terminal."""
    try:
        return sys.stdin is not None and sys.stdin.isatty()
    except ValueError:  # it was closed
        return False


def read_line(prompt: str) -> str:
    """Show the prompt and give the line typed after it.  Raises EOFError at the end of input."""
    _forget_keys()
    print(prompt, end="", flush=True)
    line = "" if sys.stdin is None else sys.stdin.readline()
    if not line:
        print()
        raise EOFError
    return line


def big(text: str) -> None:
    """The one thing to do now, set apart from all else."""
    if on_terminal():
        from rich.console import Console

        Console(highlight=False).print(text, style="bold", markup=False)
    else:
        print(text, flush=True)


def level_of(block: Samples) -> tuple[float, float]:
    """Level (dBFS, 0 a full-scale sine) and peak (dB) of the loudest channel of a block."""
    data = block.astype(np.float64)
    mean_square = float((2 * np.mean((data - data.mean(axis=0)) ** 2, axis=0)).max())
    peak = float(np.abs(data).max())
    return 10 * math.log10(max(mean_square, 1e-20)), 20 * math.log10(max(peak, 1e-10))


def level_bar(level_db: float, peak_db: float, width: int = NARROW) -> str:
    """The level as a bar and in numbers, with a word where it is too high or nothing.

    width  of the terminal; on a narrow one the bar is short, so that no number is cut off
    """
    cells = CELLS if width >= NARROW else CELLS // 4
    filled = round(cells * min(1.0, max(0.0, 1 - level_db / LOWEST_DB)))
    word = "CLIPPING" if peak_db > -0.01 else "silent" if level_db < -90 else ""
    shown = f"{max(level_db, -99):4.0f} dB"
    return f"{'#' * filled}{'.' * (cells - filled)} {shown} {word}".rstrip()


@contextmanager
def recording(duration_s: float, doing: str) -> Iterator[OnBlock | None]:
    """A bar that fills while duration_s seconds are recorded, with the level beside it.

    Gives what must be called with each block and the seconds recorded by then; None where
    no bar is shown.
    """
    if not on_terminal():
        yield None
        return
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn(30), TextColumn("{task.fields[level]}"))
    with Progress(*columns, transient=True) as progress:
        task = progress.add_task(doing, total=duration_s, level="")

        def on_block(block: Samples, done_s: float) -> None:
            level = level_bar(*level_of(block), progress.console.width)
            progress.update(task, completed=done_s, level=level)

        yield on_block


def wait(duration_s: float, doing: str) -> None:
    """Let time pass, shown as a bar that fills."""
    if not on_terminal():
        sleep(duration_s)
        return
    from rich.progress import BarColumn, Progress, TextColumn

    ends_s = monotonic() + duration_s
    with Progress(TextColumn(doing), BarColumn(30), transient=True) as progress:
        task = progress.add_task(doing, total=duration_s)
        while (left_s := ends_s - monotonic()) > 0:
            progress.update(task, completed=duration_s - left_s)
            sleep(min(TICK_S, left_s))


def sentence(text: str) -> None:
    """A line of plain words, shown at once even where output is piped."""
    say(text)
    with suppress(OSError, ValueError, AttributeError):
        sys.stdout.flush()


def _forget_keys() -> None:
    if not has_keys():
        return
    try:
        import termios
    except ImportError:  # Windows: keys typed early answer the prompt
        return
    with suppress(termios.error):
        termios.tcflush(sys.stdin, termios.TCIFLUSH)
