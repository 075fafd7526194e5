"""What kind of sound plays at a stop: measures that tell a console's from a station's.

A sound chip holds its pitches and its levels still between notes and its lines are thin; a
station talks, glides and breathes, fills its spectrum and swings further.  None of these is
proof: heard.py weighs them, and locate.py asks for more before it calls a find.

Conventions
-----------
Shares are 0 to 1 of the power between 150 Hz and 6 kHz, nan where there is too little
programme to tell.  Levels are dB re a full-scale sine.

It knows nothing of dials, carriers or channels.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from listen.analysis.ranks import median, quantiles
from listen.analysis.spectrum import Cells, Lines, decibels, second

BAND_HZ = (150.0, 6_000.0)
LINE_OVER = 8.0  # a cell this many times the median round it is part of a line, not of hiss
PILOT_HZ = 19_000.0  # stereo pilot: 47 CFR 73.322
PEAK_SAMPLES = 36_000
LINE_WHISTLE_HZ = (15_600.0, 15_760.0)  # line rates of 625 and 525 lines: ITU-R BT.470


@dataclass(frozen=True, slots=True)
class Programme:
    """What a clip's programme is like.

    lines         share of the power that stands in thin lines
    still         share of the lines' power that keeps pitch and level (1 dB) for 85 ms
    peak_dbfs     level that the loudest 1 % of samples reach
    active        share of the frames in which lines or sound stand 10 dB over the calm ones'
    side_db       stereo difference over sum, dB; None for one channel
    pilot_db      19 kHz over its surroundings, dB; None where the rate does not reach it
    whistle_hz    the line whistle of a picture, Hz, or None
    """

    lines: float
    still: float
    peak_dbfs: float
    active: float
    side_db: float | None
    pilot_db: float | None
    whistle_hz: float | None


def measure_programme(
    row: NDArray[np.float32],
    cells: Cells,
    sample_rate_hz: int,
    side_db: float | None,
    fine: Lines | None = None,
) -> Programme:
    """The measures of one clip.

    row    shape (n,), the clip in mono
    cells  its short-time spectrum
    fine   spectrum.second of the row, where it is at hand
    """
    band = cells.between(*BAND_HZ)
    lines, still = _lines(band)
    frame_power = band.sum(axis=1, dtype=np.float64)
    (calm,) = quantiles(frame_power, (0.1,))
    whistle_hz, pilot_db = _high_lines(fine or second(row, sample_rate_hz), sample_rate_hz)
    return Programme(
        lines=lines,
        still=still,
        peak_dbfs=float(decibels(np.float64(_loudest(row)) ** 2)),
        active=float(np.mean(frame_power > 10 * calm)),
        side_db=side_db,
        pilot_db=pilot_db,
        whistle_hz=whistle_hz,
    )


def _loudest(row: NDArray[np.float32]) -> float:
    """What the loudest 1 % of the samples reach, read off some of them."""
    some = np.abs(row[_some_of(row.size)])
    rank = int(0.99 * (some.size - 1))
    return float(np.partition(some, rank)[rank])


@lru_cache(maxsize=4)
def _some_of(size: int) -> NDArray[np.intp]:
    """At most PEAK_SAMPLES places below size, all over it and in step with no pitch."""
    if size <= PEAK_SAMPLES:
        return np.arange(size)
    golden = (np.sqrt(5) - 1) / 2  # its multiples are even and never periodic
    return np.sort((np.arange(PEAK_SAMPLES) * golden % 1 * size).astype(np.intp))


def _lines(band: NDArray[np.float32]) -> tuple[float, float]:
    """Shares of the power in thin lines, and of those that stand still."""
    frames, count = band.shape
    if frames < 4 or count < 40:
        return np.nan, np.nan
    # The median of its neighbours is the floor that a thin line stands on.
    width = 16
    usable = count - count % width
    floor = np.repeat(median(band[:, :usable].reshape(frames, -1, width)), width, axis=1)
    part = band[:, :usable]
    is_line = part > LINE_OVER * floor
    peak = np.zeros_like(is_line)
    peak[:, 1:-1] = (
        is_line[:, 1:-1] & (part[:, 1:-1] >= part[:, :-2]) & (part[:, 1:-1] > part[:, 2:])
    )
    total = part.sum(dtype=np.float64)
    line_power = part[is_line].sum(dtype=np.float64)
    if total <= 0 or line_power <= 0:
        return 0.0, np.nan
    first, later = part[:-2], part[2:]
    is_peak = peak[:-2]
    ratio = later / np.maximum(first, 1e-30)
    kept = is_peak & peak[2:] & (ratio > 10**-0.1) & (ratio < 10**0.1)
    peaks = first[is_peak].sum(dtype=np.float64)
    still = first[kept].sum(dtype=np.float64) / peaks if peaks > 0 else np.nan
    return float(line_power / total), float(still)


def _high_lines(fine: Lines, sample_rate_hz: int) -> tuple[float | None, float | None]:
    """The line whistle's frequency, and how far 19 kHz stands out."""
    if sample_rate_hz < 32_000 or fine.row.size < sample_rate_hz // 4:
        return None, None
    line, bin_hz = fine.power, fine.bin_hz

    def stands(low_hz: float, high_hz: float) -> tuple[float, float]:
        first, last = int(low_hz / bin_hz), int(high_hz / bin_hz) + 1
        around = median(line[int(first - 300 / bin_hz) : int(last + 300 / bin_hz)])
        at = first + int(np.argmax(line[first:last]))
        return at * bin_hz, float(decibels(line[at]) - decibels(around))

    whistle_hz, over_db = stands(*LINE_WHISTLE_HZ)
    pilot_db = stands(PILOT_HZ - 4, PILOT_HZ + 4)[1] if sample_rate_hz >= 40_000 else None
    return (whistle_hz if over_db > 17 else None), pilot_db
