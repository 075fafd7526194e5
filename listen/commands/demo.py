"""`listen demo`: the whole job once, on a bench that is simulated from end to end."""

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Protocol

import typer

from listen.analysis.answer import Location
from listen.cautions import CAUTIONS
from listen.channels import by_name
from listen.clip import Clip
from listen.commands.again import typed
from listen.commands.confirm import confirmed, headline
from listen.commands.locate import located, print_location
from listen.commands.screen import big, level_bar, level_of, sentence
from listen.errors import CannotWrite
from listen.folder import FolderWriter, SweepSettings
from listen.radio import Radio
from listen.sweep import Ask, ListPlanner, dial_stops, reason_for, walk
from listen.terminal import on_terminal

PLAN = "au-air"
BEFORE, AFTER = f"{PLAN}:5", f"{PLAN}:4"
DWELL_S = 0.8
COARSE_KHZ, FINE_KHZ = 200.0, 100.0
SAID_EVERY = 20  # stops, where output is piped
MOST_NAMES = 1000
SIMULATED = "console, stations, radio and line-in are simulated, no sound was recorded"


@dataclass(frozen=True, slots=True)
class Part:
    """One of the two sweeps: its folder's name, the title of its picture, and its stops."""

    name: str
    title: str
    moved: bool
    stops: tuple[float, ...]


class OnStop(Protocol):
    """Shows that a stop was heard."""

    def __call__(self, ask: Ask, clip: Clip) -> None:
        """Called once a stop."""


def demo(
    folder: Annotated[
        Path,
        typer.Argument(
            metavar="FOLDER", help="Where it is left; a number is added if that is taken."
        ),
    ] = Path("listen-demo"),
) -> None:
    """Show the whole job on a simulated bench: sweep, answer, picture, and a moved console.

    Console, stations, radio and line-in are simulated; no sound is played or recorded, and
    no sound hardware is needed.  Exit status: 0 found, 1 not found, 2 a fault.

    \b
    Example:
      listen demo
      listen demo my-first-look
    """
    home = _fresh(folder)
    radio = _radio()
    sentence(
        "This is a demonstration: the console, the local stations, the radio and its line-in "
        "are all simulated.  Nothing is played or recorded."
    )
    sentence(
        "The story: a console bought in Australia puts out its picture on channel 5, and a "
        "local station on 101.9 MHz, close to its picture carrier, lays a pattern over it.  "
        "Where is it now, and does it sit on channel 4 once its trimmer was turned?"
    )
    sentence(f"Before you open a real console, read docs/cautions.md.  First of all: {CAUTIONS[0]}")
    try:
        found = _both(home, radio)
    except KeyboardInterrupt:
        print(f"\nStopped.  What was made so far is left in {home}.", file=sys.stderr)
        raise typer.Exit(130) from None
    raise typer.Exit(0 if found else 1)


def _both(home: Path, radio: Radio) -> bool:
    """The two sweeps and what the second says of the first; whether both found the console."""
    fine = dial_stops(radio, FINE_KHZ, (PLAN,))
    whole = tuple(sorted({*dial_stops(radio, COARSE_KHZ, every=True), *fine}))
    before = _part(home, radio, Part("before", "Before: as it came", False, whole))
    sentence(
        "\nNow the trimmer is turned (simulated too), and the dial is walked once more, round "
        "the channels of the Australian plan alone."
    )
    after = _part(home, radio, Part("after", "After: its trimmer turned", True, fine))
    sentence("")
    first, *more = _moved_words(home)
    big(first)
    for line in more:
        sentence(line)
    _what_next(home)
    return before.found and after.found


def _fresh(folder: Path) -> Path:
    """The folder, or the same name with a number where that is taken."""
    if folder.exists() and not folder.is_dir():
        raise CannotWrite(f"{folder} is a file: give the name of a folder that is not there yet")
    for number in range(1, MOST_NAMES):
        home = folder if number == 1 else folder.with_name(f"{folder.name}-{number}")
        if not home.exists() and not home.is_symlink():
            return home
    raise CannotWrite(
        f"{folder} and {MOST_NAMES - 2} numbered names after it are taken: give another name"
    )


def _radio() -> Radio:
    """What the owner of the simulated radio knows of it."""
    return Radio(
        step_khz=FINE_KHZ, stated=frozenset(("band_mhz", "dial", "step_khz", "raster_khz"))
    )


def _part(home: Path, radio: Radio, part: Part) -> Location:
    """Walk the dial of the simulated bench, then read the folder back and answer from it."""
    from listen.picture import dial_strip
    from listen.simulate.hands import Hands
    from listen.simulate.scenarios import demo_bench

    folder = home / part.name
    notes = f"Written by listen demo: {SIMULATED}."
    settings = SweepSettings(radio, (50.0,), (PLAN,), notes)
    hands = Hands(demo_bench(part.moved), DWELL_S)
    writer = FolderWriter.create(folder, settings)

    def keep(ask: Ask, clip: Clip) -> None:
        writer.add(clip.samples, clip.sample_rate_hz, ask.dial_mhz, ask.console, clip.at)
        heard(ask, clip)

    planner = ListPlanner(
        part.stops,
        lambda mhz: reason_for(mhz, (PLAN,)),
        lambda: located(folder)[1].switch_at_mhz,
    )
    first, last = part.stops[0], part.stops[-1]
    sentence(
        f"\nSweep {part.name}: {len(part.stops)} stops from {first:g} to {last:g} MHz, "
        "then with the console off where that settles most."
    )
    with _progress(len(part.stops)) as heard:
        walk(
            planner,
            lambda ask: hands.tune(ask.dial_mhz, ask.console),
            lambda ask: hands.hear(ask.dial_mhz, ask.console),
            keep,
        )
    sweep, answer = located(folder)
    sentence("")
    print_location(answer, hiss=False)
    drawn = [folder / "dial-strip.png", folder / "dial-strip.svg"]
    dial_strip(answer, sweep.radio, drawn, plans=sweep.plans, title=f"{part.title} (simulated)")
    sentence(f"The sweep is in {folder}, the dial strip in {drawn[0]} and {drawn[1].name}.")
    return answer


@contextmanager
def _progress(stops: int) -> Iterator[OnStop]:
    """A bar that fills stop by stop, with dial and level; plain lines where piped.

    Off checks come after the stops, and how many they are nobody knows before.
    """
    done = 0
    if not on_terminal():

        def line(ask: Ask, clip: Clip) -> None:
            nonlocal done
            if ask.console == "off":
                sentence(f"  console off, dial at {ask.dial_mhz:g} MHz")
                return
            done += 1
            if done % SAID_EVERY == 0 or done == stops:
                sentence(f"  {done} of {stops} stops, dial at {ask.dial_mhz:g} MHz")

        yield line
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (
        TextColumn("{task.description}"),
        BarColumn(30),
        MofNCompleteColumn(),
        TextColumn("{task.fields[level]}"),
    )
    with Progress(*columns) as progress:
        task = progress.add_task("Dial", total=stops, level="")

        def move(ask: Ask, clip: Clip) -> None:
            words = f"{ask.dial_mhz:6.2f} MHz, console {ask.console}"
            level = level_bar(*level_of(clip.samples), progress.console.width)
            if ask.console == "off":
                progress.update(task, total=(progress.tasks[task].total or 0) + 1)
            progress.update(task, advance=1, description=words, level=level)

        yield move


def _moved_words(home: Path) -> list[str]:
    """What `listen confirm` says of the two folders, and how far it should have moved."""
    from listen.analysis.confirmwords import distance_text

    answer = confirmed(home / "before", home / "after", AFTER)
    nominal_mhz = by_name(AFTER).sound_mhz - by_name(BEFORE).sound_mhz
    planned = f"From {BEFORE} to {AFTER} it is {distance_text(1e3 * nominal_mhz)}."
    return [*headline(answer), planned]


def _what_next(home: Path) -> None:
    sentence(f"\nAll of it is left in {home}, in ordinary files.  ({SIMULATED.capitalize()}.)")
    sentence("To try next:")
    before, after = str(home / "before"), str(home / "after")
    sound_mhz = f"{by_name(BEFORE).sound_mhz:g}"
    tries: Sequence[tuple[str, str]] = (
        (typed(["locate", before]), "the same answer, from the folder"),
        (typed(["confirm", before, after, "--to", AFTER]), "moved, and how far"),
        (typed(["channels", "--sound", sound_mhz]), "what else has that carrier"),
        (typed(["inputs"]), "what this computer can record from"),
        (typed(["sweep", "my-sweep"]), "the same with your own radio and console"),
    )
    width = max(len(command) for command, _ in tries)
    for command, words in tries:
        sentence(f"  {command.ljust(width)}   {words}")
