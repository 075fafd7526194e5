"""What the model bench's tests measure with: plain textbook measures of their own.

An ideal radio has no limits but those of the mathematics; tests give it back, one by one,
what a real one suffers from.
"""

from dataclasses import replace

import numpy as np

from listen.simulate.air import Console
from listen.simulate.bench import Bench
from listen.simulate.linein import LineIn
from listen.simulate.receiver import Receiver

IDEAL = Receiver(
    passband_khz=240.0,
    stopband_db=140.0,
    discriminator_range_khz=None,
    am_rejection_db=140.0,
    late_noise_db=None,
    deemphasis_us=0.0,
    image_rejection_db=300.0,
    half_if_rejection_db=300.0,
)
BARE = LineIn(volume_db=-20.0, ac_hz=0.0, hum_dbfs=None, floor_dbfs=-140.0)
DIAL_MHZ = 98.0


def carrier(strength_db, **changes):
    """A bench with one mono carrier at DIAL_MHZ and an ideal radio; silent unless told."""
    receiver = replace(IDEAL, **changes.pop("receiver", {}))
    line_in = replace(BARE, **changes.pop("line_in", {}))
    seed, quality = changes.pop("seed", 1), changes.pop("quality", "trial")
    emitter = {"programme": "silence", "modulation": 1.0, "buzz_khz": 0.0, "picture_db": None}
    console = Console(DIAL_MHZ, strength_db, **(emitter | changes))
    return Bench((), console, (), receiver, line_in, seed, quality)


def heard(bench, dwell_s=2.0, dial_mhz=DIAL_MHZ, console="on", at_s=0.0):
    """Samples of the first channel, volume taken out: 1 is 75 kHz of deviation."""
    clip = bench.hear(dial_mhz, dwell_s, console, at_s)
    return clip.samples[:, 0].astype(np.float64) / 10 ** (bench.line_in.volume_db / 20)


def power(samples, low_hz, high_hz, rate_hz=48_000):
    """Mean power between two frequencies, by the periodogram."""
    n = samples.size
    window = np.hanning(n)
    lines = np.abs(np.fft.rfft(samples * window)) ** 2
    lines *= 2 / (n * (window**2).sum())
    hz = np.fft.rfftfreq(n, 1 / rate_hz)
    return float(lines[(hz >= low_hz) & (hz < high_hz)].sum())


def db(ratio):
    """Ten times the decimal logarithm."""
    return float(10 * np.log10(ratio))


def tone_and_rest(samples, tone_hz, rate_hz=48_000, low_hz=30.0, high_hz=15_000.0):
    """Power of a tone, and of all else between low_hz and high_hz."""
    n = np.arange(samples.size)
    angle = 2 * np.pi * tone_hz * n / rate_hz
    basis = np.stack([np.cos(angle), np.sin(angle), np.ones(n.size)], axis=1)
    fitted, *_ = np.linalg.lstsq(basis, samples, rcond=None)
    rest = samples - basis @ fitted
    return float((fitted[:2] ** 2).sum() / 2), power(rest, low_hz, high_hz, rate_hz)
