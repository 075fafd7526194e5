"""`listen inputs`: the sound inputs of this machine."""

import json
from typing import Annotated

import typer

from listen.terminal import print_table, say

SCHEMA = "listen.inputs/1"


def inputs(
    as_json: Annotated[bool, typer.Option("--json", help="Print the list as JSON.")] = False,
) -> None:
    """List the sound inputs, one of which the radio is plugged into.

    The number, or any words of the name, is what --input takes elsewhere; the default is used
    where none is given.  Exit status: 0, or 1 where this machine has no sound input.

    \b
    Example:
      listen inputs
    """
    from listen.capture import inputs as all_inputs

    found = all_inputs()
    if as_json:
        rows = [{name: getattr(each, name) for name in each.__slots__} for each in found]
        print(json.dumps({"schema": SCHEMA, "inputs": rows}, indent=2, ensure_ascii=False))
    elif found:
        print_table(
            ("number", "name", "channels", "rate Hz", "through", "default"),
            [
                (
                    str(each.number),
                    each.name,
                    str(each.channels),
                    f"{each.default_rate_hz:.0f}",
                    each.host,
                    "yes" if each.is_default else "",
                )
                for each in found
            ],
        )
    else:
        say("No sound input: plug in a sound card with a line input, then ask again.")
    raise typer.Exit(0 if found else 1)
