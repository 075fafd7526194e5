"""Everything measured of one clip, so that its samples can be let go.

A sweep of two thousand stops is measured one clip at a time; only these few numbers stay.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np

from listen.analysis.clipping import flat_tops
from listen.analysis.hiss import Hiss, measure_hiss
from listen.analysis.hum import Comb, measure_comb
from listen.analysis.programme import Programme, measure_programme
from listen.analysis.spectrum import (
    ANTIPHASE_DB,
    cells,
    decibels,
    mean_square,
    mono,
    second,
    settled,
)
from listen.analysis.tone import Tone, strongest_tone
from listen.clip import Clip

FULL_SCALE = 0.5  # clipping below half of full scale is a quiet limiter's, not the line-in's
SILENT_DBFS = -93.0  # below the noise of any line-in: nothing was connected, or a mute


@dataclass(frozen=True, slots=True)
class Measures:
    """One clip's numbers.

    file, dial_mhz, console, at  as the clip has them
    spoiled    why nothing could be measured, empty when all is well
    level_dbfs root mean square level, dB re a full-scale sine; -200 for digital silence
    clipped    share of the samples that stand on a flat top
    antiphase  whether its channels are one signal and its opposite
    silent     whether there is nothing but digital silence or a dead input
    hiss, comb, programme, tone  as their modules define them; None where spoiled or silent
    """

    file: str
    dial_mhz: float
    console: Literal["on", "off"]
    at: datetime | None = None
    spoiled: str = ""
    level_dbfs: float = -200.0
    clipped: float = 0.0
    silent: bool = False
    antiphase: bool = False
    hiss: Hiss | None = None
    comb: Comb | None = None
    programme: Programme | None = None
    tone: Tone | None = None


def measure(clip: Clip) -> Measures:
    """Measure one clip; a spoiled one gives its reason and nothing else."""
    if clip.spoiled:
        return Measures(clip.file, clip.dial_mhz, clip.console, clip.at, clip.spoiled)
    row, side_db = mono(clip.samples)
    antiphase = side_db is not None and side_db >= ANTIPHASE_DB
    side_db = None if antiphase else side_db
    row = settled(row, clip.sample_rate_hz)
    level_dbfs = float(decibels(2 * mean_square(row)))
    if level_dbfs < SILENT_DBFS:
        return Measures(
            clip.file, clip.dial_mhz, clip.console, clip.at, level_dbfs=level_dbfs, silent=True
        )
    short = cells(row, clip.sample_rate_hz)
    fine = second(row, clip.sample_rate_hz)
    return Measures(
        clip.file,
        clip.dial_mhz,
        clip.console,
        clip.at,
        level_dbfs=level_dbfs,
        clipped=_clipped_share(clip),
        antiphase=antiphase,
        hiss=measure_hiss(short),
        comb=measure_comb(row, clip.sample_rate_hz),
        programme=measure_programme(
            row, short, clip.sample_rate_hz, None if antiphase else side_db, fine
        ),
        tone=strongest_tone(row, clip.sample_rate_hz, fine),
    )


def measured(
    clips: Iterable[Clip], warnings: Sequence[str] = ()
) -> tuple[tuple[Measures, ...], list[str]]:
    """The clips' measures, and the warnings with what the clips themselves note."""
    stops: list[Measures] = []
    said = list(warnings)
    for clip in clips:
        stops.append(measure(clip))
        said += [note for note in clip.notes if note not in said]
    return tuple(stops), said


def _clipped_share(clip: Clip) -> float:
    """Share of the samples of the worst channel that lie on flat tops near full scale."""
    share = 0.0
    for column in clip.samples.T:
        if float(np.abs(column).max(initial=0.0)) >= FULL_SCALE:
            share = max(share, flat_tops(column)[1] / column.size)
    return share
