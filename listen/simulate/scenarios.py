"""Benches made by chance, and the invented one of the demonstration.

A random bench comes with its Truth, which stands apart: nothing that a Bench gives away
holds it.  The same seed and the same arguments give the same bench.

The radio, the stations and the console are drawn as they are met: stations on the raster of
their country within 2 kHz (47 CFR 73.1545(b)(1)), consoles on a channel whose sound an FM
dial reaches, off by what a free-running oscillator drifts (common practice).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from listen.channels import Channel, by_name
from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench
from listen.simulate.linein import LineIn
from listen.simulate.programmes import ProgrammeKind
from listen.simulate.receiver import Receiver

BAND_MHZ = (87.5, 108.0)
WITHIN_REACH = (
    "us-air:6",
    "jp-air:1",
    "jp-air:2",
    "jp-air:3",
    "us-cable-std:95",
    "us-cable-std:96",
    "us-cable-std:97",
    "us-cable-hrc:6",
    "us-cable-hrc:95",
    "us-cable-hrc:96",
    "us-cable-hrc:97",
    "au-air:3",
    "au-air:4",
    "au-air:5",
    "oirt-dk:R4",
    "oirt-dk:R5",
    "eu-ccir-cable:S03",
    "it-vhf:C",
)
SMALL_SETS: tuple[ProgrammeKind, ...] = ("chip", "chip", "tone", "effects")
ON_AIR: tuple[ProgrammeKind, ...] = ("music", "music", "speech")


@dataclass(frozen=True, slots=True)
class Truth:
    """What a random bench was made of; no analysis may see it.

    sound_mhz, picture_mhz, spacing_mhz  the console's, true, at time 0; None: no console
    plan, channel      the channel it was set to
    strength_db        its sound carrier over noise in 200 kHz, dB
    stations_mhz       the stations' true frequencies
    misalignment_khz   how far the radio's passband lies above its dial
    """

    sound_mhz: float | None
    picture_mhz: float | None
    spacing_mhz: float | None
    plan: str | None
    channel: str | None
    strength_db: float | None
    stations_mhz: tuple[float, ...]
    misalignment_khz: float


def dial_stops(
    step_khz: float = 100.0, band_mhz: tuple[float, float] = BAND_MHZ
) -> tuple[float, ...]:
    """Every position of a digital dial, from the low end upward, MHz."""
    count = int(round((band_mhz[1] - band_mhz[0]) * 1000) / step_khz + 1e-6)
    return tuple(round(band_mhz[0] + n * step_khz / 1000, 4) for n in range(count + 1))


def random_bench(
    seed: int,
    *,
    stations: tuple[int, int] = (5, 15),
    station_db: tuple[float, float] = (15.0, 55.0),
    station_programmes: Sequence[ProgrammeKind] = ON_AIR,
    console_db: tuple[float, float] | None = (20.0, 45.0),
    console_programmes: Sequence[ProgrammeKind] = SMALL_SETS,
    channels: Sequence[str] = WITHIN_REACH,
    off_khz: float = 100.0,
    sound_trim_khz: float = 5.0,
    raster_khz: float = 100.0,
    clear_khz: float = 350.0,
    misalignment_khz: float = 10.0,
    passband_khz: tuple[float, float] = (150.0, 280.0),
    quality: Literal["trial", "full"] = "trial",
) -> tuple[Bench, Truth]:
    """A bench made by chance, and the truth about it.

    seed                which bench
    stations            fewest and most stations
    station_db          their weakest and strongest, dB in 200 kHz
    station_programmes  what they play, drawn from these
    console_db          weakest and strongest sound carrier, dB in 200 kHz; None: no console
    console_programmes  what it plays, drawn from these
    channels            where it may have been set, as plan:label
    off_khz             its oscillator is off by up to so much, either way
    sound_trim_khz      its sound subcarrier likewise
    raster_khz          100 or 200 (then: 60 Hz mains, 75 µs, odd tenths)
    clear_khz           no station is nearer to the console's sound than this
    misalignment_khz    the passband lies off the dial by up to so much, either way
    passband_khz        narrowest and widest passband

    What it draws beyond these (skirts, noise behind the filter, rejections, levels, hum) stays
    within what ordinary sets show.  Change it with dataclasses.replace.
    """
    rng = np.random.default_rng([seed, 1])
    receiver = _receiver(rng, raster_khz, misalignment_khz, passband_khz)
    console, channel = None, None
    if console_db is not None:
        channel = by_name(channels[int(rng.integers(len(channels)))])
        console = _console(rng, channel, console_db, console_programmes, off_khz, sound_trim_khz)
    count = int(rng.integers(stations[0], stations[1] + 1))
    heard = _stations(rng, count, station_db, station_programmes, raster_khz, console, clear_khz)
    line_in = LineIn(
        sample_rate_hz=int(rng.choice([44_100, 48_000])),
        volume_db=float(rng.uniform(-20, -8)),
        hum_dbfs=float(rng.uniform(-90, -60)),
        mains_hz=60.0 if raster_khz == 200 else 50.0,
        floor_dbfs=float(rng.uniform(-92, -75)),
    )
    bench = Bench(heard, console, (), receiver, line_in, seed, quality)
    truth = Truth(
        console.true_sound_mhz if console else None,
        console.picture_mhz if console else None,
        console.true_sound_mhz - console.picture_mhz if console else None,
        channel.plan if channel else None,
        channel.label if channel else None,
        console.strength_db if console else None,
        tuple(station.mhz for station in heard),
        receiver.misalignment_khz,
    )
    return bench, truth


def _receiver(
    rng: np.random.Generator,
    raster_khz: float,
    misalignment_khz: float,
    passband_khz: tuple[float, float],
) -> Receiver:
    return Receiver(
        passband_khz=float(rng.uniform(*passband_khz)),
        passband_order=int(rng.integers(4, 8)),
        stopband_db=float(rng.uniform(50, 70)),
        misalignment_khz=float(rng.uniform(-misalignment_khz, misalignment_khz)),
        discriminator_khz=float(rng.normal(0, 5)),
        discriminator_range_khz=float(rng.uniform(250, 400)),
        am_rejection_db=float(rng.uniform(35, 55)),
        late_noise_db=float(rng.uniform(-30, -12)),
        deemphasis_us=75.0 if raster_khz == 200 else 50.0,
        image_rejection_db=float(rng.uniform(30, 60)),
        oscillator="above" if rng.random() < 0.8 else "below",
    )


def _console(
    rng: np.random.Generator,
    channel: Channel,
    console_db: tuple[float, float],
    programmes: Sequence[ProgrammeKind],
    off_khz: float,
    sound_trim_khz: float,
) -> Console:
    american = channel.system in ("M", "J", "N")
    fields = (60.054, 59.940) if american else (50.080, 50.0, 49.920)
    return Console(
        sound_mhz=channel.sound_mhz + float(rng.uniform(-off_khz, off_khz)) / 1000,
        strength_db=float(rng.uniform(*console_db)),
        spacing_mhz=channel.sound_mhz - channel.picture_mhz,
        sound_trim_khz=float(rng.uniform(-sound_trim_khz, sound_trim_khz)),
        deviation_khz=25.0 if american else 50.0,
        modulation=float(rng.uniform(0.3, 1.0)),
        programme=programmes[int(rng.integers(len(programmes)))],
        seed=int(rng.integers(1 << 30)),
        preemphasis_us=0.0 if rng.random() < 0.6 else (75.0 if american else 50.0),
        picture_db=float(rng.uniform(10, 13)),
        mirror_db=float(rng.uniform(-3, 0)) if rng.random() < 0.5 else None,
        field_hz=float(rng.choice(fields)),
        incidental_khz=float(rng.uniform(3, 20)),
        buzz_khz=float(rng.choice([0.0, 0.1, 0.3, 1.0])),
    )


def _stations(
    rng: np.random.Generator,
    count: int,
    station_db: tuple[float, float],
    programmes: Sequence[ProgrammeKind],
    raster_khz: float,
    console: Console | None,
    clear_khz: float,
) -> tuple[Station, ...]:
    """Stations on the raster, 300 kHz or more apart and clear of the console's sound."""
    first_mhz = 87.9 if raster_khz == 200 else 87.6
    raster = np.arange(first_mhz, BAND_MHZ[1], raster_khz / 1000)
    taken: list[float] = []
    for mhz in rng.permutation(raster):
        if len(taken) == count:
            break
        near_console = console is not None and abs(mhz - console.true_sound_mhz) * 1000 < clear_khz
        if not near_console and all(abs(mhz - other) > 0.29 for other in taken):
            taken.append(float(mhz))
    preemphasis_us = 75.0 if raster_khz == 200 else 50.0
    return tuple(
        Station(
            mhz=round(mhz, 4) + float(rng.uniform(-2, 2)) / 1000,
            strength_db=float(rng.uniform(*station_db)),
            programme=programmes[int(rng.integers(len(programmes)))],
            seed=int(rng.integers(1 << 30)),
            stereo=bool(rng.random() < 0.8),
            preemphasis_us=preemphasis_us,
        )
        for mhz in sorted(taken)
    )


def demo_bench(moved: bool = False) -> Bench:
    """The invented bench of the demonstration: a console bought in Australia on channel 5.

    moved  after its trimmer was turned to channel 4, away from the local station on 101.9,
           which lay a few kilohertz from its picture carrier and put a pattern on it
    """
    channel = by_name("au-air:4" if moved else "au-air:5")
    console = Console(
        sound_mhz=channel.sound_mhz + (0.021 if moved else -0.034),
        strength_db=33.0,
        spacing_mhz=5.5,
        sound_trim_khz=3.0,
        deviation_khz=50.0,
        modulation=0.7,
        programme="chip",
        seed=7,
        picture_db=12.0,
        mirror_db=-1.0,
        field_hz=50.080,
        incidental_khz=10.0,
    )
    stations = (
        Station(88.6, 31, "music", 11),
        Station(91.3, 24, "speech", 12, stereo=False),
        Station(93.7, 44, "music", 13),
        Station(97.1, 19, "speech", 14),
        Station(98.9, 38, "music", 15),
        Station(101.9, 47, "music", 16),
        Station(104.2, 28, "speech", 17, stereo=False),
        Station(105.7, 35, "music", 18),
    )
    receiver = Receiver(passband_khz=190.0, misalignment_khz=6.0, image_rejection_db=45.0)
    return Bench(stations, console, receiver=receiver, seed=4)
