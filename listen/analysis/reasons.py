"""The answer in sentences: why found or why not, what to do next, what to be warned of.

Strings only; every number in them comes from the analysis.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from listen.analysis.answer import CarrierFit, FittingChannel
from listen.analysis.evidence import Candidate
from listen.analysis.heard import Sound
from listen.analysis.hiss import BANDS_HZ
from listen.analysis.modulator import Way
from listen.analysis.spacing import Picture
from listen.analysis.survey import Survey

CLIPPED_SHARE = 1e-4
WIDE_MHZ = 0.06  # an interval longer than this is worth more stops
FLANK_MHZ = 0.15  # where a carrier's cliffs stand, about
FINEST_MHZ = 0.004  # dial positions closer than this are one


def reason_found(
    best: Candidate,
    sounds: tuple[Sound, ...],
    sweep: Survey,
    channels: tuple[FittingChannel, ...],
    picture: Picture,
    way: Way,
    sound_mhz: float,
    raster_khz: float,
) -> str:
    """Why this carrier is the console's, and by which way it was heard if not directly.

    sound_mhz  where it truly is
    """
    parts = []
    if best.switch > 0 and best.switch_stop is not None:
        parts.append(
            f"what is heard at {sweep.stops[best.switch_stop].dial_mhz:.2f} changes when the "
            "console is switched off"
        )
    if best.sound > 1:
        spoken = [sounds[i] for i in best.run.held if sounds[i].kind == "programme"]
        parts.append(max(spoken, key=lambda sound: sound.odds).why)
    if best.raster > 1:
        parts.append(f"it is off the {raster_khz:g} kHz raster that stations keep to")
    if picture.heard_mhz is not None and picture.by is not None:
        parts.append(f"{PARTNERS[picture.by]} places its picture at {picture.heard_mhz:.2f} MHz")
    text = f"A carrier is held at {_dials(best, sweep)}: {_joined(parts)}."
    if way.heard_as != "direct":
        text += f" {WAYS[way.heard_as].format(sound=sound_mhz, side=way.oscillator)}"
    spacings = {round(c.sound_mhz - c.picture_mhz, 2) for c in channels}
    if len(spacings) > 1:
        text += (
            " The channels that share it have different spacings: the picture carrier, "
            f"{_either([f'{sound_mhz - s:.2f}' for s in sorted(spacings)])} MHz, "
            "would settle which."
        )
    return text


def reason_in_doubt(best: Candidate, sweep: Survey, ways: tuple[Way, ...], place_mhz: float) -> str:
    """Why a carrier that is the console's is not named: it may have been heard in several ways.

    place_mhz  where on a true dial it was heard
    """
    named = [f"{way.sound_mhz(place_mhz):.2f} {DOUBTS[way.heard_as]}" for way in ways]
    return (
        f"The console seems to be heard at {_dials(best, sweep)}, but not by which way: its sound "
        f"carrier may be on {_either(named)}."
    )


def next_in_doubt(ways: tuple[Way, ...]) -> str:
    """What would settle by which way a carrier was heard."""
    if any(way.oscillator for way in ways):
        return (
            'Say in sweep.toml on which side the radio\'s oscillator runs (oscillator = "above" or '
            '"below"), or sweep again with another make of radio: an image moves, the carrier '
            "itself does not."
        )
    return "Visit the stops that were left out, its picture's above all: they tell the ways apart."


DOUBTS = {
    "direct": "MHz itself",
    "image": "MHz by its image",
    "mirror": "MHz by its mirror",
    "harmonic": "MHz by a harmonic",
}
WAYS = {
    "image": (
        "No channel has its sound there: it is the image of {sound:.2f} MHz, 21.4 MHz away, of a "
        "radio whose oscillator runs {side} the received frequency."
    ),
    "mirror": (
        "It is the mirror of a modulator without a sideband filter: the sound itself is on "
        "{sound:.2f} MHz, as far above the picture."
    ),
    "harmonic": (
        "No channel has its sound there: it is a second harmonic of a modulator on {sound:.2f} MHz."
    ),
}
PARTNERS = {
    "buzz": "a buzz one spacing below",
    "mirror": "its mirror two spacings below",
    "both": "a buzz one spacing below, with a mirror below that,",
}


def reason_not_found(sweep: Survey, sounds: tuple[Sound, ...], best: Candidate | None) -> str:
    """Why no carrier is called the console's."""
    on = [i for i, stop in enumerate(sweep.stops) if stop.console == "on"]
    if not on:
        return "Every stop was recorded with the console off, so nothing of it can be heard."
    kinds = {sounds[i].kind for i in on}
    if all(sweep.stops[i].spoiled for i in on):
        return "No recording of this sweep could be used; the notes below say why."
    if kinds <= {"silent", "muted"}:
        return "Every stop is silent: the radio was muted or its output not connected."
    if not sweep.roar.heard:
        return (
            "No stop heard the open band's roar, so there is nothing to measure the hiss "
            "against: the stops may be too few or too close together, or muting is on."
        )
    if best is None:
        if "edge" in kinds:
            return "Only the edges of carriers were heard: no stop stands on one."
        return "Only the open band's hiss was heard: no carrier stands at any of the stops."
    where = _dials(best, sweep)
    if best.switch < 0:
        return f"What is heard at {where} stays when the console is switched off: a station."
    if best.run.kind == "buzz":
        return (
            f"Only a picture carrier's buzz was heard, at {where}; its sound carrier is not on "
            "the stops made."
        )
    if best.run.kind == "bare":
        return (
            f"The likeliest carrier, at {where}, plays nothing: a silent console and a station's "
            "pause cannot be told apart without the console's switch."
        )
    if best.sound > 1:
        return (
            f"The likeliest carrier, at {where}, sounds like a console but may be a station: it "
            "sits where stations sit."
        )
    return f"Every carrier heard sounds like a station; the least like one is at {where}."


def next_step(sweep: Survey, best: Candidate | None, fit: CarrierFit | None) -> str | None:
    """The one thing to do that would settle more, or None."""
    if fit is None:
        if all(stop.spoiled for stop in sweep.stops):
            return "Record the stops again, as WAV or FLAC."
        if all(stop.silent or stop.spoiled for stop in sweep.stops):
            return "Turn the radio's muting off, and check the cable from the radio to the line-in."
        if not sweep.roar.heard:
            return "Add two or three stops where the radio only hisses, with muting off."
        if best is None or best.switch < 0 or (best.sound < 0 and best.switch == 0):
            return (
                "Check that the console is on and plays, and that its output is near the radio's "
                "aerial; then visit the stops that were left out."
            )
        if best.run.kind == "buzz":
            return (
                "Sweep 4.5 to 6.5 MHz above the buzz: the sound carrier lies that far over its "
                "picture."
            )
        return (
            f"Stand the dial at {best_dial_mhz(best, sweep):.2f}, switch the console off, and "
            "record that stop again: what changes is the console."
        )
    assert best is not None
    if best.switch == 0:
        return (
            f"Record {best_dial_mhz(best, sweep):.2f} once more with the console off: if the sound "
            "goes, it is proved."
        )
    low_mhz, high_mhz = fit.interval_95_mhz
    flanks = _unvisited(sweep, best.fit.mean_mhz) if high_mhz - low_mhz > WIDE_MHZ else []
    if flanks:
        places = " and ".join(f"{mhz:.2f}" for mhz in flanks)
        return f"Add the stops left out beside it, {places}: they narrow the interval."
    return None


def _unvisited(sweep: Survey, centre_mhz: float) -> list[float]:
    """Up to two places of the dial's own steps, near a carrier's cliffs, that were left out."""
    visited = sorted({stop.dial_mhz for stop in sweep.stops if stop.console == "on"})
    steps = [b - a for a, b in pairwise(visited) if b - a > FINEST_MHZ]
    if not steps:
        return []
    step_mhz = min(steps)
    places = []
    for side in (-1, 1):
        near = round((centre_mhz + side * FLANK_MHZ - visited[0]) / step_mhz)
        mhz = round(visited[0] + near * step_mhz, 4)
        if min(abs(mhz - one) for one in visited) > FINEST_MHZ:
            places.append(mhz)
    return places


def sweep_warnings(
    sweep: Survey, sounds: tuple[Sound, ...], mains_hz: Sequence[float]
) -> list[str]:
    """What a person should know of the recordings themselves."""
    stops = sweep.stops
    said = []
    spoiled = [f"{stop.file or stop.dial_mhz}: {stop.spoiled}" for stop in stops if stop.spoiled]
    if spoiled:
        said.append(f"Not measured: {'; '.join(spoiled)}.")
    clipped = [stop.dial_mhz for stop in stops if stop.clipped > CLIPPED_SHARE]
    if clipped:
        said.append(
            f"The line-in is overdriven at {len(clipped)} of {len(stops)} stops (first at "
            f"{clipped[0]:.2f}): turn the volume down and record them again."
        )
    muted = sum(
        sound.kind in ("silent", "muted") and not stop.spoiled
        for sound, stop in zip(sounds, stops, strict=True)
    )
    if muted:
        said.append(
            f"{muted} of {len(stops)} stops are silent: turn the radio's muting off if it lets "
            "you; a muted stop says nothing."
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
    steps = np.flatnonzero(np.diff(sweep.roar.gain_db))
    if steps.size:
        at = int(steps[0]) + 1
        said.append(
            f"The volume changed by {sweep.roar.gain_db[at] - sweep.roar.gain_db[at - 1]:+.0f} dB "
            f"near the stop at {stops[at].dial_mhz:.2f}: that was reckoned with, but leave the "
            "knob alone during a sweep."
        )
    if sweep.roar.muting == "suppressed":
        said.append(
            "Something takes the hiss away, such as noise suppression of the operating system: "
            "turn it off and record again, for the interval is wide with it. `listen check` tells."
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


def _dials(one: Candidate, sweep: Survey) -> str:
    held = [sweep.stops[i].dial_mhz for i in one.run.held]
    low, high = min(held), max(held)
    return f"{low:.2f} MHz" if low == high else f"{low:.2f} to {high:.2f} MHz"


def best_dial_mhz(one: Candidate, sweep: Survey) -> float:
    """The stop that stands nearest to a carrier's centre."""
    return min(
        (sweep.stops[i].dial_mhz for i in one.run.held), key=lambda d: abs(d - one.fit.mean_mhz)
    )


def _joined(parts: list[str]) -> str:
    return ", and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def _either(parts: list[str]) -> str:
    return f"{', '.join(parts[:-1])} or {parts[-1]}"
