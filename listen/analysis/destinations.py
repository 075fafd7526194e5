"""Which channels are worth moving the modulator to, the best first, and why.

Proposed is what a set has, what a trimmer may reach, and what touches no band of aircraft: not
with its picture, its sound, its mirror below the picture, or any part of the channel.  The
rest is ranked by, in this order: whether the set makes sound of it; whether its field rate is
the console's; whether the radio surely, perhaps or never verifies it; what stations stand
there; whether it is heard directly; how far it is.

Conventions
-----------
Frequencies are true MHz, moves and offsets kHz.  What a station does to a picture depends on
where in the channel it falls: coarse bars within NEAR_PICTURE_MHZ of the picture carrier, its
own programme within ON_SOUND_MHZ of the sound, a fine pattern elsewhere (common practice).

What it gives
-------------
destinations   the channels, ranked, and those left out, each with its reason
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from listen.analysis.answer import Location
from listen.analysis.destanswer import Check, Destination, Destinations, LeftOut, Near
from listen.analysis.destwords import headline, next_step, reasons, set_warnings
from listen.analysis.occupied import OnAir, stations_of, unvisited
from listen.analysis.setfit import ConsoleSignal, console_of, set_fit
from listen.channels import Channel, channels, in_aeronautical_band, plan
from listen.channels.frequency import AERONAUTICAL_MHZ
from listen.channels.lookup import IMAGE_OFFSET_MHZ
from listen.errors import BadDial
from listen.radio import Oscillator, Radio

WITHIN_MHZ = 15.0  # a trimmer goes some 15 % of its frequency at most (from memory)
NEAR_PICTURE_MHZ = 1.0
ON_SOUND_MHZ = 0.3  # within one passband the stronger carrier is heard
FM_MHZ = (87.5, 108.0)  # in nearly every country: listen/data/fm_bands.csv


def destinations(
    location: Location,
    radio: Radio,
    sets: Sequence[str] = (),
    *,
    within_mhz: float = WITHIN_MHZ,
    folder: str = "FOLDER",
) -> Destinations:
    """The channels worth moving to, ranked, for a console that a sweep located.

    location    where it is and what the sweep heard
    radio       the receiver that is to verify the move
    sets        ids of the plans that the set can tune; none: all plans
    within_mhz  how far a trimmer is believed to go, either way, MHz
    folder      the sweep's, as the next command is to name it

    Raises UnknownChannel for a plan that there is not, BadDial for a reach that is no reach.
    """
    if not 0 < within_mhz <= 1000:
        raise BadDial(f"a reach of {within_mhz:g} MHz came: give how far to move, up to 1000 MHz")
    names = tuple(dict.fromkeys(plan(name).name for name in sets))
    if not location.found:
        return Destinations(
            *(location, None, names, (), (), within_mhz),
            *(f"It is not known where the console is. {location.reason}", location.next),
            location.warnings,
        )
    console = console_of(location)
    among = channels(names or None)
    left_out = {c: why for c in among if (why := _why_not(c, console, within_mhz))}
    on_air = stations_of(location, radio)
    found = (
        _destination(channel, console, location, radio, on_air)
        for channel in among
        if channel not in left_out
    )
    ranked = tuple(
        replace(one, reasons=reasons(one, console, radio)) for one in sorted(found, key=_rank)
    )
    grouped = tuple(
        (why, tuple(c for c, reason in left_out.items() if reason == why))
        for why in dict.fromkeys(sorted(left_out.values()))
    )
    return Destinations(
        *(location, console, names, ranked, grouped, within_mhz),
        *(
            headline(ranked, names, within_mhz),
            next_step(ranked, console, radio, location.next, folder),
        ),
        (*set_warnings(console, ranked, names), *location.warnings),
    )


def _rank(one: Destination) -> tuple[Any, ...]:
    """What sorts the better destination first."""
    return (
        {"fits": 0, "trim": 1, "unknown": 2, "none": 3}[one.fit.sound],
        one.fit.field_fits is False,
        2 if one.check is None else int(not one.check.sure),
        one.trouble,
        one.check is not None and one.check.how != "direct",
        abs(one.move_khz),
        one.channel.name,
    )


def _would_be_mhz(channel: Channel, console: ConsoleSignal) -> float:
    """Where the sound would stand with the picture on the channel's place."""
    if set_fit(console, channel).sound == "none" and console.spacing_mhz is not None:
        return channel.picture_mhz + console.spacing_mhz
    return channel.sound_mhz


def _why_not(channel: Channel, console: ConsoleSignal, within_mhz: float) -> LeftOut | None:
    """Why a channel is never proposed, or None."""
    low_mhz, high_mhz = AERONAUTICAL_MHZ
    sound_mhz = _would_be_mhz(channel, console)
    mirror_mhz = 2 * channel.picture_mhz - sound_mhz  # cheap modulators send both side bands
    sent_mhz = (channel.picture_mhz, channel.sound_mhz, sound_mhz, mirror_mhz)
    inside = channel.low_mhz < high_mhz and channel.high_mhz > low_mhz
    if inside or any(mhz > 1 and in_aeronautical_band(mhz) for mhz in sent_mhz):
        return "aeronautical"
    if channel.sound == "AM":
        return "am"
    return "far" if abs(sound_mhz - console.sound_mhz) > within_mhz else None


def _destination(
    channel: Channel,
    console: ConsoleSignal,
    location: Location,
    radio: Radio,
    on_air: Sequence[OnAir],
) -> Destination:
    sound_mhz = _would_be_mhz(channel, console)
    move_khz = 1e3 * (sound_mhz - console.sound_mhz)
    low_mhz, high_mhz = min(radio.band_mhz[0], FM_MHZ[0]), max(radio.band_mhz[1], FM_MHZ[1])
    zones = (
        (channel.picture_mhz - NEAR_PICTURE_MHZ, channel.picture_mhz + NEAR_PICTURE_MHZ),
        (sound_mhz - ON_SOUND_MHZ, sound_mhz + ON_SOUND_MHZ),
    )
    unknown = [
        part
        for zone in zones
        if zone[0] < high_mhz and zone[1] > low_mhz  # beyond them no FM station is
        for part in unvisited(location, max(zone[0], low_mhz), min(zone[1], high_mhz))
    ]
    return Destination(
        channel,
        sound_mhz,
        move_khz,
        any((c.plan, c.channel) == (channel.plan, channel.label) for c in location.channels),
        set_fit(console, channel),
        _check(channel, sound_mhz, location, radio, on_air),
        tuple(_near(channel, sound_mhz, on_air)),
        _joined(unknown),
    )


def _joined(parts: Iterable[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Parts that touch, as one."""
    out: list[tuple[float, float]] = []
    for low, high in sorted(parts):
        if out and low <= out[-1][1]:
            out[-1] = (out[-1][0], max(high, out[-1][1]))
        else:
            out.append((low, high))
    return tuple(out)


def _near(channel: Channel, sound_mhz: float, on_air: Sequence[OnAir]) -> Iterable[Near]:
    """The carriers on the air in a channel and round its two carriers."""
    for one in on_air:
        from_sound, from_picture = one.mhz - sound_mhz, one.mhz - channel.picture_mhz
        if abs(from_sound) <= ON_SOUND_MHZ:
            yield Near(one, "sound", 1e3 * from_sound)
        elif abs(from_picture) <= NEAR_PICTURE_MHZ:
            yield Near(one, "picture", 1e3 * from_picture)
        elif channel.low_mhz <= one.mhz <= channel.high_mhz:
            yield Near(one, "channel", 1e3 * from_picture)


def _check(
    channel: Channel,
    sound_mhz: float,
    location: Location,
    radio: Radio,
    on_air: Sequence[OnAir],
) -> Check | None:
    """How the radio verifies the move: directly, by the mirror, by the image, or not at all."""
    low_mhz, high_mhz = radio.band_mhz
    error = location.error

    def shown(mhz: float) -> float:
        return round(error.dial_mhz(mhz), 4)

    if low_mhz <= shown(sound_mhz) <= high_mhz:
        hidden = any(abs(one.mhz - sound_mhz) <= ON_SOUND_MHZ for one in on_air)
        return Check("direct", shown(sound_mhz), not hidden)
    ways = []
    mirror_mhz = 2 * channel.picture_mhz - sound_mhz
    ways.append(Check("mirror", shown(mirror_mhz), _sends_mirror(location)))
    side = radio.oscillator or _side_heard(location)
    true_mhz = sound_mhz - error.image_khz / 1e3  # of what is heard directly where the image is
    for oscillator, dial_mhz in (
        ("above", true_mhz - IMAGE_OFFSET_MHZ),
        ("below", true_mhz + IMAGE_OFFSET_MHZ),
    ):
        if side in (None, oscillator):
            way: Oscillator = "above" if oscillator == "above" else "below"
            ways.append(Check("image", shown(dial_mhz), side is not None, way))
    free = [
        check
        for check in ways
        if low_mhz <= check.dial_mhz <= high_mhz
        and all(abs(error.dial_mhz(one.mhz) - check.dial_mhz) > ON_SOUND_MHZ for one in on_air)
    ]
    return max(free, key=lambda check: check.sure, default=None)


def _sends_mirror(location: Location) -> bool:
    """Whether the sweep heard the modulator's mirror."""
    sound_mhz, picture_mhz = location.sound_carrier_mhz, location.picture_carrier_mhz
    if location.heard_as == "mirror":
        return True
    if sound_mhz is None or picture_mhz is None:
        return False
    mirror_mhz = 2 * picture_mhz - sound_mhz
    shown_mhz = location.error.dial_mhz(mirror_mhz)
    own = (stop for stop in location.stops if stop.heard == "console")
    return any(abs(stop.dial_mhz - shown_mhz) < ON_SOUND_MHZ for stop in own)


def _side_heard(location: Location) -> Oscillator | None:
    """The oscillator's side, where the console itself was heard as an image."""
    if location.heard_as != "image" or location.sound_carrier_mhz is None:
        return None
    true_mhz = location.error.true_mhz
    own = [true_mhz(stop.dial_mhz) for stop in location.stops if stop.heard == "console"]
    if not own:
        return None
    return "above" if sum(own) / len(own) < location.sound_carrier_mhz else "below"
