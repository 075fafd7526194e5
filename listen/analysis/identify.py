"""Which channels a sound carrier can be, and what they say of the picture.

Conventions
-----------
Carriers are true MHz.  A channel fits where its nominal sound carrier lies within the
measured interval widened by WITHIN_KHZ, which is what an old modulator may be off by and a
set still tunes (common practice).  Only FM sound counts: a radio hears no AM sound.
"""

from listen.analysis.answer import FittingChannel
from listen.channels import by_sound

WITHIN_KHZ = 150.0
SAME_SPACING_MHZ = 0.002  # nominal spacings differ by 0.5 MHz, by 0.0004 within System I


def fitting_channels(
    sound_mhz: float, interval_mhz: tuple[float, float], plans: tuple[str, ...] | None
) -> tuple[FittingChannel, ...]:
    """Every channel of the plans that fits a measured sound carrier, nearest first.

    sound_mhz     the measured carrier
    interval_mhz  its 95 % interval
    plans         plan ids to consider; None: all
    """
    reach_khz = 1e3 * max(sound_mhz - interval_mhz[0], interval_mhz[1] - sound_mhz) + WITHIN_KHZ
    low_mhz = interval_mhz[0] - WITHIN_KHZ / 1e3
    high_mhz = interval_mhz[1] + WITHIN_KHZ / 1e3
    return tuple(
        FittingChannel(
            channel.plan,
            channel.label,
            channel.sound_mhz,
            channel.picture_mhz,
            1e3 * (sound_mhz - channel.sound_mhz),
        )
        for channel in by_sound(sound_mhz, reach_khz, plans=plans)
        if channel.sound == "FM" and low_mhz <= channel.sound_mhz <= high_mhz
    )


def agreed_spacing_mhz(channels: tuple[FittingChannel, ...]) -> float | None:
    """Sound minus picture where all the channels agree on it, else None."""
    spacings = [channel.sound_mhz - channel.picture_mhz for channel in channels]
    if not spacings or max(spacings) - min(spacings) > SAME_SPACING_MHZ:
        return None
    return round(spacings[0], 4)
