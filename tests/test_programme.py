"""What kind of sound plays: known signals, made here by arithmetic, against each measure.

Line whistles: 15 625 Hz (625 lines, ITU-R BT.470) and 15 734.27 Hz (525 lines, 47 CFR
73.682(a)(6)); the stereo pilot is 19 kHz (47 CFR 73.322).
"""

import numpy as np
import pytest

from listen.analysis.programme import measure_programme
from listen.analysis.spectrum import cells

RATE_HZ = 48_000
T_S = np.arange(2 * RATE_HZ) / RATE_HZ


def tone(hz, level=0.3):
    return level * np.sin(2 * np.pi * hz * T_S)


def noise(level=1e-3, seed=1):
    return np.random.default_rng(seed).normal(0, level, T_S.size)


def programme(row, rate_hz=RATE_HZ, side_db=None):
    row = np.asarray(row, np.float32)
    return measure_programme(row, cells(row, rate_hz), rate_hz, side_db)


def test_a_steady_chord_is_all_lines_and_still():
    # A, C sharp and E of equal temperament at A4 = 440 Hz; hiss 40 dB lower.
    found = programme(tone(440, 0.1) + tone(554.37, 0.1) + tone(659.26, 0.1) + noise())
    assert found.lines > 0.99
    assert found.still > 0.99


def test_noise_has_hardly_a_line():
    # A cell of an exponential passes 8 times the median, 8 ln 2 = 5.5 means, once in 255; such
    # cells hold (1 + 5.5) / 255 = 2.6 % of the power.  Medians of 16 make it 3.1 %, spread 0.2.
    shares = [programme(noise(0.1, seed)).lines for seed in range(10)]
    assert np.mean(shares) == pytest.approx(0.030, abs=0.007)


def test_a_glide_is_a_line_that_does_not_stand_still():
    cycles = 300 * T_S + 400 * T_S**2
    found = programme(0.3 * np.sin(2 * np.pi * cycles) + noise())
    assert found.lines > 0.99
    assert found.still < 0.05


def test_a_tremolo_keeps_its_pitch_but_not_its_level():
    found = programme((1 + 0.5 * np.sin(2 * np.pi * 5 * T_S)) * tone(1000) + noise())
    # 1 dB within 85 ms: only near the two turning points of each fifth of a second.
    assert found.still < 0.4


def test_pauses_are_counted_out():
    found = programme(((T_S % 1) < 0.5) * tone(1000) + noise())
    assert found.active == pytest.approx(0.5, abs=0.06)  # a frame at each of four edges, of 88
    assert programme(tone(1000) + noise()).active == 0


@pytest.mark.parametrize("level", [0.01, 0.3, 0.9])
def test_the_peak_of_a_sine_is_its_level(level):
    # The loudest 1 % of a sine lies within cos(0.01 · 90°) = 0.9999 of its crest: 0.001 dB;
    # the spectrum's own noise of 1e-4 adds as much.
    found = programme(tone(997.3, level) + noise(1e-5))
    assert found.peak_dbfs == pytest.approx(20 * np.log10(level), abs=0.02)


def test_the_peak_of_noise_is_its_quantile():
    # |x| of a Gaussian passes 2.576 sigma once in a hundred (tables of the normal distribution).
    peaks = [programme(noise(0.1, seed)).peak_dbfs for seed in range(5)]
    # Spread of one clip, measured: 0.03 dB.
    assert np.mean(peaks) == pytest.approx(20 * np.log10(0.2576), abs=0.06)


@pytest.mark.parametrize("whistle_hz", [15_625.0, 15_734.27])
def test_a_line_whistle_is_heard_where_it_is(whistle_hz):
    found = programme(tone(whistle_hz, 1e-3) + noise())
    assert found.whistle_hz == pytest.approx(whistle_hz, abs=0.5)  # a second: bins of 1 Hz


def test_noise_has_no_whistle_and_no_pilot():
    for seed in range(10):
        found = programme(noise(0.1, seed))
        assert found.whistle_hz is None
        # The largest of nine exponential cells over the median passes 12 dB once in 6000.
        assert found.pilot_db < 12


def test_a_whistle_elsewhere_is_not_a_picture_s():
    assert programme(tone(15_900.0, 1e-3) + noise()).whistle_hz is None


def test_the_pilot_stands_out_by_as_much_as_it_does():
    quiet, loud = (programme(tone(19_000, level) + noise()).pilot_db for level in (1e-3, 1e-2))
    assert quiet > 20
    assert loud - quiet == pytest.approx(20, abs=0.5)  # noise under the quieter one: 0.1


def test_what_the_rate_does_not_reach_is_not_told():
    t_s = np.arange(32_000) / 16_000
    found = programme(0.3 * np.sin(2 * np.pi * 1000 * t_s), 16_000)
    assert (found.whistle_hz, found.pilot_db) == (None, None)
    assert programme(np.tile(noise(), 1)[:64_000], 32_000).pilot_db is None


def test_too_little_to_tell_is_nan():
    found = programme((tone(1000) + noise())[:240])
    assert np.isnan(found.lines)
    assert np.isnan(found.still)


def test_the_side_level_is_passed_on():
    assert programme(noise(), side_db=-31.5).side_db == -31.5
    assert programme(noise()).side_db is None


@pytest.mark.parametrize("gain_db", [-30.0, -6.0])
def test_the_volume_moves_the_peak_alone(gain_db):
    row = tone(440) * ((T_S % 0.7) < 0.4) + noise()
    before, after = programme(row), programme(row * 10 ** (gain_db / 20))
    assert after.peak_dbfs - before.peak_dbfs == pytest.approx(gain_db, abs=1e-3)
    for name in ("lines", "still", "active", "pilot_db"):
        # Single precision; a cell at a limit may fall to its other side: 1 in 10^4.
        assert getattr(after, name) == pytest.approx(getattr(before, name), abs=2e-3), name
