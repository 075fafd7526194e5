"""Which stations tell the dial's error, which of them the radio's width, and what is not absent."""

from types import SimpleNamespace

import pytest

from listen.analysis import stations
from listen.analysis.runs import Run
from listen.analysis.stations import is_alone, stations_heard

DIAL_MHZ = [round(97.0 + 0.1 * n, 1) for n in range(31)]
SWEEP = SimpleNamespace(
    stops=[SimpleNamespace(dial_mhz=mhz, console="on") for mhz in DIAL_MHZ],
)


def run_of(first_mhz, last_mhz, side=-1):
    """A run that holds every stop from one place to another."""
    held = (i for i, mhz in enumerate(DIAL_MHZ) if first_mhz <= mhz <= last_mhz)
    return Run(tuple(held), side, "programme")


@pytest.mark.parametrize(
    ("last_mhz", "counts", "alone"),
    [(97.4, True, True), (97.6, True, False), (97.7, False, False)],
)
def test_a_run_may_be_one_station_s_though_it_is_too_wide_to_be_alone(last_mhz, counts, alone):
    run = run_of(97.0, last_mhz)
    assert bool(stations_heard([SimpleNamespace(run=run)], SWEEP)) == counts
    assert is_alone(run, (run,), SWEEP) == alone


def test_what_sounds_like_a_console_calibrates_nothing():
    assert stations_heard([SimpleNamespace(run=run_of(97.0, 97.2, side=1))], SWEEP) == ()


@pytest.mark.parametrize(("first_mhz", "alone"), [(97.4, False), (97.5, True)])
def test_a_carrier_within_a_quarter_of_a_megahertz_leaves_none_of_two_alone(first_mhz, alone):
    pair = (run_of(97.0, 97.2), run_of(first_mhz, 97.8))
    assert [is_alone(run, pair, SWEEP) for run in pair] == [alone, alone]


def test_the_stops_of_a_station_with_others_beside_it_are_held_by_something_else(monkeypatch):
    """A known station may hide there, and is not absent: dial_error_of is told so."""
    runs = run_of(97.0, 97.2), run_of(97.4, 97.6), run_of(99.0, 99.2)
    held = {i for run in runs for i in run.held}
    sounds = [SimpleNamespace(kind="programme" if i in held else "open") for i in range(31)]
    told = []
    monkeypatch.setattr(stations, "dial_error_of", lambda *words: told.append(words))
    monkeypatch.setattr(stations, "readings_of", lambda run, *_: ([], list(run.held)))
    fit = SimpleNamespace(carrier_mhz=None, weight=None)
    heard = [SimpleNamespace(run=run, fit=fit) for run in runs]
    stations.calibrated(heard, runs, SWEEP, sounds, None)
    ((_, shown, open_mhz, held_mhz),) = told
    assert held_mhz == (97.0, 97.1, 97.2, 97.4, 97.5, 97.6)
    assert not {99.0, 99.1, 99.2} & set(open_mhz)
    assert [one.rough_khz for one in shown] == [15.0, 15.0, 0.0]
