"""What an answer says of the dial's own error: what is taken for granted, what would settle it.

Strings only; every number in them comes from the analysis.
"""

from collections.abc import Sequence

from listen.analysis.dialerror import DialError
from listen.analysis.named import either
from listen.analysis.raster import known_on_dial, most_known_khz
from listen.channels import mhz_text
from listen.radio import Radio

PULLED = (
    "The radio seems to pull its dial towards strong carriers (AFC): it holds them further behind "
    "than ahead of it. That was reckoned with, and the interval is wide for it."
)
UNPULLED = (
    "Switch the radio's AFC off, or where it has no switch bring the console's cable further from "
    "the aerial, and sweep again: its pull on the dial leaves the place so open."
)
MOST_STEPS = 4  # raster steps that are named, the likeliest


def dial_warnings(error: DialError, radio: Radio, place_mhz: float | None) -> list[str]:
    """What a person should know of the dial's error.

    place_mhz  where on the dial the answer's carrier was heard; None: nothing was named
    """
    said = []
    shown = known_on_dial(radio)
    beyond = [mhz for mhz in radio.known_stations_mhz if mhz not in shown]
    if beyond:
        low_mhz, high_mhz = radio.band_mhz
        one = len(beyond) == 1
        said.append(
            f"The known station{'' if one else 's'} {_listed(beyond)} MHz lie{'s' if one else ''} "
            f"off the dial, which goes from {low_mhz:g} to {high_mhz:g} MHz, and "
            f"calibrate{'s' if one else ''} nothing."
        )
    if shown and not error.known_mhz:
        said.append(
            f"None of the stations named as known ({_listed(shown)} MHz) was told apart within "
            f"{most_known_khz(radio):g} kHz of its place, so none of them calibrates the dial."
        )
    if radio.raster_origin_mhz is None and not error.known_mhz and not radio.dial_marks:
        said.append(
            f"Stations of this band stand every {radio.raster_khz:g} kHz, but from where on is not "
            "known: only one of known frequency (known_stations_mhz) calibrates the dial."
        )
    elif place_mhz is not None and error.at(place_mhz).ambiguous:
        steps = steps_words(error, place_mhz)
        said.append(
            f"At {place_mhz:.2f} MHz the dial may be off by {steps} kHz: {_left_open(radio)}, so "
            "the interval holds them all."
        )
    elif radio.dial == "analogue" and not error.known_mhz and not radio.dial_marks:
        said.append(
            f"The scale's error is taken to be under half the stations' raster, "
            f"{radio.raster_khz / 2:g} kHz: no station of known frequency proves it."
        )
    return said


def _left_open(radio: Radio) -> str:
    """Why the dial may have more than one error, as a clause."""
    if radio.raster_origin_mhz is None:
        return "what is known of the dial fits each"
    return "the stations heard fit their raster with each"


def next_known(error: DialError, place_mhz: float) -> str | None:
    """That a known station is needed, where more than one error of the dial is left."""
    if not error.at(place_mhz).ambiguous:
        return None
    more = " more" if error.known_mhz else ""
    return (
        f"Find out the frequency of one{more} station that you hear, the nearer to "
        f"{place_mhz:.2f} MHz the better, and add it to known_stations_mhz under [radio] in "
        f"sweep.toml: one{more} known station is needed."
    )


def steps_words(error: DialError, mhz: float) -> str:
    """The errors that are possible at one place of the dial, a raster step each, in words."""
    local = error.at(mhz)
    khz, weight = local.kernel
    number = ((khz - local.mean_khz) / error.raster_khz).round()
    steps = {step: weight * (number == step) for step in set(number)}
    likely = sorted(steps, key=lambda step: -steps[step].sum())[:MOST_STEPS]
    places = [f"{float(khz @ steps[s] / steps[s].sum()):+.0f}" for s in sorted(likely)]
    return either(places)


def _listed(mhz: Sequence[float]) -> str:
    return ", ".join(mhz_text(one) for one in mhz)
