"""The whole chain on one page: clips in, the console's sound carrier and its channel out.

measures      each clip, alone
survey        all of them against the open-band roar
heard, runs   whose sound, and which stops heard the same carrier
evidence      each run fitted and weighed
answer        the likeliest one, if it is good enough, named against the channel plans

All frequencies in the answer are true ones: the dial's error is taken out as far as the
stations in the sweep tell it, and what is left of it widens the interval.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from listen.analysis.advice import (
    STATION_SURELY,
    next_hidden,
    next_in_doubt,
    next_picture,
    next_step,
)
from listen.analysis.answer import CarrierFit, Heard, Location, StopAnswer
from listen.analysis.clarity import clarity_of
from listen.analysis.dialerror import DialError, Floats
from listen.analysis.dialplaces import switch_dial_mhz
from listen.analysis.dialwords import dial_warnings, next_known
from listen.analysis.evidence import (
    Candidate,
    candidate,
    near_of,
    readings_of,
    with_raster,
)
from listen.analysis.heard import Sound, judge
from listen.analysis.hidden import hidden_at
from listen.analysis.measures import Measures, measured
from listen.analysis.modulator import Dial, Way, places, ways_of, with_ways
from listen.analysis.named import named_as
from listen.analysis.reasons import (
    reason_found,
    reason_in_doubt,
    reason_not_found,
    sweep_warnings,
)
from listen.analysis.runs import Run, find_runs, shoulders
from listen.analysis.spacing import place_picture, place_sound, with_picture
from listen.analysis.stations import calibrated, held_by, stations_alone
from listen.analysis.survey import Survey, survey
from listen.analysis.switch import split_by_switch
from listen.analysis.width import radio_weights
from listen.clip import Clip
from listen.errors import BadClip
from listen.radio import Radio

CURVE_STEP_MHZ = 0.01
WIDEST_MHZ = 0.75  # no radio holds one carrier over more of its dial than this


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """A sweep with everything that was made of it on the way to an answer.

    candidates  the likeliest first; it alone is fitted finely, with its picture and mirror
    ways        in which the likeliest may have been heard, the likeliest first, one for each place
                of the true carrier; none where it is no sound carrier at all
    stations    those heard alone, which told the dial's error
    radio       how wide this radio holds a carrier, as width.radio_weights gives it
    """

    sweep: Survey
    sounds: tuple[Sound, ...]
    runs: tuple[Run, ...]
    candidates: tuple[Candidate, ...]
    error: DialError
    ways: tuple[Way, ...] = ()
    picture: Candidate | None = None
    mirror: Candidate | None = None
    stations: tuple[Candidate, ...] = ()
    radio: Floats | None = None


def locate(
    clips: Iterable[Clip],
    radio: Radio | None = None,
    *,
    plans: Sequence[str] | None = None,
    mains_hz: Sequence[float] = (50.0, 60.0),
    warnings: Sequence[str] = (),
) -> Location:
    """Where the console's sound carrier sits, and which channel that is.

    clips     one a dial stop, in any order; taken one at a time and let go
    radio     what is known of the radio; None: the defaults of Radio
    plans     ids of the channel plans to consider; None: all
    mains_hz  the mains rates that may be on this bench
    warnings  sentences to pass on, such as those of the folder's reader

    Raises BadClip if there are no clips at all.
    """
    stops, said = measured(clips, warnings)
    return locate_measured(stops, radio, plans=plans, mains_hz=mains_hz, warnings=said)


def locate_measured(
    stops: tuple[Measures, ...],
    radio: Radio | None = None,
    *,
    plans: Sequence[str] | None = None,
    mains_hz: Sequence[float] = (50.0, 60.0),
    warnings: Sequence[str] = (),
) -> Location:
    """The same from stops that were measured before.

    Raises BadClip if there are none at all.
    """
    return located(stops, radio, plans=plans, mains_hz=mains_hz, warnings=warnings)[1]


def located(
    stops: tuple[Measures, ...],
    radio: Radio | None = None,
    *,
    plans: Sequence[str] | None = None,
    mains_hz: Sequence[float] = (50.0, 60.0),
    warnings: Sequence[str] = (),
) -> tuple[Weighed, Location]:
    """The same, with all that it was made of."""
    radio = radio or Radio()
    if not stops:
        raise BadClip("no stops came: a sweep needs at least one recording")
    among = tuple(plans) if plans else None
    weighed = weigh(stops, radio, mains_hz, among)
    said = list(warnings)
    said += [
        line for line in sweep_warnings(weighed.sweep, weighed.sounds, mains_hz) if line not in said
    ]
    at = weighed.candidates[0] if weighed.candidates else None
    place_mhz = at.fit.mean_mhz if at is not None and is_find(weighed, at) else None
    said += dial_warnings(weighed.error, radio, place_mhz)
    return weighed, _answer(weighed, radio, among, mains_hz, tuple(said))


def weigh(
    stops: tuple[Measures, ...],
    radio: Radio,
    mains_hz: Sequence[float] = (50.0, 60.0),
    plans: tuple[str, ...] | None = None,
) -> Weighed:
    """Everything from the measured stops to weighed candidates, the likeliest first."""
    sweep = survey(stops)
    sounds = tuple(judge(sweep, i, mains_hz) for i in range(len(stops)))
    sounds = shoulders(sweep, sounds)
    runs = split_by_switch(find_runs(sweep, sounds), sweep, sounds)
    unknown = radio_weights([], radio.passband_khz)
    scatter_khz = radio.scatter_khz
    rough = [candidate(run, runs, sweep, sounds, unknown, True, scatter_khz) for run in runs]
    stations = stations_alone(rough, runs, sweep)
    error = calibrated(stations, sweep, sounds, radio)
    carriers = [with_raster(c, error, radio) for c in rough]
    dial = _dial(carriers, sweep, sounds, error, radio, plans)
    ranked = sorted((with_ways(c, dial) for c in carriers), key=_rank)
    known = radio_weights([held_by(c, sweep, error, radio) for c in stations], radio.passband_khz)
    whole = Weighed(sweep, sounds, runs, (), error, stations=stations, radio=known)
    if not ranked:
        return whole

    def finely(run: Run) -> Candidate:
        return candidate(run, runs, sweep, sounds, known, False, scatter_khz)

    best = with_raster(finely(ranked[0].run), error, radio)
    ways = ways_of(best, dial)
    if not ways:
        return replace(whole, candidates=(with_ways(best, dial), *ranked[1:]))
    picture, mirror = (
        None if run is None else finely(run) for run in (ways[0].picture, ways[0].mirror)
    )
    best = with_ways(best, dial)
    if picture is not None and ways[0].heard_as in ("direct", "image"):
        joined = with_picture(best.fit, picture.fit, error)
        best = replace(best, joined=joined, near=near_of(joined, error))
    apart = tuple(places(ways, dial.true_mhz(best.fit.mean_mhz)))
    return replace(
        whole, candidates=(best, *ranked[1:]), ways=apart, picture=picture, mirror=mirror
    )


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
    )


def _answer(
    weighed: Weighed,
    radio: Radio,
    plans: tuple[str, ...] | None,
    mains_hz: Sequence[float],
    warnings: tuple[str, ...],
) -> Location:
    """The weighed sweep as an answer."""
    best = weighed.candidates[0] if weighed.candidates else None
    found = best is not None and is_find(weighed, best)
    stops = _stop_answers(weighed, best if found else None, mains_hz)
    others = tuple(_fit_answer(c, weighed) for c in weighed.candidates[1 if found else 0 :])
    if not found or best is None:
        # What sounded most like a console and was cleared by the switch says more than the rest.
        told = max(
            (c for c in weighed.candidates if c.switch < 0 and c.sound > 0),
            key=lambda c: c.sound,
            default=best,
        )
        told = best if best and best.switch > 0 else told
        reason, then = _words_not_found(weighed, told, radio, plans)
        return Location(
            found=False,
            probability=best.probability if best else 0.0,
            reason=reason,
            next=then,
            stops=stops,
            warnings=warnings,
            switch_at_mhz=switch_at(weighed),
            others=others,
            error=weighed.error,
        )
    return _found(weighed, best, radio, plans, stops, others, warnings)


def _words_not_found(
    weighed: Weighed, told: Candidate | None, radio: Radio, plans: tuple[str, ...] | None
) -> tuple[str, str | None]:
    """Why nothing is named, the way being in doubt or the carrier itself, and what to do next."""
    sweep, then = weighed.sweep, next_step(weighed.sweep, told, None, radio, plans)
    if told is not None and told.switch > 0:  # only its place is open
        then = next_known(weighed.error, radio, told.fit.mean_mhz) or then
    elif told is not None and switch_at(weighed) == (hides_mhz := hidden_mhz(weighed)) is not None:
        then = next_hidden(hides_mhz)
    if told is None or not _in_doubt(weighed, told):
        return reason_not_found(sweep, weighed.sounds, told, radio, plans), then
    place_mhz = weighed.error.true_mhz(told.fit.mean_mhz)
    reason = reason_in_doubt(told, sweep, weighed.ways, place_mhz)
    return reason, next_in_doubt(weighed.ways, plans) if told.switch > 0 else then


def _in_doubt(weighed: Weighed, told: Candidate) -> bool:
    """Whether the carrier is the console's, and only its way is open."""
    best = weighed.candidates[0]
    return told is best and best.console >= 0.9 and len(weighed.ways) > 1


def _found(
    weighed: Weighed,
    best: Candidate,
    radio: Radio,
    plans: tuple[str, ...] | None,
    stops: tuple[StopAnswer, ...],
    others: tuple[CarrierFit, ...],
    warnings: tuple[str, ...],
) -> Location:
    """The answer where the likeliest carrier is a find."""
    way = weighed.ways[0]
    picture_fit = None if weighed.picture is None else weighed.picture.fit
    mirror_fit = None if weighed.mirror is None else weighed.mirror.fit
    heard = place_picture(way, best.fit, picture_fit, mirror_fit, weighed.error)
    fit = _fit_answer(replace(best, fit=best.joined or best.fit), weighed)
    sound_mhz, interval_mhz = place_sound(way, fit.centre_mhz, fit.interval_95_mhz, heard)
    named = named_as(way, sound_mhz, interval_mhz, weighed.error, heard, plans)
    picture = named.picture
    shown_mhz = [dial_mhz for _, dial_mhz in named.pictures_mhz()]
    asked = [
        next_step(weighed.sweep, best, fit, radio, plans),
        next_known(weighed.error, radio, best.fit.mean_mhz),
    ]
    if best.switch > 0:  # proved already
        asked.reverse()
    return Location(
        found=True,
        probability=best.probability,
        reason=reason_found(best, weighed.sounds, weighed.sweep, named, radio),
        next=asked[0] or asked[1] or next_picture(weighed.sweep, shown_mhz, radio),
        stops=stops,
        sound_carrier_mhz=sound_mhz,
        interval_95_mhz=interval_mhz,
        heard_as=way.heard_as,
        picture_carrier_mhz=picture.mhz,
        picture_basis=picture.basis,
        spacing_mhz=picture.spacing_mhz,
        spacing_basis=picture.spacing_basis,
        channels=named.channels,
        no_channel=named.no_channel,
        warnings=warnings,
        switch_at_mhz=switch_at(weighed),
        fit=fit,
        others=others,
        error=weighed.error,
    )


def is_find(weighed: Weighed, best: Candidate) -> bool:
    """Whether the likeliest candidate may be named: a find, measured against a roar, not too wide.

    Without the open band's roar a quieting is a guess, and then only the switch can tell; so it
    is where the carrier would be an image or a harmonic, since such a way can be found for most
    places of the dial.
    """
    dial = [weighed.sweep.stops[i].dial_mhz for i in best.run.held]
    far = bool(weighed.ways) and weighed.ways[0].heard_as in ("image", "harmonic")
    measured = best.switch > 0 or (weighed.sweep.roar.heard and not far)
    one_carrier = max(dial) - min(dial) <= WIDEST_MHZ
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
    places = hidden_at(weighed.sweep, weighed.sounds, weighed.candidates)
    return weighed.sweep.stops[places[0]].dial_mhz if places else None


def _fit_answer(one: Candidate, weighed: Weighed) -> CarrierFit:
    """A candidate's fit on the true scale, with its curve in clarity."""
    local = weighed.error.at(one.fit.mean_mhz)
    dial_mhz = np.arange(one.fit.best_mhz - 0.5, one.fit.best_mhz + 0.5, CURVE_STEP_MHZ)
    curve = clarity_of(one.fit.curve_db(dial_mhz, one.fit.best_mhz))
    _, used = readings_of(one.run, weighed.runs, weighed.sweep, weighed.sounds)
    return CarrierFit(
        one.fit.mean_mhz - local.mean_khz / 1e3,
        one.fit.interval_mhz(0.95, local.kernel),
        tuple(float(mhz) for mhz in dial_mhz),
        tuple(float(c) for c in curve),
        tuple(used),
    )


def _stop_answers(
    weighed: Weighed, found: Candidate | None, mains_hz: Sequence[float]
) -> tuple[StopAnswer, ...]:
    """What each stop gave, in the folder's order."""
    side = {i: run for run in weighed.runs for i in run.held}
    own = [found.run] if found else []
    if found and weighed.mirror:  # the console is heard there too
        own.append(weighed.mirror.run)
    by_mirror = found is not None and weighed.ways[0].heard_as == "mirror"
    mirrored = own[:] if by_mirror else own[1:]
    for run in weighed.runs:  # a carrier's slopes are its own
        if run.side < 0 or run in own:
            _, used = readings_of(run, weighed.runs, weighed.sweep, weighed.sounds)
            for i in used:
                if weighed.sounds[i].kind == "edge":
                    side[i] = run
    answers = []
    for i, (stop, sound) in enumerate(zip(weighed.sweep.stops, weighed.sounds, strict=True)):
        quieting = weighed.sweep.quieting_db[i]
        known = bool(np.isfinite(quieting))
        tone, comb = stop.tone, stop.comb
        answers.append(
            StopAnswer(
                file=stop.file,
                dial_mhz=stop.dial_mhz,
                console=stop.console,
                heard=_heard(stop, sound, side.get(i), own, weighed.sweep.roar.heard),
                clarity=float(clarity_of(quieting)) if known else None,
                hiss_db=stop.hiss.calm_db[weighed.sweep.band] if known and stop.hiss else None,
                quieting_db=float(quieting) if known else None,
                tone_hz=tone.tone_hz if tone else None,
                tone_dbfs=tone.tone_dbfs if tone else None,
                sinad_db=tone.sinad_db if tone else None,
                hum_hz=comb.hum_hz(mains_hz) if comb else None,
                buzz_hz=comb.rate_hz if comb and comb.rich and comb.field_rates else None,
                why=f"the console's mirror: {sound.why}" if side.get(i) in mirrored else sound.why,
            )
        )
    return tuple(answers)


def _heard(stop: Measures, sound: Sound, run: Run | None, own: list[Run], measured: bool) -> Heard:
    """The word for a stop.

    own       the runs that are the console's
    measured  whether the hiss had a roar to be measured against
    """
    if stop.spoiled:
        return "spoiled"
    if sound.kind in ("silent", "muted"):
        return "muted"
    if sound.kind == "open":
        return "hiss"
    if run in own:
        return "console"
    if sound.kind == "buzz":
        return "picture"
    slope = sound.kind == "edge" and run is not None and run.side < 0
    if measured and (slope or (sound.kind == "programme" and sound.odds < -1)):
        return "station"
    return "unclear"
