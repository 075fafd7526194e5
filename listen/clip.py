"""Clip: what the radio played while its dial stood still.

A clip carries its own dial position and whether the console was on, so a sweep is a
sequence of clips and the analysis needs nothing else.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from listen.errors import BadClip

Console = Literal["on", "off"]


@dataclass(frozen=True, slots=True, eq=False)
class Clip:
    """The audio of one dial stop.

    dial_mhz        what the dial showed, MHz
    sample_rate_hz  samples a second
    samples         float32, shape (n, channels), full scale ±1.0; read-only
    console         "on" or "off": whether the console was switched on
    file            the recording's name, as the sweep folder lists it
    at              when it was recorded, if that is known
    spoiled         why nothing can be measured here, as a clause; empty when all is well.
                    A spoiled clip may hold no samples
    notes           sentences that the reader wants passed on as warnings

    Raises BadClip for samples of another shape, none at all, or not finite.
    """

    dial_mhz: float
    sample_rate_hz: int
    samples: NDArray[np.float32]
    console: Console = "on"
    file: str = ""
    at: datetime | None = None
    spoiled: str = ""
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        samples = np.array(self.samples, dtype=np.float32)
        if samples.ndim == 1:
            samples = samples[:, np.newaxis]
        if samples.ndim != 2 or (samples.size == 0 and not self.spoiled):
            raise BadClip(f"a clip is rows of samples, a column a channel, not {samples.shape}")
        if not self.spoiled and not np.isfinite(samples).all():
            raise BadClip("a clip's samples must be numbers: some are infinite or not a number")
        samples.setflags(write=False)
        object.__setattr__(self, "samples", samples)

    @property
    def duration_s(self) -> float:
        """How long the clip lasts, seconds."""
        return float(self.samples.shape[0] / self.sample_rate_hz)


def spoiled_clip(
    dial_mhz: float,
    why: str,
    *,
    console: Console = "on",
    file: str = "",
    at: datetime | None = None,
    sample_rate_hz: int = 48_000,
) -> Clip:
    """A stop whose recording cannot be used, with the reason as a clause."""
    nothing = np.zeros((0, 1), np.float32)
    return Clip(dial_mhz, sample_rate_hz, nothing, console, file, at, spoiled=why)
