"""`listen locate`: from a sweep folder to a named channel."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from listen.analysis.answer import Location

if TYPE_CHECKING:
    from listen.folder import SweepFolder


LONG = 30  # a longer sweep's open-band stops are counted instead of listed


def locate(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="A sweep folder: recordings and a stops.csv.")
    ],
    plan: Annotated[
        list[str] | None,
        typer.Option(metavar="PLAN", help="Consider this channel plan alone; repeatable."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
    every: Annotated[
        bool, typer.Option("--every", help="List the stops that heard hiss alone, too.")
    ] = False,
    picture: Annotated[
        list[Path] | None,
        typer.Option(metavar="FILE", help="Draw the dial strip here, .png or .svg; repeatable."),
    ] = None,
) -> None:
    """Say where the console's sound carrier sits, and which channel that is.

    Reads the recordings of a sweep, one a dial stop, and changes nothing in the folder.
    Exit status: 0 found, 1 not found, 2 the folder cannot be read.

    \b
    Example:
      listen locate samples/imported-console
      listen locate my-sweep --plan au-air --json
      listen locate my-sweep --picture my-sweep.png
    """
    if picture:
        from listen.picture import checked_paths

        checked_paths(picture)  # refused before the work, not after it
    sweep, answer = located(folder, tuple(plan) if plan else None)
    if picture:  # before the words, whose reader may be gone by then
        from listen.picture import dial_strip

        dial_strip(answer, sweep.radio, picture, plans=sweep.plans, title=folder.resolve().name)
    if as_json:
        print(json.dumps(answer.as_dict(), indent=2, ensure_ascii=False))
    else:
        print_location(answer, hiss=every or len(answer.stops) <= LONG)
    raise typer.Exit(0 if answer.found else 1)


def located(folder: Path, plans: Sequence[str] | None = None) -> "tuple[SweepFolder, Location]":
    """A sweep folder as it was read, and the answer that its recordings give."""
    from listen.analysis.locate import locate as answer_of
    from listen.folder import keep_memory, read_folder
    from listen.terminal import followed

    keep_memory()
    sweep = read_folder(folder, plans=plans)
    answer = answer_of(
        followed(sweep.clips(), len(sweep.stops), "Measuring the stops"),
        sweep.radio,
        plans=sweep.plans,
        mains_hz=sweep.mains_hz,
        warnings=sweep.warnings,
    )
    return sweep, answer


def print_location(answer: Location, *, hiss: bool = True) -> None:
    """The answer in words, then what each stop gave.

    hiss  False: stops of the open band alone are counted, not listed
    """
    from listen.channels import mhz_text
    from listen.terminal import print_table, say

    for line in headline(answer):
        say(line)
    say("")
    print_table(
        ("dial MHz", "console", "heard", "clarity", "why"),
        [
            (
                mhz_text(stop.dial_mhz),
                stop.console,
                stop.heard,
                "" if stop.clarity is None else f"{stop.clarity:.0f}",
                stop.why,
            )
            for stop in answer.stops
            if hiss or stop.heard != "hiss" or stop.console == "off"
        ],
    )
    if not hiss:
        open_band = sum(stop.heard == "hiss" and stop.console == "on" for stop in answer.stops)
        say(f"Hiss alone, the open band, at the other {open_band} stops.")
    for warning in answer.warnings:
        say(f"Note: {warning}")


def headline(answer: Location) -> list[str]:
    """The answer as a few lines for a person, most important first."""
    lines = []
    if answer.found and answer.sound_carrier_mhz and answer.interval_95_mhz:
        low_mhz, high_mhz = answer.interval_95_mhz
        lines.append(
            f"Found: the sound carrier is on {answer.sound_carrier_mhz:.3f} MHz "
            f"(95 %: {low_mhz:.3f} to {high_mhz:.3f})."
        )
        if answer.picture_carrier_mhz:
            lines.append(
                f"Picture carrier: {answer.picture_carrier_mhz:.3f} MHz, {answer.picture_basis}."
            )
        for channel in answer.channels:
            lines.append(
                f"  fits {channel.plan}:{channel.channel}  sound {channel.sound_mhz:g}, "
                f"picture {channel.picture_mhz:g}, off by {round(channel.off_by_khz):+d} kHz"
            )
        if not answer.channels:
            lines.append("  fits no channel")
    else:
        lines.append("Not found: no carrier can be named as the console's sound.")
    lines.append(answer.reason)
    if answer.next:
        lines.append(f"Next: {answer.next}")
    return lines
