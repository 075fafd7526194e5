"""Everything that is made of a sweep on the way to an answer: carriers, weighed.

survey        all stops against the open-band roar
heard, runs   whose sound, and which stops heard the same carrier
evidence      each run fitted and weighed
afc           whether the radio drags its dial, and where its carriers are then
modulator     by which way the likeliest was heard, and what else of its modulator

What it gives
-------------
weigh       a Weighed from measured stops
is_find     whether its likeliest carrier may be named
switch_at   the dial stop at which the console's switch would settle most
hidden_mhz  the one beside a station where the console may hide
covered_mhz the one of a station that may cover the sound to a picture
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from listen.analysis.advice import STATION_SURELY
from listen.analysis.afc import Afc, drawn_by, placed_by
from listen.analysis.dialerror import DialError, Floats
from listen.analysis.dialplaces import switch_dial_mhz
from listen.analysis.evidence import Candidate, candidate, near_of, with_raster
from listen.analysis.heard import Sound, judge
from listen.analysis.hidden import behind_at, hidden_at, was_asked
from listen.analysis.measures import Measures
from listen.analysis.modulator import Dial, Way, places, ways_of, with_ways
from listen.analysis.runs import Run, find_runs, shoulders, too_wide
from listen.analysis.spacing import Picture, left_open_khz, place_picture, with_picture
from listen.analysis.stations import calibrated, held_by, is_alone, placed, stations_heard
from listen.analysis.survey import Survey, survey
from listen.analysis.switch import split_by_switch
from listen.analysis.width import radio_weights
from listen.radio import Radio

FAR_WAYS = ("image", "harmonic")  # such a way can be found for most places of the dial


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """A sweep with everything that was made of it on the way to an answer.

    candidates  the likeliest first; it alone is fitted finely, with its picture and mirror; if it
                is no find then, the next one too
    ways        in which the likeliest may have been heard, the likeliest first, one for each place
                of the true carrier; none where it is no sound carrier at all
    stations    those that told the dial's error
    heard       where the likeliest one's picture was placed by ear
    afc         whether the radio drags its dial; where that is likely no station tells anything
    radio       how wide this radio holds a carrier, as width.radio_weights gives it
    """

    sweep: Survey
    sounds: tuple[Sound, ...]
    runs: tuple[Run, ...]
    candidates: tuple[Candidate, ...]
    error: DialError
    afc: Afc
    ways: tuple[Way, ...] = ()
    picture: Candidate | None = None
    mirror: Candidate | None = None
    heard: Picture = field(default_factory=Picture)
    stations: tuple[Candidate, ...] = ()
    radio: Floats | None = None


def weigh(
    stops: tuple[Measures, ...],
    radio: Radio,
    mains_hz: Sequence[float] = (50.0, 60.0),
    plans: tuple[str, ...] | None = None,
    heard_by: Way | None = None,
) -> Weighed:
    """Everything from the measured stops to weighed candidates, the likeliest first.

    heard_by  by which way another sweep heard this console, or None
    """
    sweep = survey(stops)
    sounds = tuple(judge(sweep, i, mains_hz) for i in range(len(stops)))
    sounds = shoulders(sweep, sounds)
    runs = split_by_switch(find_runs(sweep, sounds), sweep, sounds)
    unknown = radio_weights([], radio.passband_khz)
    scatter_khz = radio.scatter_khz
    rough = [candidate(run, runs, sweep, sounds, unknown, True, scatter_khz) for run in runs]
    by_hiss = stations_heard(rough, sweep)
    stations = tuple(placed(c, runs, sweep, sounds, unknown, scatter_khz) for c in by_hiss)
    error = calibrated(stations, runs, sweep, sounds, radio)
    unheard = calibrated((), runs, sweep, sounds, radio)
    afc = drawn_by(rough, runs, sweep, sounds, radio, unheard)
    if afc.may_be:
        rough = [placed_by(c, afc, runs, sweep, sounds) for c in rough]
    if afc.likely:  # stations are not where they seem, nor as wide as the radio holds them
        stations, error = (), afc.error(unheard)
    carriers = [with_raster(c, error, radio) for c in rough]
    dial = replace(_dial(carriers, sweep, sounds, error, radio, plans), heard_by=heard_by)
    ranked = sorted((with_ways(c, dial) for c in carriers), key=_rank)
    alone = [c for c in by_hiss if stations and is_alone(c.run, runs, sweep)]
    widths = [held_by(c, sweep, error, radio) for c in alone]
    known = radio_weights(widths, radio.passband_khz)
    whole = Weighed(sweep, sounds, runs, (), error, afc, stations=stations, radio=known)
    if not ranked:
        return whole
    likeliest = _refined(ranked[0], ranked, whole, dial, radio)
    if len(ranked) < 2 or not ranked[1].is_find or is_find(likeliest, likeliest.candidates[0]):
        return likeliest
    return _runner_up(likeliest, _refined(ranked[1], ranked, whole, dial, radio))


def _refined(
    one: Candidate, ranked: Sequence[Candidate], whole: Weighed, dial: Dial, radio: Radio
) -> Weighed:
    """The sweep with one of its carriers put first and fitted finely, its picture and mirror too.

    ranked  all carriers, fitted coarsely
    """
    runs, sweep, sounds, known = whole.runs, whole.sweep, whole.sounds, whole.radio
    assert known is not None

    def finely(run: Run) -> Candidate:
        fine = candidate(run, runs, sweep, sounds, known, False, radio.scatter_khz)
        return placed_by(fine, whole.afc, runs, sweep, sounds) if whole.afc.may_be else fine

    rest = tuple(other for other in ranked if other is not one)
    best = with_raster(finely(one.run), whole.error, radio)
    ways = ways_of(best, dial)
    if not ways:
        return replace(whole, candidates=(with_ways(best, dial), *rest))
    picture, mirror = (
        None if run is None else finely(run) for run in (ways[0].picture, ways[0].mirror)
    )
    best, heard = _placed(with_ways(best, dial), ways[0], picture, mirror, whole.error)
    apart = tuple(places(ways, dial.true_mhz(best.fit.mean_mhz)))
    return replace(
        whole, candidates=(best, *rest), ways=apart, picture=picture, mirror=mirror, heard=heard
    )


def _placed(
    best: Candidate,
    way: Way,
    picture: Candidate | None,
    mirror: Candidate | None,
    error: DialError,
) -> tuple[Candidate, Picture]:
    """The likeliest carrier with how well it places the true sound, and where its picture is.

    What is open of a mirror's picture, or of the trimming, is open twice of the sound.
    """
    joined = None
    if picture is not None and way.heard_as in ("direct", "image") and not way.below:
        joined = with_picture(best.fit, picture.fit, error)
    picture_fit = None if picture is None else picture.fit
    mirror_fit = None if mirror is None else mirror.fit
    heard = place_picture(way, best.fit, picture_fit, mirror_fit, error, joined)
    near = near_of(joined or best.fit, error, way.scale, left_open_khz(way, heard))
    return replace(best, joined=joined, near=near), heard


def _runner_up(likeliest: Weighed, second: Weighed) -> Weighed:
    """The second carrier put first where a fine fit makes it a find, and not the likeliest.

    Where the switch spoke for the likeliest alone, that is the console, and only its place is open.
    """
    first, other = likeliest.candidates[0], second.candidates[0]
    if not is_find(second, other) or first.switch > 0 >= other.switch:
        return likeliest
    rest = [c for c in likeliest.candidates[1:] if c.run is not other.run]
    return replace(second, candidates=(other, first, *rest))


def _rank(one: Candidate) -> tuple[bool, float]:
    """What sorts finds first, then the likelier: a picture's buzz is never a find."""
    return not one.is_find, -one.odds


def _dial(
    carriers: Sequence[Candidate],
    sweep: Survey,
    sounds: tuple[Sound, ...],
    error: DialError,
    radio: Radio,
    plans: tuple[str, ...] | None,
) -> Dial:
    """What the ways of hearing a modulator are judged by."""
    visited = [
        (error.true_mhz(stop.dial_mhz), sound.kind == "open")
        for stop, sound in zip(sweep.stops, sounds, strict=True)
        if stop.console == "on" and sound.kind not in ("silent", "muted")
    ]
    return Dial(
        tuple(carriers),
        error.true_mhz,
        tuple(mhz for mhz, is_open in visited if is_open),
        tuple(mhz for mhz, _ in visited),
        radio.oscillator,
        plans,
        error.image_khz / 1e3,
    )


def is_find(weighed: Weighed, best: Candidate) -> bool:
    """Whether the likeliest candidate may be named: a find, measured against a roar, not too wide.

    Without the open band's roar a quieting is a guess, and then only the switch can tell; so it
    is where the carrier would be an image or a harmonic, since such a way can be found for most
    places of the dial.
    """
    far = bool(weighed.ways) and weighed.ways[0].heard_as in FAR_WAYS
    measured = best.switch > 0 or (weighed.sweep.roar.heard and not far)
    one_carrier = not too_wide(best.run, weighed.sweep)
    return best.is_find and bool(weighed.ways) and measured and one_carrier


def switch_at(weighed: Weighed) -> float | None:
    """The stop of the likeliest carrier that the switch has not spoken of, if it may matter."""
    if not weighed.candidates or weighed.candidates[0].switch > 0:
        return None
    for one in weighed.candidates:
        unlike = one.run.kind == "buzz" or one.sound < STATION_SURELY
        if one.switch == 0 and not unlike:
            return switch_dial_mhz(one, weighed.sweep)
    return hidden_mhz(weighed)


def hidden_mhz(weighed: Weighed) -> float | None:
    """The stop beside a station where the console may hide and the switch has not spoken."""
    if is_find(weighed, weighed.candidates[0]):
        return None
    heard = weighed.sweep, weighed.sounds, weighed.candidates
    behind = [i for i in behind_at(*heard) if not was_asked(weighed.sweep, i)]
    places = behind or hidden_at(*heard)
    return weighed.sweep.stops[places[0]].dial_mhz if places else None


def covered_mhz(weighed: Weighed) -> float | None:
    """The stop of a station that may hide the sound to a picture, whatever the switch said there.

    A station that is stronger stays as it was when what it captured goes.
    """
    heard = weighed.sweep, weighed.sounds, weighed.candidates
    if weighed.candidates[0].run.kind != "buzz" or weighed.candidates[0].switch < 0:
        return None
    places = behind_at(*heard)
    return weighed.sweep.stops[places[0]].dial_mhz if places else None
