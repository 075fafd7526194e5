"""`listen watch`: how the console drifts after it was switched on."""

import contextlib
import sys
from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from listen.capture.linein import Block
from listen.channels import mhz_from
from listen.commands.attend import attend
from listen.commands.benchlog import BenchLog
from listen.commands.dialler import Dialler, Keys, unechoed
from listen.commands.here import Here, here_from, refuse_unknown
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
from listen.commands.prompts import Prompts
from listen.commands.screen import sentence
from listen.commands.trimlog import go_on
from listen.errors import BadFolder, ListenError
from listen.trim import Frame, Say, nearest_stop
from listen.tuner import Command
from listen.watch import Round, Series, Settling, Watcher
from listen.watch.series import LEAST_ROUNDS, SPAN_MIN
from listen.watch.watcher import blind_words, round_words, settled_words

COLUMNS = (
    *("at", "minutes", "offset_khz", "offset_low_khz", "offset_high_khz"),
    *("sound_mhz", "sound_low_mhz", "sound_high_mhz", "stops_mhz", "quieting_db"),
    *("khz_per_min", "settled"),
)
NOT_REPLAYED = (  # change no replay; the rounds themselves tell the stops
    *("every", "lasts", "wanted", "band", "step_khz"),
    *("open_spot", "dwell", "tune_with", "bell"),
)
GO_ON = "Go on with the rounds."
FINER = (
    "None of the stops stands on a cliff, and more rounds like these would hardly settle it: "
    "record rounds with a finer dial step (--step-khz), so that a stop stands on a cliff."
)
KEYS = "Enter in a pause: the next round at once.  q Enter: stop."

Folder = Annotated[
    Path | None, typer.Argument(metavar="FOLDER", help="A sweep of the console; tells where it is.")
]
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
    context: typer.Context,
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
      listen watch --replay rounds
    """
    if replay is not None:
        refuse_idle(context, NOT_REPLAYED)
    refuse_odd("--every", every, 0.0, 60.0, "minutes")
    refuse_odd("--for", lasts, 0.1, 600.0, "minutes")
    refuse_odd_dwell(dwell)
    _refuse_bad(picture)
    typed_mhz = None if at is None else mhz_from(at, "sound carrier")
    here = here_from(folder, typed_mhz, band, step_khz, replay)
    if replay is None:
        refuse_unknown(here, folder, "or type it with --at MHZ")
    for warning in here.warnings:
        sentence(f"Note: {warning}")
    about_mhz = here.sound_mhz or sum(here.radio.band_mhz) / 2
    shown_mhz = here.error.dial_mhz(about_mhz)
    series = Series(here.radio, here.error.at(shown_mhz))
    name = (folder or replay or Path()).resolve().name if folder or replay else ""
    if replay is not None:
        with _drawn(series, picture, name):
            _replayed(replay, series, log, here.sound_mhz)
    else:
        place = nearest_stop(about_mhz, here.radio, 1e3 * (shown_mhz - about_mhz))
        command = None if tune_with is None else Command(tune_with)
        opens = () if open_spot is None else (open_from(open_spot, here.radio),)
        path = log or (folder or Path()) / "drift.csv"
        with _drawn(series, picture, name):
            _live(
                place.dial_mhz,
                here,
                series,
                (*opens, *here.open_mhz),
                path,
                wanted,
                bell,
                (dwell, command),
                (60 * every, 60 * lasts),
            )
    settling = series.settling()
    raise typer.Exit(0 if settling is not None and settling.settled else 1)


def _refuse_bad(picture: Sequence[Path] | None) -> None:
    """Refuse a picture that cannot be drawn before the work, not after it."""
    if picture:
        from listen.picture import checked_paths

        checked_paths(picture)


@contextlib.contextmanager
def _drawn(series: Series, picture: Sequence[Path] | None, name: str) -> Iterator[None]:
    """Whatever ends the watch, its rounds are drawn; the reason of the end stays what it was."""
    try:
        yield
    except BaseException:
        try:
            _draw(series, picture, name)
        except ListenError as why:
            print(f"listen: {why}", file=sys.stderr)
        raise
    _draw(series, picture, name)


def _draw(series: Series, picture: Sequence[Path] | None, name: str) -> None:
    if not picture or not series.rounds:
        return
    if len(series.rounds) == 1:
        sentence("One round alone shows no drift: no picture was drawn.")
        return
    from listen.picture.drift import drift_picture

    first, last = series.rounds[0].sound_mhz, series.rounds[-1].sound_mhz
    title = f"sound carrier on {first:.3f} MHz at first, {last:.3f} MHz at the end"
    title = f"{name}: {title}" if name else title[0].upper() + title[1:]
    drift_picture(series.rounds, picture, series.settling(), title)


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

            def comes(block: Block) -> None:
                watcher.clock(block.arrived_s)
                if block.lost:
                    watcher.lost()

            dialler = Dialler(keys, *dialling)
            attend(watcher, line.blocks(), keys, dialler, view, _nothing, comes)
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


def _replayed(folder: Path, series: Series, log: Path | None, sound_mhz: float | None) -> None:
    """The rounds of a folder: a stop that comes again begins the next one.

    sound_mhz  where the carrier is said to be; None: the rounds alone tell
    """
    from listen.commands.rounds import BESIDE_MHZ, rounds_of

    rounds, left_out = rounds_of(folder)
    stops_mhz = [mhz for one in rounds for mhz in one.heard_db]
    if sound_mhz is not None and not any(abs(mhz - sound_mhz) < BESIDE_MHZ for mhz in stops_mhz):
        raise BadFolder(
            f"no stop of {folder} is near {sound_mhz:g} MHz: name the folder of that console's "
            "rounds alone, without another sweep or --at"
        )
    with contextlib.ExitStack() as stack:
        record = None if log is None else _Log(log)
        if record is not None:
            stack.callback(record.file.close)
        for recorded in rounds:
            minutes = (recorded.at - rounds[0].at).total_seconds() / 60
            one = series.add(minutes, recorded.heard_db)
            sentence(round_words(one))
            if one.minutes == 0 and not one.on_cliff:
                sentence(blind_words(one))
            if record is not None:
                record.add(one, series.settling(), recorded.at)
    for words in left_out:
        sentence(words)
    if not rounds:
        raise BadFolder(f"{folder} holds no round: three stops with their times are needed")
    settling = series.settling()
    if settling is None:
        sentence(
            "Too few rounds, or too short a time, to say whether it has settled: go on for "
            f"{LEAST_ROUNDS} rounds and {SPAN_MIN / 2:g} minutes at least."
        )
    elif settling.settled:
        sentence(settled_words(settling))
    else:
        low, high = settling.interval_95
        blind = not any(one.on_cliff for one in series.rounds[-LEAST_ROUNDS:])
        sentence(
            f"Not settled: {settling.khz_per_min:+.1f} kHz a minute "
            f"(95 %: {low:+.1f} to {high:+.1f}). {FINER if blind else GO_ON}"
        )
