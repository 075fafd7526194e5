"""`listen sweep`: walk the dial with a person or a program, and answer at the end."""

import sys
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from listen.analysis.answer import Location
from listen.capture import LineIn, choose
from listen.cautions import CAUTIONS
from listen.channels import mhz_from
from listen.clip import Clip, Console
from listen.commands.again import this_again
from listen.commands.begun import settled
from listen.commands.ears import Ears
from listen.commands.locate import located, print_location
from listen.commands.options import (
    Band,
    StepKhz,
    TuneWith,
    Wanted,
    refuse_odd,
    refuse_odd_dwell,
    with_typed,
)
from listen.commands.screen import big, has_keys, read_line, sentence, wait
from listen.commands.weighing import Weighing
from listen.errors import BadDial, ListenError
from listen.folder import FolderWriter, SweepSettings, read_profile
from listen.radio import Radio, refuse_odd_marks
from listen.sweep import (
    Ask,
    ListPlanner,
    Outlook,
    Planner,
    ThinkingPlanner,
    Visited,
    dial_stops,
    reason_for,
    walk,
)
from listen.tuner import Command, Dwell, Person, Tuner, Turn

BELOW_ALL_MHZ = 60.0  # no FM band reaches down to here: it is what stood behind a comma
SAME_MHZ = 5e-5  # closer than this is the same stop

Folder = Annotated[
    Path, typer.Argument(metavar="FOLDER", help="Where the sweep is written, or goes on.")
]
Low = Annotated[
    str | None,
    typer.Option("--from", metavar="MHZ", help="Every step from here, else the low end..."),
]
High = Annotated[
    str | None, typer.Option("--to", metavar="MHZ", help="...to here, else to the high end.")
]
Stops = Annotated[
    str | None, typer.Option(metavar="MHZ,MHZ,...", help="These dial positions only.")
]
Plans = Annotated[
    list[str] | None,
    typer.Option(metavar="PLAN", help="Only round this plan's channels; may be repeated."),
]
Every = Annotated[bool, typer.Option("--every", help="Visit every step of the whole band.")]
AtMost = Annotated[
    int | None, typer.Option(metavar="STOPS", help="Be done after so many stops in any case.")
]
Seconds = Annotated[float, typer.Option(metavar="S", help="Length of each recording.")]
Settle = Annotated[float, typer.Option(metavar="S", help="Seconds left out after each step.")]
DwellS = Annotated[
    float | None, typer.Option(metavar="S", help="Time to turn the dial; needs no key.")
]
Profile = Annotated[
    Path | None,
    typer.Option("--radio", metavar="FILE", help="The radio's profile, from listen radio."),
]
Mains = Annotated[int | None, typer.Option(metavar="50|60", help="Mains rate here.  [both]")]


def sweep(
    folder: Folder,
    wanted: Wanted = None,
    band: Band = None,
    step_khz: StepKhz = None,
    profile: Profile = None,
    low: Low = None,
    high: High = None,
    stops: Stops = None,
    plan: Plans = None,
    every: Every = False,
    at_most: AtMost = None,
    seconds: Seconds = 3.0,
    settle: Settle = 0.7,
    dwell: DwellS = None,
    tune_with: TuneWith = None,
    mains: Mains = None,
) -> None:
    """Walk the dial stop by stop, record the radio at each, and say where the console is.

    Each next stop is chosen to settle the question soonest; --every, --from, --to and --stops
    visit what they name instead.
    Each stop is on disk before the next is asked for.  Ctrl-C stops at any moment; the same
    command goes on from there.  Exit status: 0 found, 1 not found, 2 a fault, 130 stopped.

    \b
    Example:
      listen sweep my-sweep --plan jp-air --step-khz 100
      listen sweep my-sweep --from 95 --to 96.5 --tune-with 'tune-my-radio {hz}'
    """
    _refuse_odd(seconds, settle, dwell, at_most)
    _tuner(dwell, tune_with, "on")  # a command that cannot work is refused before all else
    typed = with_typed(_profiled(profile), band, step_khz)
    settings = settled(
        folder, SweepSettings(typed, _mains_hz(mains), tuple(plan) if plan else None)
    )
    refuse_odd_marks(settings.radio)
    positions = _positions(settings.radio, low, high, stops, settings.plans, every)
    listed = every or (low, high, stops) != (None, None, None)
    source = choose(wanted)
    kept = _Kept(folder)
    try:
        with LineIn(source) as line:
            kept.writer = FolderWriter.open(folder, settings)
            tuner = _tuner(dwell, tune_with, kept.last_console())
            ears = Ears(line, seconds, settle, None if dwell or tune_with else read_line)
            _introduce(kept, source.name, positions, listed)
            walk(
                _planner(kept, settings, positions if listed else None, every, at_most),
                lambda ask: _tune(tuner, ask, kept),
                lambda ask: ears.hear(ask.dial_mhz, ask.console),
                kept.keep,
                kept.visited(),
            )
        if kept.switched_off:
            big("\nSwitch the console ON again.")
        answer = _answer(kept)
    except KeyboardInterrupt:
        print(f"\nStopped.  {kept.words()}", file=sys.stderr)
        raise typer.Exit(130) from None
    except ListenError as why:
        if kept.writer is None:  # nothing had begun
            raise
        raise type(why)(f"{why}\n{kept.words()}") from why
    raise typer.Exit(0 if answer is not None and answer.found else 1)


class _Kept:
    """What is in the folder, and how to say so."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.writer: FolderWriter | None = None
        self.weighing: Weighing | None = None  # for a planner that looks into what was heard
        self.switched_off = False  # by whoever was asked to, in this walk

    def looking(self, settings: SweepSettings) -> Callable[[], Outlook]:
        """What a planner looks through: all that was kept, and all that will be."""
        self.weighing = (
            Weighing.of_folder(self.folder)
            if self.visited()
            else Weighing(settings.radio, settings.mains_hz, settings.plans)
        )
        return self.weighing.look

    def keep(self, ask: Ask, clip: Clip) -> None:
        assert self.writer is not None  # the walk begins after it was opened
        self.switched_off = ask.console == "off"
        self.writer.add(clip.samples, clip.sample_rate_hz, ask.dial_mhz, ask.console, clip.at)
        if self.weighing is not None:
            self.weighing.add(clip)

    def visited(self) -> tuple[Visited, ...]:
        stops = self.writer.stops if self.writer else ()
        return tuple(Visited(stop.dial_mhz, stop.console) for stop in stops)

    def last_console(self) -> Console:
        visited = self.visited()
        return visited[-1].console if visited else "on"

    def last_dial_mhz(self) -> float | None:
        visited = self.visited()
        return visited[-1].dial_mhz if visited else None

    def words(self) -> str:
        count = len(self.visited())
        if not count:
            return f"Nothing was recorded yet.  To begin again:  {this_again()}"
        stops = "1 stop is" if count == 1 else f"{count} stops are"
        return f"{stops} kept in {self.folder}.  To go on:  {this_again()}"


def _planner(
    kept: _Kept,
    settings: SweepSettings,
    positions: Sequence[float] | None,
    every: bool,
    at_most: int | None,
) -> Planner:
    """What chooses the stops: a list of them, or, where there is none, what was heard."""
    if positions is None:
        dial = dial_stops(settings.radio, every=True)
        return ThinkingPlanner(dial, kept.looking(settings), settings.plans, at_most)
    why = partial(reason_for, plans=settings.plans, every=every)
    return ListPlanner(positions, why, lambda: _switch_at(kept.folder), at_most)


def _introduce(kept: _Kept, input_name: str, positions: Sequence[float], listed: bool) -> None:
    if kept.visited():
        count = len(kept.visited())
        there = "1 stop is" if count == 1 else f"{count} stops are"
        sentence(f"Going on with {kept.folder}: {there} there already.")
    else:
        for caution in CAUTIONS:
            sentence(f"Caution: {caution}")
        sentence(
            "Radio in mono, tone flat; set the volume once where it roars, then leave it alone.  "
            "Console on, with sound playing."
        )
    where = f"{min(positions):g} to {max(positions):g} MHz"
    if not listed:
        sentence(
            f"Heard through {input_name}.  Each stop is chosen by what was heard at those before, "
            "until the console is found and proved."
        )
    elif len(positions) == 1:
        sentence(f"One stop, heard through {input_name}.")
    else:
        sentence(f"{len(positions)} stops from {where}, heard through {input_name}.")


def _tune(tuner: Tuner, ask: Ask, kept: _Kept) -> Turn:
    sentence("")
    if ask.console != kept.last_console():
        stands_mhz = kept.last_dial_mhz()
        there = stands_mhz is not None and abs(stands_mhz - ask.dial_mhz) < SAME_MHZ
        dial = "leave the dial" if there else "then set the dial"
        big(f"Switch the console {ask.console.upper()}, {dial}.")
    left = "" if ask.left is None else f"   ({ask.left} left)"
    big(f"Dial to {ask.dial_mhz:g} MHz, console {ask.console}.{left}")
    sentence(f"  {ask.why}")
    turn = tuner.tune(ask.dial_mhz, ask.console)
    if turn == "skip":
        sentence("  Left out.")
    elif turn == "back":
        sentence(
            "  Once more, the stop before.  The first recording stays too: if the dial stood "
            "wrong then, delete its line in stops.csv."
        )
    return turn


def _tuner(dwell: float | None, tune_with: str | None, console: Console) -> Tuner:
    person: Tuner = (
        Dwell(dwell, lambda duration_s: wait(duration_s, "turn the dial"))
        if dwell
        else Person(read_line)
    )
    if tune_with is None:
        return person
    hands = person if dwell or has_keys() else None
    return Command(tune_with, switch=hands, console=console)


def _switch_at(folder: Path) -> float | None:
    """The dial stop at which the console's switch would settle most, or None."""
    sentence("\nLooking at what was heard...")
    return located(folder)[1].switch_at_mhz


def _answer(kept: _Kept) -> Location | None:
    if not kept.visited():
        sentence("Every stop was left out: there is nothing to answer from.")
        return None
    sentence("")
    _, answer = located(kept.folder)
    print_location(answer)
    sentence(f"The sweep is in {kept.folder}.  To see this again:  listen locate {kept.folder}")
    return answer


def _refuse_odd(seconds: float, settle: float, dwell: float | None, at_most: int | None) -> None:
    refuse_odd("--seconds", seconds, 0.5, 120.0, "seconds")
    refuse_odd("--settle", settle, 0.0, 30.0, "seconds")
    refuse_odd_dwell(dwell)
    if at_most is not None and at_most < 1:
        raise BadDial(f"--at-most {at_most} came: a sweep needs one stop at least")


def _profiled(profile: Path | None) -> Radio:
    """What a radio's own profile tells of it; what was typed beats that."""
    radio, warnings = (Radio(), ()) if profile is None else read_profile(profile)
    for warning in warnings:
        sentence(f"Note: {warning}")
    return radio


def _mains_hz(mains: int | None) -> tuple[float, ...]:
    if mains not in (None, 50, 60):
        raise BadDial(f"--mains {mains} came: mains run at 50 or at 60 Hz")
    return () if mains is None else (float(mains),)


def _positions(
    radio: Radio,
    low: str | None,
    high: str | None,
    stops: str | None,
    plans: Sequence[str] | None,
    every: bool,
) -> tuple[float, ...]:
    """The stops that the options ask for.  Raises BadDial where they contradict the band."""
    if stops is not None:
        parts = [part for part in stops.split(";" if ";" in stops else ",") if part.strip()]
        named = tuple(dict.fromkeys(mhz_from(part, "dial position") for part in parts))
        if ";" not in stops and any(mhz < BELOW_ALL_MHZ for mhz in named):
            raise BadDial(
                f"--stops {stops} came: with decimal commas put semicolons between the positions, "
                "as in 95,5;95,6"
            )
        if not named:
            raise BadDial("--stops names no dial position: give them in MHz, as in 95.5,95.6")
        _refuse_outside(radio, named)
        return named
    if low is not None or high is not None:
        ends = radio.band_mhz
        first = ends[0] if low is None else mhz_from(low, "dial position")
        last = ends[1] if high is None else mhz_from(high, "dial position")
        _refuse_outside(radio, (first, last))
        if first > last:
            raise BadDial(f"--from {first:g} --to {last:g} came: give the lower end first")
        return dial_stops(radio, every=True, part_mhz=(first, last))
    return dial_stops(radio, plans=plans, every=every)


def _refuse_outside(radio: Radio, positions: Sequence[float]) -> None:
    low_mhz, high_mhz = radio.band_mhz
    outside = [mhz for mhz in positions if not low_mhz <= mhz <= high_mhz]
    if outside:
        raise BadDial(
            f"{outside[0]:g} MHz is not on a dial from {low_mhz:g} to {high_mhz:g} MHz: name "
            "the radio's band with --band"
        )
