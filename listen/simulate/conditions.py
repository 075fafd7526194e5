"""Under which conditions the locator is judged: each is a row of the trials' table.

A scene says what stands on the bench and how its dial is walked; a condition is a scene and
whether the console's switch is used at the end of the walk.  Conditions that share a scene
share its benches, so that a bench is heard once for all of them.  A walk that thinks goes another
way where the switch is not used, and is then a scene of its own.

Most scenes are a plain bench with one thing changed (effects.py).  The change draws its own
chance, so that a seed's bench with an effect and without it is otherwise the same, and two
rows tell what the effect costs.

All of it is data.  A new row is a Scene, if none fits, and one or two Conditions.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, Literal

from listen.radio import Radio
from listen.simulate.bench import Bench
from listen.simulate.effects import (
    Effect,
    analogue,
    console_with,
    drifting,
    line_in_with,
    made_with,
    misaligned,
    neighbour,
    radio_with,
    spurs,
    volume_touched,
    volume_touched_twice,
)
from listen.simulate.scenarios import BAND_MHZ, Truth, random_bench

DWELL_S = 1.0
# Channels that an FM dial hears by an image, by a second harmonic, or by the picture alone.
BELOW_THE_BAND = ("us-air:4", "us-air:5", "eu-ccir-vhf:E4", "au-air:2", "oirt-dk:R3")
ABOVE_THE_BAND = ("us-cable-std:98", "us-cable-std:99", "eu-ccir-cable:S2", "eu-ccir-cable:S3")
HALF_THE_BAND = ("eu-ccir-vhf:E2", "au-air:0", "nz-vhf:1")
PICTURE_ALONE = ("eu-ccir-cable:S1",)


def nothing_told(truth: Truth) -> Radio:
    """What the analysis is told of the radio by default: nothing beyond the usual."""
    return Radio()


def no_plan(truth: Truth) -> str | None:
    """The thinking walk is told no plan."""
    return None


def its_plan(truth: Truth) -> str | None:
    """The plan of the console's channel; without a console, one with three on the dial."""
    return truth.plan or "au-air"


def every_third_station(truth: Truth) -> Radio:
    """An analogue dial with some of the stations' frequencies known."""
    return Radio(dial="analogue", known_stations_mhz=truth.stations_mhz[::3])


def one_station(truth: Truth) -> Radio:
    """An analogue dial with one station's frequency known, the one in the middle."""
    middle = len(truth.stations_mhz) // 2
    return Radio(dial="analogue", known_stations_mhz=truth.stations_mhz[middle : middle + 1])


def a_pointer(truth: Truth) -> Radio:
    """An analogue dial, and no station's frequency known."""
    return Radio(dial="analogue")


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """Benches of one kind and the walk along their dial.

    make      seed to a bench and the truth about it
    step_khz  the dial's step: every stop of the band is visited, from its low end
    band_mhz  the part of the dial that is walked
    dwell_s   length of each recording
    told      what the analysis is told of the radio, given what stands on the bench
    walk      "every" stop of the band, or the "thinking" one that chooses each
    plan      which channel plan the thinking walk is told, given the bench; None: none
    """

    make: Callable[[int], tuple[Bench, Truth]]
    step_khz: float = 100.0
    band_mhz: tuple[float, float] = BAND_MHZ
    dwell_s: float = DWELL_S
    told: Callable[[Truth], Radio] = nothing_told
    walk: Literal["every", "thinking"] = "every"
    plan: Callable[[Truth], str | None] = no_plan


@dataclass(frozen=True, slots=True, eq=False)
class Condition:
    """A row of the table.

    name        short, for the command line and the records
    sentence    what it is, for the table
    scene       its benches and their walk
    off_checks  whether the walk ends with the console off, where the planner asks for it
    in_mix      whether it counts where many conditions are summed up: the sound carrier is on the
                dial, and can be told from a station without the switch or with it
    """

    name: str
    sentence: str
    scene: Scene
    off_checks: bool
    in_mix: bool = True


def crowded(seed: int) -> tuple[Bench, Truth]:
    """5 to 15 stations on a 100 kHz raster and one console, 20 to 45 dB."""
    return random_bench(seed)


def either(seed: int, **how: Any) -> tuple[Bench, Truth]:
    """The same, odd seeds in a country with a 200 kHz raster."""
    return random_bench(seed, raster_khz=200.0 if seed % 2 else 100.0, **how)


def stations_only(seed: int) -> tuple[Bench, Truth]:
    """5 to 15 stations on a 100 kHz raster."""
    return random_bench(seed, console_db=None)


def of(*effects: Effect, **how: Any) -> Scene:
    """A scene on a dial of 200 kHz: a bench made so, with these effects."""
    return Scene(made_with(partial(either, **how), *effects), 200.0)


def scene_pair(name: str, sentence: str, scene: Scene, in_mix: bool) -> tuple[Condition, Condition]:
    """A scene as it is walked, and as it is where the switch is not used."""
    heard = in_mix and name not in ONLY_THE_SWITCH_TELLS
    return (
        Condition(name, f"{sentence}, as walked", scene, True, in_mix),
        Condition(f"{name}-no-switch", f"{sentence}, without the switch", scene, False, heard),
    )


def several(scenes: dict[str, tuple[str, Scene]], in_mix: bool) -> tuple[Condition, ...]:
    """A pair of conditions for each name with its sentence and scene."""
    return tuple(
        c for name, (words, scene) in scenes.items() for c in scene_pair(name, words, scene, in_mix)
    )


WALK_200_S = 206.0  # a whole dial of 200 kHz at a second a stop, with the turning
THINKING_S = 20.0  # ten chosen stops
ONLY_THE_SWITCH_TELLS = ("silent", "effects", "chip-stations")
CHIP_ON_AIR = ("chip", "tone")

DIALS = {
    "dial-50": ("dial of 50 kHz", Scene(crowded, 50.0)),
    "dial-100": ("dial of 100 kHz", Scene(crowded)),
    "dial-200": ("dial of 200 kHz", of()),
}
STOPS = {
    "half-second": ("stops of 0.5 s", Scene(either, 200.0, dwell_s=0.5)),
    "ten-seconds": ("stops of 10 s", Scene(either, 200.0, dwell_s=10.0)),
}
STATIONS = {
    "alone": ("no stations", of(stations=(0, 0))),
    "many": ("15 to 25 stations", of(stations=(15, 25))),
    "beside": ("a station 150 to 300 kHz from the console", of(neighbour(150, 300, (20, 50)))),
    "shared": ("a station 60 to 150 kHz from the console", of(neighbour(60, 150, (10, 30)))),
    "chip-stations": ("stations that play tunes and tones", of(station_programmes=CHIP_ON_AIR)),
}
STRENGTHS = {
    "fair": ("console of 12 to 20 dB", of(console_db=(12.0, 20.0))),
    "faint": ("console of 9 to 12 dB", of(console_db=(9.0, 12.0))),
}
CONSOLES = {
    "chip": ("chip music", of(console_programmes=("chip",))),
    "tone": ("steady tone", of(console_programmes=("tone",))),
    "effects": ("sparse effects", of(console_programmes=("effects",))),
    "silent": ("silent console", of(console_programmes=("silence",))),
    "narrow-fm": ("25 kHz deviation", of(channels=("us-air:6", "us-cable-std:95", "jp-air:1"))),
    "wide-fm": ("50 kHz deviation", of(channels=("au-air:4", "au-air:5", "oirt-dk:R4"))),
    "low-edge": ("sound at 87.75", of(channels=("us-air:6", "it-vhf:C"))),
    "high-edge": ("sound at 107.75", of(channels=("au-air:5", "jp-air:3", "us-cable-std:97"))),
    "mirror": ("mirror as strong as the sound", of(console_with(mirror_db=(-1.0, 0.0)))),
    "mistrimmed": ("sound trimmer up to 150 kHz off", of(sound_trim_khz=150.0)),
    "drift": ("drift of 3 to 10 kHz a minute", of(drifting(10.0))),
}
RADIOS = {
    "misaligned": ("passband up to 30 kHz off", of(misaligned(30.0))),
    "narrow": ("passband 150 to 180 kHz", of(passband_khz=(150.0, 180.0))),
    "wide": ("passband 240 to 280 kHz", of(passband_khz=(240.0, 280.0))),
    "afc": ("automatic frequency control", of(radio_with(afc=True))),
    "hard-mute": ("hard mute", of(radio_with(hard_mute_db=8.0, mute_window_khz=75.0))),
    "soft-mute": ("soft mute", of(radio_with(soft_mute_db=4.0))),
    "image": ("image 20 dB down", of(radio_with(image_rejection_db=20.0))),
    "oscillator-below": (
        "image 20 dB down, oscillator below",
        of(radio_with(image_rejection_db=20.0, oscillator="below")),
    ),
}
LINES = {
    "clipped": ("line-in overdriven", of(line_in_with(volume_db=(2.0, 8.0)))),
    "hum": ("hum of -45 to -35 dBFS", of(line_in_with(hum_dbfs=(-45.0, -35.0)))),
    "suppressed": ("noise suppression", of(line_in_with(noise_suppression=True))),
    "rate-8": ("recorded at 8 kHz", of(line_in_with(sample_rate_hz=8_000))),
    "rate-16": ("recorded at 16 kHz", of(line_in_with(sample_rate_hz=16_000))),
    "rate-96": ("recorded at 96 kHz", of(line_in_with(sample_rate_hz=96_000))),
    "volume": ("volume touched once, 3 to 6 dB", of(volume_touched(6.0, WALK_200_S))),
    "volume-twice": (
        "volume touched twice, 4 to 8 dB",
        of(volume_touched_twice(8.0, WALK_200_S)),
    ),
}
ANALOGUE = {
    "pointer": (
        "analogue dial up to 45 kHz off, read to 20 kHz",
        Scene(made_with(either, analogue(45.0)), 100.0, told=a_pointer),
    ),
    "pointer-known": (
        "analogue dial up to 400 kHz off, read to 20 kHz, a third of the stations known",
        Scene(made_with(either, analogue(400.0)), 100.0, told=every_third_station),
    ),
    "pointer-one": (
        "analogue dial up to 400 kHz off, read to 20 kHz, one station known",
        Scene(made_with(either, analogue(400.0)), 100.0, told=one_station),
    ),
}
ELSEWHERE = {
    "picture-only": (
        "a picture carrier among stations, its sound beyond the dial",
        of(channels=PICTURE_ALONE, console_db=(25.0, 45.0)),
    ),
    "image-below": (
        "heard by its image alone, oscillator below",
        of(
            radio_with(image_rejection_db=20.0, oscillator="below"),
            channels=BELOW_THE_BAND,
            console_db=(40.0, 55.0),
        ),
    ),
    "image-above": (
        "heard by its image alone, oscillator above",
        of(
            radio_with(image_rejection_db=20.0, oscillator="above"),
            channels=ABOVE_THE_BAND,
            console_db=(40.0, 55.0),
        ),
    ),
    "harmonic": (
        "heard by its second harmonic alone",
        of(
            console_with(harmonic_db=(-20.0, -15.0)),
            channels=HALF_THE_BAND,
            console_db=(40.0, 55.0),
        ),
    ),
}
NO_SOUND = {  # no console's sound carrier stands on these dials
    "empty": ("empty band", of(stations=(0, 0), console_db=None)),
    "stations-100": ("stations only, dial of 100 kHz", Scene(stations_only)),
    "stations-200": ("stations only", of(console_db=None)),
    "many-only": ("15 to 25 stations only", of(stations=(15, 25), console_db=None)),
    "chip-only": (
        "only stations, that play tunes",
        of(station_programmes=CHIP_ON_AIR, console_db=None),
    ),
    "spurs-only": (
        "stations and bare carriers, hum of -60 to -40 dBFS",
        of(spurs(3, (15.0, 40.0)), line_in_with(hum_dbfs=(-60.0, -40.0)), console_db=None),
    ),
    "afc-only": ("stations only, frequency control", of(radio_with(afc=True), console_db=None)),
    "mute-only": ("stations only, hard mute", of(radio_with(hard_mute_db=8.0), console_db=None)),
    "soft-only": ("stations only, soft mute", of(radio_with(soft_mute_db=4.0), console_db=None)),
    "clipped-only": (
        "stations only, overdriven",
        of(line_in_with(volume_db=(2.0, 8.0)), console_db=None),
    ),
    "suppressed-only": (
        "stations only, noise suppression",
        of(line_in_with(noise_suppression=True), console_db=None),
    ),
    "rate-8-only": (
        "stations only, 8 kHz",
        of(line_in_with(sample_rate_hz=8_000), console_db=None),
    ),
    "pointer-only": (
        "stations only, analogue dial",
        Scene(made_with(stations_only, analogue(45.0)), 100.0, told=a_pointer),
    ),
}

THINKING = {  # stops chosen one by one: how many it takes stands in the table
    "thinking-plan": (
        "thinking, plan known, dial of 200 kHz",
        Scene(either, 200.0, walk="thinking", plan=its_plan),
    ),
    "thinking": (
        "thinking, plan unknown, dial of 200 kHz",
        Scene(either, 200.0, walk="thinking"),
    ),
    "thinking-plan-100": (
        "thinking, plan known, dial of 100 kHz",
        Scene(crowded, walk="thinking", plan=its_plan),
    ),
    "thinking-100": ("thinking, plan unknown, dial of 100 kHz", Scene(crowded, walk="thinking")),
    "thinking-only": (
        "thinking, stations only, plan named",
        Scene(stations_only, 200.0, walk="thinking", plan=its_plan),
    ),
    "thinking-volume": (
        "thinking, plan known, volume touched once, 5 to 10 dB",
        replace(of(volume_touched(10.0, THINKING_S)), walk="thinking", plan=its_plan),
    ),
    "thinking-volume-only": (
        "thinking, stations only, plan named, volume touched once, 5 to 10 dB",
        replace(
            of(volume_touched(10.0, THINKING_S), console_db=None), walk="thinking", plan=its_plan
        ),
    ),
}
WITHOUT_SWITCH = {  # scenes of their own, though the benches are the same
    "thinking-only-no-switch": (
        "thinking, stations only, plan named, without the switch",
        Scene(stations_only, 200.0, walk="thinking", plan=its_plan),
    ),
}

MIX = (DIALS, STOPS, STATIONS, STRENGTHS, CONSOLES, RADIOS, LINES, ANALOGUE)
CONDITIONS = tuple(
    condition
    for group in (*MIX, ELSEWHERE, NO_SOUND)
    for condition in several(group, in_mix=group in MIX)
) + tuple(
    Condition(name, words, scene, off_checks)
    for group, off_checks in ((THINKING, True), (WITHOUT_SWITCH, False))
    for name, (words, scene) in group.items()
)
