"""Which stops heard one carrier, on a model radio: beside a station a slope is no console.

The model radio's capture, skirts and pilot are checked against theory elsewhere in these tests.
"""

import numpy as np
import pytest

from listen.analysis.heard import judge
from listen.analysis.measures import measure
from listen.analysis.runs import NO_PILOT_DB, find_runs, has_its_own, shoulders
from listen.analysis.survey import survey
from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench
from listen.simulate.receiver import Receiver

STATION = Station(101.0, 38.0, "music", 3)
DIAL_MHZ = np.round(np.arange(99.5, 102.6, 0.2), 1)


def heard(console, seed):
    """The sounds of a dial of 200 kHz round a station, and the survey they belong to."""
    return walked(Bench((STATION,), console, seed=seed), DIAL_MHZ)


def walked(bench, dial_mhz):
    sweep = survey(tuple(measure(bench.hear(float(mhz), 0.6)) for mhz in dial_mhz))
    return sweep, tuple(judge(sweep, i, (50.0, 60.0)) for i in range(dial_mhz.size))


@pytest.mark.parametrize("programme", ["chip", "tone"])
def test_a_console_200_khz_beside_a_station_is_judged(programme):
    console = Console(100.72, 30.0, programme=programme, mirror_db=None, modulation=0.5)
    sweep, sounds = heard(console, 4)
    at = int(np.argmin(np.abs(DIAL_MHZ - 100.72)))
    assert has_its_own(sweep, sounds, at)
    runs = find_runs(sweep, shoulders(sweep, sounds))
    assert [run.side for run in runs if at in run.held] == [1]


@pytest.mark.parametrize("seed", range(4))
def test_a_station_s_slope_is_nobody_s(seed):
    sweep, sounds = heard(None, seed)
    sides = [run.side for run in find_runs(sweep, shoulders(sweep, sounds))]
    assert sides == [-1]
    slopes = [i for i, s in enumerate(sounds) if s.kind == "edge" or s.odds > 0]
    assert not any(has_its_own(sweep, sounds, i) for i in slopes)


@pytest.mark.parametrize(
    ("at_mhz", "radio"),
    [
        (101.25, Receiver(passband_khz=265.0, passband_order=5, misalignment_khz=5.0)),
        (101.3, Receiver(passband_khz=235.0, passband_order=4, misalignment_khz=0.5)),
    ],
)
def test_on_the_foot_of_a_strong_station_a_missing_pilot_tells_nothing(at_mhz, radio):
    """It hisses some 35 dB more than the station: of a pilot of 62 dB nothing is left to miss."""
    station = Station(101.0, 45.0, "speech", 3, stereo=True)
    dial_mhz = np.append(np.round(np.arange(99.0, 101.2, 0.2), 1), at_mhz)
    sweep, sounds = walked(Bench((station,), None, receiver=radio, seed=0), dial_mhz)
    foot = dial_mhz.size - 1
    assert sweep.stops[foot].programme.pilot_db < NO_PILOT_DB
    assert sounds[foot].odds > 0
    assert not has_its_own(sweep, sounds, foot)
    assert [run.side for run in find_runs(sweep, shoulders(sweep, sounds))] == [-1]
