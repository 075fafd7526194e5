"""When a knob was turned: roars' levels made here, the turns known to the decibel.

The spread of one level, 0.1 dB, is that of model radios at a second a stop.
"""

import numpy as np
import pytest

from listen.analysis.volume import find_turns


def turns(*roar_db, between=1):
    """The knob of a walk of these roars, each followed by so many stops that hold something."""
    level_db = np.full((len(roar_db), 1 + between), -20.0)
    level_db[:, 0] = roar_db
    level_db += 0.1 * np.random.default_rng(3).standard_normal(level_db.shape)
    pure = np.zeros(level_db.shape, bool)
    pure[:, 0] = True
    return find_turns(level_db.ravel(), pure.ravel(), np.arange(level_db.size))


@pytest.mark.parametrize("gains_db", [(0, -10, 0), (0, 4, 8), (0, 6, 0), (0, -6, 2)])
def test_each_turn_of_several_is_told(gains_db):
    roar_db = np.repeat(np.array(gains_db, float), 8) - 30.0
    got = turns(*roar_db, between=0)
    assert got.gain_db == pytest.approx(np.repeat(gains_db, 8), abs=0.3)
    assert not got.doubt_db.any()


def test_between_two_levels_it_is_not_known_when():
    got = turns(-30, -30, -30, -24, -24, -24, between=2)
    assert got.gain_db[:7] == pytest.approx(0.0)
    assert got.gain_db[7:9] == pytest.approx(3.0, abs=0.2)
    assert got.doubt_db[7:9] == pytest.approx(3.0, abs=0.2)
    assert got.gain_db[9:] == pytest.approx(6.0, abs=0.3)
    assert not np.delete(got.doubt_db, [7, 8]).any()


def test_roars_beside_carriers_are_no_knob():
    """A valley's three, alike but for 0.3 dB, were read on a model bench."""
    got = turns(*[-30] * 6, -23.7, -24.0, -23.8, *[-30] * 6, -28.3, *[-30] * 6, -34.2, -30, -30)
    assert not got.gain_db.any()
    assert not got.doubt_db.any()


def test_the_stops_of_a_thinking_walk_tell_by_two_roars_that_are_alike():
    got = turns(-30, -30, -24, -24)
    assert got.gain_db == pytest.approx([0, 0, 0, 3, 6, 6, 6, 6], abs=0.3)


def test_one_odd_roar_at_the_end_of_a_short_walk_is_doubt():
    got = turns(-30, -30, -30, -24, between=2)
    assert not got.gain_db.any()
    assert got.doubt_db[7:] == pytest.approx(6.0, abs=0.4)
    assert not got.doubt_db[:7].any()


def test_odd_roars_that_are_not_alike_are_carriers():
    assert not turns(-30, -30, -30, -24, -27, between=2).doubt_db.any()


def test_at_the_end_of_a_long_walk_it_is_a_carrier():
    assert not turns(*[-30] * 40, -24, between=0).doubt_db.any()


def test_without_roars_nothing_is_known():
    got = find_turns(np.full(5, -20.0), np.zeros(5, bool), np.arange(5))
    assert not got.gain_db.any()
    assert not got.doubt_db.any()


def test_the_order_is_that_of_time():
    level_db = np.array([-24.0, -24, -24, -30, -30, -30])
    got = find_turns(level_db, np.ones(6, bool), np.array([3, 4, 5, 0, 1, 2]))
    assert got.gain_db == pytest.approx([6, 6, 6, 0, 0, 0])


def test_two_that_are_alike_at_the_start_of_a_long_walk_are_carriers():
    assert not turns(-80, -80, *[-30] * 60, between=0).gain_db.any()
