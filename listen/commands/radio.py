"""`listen radio`: what a sweep over stations tells of the radio, kept for later sweeps."""

import json
import shlex
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from listen.terminal import say

if TYPE_CHECKING:
    from listen.analysis.profile import Learned, Mark

PROFILE = "radio.toml"


def radio(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="A sweep folder, walked over some stations.")
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="The profile to write.  [radio.toml, never over another]"
        ),
    ] = None,
    station: Annotated[
        list[str] | None,
        typer.Option(metavar="MHZ", help="A station that is on the air here; repeatable."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Learn passband, misalignment and dial scale of the radio from the stations in a sweep.

    Stations of unknown name calibrate a dial that is off by less than half their raster; beyond
    that one known station is needed. What is learned goes into a profile, for the --radio of a
    later sweep. The folder itself is left as it is.

    Exit status: 0 learned and written, 1 it cannot be told, 2 bad input.

    \b
    Example:
      listen radio my-sweep --station 89.2 --station 101.9
      listen radio my-sweep --out kitchen.toml --json
    """
    from listen.folder import write_profile

    path = out if out is not None else Path(PROFILE)
    _refuse(path, named=out is not None)
    learned = learned_from(folder, station or ())
    if learned.learned:
        write_profile(path, learned.radio, f"{learned.reason} Sweep: {folder.resolve().name}")
    if as_json:
        written = str(path) if learned.learned else None
        print(json.dumps({**learned.as_dict(), "profile": written}, indent=2, ensure_ascii=False))
    else:
        print_learned(learned, path)
    raise typer.Exit(0 if learned.learned else 1)


def learned_from(folder: Path, stations: "list[str] | tuple[str, ...]") -> "Learned":
    """What the recordings of a folder tell, these stations being known beside its own."""
    from listen.analysis.measures import measured
    from listen.analysis.profile import learn_radio
    from listen.channels import mhz_from
    from listen.folder import keep_memory, read_folder
    from listen.terminal import followed

    typed_mhz = [mhz_from(text, "station") for text in stations]  # refused before the work
    keep_memory()
    sweep = read_folder(folder)
    known_mhz = tuple(dict.fromkeys((*sweep.radio.known_stations_mhz, *typed_mhz)))
    clips = followed(sweep.clips(), len(sweep.stops), "Measuring the stops")
    stops, said = measured(clips, sweep.warnings)
    told = replace(sweep.radio, known_stations_mhz=known_mhz)
    return learn_radio(stops, told, mains_hz=sweep.mains_hz, warnings=said)


def _refuse(path: Path, named: bool) -> None:
    """Raises CannotWrite for a place that cannot hold a profile, before the work."""
    from listen.errors import CannotWrite

    if path.exists() and not named:
        raise CannotWrite(f"{path} is there already: name it with --out to write it anew")
    if path.is_dir():
        raise CannotWrite(f"--out {path} is a folder: name a file in it, such as {path / PROFILE}")
    if not path.absolute().parent.is_dir():
        raise CannotWrite(f"--out {path} came, and there is no such folder: make it first")


def print_learned(learned: "Learned", path: Path) -> None:
    """The answer in words, and the stations that it rests on."""
    from listen.channels import mhz_text
    from listen.terminal import print_table

    say(learned.reason if learned.learned else f"Not learned. {learned.reason}")
    if learned.next:
        say(f"Next: {learned.next}")
    low_khz, high_khz = learned.passband_90_khz
    say(f"Passband: {learned.passband_khz:.0f} kHz (90 %: {low_khz:.0f} to {high_khz:.0f}).")
    if learned.errors:
        say(_dial_words(learned))
        say("")
        print_table(
            ("on the dial", "station", "known", "left kHz"),
            [
                (
                    f"{one.dial_mhz:.3f}",
                    mhz_text(round(one.true_mhz, 3)),
                    "yes" if one.known else "by its raster",
                    f"{one.left_khz:+.0f}",
                )
                for one in learned.stations
            ],
        )
    for warning in learned.warnings:
        say(f"Note: {warning}")
    if learned.learned:
        say(f"Written to {path}.")
        say(f"From now on:  listen sweep FOLDER --radio {shlex.quote(str(path))}")
        say("A sweep folder that is there already uses it by its sweep.toml, under [radio]:")
        say(f'  profile = "{path.absolute().as_posix()}"')


def _dial_words(learned: "Learned") -> str:
    """The dial's error as a sentence."""
    low, middle, high = learned.errors
    if learned.radio.dial == "digital":
        return f"Dial: it shows {_off_words(middle)}, everywhere."
    return (
        f"Dial: it shows {_off_words(low)} at {low.dial_mhz:g} MHz, {_off_words(middle)} at "
        f"{middle.dial_mhz:g} and {_off_words(high)} at {high.dial_mhz:g}."
    )


def _off_words(mark: "Mark") -> str:
    way = "too much" if mark.error_khz >= 0 else "too little"
    return f"{abs(mark.error_khz):.0f} kHz {way} (give or take {mark.spread_khz:.0f})"
