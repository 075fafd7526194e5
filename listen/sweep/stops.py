"""Which positions a dial has, which of them lie near a channel's sound, and how that is said.

Dial positions are in MHz, as the radio shows them; steps in kHz.
"""

import math
from collections.abc import Sequence

from listen.channels import Channel, channels, system
from listen.errors import BadDial
from listen.radio import Radio

AROUND_KHZ = 300.0  # an old modulator is seldom further from its channel: common practice
MOST_STOPS = 2_000


def dial_stops(
    radio: Radio,
    step_khz: float | None = None,
    plans: Sequence[str] | None = None,
    every: bool = False,
    part_mhz: tuple[float, float] | None = None,
) -> tuple[float, ...]:
    """Dial positions to visit, rising, MHz, on the radio's grid counted from its low end.

    step_khz  None: the radio's own step, or 100 kHz
    plans     channel plans whose sound carriers count; None: all
    every     the whole band instead
    part_mhz  only what lies from here to here, ends included; the grid stays the radio's

    Raises BadDial where that is no stop at all or more than MOST_STOPS.
    """
    step_khz = step_khz or radio.dial_step_khz
    begins_mhz, ends_mhz = radio.band_mhz
    low_mhz, high_mhz = part_mhz or radio.band_mhz
    if not 1 <= step_khz <= 1000:
        raise BadDial(f"a dial step of {step_khz:g} kHz came: give it in kHz, 1 to 1000")
    first = math.ceil((low_mhz - begins_mhz) * 1000 / step_khz - 1e-6)
    last = math.floor((min(high_mhz, ends_mhz) - begins_mhz) * 1000 / step_khz + 1e-6)
    count = last - first + 1
    if count < 1:
        raise BadDial(
            f"no dial stop lies from {low_mhz:g} to {high_mhz:g} MHz: the dial goes from "
            f"{begins_mhz:g} MHz in steps of {step_khz:g} kHz"
        )
    if count > MOST_STOPS:
        raise BadDial(
            f"{count} stops of {step_khz:g} kHz from {low_mhz:g} to {high_mhz:g} MHz are more "
            f"than anybody walks: give a larger --step-khz or a smaller part of the band"
        )
    grid = [round(begins_mhz + index * step_khz / 1000, 4) for index in range(first, last + 1)]
    if every:
        return tuple(grid)
    carriers = [channel.sound_mhz for channel in heard_channels(plans)]
    near = tuple(
        stop
        for stop in grid
        if any(abs(stop - carrier) * 1000 <= AROUND_KHZ + 0.05 for carrier in carriers)
    )
    if not near:
        raise BadDial(
            f"no channel of {', '.join(plans or ()) or 'any plan'} has its sound between "
            f"{low_mhz:g} and {high_mhz:g} MHz: name other plans, or visit the whole band "
            "with --every"
        )
    return near


def heard_channels(plans: Sequence[str] | None = None) -> tuple[Channel, ...]:
    """The channels whose sound is FM, as an FM radio needs it."""
    return tuple(each for each in channels(plans) if system(each.system).sound == "FM")


def reason_for(dial_mhz: float, plans: Sequence[str] | None = None, every: bool = False) -> str:
    """Why a stop is visited, as a sentence for the person who tunes there."""
    near = sorted(
        (abs(channel.sound_mhz - dial_mhz), channel.sound_mhz, channel.name)
        for channel in heard_channels(plans)
        if abs(channel.sound_mhz - dial_mhz) * 1000 <= AROUND_KHZ + 0.05
    )
    if not near:
        return "Every stop is visited." if every else "You asked for it."
    sound_mhz = near[0][1]
    names = list(dict.fromkeys(name for _, mhz, name in near if mhz == sound_mhz))
    more = f" and {len(names) - 2} more" if len(names) > 2 else ""
    return f"{' and '.join(names[:2])}{more} would have the sound on {sound_mhz:g} MHz."
