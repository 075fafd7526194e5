"""Channels by name, by carrier and by what an FM dial can hear of them.

An FM radio plays FM sound alone.  A superheterodyne one hears a carrier a second time as its
image, 21.4 MHz (twice 10.7) away: at dial f - 21.4 where its oscillator runs above the
received frequency, at f + 21.4 where it runs below.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Literal

from listen.channels.frequency import checked_band, checked_mhz
from listen.channels.tables import Channel, channels, plan, plans_near
from listen.errors import BadDial, UnknownChannel

Oscillator = Literal["above", "below"]
How = Literal["sound", "picture", "image"]
IMAGE_OFFSET_MHZ = 21.4  # 2 x 10.7 MHz, the usual intermediate frequency of FM radios
LISTED_IN_FULL = 14  # labels named one by one in a refusal; a longer plan by its ends


@dataclass(frozen=True, slots=True)
class OnDial:
    """A carrier of a channel and where a dial hears it.

    how          "sound" or "picture": at its own frequency; "image": the sound, at its image
    dial_mhz     what the dial then shows, MHz
    oscillator   the side of the oscillator that gives this image; None if it is no image
    """

    channel: Channel
    how: How
    dial_mhz: float
    oscillator: Oscillator | None = None

    def as_dict(self) -> dict[str, Any]:
        """How and where it is heard, then the channel, as plain values."""
        heard = {"how": self.how, "dial_mhz": self.dial_mhz, "oscillator": self.oscillator}
        return heard | self.channel.as_dict()


def by_name(name: str) -> Channel:
    """The channel of that full name, as in us-air:6, upper and lower case alike.

    Raises UnknownChannel, with what would have worked.
    """
    plan_name, colon, label = (part.strip() for part in name.partition(":"))
    if not colon or not label:
        raise UnknownChannel(f"'{name}' is no full name of a channel: {_full_names(plan_name)}")
    whole = plan(plan_name)
    of_plan = channels(whole.name)
    for channel in of_plan:
        if channel.label.lower() == label.lower():
            return channel
    labels = [channel.label for channel in of_plan]
    there = ", ".join(labels)
    if len(labels) > LISTED_IN_FULL:
        there = f"{len(labels)} channels from {labels[0]} to {labels[-1]}"
        near = _near_labels(label, labels)
        there += f"; near it are {', '.join(near)}" if near else ""
    raise UnknownChannel(
        f"{whole.name} has no channel '{label}': it has {there}; "
        f"`listen channels {whole.name}` shows them"
    )


def _near_labels(label: str, labels: list[str]) -> list[str]:
    """Up to three labels that may have been meant: of a number, those next to it."""
    if not label.isdecimal():
        return get_close_matches(label.upper(), labels, 3, 0.5)
    numbers = [number for number in labels if number.isdecimal()]
    return sorted(numbers, key=lambda number: abs(int(number) - int(label)))[:3]


def _full_names(text: str) -> str:
    of_plan = [channel for channel in channels() if channel.plan == text.lower()]
    if of_plan:
        return f"write the channel behind the plan, such as {of_plan[0].name}"
    alike = [channel.name for channel in channels() if channel.label.lower() == text.lower()]
    if alike:
        more = f" (and {len(alike) - 4} more plans have it)" if len(alike) > 4 else ""
        return f"write the plan before it, such as {', '.join(alike[:4])}{more}"
    spelled = [channel.name for channel in channels() if _bare(channel.name) == _bare(text)]
    if spelled:
        return f"did you mean {' or '.join(spelled)}?"
    return f"write plan and channel, such as us-air:6; {plans_near(text.lower())}"


def _bare(name: str) -> str:
    """Only the letters and digits of a name."""
    return "".join(sign for sign in name.lower() if sign.isalnum())


def off_by_khz(measured_mhz: float, nominal_mhz: float) -> float:
    """Measured minus nominal, kHz, rounded to 0.1 Hz so that a limit includes its own edge."""
    return round((measured_mhz - nominal_mhz) * 1e3, 4) + 0.0  # + 0.0: no minus before a zero


def by_sound(
    mhz: float, within_khz: float = 150.0, plans: Iterable[str] | None = None
) -> tuple[Channel, ...]:
    """Every channel whose sound carrier lies within within_khz of mhz, nearest first.

    All that share a carrier are given, in the table's order, those with AM sound too.

    Raises BadDial for an absurd frequency or width, UnknownChannel for an unknown plan.
    """
    return _near(mhz, within_khz, plans, "sound_mhz")


def by_picture(
    mhz: float, within_khz: float = 150.0, plans: Iterable[str] | None = None
) -> tuple[Channel, ...]:
    """As by_sound, by the picture carrier."""
    return _near(mhz, within_khz, plans, "picture_mhz")


def _near(
    mhz: float, within_khz: float, plans: Iterable[str] | None, carrier: str
) -> tuple[Channel, ...]:
    checked_mhz(mhz, carrier.removesuffix("_mhz") + " carrier")
    if not 0 <= within_khz <= 10_000:
        raise BadDial(
            f"a search within {within_khz:g} kHz came: give a width in kHz from 0 to 10000"
        )
    off = {c: abs(off_by_khz(mhz, getattr(c, carrier))) for c in channels(plans)}
    return tuple(sorted((c for c in off if off[c] <= within_khz), key=lambda c: off[c]))


def heard_on(
    low_mhz: float,
    high_mhz: float,
    oscillator: Oscillator | None = None,
    plans: Iterable[str] | None = None,
) -> tuple[OnDial, ...]:
    """What an FM dial from low_mhz to high_mhz can hear, ends included.

    First FM sound at its own frequency, then picture carriers (a buzz without a tune) of every
    system, then FM sound by its image; each by rising dial.  oscillator None: both sides' images.
    AM sound is left out: an FM radio cannot demodulate it (am_sound_on gives it).

    Raises BadDial for an absurd band, UnknownChannel for an unknown plan.
    """
    checked_band(low_mhz, high_mhz)
    if oscillator not in (None, "above", "below"):
        raise BadDial(f"an oscillator '{oscillator}' came: write above or below")
    among = channels(plans)
    fm = [channel for channel in among if channel.sound == "FM"]
    sounds = [OnDial(channel, "sound", channel.sound_mhz) for channel in fm]
    pictures = [OnDial(channel, "picture", channel.picture_mhz) for channel in among]
    sides: dict[Oscillator, float] = {"above": -IMAGE_OFFSET_MHZ, "below": IMAGE_OFFSET_MHZ}
    images = [
        OnDial(channel, "image", round(channel.sound_mhz + shift_mhz, 4), side)
        for side, shift_mhz in sides.items()
        if oscillator in (None, side)
        for channel in fm
    ]
    return tuple(
        heard
        for kind in (sounds, pictures, images)
        for heard in sorted(kind, key=lambda one: one.dial_mhz)
        if low_mhz <= heard.dial_mhz <= high_mhz
    )


def am_sound_on(
    low_mhz: float, high_mhz: float, plans: Iterable[str] | None = None
) -> tuple[Channel, ...]:
    """The channels whose sound lies in the band but is AM, which an FM radio cannot play.

    Raises BadDial for an absurd band, UnknownChannel for an unknown plan.
    """
    checked_band(low_mhz, high_mhz)
    among = (channel for channel in channels(plans) if channel.sound == "AM")
    return tuple(channel for channel in among if low_mhz <= channel.sound_mhz <= high_mhz)
