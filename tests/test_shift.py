"""The distance between two sweeps' carriers, against curves that the family does not hold.

The curves here are straight cliffs in dB with a level top, drawn by plain arithmetic; where
each carrier stands is known because the test put it there.
"""

import numpy as np
import pytest

from listen.analysis.cliffs import beside_others, drawn
from listen.analysis.curve import Reading
from listen.analysis.shift import (
    ELSEWHERE,
    ELSEWHERE_KHZ,
    Distance,
    bell,
    cautious,
    distance,
    mixed,
    moved_by,
)
from listen.analysis.width import HALF_WIDTHS_KHZ

EVEN = np.ones(HALF_WIDTHS_KHZ.size)
AROUND_MHZ = 98.0


def swept(carrier_khz, edge_khz=220.0, top_db=45.0, noise_db=0.15, seed=0):
    """A 100 kHz dial past a carrier whose cliffs fall by 1 dB a kHz from edge_khz inward."""
    noise = np.random.default_rng(seed).normal(0, noise_db, 11)
    readings = []
    for n, error_db in zip(range(-5, 6), noise, strict=True):
        inside_khz = edge_khz - abs(100.0 * n - carrier_khz)
        db = float(np.clip(inside_khz, 0.0, top_db)) + float(error_db)
        readings.append(Reading(AROUND_MHZ + n / 10, db))
    return drawn(readings, AROUND_MHZ + carrier_khz / 1e3, 10.0, EVEN)


@pytest.mark.parametrize("moved_khz", [0.0, 10.0, 18.0])
def test_a_move_between_two_sweeps_of_one_radio_is_told(moved_khz):
    answer = distance(swept(-10.0, seed=1), swept(moved_khz - 10.0, seed=2), same_radio=True)
    low, high = answer.interval_khz()
    assert low <= moved_khz <= high
    # Over five first places and such moves the error had a spread of 4.9 kHz, at most 14: two
    # stops on straight cliffs leave their steepness open.
    assert answer.mean_khz == pytest.approx(moved_khz, abs=15.0)
    assert answer.weight.sum() == pytest.approx(1.0)


def test_one_radio_tells_a_move_better_than_two():
    first, second = swept(-10.0, seed=1), swept(-10.0, seed=2)
    one = distance(first, second, same_radio=True)
    two = distance(first, second, same_radio=False)
    assert one.spread_khz < two.spread_khz
    assert one.evidence > two.evidence  # the two curves are alike


def test_a_radio_that_holds_a_carrier_wider_is_another():
    first, second = swept(0.0, seed=1), swept(0.0, edge_khz=250.0, seed=2)
    one = distance(first, second, same_radio=True)
    two = distance(first, second, same_radio=False)
    assert two.evidence > one.evidence


def test_the_distance_is_that_of_the_dials_positions_not_of_the_grids():
    far = drawn(
        [Reading(101.0 + n / 10, max(0.0, 35.0 - abs(n) ** 3)) for n in range(-5, 6)],
        101.0,
        20.0,
        EVEN,
    )
    near = drawn(
        [Reading(98.0 + n / 10, max(0.0, 35.0 - abs(n) ** 3)) for n in range(-5, 6)],
        98.0,
        20.0,
        EVEN,
    )
    answer = distance(near, far, same_radio=True)
    assert answer.mean_khz == pytest.approx(3000.0, abs=1.0)  # the same readings, 3 MHz higher


def test_independent_spreads_add_as_squares():
    """Variances of independent errors add: any handbook of statistics."""
    answer = moved_by(bell(40.0, 6.0), bell(10.0, 8.0))
    assert answer.mean_khz == pytest.approx(30.0, abs=0.1)
    assert answer.spread_khz == pytest.approx(10.0, rel=0.02)
    low, high = answer.interval_khz()
    assert (high - low) / 2 == pytest.approx(19.6, rel=0.02)  # 1.96 spreads of a normal


def test_a_mixture_has_its_parts_mean():
    answer = mixed([(0.75, bell(0.0, 2.0)), (0.25, bell(40.0, 2.0))])
    assert answer.mean_khz == pytest.approx(10.0, abs=0.1)


def test_an_interval_holds_its_share_of_even_chances():
    even = Distance(np.arange(-50.0, 51.0), np.full(101, 1 / 101))
    low, high = even.interval_khz(0.5)
    assert high - low == pytest.approx(50.5)


def test_what_is_likelier_than_a_distance_is_what_lies_nearer_to_the_likeliest():
    # Of a normal 95.45 % lie within two spreads of its mean: any table of the normal integral.
    assert bell(10.0, 5.0).likelier_than(0.0) == pytest.approx(0.9545, abs=0.01)
    assert bell(10.0, 5.0).likelier_than(10.0) < 0.05
    either_way = mixed([(0.5, bell(-30.0, 5.0)), (0.5, bell(30.0, 5.0))])
    low, high = either_way.interval_khz()
    assert low < 0 < high  # inside the interval, and yet nothing is as unlikely
    assert either_way.likelier_than(0.0) > 0.999


def test_a_cliff_that_a_station_bends_tells_less():
    """The upper cliff is bent by a station at 98.4: of the lower one alone the shift is told."""

    def readings(moved_khz, bent_db):
        edges_khz = [(100.0 * n, abs(100.0 * n - moved_khz)) for n in range(-5, 4)]
        heard = [
            Reading(AROUND_MHZ + n / 1e3, float(np.clip(220.0 - away, 0, 45)))
            for n, away in edges_khz
        ]
        return [
            Reading(r.dial_mhz, r.quieting_db - bent_db) if r.dial_mhz > 98.15 else r for r in heard
        ]

    def told(others_mhz):
        first = beside_others(readings(-5.0, 0.0), others_mhz)
        second = beside_others(readings(5.0, 18.0), others_mhz)
        both = [drawn(one, AROUND_MHZ, 10.0, EVEN) for one in (first, second)]
        return distance(*both, same_radio=True)

    warned, unwarned = told([98.4, 98.5]), told([])
    low, high = warned.interval_khz()
    assert low <= 10.0 <= high
    low, high = unwarned.interval_khz()
    assert not low <= 10.0 <= high  # the bent stop is believed, and the answer is wrong


def test_only_what_is_bent_beside_another_carrier_is_trusted_less():
    heard = [Reading(98.0, 45.0), Reading(98.1, 43.0), Reading(98.2, 20.0), Reading(98.3, -0.1)]
    rough_db = [one.rough_db for one in beside_others(heard, [98.4])]
    assert rough_db == [0.0, 0.0, 12.0, 0.3]
    assert beside_others(heard, [98.6]) == heard
    assert beside_others(heard, []) == heard


def test_a_cautious_distance_has_the_same_mean_and_the_variance_of_both_together():
    one = bell(12.0, 4.0)
    wide = cautious(one)
    assert wide.weight.sum() == pytest.approx(1.0, abs=1e-6)
    assert wide.mean_khz == pytest.approx(one.mean_khz, abs=0.01)
    # Variances of independent sums add, and a mixture's about one mean is the mean of its parts'.
    variance = one.spread_khz**2 + ELSEWHERE * ELSEWHERE_KHZ**2
    assert wide.spread_khz**2 == pytest.approx(variance, rel=0.01)
