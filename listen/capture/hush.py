"""Keeps what C libraries print away from the person.

PortAudio and the sound system below it write half a dozen lines to file descriptor 2 when a
device goes away, from threads of their own and at moments nobody can foresee.  While a
`Hush` lasts, descriptor 2 leads nowhere, and Python's own `sys.stderr` is led round it, so
that our one sentence is still seen, and is the last thing seen.

It knows nothing of sound.
"""

import contextlib
import os
import sys
from typing import TextIO


class Hush:
    """Descriptor 2 leads nowhere from `start` to `stop`; Python's stderr goes on working.

    Where sys.stderr does not write to descriptor 2 (it was replaced, or is closed), it is
    left as it is.  `stop` may be called twice, or never, where a library is still at work in
    a thread that had to be left behind.
    """

    def __init__(self) -> None:
        self._saved_fd: int | None = None
        self._python_stderr: TextIO | None = None
        self._detour: TextIO | None = None

    def start(self) -> None:
        """Lead descriptor 2 nowhere.  Does nothing where there is no descriptor 2."""
        if self._saved_fd is not None:
            return
        try:
            self._saved_fd = os.dup(2)
        except OSError:
            return
        if _writes_to_2(sys.stderr):
            sys.stderr.flush()
            self._python_stderr = sys.stderr
            # The copy belongs to the detour; both are closed in stop().
            self._detour = open(  # noqa: SIM115
                os.dup(self._saved_fd),
                "w",
                encoding=sys.stderr.encoding or "utf-8",
                errors="backslashreplace",
                buffering=1,
            )
            sys.stderr = self._detour
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 2)
        os.close(nowhere)

    def stop(self) -> None:
        """Put everything back."""
        if self._saved_fd is None:
            return
        os.dup2(self._saved_fd, 2)
        os.close(self._saved_fd)
        self._saved_fd = None
        if self._detour is not None:
            if sys.stderr is self._detour and self._python_stderr is not None:
                sys.stderr = self._python_stderr
            with contextlib.suppress(OSError, ValueError):
                self._detour.close()
            self._detour = None


def _writes_to_2(stream: TextIO | None) -> bool:
    try:
        return stream is not None and stream.fileno() == 2
    except (OSError, ValueError, AttributeError):
        return False
