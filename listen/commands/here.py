"""Where the console is now, for the commands that go on from a sweep: its answer, and its dial.

From a sweep folder come the sound carrier, the spacing where it was measured, the stations, the
dial's error that they tell, the dial's step, where the band is open, and the warnings.  Without
one, only what was typed, and a digital dial's usual error; a folder that is replayed says which
radio it was.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from math import gcd
from pathlib import Path
from typing import TYPE_CHECKING

from listen.analysis.answer import Location
from listen.analysis.dialerror import DialError, steady
from listen.analysis.raster import BELIEVED_KHZ
from listen.commands.options import with_typed
from listen.errors import BadFolder
from listen.radio import Radio

if TYPE_CHECKING:
    from listen.folder.reader import SweepFolder

NAMED_OPEN = 3
STEPS_KHZ = (5, 200)  # of digital dials: common practice


def _believed() -> DialError:
    """A digital dial's error before anything was heard on it."""
    return steady(0.0, BELIEVED_KHZ)


@dataclass(frozen=True, slots=True)
class Here:
    """What is known before the trimmer is turned.

    sound_mhz       the sound carrier, true; None: not known
    spacing_mhz     sound minus picture, where it was measured
    stations_mhz    dial stops that hear stations
    open_mhz        dial stops of open band, the surest first
    error           of the dial
    warnings        sentences on the sweep and on what it leaves open
    """

    radio: Radio
    sound_mhz: float | None = None
    spacing_mhz: float | None = None
    stations_mhz: tuple[float, ...] = ()
    open_mhz: tuple[float, ...] = ()
    error: DialError = field(default_factory=_believed)
    answer: Location | None = None
    warnings: tuple[str, ...] = ()


def here_from(
    folder: Path | None,
    sound_mhz: float | None,
    band: str | None,
    step_khz: float | None,
    replay: Path | None = None,
) -> Here:
    """What a sweep folder, and what was typed beside it, tell; what was typed goes first.

    replay  what is heard instead of the line-in; a folder tells its radio where no sweep does

    Raises BadFolder where a folder cannot be read.
    """
    here = Here(Radio()) if folder is None else _read(folder)
    if replay is not None and replay.is_dir():
        from listen.folder import read_folder

        recorded = read_folder(replay)
        if folder is None:
            here = replace(here, radio=_with_step(recorded))
        news = (line for line in recorded.warnings if line not in here.warnings)
        here = replace(here, warnings=(*here.warnings, *news))
    here = replace(here, radio=with_typed(here.radio, band, step_khz))
    if sound_mhz is not None:
        here = replace(here, sound_mhz=sound_mhz)
    return here


def refuse_unknown(here: Here, folder: Path | None, instead: str) -> float:
    """The sound carrier.  Raises BadFolder, which says what to do, where it is not known."""
    if here.sound_mhz is not None:
        return here.sound_mhz
    if folder is None or here.answer is None:
        raise BadFolder(f"nothing says where the console is now: name its sweep folder, {instead}")
    raise BadFolder(
        f"the sweep in {folder} does not tell where the console is, so sweep again, {instead}.  "
        f"What was found there: {here.answer.reason}"
    )


def step_of(stops_mhz: Iterable[float], radio: Radio) -> float | None:
    """The step of a dial that made these stops, kHz: the widest with which it reaches them all.

    None where they tell none: a pointer's, a single stop's, or none that a digital dial has.
    """
    if radio.dial == "analogue":
        return None
    step_khz = gcd(*(round(1e3 * (mhz - radio.band_mhz[0])) for mhz in stops_mhz))
    return float(step_khz) if STEPS_KHZ[0] <= step_khz <= STEPS_KHZ[1] else None


def _with_step(sweep: "SweepFolder") -> Radio:
    """A sweep's radio, its step by the stops where nobody stated it."""
    radio = sweep.radio
    if radio.step_khz is not None:
        return radio
    return replace(radio, step_khz=step_of((stop.dial_mhz for stop in sweep.stops), radio))


def _read(folder: Path) -> Here:
    from listen.analysis.locate import locate_measured
    from listen.analysis.measures import measure
    from listen.folder import keep_memory, read_folder
    from listen.terminal import followed

    keep_memory()
    sweep = read_folder(folder)
    clips = followed(sweep.clips(), len(sweep.stops), "Measuring the stops")
    stops = tuple(measure(clip) for clip in clips)
    answer = locate_measured(
        stops,
        sweep.radio,
        plans=sweep.plans,
        mains_hz=sweep.mains_hz,
        warnings=sweep.warnings,
    )
    on = [stop for stop in answer.stops if stop.console == "on"]
    held_mhz = [stop.dial_mhz for stop in on if stop.heard != "hiss"]
    open_mhz = sorted(
        (stop.dial_mhz for stop in on if stop.heard == "hiss"),
        key=lambda mhz: -min((abs(mhz - other) for other in held_mhz), default=0.0),
    )
    return Here(
        _with_step(sweep),
        answer.sound_carrier_mhz,
        answer.spacing_mhz if answer.spacing_basis == "measured" else None,
        tuple(stop.dial_mhz for stop in on if stop.heard == "station"),
        tuple(open_mhz[:NAMED_OPEN]),
        answer.error,
        answer,
        answer.warnings,
    )
