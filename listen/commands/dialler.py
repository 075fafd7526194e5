"""Who sets the dial while the meter goes on: a person's key, a set time, or a command.

A tuner of listen/tuner.py keeps its caller waiting; at the trimmer the meter must not stand
still meanwhile.  So keys are read, and a command is run, in threads of their own, and the loop
that hears asks here what has happened.

Without a key a stop is taken as set after the time that it was given, if the sound has changed
meanwhile.  A hand that is still at the trimmer has not set the dial, and what is then heard would
be taken for another stop's.  So where it sounds as before that is said, and UNTURNED times as long
is waited.  Two stops may sound alike; so in the end it is taken as set.
"""

import contextlib
import os
import queue
import sys
import threading
from collections.abc import Iterator

from listen.commands.screen import has_keys
from listen.errors import ListenError, TunerFailed
from listen.tuner import Command

NOBODY = (
    "nobody is at the keyboard to say that the dial is set: give a time for each stop with "
    "--dwell, or a program that tunes with --tune-with"
)
NO_OPEN = (
    "no open spot of the band is known for the tuning command to go to: name one with --open MHZ"
)


KEY = "  (Enter when it is there)"
UNTURNED = 3  # times the time of a stop, where nothing that is heard tells that the dial was set
REMIND_S = 30.0  # a person with a key is told again what is waited for


class Keys:
    """Lines typed meanwhile.  `ended` is True once no more can come."""

    def __init__(self) -> None:
        self.ended = False
        self._typed: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        threading.Thread(target=self._read, daemon=True).start()

    def next(self) -> str | None:
        """The next line typed, lower case and trimmed; None where there is none yet."""
        with contextlib.suppress(queue.Empty):
            line = self._typed.get_nowait()
            if line is None:
                self.ended = True
            return line
        return None

    def _read(self) -> None:
        # Descriptor 0 itself: a buffered reader may not be left behind in a thread at the end.
        waiting = b""
        while True:
            try:
                data = os.read(sys.stdin.fileno(), 1024)
            except (OSError, ValueError, AttributeError):
                data = b""
            if not data:
                self._typed.put(None)
                return
            *lines, waiting = (waiting + data).split(b"\n")
            for line in lines:
                self._typed.put(line.decode(errors="replace").strip().lower())


@contextlib.contextmanager
def unechoed() -> Iterator[None]:
    """What is typed is not shown: it would break into the meter."""
    if not has_keys():
        yield
        return
    try:
        import termios
    except ImportError:  # Windows
        yield
        return
    before = termios.tcgetattr(sys.stdin)
    quiet = list(before)
    quiet[3] &= ~termios.ECHO
    termios.tcsetattr(sys.stdin, termios.TCSANOW, quiet)
    try:
        yield
    finally:
        termios.tcsetattr(sys.stdin, termios.TCSANOW, before)


class Dialler:
    """Sees to it that the dial is set, without keeping anybody waiting.

    keys      of the person; None: none are read
    dwell_s   how long a step is given where no key is needed
    command   the program that tunes
    """

    def __init__(self, keys: Keys | None, dwell_s: float | None, command: Command | None) -> None:
        self._keys, self._dwell_s, self._command = keys, dwell_s, command
        self._since_s = self._told_s = 0.0
        self._worker: threading.Thread | None = None
        self._failed: ListenError | None = None

    @property
    def needs_key(self) -> bool:
        """Whether only a key tells that the dial is set."""
        return self._dwell_s is None and self._command is None

    def want(self, dial_mhz: float | None, now_s: float) -> None:
        """Begin to set the dial; None is an open spot.  Raises TunerFailed for what cannot be."""
        self._since_s = self._told_s = now_s
        if self._command is None:
            return
        if dial_mhz is None:
            raise TunerFailed(NO_OPEN)
        self._worker = threading.Thread(
            target=self._run, args=(dial_mhz, self._worker), daemon=True
        )
        self._worker.start()

    def is_set(self, now_s: float, typed: str | None, sounds_turned: bool) -> bool:
        """Whether the dial stands where it was wanted.  Raises TunerFailed.

        sounds_turned  whether the sound has changed since
        """
        if self._command is not None:
            if self._failed is not None:
                raise self._failed
            return self._worker is not None and not self._worker.is_alive()
        if typed == "":
            return True
        if self._dwell_s is not None:
            enough_s = self._dwell_s * (1 if sounds_turned else UNTURNED)
            return now_s - self._since_s >= enough_s
        if self._keys is None or self._keys.ended:
            raise TunerFailed(NOBODY)
        return False

    def reminder(self, where: str, now_s: float) -> str | None:
        """What is waited for, as a sentence, where it has been waited for long; once a while.

        where  the wish, as a sentence
        """
        if self._command is not None:
            return None
        every_s = REMIND_S if self._dwell_s is None else self._dwell_s
        if now_s - self._told_s < every_s:
            return None
        self._told_s = now_s
        if self._dwell_s is None:
            return f"Waiting for the dial.  {where}{KEY}"
        return f"It sounds as it did: is the dial set?  {where}"

    def _run(self, dial_mhz: float, before: threading.Thread | None) -> None:
        assert self._command is not None
        if before is not None:  # a wish may be taken back while it is obeyed
            before.join()
        try:
            self._command.tune(dial_mhz, "on")
        except ListenError as why:
            self._failed = why
