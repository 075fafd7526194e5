"""As what a find is named: its channels, its picture, and what these leave open, in words.

Conventions
-----------
Carriers are true MHz; what the dial shows instead is said to be the dial's.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from listen.analysis.answer import FittingChannel
from listen.analysis.dialerror import DialError
from listen.analysis.identify import fitting_channels
from listen.analysis.modulator import Way
from listen.analysis.spacing import Picture, implied

LISTED = 3  # channels named one by one in a sentence


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
    """

    way: Way
    sound_mhz: float
    error: DialError
    picture: Picture
    channels: tuple[FittingChannel, ...]
    near: tuple[FittingChannel, ...]
    elsewhere: tuple[FittingChannel, ...]
    plans: Sequence[str] | None

    @property
    def no_channel(self) -> str:
        """Why no channel is named, as a sentence; "" where one is."""
        if self.channels:
            return ""
        of = f"of the plans asked for ({', '.join(self.plans)})" if self.plans else "of any plan"
        heard_mhz = self.picture.heard_mhz
        if self.near and heard_mhz:
            text = (
                f"By the sound {_listed(self.near)} would fit, but no channel {of} has its picture "
                f"at {heard_mhz:.3f} MHz, where it was heard."
            )
        else:
            text = f"No channel {of} has its sound there."
        if self.elsewhere:
            text += f" Of the other plans, {_listed(self.elsewhere)} would fit."
        return text

    def which_channel(self, reach_mhz: tuple[float, float]) -> str:
        """What would tell channels of several spacings apart, as a sentence; "" where one is.

        reach_mhz  the ends of the dial
        """
        places = self.pictures_mhz()
        if len(places) < 2:
            return ""
        true = either([f"{mhz:.2f}" for mhz, _ in places])
        text = f"The channels that share it differ in spacing: the picture carrier, {true} MHz,"
        low_mhz, high_mhz = reach_mhz
        shown = [f"{dial_mhz:.2f}" for _, dial_mhz in places if low_mhz <= dial_mhz <= high_mhz]
        if not shown:
            return f"{text} would tell which, but is beyond this dial."
        if self.way.heard_as == "image":
            text += f" which this dial shows at {either(shown)},"
        return f"{text} would tell which."

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
    return Named(way, sound_mhz, error, picture, channels, near, elsewhere, plans)


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
