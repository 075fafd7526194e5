"""Whose sound it is at a stop: the odds of a console against a station, from the sound alone.

The odds add what each measure is worth, in natural logarithms: positive speaks for a
console, negative for a station.  How far each measure tells the two apart was read off model
benches (docs/clarity.md has the table and the command); each one also has a reason of its own:

swing   a station fills ±75 kHz and is compressed, a console's sound has ±25 or ±50 kHz and
        is not; the open-band roar is the yardstick that every radio carries with it
        (47 CFR 73.1570(b) for 75 and 25 kHz; 50 kHz: ITU-R BT.470)
still   a tone that keeps pitch and level to 1 dB comes from a circuit, not from a studio
buzz    harmonics of the field rate come from a picture; the mains' go less far
pauses  speech stops and starts, glides, and keeps no level
whistle 15.6 to 15.75 kHz is the line rate of a picture, where the radio passes it
stereo  a pilot at 19 kHz or a stereo difference is a station's: no console makes one.  A pilot
        that stands out clearly outweighs how softly anything plays

It knows nothing of rasters, switches or channels: those speak in locate.py.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from listen.analysis.measures import Measures
from listen.analysis.roar import without_hum_db
from listen.analysis.survey import Survey

HELD_DB = 10.0  # quieted by this much, a carrier is held and its programme can be judged
OPEN_DB = 3.0  # quieted by less, it is the open band
LIKE_CONSOLE = 1.5  # odds of a sound from which it may be a console's
LOUD_DB = 3.2  # peak over roar where console and station are equally likely
SWING_PER_DB, SWING_MOST = 2.0, 4.5
TONE_DB = 9.7  # a steady tone of 50 kHz stands 9.0 dB over the roar, one of 75 kHz 12.5
TONE_PER_DB, TONE_MOST = 2.5, 9.0
PICTURE_SHARE = 0.6  # of the power in field-rate harmonics: a picture carrier itself
SIDE_DB = -18.0  # stereo difference over sum; a console's programme is mono
PILOT_DB = 25.0  # any pilot over what is beside it; a tone's overtone can reach 15
STEREO_PILOT_DB = 40.0  # a station's beyond doubt
STEREO, CLEAR_STEREO = -3.0, -8.0  # odds of a pilot, and of a clear one
STEREO_TONE = -3.0  # beside a tone that stands still, so much more
HUM_SLACK_DB = 2.5  # peaks of hum with harmonics stand so far over its level
WALL_SHARE, WALL_LINES = 0.3, 0.05  # the same where the noise of a skirt lies over it
SOFT_DB, NOTHING_DB = -24.0, -40.0  # peaks that need lines to be a tune's; what is no tune at all
REST_DB = -25.0  # a picture in mid-passband buzzes by 3 kHz and more, a console at rest by 1
HISS_PEAK_DB = 15.0  # peaks of what hiss is left, clicks included, stand less over its own level
HISS_LINES, HISS_ACTIVE = 0.06, 0.1  # fewer lines, and sound less often, than any programme's
PICTURE_LINES = 0.3  # a picture's harmonics stand too close for lines


@dataclass(frozen=True, slots=True)
class Sound:
    """What one stop's sound is like.

    kind  "silent" (nothing to judge by), "muted" (by a radio that mutes where it holds nothing),
          "open" (hiss), "edge" (part hiss, part carrier),
          "faint" (a carrier, but hardly: runs.py tells), "buzz" (a picture's), "bare" (a carrier
          without a programme), "programme"
    odds  natural logarithm, console against station; 0 unless the kind is "programme"
    why   the measure that weighed most for what the odds say, as a clause
    loud_db  how far its peaks stand over the roar's level, dB; nan where nothing is held
    """

    kind: str
    odds: float
    why: str
    loud_db: float = float("nan")


def judge(sweep: Survey, index: int, mains_hz: Sequence[float]) -> Sound:
    """Judge one stop of a sweep; mains_hz are the mains rates that may be on this bench."""
    stop = sweep.stops[index]
    if stop.spoiled:
        return Sound("silent", 0.0, stop.spoiled)
    if sweep.roar.muting == "hard" and sweep.roar.muted[index]:
        return Sound("muted", 0.0, "the radio let nothing through: it holds no carrier there")
    if sweep.roar.muted[index] or stop.programme is None or stop.comb is None:
        return Sound("silent", 0.0, "no sound at all: muted, or nothing connected")
    quieting_db = sweep.quieting_db[index]
    if quieting_db < OPEN_DB:
        return Sound("open", 0.0, "the open band's roar")
    if quieting_db < HELD_DB:
        return Sound("edge", 0.0, f"a carrier's edge, {quieting_db:.0f} dB under the roar")
    comb, programme = stop.comb, stop.programme
    loud_db = sweep.loud_db(index)
    if loud_db is None:  # without a roar nothing tells how far it swings
        loud_db = LOUD_DB
    elif not comb.rich:
        loud_db = _without_hum(loud_db, comb.hum_dbfs - programme.peak_dbfs)
    bright = comb.share > PICTURE_SHARE or programme.whistle_hz is not None
    harsh = comb.rich and bright and programme.lines < PICTURE_LINES
    if (harsh or _on_a_wall(stop)) and loud_db > REST_DB:
        return Sound("buzz", 0.0, f"harsh buzz at {comb.rate_hz:.2f} Hz and no tune")
    if loud_db < SOFT_DB and (not programme.lines > 0.5 or _only_hums(sweep, index)):
        return Sound("bare", 0.0, f"a carrier without a programme, {quieting_db:.0f} dB quieter")
    hisses = programme.lines < HISS_LINES and programme.active < HISS_ACTIVE
    if hisses and loud_db < HISS_PEAK_DB - quieting_db:
        return Sound("bare", 0.0, "a carrier whose hiss is louder than what plays")
    weights = _weights(stop, loud_db, mains_hz)
    odds = sum(weights.values())
    for_console = odds >= 0
    name = max(weights, key=lambda key: weights[key] if for_console else -weights[key])
    return Sound("programme", odds, REASONS[name][not for_console], loud_db)


def _on_a_wall(stop: Measures) -> bool:
    """Whether it is the noise that a passband's skirt makes of a picture.

    Its comb is half buried there, but its line whistles, and nothing else has lines at all.
    """
    programme, comb = stop.programme, stop.comb
    assert programme is not None
    assert comb is not None
    whistles = programme.whistle_hz is not None and bool(comb.field_rates)
    return whistles and comb.share > WALL_SHARE and programme.lines < WALL_LINES


def _only_hums(sweep: Survey, index: int) -> bool:
    """Whether what the mains' comb leaves of a stop is softer than any programme."""
    comb, over_db = sweep.stops[index].comb, sweep.over_roar_db(index)
    assert comb is not None
    return over_db is not None and over_db + without_hum_db(comb.share) < NOTHING_DB


def _without_hum(loud_db: float, hum_db: float) -> float:
    """The loudness that is not the mains': hum_db is the hum's level over the peaks'."""
    return loud_db + without_hum_db(10 ** (min(hum_db + HUM_SLACK_DB, 0.0) / 10))


REASONS = {  # for a console, for a station
    "swing": ("it plays softer than a station", "it plays as loud as a station"),
    "still": ("a tone that keeps pitch and level", "no pitch is held"),
    "buzz": ("field-rate buzz under the sound", "no field-rate buzz"),
    "pauses": ("", "speech, with its pauses"),
    "whistle": ("the line whistle of a picture", ""),
    "stereo": ("", "it is in stereo"),
}


def _weights(stop: Measures, loud_db: float, mains_hz: Sequence[float]) -> dict[str, float]:
    """What each measure of a held programme is worth."""
    programme, comb = stop.programme, stop.comb
    assert programme is not None
    assert comb is not None
    weights = {"swing": float(np.clip(SWING_PER_DB * (LOUD_DB - loud_db), -SWING_MOST, SWING_MOST))}
    if programme.lines > 0.9 and programme.still > 0.85:
        # A steady tone's level is its deviation: up to 50 kHz a console's, beyond that a station's.
        weights["swing"] = float(np.clip(TONE_PER_DB * (TONE_DB - loud_db), -TONE_MOST, 2.0))
        weights["still"] = 4.0
    if comb.rich:
        sure = 0.5 if comb.may_be_mains(mains_hz) else 1.0
        weights["buzz"] = sure * min(4.0, comb.buzz_db - 1.0)
    else:
        weights["buzz"] = -0.3
    if programme.active > 0.3 and programme.still < 0.2 and loud_db > 0:
        weights["pauses"] = -2.0
    if programme.whistle_hz is not None:
        weights["whistle"] = 2.0
    wide_open = programme.side_db is not None and programme.side_db > SIDE_DB
    pilot_db = programme.pilot_db or 0.0
    if pilot_db > PILOT_DB:
        weights["stereo"] = CLEAR_STEREO if pilot_db > STEREO_PILOT_DB else STEREO
        weights["stereo"] += STEREO_TONE if "still" in weights else 0.0
    elif wide_open:
        weights["stereo"] = STEREO
    return weights
