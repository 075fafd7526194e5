"""A picture's buzz is told from a console at rest, on a model radio.

A picture carrier's own FM by the video is some 3 to 20 kHz, that of a sound carrier by the picture
up to 1 kHz (orders of magnitude: common practice).
"""

from types import SimpleNamespace

import numpy as np
import pytest

from listen.analysis.heard import judge
from listen.analysis.hum import NO_COMB, Comb
from listen.analysis.measures import Measures, measure
from listen.analysis.programme import Programme
from listen.analysis.runs import STATION_LIKE
from listen.analysis.survey import survey
from listen.simulate.air import Console, Spur
from listen.simulate.bench import Bench
from listen.simulate.linein import LineIn

OPEN_MHZ = (90.0, 90.4, 90.8, 91.2)


def sound_at(console, dial_mhz, dwell_s=1.0):
    bench = Bench((), console, seed=8)
    dial = (*OPEN_MHZ, dial_mhz)
    sweep = survey(tuple(measure(bench.hear(mhz, dwell_s)) for mhz in dial))
    return judge(sweep, len(OPEN_MHZ), (50.0,))


@pytest.mark.parametrize("incidental_khz", [3.0, 8.0, 20.0])
@pytest.mark.parametrize("off_mhz", [0.0, 0.06])
def test_a_picture_in_mid_passband_is_a_buzz_however_soft(incidental_khz, off_mhz):
    console = Console(107.75, 33.0, spacing_mhz=5.5, incidental_khz=incidental_khz)
    assert sound_at(console, 102.25 + off_mhz).kind == "buzz"


@pytest.mark.parametrize("buzz_khz", [0.0, 0.3, 1.0])
def test_a_console_at_rest_is_none(buzz_khz):
    console = Console(107.75, 33.0, programme="silence", buzz_khz=buzz_khz)
    assert sound_at(console, 107.75).kind != "buzz"


def test_the_noise_of_a_skirt_over_a_picture_is_no_station():
    """Half buried in it the comb is poor, but the line whistles and nothing has thin lines."""
    console = Console(94.43, 27.0, spacing_mhz=4.5, picture_db=11.0, field_hz=59.94)
    kinds = {sound_at(console, float(mhz)).kind for mhz in np.round(np.arange(89.8, 90.3, 0.04), 2)}
    assert "buzz" in kinds
    assert kinds <= {"buzz", "edge", "open"}


@pytest.mark.parametrize("hum_dbfs", [-60.0, -45.0])
def test_a_bare_carrier_with_the_mains_hum_over_it_plays_nothing(hum_dbfs):
    """Its hum stands in thin lines and is softer than any station: it is the line-in's."""
    bench = Bench(spurs=(Spur(98.0, 35.0),), line_in=LineIn(hum_dbfs=hum_dbfs), seed=8)
    sweep = survey(tuple(measure(bench.hear(mhz, 1.0)) for mhz in (*OPEN_MHZ, 98.0)))
    assert judge(sweep, len(OPEN_MHZ), (50.0,)).kind == "bare"


@pytest.mark.parametrize("off_mhz", [0.17, 0.18, 0.19, 0.20])
def test_the_hiss_on_a_bare_carrier_s_slope_is_no_soft_programme(off_mhz):
    bench = Bench(spurs=(Spur(98.0, 35.0),), seed=8)
    dial = (*OPEN_MHZ, 98.0 - off_mhz)
    sweep = survey(tuple(measure(bench.hear(mhz, 1.0)) for mhz in dial))
    assert judge(sweep, len(OPEN_MHZ), (50.0,)).kind in ("bare", "edge")


@pytest.mark.parametrize("off_mhz", [0.15, 0.17])
def test_a_console_that_plays_is_heard_on_its_slope(off_mhz):
    sound = sound_at(Console(107.75, 33.0, programme="chip"), 107.75 - off_mhz)
    assert sound.kind == "programme"


@pytest.mark.parametrize(
    ("whistle_hz", "why"),
    [(15_625.0, "field-rate buzz under the sound"), (None, "it plays as loud as a station")],
)
def test_why_speaks_for_what_the_odds_say_and_not_against_it(whistle_hz, why):
    """As loud as a station, over a picture's buzz: the line whistle turns the balance."""
    comb = Comb(50.08, -60.0, 30, 5.0, 0.1, 0.01)
    sound = laid_out(Programme(0.5, 0.3, -20.0, 0.2, None, None, whistle_hz), 8.0, comb)
    assert (sound.kind, sound.odds > 0) == ("programme", whistle_hz is not None)
    assert sound.why == why


@pytest.mark.parametrize(("lines", "still"), [(0.9, 0.4), (1.0, 1.0)])
@pytest.mark.parametrize("loud_db", [-12.0, 0.0, 5.4])
def test_however_softly_it_plays_a_clear_pilot_is_a_station_s(loud_db, lines, still):
    """19 kHz stands 40 dB out only where a station sends it (47 CFR 73.322); a tone's overtone 15.

    With a clear pilot neither little swing nor a tone that stands still, nor both, speak for a
    console; with what may be an overtone or a clash they do.
    """
    programmes = {db: Programme(lines, still, -20.0, 0.2, None, db, None) for db in (15, 41, 60)}
    odds = {db: laid_out(p, loud_db, NO_COMB).odds for db, p in programmes.items()}
    assert odds[60] == odds[41] < STATION_LIKE
    assert (odds[15] > 0) == (loud_db < 3.2 or still == 1.0)


def laid_out(programme, loud_db, comb):
    """What one held stop with this programme is judged to be."""
    stop = Measures("a.wav", 98.0, "on", level_dbfs=-25.0, comb=comb, programme=programme)
    sweep = SimpleNamespace(
        stops=(stop,),
        roar=SimpleNamespace(muting="none", muted=np.zeros(1, bool), level_dbfs=-28.0),
        quieting_db=np.array([30.0]),
        loud_db=lambda index: loud_db,
    )
    return judge(sweep, 0, (60.0,))
