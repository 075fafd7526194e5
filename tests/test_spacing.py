"""The picture carrier and the spacing, from posteriors whose content is known.

Spacings: 4.5 MHz (47 CFR 73.682(a)(3)), 5.5, 6.0 and 6.5 (ITU-R BT.470).  Means and spreads of
products and differences of normal densities: textbook.
"""

import numpy as np
import pytest
from scipy.stats import norm

from listen.analysis.answer import FittingChannel
from listen.analysis.curve import HALF_WIDTHS_KHZ, Posterior
from listen.analysis.dialerror import steady
from listen.analysis.evidence import near_of
from listen.analysis.modulator import Way
from listen.analysis.spacing import (
    Picture,
    implied,
    left_open_khz,
    place_picture,
    place_sound,
    with_picture,
    with_sound,
)

DIRECT = Way("direct", 1.0, 0.0, 5.5, None, 0.0)
MIRROR = Way("mirror", 1.0, 11.0, 5.5, None, 0.0)
IMAGE = Way("image", 1.0, -21.4, 4.5, "below", 0.0)
TWICE = Way("harmonic", 0.5, 0.0, 5.5, None, 0.0)
BOTH = Way("harmonic", 0.5, 2.75, 5.5, None, 0.0, 1)  # of picture and sound together


def posterior(mhz, spread_khz):
    """A carrier that is known to a normal density."""
    carrier_mhz = mhz + np.arange(-250, 252, 2) / 1e3
    weight = np.exp(-0.5 * (1e3 * (carrier_mhz - mhz) / spread_khz) ** 2)
    joint = np.tile(weight / weight.sum() / HALF_WIDTHS_KHZ.size, (HALF_WIDTHS_KHZ.size, 1))
    flat = np.full(HALF_WIDTHS_KHZ.size, 1 / HALF_WIDTHS_KHZ.size)
    return Posterior(
        carrier_mhz, joint.sum(axis=0), joint, HALF_WIDTHS_KHZ, flat, np.zeros(301), mhz
    )


@pytest.mark.parametrize("spacing_mhz", [4.5, 5.5, 6.0, 6.5])
def test_a_picture_narrows_a_wide_sound_toward_one_spacing_above_it(spacing_mhz):
    sound, picture = posterior(97.78, 40.0), posterior(97.75 - spacing_mhz, 5.0)
    both = with_picture(sound, picture, steady())
    assert abs(both.mean_mhz - 97.75) < abs(sound.mean_mhz - 97.75) / 2
    assert both.spread_khz < sound.spread_khz * 0.7
    assert both.weight.sum() == pytest.approx(1)


def test_a_well_known_sound_is_hardly_moved():
    sound, picture = posterior(97.75, 4.0), posterior(92.22, 15.0)  # the picture says 97.72
    assert 1e3 * abs(with_picture(sound, picture, steady()).mean_mhz - 97.75) < 2.0


def test_a_mistuned_subcarrier_leaves_the_sound_where_its_own_stops_put_it():
    # 150 kHz off, as careless trimming may leave it: within its own spread of 12 kHz.
    sound, picture = posterior(97.90, 12.0), posterior(92.25, 10.0)
    assert 1e3 * abs(with_picture(sound, picture, steady()).mean_mhz - 97.90) < 6.0


def test_a_picture_at_no_spacing_says_nothing():
    sound, picture = posterior(97.75, 30.0), posterior(90.0, 5.0)
    both = with_picture(sound, picture, steady())
    assert both.mean_mhz == pytest.approx(sound.mean_mhz, abs=1e-6)
    assert both.spread_khz == pytest.approx(sound.spread_khz, rel=1e-6)


@pytest.mark.parametrize("spacing_mhz", [4.5, 5.5, 6.0, 6.5])
def test_a_sound_narrows_a_wide_picture_toward_one_spacing_below_it(spacing_mhz):
    sound, picture = posterior(97.75, 5.0), posterior(97.78 - spacing_mhz, 40.0)
    both = with_sound(picture, sound, steady())
    assert 1e3 * abs(both.mean_mhz - (97.75 - spacing_mhz)) < 15.0  # 30 by its own stops
    assert both.spread_khz < 28.0  # 40 by its own stops
    found = place_picture(DIRECT, sound, picture, None, steady(), sound)
    assert found.mhz == pytest.approx(both.mean_mhz)
    assert found.spacing_mhz == pytest.approx(97.75 - both.mean_mhz)
    assert found.basis == "measured"


def test_the_sound_leaves_a_picture_of_a_mistuned_subcarrier_where_it_was_heard():
    sound, picture = posterior(97.75, 10.0), posterior(92.10, 12.0)  # 150 kHz too far apart
    found = place_picture(DIRECT, sound, picture, None, steady(), sound)
    assert found.spacing_mhz == pytest.approx(5.65, abs=0.012)


def test_a_picture_that_its_own_stops_place_badly_is_not_measured_by_the_sound():
    sound, picture = posterior(97.75, 5.0), posterior(92.30, 60.0)
    found = place_picture(DIRECT, sound, picture, None, steady(), sound)
    assert (found.basis, found.mhz, found.spacing_mhz) == (None, None, None)
    assert found.heard_mhz is not None


def test_a_mirror_places_the_picture_half_way_and_the_dial_s_error_is_taken_out():
    sound, mirror = posterior(101.77, 10.0), posterior(92.77, 10.0)
    found = place_picture(DIRECT, sound, None, mirror, steady(20.0))
    assert found.mhz == pytest.approx(97.25, abs=1e-6)
    assert found.spacing_mhz == pytest.approx(4.5, abs=1e-6)  # an error of the dial cancels
    assert found.spread_khz == pytest.approx(np.hypot(10, 10) / 2, rel=0.01)
    assert (found.basis, found.spacing_basis, found.by) == ("measured", "measured", "mirror")


def test_buzz_and_mirror_count_by_how_well_each_places_it():
    sound, picture, mirror = posterior(101.75, 6.0), posterior(97.30, 30.0), posterior(92.75, 6.0)
    found = place_picture(DIRECT, sound, picture, mirror, steady())
    assert found.mhz == pytest.approx(97.25 + 0.05 * (4.243**2 / (4.243**2 + 30**2)), abs=1e-4)
    assert found.by == "both"


def channel(picture_mhz, sound_mhz):
    return FittingChannel("a-plan", "1", sound_mhz, picture_mhz, 0.0)


def test_what_is_placed_badly_chooses_among_channels_and_no_more():
    found = place_picture(DIRECT, posterior(107.75, 10.0), posterior(102.2, 60.0), None, steady())
    assert (found.mhz, found.basis) == (None, None)
    assert found.fits(channel(102.25, 107.75))
    assert not found.fits(channel(103.25, 107.75))
    known = implied(found, 107.76, (channel(102.25, 107.75),))
    assert (known.mhz, known.basis, known.spacing_basis) == (102.26, "implied", "standard")


def test_nothing_heard_and_channels_that_disagree_leave_it_open():
    two = (channel(102.25, 107.75), channel(103.25, 107.75))
    assert implied(Picture(), 107.75, two) == Picture()


def test_of_an_image_sound_and_picture_lie_as_far_away_together():
    sound, picture = posterior(93.17, 10.0), posterior(88.67, 10.0)
    heard = place_picture(IMAGE, sound, picture, None, steady(20.0))
    assert heard.mhz == pytest.approx(67.25, abs=1e-6)  # us-air 4: 67.25 and 71.75
    assert heard.spacing_mhz == pytest.approx(4.5, abs=1e-6)
    mhz, (low_mhz, high_mhz) = place_sound(IMAGE, 93.15, (93.13, 93.17), heard)
    assert (mhz, low_mhz, high_mhz) == pytest.approx((71.75, 71.73, 71.77))


def test_of_a_second_harmonic_error_and_interval_are_halved():
    mhz, interval = place_sound(TWICE, 103.50, (103.46, 103.54), Picture())
    assert mhz == pytest.approx(51.75)
    assert interval == pytest.approx((51.73, 51.77))


def test_a_mirror_puts_the_sound_as_far_above_its_picture():
    """Mirror 99.75 and picture 105.25 to 10 kHz each: the sound to hypot(2 x 10, 10) kHz."""
    heard = place_picture(MIRROR, posterior(99.75, 10.0), posterior(105.26, 10.0), None, steady())
    mhz, (low_mhz, high_mhz) = place_sound(MIRROR, 99.75, (99.7304, 99.7696), heard)
    assert mhz == pytest.approx(110.77, abs=1e-6)
    assert 1e3 * (high_mhz - low_mhz) / 2 == pytest.approx(1.96 * np.hypot(20, 10), rel=0.01)


def test_a_mirror_without_its_picture_tells_the_sound_as_ill_as_subcarriers_are_set():
    mhz, (low_mhz, high_mhz) = place_sound(MIRROR, 99.75, (99.73, 99.77), Picture())
    assert mhz == pytest.approx(110.75)
    assert 1e3 * (high_mhz - low_mhz) / 2 == pytest.approx(np.hypot(220, 20), rel=0.01)


def within(spread_khz):
    """How much of a normal error lies within the 150 kHz that a probability speaks of."""
    return 1 - 2 * norm.sf(150.0, scale=spread_khz)


@pytest.mark.parametrize(
    ("way", "wide_khz", "picture", "wanted"),
    [
        (DIRECT, 60.0, Picture(), within(60)),
        (IMAGE, 60.0, Picture(), within(60)),
        (TWICE, 60.0, Picture(), within(30)),  # half of what is heard, and half as badly
        # A subcarrier that is off by 15 kHz, or by 80 in three of ten, counts twice.
        (MIRROR, 20.0, Picture(), 0.7 * within(np.hypot(30, 20)) + 0.3 * within(np.hypot(160, 20))),
        (BOTH, 60.0, Picture(), 0.7 * within(np.hypot(30, 7.5)) + 0.3 * within(np.hypot(30, 40))),
        # And so does what is open of the picture.
        (MIRROR, 20.0, Picture(mhz=105.25, spread_khz=50.0), within(np.hypot(20, 100))),
        (MIRROR, 20.0, Picture(heard_mhz=105.25, spread_khz=60.0), 0.895),  # heard, not measured
    ],
)
def test_how_probably_the_sound_stands_within_150_khz_of_where_its_way_puts_it(
    way, wide_khz, picture, wanted
):
    open_khz = left_open_khz(way, picture)
    near = near_of(posterior(99.75, wide_khz), steady(), way.scale, open_khz)
    assert near == pytest.approx(wanted, abs=2e-3)  # a grid of 2 kHz, to 250 kHz


def test_the_dial_s_error_is_open_too_of_where_a_way_puts_the_sound():
    near = near_of(posterior(99.75, 20.0), steady(10.0, 80.0), 1.0, ((1.0, 60.0),))
    assert near == pytest.approx(within(np.sqrt(20**2 + 80**2 + 60**2)), abs=2e-3)
