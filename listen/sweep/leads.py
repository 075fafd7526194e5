"""What is worth hearing round a carrier that may be the console's.

A carrier that sounds like one is followed at once: the stops beside it until it fades on both
sides, then whichever stop is expected to narrow its place most; then whether it is the sound
and not its mirror, and where its picture is; then the switch.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from listen.channels import Channel, systems
from listen.sweep.now import BESIDE_MHZ, NEAR_MHZ, Now
from listen.sweep.outlook import Carrier
from listen.sweep.reasons import (
    OFF_AGAIN,
    OFF_ELSEWHERE,
    OFF_FIRST,
    ON_AGAIN,
    PLAYS_NOW,
    beside_words,
    bracket_words,
    edge_words,
    finer_words,
    mirror_words,
    picture_edge_words,
    picture_words,
    sound_words,
    station_words,
    upper_words,
)
from listen.sweep.search import HOP_KHZ
from listen.sweep.stops import AROUND_KHZ
from listen.sweep.walk import Ask, key

WIDEST_MHZ = 0.75  # nothing that is held over more of the dial is one carrier
FADES_MHZ = 0.45  # half-heard stops are followed outward so far
REACH_MHZ = 0.45  # further out no stop tells of a carrier
GAIN = 0.08  # a stop is worth its trouble if it narrows a place by this share
GAIN_KHZ = 1.0  # and by so much
STALE_STOPS = 20  # some minutes of walking: a console that warms up may have drifted by then
MOST_OFF_CHECKS = 5
PLAYS_TRIES = 3  # what the switch proved but does not play is heard again so often
POOR_KHZ = 12.0  # spread of a place from which stations are worth hearing for its sake
COARSE_KHZ = 150.0  # of a dial's step: from here the picture's flanks help to place the sound


@dataclass(frozen=True, slots=True)
class Nominal:
    """A channel's carriers as its plan has them, MHz.

    sound_mhz  where the dial shows it
    off_mhz    that, minus where it is
    """

    sound_mhz: float
    spacing_mhz: float
    off_mhz: float = 0.0

    @classmethod
    def of(cls, channel: Channel, off_mhz: float = 0.0) -> "Nominal":
        """Of a channel of a plan, on a dial that is off by so much there."""
        return cls(channel.sound_mhz + off_mhz, round(channel.spacing_mhz, 4), off_mhz)

    @property
    def true_mhz(self) -> float:
        """Where the sound is."""
        return self.sound_mhz - self.off_mhz


def side_stops(now: Now, carrier: Carrier) -> Iterator[float]:
    """The free stops a hop beside a carrier, the upper one first; none where it fades already.

    It fades where the next stop heard the open band or another carrier.  Something half heard
    may be its own or another's edge: then the one beyond tells.
    """
    low_mhz, high_mhz = carrier.held_mhz[0], carrier.held_mhz[-1]
    if high_mhz - low_mhz > WIDEST_MHZ:
        return
    for end_mhz, way in ((high_mhz, 1), (low_mhz, -1)):
        at_mhz = end_mhz
        while (next_mhz := now.next_done(at_mhz, way)) is not None:
            at_mhz = next_mhz
            if now.word_at(at_mhz) != "edge" or abs(at_mhz - end_mhz) > FADES_MHZ:
                break
        else:
            stop = now.nearest_free(at_mhz + way * HOP_KHZ / 1e3)
            if stop is not None:
                yield stop


def beside(now: Now, carrier: Carrier, console: bool) -> Ask | None:
    """The next stop beside a carrier, until it fades on both sides."""
    for stop in side_stops(now, carrier):
        held_mhz = min(carrier.held_mhz, key=lambda mhz: abs(mhz - stop))
        return Ask(stop, "on", beside_words(held_mhz, console))
    return None


def beside_edge(now: Now) -> Ask | None:
    """A stop beside one where something was half heard, if nothing beside it explains that."""
    heard = [(mhz, word) for mhz, word in now.outlook.stops if word in ("held", "edge")]
    for edge_mhz, word in heard:
        beside_it = [mhz for mhz, _ in heard if 5e-5 < abs(mhz - edge_mhz) <= BESIDE_MHZ]
        if word != "edge" or beside_it:
            continue
        for way in (1, -1):
            stop_mhz = edge_mhz + way * HOP_KHZ / 1e3
            stop = now.nearest_free(stop_mhz)
            if stop is not None and not now.is_done(stop, NEAR_MHZ - 0.005):
                return Ask(stop, "on", edge_words(edge_mhz))
    return None


def when_it_plays(now: Now, carrier: Carrier) -> Ask | None:
    """A carrier that rested when it was heard, once more: it may play by then."""
    best_mhz = min(carrier.held_mhz, key=lambda mhz: abs(mhz - carrier.centre_mhz))
    tries = sum(key(mhz) == key(best_mhz) for mhz in now.done())
    most = PLAYS_TRIES if carrier.switch > 0 else 1
    return Ask(best_mhz, "on", PLAYS_NOW) if tries <= most else None


def finer(now: Now, carrier: Carrier) -> Ask | None:
    """The stop that is expected to narrow a carrier's place most, if one is worth it."""
    near = [
        mhz
        for mhz in now.grid
        if abs(mhz - carrier.centre_mhz) <= REACH_MHZ and not now.is_done(mhz)
    ]
    if not near:
        return None
    spread_khz, stop = min((carrier.spread_with_khz(mhz), mhz) for mhz in near)
    gain_khz = carrier.spread_khz - spread_khz
    if gain_khz < max(GAIN_KHZ, GAIN * carrier.spread_khz):
        return None
    return Ask(stop, "on", finer_words(2 * carrier.spread_khz, 2 * spread_khz))


def bracket(now: Now, carrier: Carrier) -> Ask | None:
    """A stop between the outermost one that held a carrier and the open one next to it.

    The expected gain trusts the fitted curve; a cliff that stands between two neighbouring
    stops of the dial is known whatever the curve is.
    """
    for end_mhz, way in ((carrier.held_mhz[-1], 1), (carrier.held_mhz[0], -1)):
        next_mhz = now.next_done(end_mhz, way)
        if next_mhz is None or now.word_at(next_mhz) not in ("open", "muted"):
            continue
        middle_mhz = (end_mhz + next_mhz) / 2
        free = [
            mhz for mhz in now.grid if 5e-5 < way * (mhz - end_mhz) < way * (next_mhz - end_mhz)
        ]
        free = [mhz for mhz in free if not now.is_done(mhz)]
        if free:
            stop = min(free, key=lambda mhz: abs(mhz - middle_mhz))
            return Ask(stop, "on", bracket_words(end_mhz, next_mhz))
    return None


def not_its_mirror(now: Now, carrier: Carrier, plan: Sequence[Nominal]) -> Ask | None:
    """A stop that tells whether a carrier is a mirror, where a channel's mirror would stand."""
    own = _near(carrier.centre_mhz, plan)
    spacings = {
        c.spacing_mhz
        for c in plan
        if abs(c.sound_mhz - 2 * c.spacing_mhz - carrier.centre_mhz) * 1e3 <= AROUND_KHZ
    }
    for spacing_mhz in sorted(spacings or ({s for s in _spacings() if not own})):
        picture_mhz = carrier.centre_mhz + spacing_mhz
        sound_mhz = picture_mhz + spacing_mhz
        if sound_mhz > now.grid[-1] + NEAR_MHZ:
            continue
        for mhz in (picture_mhz, sound_mhz):
            if mhz == sound_mhz and now.word_near(picture_mhz) in ("open", "muted", ""):
                break
            stop = now.nearest_free(mhz)
            if stop is not None and not now.is_done(mhz, NEAR_MHZ):
                return Ask(stop, "on", upper_words(carrier.centre_mhz, sound_mhz))
    return None


def its_picture(now: Now, carrier: Carrier, plan: Sequence[Nominal]) -> Ask | None:
    """A stop where the picture would buzz, or, where that is not heard, the mirror."""
    for spacing_mhz in sorted({c.spacing_mhz for c in _near(carrier.centre_mhz, plan)}):
        picture_mhz = carrier.centre_mhz - spacing_mhz
        stop = now.nearest_free(picture_mhz)
        if stop is not None and not now.is_done(picture_mhz, NEAR_MHZ):
            return Ask(stop, "on", picture_words(carrier.centre_mhz))
        heard = [
            c
            for c in now.outlook.carriers
            if c.sounds_like == "picture" and abs(c.centre_mhz - picture_mhz) < BESIDE_MHZ
        ]
        if heard and now.step_mhz >= COARSE_KHZ / 1e3:
            for stop in side_stops(now, heard[0]):
                return Ask(stop, "on", picture_edge_words(heard[0].centre_mhz))
        if heard or not now.word_near(picture_mhz):
            continue
        mirror_mhz = picture_mhz - spacing_mhz
        stop = now.nearest_free(mirror_mhz)
        if stop is not None and not now.is_done(mirror_mhz, NEAR_MHZ):
            return Ask(stop, "on", mirror_words(carrier.centre_mhz))
    return None


def known_station(now: Now, carrier: Carrier) -> Ask | None:
    """A stop beside a station that was met anyway, while a carrier's place is poorly known.

    A station stands on its raster: with its edges heard it tells how wide this radio holds a
    carrier and how far its dial is off, which is what a carrier's own stops leave open.
    """
    if carrier.spread_khz < POOR_KHZ:
        return None
    stations = [c for c in now.outlook.carriers if c.sounds_like == "station"]
    for station in sorted(stations, key=lambda c: abs(c.centre_mhz - now.dial_mhz)):
        for stop in side_stops(now, station):
            return Ask(stop, "on", station_words(station.centre_mhz))
    return None


def off_check(now: Now, carrier: Carrier) -> Ask | None:
    """The console off at a carrier's best stop; then on again where that is worth it."""
    if not now.switch_works or carrier.switch:
        return None
    best_mhz = min(carrier.held_mhz, key=lambda mhz: abs(mhz - carrier.centre_mhz))
    checks = now.done("off")
    if len(checks) >= MOST_OFF_CHECKS:
        return None
    if not now.off_checked(carrier):
        return Ask(best_mhz, "off", OFF_AGAIN if checks else OFF_FIRST)
    return _elsewhere(now, carrier)


def _elsewhere(now: Now, carrier: Carrier) -> Ask | None:
    """The switch once more, where a neighbour that was heard beneath a carrier is weaker."""
    checked = {key(mhz) for mhz in now.done("off")}
    tried = [mhz for mhz in carrier.held_mhz if key(mhz) in checked]
    beneath = [
        other.centre_mhz
        for other in now.outlook.carriers
        if other is not carrier and abs(other.centre_mhz - carrier.centre_mhz) <= WIDEST_MHZ
    ]
    if len(tried) != 1 or not beneath:
        return None

    def away_mhz(stop: float) -> float:
        return min(abs(stop - mhz) for mhz in beneath)

    stop = max(carrier.held_mhz, key=away_mhz)
    return Ask(stop, "off", OFF_ELSEWHERE) if away_mhz(stop) > away_mhz(tried[0]) else None


def on_again(now: Now) -> Ask | None:
    """After an off check: the console on once more, where it was last heard long ago there."""
    last = now.so_far[-1]
    if last.console != "off" or not last.kept:
        return None
    for ago, visit in enumerate(reversed(now.so_far)):
        if visit.console == "on" and visit.kept and key(visit.dial_mhz) == key(last.dial_mhz):
            return Ask(last.dial_mhz, "on", ON_AGAIN) if ago > STALE_STOPS else None
    return None


def above_picture(now: Now, plan: Sequence[Nominal], anywhere: bool) -> Ask | None:
    """A stop where the sound of a picture that was heard would stand.

    anywhere  whether the picture may be off all channels of the plan
    """
    for carrier in now.outlook.carriers:
        if carrier.sounds_like != "picture":
            continue
        named = {
            c.spacing_mhz
            for c in plan
            if abs(c.sound_mhz - c.spacing_mhz - carrier.centre_mhz) * 1e3 <= AROUND_KHZ
        }
        for spacing_mhz in sorted(named or (_spacings() if anywhere else ())):
            sound_mhz = carrier.centre_mhz + spacing_mhz
            stop = now.nearest_free(sound_mhz)
            if stop is not None and not now.is_done(sound_mhz, NEAR_MHZ):
                return Ask(stop, "on", sound_words(carrier.centre_mhz, spacing_mhz))
    return None


def is_near_sound(mhz: float, plan: Sequence[Nominal]) -> bool:
    """Whether a channel has its sound near, and none its picture nearer."""
    sounds = [abs(c.sound_mhz - mhz) for c in plan]
    pictures = [abs(c.sound_mhz - c.spacing_mhz - mhz) for c in plan]
    return min(sounds) * 1e3 <= AROUND_KHZ and min(sounds) < min(pictures)


def _near(mhz: float, plan: Sequence[Nominal]) -> list[Nominal]:
    """The channels whose sound a carrier may be."""
    return [c for c in plan if abs(c.sound_mhz - mhz) * 1e3 <= AROUND_KHZ]


def _spacings() -> set[float]:
    return {s.spacing_mhz for s in systems() if s.sound == "FM" and s.spacing_mhz > 0}
