"""Under which conditions the locator is judged: each is a row of the trials' table.

A scene says what stands on the bench and how its dial is walked; a condition is a scene and
whether the console's switch is used at the end of the walk.  Conditions that share a scene
share its benches, so that a bench is heard once for all of them.

All of it is data.  A new row is a Scene, if none fits, and one or two Conditions.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

from listen.radio import Radio
from listen.simulate.bench import Bench
from listen.simulate.scenarios import BAND_MHZ, Truth, random_bench

DWELL_S = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """Benches of one kind and the walk along their dial.

    make      seed to a bench and the truth about it
    step_khz  the dial's step: every stop of the band is visited, from its low end
    band_mhz  the part of the dial that is walked
    dwell_s   length of each recording
    radio     what the analysis is told of the radio; by default nothing beyond the usual
    """

    make: Callable[[int], tuple[Bench, Truth]]
    step_khz: float = 100.0
    band_mhz: tuple[float, float] = BAND_MHZ
    dwell_s: float = DWELL_S
    radio: Radio = field(default_factory=Radio)


@dataclass(frozen=True, slots=True, eq=False)
class Condition:
    """A row of the table.

    name        short, for the command line and the records
    sentence    what it is, for the table
    scene       its benches and their walk
    off_checks  whether the walk ends with the console off, where the planner asks for it
    """

    name: str
    sentence: str
    scene: Scene
    off_checks: bool


def crowded(seed: int) -> tuple[Bench, Truth]:
    """5 to 15 stations on a 100 kHz raster and one console, 20 to 45 dB."""
    return random_bench(seed)


def crowded_either_raster(seed: int) -> tuple[Bench, Truth]:
    """The same, odd seeds in a country with a 200 kHz raster."""
    return random_bench(seed, raster_khz=200.0 if seed % 2 else 100.0)


def stations_only(seed: int) -> tuple[Bench, Truth]:
    """5 to 15 stations on a 100 kHz raster."""
    return random_bench(seed, console_db=None)


def stations_only_either_raster(seed: int) -> tuple[Bench, Truth]:
    """The same, odd seeds in a country with a 200 kHz raster."""
    return random_bench(seed, console_db=None, raster_khz=200.0 if seed % 2 else 100.0)


def nothing(seed: int) -> tuple[Bench, Truth]:
    """A radio that receives nothing."""
    return random_bench(seed, console_db=None, stations=(0, 0))


def no_stations(seed: int) -> tuple[Bench, Truth]:
    """A console alone on the dial."""
    return random_bench(seed, stations=(0, 0))


def silent_console(seed: int) -> tuple[Bench, Truth]:
    """5 to 15 stations and a console that plays nothing."""
    return random_bench(seed, console_programmes=("silence",))


def scene_pair(name: str, sentence: str, scene: Scene) -> tuple[Condition, Condition]:
    """A scene as it is walked, and as it is where the switch is not used."""
    return (
        Condition(name, f"{sentence}, as walked", scene, True),
        Condition(f"{name}-no-switch", f"{sentence}, without the switch", scene, False),
    )


CONDITIONS = (
    *scene_pair("dial-100", "dial of 100 kHz", Scene(crowded)),
    *scene_pair("dial-200", "dial of 200 kHz", Scene(crowded_either_raster, 200.0)),
    *scene_pair("stations-100", "stations only, 100 kHz", Scene(stations_only)),
    *scene_pair(
        "stations-200", "stations only, 200 kHz", Scene(stations_only_either_raster, 200.0)
    ),
    Condition("empty", "empty band, 200 kHz, as walked", Scene(nothing, 200.0), True),
    Condition("alone", "no stations, 200 kHz, as walked", Scene(no_stations, 200.0), True),
    *scene_pair("silent", "silent console, 200 kHz", Scene(silent_console, 200.0)),
)
