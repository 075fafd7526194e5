"""The hiss floor against noise of known density, by arithmetic and by a general library."""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.signal import butter, sosfilt, sosfreqz, welch

from listen.analysis.hiss import BANDS_HZ, measure_hiss
from listen.analysis.spectrum import cells

RATE_HZ = 48_000
LEVEL = 0.05
TRUE_DB = 10 * np.log10(LEVEL**2 / (RATE_HZ / 2))  # white noise: mean square over rate/2


def noise(seed, duration_s=2.0, rate_hz=RATE_HZ):
    count = round(duration_s * rate_hz)
    return np.random.default_rng(seed).normal(0, LEVEL, count).astype(np.float32)


def hiss(row, rate_hz=RATE_HZ):
    return measure_hiss(cells(np.asarray(row, np.float32), rate_hz))


def test_the_floor_of_white_noise_is_its_density_less_what_calm_moments_take():
    # A periodogram's cells are exponential.  The q-quantile of n of them scatters by
    # sqrt(q / ((1 - q) n)) / -ln(1 - q) of itself (order statistics); a Hann window leaves
    # n / 1.5 independent cells at least.  The calm floor is the 20 % quantile over frames,
    # 0.84 of that scatter below the mean; the burst floor, 85 %, lies 1.04 above.
    q, n = 0.3, (14_500 - 9_000) / (RATE_HZ / 2160)
    scatters = [np.sqrt(q / ((1 - q) * cells)) / -np.log1p(-q) for cells in (n, n / 1.5)]
    found = [hiss(noise(seed)) for seed in range(12)]
    calm_db = np.mean([h.calm_db[0] for h in found]) - TRUE_DB
    burst_db = np.mean([h.burst_db[0] for h in found]) - TRUE_DB
    least, most = (10 * np.log10(1 - 0.842 * s) for s in reversed(scatters))
    # Spread of one clip, measured: 0.09 dB; of a mean of twelve 0.026; three of those.
    assert least - 0.08 < calm_db < most + 0.08
    least, most = (10 * np.log10(1 + 1.036 * s) for s in scatters)
    assert least - 0.08 < burst_db < most + 0.08


def test_bands_of_different_noise_are_told_apart_as_a_general_library_does():
    # scipy.signal.welch as the reference: other code, a mean instead of quantiles.  The noise is
    # flat within each band, so that quantile and mean shift alike.
    low_pass = butter(12, 8200, fs=RATE_HZ, output="sos")
    apart = []
    for seed in range(8):
        white = noise(seed)
        row = white + 3 * sosfilt(low_pass, noise(100 + seed))
        (hz, before), (_, after) = (welch(x, RATE_HZ, "hann", 2048) for x in (white, row))
        for band, (low_hz, high_hz) in enumerate(BANDS_HZ):
            inside = (hz >= low_hz) & (hz < high_hz)
            wanted_db = 10 * np.log10(after[inside].mean() / before[inside].mean())
            apart.append(hiss(row).calm_db[band] - hiss(white).calm_db[band] - wanted_db)
    # One clip's floor spreads by 0.15 dB (measured), two of eight differ by 0.075; three times.
    assert np.reshape(apart, (8, 3)).mean(axis=0) == pytest.approx([0, 0, 0], abs=0.23)


@pytest.mark.parametrize("gain_db", [-40.0, -20.0, 6.0])
def test_the_volume_shifts_every_floor_alike(gain_db):
    row = noise(3)
    before, after = hiss(row), hiss(row * np.float32(10 ** (gain_db / 20)))
    for one, other in ((before.calm_db, after.calm_db), (before.burst_db, after.burst_db)):
        assert np.subtract(other, one) == pytest.approx(gain_db, abs=1e-4)  # single precision
    assert after.tilt_db(0) == pytest.approx(before.tilt_db(0), abs=1e-4)


@pytest.mark.parametrize("tones_hz", [(1000.0,), (440.0, 3000.0, 10_000.0, 12_345.6)])
def test_tones_do_not_raise_the_floor(tones_hz):
    row, t_s = noise(4), np.arange(2 * RATE_HZ) / RATE_HZ
    loud = row + sum(0.1 * np.sin(2 * np.pi * hz * t_s) for hz in tones_hz)
    # Each tone takes a main lobe of 4 cells of some 235; a Hann window's side lobes fall 18 dB
    # an octave (Harris, Proc. IEEE 66(1), 1978, table I).  Tones 37 dB over the floor's cell.
    before, after = hiss(row), hiss(loud)
    assert after.calm_db[0] - before.calm_db[0] == pytest.approx(0.0, abs=0.25)


def test_a_programme_with_pauses_leaves_the_calm_floor():
    row = noise(5, 4.0)
    loud = np.random.default_rng(6).normal(0, 1, row.size) * (np.arange(row.size) % 48_000 < 24_000)
    before, after = hiss(row), hiss(row + loud)
    # Half of the frames hold the noise alone: its lowest fifth is then the lowest two fifths
    # of those, 0.25 of the scatter below the mean instead of 0.84: 0.35 dB higher.
    assert after.calm_db[0] - before.calm_db[0] == pytest.approx(0.35, abs=0.2)
    assert after.burst_db[0] - before.burst_db[0] > 20


@pytest.mark.parametrize(
    "rate_hz, reached",
    [(8000, (False, False, True)), (16_000, (False, True, True)), (32_000, (True, True, True))],
)
def test_a_band_that_the_rate_does_not_reach_is_nan(rate_hz, reached):
    found = hiss(noise(7, rate_hz=rate_hz), rate_hz)
    assert tuple(np.isfinite(found.calm_db)) == reached
    assert tuple(np.isfinite(found.burst_db)) == reached


def test_roar_after_deemphasis_leans_low_as_the_filter_does():
    # Without a carrier the noise is white before de-emphasis of 50 µs (corner 3183.1 Hz).
    # Cells of density D(f) are exponential, so their q-quantile x solves
    # mean over f of 1 - exp(-x / D(f)) = q: textbook, with D from a general library.
    deemphasis = butter(1, 3183.1, fs=RATE_HZ, output="sos")

    def floor(low_hz, high_hz):
        _, gain = sosfreqz(deemphasis, np.linspace(low_hz, high_hz, 300), fs=RATE_HZ)
        density = np.abs(gain) ** 2
        x = brentq(lambda x: np.mean(1 - np.exp(-x / density)) - 0.3, 0, density.max())
        return x / -np.log(0.7)

    wanted_db = 10 * np.log10(floor(2000, 3500) / floor(9000, 14_500))
    tilts = [hiss(sosfilt(deemphasis, noise(seed))).tilt_db(0) for seed in range(8)]
    # The narrow band's quantile of frames lies 0.45 dB lower (0.84 of 0.2 against 0.84 of 0.12);
    # a clip's tilt spreads by 0.18 dB (measured), the mean of eight by 0.06.
    assert np.mean(tilts) == pytest.approx(wanted_db - 0.45, abs=0.2)
