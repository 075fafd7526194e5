"""From the intermediate frequency to audio: passband, limiter, discriminator, mutes.

All of a stop is worked at once, at complex baseband around the tuned frequency.  Carriers
are put in as spectra, noise is drawn as a spectrum, the passband multiplies both, and one
inverse transform gives the IF signal.  The discriminator is the angle between successive
samples; everything behind it is a multiplication of the audio's spectrum, which is then
brought to the sound card's rate by cutting it.

Levels are relative to the noise in 200 kHz.  Audio is in units of 75 kHz deviation.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from listen.simulate.air import NOISE_BANDWIDTH_HZ, Window, spectrum
from listen.simulate.frontend import Arrival
from listen.simulate.receiver import (
    REFERENCE_DEVIATION_HZ,
    Receiver,
    attenuation_db,
    audio_response,
    passband,
)

IF_RATES_HZ = (360_000, 400_000, 450_000, 500_000, 540_000, 600_000, 640_000, 720_000, 800_000)
OVER_PASSBAND = 2.4  # the IF rate is at least so many passbands, or clicks would be missed
SKIRT_DB = 26.0  # and such that the skirts are so far down at half of it
LATE_HALF_HZ = 160_000  # how far noise added behind the filter reaches
FAR = (0.14, 0.4)  # of the IF rate: a carrier further off is looked at 2 and 4 times as often
FAR_HZ = 40_000  # so much of a carrier's width must fit on its far side
FAR_DB = -3.0  # what is fainter behind the passband does not matter so
PILOT_HZ = 19_000.0
EDGE = 24  # samples of the IF within which the passband rings
LEVEL_MEMORY_S = 0.12  # how slowly mutes follow the level

Spectrum = NDArray[np.complexfloating]


@dataclass(frozen=True, slots=True)
class Detected:
    """What left the discriminator.

    hz       frequency as the discriminator gives it, Hz, shape (n,)
    over_s   the time over which it averages the frequency, s
    level    power in the IF over the noise there, one number a hundredth of a second
    off_hz   how far off its centre the discriminator stood, likewise
    """

    hz: NDArray[np.floating]
    over_s: float
    level: NDArray[np.floating]
    off_hz: NDArray[np.floating]


def if_rate_hz(receiver: Receiver) -> int:
    """The lowest rate at which the IF signal may be sampled, Hz; see OVER_PASSBAND, SKIRT_DB."""
    for rate_hz in IF_RATES_HZ:
        skirt_db = attenuation_db(receiver, receiver.misalignment_khz + rate_hz / 2000)
        if skirt_db >= SKIRT_DB and rate_hz >= OVER_PASSBAND * 1000 * receiver.passband_khz:
            return rate_hz
    return IF_RATES_HZ[-1]


def add_shifted(into: Spectrum, what: Spectrum, bins: int, gain: float) -> None:
    """Add a spectrum, lowest frequency first, moved up by bins; what falls outside is lost."""
    first = into.size // 2 - what.size // 2 + bins
    low, high = max(first, 0), min(first + what.size, into.size)
    if high > low:
        into[low:high] += what.dtype.type(gain) * what[low - first : high - first]


def intermediate(
    receiver: Receiver,
    heard: tuple[Arrival, ...],
    window: Window,
    rate_hz: int,
    seed: int,
    rng: np.random.Generator,
    exact: bool = False,
) -> Spectrum:
    """Fourier coefficients of the IF signal behind the passband, lowest frequency first.

    The middle one is the passband's centre, so that left and right are treated alike.  Noise
    in 200 kHz in front of the passband has power 1.
    """
    count = window.count(rate_hz)
    real = np.float64 if exact else np.float32
    noise = rng.standard_normal(2 * count, dtype=real)
    per_bin = 1 / (window.length_s * NOISE_BANDWIDTH_HZ)
    noise *= real(np.sqrt(per_bin / 2))
    signal: Spectrum = noise.view(np.complex128 if exact else np.complex64)
    for arrival in heard:
        own = spectrum(arrival.parts, window, seed, exact)
        offset_hz = arrival.offset_hz - receiver.misalignment_khz * 1e3
        bins = round(offset_hz * window.length_s)
        add_shifted(signal, own, bins, 10 ** (arrival.strength_db / 20))
    signal *= _passband_lines(receiver, count, window.hundredths, exact)
    if receiver.late_noise_db is not None:
        reach = int(LATE_HALF_HZ * window.length_s)
        late = slice(max(count // 2 - reach, 0), min(count // 2 + reach, count))
        extra = rng.standard_normal(2 * (late.stop - late.start), dtype=real)
        extra *= real(np.sqrt(per_bin / 2) * 10 ** (receiver.late_noise_db / 20))
        signal[late] += extra.view(signal.dtype)
    return signal


@lru_cache(maxsize=2)
def _passband_lines(receiver: Receiver, count: int, hundredths: int, exact: bool) -> Spectrum:
    """The passband at every line of a spectrum; a bench asks for the same one at each stop."""
    offset_hz = (np.arange(count) - count // 2) * (100 / hundredths)
    offset_hz += receiver.misalignment_khz * 1e3
    return passband(receiver, offset_hz).astype(np.complex128 if exact else np.complex64)


def needed(receiver: Receiver, heard: tuple[Arrival, ...], rate_hz: int) -> tuple[int, int]:
    """How many times rate_hz a stop must be made at, and how many times looked at.

    A strong carrier on the far skirt needs more width.  One that stands far off has noise turn
    its phase by over half a cycle between two looks, which would be taken for the opposite
    turn; its cliff would stand some 10 kHz too far out.
    """
    made, looked = 1, 1
    for arrival in heard:
        off_hz = abs(arrival.offset_hz - receiver.misalignment_khz * 1e3)
        lost_db = attenuation_db(receiver, arrival.offset_hz / 1e3)
        if arrival.strength_db - lost_db > FAR_DB:
            made = max(made, 2 if off_hz + FAR_HZ > rate_hz / 2 else 1)
            looked = max(
                looked, 4 if off_hz > FAR[1] * rate_hz else 2 if off_hz > FAR[0] * rate_hz else 1
            )
    return made, looked


def discriminate(
    receiver: Receiver, lines: Spectrum, window: Window, rate_hz: int, over: int = 1
) -> Detected:
    """Limit and discriminate an IF signal given by its coefficients, lowest frequency first.

    rate_hz  samples a second of what it gives: the frequency averaged over 1 / rate_hz
    over     how many times in that the phase is looked at

    30 % AM leaks through the limiter as am_rejection_db says; off the discriminator's centre
    its standing voltage is modulated too, which is why the leak grows there.
    """
    hz, power = _turns(lines, window.count(rate_hz), rate_hz, over)
    hz -= hz.dtype.type(1e3 * receiver.discriminator_khz)
    shape = (window.hundredths, -1)
    level = power.reshape(shape).mean(1) / passband_noise(receiver)
    off_hz = hz.reshape(shape).mean(1)
    if receiver.discriminator_range_khz is not None:
        peak_hz = hz.dtype.type(receiver.discriminator_range_khz * 1e3)
        bent = hz / peak_hz
        bent *= bent
        bent *= bent
        bent *= hz.dtype.type(1 / 3)
        bent += 1
        hz /= bent  # turns over at the peak
    leak = 10 ** (-receiver.am_rejection_db / 20)
    amplitude = np.sqrt(power)
    amplitude *= hz.dtype.type(leak) / amplitude.mean()
    amplitude -= hz.dtype.type(leak)
    leaked = hz + hz.dtype.type(REFERENCE_DEVIATION_HZ)
    leaked *= amplitude
    hz += leaked
    return Detected(hz, 1 / rate_hz, level, off_hz)


def _turns(
    lines: Spectrum, count: int, rate_hz: int, over: int
) -> tuple[NDArray[np.floating], NDArray[np.floating]]:
    """Frequency, Hz, and power of the IF signal, each of shape (count,)."""
    if lines.size < count * over:
        missing = (count * over - lines.size) // 2
        lines = np.pad(lines, (missing, missing))
    signal = scipy.fft.ifft(lines, norm="forward")  # every second sample has its sign turned
    turned = np.empty_like(signal)
    np.conjugate(signal[:-1], out=turned[1:])
    np.conjugate(signal[-1:], out=turned[:1])
    turned *= signal
    np.negative(turned, out=turned)
    hz = np.arctan2(turned.imag, turned.real)
    hz *= hz.dtype.type(rate_hz * over / (2 * np.pi))
    edge = EDGE * over
    hz[:edge], hz[-edge:] = hz[edge], hz[-edge - 1]  # where the end meets the beginning
    power = signal.real * signal.real
    power += signal.imag * signal.imag
    if over > 1:
        hz = sum((hz[n::over] for n in range(1, over)), hz[::over]) / over
        power = power[::over]
    return hz, power


@lru_cache(maxsize=16)
def passband_noise(receiver: Receiver) -> float:
    """Power of the input noise behind the passband, in units of that in 200 kHz."""
    offset_hz = np.linspace(-800_000, 800_000, 3201)
    shape = np.abs(passband(receiver, offset_hz)) ** 2
    return float(shape.sum() * 500 / NOISE_BANDWIDTH_HZ)


def audio(
    receiver: Receiver, detected: Detected, window: Window, sample_rate_hz: int, ac_hz: float
) -> NDArray[np.floating]:
    """What comes out of the set, shape (n, 1) or (n, 2), in units of 75 kHz deviation.

    ac_hz  corner of the high-pass that the coupling capacitor makes, Hz; 0 for none
    """
    lines = scipy.fft.rfft(detected.hz, norm="forward")
    lines /= REFERENCE_DEVIATION_HZ
    count = window.count(sample_rate_hz)
    top = min(int(24_000 * window.length_s), int(0.49 * count), lines.size)
    hz = np.arange(top) / window.length_s
    response = audio_response(receiver, hz) / np.sinc(hz * detected.over_s)
    if sample_rate_hz < 44_100:
        response /= np.sqrt(1 + (hz / (0.44 * sample_rate_hz)) ** 40)
    if ac_hz:
        response *= (1j * hz) / (1j * hz + ac_hz)
    response *= _high_cut(receiver, detected, hz)
    response = response.astype(lines.dtype)
    middle = scipy.fft.irfft(lines[:top] * response, count, norm="forward")
    columns = [middle]
    if receiver.stereo != "mono":
        blend = _blend(receiver, detected, lines, window)
        side = difference(lines, detected, window)[:top] * response
        apart = blend * scipy.fft.irfft(side, count, norm="forward")
        columns = [middle + apart, middle - apart]
    out = np.stack(columns, axis=1)
    if receiver.hard_mute_db is not None or receiver.soft_mute_db is not None:
        out *= _spread(mute_gain(receiver, detected), count)[:, np.newaxis]
    return out


def difference(lines: Spectrum, detected: Detected, window: Window) -> Spectrum:
    """Coefficients of (left - right) / 2, brought down from 38 kHz by the pilot's phase."""
    count = detected.hz.size
    near = slice(round((PILOT_HZ - 40) * window.length_s), round((PILOT_HZ + 40) * window.length_s))
    pilot_lines = np.zeros(count, np.complex128)
    pilot_lines[near] = lines[near]
    pilot = scipy.fft.ifft(pilot_lines, norm="forward")
    twice = (pilot / np.maximum(np.abs(pilot), 1e-12)) ** 2
    carrier = -2 * twice.imag  # the pilot is a sine, so its analytic signal squared is -e^(j2wt)
    band = lines.copy()
    band[: round(22_000 * window.length_s)] = 0
    band[round(54_000 * window.length_s) :] = 0
    high = scipy.fft.irfft(band, count, norm="forward")
    return np.asarray(scipy.fft.rfft(high * carrier, norm="forward"))


def _blend(receiver: Receiver, detected: Detected, lines: Spectrum, window: Window) -> float:
    """How much of the difference signal is let through: 1 if forced, else as pilot and level say.

    Source: single-chip receivers go from mono to stereo over some 20 dB (common practice).
    """
    if receiver.stereo == "forced":
        return 1.0
    middle = round(PILOT_HZ * window.length_s)
    near = np.abs(lines[middle - 2 : middle + 3]) ** 2
    around = np.abs(lines[middle - 60 : middle + 60]) ** 2
    if near.sum() < 20 * np.median(around) * near.size:
        return 0.0
    level_db = 10 * np.log10(detected.level.mean())
    return float(np.clip((level_db - 20) / 20, 0, 1))


def _high_cut(receiver: Receiver, detected: Detected, hz: NDArray[np.floating]) -> Spectrum:
    """The treble taken away at a weak signal: one pole that falls to 2 kHz over 20 dB of level."""
    if receiver.high_cut_below_db is None:
        return np.ones(1, np.complex128)
    short_db = receiver.high_cut_below_db - 10 * np.log10(detected.level.mean())
    if short_db <= 0:
        return np.ones(1, np.complex128)
    corner_hz = max(2000.0, 15_000 * 10 ** (-short_db / 20))
    return np.asarray(1 / (1 + 1j * hz / corner_hz))


def mute_gain(receiver: Receiver, detected: Detected) -> NDArray[np.floating]:
    """Gain of hard and soft mute, one number a hundredth of a second; 0 is digital silence."""
    span = round(LEVEL_MEMORY_S * 100)
    kernel = np.exp(-np.arange(3 * span) / span)
    kernel /= kernel.sum()

    def smooth(x: NDArray[np.floating]) -> NDArray[np.floating]:
        before = np.full(kernel.size - 1, x[:span].mean())
        return np.convolve(np.concatenate([before, x]), kernel, "valid")

    level_db = 10 * np.log10(smooth(detected.level))
    gain = np.ones(level_db.size)
    if receiver.soft_mute_db is not None:
        cut_db = receiver.soft_mute_slope * (receiver.soft_mute_db - level_db)
        gain = 10 ** (-np.clip(cut_db, 0, receiver.soft_mute_most_db) / 20)
    if receiver.hard_mute_db is not None:
        off_khz = np.abs(smooth(detected.off_hz)) / 1e3
        shut = (level_db < receiver.hard_mute_db) | (off_khz > receiver.mute_window_khz)
        gain = np.where(shut, 0.0, gain)
    return gain


def _spread(gain: NDArray[np.floating], count: int) -> NDArray[np.floating]:
    """Gains of hundredths of a second, as gains of samples, without steps."""
    middle = (np.arange(gain.size) + 0.5) * count / gain.size
    return np.asarray(np.interp(np.arange(count), middle, gain))
