"""The answer in words: why found or why not, each in one sentence, and what to be warned of.

Strings only; every number in them comes from the analysis.
"""

from collections.abc import Sequence

import numpy as np

from listen.analysis.dialplaces import (
    above_picture_mhz,
    any_sound_on,
    dials,
    finer_step,
    heard_through,
    off_stop,
    reach_mhz,
    whole_dial,
)
from listen.analysis.evidence import SURE, Candidate
from listen.analysis.heard import Sound
from listen.analysis.hiss import BANDS_HZ
from listen.analysis.modulator import Way
from listen.analysis.named import LISTED, Named, either, joined
from listen.analysis.proved import reason_open, switched
from listen.analysis.readings import roar_beside
from listen.analysis.survey import CLIPPED_SHARE, Survey
from listen.analysis.volumewords import volume_said
from listen.channels import mhz_text
from listen.radio import Radio


def reason_found(
    best: Candidate, sounds: tuple[Sound, ...], sweep: Survey, named: Named, radio: Radio
) -> str:
    """Why this carrier is the console's, by which way it was heard, and what that leaves open."""
    parts = []
    if best.switch > 0 and best.switch_stop is not None:
        parts.append(switched(best, sweep))
    if best.sound > 1:
        spoken = [sounds[i] for i in best.run.held if sounds[i].kind == "programme"]
        parts.append(max(spoken, key=lambda sound: sound.odds).why)
    if best.raster > 1:
        parts.append(f"it is off the {radio.raster_khz:g} kHz raster that stations keep to")
    picture = named.picture
    if picture.heard_mhz is not None and picture.by is not None:
        where = f"at {picture.heard_mhz:.3f}"
        if picture.basis != "measured":  # too rough a place: the one that is told is another
            where = f"near {picture.heard_mhz:.1f}"
        parts.append(f"{PARTNERS[picture.by]} places its picture {where} MHz")
    elif best.pair > 1:
        parts.append("other carriers of the same modulator are heard where they must be")
    because = joined(parts) or "all that was heard of it together is a console's"
    said = [f"A carrier is held at {dials(best, sweep)}: {because}"]
    if named.way.heard_as != "direct":
        way = "ghost" if named.way.ghost_mhz else named.way.heard_as
        said.append(WAYS[way].format(sound=named.sound_mhz))
        if named.way.oscillator and not named.way.ghost_mhz:
            said.append(SIDES[named.way.oscillator])
    said += [named.trimmer, named.no_channel or named.which_channel(reach_mhz(sweep, radio))]
    return "; ".join(part for part in said if part) + "."


def reason_in_doubt(best: Candidate, sweep: Survey, ways: tuple[Way, ...], place_mhz: float) -> str:
    """Why a carrier that is the console's is not named: it may have been heard in several ways.

    place_mhz  where on a true dial it was heard
    """
    named = [f"{way.sound_mhz(place_mhz):.2f} {DOUBTS[way.heard_as]}" for way in ways]
    return (
        f"The console seems to be heard at {dials(best, sweep)}, but not by which way: its sound "
        f"carrier may be on {either(named)}."
    )


DOUBTS = {
    "direct": "MHz itself",
    "image": "MHz by its image",
    "mirror": "MHz by its mirror",
    "harmonic": "MHz by a harmonic",
}
WAYS = {
    "ghost": (
        "going by the channels and by what else was heard, that is the image of a mirror: the "
        "sound itself is on {sound:.3f} MHz"
    ),
    "image": (
        "going by the channels and by what else was heard, that is an image: the carrier itself is "
        "on {sound:.3f} MHz"
    ),
    "mirror": (
        "it is the mirror of a modulator without a sideband filter: the sound itself is on "
        "{sound:.3f} MHz, as far above the picture"
    ),
    "harmonic": (
        "going by the channels and by what else was heard, that is a second harmonic of a "
        "modulator on {sound:.3f} MHz"
    ),
}
SIDES = {
    "above": "a radio whose oscillator runs above what it receives shows it 21.4 MHz too low",
    "below": "a radio whose oscillator runs below what it receives shows it 21.4 MHz too high",
}
PARTNERS = {
    "buzz": "a buzz one spacing below",
    "mirror": "its mirror two spacings below",
    "both": "a buzz one spacing below, with a mirror below that,",
}


def reason_not_found(
    sweep: Survey,
    sounds: tuple[Sound, ...],
    best: Candidate | None,
    radio: Radio,
    plans: Sequence[str] | None,
    far_mhz: float | None = None,
) -> str:
    """Why no carrier is called the console's.

    far_mhz  where the likeliest would truly be, if only that it would be an image or a harmonic
             speaks against it
    """
    on = [i for i, stop in enumerate(sweep.stops) if stop.console == "on"]
    if not on:
        return "Every stop was recorded with the console off, so nothing of it can be heard."
    kinds = {sounds[i].kind for i in on}
    if all(sweep.stops[i].spoiled for i in on):
        return "No recording of this sweep could be used; the notes below say why."
    if kinds <= {"silent", "muted"}:
        return "Every stop is silent: the radio was muted or its output not connected."
    if best is not None and best.switch > 0 and best.run.kind != "buzz":
        return reason_open(best, sweep, sounds, plans)
    if not sweep.roar.heard and sweep.roar.muting == "hard":
        return (
            "The radio mutes where it holds no carrier, so no stop heard the open band's roar, "
            "and there is nothing to measure the hiss against."
        )
    if not sweep.roar.heard:
        return (
            "No stop heard the open band's roar, so there is nothing to measure the hiss "
            "against: the stops may be too few or too close together, or muting is on."
        )
    reach = reach_mhz(sweep, radio)
    if best is not None and best.run.kind == "buzz" and best.switch >= 0:
        where, above = dials(best, sweep), above_picture_mhz(best.fit.mean_mhz, reach)
        if above is None:
            return (
                f"Only a picture carrier's buzz was heard, at {where}; its sound carrier, 4.5 to "
                f"6.5 MHz higher, is not on this dial, which ends at {mhz_text(reach[1])}."
            )
        if heard_through(sweep, *above):
            low, high = (f"{mhz:.2f}" for mhz in above)
            return (
                f"Only a picture carrier's buzz was heard, at {where}; from {low} to {high} MHz, "
                "where its sound carrier should be, nothing sounded like a console."
            )
        return (
            f"Only a picture carrier's buzz was heard, at {where}; its sound carrier is not on "
            f"the stops made{_hidden_by_mute(sweep, sounds)}."
        )
    if plans and not any_sound_on(reach, plans):
        return (
            f"No channel of the plans asked for ({', '.join(plans)}) has its sound on this dial, "
            f"{mhz_text(reach[0])} to {mhz_text(reach[1])} MHz."
        )
    if best is not None and far_mhz is not None:
        return (
            f"What is heard at {dials(best, sweep)} sounds like a console, as an image or a "
            f"harmonic of one on {far_mhz:.2f} MHz; but that explains most places of the dial, so "
            "that only the console's switch proves it."
        )
    said = _likeliest(sweep, best, kinds, plans)
    nothing = best is None or best.switch < 0 or (best.sound < 0 and best.switch == 0)
    if nothing and whole_dial(sweep, radio):
        said += (
            "; the whole dial was walked, so that the console's sound carrier is not on it, or too "
            "weak to be heard"
        )
    return f"{said}{_hidden_by_mute(sweep, sounds) if nothing else ''}."


def _hidden_by_mute(sweep: Survey, sounds: tuple[Sound, ...]) -> str:
    """That a carrier may stand between stops that are muted; empty where the stops are close."""
    muted = sum(sound.kind == "muted" for sound in sounds)
    if sweep.roar.muting != "hard" or not muted or not finer_step(sweep, Radio()):
        return ""
    return (
        f"; the radio mutes, {muted} of {len(sounds)} stops let nothing through, and a carrier "
        "that stands between two of them is not heard"
    )


def _likeliest(
    sweep: Survey, best: Candidate | None, kinds: set[str], plans: Sequence[str] | None
) -> str:
    """What the likeliest carrier is instead of the console's, as far as that is known."""
    if best is None:
        if "edge" in kinds:
            return "Only the edges of carriers were heard: no stop stands on one"
        return "Only the open band's hiss was heard: no carrier stands at any of the stops"
    where = dials(best, sweep)
    if best.switch < 0:
        return f"What is heard at {where} stays when the console is switched off: a station"
    if best.run.kind == "bare":
        return (
            f"The likeliest carrier, at {where}, plays nothing: a silent console and a station's "
            "pause cannot be told apart without the console's switch"
        )
    if best.run.kind == "faint":
        return (
            f"The likeliest carrier, at {where}, is too faint to be judged by its sound: the "
            "console's switch would tell, or a stronger coupling"
        )
    if best.sound > 1 and best.console >= SURE and best.sure >= SURE and best.placed < SURE:
        return (
            f"A console seems to be heard at {where}, but these stops and stations do not place "
            "its sound carrier to within 150 kHz"
        )
    if best.sound > 1:
        tried, why = off_stop(best, sweep), []
        if tried is not None and tried.came == "doubt":
            why.append("whether the console's switch changed it is in doubt")
        if best.raster < 0:
            why.append("it sits where stations sit")
        if best.way < -1:
            of = f"the plans asked for ({', '.join(plans)})" if plans else "any plan"
            why.append(f"no channel of {of} has its sound there")
        because = f": {joined(why)}" if why else ""
        return (
            f"The likeliest carrier, at {where}, sounds like a console but may be a station"
            f"{because}"
        )
    return f"Every carrier heard sounds like a station; the least like one is at {where}"


def _some(names: list[str]) -> str:
    """The first few, and how many more there are."""
    more = len(names) - LISTED
    return f"{', '.join(names[:LISTED])} and {more} more" if more > 1 else ", ".join(names)


def sweep_warnings(
    sweep: Survey, sounds: tuple[Sound, ...], mains_hz: Sequence[float]
) -> list[str]:
    """What a person should know of the recordings themselves."""
    stops = sweep.stops
    said = []
    spoiled: dict[str, list[str]] = {}
    for stop in stops:
        if stop.spoiled:
            spoiled.setdefault(stop.spoiled, []).append(stop.file or f"{stop.dial_mhz:g}")
    if spoiled:
        each = (f"{_some(files)}: {why}" for why, files in spoiled.items())
        said.append(f"Not measured: {'; '.join(each)}.")
    clipped = [stop.dial_mhz for stop in stops if stop.clipped > CLIPPED_SHARE]
    if clipped:
        said.append(
            f"The line-in is overdriven at {len(clipped)} of {len(stops)} stops (first at "
            f"{mhz_text(clipped[0])}): turn the volume down and record them again."
        )
    muted = sum(
        sound.kind in ("silent", "muted") and not stop.spoiled
        for sound, stop in zip(sounds, stops, strict=True)
    )
    if muted:
        are = "is" if muted == 1 else "are"
        said.append(
            f"{muted} of {len(stops)} stops {are} silent: turn the radio's muting off if it lets "
            "you; a muted stop says nothing."
        )
    turned = sum(stop.antiphase for stop in stops)
    if turned:
        said.append(
            f"Left and right are opposites at {turned} of {len(stops)} stops, as of a balanced "
            "lead: one channel alone was used."
        )
    said += _roar_warnings(sweep)
    if roar_beside(sweep, sounds):
        said.append(
            "The open band was heard beside a carrier alone, where it roars louder or softer, so "
            "the interval is wide: add a stop that only hisses, 0.5 MHz or more from what is heard."
        )
    either = [
        stop.comb.rate_hz
        for stop in stops
        if stop.comb
        and stop.comb.rich
        and stop.comb.field_rates
        and stop.comb.may_be_mains(mains_hz)
    ]
    if either:
        said.append(
            f"Buzz at {either[0]:.2f} Hz fits a picture and the mains alike: their rates are too "
            "close to be told apart in these recordings."
        )
    if sweep.roar.heard and sweep.band > 0:
        said.append(
            f"The recordings reach only low frequencies, so hiss is measured at "
            f"{BANDS_HZ[sweep.band][0] / 1e3:g} to {BANDS_HZ[sweep.band][1] / 1e3:g} kHz, where "
            "programmes hide it: 32 kHz or more is better."
        )
    return said


def _roar_warnings(sweep: Survey) -> list[str]:
    """What has bent the yardstick, or that there is none, and what was done about it."""
    said = []
    if not sweep.roar.heard and np.isfinite(sweep.quieting_db).any():
        said.append(
            "No stop heard the open band's roar: clarity and quieting tell these stops apart from "
            "each other, but how high they are is a guess."
        )
    if sweep.roar.muting == "soft":
        said.append(
            f"The radio turns the open band down by some {sweep.roar.hidden_db:.0f} dB (soft "
            "mute): that was reckoned with, but turn it off if the radio lets you."
        )
    if sweep.roar.muting == "hard" and sweep.roar.heard:
        said.append(
            "Muting hid the open band's roar: it was reckoned from how loud the stations are, "
            "which is good to some 4 dB."
        )
    said += volume_said(sweep)
    if sweep.roar.muting == "suppressed":
        said.append(
            "Something takes the hiss away, such as noise suppression of the operating system: "
            "turn it off and record again, for the interval is wide with it. `listen check` tells."
        )
    return said
