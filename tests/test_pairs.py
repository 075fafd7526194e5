"""Pairs of one modulator's carriers: spacings by the systems' published numbers.

Sound above picture: 4.5 MHz (M, 47 CFR 73.682(a)(3)), 5.5 (B, G), 6.0 (I; also published as
5.9996) and 6.5 (D, K), ITU-R BT.470.  A double-sideband modulator's mirror of the sound lies as
far below the picture (common practice), so two sounds are 9, 11, 12 or 13 MHz apart.
"""

import itertools

import numpy as np
import pytest

from listen.analysis.curve import HALF_WIDTHS_KHZ, Reading, fit_carrier
from listen.analysis.evidence import PAIR, Candidate
from listen.analysis.pairs import find_pairs, partners, spacings_mhz, with_pairs
from listen.analysis.runs import Run

ANY_WIDTH = np.full(HALF_WIDTHS_KHZ.size, 1 / HALF_WIDTHS_KHZ.size)
NUMBER = itertools.count()


def candidate(mhz, sound=4.0, kind="programme", side=1):
    """A carrier whose plateau was seen whole, so that its place is known to some 10 kHz."""
    dial = np.round(mhz + np.arange(-4, 5) / 10, 4)
    readings = [Reading(float(d), 25.0 if abs(d - mhz) < 0.16 else 0.0) for d in dial]
    fit = fit_carrier(readings, mhz, half_width_weights=ANY_WIDTH, coarse=True)
    return Candidate(Run((next(NUMBER),), side, kind), fit, sound)


def found(*candidates, open_mhz=()):
    return [(p.sound, p.partner, p.kind) for p in find_pairs(list(candidates), open_mhz)]


def test_the_spacings_are_those_of_the_systems():
    assert {round(s, 1) for s in spacings_mhz()} == {4.5, 5.5, 6.0, 6.5}


@pytest.mark.parametrize("picture_mhz, spacing_mhz", [(97.25, 4.5), (95, 5.5), (96, 6), (98, 6.5)])
def test_two_console_sounds_twice_a_spacing_apart_are_sound_and_mirror(picture_mhz, spacing_mhz):
    upper, lower = candidate(picture_mhz + spacing_mhz), candidate(picture_mhz - spacing_mhz)
    assert found(upper, lower) == [(0, 1, "mirror")]
    assert found(lower, upper) == [(1, 0, "mirror")]  # the upper one, whatever the order
    for order in ((upper, lower), (lower, upper)):
        one, other = sorted(with_pairs(list(order), ()), key=lambda c: -c.fit.mean_mhz)
        assert (one.pair, one.mirror) == (PAIR, False)
        assert (other.pair, other.mirror) == (0, True)
        assert one.odds > other.odds + 5


def test_a_known_mirror():
    # Picture 97.25 and spacing 4.5: sound 101.75 and mirror 92.75; picture 103.25: 107.75, 98.75.
    assert found(candidate(101.75), candidate(92.75)) == [(0, 1, "mirror")]
    assert found(candidate(107.75), candidate(98.75)) == [(0, 1, "mirror")]


@pytest.mark.parametrize("apart_mhz", [8.5, 9.5, 10.0, 10.5, 11.5, 12.5, 13.6, 14.0])
def test_other_distances_are_no_pair(apart_mhz):
    assert found(candidate(90.0), candidate(90.0 + apart_mhz)) == []


def test_a_subcarrier_off_by_50_khz_still_makes_a_pair():
    # An old sound subcarrier is off by up to this much (common practice); the mirror's distance
    # is then off by twice as much.
    assert found(candidate(101.80), candidate(92.70)) == [(0, 1, "mirror")]


def test_stations_make_no_mirror():
    assert found(candidate(101.75, sound=-3.0, side=-1), candidate(92.75)) == []
    assert found(candidate(101.75), candidate(92.75, sound=-3.0, side=-1)) == []


def test_a_mirror_needs_its_picture_half_way_unless_a_station_hides_it():
    pair = candidate(101.75), candidate(92.75)
    picture = candidate(97.25, sound=0.0, kind="buzz", side=0)
    assert found(*pair, open_mhz=(95.0, 99.0)) == [(0, 1, "mirror")]
    assert found(*pair, open_mhz=(97.2, 97.3)) == []
    assert (0, 1, "mirror") in found(*pair, picture, open_mhz=(97.2, 97.3))


def test_a_carrier_that_may_be_a_station_is_no_half_of_a_mirror_pair():
    assert found(candidate(101.75, sound=1.4), candidate(92.75)) == []


@pytest.mark.parametrize("spacing_mhz", [4.5, 5.5, 6.0, 6.5])
def test_a_picture_s_buzz_one_spacing_below_speaks_for_a_carrier(spacing_mhz):
    sound, buzz = candidate(97.75), candidate(97.75 - spacing_mhz, sound=0.0, kind="buzz", side=0)
    assert found(sound, buzz) == [(0, 1, "picture")]
    one, other = with_pairs([sound, buzz], ())
    assert (one.pair, other.pair, other.mirror) == (PAIR, 0, False)


def test_a_buzz_above_a_carrier_is_not_its_picture():
    assert found(candidate(91.0), candidate(96.5, sound=0.0, kind="buzz", side=0)) == []


def test_a_station_has_no_picture():
    buzz = candidate(92.25, sound=0.0, kind="buzz", side=0)
    assert found(candidate(97.75, sound=-3.0, side=-1), buzz) == []


def test_sound_picture_and_mirror_together():
    sound, picture = candidate(101.75), candidate(97.25, sound=0.0, kind="buzz", side=0)
    mirror = candidate(92.75)
    assert set(found(sound, picture, mirror)) == {(0, 2, "mirror"), (0, 1, "picture")}
    assert partners(sound, [sound, picture, mirror], ()) == (picture.run, mirror.run)
    assert partners(mirror, [sound, picture, mirror], ()) == (None, None)


def test_nothing_pairs_with_itself_or_alone():
    assert find_pairs([], ()) == []
    assert found(candidate(101.75)) == []
