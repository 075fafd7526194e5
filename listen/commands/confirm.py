"""`listen confirm`: two sweep folders, before and after a trimmer was turned."""

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from listen.analysis.answer import Location
from listen.analysis.confirmation import Confirmation
from listen.errors import BadDial, BadFolder

if TYPE_CHECKING:
    from listen.analysis.measures import Measures


def confirm(
    before: Annotated[Path, typer.Argument(metavar="BEFORE", help="The sweep folder made before.")],
    after: Annotated[Path, typer.Argument(metavar="AFTER", help="The sweep folder made after.")],
    to: Annotated[
        str | None,
        typer.Option(metavar="PLAN:CHANNEL", help="The channel it should be on now."),
    ] = None,
    within: Annotated[
        float | None, typer.Option(metavar="KHZ", help="How near it is on target.  [100]")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Say whether a console's sound carrier moved, by how much, and whether it is on target.

    Give a sweep made before its trimmer was turned and one made after, with the same radio: then
    the dial's own error cancels. The change is given with the interval that it lies in with 95 %.
    Exit status: 0 moved, or with --to on target; 1 no, or it cannot be told; 2 a folder cannot be
    read.

    \b
    Example:
      listen confirm samples/imported-console samples/moved-console
      listen confirm samples/imported-console samples/moved-console --to au-air:4 --json
    """
    if within is not None and to is None:
        raise BadDial(f"--within {within:g} came without --to: name the channel that it is near to")
    answer = confirmed(before, after, to, within)
    if as_json:
        print(json.dumps(answer.as_dict(), indent=2, ensure_ascii=False))
    else:
        print_confirmation(answer)
    raise typer.Exit(0 if answer.yes else 1)


def confirmed(
    before: Path, after: Path, to: str | None, within_khz: float | None = None
) -> Confirmation:
    """The answer that the recordings of two folders give."""
    from listen.analysis.confirm import WITHIN_KHZ, checked_target, confirm_measured
    from listen.analysis.confirmwords import of_both
    from listen.analysis.measures import measured
    from listen.folder import read_folder
    from listen.terminal import followed

    within_khz = WITHIN_KHZ if within_khz is None else within_khz
    target = checked_target(to, within_khz)  # refused before the work, not after it
    sweeps = [read_folder(folder) for folder in (before, after)]
    notes = []
    stops = []
    for name, sweep in zip(("before", "after"), sweeps, strict=True):
        clips = followed(sweep.clips(), len(sweep.stops), f"Measuring the sweep {name}")
        one, said = measured(clips, sweep.warnings)
        stops.append(one)
        notes.append(said)
    if _same_sound(*stops):
        raise BadFolder(
            f"{before} and {after} hold the same recordings: give the sweep made before the "
            "trimmer was turned, and then the one made after"
        )
    first, second = sweeps
    plans = {*(first.plans or ()), *(second.plans or ())} if first.plans and second.plans else None
    return confirm_measured(
        stops[0],
        stops[1],
        first.radio,
        radio_after=second.radio,
        to=target,
        within_khz=within_khz,
        plans=None if plans is None else sorted(plans),
        mains_hz=sorted({*first.mains_hz, *second.mains_hz}),
        warnings=of_both(*notes),
    )


def _same_sound(before: Sequence["Measures"], after: Sequence["Measures"]) -> bool:
    """Whether the stops of two sweeps are the same recordings, whatever the files are called."""
    heard = [
        [repr(replace(stop, file="", at=None)) for stop in stops if stop.hiss is not None]
        for stops in (before, after)
    ]
    return bool(heard[0]) and heard[0] == heard[1]  # as words, since nan is not itself


def print_confirmation(answer: Confirmation) -> None:
    """The answer in words, most important first."""
    from listen.terminal import print_table, say

    for line in headline(answer):
        say(line)
    say("")
    print_table(
        ("sweep", "sound carrier MHz", "95 %", "picture MHz", "heard"),
        [_row(name, place) for name, place in (("before", answer.before), ("after", answer.after))],
    )
    for warning in answer.warnings:
        say(f"Note: {warning}")


def headline(answer: Confirmation) -> list[str]:
    """The answer as a few lines for a person."""
    from listen.analysis.confirmwords import TURNED, carriers_words, target_words

    word = {True: "Moved.", False: "Not moved.", None: "Cannot tell."}[answer.moved]
    lines = [f"{word} {answer.reason}"]
    if answer.target is not None:
        lines.append(target_words(answer))
    carriers = carriers_words(answer)
    if carriers:
        lines.append(carriers)
    if answer.turned:
        lines.append(TURNED[answer.turned])
    if answer.put_back:
        lines.append(answer.put_back)
    if answer.next:
        lines.append(f"Next: {answer.next}")
    return lines


def _row(name: str, place: Location) -> tuple[str, str, str, str, str]:
    """A sweep's line of the table."""
    if place.sound_carrier_mhz is None or place.interval_95_mhz is None:
        return name, "not found", "", "", ""
    low_mhz, high_mhz = place.interval_95_mhz
    picture = place.picture_carrier_mhz
    return (
        name,
        f"{place.sound_carrier_mhz:.3f}",
        f"{low_mhz:.3f} to {high_mhz:.3f}",
        "" if picture is None else f"{picture:.3f} ({place.picture_basis})",
        str(place.heard_as),
    )
