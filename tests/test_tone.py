"""The sine fit and SINAD against theory and against a general-purpose converter-test library.

Bounds: D. C. Rife and R. R. Boorstyn, "Single-tone parameter estimation from discrete-time
observations", IEEE Trans. Inform. Theory 20(5), 1974, for a real tone:
var(w) >= 12 / (eta T² N (N² - 1)), var(A)/A² >= 1 / (eta N), var(phase at the first sample)
>= 2 (2N - 1) / (eta N (N + 1)), eta = A²/(2 sigma²).
Library: adctoolbox 0.9.1 (general-purpose; sine fit of IEEE 1057 and spectrum analysis).
"""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listen.analysis.tone import fit_sine, strongest_tone

RATE_HZ = 48_000


def tone_in_noise(rng, tone_hz, snr_db, seconds=1.0, phase_rad=0.0, offset=0.0):
    t_s = np.arange(int(seconds * RATE_HZ)) / RATE_HZ
    noise = rng.normal(0, np.sqrt(0.5 / 10 ** (snr_db / 10)), t_s.size)
    return np.cos(2 * np.pi * tone_hz * t_s + phase_rad) + noise + offset


@pytest.mark.parametrize("snr_db", [0, 10, 30])
def test_the_fit_reaches_the_cramer_rao_bound(snr_db):
    rng = np.random.default_rng(1974 + snr_db)
    trials, samples = 300, RATE_HZ
    errors = []
    for _ in range(trials):
        tone_hz, phase_rad = rng.uniform(300, 9_000), rng.uniform(-3, 3)
        found = strongest_tone(tone_in_noise(rng, tone_hz, snr_db, 1.0, phase_rad, 0.1), RATE_HZ)
        errors.append((found.tone_hz - tone_hz, found.amplitude - 1, found.phase_rad - phase_rad))
    errors = np.array(errors)
    errors[:, 2] = (errors[:, 2] + np.pi) % (2 * np.pi) - np.pi
    eta = 10 ** (snr_db / 10)
    bound = np.sqrt(
        [
            12 / (eta * samples * (samples**2 - 1)) * (RATE_HZ / 2 / np.pi) ** 2,
            1 / (eta * samples),
            2 * (2 * samples - 1) / (eta * samples * (samples + 1)),
        ]
    )
    # A deviation estimated from 300 trials is itself known to 4 %: four of those either way.
    assert np.sqrt((errors**2).mean(axis=0)) == pytest.approx(bound, rel=0.16, abs=0)


def test_the_bound_itself_is_the_printed_one():
    # Worked example: 48 kHz, 1 s, 0 dB: 0.002516 Hz and 0.456 % (handbook arithmetic).
    samples = 48_000
    assert np.sqrt(12 / (samples * (samples**2 - 1))) * RATE_HZ / 2 / np.pi == pytest.approx(
        0.002516, abs=5e-7
    )
    assert 100 * np.sqrt(1 / samples) == pytest.approx(0.456, abs=5e-4)


@given(
    tone_hz=st.floats(200, 14_000),
    snr_db=st.floats(0, 60),
    offset=st.floats(-0.5, 0.5),
    seed=st.integers(0, 2**32 - 1),
)
@settings(deadline=None, max_examples=40)
def test_the_fit_agrees_with_an_independent_library(tone_hz, snr_db, offset, seed):
    import adctoolbox

    row = tone_in_noise(np.random.default_rng(seed), tone_hz, snr_db, 0.2, 1.0, offset)
    ours = fit_sine(row, RATE_HZ, tone_hz + 0.7)
    theirs = adctoolbox.fit_sine_4param(row, tone_hz / RATE_HZ, max_iterations=20)
    # Two least-squares fits of one model to one record, equal to where either stops.
    assert ours.tone_hz == pytest.approx(theirs["frequency"] * RATE_HZ, abs=2e-5)
    assert ours.amplitude == pytest.approx(theirs["amplitude"], rel=1e-6)
    assert ours.offset == pytest.approx(theirs["dc_offset"], abs=1e-6)
    assert np.sqrt(ours.rest) == pytest.approx(theirs["rmse"], rel=1e-6)


def test_sinad_agrees_with_an_independent_spectrum_analysis():
    import adctoolbox

    t_s = np.arange(RATE_HZ) / RATE_HZ
    rng = np.random.default_rng(2)
    row = (
        np.cos(2 * np.pi * 997 * t_s)
        + 10 ** (-40 / 20) * np.cos(2 * np.pi * 1994 * t_s)
        + rng.normal(0, 0.001, t_s.size)
    )
    # By arithmetic: rest = -40 dBc distortion and 1e-6 noise against 0.5; their chance
    # correlation over a second moves it by 0.006 dB: four of those.
    rest = 0.5e-4 + 1e-6
    found = strongest_tone(row, RATE_HZ)
    assert found.signal_to_rest_db == pytest.approx(10 * np.log10(0.5 / rest), abs=0.025)
    theirs = adctoolbox.analyze_spectrum(row, fs=RATE_HZ, create_plot=False)
    # Its window leaks 0.2 dB of what it calls noise (seen on records of known content).
    assert found.signal_to_rest_db == pytest.approx(theirs["sndr_dbc"], abs=0.25)


def test_the_two_conventions_differ_as_printed():
    # (S+N+D)/(N+D) against S/(N+D): 12.27 and 12.00 dB; 3.01 and 0 dB (arithmetic).
    rng = np.random.default_rng(3)
    for rest_db, total_db in ((12.0, 12.27), (0.0, 3.01)):
        found = strongest_tone(tone_in_noise(rng, 1_000, rest_db), RATE_HZ)
        # Noise power over 48 000 samples scatters by 0.03 dB: four of those.
        assert found.signal_to_rest_db == pytest.approx(rest_db, abs=0.12)
        assert found.sinad_db == pytest.approx(total_db, abs=0.12)


def test_noise_has_no_tone():
    rng = np.random.default_rng(4)
    assert [strongest_tone(rng.normal(0, 0.1, RATE_HZ), RATE_HZ) for _ in range(100)] == [
        None
    ] * 100


@pytest.mark.parametrize("row", [np.zeros(RATE_HZ), np.ones(300), np.full(RATE_HZ, 0.3)])
def test_silence_and_scraps_have_no_tone(row):
    assert strongest_tone(row, RATE_HZ) is None
