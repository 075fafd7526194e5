"""A carrier is nearer to the stops that heard it than to those of a station beside it."""

import numpy as np
import pytest

from listen.analysis.curve import Posterior
from listen.analysis.nearest import LEAST, nearest_to_own

PLACES_MHZ = np.round(np.arange(98.5, 98.9001, 0.002), 3)


def even():
    """Equally likely everywhere within 200 kHz of 98.7, whichever of two widths it has."""
    joint = np.full((2, PLACES_MHZ.size), 0.5 / PLACES_MHZ.size)
    widths = np.array([100.0, 150.0])
    weight = joint.sum(axis=0)
    return Posterior(PLACES_MHZ, weight, joint, widths, widths / 250, np.zeros(9), 98.7)


def likely(fit, mhz):
    return float(np.interp(mhz, fit.carrier_mhz, fit.weight))


def test_beyond_half_way_to_a_stations_stop_a_carrier_is_less_likely_but_not_ruled_out():
    fit = nearest_to_own(even(), [98.7], [98.5, 99.8])
    assert fit.weight.sum() == pytest.approx(1.0)
    assert fit.joint.sum(axis=0) == pytest.approx(fit.weight)
    assert likely(fit, 98.8) == pytest.approx(likely(fit, 98.7), rel=0.01)  # 99.8 is too far off
    assert likely(fit, 98.51) / likely(fit, 98.7) == pytest.approx(LEAST, rel=0.02)
    assert fit.mean_mhz > 98.7


def test_stations_on_both_sides_hold_it_between_half_ways():
    fit = nearest_to_own(even(), [98.7], [98.5, 98.9])
    assert fit.mean_mhz == pytest.approx(98.7, abs=1e-6)
    inside = fit.weight[np.abs(fit.carrier_mhz - 98.7) < 0.115].sum()
    assert inside > 0.85
    assert even().weight[np.abs(PLACES_MHZ - 98.7) < 0.115].sum() < 0.6


def test_without_a_station_near_nothing_changes():
    fit = even()
    assert nearest_to_own(fit, [98.7], []) is fit
    assert nearest_to_own(fit, [98.7], [99.3]) is fit
