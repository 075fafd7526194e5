"""As what a find is named: its channels, its picture, and what these leave open, in words.

Conventions
-----------
Carriers are true MHz; what the dial shows instead is said to be the dial's.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot

from listen.analysis.answer import NINETY_FIVE, FittingChannel
from listen.analysis.dialerror import DialError
from listen.analysis.identify import fitting_channels
from listen.analysis.modulator import Way, standard_spacing_mhz
from listen.analysis.spacing import Picture, implied

LISTED = 3  # channels named one by one in a sentence
# A trimmer is said to be off from here, and from twice what is not known of it: less is every
# modulator's, and a set's sound filter and its tuning take it (common practice).
SPACING_OFF_KHZ, PICTURE_OFF_KHZ = 30.0, 50.0


@dataclass(frozen=True, slots=True)
class Named:
    """A carrier that is a find, as it is named.

    way          by which it was heard
    sound_mhz    where it truly is
    error        of the dial
    picture      where its picture was placed
    channels     that fit
    near         whose sound fits, whatever their picture
    elsewhere    that fit among the plans not asked for
    plans        asked for; None: all
    spread_khz   one standard deviation of sound_mhz
    """

    way: Way
    sound_mhz: float
    error: DialError
    picture: Picture
    channels: tuple[FittingChannel, ...]
    near: tuple[FittingChannel, ...]
    elsewhere: tuple[FittingChannel, ...]
    plans: Sequence[str] | None
    spread_khz: float = 0.0

    @property
    def trimmer(self) -> str:
        """Which of a modulator's two trimmers is off, in words; "" where none shows.

        The sound subcarrier makes the spacing, the picture oscillator the picture's place.
        """
        picture = self.picture
        if picture.basis != "measured" or picture.mhz is None or picture.spacing_mhz is None:
            return ""
        nominal_mhz = standard_spacing_mhz(picture.spacing_mhz)
        wide_khz = 1e3 * (picture.spacing_mhz - nominal_mhz)
        least_khz = max(SPACING_OFF_KHZ, 2 * hypot(self.spread_khz, picture.spread_khz))
        said = []
        if abs(wide_khz) > least_khz:
            said.append(
                f"its spacing is {abs(wide_khz):.0f} kHz {'over' if wide_khz > 0 else 'under'} "
                f"{nominal_mhz:g} MHz: the sound subcarrier's trimmer is off"
            )
        dial_khz = self.error.at(self.error.dial_mhz(picture.mhz)).spread_khz
        least_khz = max(PICTURE_OFF_KHZ, 2 * hypot(picture.spread_khz, dial_khz))
        for channel in self.channels[:1]:
            off_khz = 1e3 * (picture.mhz - channel.picture_mhz)
            if abs(off_khz) > least_khz:
                said.append(
                    f"its picture carrier is {abs(off_khz):.0f} kHz "
                    f"{'over' if off_khz > 0 else 'under'} that of {channel.plan}:"
                    f"{channel.channel}: the picture oscillator's trimmer is off"
                )
        return "; ".join(said)

    @property
    def no_channel(self) -> str:
        """Why no channel is named, in words; "" where one is."""
        if self.channels:
            return ""
        of = f"of the plans asked for ({', '.join(self.plans)})" if self.plans else "of any plan"
        heard_mhz = self.picture.heard_mhz
        if self.near and heard_mhz:
            text = (
                f"by the sound {_listed(self.near)} would fit, but no channel {of} has its picture "
                f"at {heard_mhz:.3f} MHz, where it was heard"
            )
        else:
            text = f"no channel {of} has its sound there"
        if self.elsewhere:
            text += f"; of the other plans, {_listed(self.elsewhere)} would fit"
        return text

    def which_channel(self, reach_mhz: tuple[float, float]) -> str:
        """What would tell channels of several spacings apart, in words; "" where one is.

        reach_mhz  the ends of the dial
        """
        places = self.pictures_mhz()
        if len(places) < 2:
            return ""
        true = either([f"{mhz:.2f}" for mhz, _ in places])
        text = f"the channels that share it differ in spacing: the picture carrier, {true} MHz,"
        low_mhz, high_mhz = reach_mhz
        shown = [f"{dial_mhz:.2f}" for _, dial_mhz in places if low_mhz <= dial_mhz <= high_mhz]
        if not shown:
            return f"{text} would tell which, but is beyond this dial"
        if self.way.heard_as == "image":
            text += f" which this dial shows at {either(shown)},"
        return f"{text} would tell which"

    def pictures_mhz(self) -> list[tuple[float, float]]:
        """Where the picture is by each spacing of the channels, truly and on the dial."""
        spacings = {round(c.sound_mhz - c.picture_mhz, 2) for c in self.channels}
        shift_mhz = self.way.shift_mhz if self.way.heard_as == "image" else 0.0
        true_mhz = [self.sound_mhz - spacing for spacing in sorted(spacings)]
        return [(mhz, self.error.dial_mhz(mhz - shift_mhz)) for mhz in true_mhz]


def named_as(
    way: Way,
    sound_mhz: float,
    interval_mhz: tuple[float, float],
    error: DialError,
    heard: Picture,
    plans: tuple[str, ...] | None,
) -> Named:
    """The channels of a find and what they imply of its picture.

    interval_mhz  the 95 % interval of sound_mhz
    heard         the picture as it was heard; the rest as Named has it
    """
    near = fitting_channels(sound_mhz, interval_mhz, plans)
    channels = tuple(one for one in near if heard.fits(one))
    every = fitting_channels(sound_mhz, interval_mhz, None) if plans else near
    elsewhere = tuple(one for one in every if heard.fits(one) and one not in channels)
    picture = implied(heard, sound_mhz, channels)
    spread_khz = 1e3 * (interval_mhz[1] - interval_mhz[0]) / 2 / NINETY_FIVE
    return Named(way, sound_mhz, error, picture, channels, near, elsewhere, plans, spread_khz)


def _listed(those: Sequence[FittingChannel]) -> str:
    names = [f"{one.plan}:{one.channel}" for one in those]
    more = f" and {len(names) - LISTED} more" if len(names) > LISTED else ""
    return ", ".join(names[:LISTED]) + more


def joined(parts: Sequence[str]) -> str:
    """Clauses as one."""
    return ", and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def either(parts: Sequence[str]) -> str:
    """One of them or the other."""
    return f"{', '.join(parts[:-1])} or {parts[-1]}" if len(parts) > 1 else "".join(parts)
