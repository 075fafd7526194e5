"""What the console's switch tells at one stop, from stops whose levels are made here.

How far a station's pilot, loudness and level wander from one moment to another at one dial was
read off 125 pairs of model stations, on their plateau and on their slopes: the pilot by up to 11
dB, the loudness by 2.2, the level by 3.4.
"""

from dataclasses import replace

import numpy as np
import pytest

from listen.analysis.evidence import SOUND_FINDS, candidate
from listen.analysis.heard import Sound, judge
from listen.analysis.hiss import Hiss
from listen.analysis.hum import NO_COMB
from listen.analysis.measures import Measures
from listen.analysis.programme import Programme
from listen.analysis.runs import Run, find_runs, shoulders
from listen.analysis.survey import survey
from listen.analysis.switch import (
    FAINT_SWITCH,
    SWITCH,
    in_doubt,
    split_by_switch,
    still_held,
    switch_told,
)
from listen.analysis.width import radio_weights

ROAR_DBFS, FLOOR_DB = -30.0, -81.8  # of 50 µs: docs/clarity.md
CONSOLE = {"peak_db": -8.0, "pilot_db": 5.0, "level_db": -14.0}
STATION = {"peak_db": 5.5, "pilot_db": 55.0, "level_db": 2.0, "lines": 0.85}
OPEN_MHZ = np.round(np.arange(88.1, 92.0, 0.2), 1)


def stop(dial_mhz, quiet_db, console="on", peak_db=6.3, pilot_db=4.0, level_db=0.0, lines=0.7):
    """A stop so far under the roar; peak and level over the roar's level."""
    calm_db = FLOOR_DB - quiet_db
    hiss = Hiss((calm_db, calm_db + 5, calm_db + 9), (calm_db + 1,) * 3, calm_db + 9)
    programme = Programme(lines, 0.2, ROAR_DBFS + peak_db, 0.2, None, pilot_db, None)
    return Measures(
        "",
        dial_mhz,
        console,
        None,
        "",
        ROAR_DBFS + level_db,
        hiss=hiss,
        comb=NO_COMB,
        programme=programme,
    )


def heard(*stops):
    """The survey and sounds of these stops and an open band below them."""
    sweep = survey((*(stop(mhz, 0.0) for mhz in OPEN_MHZ), *stops))
    sounds = tuple(judge(sweep, i, (50.0, 60.0)) for i in range(len(sweep.stops)))
    return sweep, shoulders(sweep, sounds)


def switch_of(on, off):
    """What the switch is worth for a carrier of one stop."""
    sweep, sounds = heard(on, off)
    run = Run((len(OPEN_MHZ),), 1, sounds[len(OPEN_MHZ)].kind)
    return switch_told(run, sweep, sounds)[0]


def test_a_carrier_that_leaves_the_open_band_was_the_console_s():
    assert switch_of(stop(98.0, 30.0, **CONSOLE), stop(98.0, 0.2, "off")) == SWITCH


def test_a_station_that_stays_is_a_station():
    for more in ({}, {"peak_db": 7.7}, {"pilot_db": 46.0}, {"level_db": 5.0}):
        off = stop(98.0, 27.0, "off", **{**STATION, **more})
        assert switch_of(stop(98.0, 25.0, **STATION), off) == -SWITCH


@pytest.mark.parametrize(("soft_db", "deep_db"), [(1.0, 34.5), (-2.0, 25.0), (1.0, 42.0)])
def test_a_station_that_rested_is_known_by_the_pilot_it_had_all_the_while(soft_db, deep_db):
    """Speech pauses: softer and deeper than before, over the same 19 kHz (47 CFR 73.322)."""
    on = stop(98.0, deep_db, **{**STATION, "peak_db": soft_db, "pilot_db": 52.0})
    told = switch_of(on, stop(98.0, 33.8, "off", **{**STATION, "peak_db": 9.1}))
    assert told == -SWITCH


@pytest.mark.parametrize("loud", [-8.0, 4.0])
def test_a_station_that_was_captured_is_told_by_its_pilot(loud):
    """However loud the console played, and as deep as it was held."""
    on = stop(98.0, 25.0, **{**CONSOLE, "peak_db": loud})
    assert switch_of(on, stop(98.0, 25.0, "off", **STATION)) == SWITCH


def test_without_a_pilot_a_captured_station_is_told_by_its_loudness():
    """Recorded at 8 kHz: nothing reaches 19 kHz."""
    on = stop(98.0, 36.0, **{**CONSOLE, "pilot_db": None})
    for peak_db in (3.0, 5.5):
        off = stop(98.0, 19.0, "off", **{**STATION, "pilot_db": None, "peak_db": peak_db})
        assert switch_of(on, off) == SWITCH / 2


@pytest.mark.parametrize(("peak_db", "told"), [(1.0, SWITCH / 2), (3.15, 0.0)])
def test_what_did_not_sound_like_a_console_is_no_console_that_gave_way(peak_db, told):
    """A mono station that a mute lets through in part plays as loud as neither.

    With the buzz that is not there a peak of 3.05 dB over the roar would be even odds.
    """
    on = stop(98.0, 28.0, peak_db=peak_db)
    assert switch_of(on, stop(98.0, 21.0, "off", peak_db=7.5)) == told


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({}, -SWITCH),
        ({"peak_db": 1.3, "pilot_db": 20.0, "lines": 0.25}, -SWITCH / 2),  # a slope, from speech on
        ({"peak_db": 2.0}, 0.0),  # 10 dB louder
        ({"peak_db": 2.0, "lines": 0.9, "quiet_db": 13.0}, 0.0),  # 7 dB noisier too
        ({"quiet_db": 10.4, "peak_db": -4.0}, -SWITCH),  # 9 dB noisier, as loud
        ({"quiet_db": 33.0, "peak_db": 1.3}, 0.0),  # 13 dB deeper
    ],
)
def test_what_sounds_like_a_console_with_the_console_off_is_a_station(more, told):
    """As before: it was one before, too.  Otherwise another one may have come up from below."""
    louder = more.get("peak_db") == 2.0
    on = {**CONSOLE, "peak_db": -8.0 if louder else -3.3, "pilot_db": 13.0, "lines": 0.6}
    off = {"quiet_db": 19.8, **on, **more}
    assert switch_of(stop(98.0, 19.8, **on), stop(98.0, console="off", **off)) == told


def test_where_the_switch_told_nothing_the_sound_alone_is_no_find():
    """Held 13 dB deeper than with the console on, and nothing else is known of it."""
    on, off = stop(98.0, 19.8, **CONSOLE), stop(98.0, 33.0, "off", **{**CONSOLE, "peak_db": 1.3})
    widths = radio_weights([], (150.0, 280.0))
    for stops, doubted in (((on,), False), ((on, off), True)):
        sweep, sounds = heard(*stops)
        run = Run((len(OPEN_MHZ),), 1, "programme")
        assert in_doubt(run, sweep, sounds) == doubted
        one = candidate(run, (run,), sweep, sounds, widths, True)
        assert (one.switch, one.sound < SOUND_FINDS) == (0.0, doubted)
    elsewhere, sounds = heard(on, stop(98.2, 33.0, "off", **STATION))
    assert not in_doubt(run, elsewhere, sounds)


def test_a_pause_is_no_change():
    """A station in mono that rests and speaks again: hiss and loudness move, nothing else."""
    rests = stop(98.0, 30.0, peak_db=-12.0, level_db=-20.0, lines=0.1)
    speaks = stop(98.0, 24.0, "off", peak_db=2.0, level_db=-3.0, lines=0.7)
    assert switch_of(rests, speaks) <= 0


def test_a_slope_that_is_left_tells_if_the_level_rose():
    """Nothing else makes a station's slope 8 dB louder; its hiss alone moves by 10 dB and more."""
    on = stop(98.0, 16.0, **{**CONSOLE, "level_db": -13.0})
    left = {"peak_db": 3.0, "pilot_db": 15.0, "lines": 0.2}
    assert switch_of(on, stop(98.0, 6.0, "off", level_db=-4.5, **left)) == SWITCH / 2
    slope = stop(98.0, 31.0, **{**STATION, "pilot_db": 36.0, "level_db": -1.0})
    assert switch_of(slope, stop(98.0, 8.9, "off", level_db=2.4, **left)) == 0


def test_a_faint_carrier_that_goes_says_less_than_a_strong_one():
    assert switch_of(stop(98.0, 7.0, level_db=-3.0), stop(98.0, 0.3, "off")) == FAINT_SWITCH
    assert switch_of(stop(98.0, 4.5), stop(98.0, 2.0, "off")) == 0


def test_an_edge_with_nothing_held_near_is_a_faint_carrier():
    near = [stop(mhz, 0.1) for mhz in (97.6, 97.8, 98.2, 98.4)]
    sweep, sounds = heard(stop(98.0, 7.0, level_db=-3.0), *near)
    assert [run.kind for run in find_runs(sweep, sounds)] == ["faint"]
    # The splatter of a strong station is louder than the roar.
    sweep, sounds = heard(stop(98.0, 7.0, level_db=4.0), *near)
    assert find_runs(sweep, sounds) == ()
    # Beside a carrier it is that carrier's edge, and a stop must have been made on either side.
    sweep, sounds = heard(stop(98.0, 7.0, level_db=-3.0), *near[:2], stop(98.2, 30.0, **STATION))
    assert "faint" not in {run.kind for run in find_runs(sweep, sounds)}
    sweep, sounds = heard(stop(98.0, 7.0, level_db=-3.0), *near[:2])
    assert find_runs(sweep, sounds) == ()


def test_a_run_of_two_carriers_is_divided_where_the_switch_tells_them_apart():
    """The upper stops stay; the lower one goes: a console on a station's flank."""
    sweep, sounds = heard(
        stop(98.0, 30.0, **{**STATION, "pilot_db": 20.0}),
        stop(98.2, 30.0, **STATION),
        stop(98.4, 30.0, **STATION),
        stop(98.0, 1.0, "off"),
        stop(98.4, 29.0, "off", **STATION),
    )
    first = len(OPEN_MHZ)
    whole = Run((first, first + 1, first + 2), -1, "programme")
    lower, upper = split_by_switch((whole,), sweep, sounds)
    assert (lower.held, upper.held) in {
        ((first,), (first + 1, first + 2)),
        ((first, first + 1), (first + 2,)),
    }
    assert [switch_told(run, sweep, sounds)[0] for run in (lower, upper)] == [SWITCH, -SWITCH]
    # Where one dial says both, nothing is known, and nothing is divided.
    torn = replace(whole, held=(first,))
    assert split_by_switch((torn,), sweep, sounds) == (torn,)


def test_a_console_between_stations_is_a_run_of_its_own():
    """Deeper than they, and without their pilot."""
    sweep, sounds = heard(
        stop(98.0, 27.0, **STATION),
        stop(98.2, 35.0, **CONSOLE),
        stop(98.4, 27.0, **STATION),
    )
    runs = find_runs(sweep, sounds)
    assert [run.side for run in runs] == [-1, 1, -1]


@pytest.mark.parametrize("pilot_db", [47.0, None])
def test_a_station_s_two_slopes_are_no_consoles_of_their_own(pilot_db):
    """A strong station's programme hides its floor: its slopes, softer, read up to 7 dB deeper."""
    slope = {"peak_db": -0.9, "pilot_db": pilot_db, "level_db": -5.0}
    station = {**STATION, "pilot_db": pilot_db and 62.0}
    sweep, sounds = heard(
        stop(98.0, 1.9),
        stop(98.2, 30.6, **slope),
        stop(98.4, 25.6, **station),
        stop(98.6, 32.7, **slope),
        stop(98.8, 1.4),
    )
    assert [run.side for run in find_runs(sweep, sounds)] == [-1]


def test_a_pointer_that_comes_back_beside_a_cliff_proves_nothing_there():
    """Held at 97.9 to 98.1: only in the middle a pointer that strays is still on top."""
    held = [stop(mhz, 30.0, **CONSOLE) for mhz in (97.9, 98.0, 98.1)]
    first = len(OPEN_MHZ)
    for off_mhz, worth in ((97.9, 0.0), (98.0, SWITCH), (98.1, 0.0)):
        sweep, sounds = heard(*held, stop(off_mhz, 0.2, "off"))
        run = Run((first, first + 1, first + 2), 1, sounds[first].kind)
        assert switch_told(run, sweep, sounds, scatter_khz=20.0)[0] == worth
        assert switch_told(run, sweep, sounds)[0] == SWITCH


@pytest.mark.parametrize(("off_db", "held"), [(27.9, True), (17.0, True), (15.0, False)])
def test_a_carrier_as_deep_at_the_same_reading_is_still_held(off_db, held):
    sweep, sounds = heard(stop(98.0, 19.2, **CONSOLE), stop(98.0, off_db, "off", **STATION))
    run = Run((len(OPEN_MHZ),), 1, sounds[len(OPEN_MHZ)].kind)
    assert still_held(run, sweep) == held
    elsewhere, _ = heard(stop(98.0, 19.2, **CONSOLE), stop(98.1, off_db, "off", **STATION))
    assert not still_held(run, elsewhere)


@pytest.mark.parametrize(("beside_db", "worth"), [(31.0, SWITCH), (4.0, 0.0)])
def test_a_pointer_between_two_deep_shoulders_is_on_top_of_a_carrier(beside_db, worth):
    """One stop held, its neighbours no stops of the run but its shoulders."""
    sides = [stop(mhz, beside_db, **CONSOLE) for mhz in (97.9, 98.1)]
    sweep, sounds = heard(sides[0], stop(98.0, 36.0, **CONSOLE), sides[1], stop(98.0, 0.2, "off"))
    held = len(OPEN_MHZ) + 1
    shoulder = Sound("edge", 0.0, "the shoulder of a carrier")
    sounds = (*sounds[: held - 1], shoulder, sounds[held], shoulder, sounds[-1])
    run = Run((held,), 1, sounds[held].kind)
    assert switch_told(run, sweep, sounds, scatter_khz=20.0)[0] == worth


@pytest.mark.parametrize("gain_db", [6.5, 10.0, 27.0, 35.0, -12.0])
@pytest.mark.parametrize("sounds_like", [CONSOLE, STATION, {**STATION, "pilot_db": None}])
def test_a_volume_that_was_turned_proves_no_console(gain_db, sounds_like):
    """All that is heard moves together; the floor of what plays by 5 dB more or less."""
    on = stop(98.0, 25.0, **sounds_like)
    louder = {k: v + gain_db for k, v in sounds_like.items() if k in ("peak_db", "level_db")}
    off = stop(98.0, 25.0 - gain_db - 4.0, "off", **{**sounds_like, **louder})
    assert switch_of(on, off) <= 0


def test_what_plays_is_no_open_band_however_loud_its_floor():
    """Another moment of a station, 30 dB louder, clipped: its peaks did not rise as its level."""
    off = stop(98.0, -5.0, "off", **{**STATION, "peak_db": 26.0, "level_db": 32.0})
    assert switch_of(stop(98.0, 25.0, **STATION), off) <= 0


def test_a_roar_that_a_turned_volume_made_softer_is_a_roar_by_its_shape():
    on = stop(98.0, 40.0, **CONSOLE)
    assert switch_of(on, stop(98.0, 10.0, "off", level_db=-10.0, peak_db=-3.7)) == SWITCH / 2
    assert switch_of(on, stop(98.0, -8.0, "off", level_db=8.0, peak_db=14.3)) == SWITCH


def test_a_roar_that_came_back_counts_though_all_moved_alike():
    """A quiet console of 14 dB, 14 dB softer than the roar."""
    on = stop(98.0, 14.0, peak_db=-8.0, level_db=-14.0)
    assert switch_of(on, stop(98.0, 0.1, "off")) == SWITCH


def test_a_station_heard_again_while_the_volume_was_in_doubt_is_more_likely_a_station():
    """The roars before and after are 6 dB apart: the off stop counts as 3 dB up, it was 6."""
    on = stop(98.0, 26.0, peak_db=-3.4, level_db=-12.0)
    off = stop(98.0, 20.0, "off", peak_db=2.6, level_db=-6.0)
    turned = [stop(mhz, -6.0, peak_db=12.3, level_db=6.0) for mhz in OPEN_MHZ]
    sweep = survey((*(stop(mhz, 0.0) for mhz in OPEN_MHZ), on, stop(98.6, 0.0), off, *turned))
    sounds = tuple(judge(sweep, i, (50.0,)) for i in range(len(sweep.stops)))
    at = len(OPEN_MHZ)
    assert sweep.roar.doubt(at + 2) == pytest.approx(3.0, abs=0.1)
    assert switch_told(Run((at,), 1, sounds[at].kind), sweep, sounds)[0] == -FAINT_SWITCH


def test_a_station_that_came_up_louder_and_noisier_all_alike_leaves_it_in_doubt():
    """A console's tune before, a loud station's without a pilot after: captured, or the volume."""
    on = stop(98.0, 30.0, **CONSOLE)
    came = {"peak_db": 9.0, "level_db": 4.0, "pilot_db": None, "lines": 0.85}
    assert switch_of(on, stop(98.0, 12.0, "off", **came)) == 0


def test_an_open_band_whose_volume_is_in_doubt_proves_nothing():
    """The last roars of the walk are 12 dB louder: what seems open may be 12 dB deep."""
    on = stop(98.0, 15.0, peak_db=3.0, level_db=-3.0)
    off = stop(98.0, 2.0, "off", peak_db=15.0, level_db=9.0)
    few = [stop(mhz, 0.0) for mhz in OPEN_MHZ[:3]]
    sweep = survey((*few, on, off, stop(99.0, -12.0, peak_db=18.3, level_db=12.0)))
    sounds = tuple(judge(sweep, i, (50.0,)) for i in range(len(sweep.stops)))
    assert sweep.roar.doubt(4) > 5
    assert switch_told(Run((3,), 1, sounds[3].kind), sweep, sounds)[0] <= 0


def test_a_slope_that_fell_by_what_the_volume_leaves_open_proves_nothing():
    """A station's slope, 17 dB deep before and 7 after, the roar 8 dB louder meanwhile."""
    on = stop(98.0, 17.0, **{**STATION, "pilot_db": 39.0})
    off = stop(98.0, 7.0, "off", **{**STATION, "level_db": 12.0, "peak_db": 13.0})
    few = [stop(mhz, -8.2, peak_db=14.5, level_db=8.2) for mhz in OPEN_MHZ[:3]]
    sweep = survey((stop(97.4, 0.0), on, *few, off))
    sounds = tuple(judge(sweep, i, (50.0,)) for i in range(len(sweep.stops)))
    assert sweep.roar.doubt(1) > 3
    assert switch_told(Run((1,), 1, sounds[1].kind), sweep, sounds)[0] <= 0
