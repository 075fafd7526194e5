"""The guide's sentences: what to do now, what was understood, what went wrong.

Frequencies are MHz as the dial shows them unless a carrier is meant, offsets kHz.  Nothing is
decided here.
"""

from listen.channels import Channel
from listen.radio import Radio
from listen.trim.left import Left
from listen.trim.route import Leg, Route, nearest_stop

APART_MHZ = 0.4  # pictures nearer than this to each other cannot be told apart

TRIMMERS = {
    "picture": "the picture oscillator's trimmer: both carriers move together",
    "sound": "the sound trimmer: the sound alone moves, so only the spacing changes",
}


def opening(route: Route) -> list[str]:
    """The goal, each trimmer's way, where the dial goes, and what to be wary of."""
    goal = route.goal
    lines = [
        f"Goal: {goal.name}, sound on {goal.sound_mhz:g} MHz, picture on {goal.picture_mhz:g} MHz."
    ]
    for number, leg in enumerate(route.legs, 1):
        first = f"{number}. " if len(route.legs) > 1 else ""
        lines.append(f"{first}Turn {TRIMMERS[leg.trimmer]}.")
        lines.append(f"   {way(leg)}")
    if len(route.legs) > 1:
        lines.append(
            f"The spacing is {route.spacing_mhz:.3f} MHz and the channel has "
            f"{goal.sound_mhz - goal.picture_mhz:g}: a sound trimmer may not reach that far."
        )
    return [*lines, *route.warnings]


def way(leg: Leg) -> str:
    """How far one trimmer has to bring the sound carrier, and where the dial goes."""
    if leg.from_mhz is None:
        move = f"The sound carrier must come to {leg.to_mhz:.3f} MHz."
    else:
        change_mhz = leg.to_mhz - leg.from_mhz
        move = (
            f"The sound carrier must {'rise' if change_mhz > 0 else 'fall'} by "
            f"{abs(change_mhz):.2f} MHz, from {leg.from_mhz:.3f} to {leg.to_mhz:.3f} MHz."
        )
    place = leg.place
    beside = "on the carrier itself"
    if abs(place.offset_khz) >= 1:
        side = "above" if place.offset_khz > 0 else "below"
        beside = f"the carrier belongs {abs(place.offset_khz):.0f} kHz {side} it"
    stops = len(leg.rungs) - 1
    steps = f", {stops} stop{'s' * (stops != 1)} further" if stops else ""
    return f"{move}  The last dial stop is {place.dial_mhz:g} MHz{steps}: {beside}."


def result(left: Left, leg: Leg) -> str:
    """What is left, with its interval, and which way to turn."""
    low, high = left.interval_95_khz
    figure = f"{left.left_khz:+.0f} kHz left (95 %: {low:+.0f} to {high:+.0f})"
    if left.on_target:
        return f"On target: {figure}."
    towards = left.left_khz > 0
    far = f"the sound carrier is too {'low' if towards else 'high'}"
    if left.on_target is None and low < 0 < high:
        return f"Near, but not sure: {figure}; it may be too {'low' if towards else 'high'}."
    turn = "turn" if leg.upward is None else "turn on" if leg.upward == towards else "turn back"
    return f"Not yet: {figure}; {far}, {turn} a little."


def wrong_way(before_mhz: float, now_mhz: float) -> str:
    """The order of what was heard tells that the carrier runs away."""
    return (
        f"Wrong way: it was heard on {before_mhz:g} MHz and is now on {now_mhz:g}, further from "
        "the goal. Turn the trimmer the other way."
    )


def arrived(dial_mhz: float, before_mhz: float | None) -> str:
    """The carrier was heard on the next rung, and so runs the right way."""
    if before_mhz is None:
        return f"Heard on {dial_mhz:g} MHz."
    return f"Heard on {dial_mhz:g} MHz, after {before_mhz:g}: it runs the right way."


def nothing_here(why_s: float, dial_mhz: float) -> str:
    """Why the radio is to look elsewhere."""
    return f"Nothing on {dial_mhz:g} MHz for {why_s:.0f} s: see where it is."


def came_by(kind: str, order: tuple[str, ...], leg: Leg, goal: Channel) -> str:
    """What a carrier that came to the goal may be, from its sound and from what came before.

    order  the kinds that came by before it
    """
    spacing_mhz = goal.sound_mhz - goal.picture_mhz
    if kind == "buzz":
        return (
            "That is the picture carrier: a harsh buzz without a tune. It stands where the sound "
            f"belongs, {spacing_mhz:g} MHz too high. Go on until a tune comes."
        )
    if leg.upward is False and leg.from_mhz is not None and "buzz" not in order:
        return (
            "A tune, and no picture's buzz came before it. On the way down a mirror of the sound "
            "may come first: then a buzz stands "
            f"{spacing_mhz:g} MHz above it; go on until that has passed and the next tune comes."
        )
    if "buzz" in order:
        return "The tune after the picture's buzz: this is the sound carrier."
    return "A carrier is here."


LOST = (
    "It is nowhere near. Turn the trimmer slowly back until the meter comes up; if it does not, "
    "sweep again."
)
RESTLESS = (
    "This roar is restless, as if the system took noise away: see listen check, or the meter "
    "shows less than there is."
)
STEP_AHEAD = "Stop turning until the dial is set, then turn on until it is heard."
AT_GOAL = "Then turn on slowly: until it is quiet, past the peak, and back to the middle."
PAIRS = {
    "moved": "The picture's buzz is where it belongs: both carriers moved together, so it was the "
    "picture oscillator, and the spacing is right.",
    "stayed": "The picture's buzz is still where it was: only the sound moved, so it was the "
    "sound trimmer. The spacing is wrong now: turn that one back.",
    "mirror": "The picture's buzz stands above the goal: what sits on the goal is the mirror of "
    "the sound. Turn on until the buzz has passed and the next tune comes.",
    "unheard": "The picture was not heard where it belongs; the set's own picture must show "
    "whether the spacing is right.",
    "deaf": "The picture carrier lies outside this dial, so the radio cannot tell which of the two "
    "trimmers moved; the set's own picture and sound will show it.",
}


def pair_places(leg: Leg, route: Route, left: Left) -> list[tuple[str, float]]:
    """Where a picture's buzz would tell something, true MHz, and which of PAIRS it would tell."""
    goal = route.goal
    spacing_mhz = route.spacing_mhz or goal.sound_mhz - goal.picture_mhz
    picture_mhz = left.sound_mhz - spacing_mhz
    if leg.trimmer == "sound":
        picture_mhz = goal.picture_mhz
    places = [("moved", picture_mhz)]
    if leg.from_mhz is not None and abs(leg.from_mhz - left.sound_mhz) > APART_MHZ:
        places.append(("stayed", leg.from_mhz - spacing_mhz))
    return [*places, ("mirror", left.sound_mhz + spacing_mhz)]


def on_grid(shown_mhz: float, radio: Radio) -> float:
    """The dial stop nearest to a position on the dial's scale."""
    return nearest_stop(shown_mhz, radio).dial_mhz
