"""Where a carrier may hide beside a station, on sweeps laid out by hand and one that is heard."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from listen.analysis.heard import Sound
from listen.analysis.hidden import behind_at, hidden_at, was_asked
from listen.analysis.locate import locate_measured
from listen.analysis.measures import Measures, measure
from listen.analysis.roar import Roar
from listen.analysis.runs import Run, shoulders
from listen.analysis.survey import Survey
from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench
from listen.simulate.receiver import Receiver

# A station on 95.5, heard on a dial of 200 kHz; the roar's level is -28 dBFS.
DIAL_MHZ = (94.9, 95.1, 95.3, 95.5, 95.7, 95.9, 96.1)
STATION = Run((2, 3, 4), -1, "programme")


def laid_out(quieting_db, edge_dbfs=-34.0, off=None):
    """The sweep and its sounds; off: (dial, quieting) with the console off."""
    rows = [(mhz, "on", db) for mhz, db in zip(DIAL_MHZ, quieting_db, strict=True)]
    rows += [(off[0], "off", off[1])] if off else []
    stops = tuple(Measures("", mhz, console, level_dbfs=edge_dbfs) for mhz, console, _ in rows)
    depth_db = np.array([db for _, _, db in rows], float)
    nothing = np.zeros(len(rows))
    sweep = Survey(stops, depth_db, Roar(-80.0, -28.0, True, nothing, nothing > 0), 0)
    kinds = ["open" if db < 3 else "edge" if db < 10 else "programme" for db in depth_db]
    return sweep, tuple(Sound(k, -6.0 if k == "programme" else 0.0, "") for k in kinds)


def hides(quieting_db, run=STATION, mean_mhz=95.5, **how):
    one = SimpleNamespace(run=run, fit=SimpleNamespace(mean_mhz=mean_mhz))
    sweep, sounds = laid_out(quieting_db, **how)
    return [sweep.stops[i].dial_mhz for i in hidden_at(sweep, sounds, (one,))]


@pytest.mark.parametrize(
    ("quieting_db", "wanted"),
    [
        ([0, 0, 21, 40, 21, 7.5, 0], [95.9]),  # open as far below: no slope of the station
        ([0, 7, 21, 40, 21, 7.5, 0], []),  # slopes alike
        ([0, 0, 21, 40, 21, 3.5, 0], []),  # as an edge comes and goes
    ],
)
def test_a_slope_that_a_station_has_on_one_side_alone_may_hide_a_carrier(quieting_db, wanted):
    assert hides(quieting_db) == wanted


def test_what_is_louder_than_the_roar_asked_before_or_beside_no_station_is_not_asked():
    lone = [0, 0, 21, 40, 21, 7.5, 0]
    assert hides(lone, edge_dbfs=-20.0) == []  # a strong station's splatter
    assert hides(lone, off=(95.9, 7.0)) == []
    assert hides(lone, run=replace(STATION, side=0)) == []  # its own carrier is not a station's
    assert hides(lone, mean_mhz=95.8) == []  # then the stop stands well within the slope


@pytest.mark.parametrize(
    ("picture_mhz", "switch", "wanted"),
    [
        (91.2, 0.0, [95.7]),  # 4.5 MHz over it
        (89.95, 0.0, [95.5]),  # 5.5 over it: 95.45
        (89.15, 0.0, [95.7]),  # 6.5 over it
        (89.15, -16.0, []),  # a picture that stays is not the console's
        (90.0, 0.0, [95.5]),
        (91.5, 0.0, []),  # 96.0, and the band is open there
        (86.0, 0.0, []),
    ],
)
def test_the_sound_to_a_picture_may_be_behind_a_station_that_is_held_there(
    picture_mhz, switch, wanted
):
    """Spacings of ITU-R BT.470 and M: 4.5, 5.5, 6.0 and 6.5 MHz."""
    station = SimpleNamespace(run=STATION, fit=SimpleNamespace(mean_mhz=95.5), switch=0.0)
    buzz = SimpleNamespace(
        run=Run((0,), 0, "buzz"), fit=SimpleNamespace(mean_mhz=picture_mhz), switch=switch
    )
    for off in (None, (95.7, 0.0)):
        sweep, sounds = laid_out([0, 0, 21, 40, 21, 0, 0], off=off)
        places = behind_at(sweep, sounds, (station, buzz))
        assert [sweep.stops[i].dial_mhz for i in places] == wanted
        asked = [was_asked(sweep, i) for i in places]
        assert asked == [mhz == 95.7 and off is not None for mhz in wanted]


@pytest.mark.parametrize(
    ("off", "kind"), [((95.9, 0.0), "faint"), ((95.9, 7.0), "edge"), ((95.7, 0.0), "edge")]
)
def test_an_edge_that_goes_with_the_switch_is_a_carrier_s(off, kind):
    sweep, sounds = laid_out([0, 0, 21, 40, 21, 7.5, 0], off=off)
    assert shoulders(sweep, sounds)[5].kind == kind


def test_the_switch_finds_a_console_that_a_station_hides():
    """24 dB and 225 kHz above a station of 48 dB, on a dial of 200 kHz."""
    sound_mhz = 95.725
    console = Console(
        *(sound_mhz, 24.0),
        spacing_mhz=4.5,
        deviation_khz=25.0,
        modulation=0.96,
        programme="chip",
        seed=3,
    )
    stations = (Station(95.5, 48.0, "music", 21, stereo=True), Station(94.3, 40.0, "music", 22))
    bench = Bench(stations, console, receiver=Receiver(passband_khz=235.0), seed=9)
    dial_mhz = [round(93.5 + 0.2 * n, 1) for n in range(18)]
    stops = tuple(measure(bench.hear(mhz, 1.0, "on", 2.0 * n)) for n, mhz in enumerate(dial_mhz))
    before = locate_measured(stops)
    assert (before.found, before.switch_at_mhz) == (False, 95.9)
    assert "95.90, beside a station, switch the console off" in before.next
    after = locate_measured((*stops, measure(bench.hear(95.9, 1.0, "off", 80.0))))
    assert after.found
    assert after.interval_95_mhz[0] < sound_mhz < after.interval_95_mhz[1]
    # Without the console nothing but its stop's slope is missing, and nothing is asked for.
    alone = replace(bench, console=None)
    silent = tuple(measure(alone.hear(mhz, 1.0, "on", 2.0 * n)) for n, mhz in enumerate(dial_mhz))
    assert locate_measured(silent).switch_at_mhz is None


def test_a_station_where_a_picture_s_sound_would_be_is_asked_about_and_then_uncovered():
    """Console 101.686, 22 dB, its picture 97.186; a station of 38 dB 186 kHz below its sound."""
    console = Console(
        *(101.686, 22.0),
        spacing_mhz=4.5,
        deviation_khz=25.0,
        modulation=0.69,
        programme="chip",
        picture_db=8.0,
        seed=3,
    )
    bench = Bench(
        (Station(101.5, 38.0, "speech", 21, stereo=True),),
        console,
        receiver=Receiver(passband_khz=274.0, misalignment_khz=9.6),
        seed=9,
    )
    dial_mhz = [*np.arange(96.5, 98.0, 0.2), *np.arange(100.9, 104.0, 0.2)]
    stops = tuple(measure(bench.hear(mhz, 1.0, "on", 2.0 * n)) for n, mhz in enumerate(dial_mhz))
    before = locate_measured(stops)
    assert (before.found, before.switch_at_mhz) == (False, pytest.approx(101.7))
    assert before.next.startswith("Stand the dial at 101.70, beside a station, switch the console")
    after = locate_measured((*stops, measure(bench.hear(101.7, 1.0, "off", 80.0))))
    assert (after.found, after.switch_at_mhz) == (False, None)
    assert after.next.startswith("The station at 101.70 may cover the sound to that picture")
