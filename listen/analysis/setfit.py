"""What a television set of some system makes of this console: sound, frame, colour.

Three things are apart and each may fail alone: the spacing of sound and picture carrier, which
decides whether there is sound; the field rate, which decides whether the picture stands; the
colour system, which no carrier tells.

Conventions
-----------
Carriers and spacings are MHz, sound minus picture; differences are kHz.  A spacing is the
console's as measured, else those of the channels that fit it, which may be several.

What it gives
-------------
console_of   what a location tells of the console's signal
set_fit      what a set of a channel's system makes of it
"""

from dataclasses import dataclass
from statistics import median
from typing import Literal

from listen.analysis.answer import Location
from listen.channels import Channel, by_name, system

Sound = Literal["fits", "trim", "none", "unknown"]

# A set's sound filter passes a subcarrier so far off (common practice, as WITHIN_KHZ of a carrier);
# beyond TRIM_KHZ it is another system's, the nearest two being 500 kHz apart.
FITS_KHZ = 100.0
TRIM_KHZ = 250.0
SAME_FIELD_HZ = 0.5  # consoles run up to 0.1 Hz off their standard's rate
# Colour systems in use with each system, the usual one first: ITU-R BT.470, from memory.  One
# country has PAL with system M; it is left out here, so that all others are warned.
COLOURS = {
    **{"M": ("NTSC",), "J": ("NTSC",), "N": ("PAL",), "I": ("PAL",), "A": ()},
    **dict.fromkeys(("B", "G", "H"), ("PAL", "SECAM")),
    **dict.fromkeys(("D", "K"), ("SECAM", "PAL")),
    **dict.fromkeys(("K1", "L"), ("SECAM",)),
}


@dataclass(frozen=True, slots=True)
class ConsoleSignal:
    """What is known of a console's signal.

    sound_mhz      its sound carrier
    picture_mhz    its picture carrier, or None
    spacings_mhz   what its spacing may be, rising; none where nothing tells
    measured       whether the spacing was measured rather than taken from its channels
    systems        of the channels that fit it, none repeated
    field_hz       50 or 60, by its buzz or else where those systems agree; None: not known
    """

    sound_mhz: float
    picture_mhz: float | None
    spacings_mhz: tuple[float, ...]
    measured: bool
    systems: tuple[str, ...]
    field_hz: float | None

    @property
    def spacing_mhz(self) -> float | None:
        """Its spacing where only one is possible."""
        return self.spacings_mhz[0] if len(self.spacings_mhz) == 1 else None


@dataclass(frozen=True, slots=True)
class SetFit:
    """What a set makes of the console on one channel.

    sound       "fits"; "trim": after the sound trimmer is turned by off_khz; "none": picture
                without sound; "unknown": the console's spacing is not known well enough
    off_khz     by how much the console's spacing would have to grow, kHz; None: not known
    field_fits  whether the field rates are alike; None: not known
    colours     of sets of this system; console_colours: of consoles like this one
    """

    sound: Sound
    off_khz: float | None
    field_fits: bool | None
    colours: tuple[str, ...]
    console_colours: tuple[str, ...]

    @property
    def other_colour(self) -> bool:
        """Whether no colour system is usual with both."""
        known = bool(self.console_colours) and bool(self.colours)
        return known and not set(self.colours) & set(self.console_colours)


def console_of(location: Location) -> ConsoleSignal:
    """What a location that found a console tells of its signal.

    Raises ValueError where it found none.
    """
    if location.sound_carrier_mhz is None:
        raise ValueError("a location without a sound carrier tells nothing of a console")
    fitting = [by_name(f"{one.plan}:{one.channel}") for one in location.channels]
    field_hz = _field_hz(location)
    systems = tuple(dict.fromkeys(channel.system for channel in fitting))
    if field_hz is not None:
        agree = [s for s in systems if abs(system(s).field_rate_hz - field_hz) < SAME_FIELD_HZ]
        systems = tuple(agree) or systems
    rates_hz = {round(system(name).field_rate_hz) for name in systems}
    if field_hz is None and len(rates_hz) == 1:
        field_hz = float(rates_hz.pop())
    if location.spacing_mhz is not None:
        spacings = {location.spacing_mhz}
    else:
        spacings = {c.spacing_mhz for c in fitting if c.system in systems}
    return ConsoleSignal(
        location.sound_carrier_mhz,
        location.picture_carrier_mhz,
        tuple(sorted(spacings)),
        location.spacing_basis == "measured",
        systems,
        field_hz,
    )


def _field_hz(location: Location) -> float | None:
    """50 or 60, by the buzz at the console's own stops; None where none tells."""
    own = [s.buzz_hz for s in location.stops if s.heard in ("console", "picture") and s.buzz_hz]
    if not own:
        return None
    near = [rate_hz for rate_hz in (50.0, 60.0) if abs(median(own) - rate_hz) < SAME_FIELD_HZ]
    return near[0] if near else None


def set_fit(console: ConsoleSignal, channel: Channel) -> SetFit:
    """What a set tuned to a channel makes of the console, its picture carrier being there."""
    of_set = system(channel.system)
    off_khz = [round(1e3 * (channel.spacing_mhz - mhz), 3) for mhz in console.spacings_mhz]
    verdicts = {_sound(one_khz) for one_khz in off_khz}
    sound: Sound = verdicts.pop() if len(verdicts) == 1 else "unknown"
    field_fits = None
    if console.field_hz is not None:
        field_fits = abs(of_set.field_rate_hz - console.field_hz) < SAME_FIELD_HZ
    likely = dict.fromkeys(colour for name in console.systems for colour in COLOURS[name])
    return SetFit(
        sound,
        off_khz[0] if len(off_khz) == 1 else None,
        field_fits,
        COLOURS[of_set.name],
        tuple(likely),
    )


def _sound(off_khz: float) -> Sound:
    if abs(off_khz) <= FITS_KHZ:
        return "fits"
    return "trim" if abs(off_khz) <= TRIM_KHZ else "none"
