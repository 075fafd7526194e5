"""Clip: what the radio played while its dial stood still.

A clip carries its own dial position and whether the console was on, so a sweep is a
sequence of clips and the analysis needs nothing else.
"""

import math
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from listen.errors import BadClip

Console = Literal["on", "off"]

RATES_HZ = (8_000, 192_000)  # below, no hiss is left to measure; above, none is added


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

    Raises BadClip for samples of another shape, none at all, or not finite; for a dial, a rate
    or a switch that no recording has.
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
        if not (math.isfinite(self.dial_mhz) and self.dial_mhz > 0):
            raise BadClip(
                f"a clip's dial of {self.dial_mhz} came: give what the dial showed, in MHz"
            )
        if not RATES_HZ[0] <= self.sample_rate_hz <= RATES_HZ[1]:
            raise BadClip(
                f"a clip of {self.sample_rate_hz} samples a second came: between {RATES_HZ[0]} and "
                f"{RATES_HZ[1]} can be measured, so record or resample it at 48000"
            )
        if self.console not in ("on", "off"):
            raise BadClip(f"a clip's console '{self.console}' came: write on or off")
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
