"""A radio that drags its dial, on sweeps laid out by hand and one that is heard."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from listen.analysis.afc import drawn_by, placed_by, walk_order
from listen.analysis.curve import Posterior
from listen.analysis.evidence import Candidate
from listen.analysis.heard import Sound
from listen.analysis.locate import locate_measured
from listen.analysis.measures import Measures, measure
from listen.analysis.profile import learn_radio
from listen.analysis.raster import dial_error_of
from listen.analysis.roar import Roar
from listen.analysis.runs import Run
from listen.analysis.survey import Survey
from listen.radio import Radio
from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench
from listen.simulate.hands import Hands
from listen.simulate.receiver import Receiver

RADIO = Radio(raster_khz=200.0)  # stations on odd tenths
DIAL_MHZ = np.round(np.arange(88.1, 98.2, 0.2), 1)
PLACES_MHZ = (89.1, 91.1, 93.1, 95.1, 97.1)
# What a carrier at the stop itself does to the stops from 400 kHz below it to 400 above.
PLAIN = ({0: 30, -200: 8, 200: 8}, {0: 28}, {0: 32, -200: 9, 200: 8}, {0: 25}, {0: 30})
DRAWN = ({0: 30, -200: 8, 200: 29}, {0: 28, 200: 27}, {0: 32, -200: 9, 200: 32})
DRAWN = (*DRAWN, {0: 25, 200: 26}, {0: 30, 200: 31})


def laid_out(carriers, backwards=False, muting="none"):
    """A sweep over stations at PLACES_MHZ, its sounds and its runs."""
    depth_db = np.zeros(DIAL_MHZ.size)
    runs = []
    for place_mhz, around in zip(PLACES_MHZ, carriers, strict=True):
        at = int(np.argmin(np.abs(DIAL_MHZ - place_mhz)))
        for away_khz, db in around.items():
            depth_db[at + away_khz // 200] = db
        held = tuple(sorted(at + k // 200 for k, db in around.items() if db > 12))
        runs.append(Run(held, -1, "programme"))
    start = datetime(2020, 1, 1, tzinfo=UTC)
    times = [start + timedelta(seconds=i if not backwards else -i) for i in range(DIAL_MHZ.size)]
    stops = tuple(
        Measures("", float(mhz), "on", at=at) for mhz, at in zip(DIAL_MHZ, times, strict=True)
    )
    nothing = np.zeros(DIAL_MHZ.size)
    roar = Roar(-80.0, -28.0, True, nothing, nothing > 0, muting)
    kinds = ["open" if db < 3 else "edge" if db < 10 else "programme" for db in depth_db]
    sounds = tuple(Sound(k, -6.0 if k == "programme" else 0.0, "") for k in kinds)
    return Survey(stops, depth_db, roar, 0), sounds, tuple(runs)


def told(carriers, **how):
    sweep, sounds, runs = laid_out(carriers, **how)
    ones = [SimpleNamespace(run=run) for run in runs]
    return drawn_by(ones, runs, sweep, sounds, RADIO, dial_error_of(RADIO, []))


def test_stations_held_whole_behind_and_let_go_at_once_tell_of_afc():
    afc = told(DRAWN)
    assert afc.likely
    assert afc.probability > 0.8
    assert told(PLAIN).probability < 0.12  # the prior, e^-2 / (1 + e^-2): nothing speaks for it


def test_the_same_stops_walked_downward_do_not():
    """Behind is then below: no AFC holds on where it has not yet been."""
    assert told(DRAWN, backwards=True).probability < told(DRAWN).probability / 2
    mirrored = tuple({-khz: db for khz, db in around.items()} for around in DRAWN)
    assert told(mirrored, backwards=True).likely
    sweep, _, _ = laid_out(DRAWN, backwards=True)
    assert walk_order(sweep) == tuple(reversed(range(DIAL_MHZ.size)))
    untimed = replace(sweep, stops=tuple(replace(stop, at=None) for stop in sweep.stops))
    assert walk_order(untimed) == tuple(range(DIAL_MHZ.size))
    first = replace(sweep.stops[0], at=datetime(2020, 1, 1))
    two_clocks = replace(sweep, stops=(first, *sweep.stops[1:]))
    assert walk_order(two_clocks) == tuple(range(DIAL_MHZ.size))


@pytest.mark.parametrize("muting", ["hard", "suppressed"])
def test_where_hiss_tells_no_slope_nothing_is_said(muting):
    assert told(DRAWN, muting=muting).probability == pytest.approx(1 / (1 + np.e**2))


def test_a_carrier_is_put_back_by_what_afc_moved_it():
    """Its stops are 0 and +200 kHz from a carrier; their middle would be 100 kHz too high."""
    sweep, sounds, runs = laid_out(DRAWN)
    ones = [SimpleNamespace(run=run) for run in runs]
    afc = drawn_by(ones, runs, sweep, sounds, RADIO, dial_error_of(RADIO, []))
    places_mhz = np.arange(90.95, 91.452, 0.002)
    weight = np.exp(-0.5 * ((places_mhz - 91.2) / 0.03) ** 2)
    weight /= weight.sum()
    widths = np.array([100.0, 150.0])
    joint = np.outer([0.5, 0.5], weight)
    fit = Posterior(places_mhz, weight, joint, widths, widths / 250, np.zeros(9), 91.2)
    one = Candidate(runs[1], fit, 0.0)
    moved = placed_by(one, afc, runs, sweep, sounds).fit
    low_mhz, high_mhz = moved.interval_mhz()
    assert moved.weight.sum() == pytest.approx(1.0)
    assert moved.joint.sum(axis=0) == pytest.approx(moved.weight)
    assert moved.mean_mhz < fit.mean_mhz - 0.02
    assert low_mhz < 91.1 < high_mhz
    assert high_mhz - low_mhz > 0.1


def heard_with(afc):
    """Fifty stops of a model radio over five stations and a console."""
    stations = tuple(
        Station(mhz, db, "music", seed=k, stereo=False)
        for k, (mhz, db) in enumerate([(89.1, 28), (90.5, 22), (92.1, 40), (93.9, 25), (97.1, 30)])
    )
    console = Console(95.73, 30.0, 4.5, deviation_khz=25.0, programme="chip")
    receiver = Receiver(passband_khz=180.0, afc=afc, afc_pull_khz=110.0, afc_hold_khz=270.0)
    hands = Hands(Bench(stations, console, (), receiver), 1.0)
    return tuple(
        measure(hands.record(hands.stand(round(88.3 + 0.2 * n, 1), "on"))) for n in range(49)
    )


def test_an_answer_says_that_the_dial_is_pulled_and_stays_right():
    stops = heard_with(True)
    drawn, plain = (locate_measured(heard, RADIO) for heard in (stops, heard_with(False)))
    assert drawn.found
    assert plain.found
    low_mhz, high_mhz = drawn.interval_95_mhz
    assert low_mhz < 95.73 < high_mhz
    assert any("AFC" in line for line in drawn.warnings)
    assert drawn.next.startswith("Switch the radio's AFC off")
    assert not any("AFC" in line for line in plain.warnings)
    refused = learn_radio(stops, RADIO)
    assert not refused.learned
    assert "AFC" in refused.reason
