"""What was heard at a bench, kept on disk: to judge it again need not be to hear it again.

Making the sound of a bench and measuring it takes a hundred times as long as what is made of
the measures.  A store keeps the measures of every stop that was ever heard at a bench, for as
long as the code that makes sound and measures it is the same, to the letter.

A bench's file is named by a digest of the bench itself, all its settings included, and of that
code; a stop in it by the dial, the switch, the time and where the dial came from.  So nothing
heard can be taken for anything else, and a store may be shared by any number of trials.
"""

import hashlib
import os
import pickle
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from listen.analysis.measures import Measures, measure
from listen.clip import Console
from listen.errors import CannotWrite
from listen.simulate.bench import Bench
from listen.simulate.hands import Hands, Standing

HOME = Path(__file__).parent.parent  # the package
MAKES_SOUND = (
    *("air", "bench", "broadcast", "detector", "frontend", "hands", "linein"),
    *("programmes", "receiver", "video", "waves"),
)
MEASURES = ("clipping", "hiss", "hum", "measures", "programme", "ranks", "spectrum", "tone")


@cache
def code_that_hears(home: Path = HOME) -> str:
    """A fingerprint of all that decides what is measured at a stop of a given bench."""
    whole = hashlib.sha256()
    paths = [home / "simulate" / f"{name}.py" for name in MAKES_SOUND]
    paths += [home / "analysis" / f"{name}.py" for name in MEASURES]
    for path in (*paths, home / "clip.py"):
        whole.update(path.name.encode() + path.read_bytes())
    return whole.hexdigest()


@dataclass(frozen=True, slots=True)
class Store:
    """Heard stops on disk.

    folder  None: nothing is kept, and everything heard anew
    """

    folder: Path | None

    def ears(self, hands: Hands) -> "Ears":
        """Somebody who measures what these hands tune in."""
        return Ears(hands, self._path(hands.bench))

    def _path(self, bench: Bench) -> Path | None:
        if self.folder is None:
            return None
        whole = hashlib.sha256((code_that_hears() + repr(bench)).encode()).hexdigest()
        return self.folder / whole[:2] / f"{whole[2:]}.pickle"


NOTHING_KEPT = Store(None)


class Ears:
    """Measures the stops of one bench, from its file where they are in it."""

    def __init__(self, hands: Hands, path: Path | None) -> None:
        self._hands = hands
        self._path = path
        self._known: dict[Standing, Measures] = {}
        self._new = False
        if path is not None and path.exists():
            self._known = pickle.loads(path.read_bytes())

    def hear(self, dial_mhz: float, console: Console) -> Measures:
        """Measure the stop at which the hands stand now."""
        standing = self._hands.stand(dial_mhz, console)
        if standing not in self._known:
            self._known[standing] = measure(self._hands.record(standing))
            self._new = True
        return self._known[standing]

    def keep(self) -> None:
        """Write what is new to disk, at one stroke."""
        if self._path is None or not self._new:
            return
        part = self._path.with_suffix(f".{os.getpid()}.part")
        try:
            part.parent.mkdir(parents=True, exist_ok=True)
            part.write_bytes(pickle.dumps(self._known))
            part.replace(self._path)
        except OSError as why:
            raise CannotWrite(f"cannot keep what was heard in {self._path.parent}: {why}") from why
        self._new = False
