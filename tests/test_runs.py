"""Which stops heard one carrier, on a model radio: beside a station a slope is no console.

The model radio's capture, skirts and pilot are checked against theory elsewhere in these tests.
"""

import numpy as np
import pytest

from listen.analysis.heard import judge
from listen.analysis.measures import measure
from listen.analysis.runs import find_runs, has_its_own, shoulders
from listen.analysis.survey import survey
from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench

STATION = Station(101.0, 38.0, "music", 3)
DIAL_MHZ = np.round(np.arange(99.5, 102.6, 0.2), 1)


def heard(console, seed):
    """The sounds of a dial of 200 kHz round a station, and the survey they belong to."""
    bench = Bench((STATION,), console, seed=seed)
    sweep = survey(tuple(measure(bench.hear(float(mhz), 0.6)) for mhz in DIAL_MHZ))
    return sweep, tuple(judge(sweep, i, (50.0, 60.0)) for i in range(DIAL_MHZ.size))


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
