"""`listen watch`: how the console drifts after it was switched on."""

import contextlib
import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

import typer

from listen.channels import mhz_from
from listen.commands.attend import attend
from listen.commands.benchlog import BenchLog
from listen.commands.dialler import Dialler, Keys, unechoed
from listen.commands.here import Here, here_from, refuse_unknown
from listen.commands.meter_view import MeterView
from listen.commands.options import Band, OpenSpot, SetS, StepKhz, TuneWith, Wanted
from listen.commands.prompts import Prompts
from listen.commands.screen import sentence
from listen.commands.trimlog import go_on
from listen.errors import BadDial, BadFolder, ListenError
from listen.trim import Frame, Say, nearest_stop
from listen.tuner import Command
from listen.watch import Round, Series, Settling, Watcher
from listen.watch.watcher import round_words, settled_words

COLUMNS = (
    *("at", "minutes", "offset_khz", "offset_low_khz", "offset_high_khz"),
    *("sound_mhz", "sound_low_mhz", "sound_high_mhz", "stops_mhz", "quieting_db"),
    *("khz_per_min", "settled"),
)
KEYS = "Enter in a pause: the next round at once.  q Enter: stop."

Folder = Annotated[Path | None, typer.Argument(help="A sweep of the console; tells where it is.")]
At = Annotated[
    str | None, typer.Option(metavar="MHZ", help="Its sound carrier, if no sweep tells it.")
]
Every = Annotated[float, typer.Option(metavar="MIN", help="From one round to the next, minutes.")]
Lasts = Annotated[
    float, typer.Option("--for", metavar="MIN", help="Stop after so long in any case.")
]
Bell = Annotated[bool, typer.Option("--bell", help="Ring when the dial is wanted.")]
LogFile = Annotated[Path | None, typer.Option(metavar="FILE", help="The log.  [drift.csv]")]
Pictures = Annotated[
    list[Path] | None,
    typer.Option(metavar="FILE", help="Draw the drift here, .png or .svg; repeatable."),
]
Replay = Annotated[
    Path | None,
    typer.Option(metavar="FOLDER", help="Rounds recorded earlier, instead of the line-in."),
]


def watch(
    folder: Folder = None,
    at: At = None,
    every: Every = 2.0,
    lasts: Lasts = 60.0,
    wanted: Wanted = None,
    band: Band = None,
    step_khz: StepKhz = None,
    open_spot: OpenSpot = None,
    dwell: SetS = None,
    tune_with: TuneWith = None,
    bell: Bell = False,
    log: LogFile = None,
    picture: Pictures = None,
    replay: Replay = None,
) -> None:
    """Watch a console drift after it was switched on, and say when it has settled.

    The same three stops are asked for, round after round, since one stop alone confounds a
    carrier that drifts with one that weakens.  Each round gives the offset since the first, in
    kHz, with its interval; it goes to a CSV file and, on request, into a picture.

    Exit status: 0 settled, 1 not or not yet, 2 a fault, 130 stopped.

    \b
    Example:
      listen watch my-sweep --picture drift.png
      listen watch --at 107.72 --every 2 --tune-with 'tune-my-radio {hz}' --open 90.3
      listen watch --at 107.72 --replay rounds
    """
    for name, value, low, high in (("--every", every, 0.0, 60.0), ("--for", lasts, 0.1, 600.0)):
        if not low <= value <= high:
            raise BadDial(f"{name} {value:g} came: give minutes, {low:g} to {high:g}")
    if dwell is not None and not 0.5 <= dwell <= 600:
        raise BadDial(f"--dwell {dwell:g} came: give seconds, 0.5 to 600")
    if picture:
        from listen.picture import checked_paths

        checked_paths(picture)  # refused before the work, not after it
    here = here_from(folder, None if at is None else mhz_from(at, "sound carrier"), band, step_khz)
    sound_mhz = refuse_unknown(here, folder, "or type it with --at MHZ")
    place = nearest_stop(sound_mhz, here.radio, here.dial_error_khz)
    series = Series(here.radio, here.dial_error_khz, here.spread_khz)
    if replay is not None:
        _replayed(replay, series, log)
    else:
        command = None if tune_with is None else Command(tune_with)
        opens = () if open_spot is None else (mhz_from(open_spot, "dial position"),)
        path = log or (folder or Path()) / "drift.csv"
        dialling = (dwell, command)
        times_s = (60 * every, 60 * lasts)
        _live(
            place.dial_mhz,
            here,
            series,
            (*opens, *here.open_mhz),
            path,
            wanted,
            bell,
            dialling,
            times_s,
        )
    settling = series.settling()
    if picture and series.rounds:
        from listen.picture.drift import drift_picture

        drift_picture(series.rounds, picture, settling, "Drift of the sound carrier")
    raise typer.Exit(0 if settling is not None and settling.settled else 1)


class _Log:
    """A row a round."""

    def __init__(self, path: Path) -> None:
        self.file = BenchLog(path, COLUMNS)

    def add(self, one: Round, settling: Settling | None, at: datetime | None) -> None:
        """One round."""
        low, high = one.offset_interval_95_khz
        self.file.add(
            at=None if at is None else at.isoformat(timespec="seconds"),
            minutes=round(one.minutes, 2),
            offset_khz=round(one.offset_khz, 1),
            offset_low_khz=round(low, 1),
            offset_high_khz=round(high, 1),
            sound_mhz=f"{one.sound_mhz:.4f}",
            sound_low_mhz=f"{one.interval_95_mhz[0]:.4f}",
            sound_high_mhz=f"{one.interval_95_mhz[1]:.4f}",
            stops_mhz=" ".join(f"{mhz:g}" for mhz in one.heard_db),
            quieting_db=" ".join(f"{db:.1f}" for db in one.heard_db.values()),
            khz_per_min=None if settling is None else round(settling.khz_per_min, 2),
            settled=None if settling is None else str(settling.settled).lower(),
        )


def _live(
    centre_mhz: float,
    here: Here,
    series: Series,
    open_mhz: Sequence[float],
    path: Path,
    wanted: str | None,
    bell: bool,
    dialling: tuple[float | None, Command | None],
    times_s: tuple[float, float],
) -> None:
    from listen.capture import LineIn, choose

    source = choose(wanted)
    begun = False

    def words() -> str:
        last_mhz = round(series.rounds[-1].sound_mhz, 3) if series.rounds else None
        return go_on(path, "--at", last_mhz)

    try:
        with contextlib.ExitStack() as stack:
            line = stack.enter_context(LineIn(source))
            log = _Log(path)
            stack.callback(log.file.close)
            begun = True
            watcher = Watcher(
                centre_mhz,
                series,
                here.radio,
                line.rate_hz,
                every_s=times_s[0],
                until_s=times_s[1],
                open_mhz=open_mhz,
                stations_mhz=here.stations_mhz,
                on_round=lambda one, settling: log.add(one, settling, datetime.now().astimezone()),
            )
            stack.enter_context(unechoed())
            keys = Keys()
            view = stack.enter_context(MeterView("drift", Prompts(bell)))
            for said in watcher.begin():
                view.say(said)
            view.say(Say("note", f"Heard through {source.name}.  {KEYS}"))
            attend(watcher, line.blocks(), keys, Dialler(keys, *dialling), view, _nothing)
    except KeyboardInterrupt:
        print(f"\nStopped.  {words()}", file=sys.stderr)
        raise typer.Exit(130) from None
    except ListenError as why:
        if not begun:
            raise
        raise type(why)(f"{why}\n{words()}") from why
    sentence(f"The log is in {path}.")


def _nothing(frame: Frame) -> None:
    """Each frame is shown; none is kept."""


def _replayed(folder: Path, series: Series, log: Path | None) -> None:
    """The rounds of a folder: a stop that comes again begins the next one."""
    from listen.commands.rounds import rounds_of

    record: Any = None if log is None else _Log(log)
    try:
        for at, minutes, heard_db in rounds_of(folder):
            one = series.add(minutes, heard_db)
            settling = series.settling()
            sentence(round_words(one))
            if record is not None:
                record.add(one, settling, at)
    finally:
        if record is not None:
            record.file.close()
    settling = series.settling()
    if not series.rounds:
        raise BadFolder(f"{folder} holds no round: three stops with their times are needed")
    if settling is None:
        sentence("Too few rounds, or too short a time, to say whether it has settled.")
    elif settling.settled:
        sentence(settled_words(settling))
    else:
        low, high = settling.interval_95
        sentence(
            f"Not settled: {settling.khz_per_min:+.1f} kHz a minute "
            f"(95 %: {low:+.1f} to {high:+.1f})."
        )
