"""Hum of the mains and buzz of a picture, told apart on signals made by arithmetic.

Field rates: 525 lines interlaced, 4.5 MHz / 286 / 262.5 = 59.940 Hz (47 CFR 73.682(a)(6));
625 lines interlaced, 15 625 / 312.5 = 50 Hz (ITU-R BT.470); undivided fields of 262, 263, 312
and 313 lines: 60.054, 59.826, 50.080, 49.920 Hz (common practice).
"""

import numpy as np
import pytest

from listen.analysis.hum import FIELD_RATES, NO_COMB, measure_comb

RATE_HZ = 48_000
FIELDS_HZ = (50.080, 59.940, 60.054, 49.920, 50.0)


def times_s(duration_s):
    return np.arange(round(duration_s * RATE_HZ)) / RATE_HZ


def with_noise(row, level=1e-3, seed=1):
    quiet = np.random.default_rng(seed).normal(0, level, row.size)
    return (row + quiet).astype(np.float32)


def buzz(field_hz, duration_s, level=0.1, width_s=4e-4):
    """A narrow pulse a field, as a picture's vertical blanking leaves in the sound."""
    cycles = (times_s(duration_s) * field_hz) % 1.0
    pulse = level * (cycles < width_s * field_hz)
    return with_noise(pulse - pulse.mean())


def hum(mains_hz, duration_s, levels=(0.1, 0.05, 0.03)):
    """The first few harmonics of the mains."""
    t_s = times_s(duration_s)
    return with_noise(
        sum(a * np.sin(2 * np.pi * n * mains_hz * t_s) for n, a in enumerate(levels, 1))
    )


def sawtooth(pitch_hz, duration_s):
    """All harmonics of a pitch up to 10 kHz, falling as 1/n."""
    t_s = times_s(duration_s)
    partials = range(1, int(10_000 / pitch_hz))
    return with_noise(sum(0.1 / n * np.sin(2 * np.pi * n * pitch_hz * t_s) for n in partials))


def test_the_field_rates_are_those_of_the_rules():
    rounded = {name: round(hz, 3) for name, hz in FIELD_RATES.items()}
    assert rounded == {
        "525 lines, interlaced": 59.940,
        "262 lines": 60.054,
        "263 lines": 59.826,
        "625 lines, interlaced": 50.0,
        "312 lines": 50.080,
        "313 lines": 49.920,
    }


@pytest.mark.parametrize("duration_s", [0.5, 1.0, 2.0, 10.0])
@pytest.mark.parametrize("field_hz", FIELDS_HZ)
def test_a_pulse_a_field_is_rich(field_hz, duration_s):
    found = measure_comb(buzz(field_hz, duration_s), RATE_HZ)
    assert found.rich
    assert found.nominal_hz == round(field_hz, -1)
    assert found.share > 0.85  # nearly all there is


@pytest.mark.parametrize("field_hz", FIELDS_HZ)
def test_ten_seconds_tell_the_field_rate(field_hz):
    found = measure_comb(buzz(field_hz, 10.0), RATE_HZ)
    # Candidates stand 0.01 Hz apart, so half of that may be left.
    assert found.rate_hz == pytest.approx(field_hz, abs=0.0051)
    (name,) = found.field_rates
    assert FIELD_RATES[name] == pytest.approx(field_hz, abs=0.0006)


def test_twenty_seconds_separate_the_picture_of_525_lines_from_the_mains():
    # Two lines 0.06 Hz apart are resolved in 1/0.06 s = 16.7 s (common arithmetic), and at the
    # 20th harmonic, 1.2 Hz apart, in a twentieth of that.
    assert measure_comb(buzz(59.94, 20.0), RATE_HZ).field_rates == ("525 lines, interlaced",)
    at_mains = measure_comb(buzz(60.0, 20.0), RATE_HZ)
    assert at_mains.field_rates == ()
    assert at_mains.rate_hz == pytest.approx(60.0, abs=0.0051)


def test_a_longer_clip_is_surer_of_the_rate():
    sharp = [measure_comb(buzz(50.08, d), RATE_HZ).sharp_hz for d in (1.0, 2.0, 4.0, 20.0)]
    # Half of 1/duration at the 40th harmonic.
    assert sharp == pytest.approx([0.0125, 0.00625, 0.003125, 0.000625], rel=0.06)


def test_a_rate_that_no_mains_runs_at_is_no_mains():
    assert not measure_comb(buzz(50.08, 10.0), RATE_HZ).may_be_mains(
        (50.0, 60.0)
    )  # grids keep to 0.05 Hz
    assert not measure_comb(buzz(49.92, 10.0), RATE_HZ).may_be_mains((50.0, 60.0))
    assert measure_comb(buzz(50.0, 10.0), RATE_HZ).may_be_mains((50.0, 60.0))


@pytest.mark.parametrize("duration_s", [1.0, 2.0, 5.0, 10.0])
@pytest.mark.parametrize("mains_hz", [49.97, 50.0, 59.98, 60.0])
def test_a_few_harmonics_of_the_mains_are_not_rich(mains_hz, duration_s):
    assert not measure_comb(hum(mains_hz, duration_s), RATE_HZ).rich


def test_the_level_of_hum_is_that_of_its_harmonics_together():
    found = measure_comb(hum(50.0, 10.0), RATE_HZ)
    # dB re a full-scale sine: amplitudes squared add up.
    wanted_db = 10 * np.log10(0.1**2 + 0.05**2 + 0.03**2)
    assert found.nominal_hz == 50
    # Three bins of a Hann lobe hold 99.9 % about its centre and 95 % half a bin off it.
    assert found.hum_dbfs == pytest.approx(wanted_db, abs=0.25)


@pytest.mark.parametrize("duration_s", [1.0, 2.0, 10.0])
@pytest.mark.parametrize("pitch_hz", [150.0, 200.0, 250.0, 300.0, 400.0, 440.0, 500.0])
def test_pitches_at_multiples_of_a_rate_are_not_rich(pitch_hz, duration_s):
    assert not measure_comb(sawtooth(pitch_hz, duration_s), RATE_HZ).rich


@pytest.mark.parametrize("pitch_hz", [49.0, 51.913, 58.27, 61.735])
def test_low_notes_beside_the_rates_are_not_rich(pitch_hz):
    # G1, G sharp 1, A sharp 1 and B1 of equal temperament at A4 = 440 Hz.
    assert not measure_comb(sawtooth(pitch_hz, 2.0), RATE_HZ).rich


def test_speech_like_sound_is_not_rich():
    # A gliding pulse train, 110 to 140 Hz, with pauses: no comb holds still under it.
    t_s = times_s(4.0)
    pitch_hz = 125 + 15 * np.sin(2 * np.pi * 0.7 * t_s)
    cycles = np.cumsum(pitch_hz) / RATE_HZ
    voice = 0.3 * ((cycles % 1.0) < 0.05) * (np.sin(2 * np.pi * 1.3 * t_s) > -0.3)
    assert not measure_comb(with_noise(voice - voice.mean()), RATE_HZ).rich


@pytest.mark.parametrize("seed", range(12))
def test_noise_is_not_rich(seed):
    row = np.random.default_rng(seed).normal(0, 0.1, 96_000).astype(np.float32)
    found = measure_comb(row, RATE_HZ)
    assert not found.rich
    assert found.share < 0.05  # the forty lobes' own part of the band: 40 · 1.5 Hz of 2560


def test_where_nothing_stands_out_there_is_no_rate():
    assert (NO_COMB.nominal_hz, NO_COMB.rich) == (0, False)


def test_too_short_a_clip_has_no_comb():
    assert measure_comb(buzz(50.0, 0.24), RATE_HZ) == NO_COMB


def test_buzz_under_a_louder_tone_is_still_heard():
    t_s = times_s(4.0)
    row = buzz(50.08, 4.0) + (0.3 * np.sin(2 * np.pi * 1000 * t_s)).astype(np.float32)
    assert measure_comb(row, RATE_HZ).rich


@pytest.mark.parametrize("rate_hz", [8000, 96_000])
def test_the_recordings_rate_does_not_matter(rate_hz):
    t_s = np.arange(10 * rate_hz) / rate_hz
    row = sum(0.01 * np.cos(2 * np.pi * n * 59.94 * t_s) for n in range(1, 41))
    found = measure_comb(row.astype(np.float32), rate_hz)
    assert found.rich
    # The peak of equal candidates, 0.01 Hz apart, is flat for one of them either way.
    assert found.rate_hz == pytest.approx(59.94, abs=0.0101)


@pytest.mark.parametrize("duration_s", [0.5, 1.0, 2.0, 4.0, 10.0, 20.0])
@pytest.mark.parametrize("field_hz", FIELDS_HZ)
def test_strong_buzz_tells_its_rate_within_its_stated_sharpness(field_hz, duration_s):
    found = measure_comb(buzz(field_hz, duration_s), RATE_HZ)
    assert abs(found.rate_hz - field_hz) < found.sharp_hz + 0.001


@pytest.mark.parametrize("duration_s", [1.0, 2.0, 5.0, 10.0])
@pytest.mark.parametrize("mains_hz", [49.97, 50.0, 59.98, 60.0])
def test_strong_hum_is_told_as_mains(mains_hz, duration_s):
    found = measure_comb(hum(mains_hz, duration_s), RATE_HZ)
    assert found.nominal_hz == round(mains_hz, -1)
    assert found.may_be_mains((50.0, 60.0))
    assert abs(found.rate_hz - mains_hz) < 0.01


@pytest.mark.parametrize("pitch_hz", [100.0, 120.0])
def test_ripple_at_twice_the_mains_is_not_a_picture(pitch_hz):
    assert not measure_comb(sawtooth(pitch_hz, 2.0), RATE_HZ).rich


def test_noise_hums_at_most_once_in_fifty():
    rows = np.random.default_rng(7).normal(0, 0.1, (50, 96_000)).astype(np.float32)
    assert sum(measure_comb(row, RATE_HZ) != NO_COMB for row in rows) <= 1
