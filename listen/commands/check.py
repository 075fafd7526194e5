"""`listen check`: is the line-in fit to measure a radio by?"""

import json
from typing import Annotated, Any

import typer

from listen.analysis.linecheck import SHORTEST_S, LineCheck
from listen.capture import Input
from listen.commands.options import Wanted
from listen.errors import BadClip, SamplesLost
from listen.terminal import print_table, say

SCHEMA = "listen.check/1"
LONGEST_S = 60.0
SETTLE_S = 0.3  # a stream's first moments may hold a click


def check(
    wanted: Wanted = None,
    seconds: Annotated[float, typer.Option(metavar="S", help="How long to listen.")] = 5.0,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Listen to the line-in for a few seconds and say whether it is fit for a sweep.

    Tune the radio to an open spot, where no station is and it roars.  Level, clipping, dead
    channels, DC, mains hum, and whether the system alters the sound are reported, each with
    what to do.  Exit status: 0 fit, 1 not fit, 2 a fault.

    \b
    Example:
      listen check --input "line in" --seconds 5
    """
    from listen.capture import choose

    if not SHORTEST_S <= seconds <= LONGEST_S:
        raise BadClip(
            f"--seconds {seconds:g} came: the line check needs {SHORTEST_S:g} to {LONGEST_S:g}"
        )
    checked, source = _checked(choose(wanted), seconds, quiet=as_json)
    if as_json:
        print(json.dumps(as_dict(checked, source), indent=2, ensure_ascii=False))
    else:
        print_check(checked, source)
    raise typer.Exit(0 if checked.fit else 1)


def _checked(source: Input, seconds: float, quiet: bool) -> tuple[LineCheck, Input]:
    from listen.analysis.linecheck import check_line
    from listen.capture import LineIn
    from listen.commands.screen import has_keys, read_line, recording

    with LineIn(source) as line:
        if not quiet:
            say("Tune the radio to an open spot, where no station is and it roars.")
            say("Hiss is loud: headphones off.")
            if has_keys():
                read_line("Enter when it roars: ")
        for tries_left in (2, 1, 0):
            line.skip(SETTLE_S)
            try:
                if quiet:
                    samples = line.record(seconds)
                else:
                    with recording(seconds, "listening") as on_block:
                        samples = line.record(seconds, on_block)
                break
            except SamplesLost:
                if not tries_left:
                    raise
        return check_line(samples, line.rate_hz), source


def print_check(checked: LineCheck, source: Input) -> None:
    """The verdict first, then each finding with what to do, then the numbers."""
    fit = "not fit for a sweep as it is"
    if checked.fit:
        warned = any(each.weight == "warning" for each in checked.findings)
        fit = "fit for a sweep, with a warning" if warned else "fit for a sweep"
    say(f"{source.name}: {fit}.")
    for each in checked.findings:
        say(f"{each.weight.capitalize()}: {each.says}")
        if each.do:
            say(f"  What to do: {each.do}.")
    say("")
    print_table(
        ("channel", "level dBFS", "peak dB", "DC %", "clipped a second"),
        [
            (
                str(number),
                f"{each.rms_dbfs:.1f}",
                f"{each.peak_db:.1f}",
                f"{100 * each.dc:+.2f}",
                f"{each.flattened_per_s:.1f}",
            )
            for number, each in enumerate(checked.channels, 1)
        ],
    )


def as_dict(checked: LineCheck, source: Input) -> dict[str, Any]:
    """The answer as plain values, in the order docs/line-in.md gives them."""
    hum = checked.hum
    return {
        "schema": SCHEMA,
        "input": source.name,
        "fit": checked.fit,
        "duration_s": round(checked.duration_s, 3),
        "sample_rate_hz": checked.sample_rate_hz,
        "channels": [
            {
                "level_dbfs": round(each.rms_dbfs, 2),
                "peak_db": round(each.peak_db, 2),
                "dc": round(each.dc, 5),
                "flattened_per_s": round(each.flattened_per_s, 2),
            }
            for each in checked.channels
        ],
        "likeness": _rounded(checked.likeness),
        "hum_hz": None if hum is None else hum.mains_hz,
        "hum_dbfs": None if hum is None else _rounded(hum.once_dbfs),
        "hum_twice_dbfs": None if hum is None else _rounded(hum.twice_dbfs),
        "moving_db": _rounded(checked.moving_db),
        "fading_db": _rounded(checked.fading_db),
        "top_db": _rounded(checked.top_db),
        "evenness": _rounded(checked.evenness),
        "findings": [
            {"kind": each.kind, "weight": each.weight, "says": each.says, "do": each.do or None}
            for each in checked.findings
        ],
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)
