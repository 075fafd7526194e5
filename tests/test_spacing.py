"""The picture carrier and the spacing, from posteriors whose content is known.

Spacings: 4.5 MHz (47 CFR 73.682(a)(3)), 5.5, 6.0 and 6.5 (ITU-R BT.470).  Means and spreads of
products and differences of normal densities: textbook.
"""

import numpy as np
import pytest

from listen.analysis.answer import FittingChannel
from listen.analysis.curve import HALF_WIDTHS_KHZ, Posterior
from listen.analysis.spacing import Picture, implied, place_picture, with_picture


def posterior(mhz, spread_khz):
    """A carrier that is known to a normal density."""
    carrier_mhz = mhz + np.arange(-250, 252, 2) / 1e3
    weight = np.exp(-0.5 * (1e3 * (carrier_mhz - mhz) / spread_khz) ** 2)
    joint = np.tile(weight / weight.sum() / HALF_WIDTHS_KHZ.size, (HALF_WIDTHS_KHZ.size, 1))
    flat = np.full(HALF_WIDTHS_KHZ.size, 1 / HALF_WIDTHS_KHZ.size)
    return Posterior(
        carrier_mhz, joint.sum(axis=0), joint, HALF_WIDTHS_KHZ, flat, np.zeros(301), mhz, 0.0
    )


@pytest.mark.parametrize("spacing_mhz", [4.5, 5.5, 6.0, 6.5])
def test_a_picture_narrows_a_wide_sound_toward_one_spacing_above_it(spacing_mhz):
    sound, picture = posterior(97.78, 40.0), posterior(97.75 - spacing_mhz, 5.0)
    both = with_picture(sound, picture)
    assert abs(both.mean_mhz - 97.75) < abs(sound.mean_mhz - 97.75) / 2
    assert both.spread_khz < sound.spread_khz * 0.7
    assert both.weight.sum() == pytest.approx(1)


def test_a_well_known_sound_is_hardly_moved():
    sound, picture = posterior(97.75, 4.0), posterior(92.22, 15.0)  # the picture says 97.72
    assert 1e3 * abs(with_picture(sound, picture).mean_mhz - 97.75) < 2.0


def test_a_mistuned_subcarrier_leaves_the_sound_where_its_own_stops_put_it():
    # 150 kHz off, as careless trimming may leave it: within its own spread of 12 kHz.
    sound, picture = posterior(97.90, 12.0), posterior(92.25, 10.0)
    assert 1e3 * abs(with_picture(sound, picture).mean_mhz - 97.90) < 6.0


def test_a_picture_at_no_spacing_says_nothing():
    sound, picture = posterior(97.75, 30.0), posterior(90.0, 5.0)
    both = with_picture(sound, picture)
    assert both.mean_mhz == pytest.approx(sound.mean_mhz, abs=1e-6)
    assert both.spread_khz == pytest.approx(sound.spread_khz, rel=1e-6)


def test_a_mirror_places_the_picture_half_way_and_the_dial_s_error_is_taken_out():
    sound, mirror = posterior(101.77, 10.0), posterior(92.77, 10.0)
    found = place_picture(sound, None, mirror, 0.02)
    assert found.mhz == pytest.approx(97.25, abs=1e-6)
    assert found.spacing_mhz == pytest.approx(4.5, abs=1e-6)  # an error of the dial cancels
    assert found.spread_khz == pytest.approx(np.hypot(10, 10) / 2, rel=0.01)
    assert (found.basis, found.spacing_basis, found.by) == ("measured", "measured", "mirror")


def test_buzz_and_mirror_count_by_how_well_each_places_it():
    found = place_picture(posterior(101.75, 6.0), posterior(97.30, 30.0), posterior(92.75, 6.0), 0)
    assert found.mhz == pytest.approx(97.25 + 0.05 * (4.243**2 / (4.243**2 + 30**2)), abs=1e-4)
    assert found.by == "both"


def channel(picture_mhz, sound_mhz):
    return FittingChannel("a-plan", "1", sound_mhz, picture_mhz, 0.0)


def test_what_is_placed_badly_chooses_among_channels_and_no_more():
    found = place_picture(posterior(107.75, 10.0), posterior(102.2, 60.0), None, 0.0)
    assert (found.mhz, found.basis) == (None, None)
    assert found.fits(channel(102.25, 107.75))
    assert not found.fits(channel(103.25, 107.75))
    known = implied(found, 107.76, (channel(102.25, 107.75),))
    assert (known.mhz, known.basis, known.spacing_basis) == (102.26, "implied", "standard")


def test_nothing_heard_and_channels_that_disagree_leave_it_open():
    two = (channel(102.25, 107.75), channel(103.25, 107.75))
    assert implied(Picture(), 107.75, two) == Picture()
