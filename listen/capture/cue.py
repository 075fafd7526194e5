"""A tone whose pitch rises as the carrier comes in, so that eyes can stay on the trimmer.

Conventions
-----------
Clarity runs 0 to 100: LOW_HZ at 0, two octaves above at 100, silence where it is None.  The
tone is soft (LOUDNESS of full scale) and glides, without clicks.

A cue must never reach the line-in: it belongs on the computer's own loudspeaker.
"""

import contextlib
import math
from types import TracebackType
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from listen.capture.devices import OPEN_S, before, sound_library, words_of
from listen.errors import NoInput

RATE_HZ = 48_000
LOW_HZ, OCTAVES = 220.0, 2.0
LOUDNESS = 0.08
GLIDE_S = 0.03
CLOSE_S = 2.0


def pitch_hz(clarity: float) -> float:
    """The pitch for a clarity, 0 to 100."""
    return float(LOW_HZ * 2 ** (OCTAVES * min(max(clarity, 0.0), 100.0) / 100))


class Tone:
    """The wave itself, block by block: phase and loudness go on from one to the next."""

    def __init__(self, rate_hz: int = RATE_HZ) -> None:
        self._rate_hz = rate_hz
        self._turns = 0.0
        self._hz, self._size = LOW_HZ, 0.0
        self.clarity: float | None = None

    def next(self, count: int) -> NDArray[np.float32]:
        """The next samples, shape (count,), full scale ±1.0."""
        wanted_hz = self._hz if self.clarity is None else pitch_hz(self.clarity)
        wanted = 0.0 if self.clarity is None else LOUDNESS
        near = -np.expm1(-(np.arange(count) + 1) / (GLIDE_S * self._rate_hz))
        hz = self._hz + (wanted_hz - self._hz) * near
        size = self._size + (wanted - self._size) * near
        turns = self._turns + np.cumsum(hz) / self._rate_hz
        if count:
            self._hz, self._size = float(hz[-1]), float(size[-1])
            self._turns = math.fmod(float(turns[-1]), 1.0)
        return np.asarray(size * np.sin(2 * np.pi * turns), dtype=np.float32)


class Cue:
    """An open loudspeaker that plays the tone, as a context manager.

    output  number or name of an output, as the sound library knows it; None: the default

    Raises NoInput where it cannot be opened.
    """

    def __init__(self, output: str | None = None) -> None:
        self._output: str | int | None = output
        if output is not None and output.isdecimal():
            self._output = int(output)
        self._tone = Tone()
        self._stream: Any = None

    def __enter__(self) -> Self:
        """Open it; silence until a clarity is set."""
        self._stream = before(OPEN_S, self._open, "opening the loudspeaker")
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close it; whatever that meets, the true reason of the end is not replaced by it."""
        stream, self._stream = self._stream, None
        with contextlib.suppress(Exception):  # PortAudio's own among them
            before(CLOSE_S, stream.close, "closing the loudspeaker")

    def set(self, clarity: float | None) -> None:
        """What the tone shall tell from now on; None is silence."""
        self._tone.clarity = clarity

    def _open(self) -> Any:
        try:
            stream = sound_library().OutputStream(
                device=self._output,
                samplerate=RATE_HZ,
                channels=1,
                dtype="float32",
                latency="low",
                callback=self._on_block,
            )
            stream.start()
        except NoInput:
            raise
        except Exception as why:  # PortAudioError cannot be named without the import
            raise NoInput(
                f"no tone can be played ({words_of(why)}): leave --sound out, or name another "
                "output with --output"
            ) from why
        return stream

    def _on_block(self, out: Any, frames: int, when: object, status: object) -> None:
        out[:, 0] = self._tone.next(frames)
