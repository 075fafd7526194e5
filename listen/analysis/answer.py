"""What `locate` answers with: frozen values, each holding the one it was made from.

Frequencies are true MHz whatever the dial showed, errors and widths kHz, levels dB.
`Location.as_dict` is the stable form that `listen locate --json` prints; docs/answer.md
describes it field by field.
"""

from dataclasses import dataclass, field
from typing import Any, Literal

from listen.analysis.dialerror import DialError, steady

Heard = Literal["console", "station", "picture", "hiss", "muted", "unclear", "spoiled"]
HeardAs = Literal["direct", "image", "mirror", "harmonic"]

SCHEMA = "listen.location/1"
NINETY_FIVE = 1.96  # half of a 95 % interval over the spread, where that is known and normal


@dataclass(frozen=True, slots=True)
class StopAnswer:
    """What one dial stop gave.

    file, dial_mhz, console  as the sweep folder lists them
    heard         what was heard there
    clarity       0 (open-band roar) to 100 (no hiss left); None where muted or spoiled
    hiss_db       noise floor between the programme's lines, dB of mean square per hertz in
                  the band measured; None where muted or spoiled
    quieting_db   how far that floor lies below the open-band roar, dB; negative above it
    tone_hz       frequency of the strongest steady tone; None if none stands out
    tone_dbfs     its level, dB re a full-scale sine
    sinad_db      (S+N+D)/(N+D) of that tone, dB
    hum_hz        the mains rate whose hum is heard (50 or 60), or twice it (100 or 120) where
                  that is louder; None if none is heard
    buzz_hz       the field rate whose buzz is heard, or None
    why           what `heard` rests on, as a clause
    """

    file: str
    dial_mhz: float
    console: Literal["on", "off"]
    heard: Heard
    clarity: float | None
    hiss_db: float | None = None
    quieting_db: float | None = None
    tone_hz: float | None = None
    tone_dbfs: float | None = None
    sinad_db: float | None = None
    hum_hz: float | None = None
    buzz_hz: float | None = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class CarrierFit:
    """A carrier fitted over the stops that heard it.

    centre_mhz        its frequency, true MHz
    interval_95_mhz   the 95 % interval, true MHz
    curve_dial_mhz    dial positions at which the fitted curve is given, rising, MHz
    curve_clarity     the fitted clarity at those positions, 0 to 100
    stops             indices, into Location.stops, of the stops the fit rests on
    """

    centre_mhz: float
    interval_95_mhz: tuple[float, float]
    curve_dial_mhz: tuple[float, ...]
    curve_clarity: tuple[float, ...]
    stops: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class FittingChannel:
    """A channel whose sound carrier fits; off_by_khz is measured minus nominal."""

    plan: str
    channel: str
    sound_mhz: float
    picture_mhz: float
    off_by_khz: float


@dataclass(frozen=True, slots=True)
class Location:
    """Where the console's sound carrier sits, and how that is known.

    probability is that of a console's sound carrier within 150 kHz of the one named; where
    nothing was found, that of the best one rejected, whose sound carrier would be on rejected_mhz
    by the way in which it was heard.  fit is what the carrier rests on (for
    drawing; not part of the printed form), others the fits of all else that was heard.
    switch_at_mhz is the dial stop at which the console's switch would settle most, or None
    where it was used already or nothing is worth it; no_channel says why a find fits no channel.
    error is the dial's.  These three are not part of the printed form either.
    """

    found: bool
    probability: float
    reason: str
    stops: tuple[StopAnswer, ...]
    rejected_mhz: float | None = None
    sound_carrier_mhz: float | None = None
    interval_95_mhz: tuple[float, float] | None = None
    heard_as: HeardAs | None = None
    picture_carrier_mhz: float | None = None
    picture_basis: Literal["measured", "implied"] | None = None
    spacing_mhz: float | None = None
    spacing_basis: Literal["measured", "standard"] | None = None
    channels: tuple[FittingChannel, ...] = ()
    next: str | None = None
    warnings: tuple[str, ...] = ()
    switch_at_mhz: float | None = None
    no_channel: str = ""
    fit: CarrierFit | None = field(default=None, repr=False)
    others: tuple[CarrierFit, ...] = field(default=(), repr=False)
    error: DialError = field(default_factory=steady, repr=False)

    def as_dict(self) -> dict[str, Any]:
        """The answer as plain values, in the order docs/answer.md gives them."""
        return {
            "schema": SCHEMA,
            "found": self.found,
            "sound_carrier_mhz": _rounded(self.sound_carrier_mhz, 4),
            "interval_95_mhz": _rounded(self.interval_95_mhz, 4),
            "heard_as": self.heard_as,
            "probability": _rounded(self.probability, 4),
            "rejected_mhz": _rounded(self.rejected_mhz, 4),
            "picture_carrier_mhz": _rounded(self.picture_carrier_mhz, 4),
            "picture_basis": self.picture_basis,
            "spacing_mhz": _rounded(self.spacing_mhz, 4),
            "spacing_basis": self.spacing_basis,
            "channels": [_plain(channel) for channel in self.channels],
            "stops": [_plain(stop) for stop in self.stops],
            "reason": self.reason,
            "next": self.next,
            "warnings": list(self.warnings),
        }


def _plain(item: Any) -> dict[str, Any]:
    return {name: _rounded(getattr(item, name), 4) for name in item.__slots__}


def _rounded(value: Any, digits: int) -> Any:
    if isinstance(value, float):
        return round(value, digits)
    if isinstance(value, tuple):
        return [_rounded(part, digits) for part in value]
    return value
