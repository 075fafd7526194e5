"""Why a carrier that the switch proved the console's is not named all the same.

What is open is one of these, looked for in this order:

width  it is held over more of the dial than any radio holds one carrier
way    whether it is the sound carrier, an image, a mirror or a harmonic
place  these stops do not place it
sound  the switch says console, and something else speaks against it as loudly
all    each of these is nearly sure, all of them together are not

The reason and the one thing to do next both go by it, so that they speak of the same.
"""

from collections.abc import Sequence
from typing import Literal

from listen.analysis.dialplaces import dials
from listen.analysis.evidence import SURE, Candidate
from listen.analysis.heard import Sound
from listen.analysis.runs import too_wide
from listen.analysis.survey import Survey
from listen.channels import mhz_text

Open = Literal["width", "way", "place", "sound", "all"]


def what_is_open(best: Candidate, sweep: Survey) -> Open:
    """What keeps a carrier from being named for which the switch spoke."""
    if too_wide(best.run, sweep):
        return "width"
    if best.sure < SURE:
        return "way"
    if best.placed < SURE:
        return "place"
    return "sound" if best.console < SURE else "all"


def switched(best: Candidate, sweep: Survey) -> str:
    """That the switch spoke, and where, as a clause."""
    at = best.switch_stop
    assert at is not None
    dial = mhz_text(sweep.stops[at].dial_mhz)
    return f"what is heard at {dial} changes when the console is switched off"


def reason_open(
    best: Candidate, sweep: Survey, sounds: tuple[Sound, ...], plans: Sequence[str] | None
) -> str:
    """The sentence: it is the console's, but what is open."""
    text = f"The console is heard at {dials(best, sweep)}, for {switched(best, sweep)}; but"
    asked = f"the plans asked for ({', '.join(plans)})" if plans else ""
    match what_is_open(best, sweep):
        case "width":
            return f"{text} it is held over more of the dial than one carrier can be."
        case "way" if plans:
            return (
                f"{text} no channel of {asked} accounts for it, so that it may be an image or a "
                "harmonic as well as the sound carrier."
            )
        case "way":
            return (
                f"{text} whether that is its sound carrier, an image or a harmonic is not sure "
                "enough to name it."
            )
        case "place":
            return f"{text} these stops and stations do not place it to within 150 kHz."
        case "sound":
            return f"{text} {_against(best, sounds, asked or 'any plan')}."
        case "all":
            return f"{text} by which way, and where it stands, are together not sure enough."


def _against(best: Candidate, sounds: tuple[Sound, ...], plans: str) -> str:
    """What speaks most against it, as a clause."""
    played = [sounds[i] for i in best.run.held if sounds[i].kind == "programme"]
    said = {
        "it sits where stations sit": best.raster,
        f"no channel of {plans} has its sound there": best.way,
    }
    if played:
        why = min(played, key=lambda sound: sound.odds).why
        said[f"it sounds like a station, since {why}"] = best.sound
    return min(said, key=lambda words: said[words])
