"""`listen destinations`: which channels are worth moving the modulator to."""

import json
import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from listen.channels import mhz_text
from listen.commands.locate import located
from listen.terminal import fits, print_table, say

if TYPE_CHECKING:
    from listen.analysis.destanswer import Destination, Destinations

LEFT_OUT = {
    "aeronautical": "{count} in or beside 108 to 137 MHz, where aircraft navigate and speak",
    "am": "{count} with AM sound, which an FM modulator does not give",
    "far": "{count} further than the {within:g} MHz that --within allows",
}
SOUND = {"fits": "yes", "trim": "after trimming", "none": "no", "unknown": "not known"}
TROUBLE = ("none", "in the channel", "near picture or sound")


def destinations(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="A sweep folder: recordings and a stops.csv.")
    ],
    sets: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="PLAN", help="A plan that your television has; repeatable."),
    ] = None,
    plan: Annotated[
        list[str] | None,
        typer.Option(
            metavar="PLAN", help="Where the console is looked for, as in locate; repeatable."
        ),
    ] = None,
    within: Annotated[
        float, typer.Option(metavar="MHZ", help="How far its trimmer may go, either way.")
    ] = 15.0,
    most: Annotated[
        int, typer.Option(metavar="COUNT", help="How many are explained in words.")
    ] = 3,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Rank the channels worth moving the modulator to, for the television you have.

    From where the console is and what the sweep heard: whether the set makes sound of it,
    whether the radio can verify the move, which stations stand there, how far it is. Channels
    in the band of aircraft, 108 to 137 MHz, are never proposed.

    Exit status: 0 there is one with sound, 1 there is none or no console was found, 2 bad input.

    \b
    Example:
      listen destinations samples/imported-console --set au-air
      listen destinations my-sweep --set us-air --set us-cable-std --json
    """
    from listen.analysis.destinations import destinations as ranked
    from listen.channels import plan as plan_named
    from listen.errors import BadDial

    for name in sets or ():
        plan_named(name)  # refused before the work, not after it
    if not 0 < within <= 1000:
        raise BadDial(f"--within {within:g} came: give how far to move in MHz, up to 1000")
    if not 0 <= most <= 1000:
        raise BadDial(f"--most {most} came: give how many to explain, 0 to 1000")
    sweep, location = located(folder, tuple(plan) if plan else None)
    answer = ranked(
        location, sweep.radio, tuple(sets or ()), within_mhz=within, folder=shlex.quote(str(folder))
    )
    if as_json:
        print(json.dumps(answer.as_dict(), indent=2, ensure_ascii=False))
    else:
        print_destinations(answer, most)
    raise typer.Exit(0 if answer.found else 1)


def print_destinations(answer: "Destinations", most: int) -> None:
    """The answer in words: the best, all in a table, the first few explained."""
    place = answer.location
    say(answer.reason)
    if answer.next:
        say(f"Next: {answer.next}")
    if place.found and place.sound_carrier_mhz is not None:
        on = ", ".join(f"{one.plan}:{one.channel}" for one in place.channels) or "no channel"
        say(f"Now: sound carrier on {place.sound_carrier_mhz:.3f} MHz, {on}.")
    if answer.ranked:
        say("")
        _print_ranked(answer.ranked)
    for one in answer.ranked[:most]:
        say(f"\n{one.channel.name}")
        for sentence in one.reasons:
            say(f"  {sentence}")
    unsaid = len(answer.ranked) - most
    if unsaid > 0:
        say(f"\n{unsaid} more in the table: --most {len(answer.ranked)} explains them all.")
    if answer.left_out:
        said = (
            LEFT_OUT[why].format(count=len(those), within=answer.within_mhz)
            for why, those in answer.left_out
        )
        say(f"\nLeft out: {'; '.join(said)}.")
    for warning in answer.warnings:
        say(f"Note: {warning}")


def _print_ranked(ranked: "tuple[Destination, ...]") -> None:
    """The table; where that is wider than the terminal, without what the channel's name tells."""
    heads = ("channel", "system", "picture", "sound", "move MHz", "has sound", "radio", "stations")
    columns = list(zip(heads, zip(*map(_row, ranked), strict=True), strict=True))
    whole = fits(columns)
    if not whole:
        columns = [one for one in columns if one[0] not in ("system", "picture", "sound")]
    headers, cells = zip(*columns, strict=True)
    print_table(headers, list(zip(*cells, strict=True)))
    if not whole:
        say("Without systems and carriers: a wider terminal, or --json, shows them.")


def _row(one: "Destination") -> tuple[str, ...]:
    return (
        one.channel.name,
        one.channel.system,
        mhz_text(one.channel.picture_mhz),
        mhz_text(one.channel.sound_mhz),
        f"{one.move_khz / 1e3:+.2f}",
        SOUND[one.fit.sound],
        one.check.how if one.check else "cannot",
        "not known" if one.trouble == 1 and not one.stations else TROUBLE[one.trouble],
    )
