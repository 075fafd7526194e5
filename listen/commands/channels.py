"""`listen channels`: the published channel plans, looked up both ways."""

import json
from collections.abc import Iterable, Sequence
from typing import Annotated, Any, cast

import typer

from listen.channels import (
    Channel,
    OnDial,
    Oscillator,
    am_sound_on,
    band_from,
    by_name,
    by_picture,
    by_sound,
    citation,
    citations,
    clauses,
    heard_on,
    in_aeronautical_band,
    mhz_from,
    mhz_text,
    off_by_khz,
    plans,
)
from listen.channels import channels as table
from listen.errors import BadDial
from listen.terminal import fits, on_terminal, print_table, say

SCHEMA = "listen.channels/1"
WITHIN_KHZ = 150.0  # as far off as `listen locate` still names a channel
DIALS_MHZ = (64.0, 108.0)  # the widest FM dial: listen/data/fm_bands.csv


def channels(
    name: Annotated[
        str | None,
        typer.Argument(metavar="NAME", help="A channel, us-air:6, or a whole plan, us-air."),
    ] = None,
    sound: Annotated[
        str | None, typer.Option(metavar="MHZ", help="Its sound carrier is near this.")
    ] = None,
    picture: Annotated[
        str | None, typer.Option(metavar="MHZ", help="Its picture carrier is near this.")
    ] = None,
    within: Annotated[float, typer.Option(metavar="KHZ", help="How near is near.")] = WITHIN_KHZ,
    heard_on: Annotated[
        str | None,
        typer.Option(metavar="LOW-HIGH", help="An FM dial of this band, in MHz, can hear it."),
    ] = None,
    oscillator: Annotated[
        str | None,
        typer.Option(metavar="above|below", help="With --heard-on: images of this side only."),
    ] = None,
    plan: Annotated[
        list[str] | None,
        typer.Option(metavar="PLAN", help="Only this plan; may be given several times."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")] = False,
) -> None:
    """Look up television channels: by name, by carrier, or by what an FM dial can hear.

    With nothing asked it lists the plans. What is asked narrows together: a plan and a
    carrier give the channels of that plan with that carrier.

    Exit status: 0 something fits, 1 nothing fits, 2 what was asked cannot be read.

    \b
    Example:
      listen channels us-air:6
      listen channels --sound 95.75
      listen channels --heard-on 87.5-108 --plan au-air --plan jp-air
    """
    if oscillator is not None and heard_on is None:
        raise BadDial(
            f"--oscillator {oscillator} came alone: give the dial too, --heard-on LOW-HIGH"
        )
    sound_mhz = None if sound is None else mhz_from(sound, "sound carrier")
    picture_mhz = None if picture is None else mhz_from(picture, "picture carrier")
    among = near(named(name, plan), sound_mhz, picture_mhz, within)
    if heard_on is not None:
        show_dial(band_from(heard_on), oscillator, among, as_json)
    elif sound_mhz is not None or picture_mhz is not None:
        show_near(among, sound_mhz, picture_mhz, within, as_json)
    elif name is not None and ":" in name and among:
        show_one(among[0], within, as_json)
    elif name is None and not plan:
        show_plans(as_json)
    else:
        show_list(among, as_json)


def named(name: str | None, only: Sequence[str] | None) -> list[Channel]:
    """The channels that a name and the plans asked for have in common."""
    wanted = table(only or None)
    if name is None:
        return list(wanted)
    whole = ":" not in name and name.strip().lower() in {one.name for one in plans()}
    those = table(name) if whole else (by_name(name),)
    return [channel for channel in those if channel in wanted]


def near(
    among: list[Channel], sound_mhz: float | None, picture_mhz: float | None, within_khz: float
) -> list[Channel]:
    """Those with their carriers near the ones given, the nearest sound first."""
    if picture_mhz is not None:
        among = [channel for channel in by_picture(picture_mhz, within_khz) if channel in among]
    if sound_mhz is not None:
        among = [channel for channel in by_sound(sound_mhz, within_khz) if channel in among]
    return among


def show_plans(as_json: bool) -> None:
    """Every plan, where it holds and how many channels it has."""
    if as_json:
        print_json(plans=[plan.as_dict() for plan in plans()])
        return
    print_table(
        ("plan", "systems", "channels", "region"),
        [(p.name, " ".join(p.systems), str(p.channels), p.region) for p in plans()],
    )


def show_list(among: Sequence[Channel], as_json: bool) -> None:
    """The channels of the plans asked for."""
    reason = None if among else "No channel fits: NAME and --plan have no channel in common."
    if as_json:
        print_json(channels=[c.as_dict() for c in among], sources=sources(among), reason=reason)
    elif among:
        print_channels(among)
    finish(reason, as_json)


def show_one(channel: Channel, within_khz: float, as_json: bool) -> None:
    """One channel, what an FM dial makes of it, who shares its sound, where it is published."""
    shared = [c for c in by_sound(channel.sound_mhz, within_khz) if c != channel]
    heard = [one for one in heard_on(*DIALS_MHZ) if one.channel == channel]
    if as_json:
        print_json(
            channels=[channel.as_dict()],
            heard=[place(one) for one in heard],
            shares_sound=[with_offs(c, channel.sound_mhz, None) for c in shared],
            sources=sources([channel, *shared]),
            reason=None,
        )
        return
    print_channels([channel])
    say("")
    say(f"Where: {channel.region}.")
    say(on_dials(channel, heard))
    if caution(channel):
        say("Caution: a carrier in the air band, 108 to 137 MHz, of aircraft: keep it in cable.")
    for key, gave in clauses(channel.source):
        say(f"Source ({key}{gave and ', '}{gave}): {citation(key)}")
    if shared:
        say("")
        say(f"Sound carriers within {within_khz:g} kHz of this one:")
        print_channels(shared, channel.sound_mhz)


def show_near(
    among: Sequence[Channel],
    sound_mhz: float | None,
    picture_mhz: float | None,
    within_khz: float,
    as_json: bool,
) -> None:
    """The channels near a carrier, and how far each is off."""
    reason = None if among else none_near(sound_mhz, picture_mhz, within_khz)
    if as_json:
        print_json(
            channels=[with_offs(c, sound_mhz, picture_mhz) for c in among],
            sources=sources(among),
            reason=reason,
        )
    elif among:
        print_channels(among, sound_mhz, picture_mhz)
    finish(reason, as_json)


def show_dial(
    band_mhz: tuple[float, float], oscillator: str | None, among: Sequence[Channel], as_json: bool
) -> None:
    """What an FM dial hears of these channels, and which it cannot play."""
    wanted = set(among)
    side = cast(Oscillator | None, oscillator)  # heard_on refuses any other word
    heard = [one for one in heard_on(*band_mhz, side) if one.channel in wanted]
    deaf = [channel for channel in am_sound_on(*band_mhz) if channel in wanted]
    low_mhz, high_mhz = band_mhz
    reason = None
    if not heard:
        reason = (
            f"No channel asked for is heard on an FM dial from {low_mhz:g} to {high_mhz:g} MHz."
        )
    if as_json:
        print_json(
            heard=[one.as_dict() for one in heard],
            am_sound=[channel.as_dict() for channel in deaf],
            sources=sources([*(one.channel for one in heard), *deaf]),
            reason=reason,
        )
    elif heard:
        print_heard(heard)
    if deaf and not as_json:
        names = ", ".join(channel.name for channel in deaf)
        say(f"Not heard: the sound of {names} is AM, which an FM radio cannot play.")
    finish(reason, as_json)


def print_channels(
    among: Sequence[Channel], sound_mhz: float | None = None, picture_mhz: float | None = None
) -> None:
    """A row a channel; a terminal leaves out what its width has no room for, and that is said."""
    columns: list[tuple[str, list[str]]] = [
        ("channel", [c.name for c in among]),
        ("system", [c.system for c in among]),
        ("picture MHz", [mhz_text(c.picture_mhz) for c in among]),
        ("sound MHz", [mhz_text(c.sound_mhz) for c in among]),
    ]
    edges = [
        ("from MHz", [mhz_text(c.low_mhz) for c in among]),
        ("to MHz", [mhz_text(c.high_mhz) for c in among]),
    ]
    offs = []
    if sound_mhz is not None:
        off = [f"{off_by_khz(sound_mhz, c.sound_mhz):+.1f}" for c in among]
        offs.append(("sound off kHz", off))
    if picture_mhz is not None:
        off = [f"{off_by_khz(picture_mhz, c.picture_mhz):+.1f}" for c in among]
        offs.append(("picture off kHz", off))
    notes = [("note", [note(c) or "-" for c in among])]
    asides = notes if not on_terminal() or any(map(note, among)) else []
    sources = [("source", [c.source for c in among])]
    left_out = []
    if not fits(columns + edges + offs + asides + sources, whole=True):
        sources, left_out = [], ["sources"]
        if offs and not fits(columns + edges + offs + asides):
            edges, left_out = [], ["band edges", "sources"]
    headers, cells = zip(*columns, *edges, *offs, *asides, *sources, strict=True)
    print_table(headers, list(zip(*cells, strict=True)))
    if left_out:
        say(f"Without {' and '.join(left_out)}: a wider terminal, or --json, shows them.")


def print_heard(heard: Iterable[OnDial]) -> None:
    """A row a carrier, as the dial meets them in each of the three ways."""
    headers = ("dial MHz", "heard as", "oscillator", "channel", "picture MHz", "sound MHz", "note")
    rows = [
        (
            *(mhz_text(one.dial_mhz), one.how, one.oscillator or "-", one.channel.name),
            *(mhz_text(one.channel.picture_mhz), mhz_text(one.channel.sound_mhz)),
            note(one.channel) or "-",
        )
        for one in heard
    ]
    print_table(headers, rows)


def on_dials(channel: Channel, heard: Sequence[OnDial]) -> str:
    """What the widest FM dial hears of one channel, as a sentence."""
    low_mhz, high_mhz = DIALS_MHZ
    words = {
        "sound": "its sound at {} MHz",
        "picture": "its picture, a buzz without a tune, at {} MHz",
        "image": "the image of its sound at {} MHz if the oscillator runs {} the dial",
    }
    places = [words[one.how].format(mhz_text(one.dial_mhz), one.oscillator) for one in heard]
    deaf = " Its sound is AM, which an FM radio cannot play." if channel.sound == "AM" else ""
    if not places:
        return f"No FM dial from {low_mhz:g} to {high_mhz:g} MHz hears it.{deaf}"
    return f"On an FM dial that reaches so far: {'; '.join(places)}.{deaf}"


def none_near(sound_mhz: float | None, picture_mhz: float | None, within_khz: float) -> str:
    """Why nothing was listed, as a sentence."""
    asked = [
        f"its {what} within {within_khz:g} kHz of {mhz_text(mhz)} MHz"
        for what, mhz in (("sound", sound_mhz), ("picture", picture_mhz))
        if mhz is not None
    ]
    return f"No channel asked for has {' and '.join(asked)}; --within KHZ looks further."


def caution(channel: Channel) -> bool:
    """Whether a carrier of it lies in the aeronautical band."""
    return any(map(in_aeronautical_band, (channel.picture_mhz, channel.sound_mhz)))


def note(channel: Channel) -> str:
    """What one should know of a channel before tuning to it, in a few words."""
    notes = ["AM sound"] if channel.sound == "AM" else []
    return "; ".join([*notes, "air band"] if caution(channel) else notes)


def with_offs(
    channel: Channel, sound_mhz: float | None, picture_mhz: float | None
) -> dict[str, Any]:
    """A channel as plain values, with how far the carriers asked for are off, kHz."""
    answer = channel.as_dict()
    if sound_mhz is not None:
        answer["off_by_khz"] = off_by_khz(sound_mhz, channel.sound_mhz)
    if picture_mhz is not None:
        answer["picture_off_by_khz"] = off_by_khz(picture_mhz, channel.picture_mhz)
    return answer


def place(one: OnDial) -> dict[str, Any]:
    """Where a dial hears it, without the channel again."""
    return {"how": one.how, "dial_mhz": one.dial_mhz, "oscillator": one.oscillator}


def sources(among: Iterable[Channel]) -> dict[str, str]:
    """Every source of these channels, written out."""
    return {key: text for c in among for key, text in citations(c.source).items()}


def print_json(**answer: Any) -> None:
    """The answer under its schema, as JSON."""
    print(json.dumps({"schema": SCHEMA} | answer, indent=2, ensure_ascii=False))


def finish(reason: str | None, as_json: bool) -> None:
    """Exit with 1, and a sentence where people read, if nothing fits."""
    if reason is None:
        return
    if not as_json:
        say(reason)
    raise typer.Exit(1)
