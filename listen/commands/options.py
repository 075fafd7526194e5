"""The options that several live commands share, each with its one help text and its one meaning."""

from collections.abc import Collection
from dataclasses import replace
from typing import Annotated

import typer

from listen.channels import band_from, mhz_from
from listen.errors import BadDial
from listen.radio import Radio, usual_raster_khz

Wanted = Annotated[
    str | None,
    typer.Option("--input", metavar="NAME", help="Number or words of the name; see listen inputs."),
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


def with_typed(radio: Radio, band: str | None, step_khz: float | None) -> Radio:
    """The radio with what --band and --step-khz say of it.  Raises BadDial."""
    if band is not None:
        radio = replace(radio, band_mhz=band_from(band), stated=radio.stated | {"band_mhz"})
        if "raster_khz" not in radio.stated:
            radio = replace(radio, raster_khz=usual_raster_khz(radio.band_mhz))
    if step_khz is not None:
        radio = replace(radio, step_khz=step_khz, stated=radio.stated | {"step_khz"})
    return radio


def refuse_odd(option: str, value: float | None, low: float, high: float, unit: str) -> None:
    """Raises BadDial for a number outside its range, or none; None: the option was not given."""
    if value is not None and not low <= value <= high:
        raise BadDial(f"{option} {value:g} came: give {unit}, {low:g} to {high:g}")


def refuse_idle(context: typer.Context, idle: Collection[str]) -> None:
    """Raises BadDial, which names them, for options that were typed and change no replay.

    idle  the options' names as parameters of the command
    """
    typed = [
        parameter.opts[0]
        for parameter in context.command.params
        if parameter.name in idle and _is_typed(context, parameter.name)
    ]
    if typed:
        *others, last = typed
        names = f"{', '.join(others)} and {last}" if others else last
        raise BadDial(
            f"{names} came with --replay and would change nothing: what is recorded is heard as it "
            f"is, with no line-in, dial or trimmer to attend to; leave {'them' if others else 'it'}"
            " out"
        )


def _is_typed(context: typer.Context, name: str) -> bool:
    """Whether an option stands on the command line, its default or any other value."""
    source = context.get_parameter_source(name)
    return source is not None and source.name == "COMMANDLINE"


def open_from(text: str, radio: Radio) -> float:
    """The dial stop, MHz, that somebody typed as open band.  Raises BadDial off the dial."""
    open_mhz = mhz_from(text, "dial position")
    refuse_odd("--open", open_mhz, *radio.band_mhz, "a stop of this dial in MHz")
    return open_mhz


def refuse_odd_dwell(dwell_s: float | None) -> None:
    """Raises BadDial for a --dwell that nobody can turn a dial in."""
    refuse_odd("--dwell", dwell_s, 0.5, 600.0, "seconds")
