"""`listen trim`: the live guide at the trimmer."""

import contextlib
import sys
from dataclasses import replace
from pathlib import Path
from typing import Literal, cast

import typer

from listen.capture.linein import Block
from listen.cautions import CAUTIONS, TRIMMING
from listen.channels import Channel, by_name, in_aeronautical_band, mhz_from
from listen.commands.attend import attend
from listen.commands.dialler import Dialler, Keys, unechoed
from listen.commands.here import Here, here_from, refuse_unknown
from listen.commands.meter_json import MeterJson
from listen.commands.meter_view import MeterView
from listen.commands.options import (
    Band,
    OpenSpot,
    SetS,
    StepKhz,
    TuneWith,
    Wanted,
    open_from,
    refuse_idle,
    refuse_odd,
    refuse_odd_dwell,
)
from listen.commands.prompts import Prompts, Speaker
from listen.commands.screen import sentence
from listen.commands.trimlog import TrimLog, go_on
from listen.commands.trimoptions import (
    AsJson,
    Bell,
    Folder,
    LogFile,
    Marks,
    MeterLines,
    Output,
    Replay,
    SayWith,
    Sound,
    Start,
    To,
    Trimmer,
    Wait,
    Within,
)
from listen.errors import BadDial, ListenError
from listen.trim import Ask, Frame, Guide, Route, Say, route_to
from listen.trim.climb import PATIENCE_S
from listen.tuner import Command

SCHEMA = "listen.trim/1"
Shown = MeterView | MeterJson
STILL_S, KEYLESS_S = 15.0, 8.0  # held and still so long, it is measured; where no key can tell
QUICK_S = 6.0  # an empty stop is left sooner where a program tunes
BLOCK_S = 0.01
NOT_REPLAYED = ("wanted", "open_spot", "dwell", "tune_with", "sound", "output")  # change no replay
KEYS = (
    "Enter: at the goal, measure at once; on the way, see where it is.  n Enter: not yet, back to "
    "the goal.  q Enter: stop."
)


def trim(
    context: typer.Context,
    folder: Folder = None,
    to: To = "",
    start: Start = None,
    wait: Wait = False,
    trimmer: Trimmer = None,
    wanted: Wanted = None,
    band: Band = None,
    step_khz: StepKhz = None,
    open_spot: OpenSpot = None,
    dwell: SetS = None,
    tune_with: TuneWith = None,
    sound: Sound = False,
    output: Output = None,
    bell: Bell = False,
    say_with: SayWith = None,
    meter: MeterLines = False,
    as_json: AsJson = False,
    within: Within = 100.0,
    log: LogFile = None,
    replay: Replay = None,
    marks: Marks = None,
) -> None:
    """Guide the trimmer, live, until the sound carrier sits on a channel.

    Says where to set the dial, stop by stop, and shows a meter that follows the trimmer: clarity,
    warmer or colder, passed the peak, hold.  It notices from the order of what it hears if the
    carrier runs the wrong way.  At the goal, once the trimmer is left alone, it asks for one step
    of the dial either side and says what is left, in kHz; on target, it ends by itself.  With
    --dwell no key is needed.  A log is written beside the sweep.

    Exit status: 0 on target, 1 not or not sure, 2 a fault, 130 stopped.

    \b
    Example:
      listen trim my-sweep --to au-air:4
      listen trim --to au-air:4 --from 107.72 --sound --bell
      listen trim my-sweep --to au-air:4 --say-with 'my-speaker --slowly'
      listen trim --to au-air:4 --wait --tune-with 'tune-my-radio {hz}' --open 90.3
      listen trim --to au-air:4 --from 107.72 --replay take.flac --marks marks.csv
    """
    if replay is not None:
        refuse_idle(context, NOT_REPLAYED)
    goal = _goal(to)
    if marks is not None and replay is None:
        raise BadDial("--marks came without a recording: name the take with --replay TAKE")
    refuse_odd("--within", within, 1.0, 1000.0, "kHz")
    here = _here(folder, start, (band, step_khz), open_spot, wait, replay)
    route = _route(goal, here, trimmer, wait)
    speaker = None if say_with is None else Speaker(say_with)
    prompts = Prompts(bell, speaker, sys.stderr if as_json else sys.stdout)
    view = MeterJson(prompts) if as_json else MeterView(f"goal {goal.name}", prompts, lines=meter)
    for warning in here.warnings:
        view.say(Say("note", f"Note: {warning}"))
    if replay is not None:
        from listen.commands.trimreplay import replayed

        guide = replayed(replay, marks, route, here, within, log, view)
        _ended(view, guide, log if as_json else None)
    else:
        path = log or (folder or Path()) / f"trim-{goal.name.replace(':', '-')}.csv"
        means = _Means(wanted, dwell, tune_with, sound, output)
        _caution(goal, view)
        guide = _live(route, here, within, path, means, view)
        _ended(view, guide, path)
    prompts.finish()
    raise typer.Exit(0 if guide.on_target else 1)


def _here(
    folder: Path | None,
    start: str | None,
    typed: tuple[str | None, float | None],
    open_spot: str | None,
    wait: bool,
    replay: Path | None,
) -> Here:
    start_mhz = None if start is None else mhz_from(start, "sound carrier")
    here = here_from(folder, start_mhz, *typed, replay)
    if not wait:
        refuse_unknown(here, folder, "type it with --from MHZ, or --wait at the goal")
    if open_spot is None:
        return here
    return replace(here, open_mhz=(open_from(open_spot, here.radio), *here.open_mhz))


def _route(goal: Channel, here: Here, trimmer: str | None, wait: bool) -> Route:
    if trimmer not in (None, "picture", "sound"):
        raise BadDial(f"--trimmer {trimmer} came: name picture or sound, the trimmer to be turned")
    return route_to(
        goal,
        here.radio,
        from_mhz=here.sound_mhz,
        spacing_mhz=here.spacing_mhz,
        trimmer=cast(Literal["picture", "sound"] | None, trimmer),
        wait=wait,
        stations_mhz=here.stations_mhz,
        error=here.error,
    )


def _caution(goal: Channel, view: Shown) -> None:
    for caution in _cautions(goal):
        if isinstance(view, MeterJson):
            view.say(Say("note", f"Caution: {caution}"))
        else:
            sentence(f"Caution: {caution}")


class _Means:
    """How it is heard, tuned and told."""

    def __init__(
        self,
        wanted: str | None,
        dwell: float | None,
        tune_with: str | None,
        sound: bool,
        output: str | None,
    ) -> None:
        from listen.capture import choose

        refuse_odd_dwell(dwell)
        self.dwell = dwell
        self.command = None if tune_with is None else Command(tune_with)
        self.sound, self.output = sound or output is not None, output
        self.source = choose(wanted)  # before the cautions: without an input they are in vain


def _goal(to: str) -> Channel:
    if not to:
        raise BadDial("where to was not said: name a channel, as in --to au-air:4")
    return by_name(to)


def _cautions(goal: Channel) -> tuple[str, ...]:
    more: tuple[str, ...] = ()
    if in_aeronautical_band(goal.sound_mhz) or in_aeronautical_band(goal.picture_mhz):
        more = (
            f"{goal.name} has a carrier between 108 and 137 MHz, where aircraft navigate and "
            "speak: a modulator may stay there only in shielded cable, its can closed.",
        )
    return (*more, *CAUTIONS, *TRIMMING)


def _last_mhz(guide: Guide | None) -> float | None:
    return None if guide is None else guide.carries_on_from_mhz


def _ended(view: Shown, guide: Guide, log: Path | None) -> None:
    """The last line: what came of it for a program, where the log is for a person."""
    if isinstance(view, MeterJson):
        left, goal = guide.left, guide.route.goal
        ends = None if left is None else [round(khz, 1) for khz in left.interval_95_khz]
        view.result(
            schema=SCHEMA,
            target={"plan": goal.plan, "channel": goal.label, "sound_mhz": goal.sound_mhz},
            on_target=guide.on_target,
            left_khz=None if left is None else round(left.left_khz, 1),
            left_interval_95_khz=ends,
            sound_carrier_mhz=None if left is None else round(left.sound_mhz, 4),
            moved=guide.moved or None,
            log=None if log is None else str(log),
        )
    elif log is not None:
        sentence(f"The log is in {log}.")


def _live(route: Route, here: Here, within: float, path: Path, means: _Means, view: Shown) -> Guide:
    """Guide by the line-in."""
    from listen.capture import LineIn
    from listen.capture.cue import Cue

    guide: Guide | None = None
    try:
        with contextlib.ExitStack() as stack:
            line = stack.enter_context(LineIn(means.source, block_s=BLOCK_S, low_delay=True))
            record = TrimLog(path, live=True)
            stack.callback(record.file.close)
            keyless = means.dwell is not None or means.command is not None
            guide = Guide(
                route,
                here.radio,
                line.rate_hz,
                within_khz=within,
                open_mhz=here.open_mhz,
                still_s=KEYLESS_S if keyless else STILL_S,
                patience_s=QUICK_S if means.command else PATIENCE_S,
            )
            cue = stack.enter_context(Cue(means.output)) if means.sound else None
            stack.enter_context(unechoed())
            keys = Keys()
            dialler = Dialler(keys, means.dwell, means.command)
            stack.enter_context(view)
            for said in guide.begin():
                view.say(said)
                record.say(said)
            through = Say("note", f"Heard through {means.source.name}.  {KEYS}")
            view.say(through)
            record.say(through)

            def heard(frame: Frame) -> None:
                record.frame(frame)
                if cue is not None:
                    cue.set(frame.clarity)

            def comes(block: Block) -> None:
                if block.lost:
                    guide.lost()

            def asks(ask: Ask) -> None:
                record.say(Say("do", f"{ask.where}  {ask.why}"))

            attend(
                *(guide, line.blocks(), keys, dialler, view, heard, comes, asks),
                not_yet=guide.not_yet,
            )
    except KeyboardInterrupt:
        print(f"\nStopped.  {go_on(path, '--from', _last_mhz(guide))}", file=sys.stderr)
        raise typer.Exit(130) from None
    except ListenError as why:
        if guide is None:
            raise
        raise type(why)(f"{why}\n{go_on(path, '--from', _last_mhz(guide))}") from why
    return guide
