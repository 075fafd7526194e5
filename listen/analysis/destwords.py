"""A destination in sentences: how far, what the set makes of it, how it is verified, who is there.

Sentences are for a person at a bench; numbers are MHz with two decimals at most, or kHz.

What it gives
-------------
reasons        what speaks for and against one channel
headline       the whole in one sentence
next_step      the one thing to do
set_warnings   what holds for the set as a whole
"""

from collections.abc import Sequence
from math import ceil, floor

from listen.analysis.destanswer import Destination, Near
from listen.analysis.modulator import standard_spacing_mhz
from listen.analysis.setfit import ConsoleSignal
from listen.channels import system
from listen.radio import Radio


def reasons(one: Destination, console: ConsoleSignal, radio: Radio) -> tuple[str, ...]:
    """What speaks for and against a destination, most important first."""
    return (
        _move(one),
        _sound(one, console),
        _verified(one, radio),
        *_stations(one, radio),
        *_set(one, console),
    )


def headline(ranked: Sequence[Destination], sets: Sequence[str], within_mhz: float) -> str:
    """The whole in one or two sentences."""
    of_set = f"of {listed(sets)}" if sets else "of any plan"
    if not ranked:
        return (
            f"No channel {of_set} can be proposed: none lies within {within_mhz:g} MHz, has FM "
            "sound and is clear of the band of aircraft."
        )
    best = ranked[0]
    name = best.channel.name
    if best.here:
        return f"It stands on {name} now, and no channel {of_set} within reach is better."
    if best.fit.sound == "none":
        return (
            f"No channel {of_set} within reach would have sound; for the picture alone {name} is "
            "the best."
        )
    return f"The best channel {of_set} within reach is {name}."


def next_step(
    ranked: Sequence[Destination],
    console: ConsoleSignal,
    radio: Radio,
    settle: str | None,
    folder: str,
) -> str | None:
    """What to do about the best destination.

    settle  what would settle more of where the console is, or None
    folder  the sweep's, as it stands in a command
    """
    if not ranked:
        return f"See which plans would do, with no --set: listen destinations {folder}"
    best = ranked[0]
    name = best.channel.name
    if best.fit.sound == "none":
        may = listed(
            sorted({f"{standard_spacing_mhz(mhz):g}" for mhz in console.spacings_mhz}), "or"
        )
        return (
            f"Look for a set that has a plan with {may} MHz between picture and sound; which have, "
            f"this tells: listen destinations {folder}"
        )
    if best.fit.sound == "unknown" and settle:
        return settle
    low_mhz, high_mhz = radio.band_mhz
    visit = [
        (max(low, low_mhz), min(high, high_mhz))
        for low, high in best.unknown_mhz
        if low < high_mhz and high > low_mhz
    ]
    if visit and not best.here:
        low, high = visit[0]  # one thing at a time: with that heard, the next is asked for
        return (
            "Before turning anything hear whether a station is where nobody listened: "
            f"listen sweep {folder} --from {floor(10 * low) / 10:g} --to {ceil(10 * high) / 10:g}"
        )
    command = f"listen trim {folder} --to {name}"
    if best.here:
        return f"Leave it, or take out the {abs(best.move_khz):.0f} kHz that it is off: {command}"
    if best.check is None:
        return (
            f"Look for a radio that hears {best.sound_mhz:.2f} MHz, or turn it there blind, by the "
            "picture on the set: this radio cannot guide you."
        )
    return f"Turn the modulator there with: {command}"


def set_warnings(
    console: ConsoleSignal, ranked: Sequence[Destination], sets: Sequence[str]
) -> tuple[str, ...]:
    """What holds for the set as a whole, or for not knowing it."""
    said = []
    if not sets:
        said.append(
            "No --set was given, so channels of all plans are ranked: name the plans that your "
            "television has."
        )
    if ranked and not any(one.fit.other_colour for one in ranked):
        said.append(
            "No carrier tells the colour system: a set of another one shows the picture without "
            "colour."
        )
    if console.field_hz is None:
        said.append(
            "The console's field rate is not known, so whether the picture stands still on this "
            "set cannot be said."
        )
    return tuple(said)


def _move(one: Destination) -> str:
    if one.here:
        return f"It stands there now, off by {-one.move_khz:+.0f} kHz."
    way = "up" if one.move_khz > 0 else "down"
    return f"The trimmer must move it {way} by {abs(one.move_khz) / 1e3:.2f} MHz."


def _sound(one: Destination, console: ConsoleSignal) -> str:
    wanted = one.channel.spacing_mhz
    letter = one.channel.system
    needs = f"a set of system {letter} needs {wanted:g}"
    if one.fit.sound == "unknown":
        if not console.spacings_mhz:
            return (
                f"Whether there is sound is not known: {needs} MHz between picture and sound, and "
                "the console's spacing is not known."
            )
        may = listed([f"{mhz:g}" for mhz in console.spacings_mhz], "or")
        return (
            f"Whether there is sound is not known: the console's may stand {may} MHz above its "
            f"picture, and {needs} MHz."
        )
    spacing = console.spacing_mhz
    has = "stands" if spacing is None else f"stands {spacing:.3f}".rstrip("0").rstrip(".") + " MHz"
    has = f"The console's sound {has} above its picture{'' if console.measured else ' by its plan'}"
    if one.fit.sound == "fits":
        return f"{has}, and {needs} MHz: picture and sound."
    off_khz = one.fit.off_khz
    if off_khz is None:
        return f"Picture without sound: no spacing that the console may have is the {wanted:g} MHz."
    turn = f"its sound trimmer would have to go {'up' if off_khz > 0 else 'down'} by"
    if one.fit.sound == "trim":
        return f"{has}, and {needs} MHz: {turn} {abs(off_khz):.0f} kHz as well."
    return (
        f"Picture without sound: {has[0].lower()}{has[1:]}, and {needs} MHz: {turn} "
        f"{abs(off_khz):.0f} kHz."
    )


def _verified(one: Destination, radio: Radio) -> str:
    check = one.check
    low_mhz, high_mhz = radio.band_mhz
    at = f"{one.sound_mhz:.2f} MHz"
    if check is None:
        return (
            f"It cannot be verified by radio: {at} is not on a dial from {low_mhz:g} to "
            f"{high_mhz:g} MHz, and neither an image nor a mirror of it can be heard there."
        )
    if check.how == "direct":
        own = abs(one.sound_mhz - one.channel.sound_mhz) >= 0.005
        why = ", where the console's own spacing puts its sound" if own else ""
        hidden = "" if check.sure else "; a station there may hide it"
        return f"The radio hears it directly, at {check.dial_mhz:.2f} MHz{why}{hidden}."
    if check.how == "mirror":
        sure = "which this modulator sends" if check.sure else "if this modulator sends one"
        return f"The radio hears only its mirror, at {check.dial_mhz:.2f} MHz, {sure}."
    sure = "" if check.sure else f", if its oscillator runs {check.oscillator} what it receives"
    return (
        f"The radio hears only its image, 21.4 MHz off at {check.dial_mhz:.2f} MHz{sure}: weaker, "
        "and not at all on a good radio."
    )


def _stations(one: Destination, radio: Radio) -> list[str]:
    """Who is on the air there, and what is not known of it."""
    said = [_near(near) for near in one.stations if near.where != "channel"]
    inside = [near for near in one.stations if near.where == "channel"]
    if inside:
        said.append(
            f"{_who(inside)} inside the channel but away from picture and sound: a fine pattern, "
            "if anything is seen of it."
        )
    if one.unknown_mhz:
        parts = listed([_stretch(part) for part in one.unknown_mhz])
        said.append(f"The sweep did not visit {parts} MHz: whether stations are there is unknown.")
    elif not one.stations and _on_dial(one, radio):
        said.append("No station was heard near its picture or sound.")
    beyond = [
        name
        for name, mhz in (("picture", one.channel.picture_mhz), ("sound", one.sound_mhz))
        if not radio.band_mhz[0] <= mhz <= radio.band_mhz[1]
        and not any(low <= mhz <= high for low, high in one.unknown_mhz)
    ]
    if beyond:
        said.append(
            f"Its {listed(beyond)} {'lie' if len(beyond) > 1 else 'lies'} off this dial: no FM "
            "station is expected there, and what else is sent there is unknown."
        )
    return said


def _on_dial(one: Destination, radio: Radio) -> bool:
    low_mhz, high_mhz = radio.band_mhz
    return any(low_mhz <= mhz <= high_mhz for mhz in (one.channel.picture_mhz, one.sound_mhz))


def _near(near: Near) -> str:
    what = "A station" if near.station.sure else "A carrier that may be a station"
    on = f"{what} on {near.station.mhz:.1f} MHz"
    if near.where == "sound":
        return f"{on} sits on its sound: it breaks through, and the radio hears that one too."
    side = "above" if near.off_khz > 0 else "below"
    return (
        f"{on} lies {abs(near.off_khz) / 1e3:.2f} MHz {side} its picture carrier: bars or a coarse "
        "pattern on the picture."
    )


def _who(those: Sequence[Near]) -> str:
    places = listed([f"{near.station.mhz:.1f}" for near in those])
    sure = all(near.station.sure for near in those)
    if len(those) == 1:
        return f"{'A station' if sure else 'A carrier'} on {places} MHz lies"
    return f"{'Stations' if sure else 'Carriers'} on {places} MHz lie"


def _set(one: Destination, console: ConsoleSignal) -> list[str]:
    """What else parts the set from the console."""
    said = []
    rate_hz = system(one.channel.system).field_rate_hz
    if one.fit.field_fits is False:
        said.append(
            f"A set of system {one.channel.system} runs at {rate_hz:.0f} fields a second and the "
            f"console at {console.field_hz:.0f}: the picture may roll, or not fill the screen."
        )
    if one.fit.other_colour:
        said.append(
            f"Sets of system {one.channel.system} are mostly {one.fit.colours[0]}, consoles like "
            f"this one {listed(one.fit.console_colours, 'or')}: expect a picture without colour."
        )
    return said


def _stretch(part: tuple[float, float]) -> str:
    return f"{part[0]:.2f} to {part[1]:.2f}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words as a person lists them."""
    *others, end = words
    return f"{', '.join(others)} {last} {end}" if others else end
