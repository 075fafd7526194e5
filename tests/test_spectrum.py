"""The short-time spectrum against arithmetic, Parseval's theorem and a general library."""

import numpy as np
import pytest
from scipy.signal import welch

from listen.analysis.spectrum import cells, decibels, mono, settled

RATES_HZ = (8000, 16_000, 44_100, 48_000, 96_000, 192_000)


def noise(seed, count, level=0.1):
    return np.random.default_rng(seed).normal(0, level, count).astype(np.float32)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_white_noise_has_the_density_of_arithmetic(rate_hz):
    # White noise of mean square p spreads over 0 to rate/2: density p / (rate/2).
    row = noise(1, 2 * rate_hz)
    got = cells(row, rate_hz).density[:, 2:-2].mean(dtype=np.float64)
    # Spread over seeds, measured: 0.045 dB at 8 kHz, less at higher rates; five times that.
    assert decibels(got) == pytest.approx(decibels(0.01 / (rate_hz / 2)), abs=0.23)


def test_every_frame_holds_the_power_of_its_windowed_samples():
    # Parseval: the sum over the cells times their width is the frame's weighted mean square.
    row = noise(2, 48_000)
    found = cells(row, 48_000)
    size = 2 * (found.hz.size - 1)
    window = np.hanning(size + 1)[:-1]
    both_ends = np.ones(found.hz.size)
    both_ends[[0, -1]] = 0.5  # 0 Hz and rate/2 have no twin at a negative frequency
    for number in (0, 3, 17):
        part = row[number * size // 2 :][:size].astype(np.float64)
        wanted = ((part * window) ** 2).sum() / (window**2).sum()
        got = (found.density[number] * both_ends).sum(dtype=np.float64) * found.bin_hz
        assert got == pytest.approx(wanted, rel=1e-5)  # single precision: 2^-24 a cell


def test_it_agrees_with_a_general_library_on_noise_and_a_tone():
    # scipy.signal.welch, Hann, half overlap, no detrending: the same estimate by other code.
    rng = np.random.default_rng(3)
    row = np.cumsum(rng.normal(0, 0.01, 96_000)) * 0.01 + rng.normal(0, 0.05, 96_000)
    row += 0.2 * np.sin(2 * np.pi * 1234.5 * np.arange(96_000) / 48_000)
    row = row.astype(np.float32)
    found = cells(row, 48_000)
    size = 2 * (found.hz.size - 1)
    hz, density = welch(row, 48_000, "hann", size, size // 2, detrend=False)
    assert np.array_equal(found.hz, hz)
    mean = found.density.mean(axis=0, dtype=np.float64)
    # Both in single precision; cells of 1e-9 stand beside a tone of 1e-3.
    assert mean[1:-1] == pytest.approx(density[1:-1], rel=1e-3, abs=1e-11)


def test_a_full_scale_sine_is_half_a_mean_square():
    row = np.sin(2 * np.pi * 1000 * np.arange(96_000) / 48_000).astype(np.float32)
    found = cells(row, 48_000)
    held = found.between(800, 1200).mean(axis=0, dtype=np.float64).sum() * found.bin_hz
    assert held == pytest.approx(0.5, rel=1e-4)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_frames_last_as_long_at_every_rate(rate_hz):
    found = cells(noise(4, 2 * rate_hz), rate_hz)
    # Lengths are products of 2, 3 and 5, which lie 7 % apart at most here.
    assert 0.0427 / 2 <= found.hop_s < 1.07 * 0.0427 / 2
    assert found.hz[-1] == pytest.approx(rate_hz / 2)
    assert len(found.density) == pytest.approx(2 / found.hop_s - 1, abs=1)


def test_a_clip_shorter_than_a_frame_is_one_frame():
    row = noise(5, 240)
    found = cells(row, 48_000)
    assert len(found.density) == 1
    assert np.isfinite(found.density).all()
    assert found.density.max() > 0


def test_a_band_takes_the_cells_inside_it_alone():
    found = cells(noise(6, 48_000), 48_000)
    inside = (found.hz >= 2000) & (found.hz < 3000)
    assert np.array_equal(found.between(2000, 3000), found.density[:, inside])


def test_equal_channels_fold_to_themselves():
    one = noise(7, 4800)
    row, side_db = mono(np.stack([one, one], axis=1))
    assert row == pytest.approx(one - one.mean(dtype=np.float64), abs=1e-7)
    assert side_db is not None
    assert side_db < -140  # digital silence against the programme


def test_a_dead_channel_does_not_halve_the_live_one():
    live, dead = noise(8, 4800), noise(9, 4800, 1e-4)
    for columns in ([live, dead], [dead, live]):
        row, side_db = mono(np.stack(columns, axis=1))
        assert row == pytest.approx(live - live.mean(dtype=np.float64), abs=1e-7)
        assert side_db is None


def test_a_channel_within_20_db_is_live():
    live, low = noise(10, 48_000), noise(11, 48_000, 0.1 * 10 ** (-19 / 20))
    row, side_db = mono(np.stack([live, low], axis=1))
    assert row == pytest.approx((live + low) / 2 - np.mean((live + low) / 2), abs=1e-6)
    # Independent channels: sum and difference have one power. Spread over seeds: 0.009 dB.
    assert side_db == pytest.approx(0, abs=0.05)


def test_the_side_level_is_that_of_the_difference():
    middle, side = noise(12, 48_000), noise(13, 48_000, 0.01)
    _, side_db = mono(np.stack([middle + side, middle - side], axis=1))
    assert side_db == pytest.approx(-20, abs=0.1)  # by construction; noise levels differ by 0.03


def test_a_constant_is_taken_out():
    one = noise(14, 4800)
    (with_offset, _), (without, _) = mono(one[:, None] + 0.25), mono(one[:, None])
    assert with_offset == pytest.approx(without, abs=1e-7)


def test_a_mute_after_the_step_is_left_out():
    row = noise(15, 96_000)
    row[:14_400] *= 1e-3  # 0.3 s, 60 dB under the rest
    kept = settled(row, 48_000)
    # Blocks of 10 ms, and 50 ms more for the volume to come up.
    assert np.array_equal(kept, row[14_400 + 2400 :])


def test_a_mute_is_never_taken_for_more_than_its_longest():
    row = noise(16, 480_000)
    row[:144_000] *= 1e-3  # 3 s: no set mutes so long after a step, so it is no such mute
    assert settled(row, 48_000).size == 480_000 - 28_800  # 0.6 s


def test_a_quarter_is_always_kept():
    row = noise(17, 24_000)
    row[:21_000] *= 1e-3
    assert settled(row, 48_000).size >= 6000


@pytest.mark.parametrize("row", [noise(18, 48_000), np.zeros(48_000, np.float32), noise(19, 900)])
def test_what_begins_as_it_goes_on_is_kept_whole(row):
    assert settled(row, 48_000) is row
