"""Why a stop is asked for, in words that help a person at a bench."""

from listen.sweep.search import Why

OFF_FIRST = "What changes here without the console was the console."
OFF_AGAIN = "The switch proved nothing where it was used before.  This is the next likeliest."
OFF_ELSEWHERE = "There another carrier lies beneath: once more, further away from it."
ON_AGAIN = "Once more with the console on: it may have drifted since it was heard here."
ONCE_MORE = "Nothing could be told from that recording: once more."
PLAYS_NOW = "A carrier without a tune was heard here: once more, in case it plays now."
ROAR = "Only hiss is wanted here: everything else is measured against the empty dial's roar."


def search_words(why: Why, channel_words: str) -> str:
    """Why a stop of a search is visited; channel_words names the channel that is near."""
    return {
        "channel": channel_words,
        "drifted": f"{channel_words[:-1]}; an old modulator may stand beside it.",
        "hop": "Now between the channels, in long hops: a modulator may stand anywhere.",
        "between": "Between the hops: a narrow radio may have missed something here.",
    }[why]


def scale_words(station_mhz: float) -> str:
    """Why a known station is looked for."""
    return f"Where the scale shows the station on {station_mhz:.1f} tells how far it is off."


def beside_words(held_mhz: float, console: bool) -> str:
    """Why the stop next to one that was heard is visited."""
    what = "What is heard" if not console else "The console seems to be heard"
    return f"{what} at {held_mhz:g}: where it fades tells where it stands."


def edge_words(edge_mhz: float) -> str:
    """Why the stop next to a half-heard one is visited."""
    return f"Something is half heard at {edge_mhz:g}: it may stand here."


def finer_words(now_khz: float, then_khz: float) -> str:
    """Why a stop is worth more than any other; both are half the length of an interval."""
    return (
        f"This stop tells most of where it stands: to ±{then_khz:.0f} kHz or so, "
        f"from ±{now_khz:.0f}."
    )


def bracket_words(held_mhz: float, open_mhz: float) -> str:
    """Why a stop between a held and an open one is visited."""
    return f"It is heard at {held_mhz:g} and not at {open_mhz:g}: where between does it fade?"


def picture_words(sound_mhz: float) -> str:
    """Why the picture is looked for."""
    return f"If the sound is on {sound_mhz:.2f}, its picture buzzes near here."


def picture_edge_words(picture_mhz: float) -> str:
    """Why the stop beside a picture is visited."""
    return f"The picture buzzes at {picture_mhz:g}: where it fades helps to place the sound."


def mirror_words(sound_mhz: float) -> str:
    """Why the mirror is looked for."""
    return (
        f"Many modulators send the sound on {sound_mhz:.2f} a second time, as far below the "
        "picture: both together place the picture."
    )


def upper_words(heard_mhz: float, sound_mhz: float) -> str:
    """Why the picture above is looked for."""
    return (
        f"What is heard on {heard_mhz:.2f} may be the mirror of a sound on {sound_mhz:.2f}: "
        "then the picture buzzes here, half-way."
    )


def sound_words(picture_mhz: float, spacing_mhz: float) -> str:
    """Why the sound above a picture is looked for."""
    return f"A picture buzzes at {picture_mhz:.2f}: its sound may stand {spacing_mhz:g} MHz above."


def station_words(station_mhz: float) -> str:
    """Why the stop beside a station is visited."""
    return (
        f"The station at {station_mhz:.1f} stands where stations do: where it fades tells how "
        "wide this radio hears."
    )
