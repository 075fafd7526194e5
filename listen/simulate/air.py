"""What is on the air: stations, a console's modulator, and what each emits.

An Emission is one carrier with its modulation.  It answers one question: its spectrum at
complex baseband around its own frequency, over a Window of time.  Strengths are dB of
carrier over noise in 200 kHz at the receiver's input; frequencies MHz, deviations kHz.

Deviations: 75 kHz and a 19 kHz pilot at 8 to 10 % for stations (47 CFR 73.1570(b)(2),
73.322), 25 kHz for System M television sound (73.1570(b)(3)), 50 kHz for B, G, I and D/K
(ITU-R BT.470).  A modulator that adds a sound subcarrier to the video before one amplitude
modulator emits a mirror of the sound below the picture (common practice).
"""

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from listen.simulate.broadcast import play
from listen.simulate.programmes import ProgrammeKind
from listen.simulate.video import buzz, envelope
from listen.simulate.waves import AUDIO_TOP_HZ, draw

PROGRAMME_RATE_HZ = 40_000
NOISE_BANDWIDTH_HZ = 200_000  # what carrier-to-noise ratios of this package refer to
EMITTER_RATES_HZ = (160_000, 240_000, 320_000, 400_000, 480_000, 640_000, 960_000)
DRIFT_ENDS_S = 3600.0
FADE_S = 0.012  # at both ends of a window, in the part that a bench throws away

Track = tuple[NDArray[np.floating], NDArray[np.floating] | None]


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of time: it begins at start_s and lasts so many hundredths of a second."""

    start_s: float
    hundredths: int

    @property
    def length_s(self) -> float:
        """How long it lasts, seconds."""
        return self.hundredths / 100

    def count(self, rate_hz: int) -> int:
        """Samples in it at a rate that is a multiple of 100 Hz."""
        return rate_hz // 100 * self.hundredths

    def times_s(self, rate_hz: int) -> NDArray[np.float64]:
        """The time of each sample, seconds."""
        return self.start_s + np.arange(self.count(rate_hz)) / rate_hz


class Modulated(Protocol):
    """Something whose frequency, and perhaps amplitude, follows a programme."""

    @property
    def half_width_khz(self) -> float:
        """How far from its carrier its power reaches, kHz."""

    def track(self, window: Window, rate_hz: int) -> Track:
        """Departure from the carrier's frequency in Hz, and amplitude (None: steady 1)."""


@dataclass(frozen=True, slots=True)
class Station:
    """A broadcast FM station.

    mhz             its carrier, MHz
    strength_db     carrier over noise in 200 kHz at the receiver's input, dB
    programme       what it plays
    seed            which speech, music or tune
    deviation_khz   deviation at full modulation, kHz
    stereo          whether it sends pilot and difference signal
    preemphasis_us  50, 75 or 0 for none, µs
    """

    mhz: float
    strength_db: float
    programme: ProgrammeKind = "music"
    seed: int = 1
    deviation_khz: float = 75.0
    stereo: bool = True
    preemphasis_us: float = 50.0

    @property
    def half_width_khz(self) -> float:
        """Carson's: deviation plus the highest modulating frequency, kHz."""
        return self.deviation_khz + (53.0 if self.stereo else 15.0)

    def track(self, window: Window, rate_hz: int) -> Track:
        """Its frequency's departure, Hz; its amplitude is steady."""
        count = window.count(PROGRAMME_RATE_HZ)
        middle, side = play(self.programme, self.seed, window.start_s, count, PROGRAMME_RATE_HZ)
        if not self.stereo:
            return self._on_air(middle, window, rate_hz) * (self.deviation_khz * 1e3), None
        multiplex = self._on_air(middle, window, rate_hz)
        t_s = window.times_s(rate_hz)
        pilot_rad = (2 * np.pi * ((19_000.0 * t_s) % 1.0)).astype(np.float32)
        pilot = np.sin(pilot_rad)
        if side is not None:
            twice = 2 * pilot * np.cos(pilot_rad)  # sin of twice the angle
            multiplex = 0.6 * multiplex + 0.6 * self._on_air(side, window, rate_hz) * twice
            np.clip(multiplex, -0.9, 0.9, out=multiplex)
        else:
            multiplex *= 0.9
        return (multiplex + 0.09 * pilot) * (self.deviation_khz * 1e3), None

    def _on_air(
        self, sound: NDArray[np.floating], window: Window, rate_hz: int
    ) -> NDArray[np.floating]:
        return on_air(sound, window, rate_hz, self.preemphasis_us)

    def emissions(self) -> tuple["Emission", ...]:
        """The one carrier it sends."""
        return (Emission(self.mhz, self.strength_db, ((self, 1),)),)


@dataclass(frozen=True, slots=True)
class Spur:
    """A bare carrier that no switch of the console changes: a computer's, a display's."""

    mhz: float
    strength_db: float

    @property
    def half_width_khz(self) -> float:
        """Next to nothing, kHz."""
        return 1.0

    def track(self, window: Window, rate_hz: int) -> Track:
        """It stands still."""
        return np.zeros(window.count(rate_hz), np.float32), None

    def emissions(self) -> tuple["Emission", ...]:
        """The one carrier it sends."""
        return (Emission(self.mhz, self.strength_db, ((self, 1),)),)


@dataclass(frozen=True, slots=True)
class Console:
    """A console's modulator: sound and picture carrier, and what comes with them.

    sound_mhz           where the sound carrier would sit with its trimmer right, MHz
    strength_db         sound carrier over noise in 200 kHz at the receiver's input, dB
    spacing_mhz         picture to sound, MHz; the picture carrier is sound_mhz - spacing_mhz
    sound_trim_khz      how far the sound subcarrier is off: moves the sound, not the picture
    deviation_khz       25 (System M) or 50 (B, G, I, D/K), kHz
    modulation          share of the deviation that the programme's peaks use, 0 to 1
    programme, seed     what it plays and which of its kind
    preemphasis_us      50, 75, or 0 for none, µs
    picture_db          picture carrier (at sync) over sound carrier, dB; None: none is sent
    mirror_db           lower-sideband sound re the upper, dB; None: filtered out
    harmonic_db         second harmonics re their fundamentals, dB; None: none
    field_hz            field rate, one of video.LINES_A_FIELD, Hz
    incidental_khz      picture carrier's own FM by the video, kHz from black to white
    buzz_khz            the sound carrier's FM by the video, peak, kHz
    drift_khz_per_min   rate at which all its carriers drift at time 0, kHz a minute
    drift_settles_min   time constant with which that drift dies away, minutes
    sound               False: no sound carrier at all
    """

    sound_mhz: float
    strength_db: float = 30.0
    spacing_mhz: float = 5.5
    sound_trim_khz: float = 0.0
    deviation_khz: float = 50.0
    modulation: float = 0.8
    programme: ProgrammeKind = "chip"
    seed: int = 1
    preemphasis_us: float = 0.0
    picture_db: float | None = 12.0
    mirror_db: float | None = None
    harmonic_db: float | None = None
    field_hz: float = 50.080
    incidental_khz: float = 8.0
    buzz_khz: float = 0.2
    drift_khz_per_min: float = 0.0
    drift_settles_min: float = 20.0
    sound: bool = True

    @property
    def picture_mhz(self) -> float:
        """The picture carrier at time 0, MHz."""
        return self.sound_mhz - self.spacing_mhz

    @property
    def true_sound_mhz(self) -> float:
        """The sound carrier at time 0, its trimmer's error included, MHz."""
        return self.sound_mhz + self.sound_trim_khz / 1000

    def drift_hz(self, t_s: NDArray[np.float64] | float) -> NDArray[np.float64]:
        """How far its carriers have drifted at those times, Hz."""
        settle_s = self.drift_settles_min * 60
        start_hz_per_s = self.drift_khz_per_min * 1000 / 60
        at_s = np.minimum(np.asarray(t_s, np.float64), DRIFT_ENDS_S)
        return np.asarray(start_hz_per_s * settle_s * -np.expm1(-at_s / settle_s))

    def emissions(self) -> tuple["Emission", ...]:
        """Every carrier it sends while it is on."""
        sound, picture = ConsoleSound(self), ConsolePicture(self)
        sound_mhz, at_db = self.true_sound_mhz, self.strength_db
        sent = []
        if self.sound:
            sent.append(Emission(sound_mhz, at_db, ((sound, 1),)))
        if self.picture_db is not None:
            sent.append(Emission(self.picture_mhz, at_db + self.picture_db, ((picture, 1),)))
        if self.mirror_db is not None and self.sound:
            mirror_mhz = 2 * self.picture_mhz - sound_mhz
            turned = ((sound, -1), (ConsoleDrift(self), 2))  # mirrored in the picture, which drifts
            sent.append(Emission(mirror_mhz, at_db + self.mirror_db, turned))
        if self.harmonic_db is not None:
            low_db = at_db + self.harmonic_db
            if self.sound:
                sent.append(Emission(2 * sound_mhz, low_db, ((sound, 2),)))
            if self.picture_db is not None:
                twice_db = low_db + self.picture_db
                sent.append(Emission(2 * self.picture_mhz, twice_db, ((picture, 2),)))
            if self.picture_db is not None and self.sound:
                both_db = low_db + self.picture_db / 2 + 6.02  # 2ab against a² of a square law
                both = ((picture, 1), (sound, 1))
                sent.append(Emission(self.picture_mhz + sound_mhz, both_db, both))
        return tuple(sent)


@dataclass(frozen=True, slots=True)
class ConsoleSound:
    """The FM of a console's sound carrier."""

    console: Console

    @property
    def half_width_khz(self) -> float:
        """Carson's, kHz."""
        return self.console.deviation_khz + self.console.buzz_khz + 15.0

    def track(self, window: Window, rate_hz: int) -> Track:
        """Programme, buzz and drift, Hz; its amplitude is steady."""
        of = self.console
        count = window.count(PROGRAMME_RATE_HZ)
        played, _ = play(of.programme, of.seed, window.start_s, count, PROGRAMME_RATE_HZ)
        hz = on_air(played * np.float32(of.modulation), window, rate_hz, of.preemphasis_us)
        hz = hz * (of.deviation_khz * 1e3)
        t_s = window.times_s(rate_hz)
        if of.buzz_khz:
            hz += of.buzz_khz * 1e3 * buzz(of.seed, of.field_hz, t_s)
        if of.drift_khz_per_min:
            hz = hz + of.drift_hz(t_s)
        return hz, None


@dataclass(frozen=True, slots=True)
class ConsoleDrift:
    """A console's drift alone."""

    console: Console

    @property
    def half_width_khz(self) -> float:
        """Nothing, kHz."""
        return 0.0

    def track(self, window: Window, rate_hz: int) -> Track:
        """The drift, Hz; its amplitude is steady."""
        drift_hz = self.console.drift_hz(window.times_s(rate_hz))
        return drift_hz.astype(np.float32), None


@dataclass(frozen=True, slots=True)
class ConsolePicture:
    """The AM of a console's picture carrier and the FM that comes with it."""

    console: Console

    @property
    def half_width_khz(self) -> float:
        """As much of the video as the bench keeps, kHz."""
        return 100.0

    def track(self, window: Window, rate_hz: int) -> Track:
        """Incidental FM and drift, Hz, and the video as amplitude, sync tips at 1."""
        of = self.console
        t_s = window.times_s(rate_hz)
        amplitude = envelope(of.seed, of.field_hz, t_s)
        hz = (of.incidental_khz * 1e3 / 0.625) * (amplitude - np.float32(0.6))
        if of.drift_khz_per_min:
            hz = hz + of.drift_hz(t_s)
        return hz, amplitude


@dataclass(frozen=True, slots=True)
class Emission:
    """One carrier on the air.

    mhz          its frequency, MHz
    strength_db  its peak level over noise in 200 kHz, dB
    parts        what it is the product of: each modulation with its multiple; a second
                 harmonic has multiple 2, a mirrored sideband -1
    """

    mhz: float
    strength_db: float
    parts: tuple[tuple[Modulated, int], ...]

    @property
    def half_width_khz(self) -> float:
        """How far from its carrier its power reaches, kHz."""
        return sum(abs(multiple) * part.half_width_khz for part, multiple in self.parts)

    def times(self, multiple: int) -> tuple[tuple[Modulated, int], ...]:
        """Its parts after a multiplication of its frequency."""
        return tuple((part, multiple * own) for part, own in self.parts)


def spectrum(
    parts: tuple[tuple[Modulated, int], ...], window: Window, seed: int, exact: bool
) -> NDArray[np.complexfloating]:
    """Fourier coefficients, lowest frequency first, of a carrier of amplitude 1 at 0 Hz.

    Shape (n,), n even, a bin every 1 / window.length_s; the carrier is at n // 2.
    """
    half_khz = sum(abs(multiple) * part.half_width_khz for part, multiple in parts)
    needed_hz = 2 * half_khz * 1.3e3
    rate_hz = next((r for r in EMITTER_RATES_HZ if r >= needed_hz), EMITTER_RATES_HZ[-1])
    rate_hz *= 2 if exact else 1
    count = window.count(rate_hz)
    hz: NDArray[np.floating] = np.zeros(1, np.float32)
    amplitude: NDArray[np.floating] | None = None
    for part, multiple in parts:
        own_hz, own_amplitude = part.track(window, rate_hz)
        hz = hz + multiple * own_hz
        if own_amplitude is not None:
            own_amplitude = own_amplitude ** abs(multiple)
            amplitude = own_amplitude if amplitude is None else amplitude * own_amplitude
    cycles = np.cumsum(hz, dtype=np.float64)
    cycles /= rate_hz
    cycles += draw(seed, window.hundredths + round(1000 * window.start_s), 40)
    cycles -= np.floor(cycles)
    angle = (2 * np.pi * cycles).astype(np.float64 if exact else np.float32)
    wave: NDArray[Any] = np.empty(count, np.complex128 if exact else np.complex64)
    np.cos(angle, out=wave.real)
    np.sin(angle, out=wave.imag)
    wave[1::2] *= -1  # puts 0 Hz in the middle of the spectrum
    if amplitude is not None:
        wave *= amplitude
    return np.asarray(scipy.fft.fft(wave, norm="forward", overwrite_x=True))


def on_air(
    sound: NDArray[np.floating], window: Window, rate_hz: int, preemphasis_us: float
) -> NDArray[np.floating]:
    """Sound as a transmitter sends it, at rate_hz: cut at 15 kHz, pre-emphasised, limited to ±1.

    The window's ends are faded, or the transforms would see a jump there.
    """
    ends = np.minimum(np.arange(sound.size) + 0.5, FADE_S * PROGRAMME_RATE_HZ)
    fade = 0.5 - 0.5 * np.cos(np.pi * ends / (FADE_S * PROGRAMME_RATE_HZ))
    sound = sound * (fade * fade[::-1]).astype(sound.dtype)
    lines = scipy.fft.rfft(sound, norm="forward")
    hz = np.arange(lines.size) / window.length_s
    top = int(AUDIO_TOP_HZ * window.length_s)
    if preemphasis_us:
        lines = lines * (1 + 2j * np.pi * hz * preemphasis_us * 1e-6)
        lines[top:] = 0
        limited = scipy.fft.irfft(lines, sound.size, norm="forward")
        lines = scipy.fft.rfft(np.clip(limited, -1, 1), norm="forward")
    lines = lines[:top].astype(np.complex64 if sound.dtype == np.float32 else np.complex128)
    return np.asarray(scipy.fft.irfft(lines, window.count(rate_hz), norm="forward"))
