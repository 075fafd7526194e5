"""The family of curves: what theory says of its ends, and that a model radio's curve is in it."""

import numpy as np
import pytest

from listen.analysis.plateau import FEET, STEEPS, STEP_KHZ, family, noise_share
from listen.simulate.air import Console
from listen.simulate.bench import Bench
from listen.simulate.bound import draw_curve
from listen.simulate.receiver import Receiver


@pytest.mark.parametrize("steep", STEEPS)
@pytest.mark.parametrize("lift, leak", FEET)
def test_half_the_roar_is_left_at_the_half_width(steep, lift, leak):
    found = noise_share(np.array([1.0]), steep, lift, 0.0, 0.0)
    assert found[0] == pytest.approx(0.5)
    far = noise_share(np.array([0.0, 5000 / 160]), steep, lift, leak, 0.0)
    assert far == pytest.approx([0.0, 1.0], abs=1e-3)  # held whole, and the open band


def test_noise_outgrows_a_carrier_as_often_as_rayleigh_says():
    # Complex normal noise of power 1 against a carrier of power `ratio`: how often it is larger.
    rng = np.random.default_rng(8)
    power = 0.5 * (rng.standard_normal((2, 400_000)) ** 2).sum(axis=0)
    lift = 1e-6  # then half the roar is at a ratio of ln 2
    for offset_khz in (120.0, 150.0, 190.0):
        ratio = np.log(2) * (160 / offset_khz) ** 9.0
        share = noise_share(np.array([offset_khz / 160]), 9.0, lift, 0.0, 0.0)[0]
        # A share p of 400,000 spreads by at most √(0.25 / 400,000) = 0.0008; four of those.
        assert share == pytest.approx(np.mean(power > ratio), abs=0.0032)


def test_the_table_is_the_formula():
    curves = family(False)
    assert curves.noise.shape == curves.slope.shape
    assert (np.diff(curves.half_width_khz) >= 0).all()
    middle = curves.noise.shape[1] // 2
    rise_db = np.diff(10 * np.log10(curves.noise[:, middle] + 1e-9)) / STEP_KHZ
    # A slope is that of both sides of its place.
    assert curves.slope[1:-1, middle] == pytest.approx((rise_db[1:] + rise_db[:-1]) / 2, abs=0.01)
    assert family(True).noise.shape[1] < curves.noise.shape[1] / 5


@pytest.mark.parametrize("passband_khz, order, strength_db", [(240, 4, 37.0), (200, 6, 27.0)])
def test_a_model_radio_s_curve_is_in_the_family(passband_khz, order, strength_db):
    console = Console(100.0, strength_db, 5.5, deviation_khz=25.0, modulation=0.5)
    radio = Receiver(passband_khz=float(passband_khz), passband_order=order)
    drawn = draw_curve(Bench((), console, receiver=radio, seed=5), 100.0, 2, 0.5)
    offset_khz, middle_db = drawn.offset_khz, drawn.middle_db
    floor = 10 ** (-np.median(middle_db[np.abs(offset_khz) < 60]) / 10)
    curves = family(False)
    places = np.rint(np.abs(offset_khz) / STEP_KHZ).astype(int)
    apart_db = -10 * np.log10(curves.noise[places] + floor) - middle_db[:, None]
    best = np.sqrt(np.mean(apart_db**2, axis=0)).min()
    # The bench's readings scatter by 0.5 to 1.5 dB; cliffs fall by 30 to 45 dB over 60 to 100 kHz.
    assert best < 2.0
