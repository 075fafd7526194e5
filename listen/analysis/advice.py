"""The answer's `next`: the one thing to do that would settle more, in a sentence.

Nothing is asked for twice in the same words, and nothing that the dial cannot do.  No part of the
dial that was walked is asked for again but with what makes it heard otherwise.
"""

from collections.abc import Sequence
from math import ceil, floor

from listen.analysis.answer import CarrierFit
from listen.analysis.dialplaces import (
    above_picture_mhz,
    any_sound_on,
    best_dial_mhz,
    finer_step,
    heard_through,
    left_out,
    listened_at,
    nearest_stop_mhz,
    off_stop,
    reach_mhz,
    unvisited_mhz,
    whole_dial,
)
from listen.analysis.evidence import Candidate
from listen.analysis.modulator import Way
from listen.analysis.proved import what_is_open
from listen.analysis.survey import Survey
from listen.channels import by_name, mhz_text
from listen.radio import USUAL_STEP_KHZ, Radio

WIDE_MHZ = 0.06  # an interval longer than this is worth more stops
STATION_SURELY = -5.0  # odds of the sound below which the switch is not worth the trouble

NEARER = "Check that the console is on and plays, and that its output is near the radio's aerial; "
UNMUTE = "Turn the radio's muting off, then "
NAME_PLAN = "If you know the country it was made for, name its plan with --plan: that tells which."
OTHER_RADIO = (
    "sweep again round there with another make of radio: an image moves, the carrier itself does "
    "not"
)
OTHER_PLANS = "Locate again with no plan named, or with others: these have no channel there."


def next_step(
    sweep: Survey,
    best: Candidate | None,
    fit: CarrierFit | None,
    radio: Radio,
    plans: Sequence[str] | None,
) -> str | None:
    """The one thing to do that would settle more, or None.

    best  the carrier that the reason speaks of; fit its fit where it is a find, else None
    """
    if fit is None:
        return _towards_a_find(sweep, best, radio, plans)
    assert best is not None
    if best.switch:
        low_mhz, high_mhz = fit.interval_95_mhz
        return _flanks(sweep, best, radio) if high_mhz - low_mhz > WIDE_MHZ else None
    return _off_again(sweep, best) or (
        f"Record {mhz_text(best_dial_mhz(best, sweep))} once more with the console off: if the "
        "sound goes, it is proved."
    )


def _towards_a_find(
    sweep: Survey, best: Candidate | None, radio: Radio, plans: Sequence[str] | None
) -> str:
    if all(stop.spoiled for stop in sweep.stops):
        return (
            "Put the recordings right as the notes say of each, or record the stops again, as WAV "
            "or FLAC."
        )
    if all(stop.silent or stop.spoiled for stop in sweep.stops):
        return "Turn the radio's muting off, and check the cable from the radio to the line-in."
    if best is not None and best.switch > 0 and best.run.kind != "buzz":
        return _proved_but_open(sweep, best, radio, plans)
    if not sweep.roar.heard and sweep.roar.muting == "hard":
        again = f"{UNMUTE}record the stops again"
        if best is None or best.switch < 0 or off_stop(best, sweep):
            return f"{again}."
        dial = mhz_text(best_dial_mhz(best, sweep))
        return f"{again}; if it cannot be turned off, record {dial} with the console off."
    if not sweep.roar.heard:
        return "Add two or three stops where the radio only hisses, with muting off."
    reach = reach_mhz(sweep, radio)
    if best is not None and best.run.kind == "buzz" and best.switch >= 0:
        return _above(best, sweep, radio)
    if plans and not any_sound_on(reach, plans):
        return (
            "Locate again with no plan named, in case the console is another country's; for these "
            "channels a receiver that reaches them is needed."
        )
    if best is None or best.switch < 0 or best.sound < STATION_SURELY:
        if sweep.roar.muting == "hard":
            return f"{NEARER}then {_past_a_mute(_between(sweep, radio))}."
        if whole_dial(sweep, radio):
            others = f"UHF{_us_off(reach)} and most other VHF channels"
            return f"{NEARER}if so, its channel is not on this dial, as {others} are not."
        if left_out(sweep, *reach):
            return f"{NEARER}then visit the stops that were left out."
        return f"{NEARER}then record again the stops that told nothing."
    first = "Check that the console is on and plays, then stand" if best.sound < 0 else "Stand"
    return _off_again(sweep, best) or (
        f"{first} the dial at {mhz_text(best_dial_mhz(best, sweep))}, switch the console off, and "
        "record that stop again: what changes is the console."
    )


def _us_off(reach: tuple[float, float]) -> str:
    """US channels 3 and 4, on which most consoles are there, as far as a dial has them not."""
    low_mhz, high_mhz = reach
    labels = [
        channel.label
        for channel in map(by_name, ("us-air:3", "us-air:4"))
        if not low_mhz <= channel.sound_mhz <= high_mhz
    ]
    are = f"channel{'s' if len(labels) > 1 else ''} {' and '.join(labels)}"
    return f", US {are}" if labels else ""


def _proved_but_open(
    sweep: Survey, best: Candidate, radio: Radio, plans: Sequence[str] | None
) -> str:
    """The switch has spoken for it, and yet it cannot be named."""
    what = what_is_open(best, sweep)
    if what == "way" and plans:
        return OTHER_PLANS
    if what == "width":
        return (
            "Switch the radio's AFC off, or where it has no switch bring the console's cable "
            "further from the aerial, and sweep again round there: a dial that is dragged along, "
            "or a radio that is overloaded, holds a carrier over too much of it."
        )
    if what == "way":
        return (
            "If you know the country it was made for, name its plan with --plan; if not, "
            f"{OTHER_RADIO}. Whether this is the sound carrier, an image or a harmonic is open."
        )
    if what == "sound":
        assert best.switch_stop is not None
        dial = mhz_text(sweep.stops[best.switch_stop].dial_mhz)
        return (
            f"Record {dial} again, some ten seconds with the console on and as long with it off, "
            "and touch nothing else: the switch and what else is heard contradict each other."
        )
    flanks = _flanks(sweep, best, radio)
    if what == "all" and flanks is None:
        return (
            f"To settle it, {OTHER_RADIO}. By which way it is heard, and where it stands, are "
            "together still open."
        )
    return flanks or (
        "Bring the console's cable further from the aerial and sweep again round there: what is "
        "too strong has no place."
    )


def _between(sweep: Survey, radio: Radio) -> bool:
    """Whether a carrier may stand unheard between stops: a hard mute holds it so narrowly."""
    return sweep.roar.muting == "hard" and finer_step(sweep, radio)


def _past_a_mute(finer: bool) -> str:
    """How to hear what a hard mute hides; finer: the dial can stop between the stops made."""
    off = "turn the radio's muting off and record the stops again"
    if not finer:
        return off
    return (
        f"{off}, or stop every {USUAL_STEP_KHZ:g} kHz: a radio that mutes holds a carrier over "
        "little of its dial, and it may stand between two stops"
    )


def _above(best: Candidate, sweep: Survey, radio: Radio) -> str:
    """What a picture's buzz alone asks for."""
    reach = reach_mhz(sweep, radio)
    sounds = above_picture_mhz(best.fit.mean_mhz, reach)
    if sounds is not None and heard_through(sweep, *sounds):
        return (
            "See what a set makes of it, or play something loud: a picture with nothing but hiss "
            "for sound means that the modulator's sound subcarrier is dead or far off."
        )
    if sounds is None:
        return (
            f"`listen channels --picture {best.fit.mean_mhz:.2f}` names the channels that it may "
            "be; to hear its sound needs a radio whose dial goes higher."
        )
    low, high = (
        mhz_text(floor(sounds[0] * 10) / 10),
        mhz_text(min(ceil(sounds[1] * 10) / 10, reach[1])),
    )
    over = "the sound carrier lies 4.5 to 6.5 MHz over its picture"
    if _between(sweep, radio):
        how = f", muting off or in steps of {USUAL_STEP_KHZ:g} kHz"
    elif left_out(sweep, *sounds):
        how = ""
    elif sweep.roar.muting == "hard":
        how = " again, muting off"
    else:
        return f"Record again the stops from {low} to {high} that told nothing: {over}."
    return f"Sweep from {low} to {high}{how}: {over}."


def _off_again(sweep: Survey, best: Candidate) -> str | None:
    """What to do where the switch was tried in vain; None where it was not."""
    tried = off_stop(best, sweep)
    if tried is None:
        return None
    dial = mhz_text(tried.dial_mhz)
    if tried.came == "silent":
        return (
            f"{UNMUTE}record {dial} again, with the console on and with it off: the stop with it "
            "off is silent, which tells nothing."
        )
    if tried.came == "spoiled":
        return (
            f"Record {dial} with the console off again: the recording that there is cannot be used."
        )
    return (
        f"Record {dial} again, some ten seconds with the console on and as long with it off, and "
        "touch nothing else: whether the switch changed anything is in doubt."
    )


def _flanks(sweep: Survey, best: Candidate, radio: Radio) -> str | None:
    """The stops beside a carrier that would place it better; None where none are left out."""
    flanks = unvisited_mhz(sweep, best.fit.mean_mhz, radio)
    if not flanks:
        return None
    if len(flanks) == 1:
        return f"Add the stop left out beside it, {mhz_text(flanks[0])}: it narrows the interval."
    places = " and ".join(mhz_text(mhz) for mhz in flanks)
    return f"Add the stops left out beside it, {places}: they narrow the interval."


def next_picture(sweep: Survey, dial_mhz: Sequence[float], radio: Radio) -> str | None:
    """What tells channels of one sound carrier apart; None where nothing has to, or it was tried.

    dial_mhz  where the dial would show the picture carriers
    """
    if len(dial_mhz) < 2:
        return None
    low_mhz, high_mhz = reach_mhz(sweep, radio)
    if not any(low_mhz <= mhz <= high_mhz for mhz in dial_mhz):
        return NAME_PLAN
    new = [
        mhz_text(nearest_stop_mhz(sweep, mhz, radio))
        for mhz in dial_mhz
        if low_mhz <= mhz <= high_mhz and not listened_at(sweep, mhz)
    ]
    if not new:
        return None
    return f"Record {' and '.join(new)} too: a buzz there is the picture, and tells which channel."


def next_hidden(dial_mhz: float) -> str:
    """What tells whether the console hides on a station's slope."""
    return (
        f"Stand the dial at {mhz_text(dial_mhz)}, beside a station, switch the console off, and "
        "record that stop again: if it then sounds otherwise, the console hides there."
    )


def next_covered(dial_mhz: float) -> str:
    """What uncovers the sound to a picture where a station stands and the switch told nothing."""
    return (
        f"The station at {mhz_text(dial_mhz)} may cover the sound to that picture: push the "
        "radio's aerial in, lay the console's cable closer, and sweep again round there."
    )


def next_in_doubt(
    sweep: Survey, ways: tuple[Way, ...], radio: Radio, plans: Sequence[str] | None
) -> str:
    """What would settle by which way a carrier was heard."""
    if plans and all(way.plan < 0 for way in ways):
        return OTHER_PLANS
    if any(way.oscillator for way in ways):
        return (
            'Say in sweep.toml on which side the radio\'s oscillator runs (oscillator = "above" or '
            '"below"), or sweep again with another make of radio: an image moves, the carrier '
            "itself does not."
        )
    if left_out(sweep, *reach_mhz(sweep, radio)):
        return (
            "Visit the stops that were left out, its picture's above all: they tell the ways apart."
        )
    if not plans:
        return NAME_PLAN
    return "Try a set on each of these places: nothing that this dial hears tells the ways apart."
