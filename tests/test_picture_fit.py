"""A picture carrier's place from its own kind of curve, against arithmetic and a model radio.

Two dial stops that hear a box of known width leave the carrier where both intervals overlap:
that is arithmetic.  The model radio limits amplitude modulation and knows nothing of boxes.
"""

import numpy as np
import pytest

from listen.analysis.curve import Reading
from listen.analysis.measures import measure
from listen.analysis.picture_fit import fit_picture
from listen.analysis.width import BASIC_KHZ, HALF_WIDTH_OF_PASSBAND, SLOPES
from listen.simulate.air import Console
from listen.simulate.bench import Bench
from listen.simulate.receiver import Receiver


def radio_of(passband_khz):
    """A radio whose passband is known."""
    nearest = int(np.argmin(np.abs(BASIC_KHZ - HALF_WIDTH_OF_PASSBAND * passband_khz)))
    weights = np.zeros((BASIC_KHZ.size, SLOPES.size))
    weights[nearest, SLOPES.size // 2] = 1.0
    return weights


def test_one_stop_that_held_it_leaves_the_passband_s_width():
    """Known to ±100 kHz and no better: the spread of a uniform density, 200 / √12."""
    readings = [Reading(95.9, 40.0), Reading(95.4, 0.0), Reading(96.4, 0.0)]
    fit = fit_picture(readings, 95.9, radio_of(200.0))
    assert fit.mean_mhz == pytest.approx(95.9, abs=0.004)
    assert fit.spread_khz == pytest.approx(200 / np.sqrt(12), rel=0.15)


def test_a_neighbour_that_lost_it_cuts_its_side_off():
    """Held at 95.9 and lost at 96.1: not above 96.0, where 96.1 would hold it too."""
    readings = [Reading(95.9, 40.0), Reading(96.1, 6.0), Reading(95.4, 0.0)]
    fit = fit_picture(readings, 95.9, radio_of(200.0))
    assert 95.80 < fit.mean_mhz < 95.95
    assert fit.weight[fit.carrier_mhz > 96.03].sum() < 0.05


def test_a_stop_on_the_wall_places_it_closely():
    """A wall that begins 100 kHz from the carrier falls from 34 dB to 20 within 8 kHz.

    It falls to 13 within 15 and to 8 within 30, so 20 dB at 95.785 is a carrier near 95.893.
    """
    readings = [Reading(95.9, 34.0), Reading(95.785, 20.0), Reading(96.2, 6.0)]
    fit, without = (fit_picture(r, 95.9, radio_of(200.0)) for r in (readings, readings[::2]))
    assert fit.mean_mhz == pytest.approx(95.893, abs=0.01)
    assert fit.spread_khz < 0.85 * without.spread_khz


@pytest.mark.parametrize(("beyond_db", "shown"), [(6.0, True), (0.0, False)])
def test_the_curve_shown_has_the_shelf_that_was_heard(beyond_db, shown):
    """A strong carrier's shelf reaches stops 350 kHz away, a weak one's does not."""
    aside_mhz = (-0.35, -0.3, 0.3, 0.35)
    readings = [Reading(95.9, 38.0), *(Reading(95.9 + mhz, beyond_db) for mhz in aside_mhz)]
    fit = fit_picture(readings, 95.9, radio_of(200.0))
    there_db = fit.curve_db(np.array([fit.best_mhz + 0.35]), fit.best_mhz)[0]
    assert there_db == pytest.approx(5.5 if shown else 0.0, abs=1.0)


@pytest.mark.parametrize("passband_khz, strength_db", [(150, 25.0), (200, 40.0), (260, 30.0)])
def test_on_a_model_radio_it_is_found_within_its_spread(passband_khz, strength_db):
    """A dial of 100 kHz at five places of its grid; pulls of ±1 are to be expected, of 3 not."""
    console = Console(100.5, strength_db, 4.5, deviation_khz=25.0, mirror_db=None, field_hz=60.054)
    bench = Bench((), console, receiver=Receiver(passband_khz=float(passband_khz)), seed=5)
    roar_db = measure(bench.hear(93.0, 0.4)).hiss.calm_db[0]
    pulls = []
    for shift_mhz in (0.0, 0.02, 0.04, 0.06, 0.08):
        dial = np.round(96.0 + shift_mhz + np.arange(-4, 5) / 10, 3)
        heard = [measure(bench.hear(float(d), 0.4)).hiss.calm_db[0] for d in dial]
        readings = [Reading(float(d), roar_db - h) for d, h in zip(dial, heard, strict=True)]
        fit = fit_picture(readings, 96.0 + shift_mhz, radio_of(passband_khz))
        assert fit.spread_khz < 25
        pulls.append((fit.mean_mhz - 96.0) * 1e3 / fit.spread_khz)
    assert np.abs(pulls).max() < 2.5
    assert np.sqrt(np.mean(np.square(pulls))) < 1.5
