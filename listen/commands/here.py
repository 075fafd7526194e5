"""Where the console is now, for the commands that go on from a sweep: its answer, and its dial.

From a sweep folder come the sound carrier, the spacing where it was measured, the stations, the
dial's error that they tell, and where the band is open.  Without one, only what was typed.
"""

from dataclasses import dataclass, field, replace
from pathlib import Path

from listen.analysis.answer import Location
from listen.analysis.dialerror import DialError, steady
from listen.commands.options import with_typed
from listen.errors import BadFolder
from listen.radio import Radio

NAMED_OPEN = 3


@dataclass(frozen=True, slots=True)
class Here:
    """What is known before the trimmer is turned.

    sound_mhz       the sound carrier, true; None: not known
    spacing_mhz     sound minus picture, where it was measured
    stations_mhz    dial stops that hear stations
    open_mhz        dial stops of open band, the surest first
    error           of the dial
    """

    radio: Radio
    sound_mhz: float | None = None
    spacing_mhz: float | None = None
    stations_mhz: tuple[float, ...] = ()
    open_mhz: tuple[float, ...] = ()
    error: DialError = field(default_factory=steady)
    answer: Location | None = None


def here_from(
    folder: Path | None, sound_mhz: float | None, band: str | None, step_khz: float | None
) -> Here:
    """What a sweep folder, and what was typed beside it, tell; what was typed goes first.

    Raises BadFolder where a folder does not tell where the console is and nobody typed it.
    """
    here = Here(with_typed(Radio(), band, step_khz)) if folder is None else _read(folder)
    if folder is not None:
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
        f"the sweep in {folder} does not tell where the console is: {here.answer.reason}  "
        f"Sweep again, {instead}"
    )


def _read(folder: Path) -> Here:
    from listen.analysis.locate import locate_measured
    from listen.analysis.measures import measure
    from listen.folder import read_folder
    from listen.terminal import followed

    sweep = read_folder(folder)
    clips = followed(sweep.clips(), len(sweep.stops), "Measuring the stops")
    stops = tuple(measure(clip) for clip in clips)
    answer = locate_measured(stops, sweep.radio, plans=sweep.plans, mains_hz=sweep.mains_hz)
    on = [stop for stop in answer.stops if stop.console == "on"]
    held_mhz = [stop.dial_mhz for stop in on if stop.heard != "hiss"]
    open_mhz = sorted(
        (stop.dial_mhz for stop in on if stop.heard == "hiss"),
        key=lambda mhz: -min((abs(mhz - other) for other in held_mhz), default=0.0),
    )
    return Here(
        sweep.radio,
        answer.sound_carrier_mhz,
        answer.spacing_mhz if answer.spacing_basis == "measured" else None,
        tuple(stop.dial_mhz for stop in on if stop.heard == "station"),
        tuple(open_mhz[:NAMED_OPEN]),
        answer.error,
        answer,
    )
