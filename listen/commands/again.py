"""A command as it can be typed again in this place: the line that goes on, what to try next."""

import os
import shlex
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path


def program() -> str:
    """What to type for `listen`: its name where that is found, else the way it was started."""
    called = Path(sys.argv[0])
    if shutil.which("listen") or called.stem != "listen":
        return "listen"
    return os.path.relpath(called)


def typed(words: Sequence[str]) -> str:
    """A line that runs `listen` with these words."""
    line = [program(), *words]
    return subprocess.list2cmdline(line) if os.name == "nt" else shlex.join(line)


def this_again() -> str:
    """The line that was typed."""
    return typed(sys.argv[1:])
