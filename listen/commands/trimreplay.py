"""A trim guided by a recording instead of the line-in.

The guide hears what was recorded in its order and goes by where the dial was, not by where it
would want it.  Nothing is asked for; what it says is shown, and what is left stands at the end.
A folder whose stops can give no result is refused, with those that it lacks; of a take that
lacks them it is the last line.
"""

import contextlib
from collections.abc import Collection, Sequence
from pathlib import Path

from listen.commands.here import Here
from listen.commands.meter_json import MeterJson
from listen.commands.meter_view import MeterView
from listen.commands.replay import Events, Turned, Unheard, folder_events, take_events
from listen.commands.trimlog import TrimLog
from listen.errors import BadDial, BadFolder
from listen.folder import read_folder
from listen.folder.marks import read_marks
from listen.trim import Guide, Route, Say, stops_needed

NOT_VISITED = (
    "The recording does not visit the picture's stop, so it does not tell which trimmer was turned."
)
ENDS_EARLY = "ends before a step either side told what is left"
AFTERWARDS = "replay a sweep that was made after the trim"


def replayed(
    take: Path,
    marks: Path | None,
    route: Route,
    here: Here,
    within: float,
    log: Path | None,
    view: MeterView | MeterJson,
) -> Guide:
    """The guide, after all that was recorded, or as much of it as it wanted.

    take    a long recording, or a folder
    marks   when the dial was set, of a long recording; None: a folder tells it
    within  how near is on target, kHz
    log     where to; None: nothing is written
    view    where it is shown

    Raises BadDial where there is no recording, no marks for a take, or marks for a folder;
    BadFolder, also for one that lacks a stop without which nothing is measured; CannotRead or
    CannotWrite.
    """
    legs_mhz = [
        stops_needed(leg.place.dial_mhz, here.radio, route.stations_mhz) for leg in route.legs
    ]
    if take.is_dir() and marks is None:
        _refuse_lacking(take, legs_mhz)
    rate_hz, events = _events(take, marks)
    guide = Guide(route, here.radio, rate_hz, within_khz=within, turns_back=False)
    with contextlib.ExitStack() as stack:
        record = None
        if log is not None:
            record = TrimLog(log, live=False)
            stack.callback(record.file.close)
        stack.enter_context(view)
        said: list[Say] = []  # of the replay itself and of the guide, in order

        def say(*more: Say, show: bool = True) -> None:
            said.extend(more)
            for one in more if show else ():
                view.say(one)
                if record is not None:
                    record.say(one)

        visited_mhz: set[float] = set()
        say(*guide.begin())
        for event in events:
            if guide.is_done:
                break
            if isinstance(event, Unheard):
                say(Say("warn", event.why))
                continue
            if isinstance(event, Turned):
                at = "an open spot" if event.dial_mhz is None else f"{event.dial_mhz:g} MHz"
                say(Say("note", f"The dial was set to {at}."))
                guide.dial_set(event.dial_mhz)
                visited_mhz |= set() if event.dial_mhz is None else {event.dial_mhz}
                continue
            for frame in guide.hear(event):
                view.show(frame)
                say(*frame.says, show=False)
                if record is not None:
                    record.frame(frame)
    _result(guide, said[-1].text, _lacks(legs_mhz[-1], visited_mhz) or ENDS_EARLY, view)
    return guide


def _refuse_lacking(folder: Path, legs_mhz: Sequence[tuple[float, ...]]) -> None:
    """Raise BadFolder for a folder that lacks a stop of every trimmer."""
    stops = read_folder(folder).stops
    visited_mhz = {stop.dial_mhz for stop in stops if stop.console != "off"}
    lacks = [_lacks(needed_mhz, visited_mhz) for needed_mhz in legs_mhz]
    if all(lacks):
        raise BadFolder(f"the recording {folder} {lacks[-1]}")


def _result(guide: Guide, last: str, why_not: str, view: MeterView | MeterJson) -> None:
    """Show what is left, unless it was the last thing said, or why nothing is known of it."""
    if guide.left is None:
        view.say(Say("note", f"The recording {why_not}."))
    elif last != guide.result:
        view.say(Say("good" if guide.on_target else "do", guide.result))
    if guide.left is not None and guide.left.on_target and guide.verdict is None:
        view.say(Say("note", NOT_VISITED))


def _lacks(needed_mhz: tuple[float, ...], visited_mhz: Collection[float]) -> str:
    """Which stops a recording lacks, as the end of a sentence; empty where it lacks none.

    needed_mhz  the goal's own first
    """
    goal_mhz, *beside_mhz = needed_mhz
    if goal_mhz not in visited_mhz:
        return f"never visits {goal_mhz:g} MHz, the stop of the goal: {AFTERWARDS}"
    missing = [f"{mhz:g}" for mhz in beside_mhz if mhz not in visited_mhz]
    if not missing:
        return ""
    which, them = ("a stop", "it") if len(missing) == 1 else ("the stops", "them")
    return (
        f"never visits {' and '.join(missing)} MHz, {which} beside the goal's "
        f"{goal_mhz:g}, so what is left cannot be told: {AFTERWARDS} and "
        f"has {them}"
    )


def _events(take: Path, marks: Path | None) -> tuple[int, Events]:
    """The rate of a recording, Hz, and what happened in it, in order."""
    if not take.exists():
        raise BadDial(f"there is no recording {take}: check the name after --replay")
    if take.is_dir():
        if marks is not None:
            raise BadDial(
                f"--marks came with the folder {take}, whose own table tells where the dial stood: "
                "leave --marks out, or name a long take with --replay"
            )
        return folder_events(take)
    if marks is None:
        raise BadDial(f"{take} alone does not tell where the dial stood: add --marks CSV")
    return take_events(take, read_marks(marks))
