"""By which way a carrier was heard, and what else of the same modulator was.

A modulator sends a sound carrier, a picture carrier one spacing below it, often a mirror of
the sound as far below the picture, and second-order products of all of them.  A radio hears
each at its own place, and the stronger ones once more at their image.  So one tone on the
dial may be the sound itself, its mirror, its image, or a harmonic; where it truly sits is
another matter each time.

For each carrier all ways are laid out, with each spacing that a television system has, and
weighed by

plan      how near the true sound carrier then is to a channel's
partners  what else of that modulator was heard where it must be: a buzz, a second tone
missing   what must be heard, was listened for, and was not
strays    a picture's buzz that this way leaves unexplained, where another way explains it

Plans that were asked for make their channels likelier; the others stay possible, for consoles
travel.  So a pair that was heard names the spacing, whatever plans were asked for.

A digital dial's error, which its stations tell, is of the opposite sign at an image: it is the
passband's, and the image comes to that from the oscillator's other side (DialError.image_khz).

An explanation alone proves nothing: windows round all ghosts of all plans cover most of the
dial.  So a way that is no direct one starts low and needs partners or a plan.

Conventions
-----------
Places are true MHz (the dial's error taken out), weights natural logarithms.

Source of the spacings: listen/data/systems.csv.  Images 21.4 MHz away: arithmetic of mixing
with 10.7 MHz.  A picture carrier stands some 10 dB above its sound (ITU-R BT.470 gives 10:1 to
20:1 in power); that it cannot be missed where its sound is heard follows.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache

import numpy as np

from listen.analysis.answer import HeardAs
from listen.analysis.evidence import Candidate
from listen.analysis.heard import LIKE_CONSOLE
from listen.analysis.responses import Kind, Response, half_way_pictures, responses
from listen.analysis.runs import LISTENED_MHZ, Run
from listen.channels import channels, systems
from listen.channels.lookup import IMAGE_OFFSET_MHZ
from listen.radio import USUAL_BAND_KHZ, Oscillator

# How likely each way is before anything else is known: most consoles are heard directly.
DIRECT, MIRROR, IMAGE, HARMONIC = 0.0, -3.0, -3.0, -4.0
ANOTHER_PLAN = 0.1  # share of consoles that are of none of the plans asked for
PLAN_KHZ = ((0.5, 35.0), (0.4, 110.0), (0.1, 220.0))  # how far modulators are from their channel
OFF_PLAN = 0.04  # share of modulators that keep to no channel
TRIM_KHZ = ((0.7, 15.0), (0.3, 80.0))  # how often a subcarrier is off, and by how much, kHz
PARTNER_MOST, PARTNERS_MOST = 3.0, 5.0
SWITCHED = 4.0  # what a partner gives beyond that if the switch proved it the console's
PARTNER_MHZ = 0.25  # no partner is further from its place than this, a spacing away
BUZZ = 0.1  # how often what buzzes is a sound carrier after all, at rest
STRAY_BUZZ = -4.0  # a picture's buzz that comes of no carrier of the modulator
HEARD_SO = 2.0  # a way by which another sweep heard this console
SAME_WAY_MHZ = 0.2  # shifts further apart are two ways; two sweeps' dial errors part one by less
MISSED_PICTURE = -3.5
MISSED_SOUND = -8.0
NEAR_MHZ = 0.16  # all about a place that was listened to
WEAKER_DB = 8.0  # an image lies at least so far below its direct carrier


@cache
def spacings_mhz() -> tuple[float, ...]:
    """The spacings of all systems with FM sound above the picture, MHz."""
    above = {round(s.spacing_mhz, 2) for s in systems() if s.sound == "FM" and s.spacing_mhz > 0}
    return tuple(sorted(above))


def standard_spacing_mhz(spacing_mhz: float) -> float:
    """The spacing of a system that one is nearest to, MHz."""
    return min(spacings_mhz(), key=lambda mhz: abs(mhz - spacing_mhz))


@dataclass(frozen=True, slots=True)
class Way:
    """One way in which a carrier of the dial may be a console's.

    heard_as             as in the answer
    scale, shift_mhz     true sound carrier = scale · place + shift_mhz + ghost_mhz
    spacing_mhz          sound over picture, of the system supposed
    oscillator           the side that an image supposes, or None
    prior                what it starts with
    below                how many spacings it lies under the sound, as the dial shows them
    ghost_mhz            of the image of a mirror: how far the image of the sound lies above it
    plan                 odds of its nearness to a channel, against a carrier anywhere
    partners             odds of what else was heard, or was missed
    stray                odds of the buzzes that it alone leaves unexplained
    picture, mirror      the runs in which those were heard, or None
    """

    heard_as: HeardAs
    scale: float
    shift_mhz: float
    spacing_mhz: float
    oscillator: Oscillator | None
    prior: float
    below: int = 0
    ghost_mhz: float = 0.0
    plan: float = 0.0
    partners: float = 0.0
    stray: float = 0.0
    picture: Run | None = None
    mirror: Run | None = None

    @property
    def weight(self) -> float:
        """All of it together."""
        return self.prior + self.plan + self.partners + self.stray

    def sound_mhz(self, place_mhz: float) -> float:
        """The true sound carrier, given where it is heard."""
        return self.scale * place_mhz + self.shift_mhz + self.ghost_mhz

    def is_like(self, other: "Way") -> bool:
        """Whether both hear a carrier in the same way, whatever the spacing."""
        mine, theirs = ((way.heard_as, way.scale, way.below) for way in (self, other))
        return mine == theirs and abs(self.shift_mhz - other.shift_mhz) < SAME_WAY_MHZ


@dataclass(frozen=True, slots=True)
class Dial:
    """What the ways of a sweep's carriers are judged by.

    carriers    all of them
    true_mhz    takes the dial's error out of a place
    open_mhz    stops (true) at which nothing but the open band was heard, console on
    visited_mhz all stops (true), console on
    oscillator  the radio's, None if not known
    plans       channel plans to consider; None: all
    image_mhz   how much higher an image's carrier is than 21.4 MHz away: DialError.image_khz
    heard_by    by which way another sweep heard this console, or None
    """

    carriers: tuple[Candidate, ...]
    true_mhz: Callable[[float], float]
    open_mhz: tuple[float, ...]
    visited_mhz: tuple[float, ...]
    oscillator: Oscillator | None = None
    plans: tuple[str, ...] | None = None
    image_mhz: float = 0.0
    heard_by: Way | None = None

    def silent_at(self, mhz: float) -> bool:
        """Whether the dial stood about there and heard nothing but the open band."""
        near = [stop for stop in self.visited_mhz if abs(stop - mhz) <= NEAR_MHZ]
        open_too = {stop for stop in self.open_mhz if abs(stop - mhz) <= NEAR_MHZ}
        listened = any(abs(stop - mhz) <= LISTENED_MHZ for stop in near)
        return listened and all(stop in open_too for stop in near)


def with_ways(one: Candidate, dial: Dial) -> Candidate:
    """The carrier with what the ways of hearing it are worth."""
    ways = ways_of(one, dial)
    if not ways:
        return replace(one, sure=BUZZ)
    sure = certainty(ways, dial.true_mhz(one.fit.mean_mhz))
    return replace(one, way=ways[0].weight, pair=ways[0].partners, sure=sure)


def ways_of(one: Candidate, dial: Dial) -> tuple[Way, ...]:
    """All ways in which a carrier may have been heard, the likeliest first.

    A picture's buzz has none: it is no sound carrier.
    """
    if one.run.kind == "buzz":
        return ()
    place_mhz = dial.true_mhz(one.fit.mean_mhz)
    buzzes = [c for c in dial.carriers if c.run.kind == "buzz" and c.switch >= 0]
    weighed, strays = [], []
    for way in _supposed(dial.oscillator, dial.image_mhz):
        weighed.append(_weighed(way, one, place_mhz, dial))
        strays.append(sum(not _explained(way, place_mhz, buzz, dial) for buzz in buzzes))
    least = min(strays)  # what no way explains speaks against none
    ways = [
        replace(way, stray=STRAY_BUZZ * (stray - least))
        for way, stray in zip(weighed, strays, strict=True)
    ]
    return tuple(sorted(ways, key=lambda way: -way.weight))


def certainty(ways: Sequence[Way], place_mhz: float, within_mhz: float = 0.15) -> float:
    """The share of all ways that put the sound carrier where the first of them does."""
    weight = np.exp([way.weight - ways[0].weight for way in ways])
    there = ways[0].sound_mhz(place_mhz)
    same = [abs(way.sound_mhz(place_mhz) - there) <= within_mhz for way in ways]
    return float(weight[same].sum() / weight.sum())


def places(ways: Sequence[Way], place_mhz: float, within_mhz: float = 0.15) -> list[Way]:
    """The likeliest way of each true place, of those within 3 of the likeliest of all."""
    found: list[Way] = []
    for way in ways:
        near = [abs(way.sound_mhz(place_mhz) - w.sound_mhz(place_mhz)) for w in found]
        if way.weight > ways[0].weight - 3 and all(mhz > within_mhz for mhz in near):
            found.append(way)
    return found


@lru_cache(maxsize=16)  # each sweep has its own dial's error
def _supposed(oscillator: Oscillator | None, image_mhz: float) -> tuple[Way, ...]:
    """Every way with every spacing, before anything of it was weighed."""
    found: list[Way] = []
    sides: dict[Oscillator, float] = {
        "above": IMAGE_OFFSET_MHZ + image_mhz,
        "below": -IMAGE_OFFSET_MHZ + image_mhz,
    }
    for spacing in spacings_mhz():
        found.append(Way("direct", 1.0, 0.0, spacing, None, DIRECT))
        found.append(Way("mirror", 1.0, 2 * spacing, spacing, None, MIRROR, 2))
        found.append(Way("harmonic", 0.5, 0.0, spacing, None, HARMONIC))
        found.append(Way("harmonic", 0.5, spacing / 2, spacing, None, HARMONIC, 1))
        for side, shift in sides.items():
            if oscillator in (None, side):
                found.append(Way("image", 1.0, shift, spacing, side, IMAGE))
                both = IMAGE + MIRROR
                found.append(Way("image", 1.0, shift, spacing, side, both, 2, 2 * spacing))
    return tuple(found)


def _weighed(way: Way, one: Candidate, place_mhz: float, dial: Dial) -> Way:
    """A way with its odds and its partners."""
    sound_mhz = way.sound_mhz(place_mhz)
    picture_mhz = sound_mhz - way.spacing_mhz
    odds, most = 0.0, PARTNERS_MOST
    runs: dict[str, Run] = {}
    for response in _responses(way, sound_mhz, dial):
        if abs(response.mhz - place_mhz) < PARTNER_MHZ:
            continue  # that is the carrier itself
        partner, gain = _partner(response, one, way, dial)
        odds += gain
        if partner is not None:
            runs[response.name] = partner.run
            most += SWITCHED if partner.switch > 0 else 0.0
    odds = min(odds, most)
    odds += HEARD_SO if dial.heard_by is not None and way.is_like(dial.heard_by) else 0.0
    if way.heard_as in ("direct", "mirror") and dial.silent_at(picture_mhz):
        odds += MISSED_PICTURE
    if way.heard_as != "direct" and dial.silent_at(sound_mhz):
        odds += MISSED_SOUND
    if way.heard_as == "image":
        seen_mhz = place_mhz + way.ghost_mhz
        odds += MISSED_PICTURE if dial.silent_at(seen_mhz - way.spacing_mhz) else 0.0
        odds += MISSED_SOUND if way.ghost_mhz and dial.silent_at(seen_mhz) else 0.0
    shown = "image " if way.heard_as == "image" else ""
    return replace(
        way,
        plan=_plan_odds(sound_mhz, way.spacing_mhz, dial.plans),
        partners=odds,
        picture=runs.get(f"{shown}picture"),
        mirror=runs.get(f"{shown}mirror"),
    )


def _responses(way: Way, sound_mhz: float, dial: Dial) -> Iterator[Response]:
    """All that a modulator gives a dial."""
    oscillator = way.oscillator or dial.oscillator
    return responses(sound_mhz, way.spacing_mhz, oscillator, dial.image_mhz)


def _partner(
    response: Response, one: Candidate, way: Way, dial: Dial
) -> tuple[Candidate | None, float]:
    """The carrier heard at a partner's place, and the odds that it brings."""
    best: tuple[Candidate | None, float] = (None, 0.0)
    apart = max(1, abs(response.below - way.below))  # a subcarrier's error counts so often
    nearest_mhz = PARTNER_MHZ * apart
    for other in dial.carriers:
        if other.run is one.run or other.switch < 0 or not _sounds(response.kind, other):
            continue
        off_mhz = abs(dial.true_mhz(other.fit.mean_mhz) - response.mhz)
        if off_mhz > nearest_mhz or _too_strong(response, other, one, way):
            continue
        nearest_mhz = off_mhz
        spread_khz = float(np.hypot(one.fit.spread_khz, other.fit.spread_khz))
        density = float(_mixture(1e3 * off_mhz, TRIM_KHZ, spread_khz, float(apart)))
        gain = float(np.clip(np.log(density * USUAL_BAND_KHZ), 0.0, PARTNER_MOST))
        best = (other, gain + (SWITCHED if other.switch > 0 else 0.0))
    return best


def _explained(way: Way, place_mhz: float, buzz: Candidate, dial: Dial) -> bool:
    """Whether a buzz is where a modulator that is heard in this way has one."""
    at_mhz = dial.true_mhz(buzz.fit.mean_mhz)
    sound_mhz = way.sound_mhz(place_mhz)
    given = list(_responses(way, sound_mhz, dial))
    if not dial.silent_at(sound_mhz - way.spacing_mhz):  # half-way it is weaker
        given += half_way_pictures(sound_mhz, way.spacing_mhz, way.oscillator or dial.oscillator)
    return any(
        abs(response.mhz - at_mhz) <= PARTNER_MHZ * max(1, abs(response.below - way.below))
        for response in given
        if _sounds(response.kind, buzz)
    )


def _too_strong(response: Response, other: Candidate, one: Candidate, way: Way) -> bool:
    """Whether a tone is too strong to be the image of what is heard directly."""
    ghost = "image" in response.name and way.heard_as == "direct" and response.kind == "tone"
    return ghost and other.quieting_db > one.quieting_db - WEAKER_DB


def _sounds(kind: Kind, other: Candidate) -> bool:
    """Whether a carrier may be that kind of partner."""
    buzz = other.run.kind == "buzz"
    tone = not buzz and (other.sound >= LIKE_CONSOLE or other.switch > 0)
    return buzz if kind == "buzz" else tone if kind == "tone" else buzz or tone


def _plan_odds(sound_mhz: float, spacing_mhz: float, plans: tuple[str, ...] | None) -> float:
    """How much likelier a modulator is there than a carrier that keeps to no channel."""
    density = _plan_density(sound_mhz, spacing_mhz, None)
    if plans:
        asked = _plan_density(sound_mhz, spacing_mhz, plans)
        density = (1 - ANOTHER_PLAN) * asked + ANOTHER_PLAN * density
    return float(np.log((1 - OFF_PLAN) * density * USUAL_BAND_KHZ + OFF_PLAN / len(spacings_mhz())))


def _plan_density(sound_mhz: float, spacing_mhz: float, plans: tuple[str, ...] | None) -> float:
    """How likely a channel's modulator is there, per kHz."""
    nominal_mhz, on_dial = _nominal(spacing_mhz, plans)
    off_khz = 1e3 * (nominal_mhz - sound_mhz)
    return float(np.sum(_mixture(off_khz, PLAN_KHZ, 0.0, 1.0))) / max(on_dial, 1)


@cache
def _nominal(spacing_mhz: float, plans: tuple[str, ...] | None) -> tuple[np.ndarray, int]:
    """The distinct sound carriers with that spacing, and how many there are on a usual dial."""
    fm = {s.name for s in systems() if s.sound == "FM"}
    every = [c for c in channels(plans) if c.system in fm]
    sounds = {
        round(c.sound_mhz, 1): c.sound_mhz
        for c in every
        if abs(c.sound_mhz - c.picture_mhz - spacing_mhz) < 0.01
    }
    on_dial = {round(c.sound_mhz, 1) for c in every if 87.5 <= c.sound_mhz <= 108.0}
    return np.array(sorted(sounds.values())), len(on_dial)


def _mixture(
    off_khz: np.ndarray | float,
    parts: tuple[tuple[float, float], ...],
    spread_khz: float,
    times: float,
) -> np.ndarray:
    """The density at a distance of a sum of normal ones, per kHz."""
    density = np.zeros(np.shape(off_khz))
    for share, own_khz in parts:
        wide_khz = float(np.hypot(times * own_khz, spread_khz))
        bell = np.exp(-0.5 * (np.asarray(off_khz) / wide_khz) ** 2)
        density = density + share * bell / (wide_khz * np.sqrt(2 * np.pi))
    return density
