"""A carrier within a mute's window, on stops laid out by hand."""

import numpy as np
import pytest

from listen.analysis.curve import Reading
from listen.analysis.window_fit import WIDTHS_KHZ, fit_window, window_weights


def fitted(**quieting_db):
    """Stops by name, such as at_98_1=30.0 for a held one and 0.0 for a muted one."""
    readings = [Reading(float(name[3:].replace("_", ".")), db) for name, db in quieting_db.items()]
    held = [one.dial_mhz for one in readings if one.quieting_db > 0]
    return fit_window(readings, sum(held) / len(held))


def test_one_held_stop_among_muted_ones_leaves_the_window_open():
    """Half a window of 50 to 100 kHz to either side; its 95 % are a little less than all of it."""
    fit = fitted(at_97_9=0.0, at_98_1=30.0, at_98_3=0.0)
    low_mhz, high_mhz = fit.interval_mhz()
    assert fit.mean_mhz == pytest.approx(98.1, abs=1e-3)
    assert 0.07 < 98.1 - low_mhz < 0.1
    assert 0.07 < high_mhz - 98.1 < 0.1
    deeper = fitted(at_97_9=0.0, at_98_1=50.0, at_98_3=0.0)
    assert deeper.weight == pytest.approx(fit.weight)  # how deep says nothing of where


def test_two_held_stops_put_it_between_them():
    fit = fitted(at_97_9=0.0, at_98_0=30.0, at_98_1=31.0, at_98_2=0.0)
    low_mhz, high_mhz = fit.interval_mhz()
    assert fit.mean_mhz == pytest.approx(98.05, abs=1e-3)
    assert high_mhz - low_mhz < 0.1


def test_a_mute_that_goes_by_strength_alone_holds_further():
    """Held over 300 kHz: no usual window, and the wide ones are not ruled out."""
    fit = fitted(at_97_7=0.0, at_97_9=30.0, at_98_1=30.0, at_98_3=30.0, at_98_5=0.0)
    assert fit.mean_mhz == pytest.approx(98.1, abs=2e-3)
    half_khz = float(fit.joint.sum(axis=1) @ fit.half_width_khz)
    assert 180.0 < half_khz < 250.0


def test_usual_windows_are_likelier_than_others():
    weight = window_weights()
    assert weight.sum() == pytest.approx(1.0)
    usual = weight[(WIDTHS_KHZ >= 50) & (WIDTHS_KHZ <= 100)].sum()
    assert 0.7 < usual < 0.95
    assert np.all(weight > 0)
