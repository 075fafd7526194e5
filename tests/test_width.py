"""How wide a radio holds carriers: weights are probabilities, and evidence moves them."""

import numpy as np
import pytest

from listen.analysis.width import (
    BASIC_KHZ,
    HALF_WIDTHS_KHZ,
    SLOPES,
    STRENGTHS_DB,
    Held,
    half_width_weights,
    radio_weights,
    strength_weights,
)

PASSBAND_KHZ = (150.0, 280.0)


def held(half_khz, quieting_db=45.0, spread_khz=5.0, station=True):
    likelihood = np.exp(-0.5 * ((HALF_WIDTHS_KHZ - half_khz) / spread_khz) ** 2)
    return Held(likelihood, quieting_db, station)


def mean_khz(others=(), quieting_db=40.0, passband_khz=PASSBAND_KHZ):
    weight = half_width_weights(quieting_db, radio_weights(list(others), passband_khz))
    return float(HALF_WIDTHS_KHZ @ weight)


def spread_khz(others=(), quieting_db=40.0):
    weight = half_width_weights(quieting_db, radio_weights(list(others), PASSBAND_KHZ))
    mean = HALF_WIDTHS_KHZ @ weight
    return float(np.sqrt((HALF_WIDTHS_KHZ - mean) ** 2 @ weight))


@pytest.mark.parametrize("quieting_db", [3.0, 12.0, 25.0, 40.0, 60.0, 90.0])
@pytest.mark.parametrize("station", [True, False])
def test_strengths_are_probabilities_whatever_was_heard(quieting_db, station):
    weight = strength_weights(quieting_db, station)
    assert weight.shape == STRENGTHS_DB.shape
    assert weight.sum() == pytest.approx(1)
    assert (weight >= 0).all()


def test_deeper_quieting_is_a_stronger_carrier():
    means = [float(STRENGTHS_DB @ strength_weights(db, False)) for db in (20, 30, 40, 50)]
    assert means == sorted(means)
    assert means[-1] - means[0] > 10  # of the 30 dB: a programme may hide the floor


def test_a_radio_of_which_nothing_is_known_has_the_passband_it_is_believed_to_have():
    weight = radio_weights([], PASSBAND_KHZ)
    assert weight.shape == (BASIC_KHZ.size, SLOPES.size)
    assert weight.sum() == pytest.approx(1)
    wide, narrow = (mean_khz(passband_khz=khz) for khz in ((240.0, 280.0), (150.0, 170.0)))
    # Half-widths go as the passband: 260 against 160 kHz.
    assert wide / narrow == pytest.approx(260 / 160, rel=0.08)


@pytest.mark.parametrize("half_khz", [130.0, 160.0, 220.0])
def test_stations_whose_width_is_seen_tell_the_console_s(half_khz):
    alone_khz = mean_khz(quieting_db=45.0)
    one, three = (mean_khz([held(half_khz)] * count, 45.0) for count in (1, 3))
    assert abs(one - half_khz) < abs(alone_khz - half_khz)
    # Its own swing is not the stations', and widths scatter by 6 % about the law.
    assert three == pytest.approx(half_khz, rel=0.12)
    # Measured: 0.44 to 0.72 of it, the most for the widest, where a stronger carrier is the doubt.
    assert spread_khz([held(half_khz)] * 3, 45.0) < 0.8 * spread_khz(quieting_db=45.0)


def test_more_stations_tell_it_better_and_one_odd_one_does_not_upset_it():
    three = [held(160.0), held(163.0), held(158.0)]
    assert spread_khz(three) < spread_khz(three[:1])
    assert mean_khz([*three, held(300.0)]) == pytest.approx(mean_khz(three), rel=0.06)


def test_a_stronger_carrier_is_held_further_down_the_skirts():
    stations = [held(160.0, 45.0), held(161.0, 46.0)]
    widths = [mean_khz(stations, quieting_db=db) for db in (25.0, 40.0, 55.0)]
    assert widths == sorted(widths)
    assert widths[-1] > 1.1 * widths[0]


def test_the_order_of_the_stations_does_not_matter():
    stations = [held(150.0, 35.0), held(170.0, 50.0), held(162.0, 45.0)]
    one, other = (radio_weights(s, PASSBAND_KHZ) for s in (stations, stations[::-1]))
    assert other == pytest.approx(one)
