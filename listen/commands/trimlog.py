"""The log of a trim, and the line that goes on from where it was stopped.

docs/trim.md has the columns.
"""

import sys
from datetime import datetime
from pathlib import Path
from typing import Any

from listen.commands.again import typed
from listen.commands.benchlog import BenchLog
from listen.trim import Frame, Say

COLUMNS = (
    *("at", "t_s", "stage", "dial_mhz", "clarity", "quieting_db", "word"),
    *("said", "left_khz", "left_low_khz", "left_high_khz"),
)
LOGGED_EVERY_S = 0.5


class TrimLog:
    """The log of one trim."""

    def __init__(self, path: Path, live: bool) -> None:
        self.file = BenchLog(path, COLUMNS)
        self._live = live
        self._due_s = 0.0
        self._last: Frame | None = None

    def frame(self, frame: Frame) -> None:
        """A row twice a second, and one for each sentence; with a result its figures."""
        self._last = frame
        for said in frame.says:
            figures: dict[str, Any] = {}
            if frame.left is not None and said is frame.says[0]:  # what follows comes of it
                low, high = frame.left.interval_95_khz
                figures = {"left_khz": round(frame.left.left_khz, 1)}
                figures |= {"left_low_khz": round(low, 1), "left_high_khz": round(high, 1)}
            self._row(said=said.text, **figures)
        if frame.t_s >= self._due_s:
            self._due_s = frame.t_s + LOGGED_EVERY_S
            self._row()

    def say(self, said: Say) -> None:
        """A sentence of no reading: those before the first, and wishes for the dial."""
        self._row(said=said.text)

    def _row(self, **more: Any) -> None:
        frame = self._last
        self.file.add(
            at=datetime.now().astimezone().isoformat(timespec="seconds") if self._live else None,
            t_s=0.0 if frame is None else round(frame.t_s, 2),
            stage="roar" if frame is None else frame.stage,
            dial_mhz=None if frame is None else frame.dial_mhz,
            clarity=None if frame is None else _rounded(frame.clarity),
            quieting_db=None if frame is None else _rounded(frame.quieting_db),
            word=None if frame is None else frame.word,
            synced="said" in more,
            **more,
        )


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 1)


def go_on(path: Path, option: str, now_mhz: float | None) -> str:
    """What is kept, and the line that goes on from there.

    option, now_mhz  the option that tells where the carrier is, and where it was heard last
    """
    words = sys.argv[1:]
    if now_mhz is not None and "--wait" not in words:
        words = [*_without(words, option), option, f"{now_mhz:g}"]
    return f"The log is kept in {path}.  To go on:  {typed(words)}"


def _without(words: list[str], option: str) -> list[str]:
    kept: list[str] = []
    skip = False
    for word in words:
        if not skip and word != option and not word.startswith(f"{option}="):
            kept.append(word)
        skip = word == option
    return kept
