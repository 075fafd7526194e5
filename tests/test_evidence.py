"""Which stops a carrier is fitted to, on sweeps laid out by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from listen.analysis import evidence
from listen.analysis.curve import HALF_WIDTHS_KHZ, Reading, fit_carrier
from listen.analysis.dialerror import steady
from listen.analysis.evidence import Candidate, with_raster
from listen.analysis.locate import locate
from listen.analysis.readings import (
    BESIDE_LITTLE_DB,
    BESIDE_OTHER_DB,
    BESIDE_ROAR_DB,
    readings_of,
    roar_beside,
)
from listen.analysis.runs import Run
from listen.radio import Radio
from listen.simulate.scenarios import random_bench

# A console at 98.0, its edges, and a station at 98.5; stops of 100 kHz.
DIAL_MHZ = np.round(97.7 + 0.1 * np.arange(11), 1)


CLEAR = ((96.0, "on"),)  # open, and far from both


def laid_out(kinds, quieting_db, more=CLEAR):
    """The stops of DIAL_MHZ, and open ones behind them."""
    places = [(float(mhz), "on") for mhz in DIAL_MHZ] + list(more)
    stops = tuple(SimpleNamespace(dial_mhz=mhz, console=console) for mhz, console in places)
    sounds = tuple(
        SimpleNamespace(kind=kind, loud_db=0.0 if mhz > 98.25 else -9.0)
        for (mhz, _), kind in zip(places, [*kinds, *["open"] * len(more)], strict=True)
    )
    roar = SimpleNamespace(muting=None, muted=np.zeros(len(stops), bool), heard=True)
    sweep = SimpleNamespace(
        stops=stops,
        roar=roar,
        quieting_db=np.array([*quieting_db, *[0.0] * len(more)], float),
        rough_db=lambda index: 0.0,
        over_roar_db=lambda index: None,
    )
    return sweep, sounds


def dials(readings):
    return [reading.dial_mhz for reading in readings]


@pytest.mark.parametrize("between, used", [("open", True), ("edge", False)])
def test_an_edge_is_contested_only_where_no_open_stop_parts_it_from_the_other(between, used):
    kinds = ["open", "open", "edge", "programme", "edge", between, *["programme"] * 4, "open"]
    quieting_db = [0, 0, 6, 40, 6, -1 if used else 5, 20, 40, 40, 20, 0]
    sweep, sounds = laid_out(kinds, quieting_db)
    console, station = Run((3,), 1, "programme"), Run((6, 7, 8, 9), -1, "programme")
    readings, indices = readings_of(console, (console, station), sweep, sounds)
    assert (98.1 in dials(readings)) == used
    assert 97.9 in dials(readings)  # the other edge is nobody else's
    assert not set(indices) & set(station.held)


def test_a_stop_with_the_console_off_parts_no_carriers():
    """The console's own place is open then; the station's edge beyond it is still contested."""
    kinds = ["open", "open", "edge", "programme", "edge", "edge", *["programme"] * 4, "open"]
    sweep, sounds = laid_out(
        kinds, [0, 0, 6, 40, 6, 5, 20, 40, 40, 20, 0], (*CLEAR, (98.0, "off"), (98.2, "off"))
    )
    console, station = Run((3,), 1, "programme"), Run((6, 7, 8, 9), -1, "programme")
    readings, _ = readings_of(console, (console, station), sweep, sounds)
    assert 98.1 not in dials(readings)


@pytest.mark.parametrize(
    ("more", "beside"),
    [((), True), (CLEAR, False), (((98.0, "off"),), False), (((97.6, "on"), (97.5, "on")), False)],
)
def test_a_roar_heard_beside_carriers_alone_makes_every_reading_uncertain(more, beside):
    """Three open stops within 0.4 MHz of a carrier; a clear one, the switch or more settle it."""
    kinds = ["open", "open", "edge", "programme", "edge", "edge", *["programme"] * 4, "open"]
    sweep, sounds = laid_out(kinds, [0, 0, 6, 40, 6, 5, 20, 40, 40, 20, 0], more)
    console = Run((3,), 1, "programme")
    assert roar_beside(sweep, sounds) == beside
    readings, _ = readings_of(console, (console,), sweep, sounds)
    assert {reading.rough_db for reading in readings} == {BESIDE_ROAR_DB if beside else 0.0}


def test_a_stop_near_another_carrier_is_less_certain():
    kinds = ["open", "open", "edge", "programme", "edge", "open", *["programme"] * 4, "open"]
    sweep, sounds = laid_out(kinds, [0, 0, 6, 40, 6, -1, 20, 40, 40, 20, 0])
    console, station = Run((3,), 1, "programme"), Run((6, 7, 8, 9), -1, "programme")
    readings, _ = readings_of(console, (console, station), sweep, sounds)
    rough_db = {reading.dial_mhz: reading.rough_db for reading in readings}
    assert rough_db[97.7] == 0  # 600 kHz from the station's first stop
    assert rough_db[98.0] == BESIDE_LITTLE_DB  # held deep
    assert rough_db[98.1] == BESIDE_OTHER_DB  # an edge
    assert rough_db[98.2] == BESIDE_OTHER_DB  # open; how loud the roar is, nobody knows
    alone, _ = readings_of(console, (console,), sweep, sounds)
    assert all(reading.rough_db == 0 for reading in alone)


@pytest.mark.parametrize(
    ("over_db", "uncertain_db"), [(0.0, BESIDE_LITTLE_DB), (8.0, BESIDE_OTHER_DB)]
)
def test_an_open_stop_that_hardly_hears_another_carrier_is_nearly_certain(over_db, uncertain_db):
    kinds = ["open", "open", "edge", "programme", "edge", "open", *["programme"] * 4, "open"]
    sweep, sounds = laid_out(kinds, [0, 0, 6, 40, 6, -1, 20, 40, 40, 20, 0])
    sweep.over_roar_db = lambda i: over_db if sweep.stops[i].dial_mhz == 98.2 else 0.0
    console, station = Run((3,), 1, "programme"), Run((6, 7, 8, 9), -1, "programme")
    readings, _ = readings_of(console, (console, station), sweep, sounds)
    assert {r.dial_mhz: r.rough_db for r in readings}[98.2] == uncertain_db


def test_the_slope_of_a_strong_station_is_no_console_whatever_it_lost_of_its_pilot():
    """55 dB on 88.3: the stop at 87.9 lacks the pilot and is soft, and 88.7 is held as deep."""
    bench, _ = random_bench(71_004, console_db=None)
    assert bench.stations[0].mhz == pytest.approx(88.3, abs=0.002)
    dial = [round(87.5 + 0.2 * n, 1) for n in range(20)]
    answer = locate(bench.hear(mhz, 1.0) for mhz in dial)
    beside = next(stop for stop in answer.stops if stop.dial_mhz == 87.9)
    opposite = next(stop for stop in answer.stops if stop.dial_mhz == 88.7)
    assert beside.quieting_db > 18  # a stop that is held
    assert beside.quieting_db == pytest.approx(opposite.quieting_db, abs=6.0)
    assert not answer.found


@pytest.mark.parametrize(("over_db", "used"), [(14.0, False), (1.0, True)])
def test_a_stop_where_two_carriers_clash_is_no_open_band(over_db, used):
    """Half-way to a station 200 kHz on, as little quieted as the roar and far louder: both."""
    kinds = ["open", "open", "edge", "programme", "open", *["programme"] * 5, "open"]
    sweep, sounds = laid_out(kinds, [0, 0, 6, 40, -1, 20, 40, 40, 40, 20, 0])
    sweep.over_roar_db = lambda i: over_db if sweep.stops[i].dial_mhz == 98.1 else 0.0
    console, station = Run((3,), 1, "programme"), Run((5, 6, 7, 8, 9), -1, "programme")
    readings, _ = readings_of(console, (console, station), sweep, sounds)
    assert (98.1 in dials(readings)) == used
    assert 97.9 in dials(readings)
    alone, _ = readings_of(console, (console,), sweep, sounds)
    assert 98.1 in dials(alone)  # beside nobody a cliff may roar louder than the open band


FAINT = ["edge", "edge", "open", "programme", "open", *["open"] * 6]


def test_a_faint_carrier_that_no_stop_holds_spoils_the_edge_beside_it():
    """97.7 and 97.8 are quieter than 97.9, which is nearer to the console and open."""
    sweep, sounds = laid_out(FAINT, [8, 4, 0, 40, 0, 0, 0, 0, 0, 0, 0])
    console = Run((3,), 1, "programme")
    readings, _ = readings_of(console, (console,), sweep, sounds)
    rough_db = {reading.dial_mhz: reading.rough_db for reading in readings}
    assert not {97.7, 97.8} & set(rough_db)
    assert rough_db[97.9] == BESIDE_OTHER_DB
    assert rough_db[98.2] == 0


@pytest.mark.parametrize(
    ("kind", "kinds", "quieting_db"),
    [
        ("programme", ["edge", "edge", "edge"], [4, 8, 20]),  # its own slope
        ("programme", ["edge", "edge", "edge"], [4, 8, 7]),  # within the rise of a foot
        ("buzz", ["edge", "edge", "edge"], [4, 9, 6]),  # a picture's shelf
    ],
)
def test_a_carrier_s_own_edges_are_no_faint_carrier_s(kind, kinds, quieting_db):
    sweep, sounds = laid_out([*kinds, *FAINT[3:]], [*quieting_db, 40, 0, 0, 0, 0, 0, 0, 0])
    one = Run((3,), 1, kind)
    readings, _ = readings_of(one, (one,), sweep, sounds)
    assert {97.7, 97.8, 97.9} <= set(dials(readings))
    assert {reading.rough_db for reading in readings} == {0.0}


def test_a_place_that_was_visited_twice_makes_no_faint_carrier():
    """98.1 is open once and an edge once, in either order."""
    kinds = [*["open"] * 3, "programme", *["open"] * 7]
    quieting_db = [0, 0, 0, 40, 1, 0, 0, 0, 0, 0, 0]
    for again, db in (("edge", 4.0), ("open", 1.0)):
        sweep, sounds = laid_out(kinds, quieting_db, (*CLEAR, (98.1, "on")))
        for index, (here, here_db) in {4: ("open", 1.0), 12: (again, db)}.items():
            sounds[index].kind, sweep.quieting_db[index] = here, here_db
        if again == "open":
            sounds[4].kind, sweep.quieting_db[4] = "edge", 4.0
        console = Run((3,), 1, "programme")
        readings, _ = readings_of(console, (console,), sweep, sounds)
        assert dials(readings).count(98.1) == 2


def test_the_slope_of_a_neighbour_that_stops_hold_is_no_faint_carrier_s():
    """Its stops within 0.45 MHz tell of it already."""
    kinds = ["open", "open", "open", "programme", "open", "edge", *["programme"] * 4, "open"]
    sweep, sounds = laid_out(kinds, [0, 0, 0, 40, 0, 9, 20, 40, 40, 20, 0])
    console, station = Run((3,), 1, "programme"), Run((7, 8), -1, "programme")
    readings, _ = readings_of(console, (console, station), sweep, sounds)
    rough_db = {reading.dial_mhz: reading.rough_db for reading in readings}
    assert rough_db[98.0] == 0  # 400 kHz from the station's first stop


def test_a_stop_that_plays_nothing_is_not_taken_for_a_station_s():
    """Beside a console that rests at one stop and plays at the next, a station of two stops."""
    kinds = ["open", "open", "edge", "programme", "edge", "bare", *["programme"] * 4, "open"]
    sweep, sounds = laid_out(kinds, [0, 0, 6, 40, 6, 50, 30, 40, 40, 30, 0])
    for stop in sweep.stops:
        stop.programme = None
    console, station = Run((3,), 1, "programme"), Run((5, 6, 7, 8, 9), -1, "programme")
    told = evidence._of_stations(console, (console, station), sweep, sounds)
    assert told == {6, 7, 8, 9}


@pytest.mark.parametrize(
    ("sound", "raster", "pair", "switch", "found"),
    [
        (4.9, 0.3, 0.0, 0.0, True),  # 0.95 or so; off the raster
        (4.9, -0.1, 0.0, 0.0, False),  # as likely, and it may sit on it
        (4.9, -0.1, 2.0, 0.0, True),  # its other carriers were heard
        (5.5, -0.1, 0.0, 0.0, True),
        (4.9, -0.1, 0.0, 16.0, True),  # the switch
    ],
)
def test_a_sound_that_the_raster_says_nothing_of_must_be_surer(sound, raster, pair, switch, found):
    readings = [Reading(100.0 + n / 10, 30.0 if abs(n) < 2 else 0.0) for n in range(-4, 5)]
    even = np.full(HALF_WIDTHS_KHZ.size, 1 / HALF_WIDTHS_KHZ.size)
    fit = fit_carrier(readings, 100.0, half_width_weights=even, coarse=True)
    one = Candidate(
        Run((3, 4, 5), 1, "programme"), fit, sound, raster, switch, None, 30.0, pair=pair
    )
    if sound == 4.9 and not switch:
        assert 0.9 < one.probability < 0.95 or raster > 0
    assert one.is_find is found


def test_a_raster_that_begins_nobody_knows_where_is_no_evidence():
    readings = [Reading(70.0 + n / 10, 30.0 if abs(n) < 2 else 0.0) for n in range(-4, 5)]
    even = np.full(HALF_WIDTHS_KHZ.size, 1 / HALF_WIDTHS_KHZ.size)
    fit = fit_carrier(readings, 70.0, half_width_weights=even, coarse=True)
    one = Candidate(Run((3, 4, 5), 1, "programme"), fit, 4.9)
    eastern = Radio(band_mhz=(65.8, 74.0), raster_khz=30.0)
    error = steady(0.0, 5.0)
    assert with_raster(one, error, eastern).raster == 0.0
    usual = with_raster(one, error, Radio(band_mhz=(65.8, 74.0)))
    assert usual.raster < -0.5  # a multiple of 100 kHz, as of a station
    assert with_raster(one, error, eastern).near == usual.near


@pytest.mark.parametrize("spoiled_at", [None, 3, 4])
def test_a_station_s_other_slope_counts_though_a_spoiled_stop_stands_beside_it(spoiled_at):
    """A stop at 98.0, 28 dB deep, and as far beyond the station, at 98.7, one of 27 dB."""
    rows = [(98.0, "programme", 28.0), (98.3, "programme", 30.0), (98.4, "programme", 30.0)]
    rows += [(98.7, "edge", 27.0)]
    if spoiled_at is not None:
        rows.insert(spoiled_at, (98.65, "silent", np.nan))
    programme = SimpleNamespace(lines=1.0, still=1.0, pilot_db=0.0)
    sweep = SimpleNamespace(
        stops=tuple(
            SimpleNamespace(dial_mhz=mhz, console="on", programme=programme) for mhz, _, _ in rows
        ),
        quieting_db=np.array([db for _, _, db in rows]),
        rough_db=lambda index: 0.0,
    )
    sounds = tuple(
        SimpleNamespace(kind=kind, odds=3.0 if mhz == 98.0 else -4.0) for mhz, kind, _ in rows
    )
    lone, station = Run((0,), 1, "programme"), Run((1, 2), -1, "programme")
    assert evidence._may_be_slope(lone, (lone, station), sweep, sounds)
