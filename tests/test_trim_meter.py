"""The fast meter and the steady one, against noise of known density."""

import numpy as np
import pytest

from listen.trim.meter import TICK_S, WINDOW_S, Meter, Steady

RATES_HZ = (16_000, 44_100, 48_000, 96_000)


def noise(power, duration_s, rate_hz=48_000, seed=1):
    rng = np.random.default_rng(seed)
    count = round(duration_s * rate_hz)
    return rng.normal(0, np.sqrt(power), (count, 1)).astype(np.float32)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_white_noise_reads_its_density(rate_hz):
    """Mean square p spreads evenly to half the rate: p / (rate / 2) per hertz (textbook)."""
    power = 1e-3
    found = Meter(rate_hz).feed(noise(power, 4.0, rate_hz))
    expected_db = 10 * np.log10(power / (rate_hz / 2))
    hiss_db = np.array([fast.hiss_db for fast in found])
    # Single readings scatter by 0.45 dB (0.6 in the narrower band of 16 kHz); their mean lies
    # 0.15 dB low, being one of decibels, and scatters by 0.06.
    assert hiss_db.mean() == pytest.approx(expected_db, abs=0.35)
    assert len(found) == pytest.approx((4.0 - WINDOW_S) / TICK_S, abs=2)


def test_lines_of_a_programme_do_not_count():
    t_s = np.arange(2 * 48_000) / 48_000
    hiss = noise(1e-6, 2.0)
    tones = sum(0.1 * np.sin(2 * np.pi * hz * t_s) for hz in (440, 880, 9_500, 10_000, 12_340))
    plain = np.mean([f.hiss_db for f in Meter(48_000).feed(hiss)])
    mixed = [f.hiss_db for f in Meter(48_000).feed(hiss + tones[:, None].astype(np.float32))]
    # Three tones 40 dB over the whole noise lie within the band itself; their windows' feet
    # raise the floor by under 3 dB.
    assert np.mean(mixed) == pytest.approx(plain, abs=3.0)


@pytest.mark.parametrize("steps_db", [-30, 30])
def test_half_of_a_step_is_shown_within_the_window(steps_db):
    before, after = noise(1e-4, 1.0), noise(1e-4 * 10 ** (steps_db / 10), 1.0, seed=2)
    found = Meter(48_000).feed(np.concatenate([before, after]))
    half_db = 10 * np.log10(1e-4 / 24_000) + steps_db / 2
    crossed = [f.t_s for f in found if (f.hiss_db - half_db) * steps_db > 0]
    assert 1.0 < crossed[0] <= 1.0 + WINDOW_S
    assert len(crossed) >= 0.9 / TICK_S


def test_blocks_of_any_size_give_the_same_readings():
    samples = noise(1e-3, 1.0)
    whole = Meter(48_000).feed(samples)
    meter = Meter(48_000)
    parts = [f for first in range(0, 48_000, 337) for f in meter.feed(samples[first : first + 337])]
    assert [f.t_s for f in parts] == [f.t_s for f in whole]
    assert [f.hiss_db for f in parts] == pytest.approx([f.hiss_db for f in whole], abs=1e-4)


def test_silence_and_clipping_are_told():
    (first, *_) = Meter(48_000).feed(np.zeros((4_800, 2), np.float32))
    assert first.silent
    assert np.isnan(first.hiss_db)
    (first, *_) = Meter(48_000).feed(np.clip(noise(1.0, 0.1), -1, 1))
    assert first.clips


def test_the_steady_floor_is_the_calm_one():
    """Half a second of every second is loud: the calm half is read."""
    steady = Steady()
    quiet, loud = noise(1e-8, 0.35), noise(1e-3, 0.35)
    meter = Meter(48_000)
    for piece in (quiet, loud) * 4:
        for fast in meter.feed(piece):
            steady.saw(fast)
    calm_db = 10 * np.log10(1e-8 / 24_000)
    # The calm third of 0.7 s; scatter of a reading 0.45 dB, and the lower part is taken.
    assert steady.hiss_db(meter.now_s) == pytest.approx(calm_db, abs=1.5)
    steady.forget()
    assert steady.hiss_db(meter.now_s) is None


@pytest.mark.parametrize("hole_s", [0.003, 0.02, 0.3])
def test_what_a_sound_system_filled_in_is_no_reading(hole_s):
    """A hole would read as 10 to 100 dB quieter or as a click; around it nothing changes."""
    whole = noise(1e-4, 2.0)
    holed = whole.copy()
    first, last = 48_000, 48_000 + round(hole_s * 48_000)
    holed[first:last] = 0.0
    meter = Meter(48_000)
    found = meter.feed(holed)
    plain_db = 10 * np.log10(1e-4 / 24_000)
    read = [fast for fast in found if not fast.silent]
    assert [fast.hiss_db for fast in read] == pytest.approx([plain_db] * len(read), abs=3.0)
    silent = [fast for fast in found if fast.silent]
    assert bool(silent) == (hole_s > WINDOW_S + TICK_S)
    gone = (hole_s + WINDOW_S) / TICK_S - len(silent)
    assert len(Meter(48_000).feed(whole)) - len(found) == pytest.approx(gone, abs=1.5)


def test_no_window_goes_over_a_gap_that_was_told_of():
    loud, quiet = noise(1e-2, 1.0), noise(1e-8, 1.0, seed=2)
    meter = Meter(48_000)
    before = meter.feed(loud)
    meter.gap()
    after = meter.feed(quiet)
    assert after[0].t_s >= 1.0 + WINDOW_S
    for found, power in ((before, 1e-2), (after, 1e-8)):
        expected_db = 10 * np.log10(power / 24_000)
        # A reading scatters by 0.45 dB.
        assert [f.hiss_db for f in found] == pytest.approx([expected_db] * len(found), abs=2.5)


def test_a_faint_sound_of_few_steps_is_no_hole():
    faint = np.round(noise(1e-9, 1.0) * 32_768) / np.float32(32_768)  # -87 dBFS in 16 bits
    assert len(Meter(48_000).feed(faint.astype(np.float32))) > 30
