"""What `destinations` answers with: frozen values, each with the reasons it rests on.

Frequencies are true MHz, moves and offsets kHz.  `Destinations.as_dict` is the stable form that
`listen destinations --json` prints; docs/destinations.md describes it field by field.
"""

from dataclasses import dataclass
from typing import Any, Literal

from listen.analysis.answer import Location
from listen.analysis.occupied import OnAir
from listen.analysis.setfit import ConsoleSignal, SetFit
from listen.channels import Channel
from listen.radio import Oscillator

SCHEMA = "listen.destinations/1"

How = Literal["direct", "image", "mirror"]
Where = Literal["picture", "sound", "channel"]
LeftOut = Literal["aeronautical", "am", "far"]


@dataclass(frozen=True, slots=True)
class Check:
    """How a radio verifies a sound carrier.

    how        "direct", "image" or "mirror"
    dial_mhz   where it is heard
    sure       whether it is known that this radio, or this modulator, does so
    oscillator the side that gives this image, else None
    """

    how: How
    dial_mhz: float
    sure: bool
    oscillator: Oscillator | None = None


@dataclass(frozen=True, slots=True)
class Near:
    """A carrier on the air in a channel; off_khz is from its picture, or from its sound."""

    station: OnAir
    where: Where
    off_khz: float


@dataclass(frozen=True, slots=True)
class Destination:
    """A channel that the modulator may be moved to.

    sound_mhz    where its sound carrier would then stand: the channel's, or where the console's
                 spacing puts it if that does not fit
    move_khz     from where it stands now
    here         whether it stands there now
    fit          what the set makes of it
    check        how the radio verifies it; None: it cannot
    stations     carriers on the air in the channel, by rising frequency
    unknown_mhz  parts of the dial near its picture and sound that the sweep did not visit
    reasons      sentences, as destwords gives them
    """

    channel: Channel
    sound_mhz: float
    move_khz: float
    here: bool
    fit: SetFit
    check: Check | None
    stations: tuple[Near, ...]
    unknown_mhz: tuple[tuple[float, float], ...]
    reasons: tuple[str, ...] = ()

    @property
    def trouble(self) -> int:
        """0 no station there, 1 some away from picture and sound, or not known, 2 near those."""
        if any(near.where != "channel" for near in self.stations):
            return 2
        return 1 if self.stations or self.unknown_mhz else 0

    def as_dict(self) -> dict[str, Any]:
        """The destination as plain values, in the order docs/destinations.md gives them."""
        c, check = self.channel, self.check
        return {
            "plan": c.plan,
            "channel": c.label,
            "system": c.system,
            "picture_mhz": c.picture_mhz,
            "sound_mhz": c.sound_mhz,
            "sound_would_be_mhz": round(self.sound_mhz, 4),
            "move_khz": round(self.move_khz, 1),
            "here": self.here,
            "sound": self.fit.sound,
            "sound_trim_khz": self.fit.off_khz,
            "field_rate_fits": self.fit.field_fits,
            "other_colour": self.fit.other_colour,
            "verify": check.how if check else None,
            "verify_dial_mhz": check.dial_mhz if check else None,
            "verify_sure": check.sure if check else None,
            "stations": [
                {
                    "mhz": round(near.station.mhz, 3),
                    "sure": near.station.sure,
                    "near": near.where,
                    "off_khz": round(near.off_khz, 1),
                }
                for near in self.stations
            ],
            "unknown_mhz": [[round(end, 3) for end in part] for part in self.unknown_mhz],
            "reasons": list(self.reasons),
        }


@dataclass(frozen=True, slots=True)
class Destinations:
    """Where the modulator is, where it may go, and what was left out.

    console    None where the sweep did not find it
    sets       the plans that the set has; none: all were considered
    ranked     the best first
    left_out   by reason, the channels that are not proposed
    """

    location: Location
    console: ConsoleSignal | None
    sets: tuple[str, ...]
    ranked: tuple[Destination, ...]
    left_out: tuple[tuple[LeftOut, tuple[Channel, ...]], ...]
    within_mhz: float
    reason: str
    next: str | None
    warnings: tuple[str, ...]

    @property
    def found(self) -> bool:
        """Whether a set would show the console on one of them, with its sound."""
        return any(one.fit.sound != "none" for one in self.ranked)

    def as_dict(self) -> dict[str, Any]:
        """The answer as plain values; docs/destinations.md describes it field by field."""
        place = self.location
        return {
            "schema": SCHEMA,
            "found": self.found,
            "located": place.found,
            "sound_carrier_mhz": _rounded(place.sound_carrier_mhz),
            "picture_carrier_mhz": _rounded(place.picture_carrier_mhz),
            "spacing_mhz": _rounded(place.spacing_mhz),
            "spacing_basis": place.spacing_basis,
            "channels": [f"{one.plan}:{one.channel}" for one in place.channels],
            "sets": list(self.sets),
            "within_mhz": self.within_mhz,
            "destinations": [one.as_dict() for one in self.ranked],
            "left_out": [
                {"reason": why, "channels": [c.name for c in those]} for why, those in self.left_out
            ],
            "reason": self.reason,
            "next": self.next,
            "warnings": list(self.warnings),
        }


def _rounded(mhz: float | None) -> float | None:
    return None if mhz is None else round(mhz, 4)
