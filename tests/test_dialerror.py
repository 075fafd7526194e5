"""The dial's error as a function of the place: hand arithmetic, and every pair of errors."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from listen.analysis.dialerror import DialError, steady, without_error

ENDS_MHZ = (88.0, 108.0)


def scale(*pairs, raster_khz=100.0):
    """Errors at the two ends, each pair with its probability."""
    low, high, weight = (np.array(part, dtype=float) for part in zip(*pairs, strict=True))
    return DialError(low, high, weight, ENDS_MHZ, raster_khz)


def test_between_the_ends_it_changes_in_proportion():
    error = scale((40.0, -20.0, 1.0))
    # A quarter of the way up: 40 - 60 / 4 = 25.
    assert error.at(93.0).mean_khz == pytest.approx(25.0)
    assert error.true_mhz(93.0) == pytest.approx(92.975)
    # From 103 (three quarters: -5) to 93 (25): the readings are 30 kHz too near to each other.
    assert error.between(103.0, 93.0).mean_khz == pytest.approx(-30.0)
    assert not error.same_everywhere


def test_beyond_the_ends_it_goes_on():
    assert scale((40.0, -20.0, 1.0)).at(109.0).mean_khz == pytest.approx(-23.0)


@given(low=st.floats(-400, 400), high=st.floats(-400, 400), mhz=st.floats(87.5, 108.0))
def test_what_the_dial_shows_leads_back_to_the_truth(low, high, mhz):
    error = scale((low, high, 1.0))
    # Three rounds of a change of at most 800 kHz in 20 MHz: 0.04³ of 0.4 MHz.
    assert error.true_mhz(error.dial_mhz(mhz)) == pytest.approx(mhz, abs=1e-4)


def test_two_raster_steps_are_one_answer_and_a_doubt():
    error = scale((10.0, 10.0, 0.7), (110.0, 110.0, 0.3))
    local = error.at(98.0)
    assert local.mean_khz == pytest.approx(10.0)
    assert local.elsewhere == pytest.approx(0.3)
    assert error.at(98.0).ambiguous
    khz, weight = local.kernel
    assert weight[khz == 10.0] == pytest.approx(0.7)
    assert weight[khz == 110.0] == pytest.approx(0.3)
    # Common to both places, the step cancels.
    assert error.between(107.0, 89.0).mean_khz == pytest.approx(0.0)


def test_a_rare_step_is_no_doubt():
    assert not scale((10.0, 10.0, 0.97), (110.0, 110.0, 0.03)).at(98.0).ambiguous


def test_the_mean_of_an_even_spread_is_its_middle():
    khz = np.arange(-40.0, 41.0)
    local = DialError(khz, khz, np.full(81, 1 / 81), ENDS_MHZ, 100.0).at(98.0)
    assert local.mean_khz == pytest.approx(0.0, abs=1e-9)
    assert local.spread_khz == pytest.approx(np.sqrt((81**2 - 1) / 12))  # of 81 even steps
    assert not local.ambiguous


def test_a_steady_error_is_the_same_everywhere_and_as_wide_as_said():
    error = steady(12.0, 5.0)
    assert error.same_everywhere
    for mhz in (87.5, 107.0):
        assert error.at(mhz).mean_khz == pytest.approx(12.0)
        assert error.at(mhz).spread_khz == pytest.approx(5.0, rel=0.01)


def test_an_error_taken_out_moves_a_place_down_and_blurs_it():
    weight = np.array([0.25, 0.5, 0.25])  # at 98.000, 98.004 and 98.008
    kernel = (np.array([8.0, 9.0, 10.0, 11.0, 12.0]), np.array([0.5, 0.0, 0.0, 0.0, 0.5]))
    told, first_mhz = without_error(weight, 98.0, 0.004, kernel)
    at_mhz = first_mhz + 0.004 * np.arange(told.size)
    # 8 or 12 kHz less: two steps of 4, or three.
    wanted = {97.988: 0.125, 97.992: 0.375, 97.996: 0.375, 98.0: 0.125}
    for mhz, share in wanted.items():
        assert told[np.abs(at_mhz - mhz).argmin()] == pytest.approx(share)
    assert told.sum() == pytest.approx(1.0)


def test_an_error_between_two_steps_is_shared_by_them():
    told, first_mhz = without_error(np.ones(1), 98.0, 0.004, (np.array([1.0]), np.ones(1)))
    at_mhz = first_mhz + 0.004 * np.arange(told.size)
    assert float(at_mhz @ told) == pytest.approx(97.999)


def test_an_image_shows_a_digital_dial_s_error_with_the_other_sign():
    """Arithmetic of mixing, intermediate frequency 10.7 MHz, passband centred at 10.715.

    The oscillator stands at dial + 10.7.  What is heard directly lies 10.715 under it, so that
    98.0 shows as 98.015; the image lies 10.715 over it, so that 119.4 shows as 97.985.
    """
    error = steady(15.0)
    direct_mhz = 98.015
    assert error.true_mhz(direct_mhz) == pytest.approx(98.0)
    image_mhz = 119.4 - 10.715 - 10.7
    true_mhz = error.true_mhz(image_mhz) + 21.4 + error.image_khz / 1e3
    assert true_mhz == pytest.approx(119.4)


def test_an_image_shows_a_scale_s_error_as_it_is():
    """A scale's error is the oscillator's: where 90 stands for 89.9, it hears 89.9 and 111.3."""
    assert scale((100.0, 100.5, 1.0)).image_khz == 0
