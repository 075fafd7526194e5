"""A confirmation in sentences: what happened, how to undo it, what to do next.

Strings only; every number in them comes from the analysis.
"""

from collections.abc import Sequence

from listen.analysis.answer import Location
from listen.analysis.confirmation import Confirmation, Interval, Turned
from listen.analysis.dials import Dials
from listen.channels import Channel

NEAR_MHZ = 0.06  # a stop this near a carrier's old place tells what is there now
TRIMMERS: dict[Turned, str] = {
    "oscillator": "the picture oscillator's trimmer",
    "subcarrier": "the sound subcarrier's trimmer",
    "both": "both trimmers",
}

TURNED: dict[Turned, str] = {
    "oscillator": "Both carriers moved together: the picture oscillator was turned.",
    "subcarrier": "The picture carrier stayed and the spacing changed: the sound subcarrier was "
    "turned.",
    "both": "The picture carrier moved and the spacing changed: both trimmers were turned.",
}

EXCHANGED = (
    "By its times the second sweep was recorded before the first: name the one made before the "
    "trimmer was turned first, then the one made after."
)


def distance_text(khz: float) -> str:
    """A distance as a person says it: kHz, from a megahertz on MHz."""
    return f"{khz / 1e3:+.3f} MHz" if abs(khz) >= 1000 else f"{round(khz):+d} kHz"


def reason_words(
    before: Location,
    after: Location,
    moved: bool | None,
    shift_khz: float | None,
    interval_khz: Interval | None,
) -> str:
    """One sentence on why it moved, did not, or why it cannot be told."""
    if shift_khz is None or interval_khz is None:
        return _not_found_words(before, after)
    low_khz, high_khz = interval_khz
    interval = f"(95 %: {distance_text(low_khz)} to {distance_text(high_khz)})"
    if moved and _is_either_way(interval_khz):
        return f"The sound carrier most likely moved: by {distance_text(shift_khz)} {interval}."
    if moved:
        return f"The sound carrier moved by {distance_text(shift_khz)} {interval}."
    if moved is False:
        most_khz = max(-low_khz, high_khz)
        return (
            f"The sound carrier did not move, or by less than {most_khz:.0f} kHz: the change is "
            f"{distance_text(shift_khz)} {interval}."
        )
    return (
        f"Whether the sound carrier moved cannot be told: the change is {distance_text(shift_khz)} "
        f"{interval}."
    )


def _is_either_way(interval_khz: Interval) -> bool:
    """Whether a move up and one down both lie in an interval."""
    return interval_khz[0] <= 0 <= interval_khz[1]


def _not_found_words(before: Location, after: Location) -> str:
    """Why a carrier that was not found twice says nothing of a move."""
    if not before.found and not after.found:
        return "The console's sound carrier was found in neither sweep, so no move can be told."
    if not before.found:
        return f"It was not found in the sweep before, so no move can be told: {_clause(before)}."
    assert before.sound_carrier_mhz is not None
    text = f"It was not found in the sweep after, so no move can be told: {_clause(after)}"
    shown_mhz = after.error.dial_mhz(before.sound_carrier_mhz)
    there = [
        stop.heard
        for stop in after.stops
        if stop.console == "on" and abs(stop.dial_mhz - shown_mhz) < NEAR_MHZ
    ]
    if there and set(there) == {"hiss"}:
        text += (
            f"; at {before.sound_carrier_mhz:.2f} MHz, where it was, the band is open now, so that "
            "it left, or the console was off"
        )
    return f"{text}."


def _clause(one: Location) -> str:
    """The reason of a location as part of another sentence."""
    return f"{one.reason[:1].lower()}{one.reason[1:]}".removesuffix(".")


def carriers_words(answer: Confirmation) -> str | None:
    """How far picture and spacing went, each by its own stops; None where that was not heard."""
    picture, spacing = answer.picture_shift_interval_95_khz, answer.spacing_shift_interval_95_khz
    if answer.picture_shift_khz is None or answer.spacing_shift_khz is None:
        return None
    assert picture is not None  # they come together
    assert spacing is not None
    moved = _with_interval(answer.picture_shift_khz, picture)
    changed = _with_interval(answer.spacing_shift_khz, spacing)
    return (
        f"By their own stops the picture carrier moved by {moved} and the spacing changed by "
        f"{changed}."
    )


def _with_interval(khz: float, interval_khz: Interval) -> str:
    low, high = map(distance_text, interval_khz)
    return f"{distance_text(khz)} (95 %: {low} to {high})"


def target_words(answer: Confirmation) -> str:
    """Whether the carrier is on its target, and what is left to it."""
    target, limit = answer.target, f"the {answer.within_khz:g} kHz limit"
    assert target is not None
    if answer.left_khz is None or answer.left_interval_95_khz is None:
        return f"On target for {target.name}: cannot tell, the sound carrier was not found."
    low_khz, high_khz = (distance_text(end) for end in answer.left_interval_95_khz)
    left = f"{distance_text(answer.left_khz)} is left (95 %: {low_khz} to {high_khz})"
    name = f"{target.name}, sound {target.sound_mhz:g} MHz"
    if answer.on_target:
        return f"On target: {name}; {left}, inside {limit}."
    if answer.on_target is False:
        return f"Off target: {name}; {left}, outside {limit}."
    return f"On target for {name}: cannot tell; {left}, which straddles {limit}."


def put_back_words(
    before: Location,
    shift_khz: float | None,
    interval_khz: Interval | None,
    turned: Turned | None,
) -> str | None:
    """What to turn to undo a move; None where its way is not known."""
    if shift_khz is None or interval_khz is None or before.sound_carrier_mhz is None:
        return None
    if _is_either_way(interval_khz):
        return None
    what = TRIMMERS[turned] if turned else "the same trimmer"
    way = "lower" if shift_khz > 0 else "higher"
    return (
        f"To put it back, turn {what} the other way until the sound carrier is "
        f"{distance_text(abs(shift_khz)).lstrip('+')} {way}, on {before.sound_carrier_mhz:.3f} MHz."
    )


def next_words(
    before: Location,
    after: Location,
    moved: bool | None,
    interval_khz: Interval | None,
    target: Channel | None,
    within_khz: float,
    on_target: bool | None,
    left_khz: float | None,
) -> str | None:
    """The one thing to do next, or None."""
    if not after.found:
        return f"Of the sweep after: {after.next}" if after.next else None
    if target is not None and left_khz is not None:
        if on_target is False:
            way = "higher" if left_khz > 0 else "lower"
            far = distance_text(abs(left_khz)).lstrip("+")
            return (
                f"Go on trimming: the sound carrier has to go {far} {way}, to "
                f"{target.sound_mhz:g} MHz for {target.name}."
            )
        if on_target is None:
            return (
                f"The interval straddles the {within_khz:g} kHz limit about {target.sound_mhz:g} "
                "MHz: add the dial stops left out beside the carrier to the sweep after."
            )
        return None
    if not before.found:
        return f"Of the sweep before: {before.next}" if before.next else None
    if moved is None or (moved and interval_khz is not None and _is_either_way(interval_khz)):
        return (
            "Sweep again with the smallest dial step that the radio has, 300 kHz to either side of "
            f"{after.sound_carrier_mhz:.2f} MHz."
        )
    return None


def two_radios_words(dials: Dials) -> str:
    """The warning where the sweeps were made with two radios."""
    return (
        f"Two radios, it seems: {dials.why}. Their dials' errors do not cancel, so the interval of "
        "the move is wider; sweep both times with one radio."
    )


def of_both(before: Sequence[str], after: Sequence[str]) -> list[str]:
    """The warnings of two sweeps, each told once, with the sweep that it is of."""
    return [
        *(f"Both sweeps: {line}" for line in before if line in after),
        *(f"Before: {line}" for line in before if line not in after),
        *(f"After: {line}" for line in after if line not in before),
    ]
