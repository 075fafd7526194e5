"""The model radio's settings and its filters' responses.

Filters answer one question: the complex gain at an offset from where the radio is tuned
(passband) or at an audio frequency (audio_response).  Nothing here keeps time.

Sources: Butterworth's all-pole response for the passband, textbook; de-emphasis
1 / (1 + j 2 pi f tau), 75 µs: 47 CFR 73.322; 10.7 MHz intermediate frequency and its image:
any handbook of FM receivers; soft mute as single-chip receivers do it by default: 4 dB
threshold, 2 dB a dB, 16 dB at most (common practice).
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

IF_MHZ = 10.7
REFERENCE_DEVIATION_HZ = 75_000.0  # deviation that gives full-scale audio at volume 0 dB


@dataclass(frozen=True, slots=True)
class Receiver:
    """An FM radio.  Every setting stands for something real sets do.

    passband_khz            width between the -3 dB points of the whole IF, kHz
    passband_order          steepness of its skirts: order of the all-pole filter
    stopband_db             its attenuation far away, dB
    misalignment_khz        filter's centre minus what the dial shows, kHz
    discriminator_khz       discriminator's centre minus the filter's, kHz
    discriminator_range_khz peak of the discriminator's curve, ± kHz; None: straight for ever
    am_rejection_db         output of 30 % AM below that of 30 % of 75 kHz FM, dB
    late_noise_db           density of noise added behind the filter re that in front, dB;
                            None: none
    deemphasis_us           50, 75, or 0 for none, µs
    audio_top_hz            where the audio low-pass begins to cut, Hz
    high_cut_below_db       level under which treble is taken away, dB in 200 kHz; None: never
    stereo                  "mono", "auto" (as the pilot and the level allow) or "forced"
    afc                     whether it pulls the dial towards a carrier
    afc_gain                loop gain: the error left is 1 / (1 + gain)
    afc_pull_khz            how near a carrier must be for the loop to seize it, kHz
    afc_hold_khz            how far the dial may then be turned before it lets go, kHz
    hard_mute_db            level below which it is silent, dB in the passband; None: no mute
    mute_window_khz         with hard mute: silent too if tuned further off than this, kHz
    soft_mute_db            level below which audio is turned down, dB; None: no soft mute
    soft_mute_slope         dB of attenuation a dB of level
    soft_mute_most_db       attenuation it stops at, dB
    mute_after_step_s       silence after each tuning step, s
    oscillator              "above" or "below" the received frequency
    image_rejection_db      response at the image below the direct one, dB
    half_if_rejection_db    response half an IF away, for a carrier of 40 dB, dB; it is of
                            second order, so it falls 2 dB a dB
    intercept_db            third-order intercept of the front end, dB in 200 kHz; None:
                            nothing mixes.  Two carriers of S dB give ghosts of 3 S - 2 I
    blocking_db             total input at which its noise begins to rise, dB; None: never
    dial_offset_khz         true frequency minus shown one at 98 MHz, kHz
    dial_slope_khz_per_mhz  how that changes along the scale
    dial_scatter_khz        spread of readings of an analogue dial, one sigma, kHz
    """

    passband_khz: float = 200.0
    passband_order: int = 5
    stopband_db: float = 60.0
    misalignment_khz: float = 0.0
    discriminator_khz: float = 0.0
    discriminator_range_khz: float | None = 300.0
    am_rejection_db: float = 45.0
    late_noise_db: float | None = -20.0
    deemphasis_us: float = 50.0
    audio_top_hz: float = 15_000.0
    high_cut_below_db: float | None = None
    stereo: Literal["mono", "auto", "forced"] = "mono"
    afc: bool = False
    afc_gain: float = 5.0
    afc_pull_khz: float = 120.0
    afc_hold_khz: float = 250.0
    hard_mute_db: float | None = None
    mute_window_khz: float = 75.0
    soft_mute_db: float | None = None
    soft_mute_slope: float = 2.0
    soft_mute_most_db: float = 16.0
    mute_after_step_s: float = 0.0
    oscillator: Literal["above", "below"] = "above"
    image_rejection_db: float = 40.0
    half_if_rejection_db: float = 60.0
    intercept_db: float | None = None
    blocking_db: float | None = None
    dial_offset_khz: float = 0.0
    dial_slope_khz_per_mhz: float = 0.0
    dial_scatter_khz: float = 0.0

    def dial_error_khz(self, dial_mhz: float) -> float:
        """True frequency minus the shown one at that place of the scale, kHz."""
        return self.dial_offset_khz + self.dial_slope_khz_per_mhz * (dial_mhz - 98.0)


def passband(receiver: Receiver, offset_hz: NDArray[np.floating]) -> NDArray[np.complex128]:
    """Complex gain of the IF at offsets from the tuned frequency, Hz."""
    half_hz = receiver.passband_khz * 500
    s = 1j * (np.asarray(offset_hz) - receiver.misalignment_khz * 1e3) / half_hz
    order = receiver.passband_order
    gain = np.ones(s.shape, np.complex128)
    for k in range(order):
        gain /= s - np.exp(1j * np.pi * (2 * k + order + 1) / (2 * order))
    return np.asarray(gain + 10 ** (-receiver.stopband_db / 20))


def attenuation_db(receiver: Receiver, offset_khz: float) -> float:
    """Loss of the IF at an offset from the tuned frequency, dB."""
    gain = passband(receiver, np.array([offset_khz * 1e3]))
    return float(-20 * np.log10(np.abs(gain[0])))


def audio_response(receiver: Receiver, hz: NDArray[np.floating]) -> NDArray[np.complex128]:
    """De-emphasis and the audio low-pass, at audio frequencies in Hz."""
    top_hz = receiver.audio_top_hz
    lowpass = 1 / np.sqrt(1 + (hz / (1.08 * top_hz)) ** 24)
    return np.asarray(lowpass / (1 + 2j * np.pi * hz * receiver.deemphasis_us * 1e-6))
