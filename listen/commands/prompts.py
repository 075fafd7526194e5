"""What tells a person to act without being looked at: the bell, and a program that speaks.

Both say the same: what is to be done, warnings, good news, and at the goal that the carrier is
held or has passed.  Notes and the meter stay silent.
"""

import queue
import shlex
import subprocess
import sys
import threading
from collections.abc import Iterator
from time import monotonic, sleep
from typing import TextIO

from listen.errors import BadDial
from listen.trim import Frame, Say

TOLD = ("do", "warn", "good")
WORDS = {
    "HOLD": "Hold.",
    "PASSED": "Passed the peak. Turn back.",
    "SILENT": "No sound at all.",
}
WAITING = 2  # sentences that may wait; what is older is no longer true
LONGEST_S, LAST_S = 60.0, 15.0
WHAT_IT_IS = "name the program, and it is given each sentence as its last argument"


class Speaker:
    """Has sentences spoken by a program, one after the other, while all else goes on.

    command  its name and first arguments, as it would be typed; run without a shell

    Raises BadDial for what cannot be read as a command.
    """

    def __init__(self, command: str) -> None:
        try:
            self._words = shlex.split(command)
        except ValueError as why:
            raise BadDial(
                f"--say-with {command!r} cannot be read as a command ({why}): {WHAT_IT_IS}"
            ) from why
        if not self._words:
            raise BadDial(f"--say-with came with nothing: {WHAT_IT_IS}")
        self._waiting: queue.Queue[str] = queue.Queue()
        self._worker: threading.Thread | None = None
        self.failed = ""

    def say(self, text: str) -> None:
        """Speak a sentence as soon as the one before is over."""
        if self.failed:
            return
        while self._waiting.qsize() >= WAITING:
            try:
                self._waiting.get_nowait()
                self._waiting.task_done()
            except queue.Empty:
                break
        self._waiting.put(text)
        if self._worker is None:
            self._worker = threading.Thread(target=self._run, daemon=True)
            self._worker.start()

    def finish(self, most_s: float = LAST_S) -> None:
        """Let the last sentences come to their end."""
        ends_s = monotonic() + most_s
        while self._waiting.unfinished_tasks and not self.failed and monotonic() < ends_s:
            sleep(0.05)

    def _run(self) -> None:
        while not self.failed:
            words = [*self._words, self._waiting.get()]
            try:
                done = subprocess.run(
                    words,
                    stdin=subprocess.DEVNULL,
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                    timeout=LONGEST_S,
                    check=False,
                )
            except (OSError, subprocess.SubprocessError) as why:
                self.failed = f"it cannot be run ({getattr(why, 'strerror', None) or why})"
                return
            if done.returncode != 0:
                self.failed = f"it ended with status {done.returncode}"
            self._waiting.task_done()


class Prompts:
    """Bell and voice of one command.

    bell     whether to ring
    speaker  who speaks; None: nobody
    out      where the bell goes
    """

    def __init__(
        self, bell: bool = False, speaker: Speaker | None = None, out: TextIO | None = None
    ) -> None:
        self._bell, self._speaker, self._out = bell, speaker, out
        self._word = ""
        self._complained = False

    def said(self, said: Say) -> None:
        """A sentence was shown."""
        if said.kind in TOLD:
            self._tell(said.text)

    def saw(self, frame: Frame) -> None:
        """A reading was taken: a word of WORDS that is new at the goal, or silence, is told."""
        if frame.word != self._word:
            self._word = frame.word
            if frame.word in WORDS and (frame.stage == "goal" or frame.word == "SILENT"):
                self._tell(WORDS[frame.word])

    def sentences(self, frame: Frame) -> Iterator[Say]:
        """What is to be said with a reading, one after the other; then it counts as seen."""
        yield from frame.says
        self.saw(frame)
        complaint = self.complaint()
        if complaint:
            yield Say("note", complaint)

    def complaint(self) -> str | None:
        """Once, as a sentence: why nothing is spoken any more."""
        if self._speaker is None or not self._speaker.failed or self._complained:
            return None
        self._complained = True
        return f"Nothing is spoken: of the program after --say-with, {self._speaker.failed}."

    def finish(self) -> None:
        """Let what is being spoken come to its end."""
        if self._speaker is not None:
            self._speaker.finish()

    def _tell(self, text: str) -> None:
        if self._bell:
            out = self._out or sys.stdout
            out.write("\a")
            out.flush()
        if self._speaker is not None:
            self._speaker.say(text)
