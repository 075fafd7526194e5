"""What loudness tells beside hiss: a limiter's mean frequency, and what a fit makes of it."""

from dataclasses import replace

import numpy as np
import pytest

from listen.analysis.curve import Reading, fit_carrier
from listen.analysis.heard import judge
from listen.analysis.measures import measure
from listen.analysis.plateau import STEP_KHZ, family, programme_gain
from listen.analysis.readings import readings_of
from listen.analysis.runs import find_runs
from listen.analysis.survey import survey
from listen.analysis.width import HALF_WIDTHS_KHZ
from listen.simulate.air import Console
from listen.simulate.bench import Bench

WIDE = np.ones(HALF_WIDTHS_KHZ.size)


def test_a_limiter_s_mean_frequency_is_the_offset_times_how_often_it_is_held():
    """Rice's result, from memory, against noise made here: complex, even about the middle."""
    rng = np.random.default_rng(11)
    count, offset = 400_000, 0.05  # cycles a sample
    lines = rng.standard_normal(count) + 1j * rng.standard_normal(count)
    lines[np.abs(np.fft.fftfreq(count)) > 0.1] = 0
    noise = np.fft.ifft(lines)
    noise /= np.sqrt(np.mean(np.abs(noise) ** 2))
    for ratio in (0.3, 1.0, 3.0):
        carrier = np.sqrt(ratio) * np.exp(2j * np.pi * offset * np.arange(count))
        both = carrier + noise
        turns = np.angle(both[1:] * np.conj(both[:-1])) / (2 * np.pi)
        # Over 20 other seeds the mean spreads by 0.0002 at most.
        assert turns.mean() == pytest.approx(offset * (1 - np.exp(-ratio)), abs=0.0008)


def test_a_programme_is_whole_on_the_plateau_gone_far_away_and_loudest_at_the_foot():
    offset_khz = np.arange(0.0, 400.0, 2.0)
    gain = programme_gain(offset_khz, np.array(160.0), np.array(9.0), np.array(3.0))
    assert gain[offset_khz <= 60] == pytest.approx(1.0, abs=1e-3)
    assert gain[-1] < 1e-3
    top = int(gain.argmax())
    assert 150 < offset_khz[top] < 200
    assert gain[top] > 5
    inner = offset_khz[top] - offset_khz[np.argmin(gain[:top])]
    assert 10 < inner < 60  # and it vanishes on the cliff before that


def test_no_curve_of_the_family_plays_where_nothing_is_held():
    curves = family(False)
    assert curves.gain.shape == curves.noise.shape
    for some in range(0, curves.noise.shape[1], 311):
        far = curves.gain[int(1.9 * curves.half_width_khz[some] / STEP_KHZ) :, some]
        assert (far < 0.2).all()


def stops(loud):
    """A held stop, an open one either side, the upper one as loud as given."""
    return [
        Reading(99.6, 0.0, 0.0, 0.0),
        Reading(99.8, 0.0, 0.0, 0.0),
        Reading(100.0, 42.0, 0.0, -8.0),
        Reading(100.2, 0.0, 0.0, loud),
        Reading(100.4, 0.0, 0.0, 0.0),
    ]


@pytest.mark.parametrize("coarse", [True, False])
def test_an_open_stop_louder_than_the_roar_draws_the_carrier_to_its_side(coarse):
    plain, drawn = (
        fit_carrier(stops(db), 100.0, half_width_weights=WIDE, coarse=coarse) for db in (0.0, 4.0)
    )
    assert plain.mean_mhz == pytest.approx(100.0, abs=0.003)
    assert 100.01 < drawn.mean_mhz < 100.08


def test_where_a_dial_s_readings_scatter_loudness_is_left_out():
    plain, drawn = (
        fit_carrier(stops(db), 100.0, half_width_weights=WIDE, scatter_khz=20.0)
        for db in (0.0, 4.0)
    )
    assert drawn.mean_mhz == plain.mean_mhz


def test_without_loudness_or_a_held_stop_nothing_is_told():
    silent = [replace(r, loud_db=None) for r in stops(4.0)]
    assert fit_carrier(silent, 100.0, half_width_weights=WIDE).mean_mhz == pytest.approx(100.0)
    shallow = [replace(r, quieting_db=min(r.quieting_db, 12.0)) for r in stops(4.0)]
    told, untold = (
        fit_carrier(r, 100.0, half_width_weights=WIDE)
        for r in (shallow, [replace(r, loud_db=None) for r in shallow])
    )
    assert told.mean_mhz == untold.mean_mhz


def test_a_programme_that_rests_at_a_stop_rules_nothing_out():
    """Its loudness there is the roar's wherever the carrier is; the places stay within a third."""
    rests = stops(0.0)
    untold = [replace(r, loud_db=None) for r in rests]
    told, without = (fit_carrier(r, 100.0, half_width_weights=WIDE) for r in (rests, untold))
    wide = np.abs(without.carrier_mhz - 100.04) < 0.003
    here = np.interp(without.carrier_mhz[wide], told.carrier_mhz, told.weight)
    assert here.sum() > without.weight[wide].sum() / 3


@pytest.mark.parametrize("clipped", [False, True])
def test_a_sweep_s_stops_carry_their_loudness_unless_the_input_cut_it(clipped):
    console = Console(100.04, 32.0, 5.5, deviation_khz=50.0, modulation=0.6)
    bench = Bench((), console, seed=3)
    heard = [measure(bench.hear(round(99.0 + n / 5, 1), 0.5)) for n in range(11)]
    if clipped:
        heard = [replace(stop, clipped=0.01) for stop in heard]
    sweep = survey(tuple(heard))
    sounds = tuple(judge(sweep, i, (50.0, 60.0)) for i in range(len(heard)))
    runs = find_runs(sweep, sounds)
    readings, _ = readings_of(runs[0], runs, sweep, sounds)
    assert all((reading.loud_db is None) == clipped for reading in readings)
    if not clipped:
        open_db = [r.loud_db for r in readings if abs(r.dial_mhz - 100.04) > 0.35]
        assert open_db
        assert np.abs(open_db).max() < 0.5
