"""Is this line-in fit to measure a radio by?  Judged on a few seconds of open-band roar.

Between stations an FM radio roars: a steady, even hiss, the loudest thing it plays.  That is
all this check needs.  Whatever makes it clip, vanish, fade, pump or lose its top would do the
same to every stop of a sweep.

Conventions
-----------
Samples are shape (n, channels), full scale ±1.0.  Levels are dBFS where 0 is a full-scale
sine (as AES17 defines it: 3 dB above the mean square); peaks are dB re full scale.  The hiss
is followed in frames of 50 ms in a band above speech and hum.

What it gives
-------------
check_line  a LineCheck: the numbers, and findings in words.  A finding is a "fault" (a sweep
            would mislead), a "warning" (it will do, better put right) or a "note".

It knows nothing of devices or of who reads the words (those are in linewords).
"""

from dataclasses import dataclass

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from listen.analysis.clipping import flat_tops
from listen.analysis.hum import measure_comb
from listen.analysis.linewords import Finding, Kind, finding
from listen.errors import BadClip

Array = NDArray[np.float64]

SHORTEST_S = 2.0  # mains hum is told from 10 Hz beside it, and a fade needs time to show
FRAME_S = 0.05
HISS_BAND_HZ = (2_000.0, 7_000.0)  # within every rate from 16 kHz up
TOP_BAND_HZ = (9_000.0, 13_000.0)  # roar is about level from the de-emphasis corner to 15 kHz
SILENCE_DBFS = -90.0  # the least a 16-bit step can show
FAINT_DBFS, QUIET_DBFS = -65.0, -45.0
LOUD_PEAK_DB = -1.0
DEAD_BELOW_OTHER_DB = 30.0
DC_LIMIT = 0.01
HUM_FAULT_DB, HUM_WARNING_DB = -6.0, -20.0  # against the roar
HUM_NEIGHBOUR_HZ, HUM_WANDER_HZ = 15.0, 0.3
# On model radios, 2 to 10 s long, steady roar moves by 0.9 to 2.6 dB between the 5th and the 95th
# hundredth of its frames, and by 0.4 at most between its first quarter and its last.
MOVING_DB = 3.0
FADING_DB = 1.5
TOP_MISSING_DB = 30.0
EVEN_ENOUGH = 0.55  # flatness of the hiss band: roar 0.62 (treble cut) to 1, music under 0.5
TALK_DB = 17.0  # hiss never moves so far, even where it is "enhanced" (16); talk does (18 to 44)
SAME = 0.99


@dataclass(frozen=True, slots=True)
class ChannelLevel:
    """One channel: rms_dbfs without DC, peak_db, dc (of full scale), flattened peaks a second."""

    rms_dbfs: float
    peak_db: float
    dc: float
    flattened_per_s: float


@dataclass(frozen=True, slots=True)
class Hum:
    """Mains hum: the mains rate, and the level at it and at twice it, dBFS."""

    mains_hz: int
    once_dbfs: float
    twice_dbfs: float

    @property
    def total_dbfs(self) -> float:
        """Both together, dBFS."""
        return float(10 * np.log10(10 ** (self.once_dbfs / 10) + 10 ** (self.twice_dbfs / 10)))


@dataclass(frozen=True, slots=True)
class LineCheck:
    """What the check measured and found.

    channels      one a channel
    best          index of the loudest live channel
    likeness      correlation of two channels, -1 to 1; None with a single live one
    hum           the mains hum that stands out of the hiss, or None
    moving_db     how far the hiss moves within the recording, dB
    fading_db     its last quarter against its first, dB
    top_db        9 to 13 kHz against 2 to 7, dB; None where the rate is too low to tell
    evenness      flatness of the hiss band, 0 to 1 (white noise)
    findings      in the order of their weight
    """

    duration_s: float
    sample_rate_hz: int
    channels: tuple[ChannelLevel, ...]
    best: int
    likeness: float | None = None
    hum: Hum | None = None
    moving_db: float | None = None
    fading_db: float | None = None
    top_db: float | None = None
    evenness: float | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def fit(self) -> bool:
        """Whether a sweep may be made with it: nothing found is a fault."""
        return all(each.weight != "fault" for each in self.findings)


def check_line(samples: NDArray[np.floating], sample_rate_hz: int) -> LineCheck:
    """Judge a line-in by a few seconds of the radio's roar.

    samples  shape (n, channels) or (n,), at least SHORTEST_S long

    Raises BadClip for a shorter or a broken recording.
    """
    data = np.asarray(samples, dtype=np.float64)
    data = data[:, np.newaxis] if data.ndim == 1 else data
    duration_s = data.shape[0] / sample_rate_hz
    if duration_s < SHORTEST_S:
        raise BadClip(
            f"{duration_s:.2f} s of sound came, and the line check needs {SHORTEST_S:g} s: "
            "give it more with --seconds"
        )
    if not np.isfinite(data).all():
        raise BadClip("some samples are infinite or not a number: restart the sound system")
    channels = tuple(channel_level(column, sample_rate_hz) for column in data.T)
    best = int(np.argmax([channel.rms_dbfs for channel in channels]))
    if channels[best].rms_dbfs < SILENCE_DBFS:
        silent = (finding("silent", level_dbfs=channels[best].rms_dbfs),)
        return LineCheck(duration_s, sample_rate_hz, channels, best, findings=silent)
    row = data[:, best] - data[:, best].mean()
    levels_db, density, hz = _frames(row, sample_rate_hz)
    checked = LineCheck(
        duration_s,
        sample_rate_hz,
        channels,
        best,
        likeness=_likeness(data, channels, best),
        hum=_hum(row, sample_rate_hz),
        moving_db=float(np.ptp(np.quantile(levels_db, (0.05, 0.95)))),
        fading_db=_fading_db(levels_db),
        top_db=_top_db(density, hz),
        evenness=_evenness(density, hz),
    )
    found = _level_findings(checked) + _sound_findings(checked)
    order = ("fault", "warning", "note")
    ranked = sorted(found, key=lambda each: order.index(each.weight))
    return _with(checked, tuple(ranked))


def channel_level(column: Array, sample_rate_hz: int) -> ChannelLevel:
    """Level, peak, DC and flattened peaks of one channel, shape (n,)."""
    dc = float(column.mean())
    mean_square = float(np.mean((column - dc) ** 2))
    peak = float(np.abs(column).max())
    return ChannelLevel(
        rms_dbfs=_db(2 * mean_square),
        peak_db=_db(peak**2),
        dc=dc,
        flattened_per_s=flat_tops(column)[0] * sample_rate_hz / column.size,
    )


def _frames(row: Array, rate_hz: int) -> tuple[Array, Array, Array]:
    """Hiss level of each frame in dB, the mean density, and the frequencies it is given at."""
    size = round(FRAME_S * rate_hz)
    frames = row[: row.size // size * size].reshape(-1, size) * np.hanning(size)
    power = np.abs(scipy.fft.rfft(frames, axis=1)) ** 2
    hz = np.arange(power.shape[1]) * rate_hz / size
    inside = (hz >= HISS_BAND_HZ[0]) & (hz < min(HISS_BAND_HZ[1], 0.45 * rate_hz))
    levels_db = 10 * np.log10(np.maximum(power[:, inside].mean(axis=1), 1e-20))
    return levels_db, power.mean(axis=0), hz


def _fading_db(levels_db: Array) -> float:
    quarter = max(1, levels_db.size // 4)
    return float(levels_db[-quarter:].mean() - levels_db[:quarter].mean())


def _band(density: Array, hz: Array, band_hz: tuple[float, float]) -> Array:
    return density[(hz >= band_hz[0]) & (hz < band_hz[1])]


def _top_db(density: Array, hz: Array) -> float | None:
    if hz[-1] < TOP_BAND_HZ[1]:
        return None
    top = _band(density, hz, TOP_BAND_HZ).mean()
    return _db(float(top)) - _db(float(_band(density, hz, HISS_BAND_HZ).mean()))


def _evenness(density: Array, hz: Array) -> float:
    """Geometric over arithmetic mean of the density: 1 for white noise, 0 for a tone."""
    top_hz = min(HISS_BAND_HZ[1], 0.7 * hz[-1])
    inside = np.maximum(_band(density, hz, (HISS_BAND_HZ[0], top_hz)), 1e-30)
    return float(np.exp(np.log(inside).mean()) / inside.mean())


def _likeness(data: Array, channels: tuple[ChannelLevel, ...], best: int) -> float | None:
    live = [
        index
        for index, each in enumerate(channels)
        if each.rms_dbfs > max(SILENCE_DBFS, channels[best].rms_dbfs - DEAD_BELOW_OTHER_DB)
    ]
    if len(live) < 2:
        return None
    return float(np.corrcoef(data[:, live[0]], data[:, live[1]])[0, 1])


def _hum(row: Array, rate_hz: int) -> Hum | None:
    """The mains' hum, known as it is at every stop of a sweep (hum.py), with its two levels.

    A picture's buzz is none: its comb goes on to kilohertz.

    The window is a Hann one: a sine of amplitude a gives power (a·n/4)² in its own bin and a
    quarter of that in each of the two beside it, 1.5 in all wherever it lies between bins
    (F. J. Harris, Proc. IEEE 66(1), 1978: noise bandwidth 1.5 bins).
    """
    comb = measure_comb(row, rate_hz)
    if comb.rich or not comb.nominal_hz:
        return None
    power = np.abs(scipy.fft.rfft(row * np.hanning(row.size))) ** 2 / (row.size / 4) ** 2
    bin_hz = rate_hz / row.size
    once, twice = (_line(power, bin_hz, times * comb.nominal_hz) for times in (1, 2))
    return Hum(comb.nominal_hz, _db(once), _db(twice))


def _line(power: Array, bin_hz: float, line_hz: float) -> float:
    """Power of a steady tone near line_hz, 1.0: full scale."""
    hz = np.arange(power.size) * bin_hz
    near = np.abs(hz - line_hz) <= HUM_WANDER_HZ + 2 * bin_hz
    beside = (np.abs(hz - line_hz) <= HUM_NEIGHBOUR_HZ) & ~near & (hz > 10)
    background = float(np.median(power[beside])) / np.log(2)  # median to mean of noise power
    return float(max(0.0, power[near].sum() - background * np.count_nonzero(near)) / 1.5)


def _level_findings(checked: LineCheck) -> list[Finding]:
    best = checked.channels[checked.best]
    found: list[Finding] = []
    clipping = max(each.flattened_per_s for each in checked.channels)
    if clipping > 0:
        found.append(finding("clipping", per_s=clipping))
    elif best.peak_db > LOUD_PEAK_DB:
        found.append(finding("loud", peak_db=best.peak_db))
    if best.rms_dbfs < FAINT_DBFS:
        found.append(finding("faint", level_dbfs=best.rms_dbfs))
    elif best.rms_dbfs < QUIET_DBFS:
        found.append(finding("quiet", level_dbfs=best.rms_dbfs))
    for index, each in enumerate(checked.channels):
        if each.rms_dbfs < best.rms_dbfs - DEAD_BELOW_OTHER_DB:
            found.append(finding("dead channel", number=index + 1))
    worst_dc = max((each.dc for each in checked.channels), key=abs)
    if abs(worst_dc) > DC_LIMIT:
        found.append(finding("dc", percent=100 * worst_dc))
    if checked.likeness is not None:
        kind: Kind = "mono" if checked.likeness > SAME else "stereo"
        found.append(finding(kind, likeness=checked.likeness))
    return found


def _sound_findings(checked: LineCheck) -> list[Finding]:
    found: list[Finding] = []
    fading_db, moving_db = checked.fading_db or 0.0, checked.moving_db or 0.0
    is_hiss = (checked.evenness or 0.0) > EVEN_ENOUGH and moving_db < TALK_DB
    is_faint = checked.channels[checked.best].rms_dbfs < FAINT_DBFS  # all drowns it then
    if checked.hum is not None and is_hiss and not is_faint:
        against_db = checked.hum.total_dbfs - checked.channels[checked.best].rms_dbfs
        level = {"mains_hz": checked.hum.mains_hz, "level_dbfs": checked.hum.total_dbfs}
        twice = checked.hum.twice_dbfs > checked.hum.once_dbfs
        if against_db > HUM_FAULT_DB:
            found.append(finding("hum drowns", **level))
        elif against_db > HUM_WARNING_DB:
            found.append(finding("hum twice" if twice else "hum", **level))
    if checked.top_db is not None and checked.top_db < -TOP_MISSING_DB:
        found.append(finding("no top", top_db=checked.top_db))
    if not is_hiss:
        found.append(finding("no roar", evenness=checked.evenness or 0.0))
    elif fading_db < -FADING_DB:
        found.append(finding("fading", change_db=-fading_db))
    elif fading_db > FADING_DB:
        found.append(finding("rising", change_db=fading_db))
    elif moving_db > MOVING_DB:
        found.append(finding("pumping", moving_db=moving_db))
    return found


def _with(checked: LineCheck, findings: tuple[Finding, ...]) -> LineCheck:
    values = {name: getattr(checked, name) for name in LineCheck.__slots__}
    return LineCheck(**{**values, "findings": findings})


def _db(power: float) -> float:
    return float(10 * np.log10(max(power, 1e-20)))
