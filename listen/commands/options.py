"""The options that several live commands share, each with its one help text."""

from typing import Annotated

import typer

Wanted = Annotated[
    str | None, typer.Option("--input", help="Number or words of the name; see listen inputs.")
]
Band = Annotated[
    str | None, typer.Option(metavar="LOW-HIGH", help="The radio's band, MHz.  [87.5-108]")
]
StepKhz = Annotated[float | None, typer.Option(metavar="KHZ", help="The radio's step.  [100]")]
OpenSpot = Annotated[
    str | None, typer.Option("--open", metavar="MHZ", help="A dial stop that roars.")
]
SetS = Annotated[
    float | None, typer.Option(metavar="S", help="Time to set the dial when told; needs no key.")
]
TuneWith = Annotated[
    str | None,
    typer.Option(metavar="CMD", help="A program that tunes: 'prog {hz}', {khz}, {mhz}."),
]
