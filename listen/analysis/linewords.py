"""What a line check found, in words: what is the matter and what to do about it.

One table, so that the words can be read, and checked, in one place.  Each kind of finding has
a weight: "fault" (a sweep would mislead), "warning" (it will do, better put right), "note".

It knows nothing of how any of it is measured.
"""

from dataclasses import dataclass
from typing import Literal

Weight = Literal["fault", "warning", "note"]
Kind = Literal[
    "silent", "clipping", "loud", "faint", "quiet", "dead channel", "dc", "mono", "stereo",
    "hum", "hum twice", "hum drowns", "no top", "no roar", "fading", "rising", "pumping",
]  # fmt: skip

ENHANCEMENT = (
    "switch off every enhancement of the input (noise suppression, automatic gain, voice "
    "or echo processing) in the system's sound settings, then check again"
)
GROUND = (
    "run the laptop and the radio on batteries, or use a short shielded cable away from mains leads"
)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found: its kind and weight, what is the matter, and what to do."""

    kind: Kind
    weight: Weight
    says: str
    do: str


WORDS: dict[Kind, tuple[Weight, str, str]] = {
    "silent": (
        "fault",
        "Nothing arrives: the input is silent.",
        "see that the radio is on and its volume up, that the cable sits in the line input, "
        "and that this input is the one it is plugged into (`listen inputs`)",
    ),
    "clipping": (
        "fault",
        "The roar is clipped: its peaks are cut flat {per_s:.0f} times a second.",
        "turn the radio's volume or the input gain down until the peaks stay under -3 dB",
    ),
    "loud": (
        "warning",
        "The roar nearly fills the input: its peaks reach {peak_db:.1f} dB.",
        "turn the radio's volume or the input gain down a little",
    ),
    "faint": (
        "fault",
        "The roar is far too quiet: {level_dbfs:.0f} dBFS.",
        "see that the dial is on an open spot, where the radio roars; turn up the radio's "
        "volume, then the input gain, to between -30 and -12 dBFS",
    ),
    "quiet": (
        "warning",
        "The roar is quiet: {level_dbfs:.0f} dBFS.",
        "turn up the radio's volume, then the input gain, to between -30 and -12 dBFS",
    ),
    "dead channel": (
        "warning",
        "Channel {number} is dead; the other one works and will be used.",
        "nothing, if the radio or the cable is mono; otherwise push the plug fully in",
    ),
    "dc": (
        "warning",
        "The input rests {percent:+.1f} % of full scale off its middle (DC).",
        "use a line input rather than a microphone input; it costs headroom, no more",
    ),
    "mono": ("note", "Both channels carry the same sound: mono, as it should be.", ""),
    "stereo": (
        "note",
        "The two channels differ (likeness {likeness:.2f}): the radio plays stereo.",
        "switch the radio to mono if it lets you; it will do as it is",
    ),
    "hum": (
        "warning",
        "Mains hum at {mains_hz:.0f} Hz: {level_dbfs:.0f} dBFS.  That is a ground loop or a "
        "lead too near the mains.",
        GROUND,
    ),
    "hum twice": (
        "warning",
        "Hum at twice the mains rate of {mains_hz:.0f} Hz: {level_dbfs:.0f} dBFS.  That comes "
        "from a power supply.",
        "run the radio on batteries, or try another supply",
    ),
    "hum drowns": (
        "fault",
        "Mains hum ({mains_hz:.0f} Hz, {level_dbfs:.0f} dBFS) is as loud as the roar itself.",
        GROUND,
    ),
    "no top": (
        "fault",
        "Nothing arrives above about 8 kHz: this is a telephone or headset path.",
        "choose a line input instead of a headset or hands-free profile",
    ),
    "no roar": (
        "warning",
        "This is no even hiss: a station, the console, or a noise suppressor at work.",
        "tune to an open spot where the radio roars and check again; if it roars there and this "
        "stays, " + ENHANCEMENT,
    ),
    "fading": (
        "fault",
        "The roar fades by {change_db:.0f} dB while nothing changes: noise suppression.",
        ENHANCEMENT,
    ),
    "rising": (
        "fault",
        "The roar rises by {change_db:.0f} dB while nothing changes: automatic gain.",
        ENHANCEMENT,
    ),
    "pumping": (
        "fault",
        "The roar pumps up and down by {moving_db:.0f} dB: automatic gain, or a gate.",
        ENHANCEMENT,
    ),
}


def finding(kind: Kind, **numbers: float) -> Finding:
    """The finding of that kind, with its numbers put into its words."""
    weight, says, do = WORDS[kind]
    return Finding(kind, weight, says.format(**numbers), do)
