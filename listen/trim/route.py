"""Where to set the radio's dial, which trimmer to turn, and the stops from here to there.

A modulator has two trimmers.  The picture oscillator's moves both carriers together; the sound
subcarrier's moves the sound alone, so only the spacing.  A route is one leg for each trimmer
that must be turned, and a leg is a ladder of dial stops along which the sound carrier is
handed on.

Conventions
-----------
Carriers are true MHz.  Dial positions are what the radio shows: true plus the dial's error.
Rungs of a ladder run from the present place to the goal, the goal's own stop last.

A goal beyond the dial may still be heard on it: by its image, 21.4 MHz off, or by the mirror of
the sound below the picture.  Both follow the carrier step for step while the picture oscillator is
turned, so that the ladder is the same, moved along the dial.

What it gives
-------------
nearest_stop  the stop that a radio can make nearest to a carrier, and how far it is off
ladder        the rungs of one leg
rung_mhz      a rung by its number, those beyond the ends too
way_to        how a carrier is heard on this dial: directly, by its image or by its mirror
route_to      the legs that bring a console's sound carrier onto a channel
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

from listen.analysis.destinations import WITHIN_MHZ
from listen.analysis.dialerror import DialError, of_image, shifted, steady
from listen.channels import Channel, in_aeronautical_band
from listen.channels.lookup import IMAGE_OFFSET_MHZ
from listen.errors import BadDial
from listen.radio import Radio

Trimmer = Literal["picture", "sound"]
HeardAs = Literal["direct", "image", "mirror"]

USUAL_STEP_KHZ = 100.0
RUNG_KHZ = 200.0  # every FM radio still holds a carrier half of this away from its dial
STATION_MHZ = 0.15  # a rung nearer than this to a station would hear that alone
EDGE_MHZ = 0.1  # a carrier so far beyond the dial's end is still held there
SPACING_KHZ = 60.0  # a spacing further off than this needs the sound trimmer
NEAR_MHZ = 0.02  # closer than this a leg is no leg
TOO_FAR = (
    "That is a move of {mhz:.0f} MHz. A trimmer seldom reaches {within:g} MHz: is the place right, "
    "and the modulator one for this band?"
)
AMONG_AIRCRAFT = (
    "On the way the sound carrier stands on {mhz:.2f} MHz, between 108 and 137 MHz, where aircraft "
    "navigate and speak: only in shielded cable, the modulator's can closed."
)


@dataclass(frozen=True, slots=True)
class Place:
    """A dial stop for a carrier.

    dial_mhz    what the radio is to show
    offset_khz  the carrier minus that stop: positive where the carrier stands above it
    """

    dial_mhz: float
    offset_khz: float


@dataclass(frozen=True, slots=True)
class Leg:
    """One trimmer's part of the way.

    trimmer    whose it is
    from_mhz   the sound carrier before, true; None where that is not known
    to_mhz     and after
    place      the dial stop of its end
    rungs      dial stops from here to there; the last one is place.dial_mhz
    spacing_mhz  sound minus picture before, where that is known
    """

    trimmer: Trimmer
    from_mhz: float | None
    to_mhz: float
    place: Place
    rungs: tuple[float, ...]
    spacing_mhz: float | None = None

    @property
    def upward(self) -> bool | None:
        """Whether the sound carrier has to rise; None where its place is not known."""
        return None if self.from_mhz is None else self.to_mhz > self.from_mhz


@dataclass(frozen=True, slots=True)
class Route:
    """The way of a console's sound carrier onto a channel.

    goal            the channel
    legs            one a trimmer, in the order in which to turn them
    spacing_mhz     sound minus picture at present, where that is known
    error           of the dial: where it hears the sound carrier, minus the truth, so with what an
                    image or a mirror adds
    stations_mhz    dial stops that hear stations
    warnings        sentences to say before it begins
    heard_as        by which way the sound carrier is heard
    """

    goal: Channel
    legs: tuple[Leg, ...]
    spacing_mhz: float | None = None
    error: DialError = field(default_factory=steady)
    stations_mhz: tuple[float, ...] = ()
    warnings: tuple[str, ...] = ()
    heard_as: HeardAs = "direct"


@dataclass(frozen=True, slots=True)
class Way:
    """How a carrier is heard on a dial.

    error    where it is heard, minus where it is
    warning  a sentence on that; empty where it is heard directly
    """

    heard_as: HeardAs
    error: DialError
    warning: str = ""


def way_to(sound_mhz: float, spacing_mhz: float, radio: Radio, error: DialError) -> Way:
    """How a sound carrier on a place can be heard on this dial, the likeliest way first.

    error  of the dial, for what is heard directly

    Raises BadDial where there is none.
    """
    low_mhz, high_mhz = radio.band_mhz
    if low_mhz - EDGE_MHZ <= error.dial_mhz(sound_mhz) <= high_mhz + EDGE_MHZ:
        return Way("direct", error)
    for side, offset_mhz in (("above", -IMAGE_OFFSET_MHZ), ("below", IMAGE_OFFSET_MHZ)):
        image = of_image(error, 1e3 * offset_mhz)
        shown_mhz = image.dial_mhz(sound_mhz)
        if radio.oscillator in (None, side) and low_mhz <= shown_mhz <= high_mhz:
            return Way("image", image, _image_words(sound_mhz, shown_mhz, side, radio))
    mirror = shifted(error, -2e3 * spacing_mhz)
    shown_mhz = mirror.dial_mhz(sound_mhz)
    if low_mhz <= shown_mhz <= high_mhz:
        return Way("mirror", mirror, _mirror_words(sound_mhz, shown_mhz))
    raise BadDial(
        f"a sound carrier on {sound_mhz:g} MHz cannot be heard on a dial from {low_mhz:g} to "
        f"{high_mhz:g} MHz, nor by an image or a mirror: choose a channel that it reaches (listen "
        f"channels --heard-on {low_mhz:g}-{high_mhz:g}), or name the radio's band with --band"
    )


def _image_words(sound_mhz: float, shown_mhz: float, side: str, radio: Radio) -> str:
    unsure = "" if radio.oscillator else f", if its oscillator runs {side} what it receives"
    return (
        f"The dial does not reach {sound_mhz:g} MHz: the image is listened to, near "
        f"{shown_mhz:.2f} MHz{unsure}. It moves as the carrier does, is weaker, and a good radio "
        "does not let it through; if nothing comes, couple closer or choose another channel."
    )


def _mirror_words(sound_mhz: float, shown_mhz: float) -> str:
    return (
        f"The dial does not reach {sound_mhz:g} MHz: the mirror of the sound, as far below the "
        f"picture, is listened to, near {shown_mhz:.2f} MHz, if this modulator sends one. It moves "
        "as the carrier does while the picture oscillator is turned, and against it with the "
        "sound trimmer: leave that one alone."
    )


def step_khz(radio: Radio) -> float:
    """The radio's smallest step, or the usual one."""
    return radio.step_khz or USUAL_STEP_KHZ


def nearest_stop(carrier_mhz: float, radio: Radio, dial_error_khz: float = 0.0) -> Place:
    """The dial stop nearest to a carrier, and the carrier's offset from it.

    carrier_mhz     true, MHz
    dial_error_khz  what the dial shows minus the truth, kHz

    Raises BadDial where the dial does not reach it.
    """
    low_mhz, high_mhz = radio.band_mhz
    shown_mhz = carrier_mhz + dial_error_khz / 1e3
    if not low_mhz - EDGE_MHZ <= shown_mhz <= high_mhz + EDGE_MHZ:
        raise BadDial(
            f"a sound carrier on {carrier_mhz:g} MHz cannot be heard on a dial from {low_mhz:g} to "
            f"{high_mhz:g} MHz: choose a channel that it reaches (listen channels --heard-on "
            f"{low_mhz:g}-{high_mhz:g}), or name the radio's band with --band"
        )
    step_mhz = step_khz(radio) / 1e3
    number = round((shown_mhz - low_mhz) / step_mhz)
    last = int((high_mhz - low_mhz) / step_mhz + 1e-6)
    dial_mhz = round(low_mhz + min(max(number, 0), last) * step_mhz, 4)
    return Place(dial_mhz, round(1e3 * (shown_mhz - dial_mhz), 3))


def ladder(
    from_mhz: float, goal_dial_mhz: float, radio: Radio, stations_mhz: tuple[float, ...] = ()
) -> tuple[float, ...]:
    """Dial stops from a carrier's present place to a goal, at most RUNG_KHZ apart, goal last.

    from_mhz       where the carrier stands, on the dial's own scale
    goal_dial_mhz  the goal's stop
    stations_mhz   dial stops that hear a station: no rung but the goal is put there

    The first rung is the one nearest to the carrier.  Where a station takes a rung's place
    the gap is wider, and the carrier unheard for a while.
    """
    step_mhz = step_khz(radio) / 1e3
    rung_mhz = max(1, int(RUNG_KHZ / step_khz(radio) + 1e-6)) * step_mhz
    count = round(abs(goal_dial_mhz - from_mhz) / rung_mhz)
    towards = 1 if goal_dial_mhz > from_mhz else -1
    low_mhz, high_mhz = radio.band_mhz
    rungs = []
    for left in range(count, 0, -1):
        dial_mhz = round(goal_dial_mhz - towards * left * rung_mhz, 4)
        taken = any(abs(dial_mhz - mhz) < STATION_MHZ for mhz in stations_mhz)
        if low_mhz <= dial_mhz <= high_mhz and not (taken and left < count):
            rungs.append(dial_mhz)
    return (*rungs, goal_dial_mhz)


Part = tuple[Trimmer, float | None, float, float | None]  # trimmer, from, to, and the spacing then


def _parts(
    goal: Channel,
    from_mhz: float | None,
    spacing_mhz: float | None,
    trimmer: Trimmer | None,
    heard_at: Callable[[float], bool],
) -> list[Part]:
    """Which trimmer is turned from where to where: one of them, or one after the other.

    Where the spacing is wrong the picture oscillator goes first, unless the sound would be parked
    off the dial or among aircraft meanwhile and by the other order would not.
    """
    own_mhz = goal.sound_mhz - goal.picture_mhz
    change_mhz = own_mhz - (spacing_mhz or 0.0)
    if trimmer or spacing_mhz is None or abs(change_mhz) * 1e3 <= SPACING_KHZ:
        return [(trimmer or "picture", from_mhz, goal.sound_mhz, spacing_mhz)]
    between_mhz = goal.sound_mhz - change_mhz  # the picture is right, the spacing is not yet
    first: Trimmer = "picture"
    last: Part = ("sound", between_mhz, goal.sound_mhz, spacing_mhz)
    if from_mhz is not None and _is_worse(between_mhz, from_mhz + change_mhz, heard_at):
        between_mhz = from_mhz + change_mhz
        first, last = "sound", ("picture", between_mhz, goal.sound_mhz, own_mhz)
    if from_mhz is not None and abs(between_mhz - from_mhz) <= NEAR_MHZ:
        return [last]
    return [(first, from_mhz, between_mhz, spacing_mhz), last]


def _is_worse(one_mhz: float, other_mhz: float, heard_at: Callable[[float], bool]) -> bool:
    """Whether a carrier parked at one place is off the dial or among aircraft, the other not."""
    good = [heard_at(mhz) and not in_aeronautical_band(mhz) for mhz in (one_mhz, other_mhz)]
    return not good[0] and (good[1] or (heard_at(other_mhz) and not heard_at(one_mhz)))


def rung_mhz(leg: Leg, number: int) -> float:
    """The dial position of a rung; beyond the ladder's ends it goes on at the same pace."""
    last = len(leg.rungs) - 1
    if 0 <= number <= last:
        return leg.rungs[number]
    pace_mhz = -RUNG_KHZ / 1e3 if leg.upward is False else RUNG_KHZ / 1e3
    if last > 0:
        pace_mhz = leg.rungs[-1] - leg.rungs[-2]
    end, beyond = (leg.rungs[0], number) if number < 0 else (leg.rungs[-1], number - last)
    return round(end + beyond * pace_mhz, 4)


def route_to(
    goal: Channel,
    radio: Radio,
    *,
    from_mhz: float | None = None,
    spacing_mhz: float | None = None,
    trimmer: Trimmer | None = None,
    wait: bool = False,
    stations_mhz: tuple[float, ...] = (),
    error: DialError | None = None,
) -> Route:
    """The legs that bring a sound carrier onto a channel.

    from_mhz      where it stands, true; None: not known, and then there is no ladder
    spacing_mhz   sound minus picture at present, measured; None: taken as the channel's
    trimmer       only this one is turned, whatever the spacing
    wait          no ladder: the radio waits at the goal
    stations_mhz  dial stops that hear stations
    error         of the dial, for what is heard directly; None: it has none

    Raises BadDial where the goal cannot be heard on this dial, or has AM sound.
    """
    if goal.sound != "FM":
        raise BadDial(f"the sound of {goal.name} is AM, which an FM radio cannot play")
    own_mhz = goal.sound_mhz - goal.picture_mhz
    heard = way_to(goal.sound_mhz, spacing_mhz or own_mhz, radio, error or steady())
    off = heard.error

    def shown_khz(true_mhz: float) -> float:
        return 1e3 * (off.dial_mhz(true_mhz) - true_mhz)

    def leg(
        whose: Trimmer, begins_mhz: float | None, ends_mhz: float, spaced_mhz: float | None
    ) -> Leg:
        place = nearest_stop(ends_mhz, radio, shown_khz(ends_mhz))
        rungs: tuple[float, ...] = (place.dial_mhz,)
        if begins_mhz is not None and not wait:
            shown_mhz = begins_mhz + shown_khz(begins_mhz) / 1e3
            rungs = ladder(shown_mhz, place.dial_mhz, radio, stations_mhz)
        return Leg(whose, begins_mhz, ends_mhz, place, rungs, spaced_mhz)

    def heard_at(true_mhz: float) -> bool:
        low_mhz, high_mhz = radio.band_mhz
        return low_mhz - EDGE_MHZ <= off.dial_mhz(true_mhz) <= high_mhz + EDGE_MHZ

    warnings = [heard.warning] if heard.warning else []
    move_mhz = 0.0 if from_mhz is None else abs(goal.sound_mhz - from_mhz)
    if move_mhz > WITHIN_MHZ:
        warnings.append(TOO_FAR.format(mhz=move_mhz, within=WITHIN_MHZ))
    parts = _parts(goal, from_mhz, spacing_mhz, trimmer, heard_at)
    legs = tuple(leg(*part) for part in parts)
    warnings += [AMONG_AIRCRAFT.format(mhz=p[2]) for p in parts[:-1] if in_aeronautical_band(p[2])]
    if heard.heard_as == "mirror" and any(leg.trimmer == "sound" for leg in legs):
        raise BadDial(
            f"on this dial {goal.name} can be heard by the mirror of its sound alone, and the "
            "sound trimmer moves that the other way: choose a channel that the dial reaches"
        )
    if any(abs(legs[-1].place.dial_mhz - mhz) < STATION_MHZ for mhz in stations_mhz):
        warnings.append(
            f"A station sits beside {legs[-1].place.dial_mhz:g} MHz, the goal's dial stop: it can "
            "be told from the console only by the switch."
        )
    return Route(
        *(goal, legs, spacing_mhz, off, stations_mhz, tuple(warnings)), heard_as=heard.heard_as
    )
