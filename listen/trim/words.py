"""The guide's sentences: what to do now, what was understood, what went wrong.

Frequencies are MHz as the dial shows them unless a carrier is meant, offsets kHz.  Nothing is
decided here.
"""

from collections.abc import Mapping

from listen.channels import Channel
from listen.trim.left import HELD_DB, Left
from listen.trim.pair import WRONG, Spacing, Verdict
from listen.trim.route import Leg, Route

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
    turn = (
        "turn" if leg.upward is None else "keep turning" if leg.upward == towards else "turn back"
    )
    return f"Not yet: {figure}; {far}, {turn} a little."


NOT_YET = "Not yet: turn on.  It is measured once the meter moved and stands, or with Enter."


def still(still_s: float) -> str:
    """What happens at the goal without a key."""
    return (
        f"When it stands well, leave it: held and still for {still_s:.0f} s, it is measured by "
        "itself."
    )


def stood_before(leg: Leg) -> str:
    """What is held at the goal was there before the carrier can have come."""
    assert leg.from_mhz is not None  # or nothing would tell
    return (
        f"Something was held here before anything was turned, and the console began on "
        f"{leg.from_mhz:.2f} MHz: a station? It is not measured by itself until the meter has "
        "moved. If it is the console, press Enter."
    )


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

    Turned downward the picture oscillator brings by the mirror of the sound, the picture, then the
    sound; upward the sound comes first.  The sound trimmer does not move the picture.
    """
    spacing_mhz = goal.sound_mhz - goal.picture_mhz
    if kind == "buzz":
        return f"That is the picture carrier: a harsh buzz without a tune. {_buzz(leg, goal)}"
    mirror_first = leg.from_mhz is not None and leg.from_mhz > leg.to_mhz + 2 * spacing_mhz
    if leg.trimmer == "picture" and mirror_first and "buzz" not in order:
        return (
            "A tune, and no picture's buzz came before it. From so far above, a mirror of the "
            f"sound may come first: then a buzz stands {spacing_mhz:g} MHz above it; go on until "
            "that has passed and the next tune comes."
        )
    if "buzz" in order and leg.upward is not False:
        return (
            "A tune after the picture's buzz. If you turned back it is the sound carrier; if you "
            "went on upward it may be the mirror of the sound: turn back past the buzz."
        )
    if "buzz" in order:
        return "The tune after the picture's buzz: this is the sound carrier."
    return "A carrier is here."


def _buzz(leg: Leg, goal: Channel) -> str:
    """What to do about a buzz at the goal."""
    spacing_mhz = goal.sound_mhz - goal.picture_mhz
    if leg.trimmer == "sound":
        return "The sound trimmer does not move it: it is the picture oscillator that stands wrong."
    where = f"It stands where the sound belongs, {spacing_mhz:g} MHz too high."
    if leg.upward is None:
        return f"{where} Turn so that the carriers fall, until a tune comes."
    if leg.upward:
        return f"{where} The sound has passed already: turn back until a tune comes."
    return f"{where} Go on until a tune comes."


LOST = (
    "It is nowhere near. Turn the trimmer slowly back until the meter comes up; if it does not, "
    "sweep again."
)
STEP_AHEAD = "Stop turning until the dial is set, then go on turning until it is heard."
AT_GOAL = "Then go on turning, slowly: until it is quiet, past the peak, and back to the middle."
DONE = "The sound carrier is on the goal. The trim is done."
OF_PICTURE = (
    "But what stands there buzzes as a picture carrier does, and no tune was heard: it does not "
    "count. Turn on until a tune stands on the goal."
)
CLIPS = (
    "CLIPPING: the line-in is overdriven here, and nothing can be measured. Turn the volume down."
)
CHANGED = (
    "This is the open band's roar, only louder or quieter than before: was the volume turned, or "
    "is it a carrier's edge?"
)
OPEN_AGAIN = "The open spot is heard again."
RECORDED = "In a recording the open spot cannot be heard again: this stop is taken as it is."
PAIRS = {
    "moved": "The picture's buzz is where it belongs: both carriers moved together, so it was the "
    "picture oscillator, and the spacing is what it was.",
    "stayed": "The picture's buzz is still where it was: only the sound moved, so it was the "
    "sound trimmer. The spacing is wrong now: turn that one back, then the picture oscillator.",
    "alone": "The picture's buzz is still where it was: the sound alone moved, as it should, and "
    "the spacing is right.",
    "both": "The picture's buzz has moved along: it was the picture oscillator, and the spacing is "
    "what it was. Turn that one back, then the sound trimmer.",
    "mirror": "The picture's buzz stands above the goal: what sits on the goal is the mirror of "
    "the sound. Turn on until the buzz has passed and the next tune comes.",
    "slight": "The sound carrier was moved by so little that the radio cannot tell which of the "
    "two trimmers it was. The spacing is what it was, to 60 kHz.",
    "unheard": "The picture was not heard where it belongs; the set's own picture must show "
    "whether the spacing is right.",
    "deaf": "The picture carrier lies outside this dial, so the radio cannot tell which of the two "
    "trimmers moved; the set's own picture and sound will show it.",
}


def pair(verdict: Verdict, spacing: Spacing | None, leg: Leg, goal: Channel) -> str:
    """Which trimmer moved, and with a measured spacing what it is."""
    if spacing is None:
        return PAIRS[verdict]
    own_mhz = goal.sound_mhz - goal.picture_mhz
    sure_khz = (spacing.interval_95_khz[1] - spacing.interval_95_khz[0]) / 2
    figure = f"The spacing is {spacing.mhz:.2f} MHz, give or take {sure_khz:.0f} kHz"
    if verdict == "unsure":
        return (
            f"{figure}; the channel has {own_mhz:g}. Whether it is right, and so which of the two "
            "trimmers moved, cannot be told on this dial; the set's own sound will show it."
        )
    if verdict not in WRONG:
        told = "picture oscillator" if leg.trimmer == "picture" else "sound trimmer"
        told = "" if leg.from_mhz is None else f": it was the {told} that moved"
        return f"{figure}, as the channel has it{told}. Picture and sound are where they belong."
    other = "sound trimmer" if leg.trimmer == "picture" else "picture oscillator"
    before = ", or the spacing was wrong before" if leg.spacing_mhz is None else ""
    side = "up" if spacing.off_khz < 0 else "down"
    return (
        f"{figure}, and the channel has {own_mhz:g}: it was the {other} that moved{before}. "
        f"Turn the sound trimmer until the sound has gone {side} by {abs(spacing.off_khz):.0f} "
        "kHz, then the picture oscillator until the sound is on the goal again."
    )


def volume(louder_db: float) -> str:
    """The open spot was heard again, and its roar is not what it was."""
    side = "louder" if louder_db > 0 else "quieter"
    return (
        f"The volume was turned: the open band is {abs(louder_db):.0f} dB {side} than before. What "
        "was heard round the goal does not count. Leave the volume alone now."
    )


def not_held(heard_db: Mapping[float, float], goal_dial_mhz: float) -> str:
    """No carrier, or no end of one, was heard round the goal: what to do."""
    low_mhz, high_mhz = min(heard_db), max(heard_db)
    if max(heard_db.values()) < HELD_DB:
        return (
            f"Nothing is held here, from {low_mhz:g} to {high_mhz:g} MHz: the carrier is "
            "elsewhere. Turn the trimmer slowly until the meter comes up; if it does not, sweep "
            "again."
        )
    best_mhz = max(heard_db, key=heard_db.__getitem__)
    side = "above" if best_mhz > goal_dial_mhz else "below"
    if best_mhz == goal_dial_mhz:
        return (
            "A carrier is held, but no stop shows where it ends, so what is left cannot be told. "
            "Couple the console more loosely, and measure again."
        )
    return (
        f"A carrier is held {side} the goal's stop, on {best_mhz:g} MHz, and no stop shows where "
        "it ends. Turn the trimmer until the goal's own stop holds it, and measure again."
    )


def too_wide(heard_db: Mapping[float, float]) -> str:
    """It is as quiet at every stop as on the goal."""
    return (
        f"It is as quiet at every stop from {min(heard_db):g} to {max(heard_db):g} MHz: no radio "
        "holds one carrier so wide. Is the radio's cable in the line-in, its volume as it was, and "
        "the console not coupled too closely?"
    )
