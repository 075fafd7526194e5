"""The options of `listen trim` alone, each with its help text."""

from pathlib import Path
from typing import Annotated

import typer

Folder = Annotated[
    Path | None,
    typer.Argument(
        metavar="FOLDER", help="A sweep of the console as it is now; tells where it starts."
    ),
]
To = Annotated[str, typer.Option(metavar="PLAN:CHANNEL", help="Where it shall sit; needed.")]
Start = Annotated[
    str | None,
    typer.Option("--from", metavar="MHZ", help="Its sound carrier now, if no sweep tells it."),
]
Wait = Annotated[bool, typer.Option("--wait", help="Wait at the goal; no stops on the way.")]
Trimmer = Annotated[
    str | None,
    typer.Option(metavar="picture|sound", help="Only this one is turned.  [as needed]"),
]
Sound = Annotated[bool, typer.Option("--sound", help="A tone that rises as the carrier comes in.")]
Output = Annotated[
    str | None, typer.Option(metavar="NAME", help="The loudspeaker of that tone.  [default]")
]
Bell = Annotated[bool, typer.Option("--bell", help="Ring when something is to do, or held.")]
SayWith = Annotated[
    str | None,
    typer.Option(metavar="CMD", help="A program that speaks; a sentence is its last argument."),
]
MeterLines = Annotated[
    bool, typer.Option("--meter", help="The meter as lines too, where no terminal shows it.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print each event as a line of JSON.")]
Within = Annotated[float, typer.Option(metavar="KHZ", help="How near is on target.")]
LogFile = Annotated[Path | None, typer.Option(metavar="FILE", help="The log.  [trim-CHANNEL.csv]")]
Replay = Annotated[
    Path | None,
    typer.Option(metavar="TAKE", help="A long recording, or a folder, instead of the line-in."),
]
Marks = Annotated[
    Path | None,
    typer.Option(
        metavar="CSV",
        help="With a take: when the dial was set, an open spot first; see listen split.",
    ),
]
