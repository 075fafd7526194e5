"""The whole chain on one page: clips in, the console's sound carrier and its channel out.

measures      each clip, alone
weigh         all of them together: carriers, fitted and weighed
answer        the likeliest one, if it is good enough, named against the channel plans

All frequencies in the answer are true ones: the dial's error is taken out as far as the
stations in the sweep tell it, and what is left of it widens the interval.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from listen.analysis.advice import (
    next_covered,
    next_hidden,
    next_in_doubt,
    next_picture,
    next_step,
)
from listen.analysis.answer import CarrierFit, Location, StopAnswer
from listen.analysis.dialwords import PULLED, UNPULLED, dial_warnings, next_known
from listen.analysis.evidence import SURE, Candidate
from listen.analysis.measures import Measures, measured
from listen.analysis.modulator import Way
from listen.analysis.named import named_as
from listen.analysis.reasons import (
    reason_found,
    reason_in_doubt,
    reason_not_found,
    sweep_warnings,
)
from listen.analysis.shown import fit_answer, stop_answers
from listen.analysis.spacing import place_sound
from listen.analysis.weigh import (
    FAR_WAYS,
    Weighed,
    covered_mhz,
    hidden_mhz,
    is_find,
    switch_at,
    weigh,
)
from listen.clip import Clip
from listen.errors import BadClip
from listen.radio import Radio


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
    heard_by: Way | None = None,
) -> tuple[Weighed, Location]:
    """The same, with all that it was made of.

    heard_by  by which way another sweep heard this console, or None
    """
    radio = radio or Radio()
    if not stops:
        raise BadClip("no stops came: a sweep needs at least one recording")
    among = tuple(plans) if plans else None
    weighed = weigh(stops, radio, mains_hz, among, heard_by)
    said = list(warnings)
    said += [
        line for line in sweep_warnings(weighed.sweep, weighed.sounds, mains_hz) if line not in said
    ]
    at = weighed.candidates[0] if weighed.candidates else None
    place_mhz = at.fit.mean_mhz if at is not None and is_find(weighed, at) else None
    said += dial_warnings(weighed.error, radio, place_mhz)
    said += [PULLED] * weighed.afc.likely
    return weighed, _answer(weighed, radio, among, mains_hz, tuple(said))


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
    stops = stop_answers(weighed, best if found else None, mains_hz)
    others = tuple(fit_answer(c, weighed) for c in weighed.candidates[1 if found else 0 :])
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
            rejected_mhz=_placed(weighed, best)[1] if best else None,
            reason=reason,
            next=then,
            stops=stops,
            warnings=warnings,
            switch_at_mhz=switch_at(weighed),
            others=others,
            error=weighed.error,
        )
    return _found(weighed, best, radio, plans, stops, others, warnings)


def _placed(weighed: Weighed, best: Candidate) -> tuple[CarrierFit, float, tuple[float, float]]:
    """The likeliest carrier's fit, and the true sound carrier by its way with its interval.

    What buzzes is a sound carrier where it stands, if it is one at all.
    """
    fit = fit_answer(replace(best, fit=best.joined or best.fit), weighed)
    if not weighed.ways:
        return fit, fit.centre_mhz, fit.interval_95_mhz
    return fit, *place_sound(weighed.ways[0], fit.centre_mhz, fit.interval_95_mhz, weighed.heard)


def _words_not_found(
    weighed: Weighed, told: Candidate | None, radio: Radio, plans: tuple[str, ...] | None
) -> tuple[str, str | None]:
    """Why nothing is named, the way being in doubt or the carrier itself, and what to do next."""
    sweep, then = weighed.sweep, next_step(weighed.sweep, told, None, radio, plans)
    if told is not None and told.switch > 0:  # only its place is open
        then = next_known(weighed.error, told.fit.mean_mhz) or then
    elif told is not None and switch_at(weighed) == (hides_mhz := hidden_mhz(weighed)) is not None:
        then = next_hidden(hides_mhz)
    elif told is not None and (cover_mhz := covered_mhz(weighed)) is not None:
        then = next_covered(cover_mhz)
    if told is None or not _in_doubt(weighed, told):
        far_mhz = _far_mhz(weighed, told)
        return reason_not_found(sweep, weighed.sounds, told, radio, plans, far_mhz), then
    place_mhz = weighed.error.true_mhz(told.fit.mean_mhz)
    reason = reason_in_doubt(told, sweep, weighed.ways, place_mhz)
    if told.switch > 0:
        then = next_in_doubt(sweep, weighed.ways, radio, plans)
    return reason, then


def _far_mhz(weighed: Weighed, told: Candidate | None) -> float | None:
    """Where the console would be if only its way speaks against it: an image's or a harmonic's."""
    alone = told is not None and told is weighed.candidates[0] and told.is_likely
    if told is None or not alone or not weighed.ways or weighed.ways[0].heard_as not in FAR_WAYS:
        return None
    return weighed.ways[0].sound_mhz(weighed.error.true_mhz(told.fit.mean_mhz))


def _in_doubt(weighed: Weighed, told: Candidate) -> bool:
    """Whether the carrier is the console's, and only its way is open."""
    best = weighed.candidates[0]
    return told is best and best.console >= SURE and len(weighed.ways) > 1


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
    fit, sound_mhz, interval_mhz = _placed(weighed, best)
    named = named_as(way, sound_mhz, interval_mhz, weighed.error, weighed.heard, plans)
    picture = named.picture
    shown_mhz = [dial_mhz for _, dial_mhz in named.pictures_mhz()]
    asked = [
        next_step(weighed.sweep, best, fit, radio, plans),
        next_known(weighed.error, best.fit.mean_mhz),
    ]
    if best.switch > 0:  # proved already
        asked.reverse()
    if weighed.afc.likely:
        asked.insert(0, UNPULLED)
    return Location(
        found=True,
        probability=best.probability,
        reason=reason_found(best, weighed.sounds, weighed.sweep, named, radio),
        next=next(filter(None, asked), None) or next_picture(weighed.sweep, shown_mhz, radio),
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
