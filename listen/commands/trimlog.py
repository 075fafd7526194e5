"""The log of a trim, and the line that goes on from where it was stopped.

docs/trim.md has the columns.
"""

import os
import shlex
import subprocess
import sys
from datetime import datetime
from pathlib import Path
from typing import Any

from listen.commands.benchlog import BenchLog
from listen.trim import Frame, Guide, Say

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

    def frame(self, frame: Frame, guide: Guide) -> None:
        """A row twice a second, and one for each sentence."""
        for said in frame.says:
            self.say(said, frame, guide)
        if frame.t_s >= self._due_s:
            self._due_s = frame.t_s + LOGGED_EVERY_S
            self._row(frame)

    def say(self, said: Say, frame: Frame, guide: Guide) -> None:
        """A sentence; with a result its figures."""
        figures: dict[str, Any] = {}
        if guide.left is not None and "kHz left" in said.text:
            low, high = guide.left.interval_95_khz
            figures = {"left_khz": round(guide.left.left_khz, 1)}
            figures |= {"left_low_khz": round(low, 1), "left_high_khz": round(high, 1)}
        self._row(frame, said=said.text, **figures)

    def _row(self, frame: Frame, **more: Any) -> None:
        self.file.add(
            at=datetime.now().astimezone().isoformat(timespec="seconds") if self._live else None,
            t_s=round(frame.t_s, 2),
            stage=frame.stage,
            dial_mhz=frame.dial_mhz,
            clarity=_rounded(frame.clarity),
            quieting_db=_rounded(frame.quieting_db),
            word=frame.word,
            synced="said" in more,
            **more,
        )


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 1)


def go_on(path: Path, option: str, now_mhz: float | None) -> str:
    """What is kept, and the line that goes on from there.

    option, now_mhz  the option that tells where the carrier is, and where it was heard last
    """
    words = ["listen", *sys.argv[1:]]
    if now_mhz is not None and "--wait" not in words:
        words = [*_without(words, option), option, f"{now_mhz:g}"]
    line = subprocess.list2cmdline(words) if os.name == "nt" else shlex.join(words)
    return f"The log is kept in {path}.  To go on:  {line}"


def _without(words: list[str], option: str) -> list[str]:
    kept: list[str] = []
    skip = False
    for word in words:
        if not skip and word != option and not word.startswith(f"{option}="):
            kept.append(word)
        skip = word == option
    return kept
