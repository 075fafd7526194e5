"""`listen split`: one long take with time marks, as a sweep folder."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from listen.channels import mhz_text
from listen.clip import Console
from listen.errors import BadDial, BadFolder
from listen.terminal import say

if TYPE_CHECKING:
    from listen.folder.table import Stop

LONGEST_TAKE = timedelta(days=366)  # the last stop of no take is later than that


def split(
    take: Annotated[
        Path, typer.Argument(metavar="TAKE", help="The recording, the dial turned while it ran.")
    ],
    marks: Annotated[
        Path, typer.Argument(metavar="MARKS", help="When the dial stood where: a small table.")
    ],
    out: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="The sweep folder to make.  [named like the take]"),
    ] = None,
    console: Annotated[
        str, typer.Option(metavar="on|off", help="The console, where a mark does not say.")
    ] = "on",
    turning: Annotated[
        float, typer.Option(metavar="S", help="Seconds left out before each mark: turning.")
    ] = 2.0,
    settle: Annotated[
        float, typer.Option(metavar="S", help="Seconds left out after each mark.")
    ] = 0.7,
    began: Annotated[
        str | None, typer.Option(metavar="TIME", help="When it began, 2026-05-01T14:30:00.")
    ] = None,
) -> None:
    """Make a sweep folder of one long recording and a table of when the dial stood where.

    A row of MARKS is a time and a dial: 1:15,95.75, and on or off behind it for the console.
    It holds until the next row. Or it is start, end and dial, and holds for just that part.
    The recording is copied into the folder as it is; the original is only read.

    Exit status: 0 made, 2 the recording or the marks cannot be used.

    \b
    Example:
      listen split take.wav marks.csv
      listen split take.flac marks.txt --out my-sweep --turning 3
    """
    from listen.folder.audio import lasts_s
    from listen.folder.marks import read_marks, stops_from
    from listen.folder.take import name_in, write_take

    switch = _console(console)
    for name, value_s in (("--turning", turning), ("--settle", settle)):
        if not 0 <= value_s <= 60:
            raise BadDial(f"{name} {value_s:g} came: give seconds, 0 to 60")
    if take.suffix.lower() in (".csv", ".txt", ".tsv"):
        raise BadFolder(f"{take.name} came as the recording: name that first, then the marks")
    take_s = lasts_s(take)
    noted = read_marks(marks)
    stops = stops_from(
        noted,
        name_in(take),
        take_s,
        turning_s=turning,
        settle_s=settle,
        console=switch,
        began=_time(began),
    )
    folder = out if out is not None else take.with_suffix("")
    write_take(folder, take, stops)
    say(f"{_made_words(stops)} are in {folder}.")
    for warning in noted.warnings:
        say(f"Note: {warning}")
    say(f"Next:  listen locate {folder}")


def _made_words(stops: Sequence["Stop"]) -> str:
    """How many stops, where on the dial, and how many of them with the console off."""
    dials_mhz = [stop.dial_mhz for stop in stops]
    low, high = mhz_text(min(dials_mhz)), mhz_text(max(dials_mhz))
    where = f"at {low}" if low == high else f"from {low} to {high}"
    off = sum(stop.console == "off" for stop in stops)
    return (
        f"{len(stops)} stops {where} MHz{f', {off} of them with the console off,' if off else ''}"
    )


def _console(word: str) -> Console:
    if word.lower() not in ("on", "off"):
        raise BadFolder(f"--console {word} came: write on or off")
    return cast(Console, word.lower())


def _time(text: str | None) -> datetime | None:
    if text is None:
        return None
    try:
        began = datetime.fromisoformat(text)
        began + LONGEST_TAKE  # a calendar has an end
    except (ValueError, OverflowError):
        raise BadFolder(f"--began {text} came: write it as 2026-05-01T14:30:00") from None
    return began
