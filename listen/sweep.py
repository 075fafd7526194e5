"""SWEEP: which dial stop next, and the walk along the dial with whoever turns it.

Conventions
-----------
Dial positions are in MHz, as the radio shows them; steps in kHz.  Two positions within 50 Hz
are the same stop.

What it gives
-------------
dial_stops   the positions worth visiting: round the sound carriers of channel plans, or all
reason_for   why a stop is visited, in words
ListPlanner  visits a list, then the stops where the console's switch settles most, switched off
walk         asks a planner, has the radio tuned, listens, keeps, until the planner is done

The walk is handed callables: who tunes, what hears and what keeps are not its business.  A
planner is asked after every stop and sees all that was heard so far.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from listen.channels import Channel, channels, system
from listen.clip import Clip, Console
from listen.errors import BadDial
from listen.radio import Radio
from listen.tuner import Turn

OFF_FIRST = "What changes here without the console was the console."
OFF_AGAIN = "What was heard before stayed as it was: a station.  This is the next likeliest."
AROUND_KHZ = 300.0  # an old modulator is seldom further from its channel: common practice
USUAL_STEP_KHZ = 100.0
MOST_STOPS = 2_000
MOST_OFF_CHECKS = 3  # more would tire a person, and seldom settle anything


@dataclass(frozen=True, slots=True)
class Ask:
    """The next stop: its dial position, console on or off, why, and how many remain with it.

    left  None where the planner cannot tell
    """

    dial_mhz: float
    console: Console
    why: str
    left: int | None = None


@dataclass(frozen=True, slots=True)
class Visited:
    """A stop that is done with.

    kept  False where it was skipped
    heard what keeping it gave, for a planner that looks into it
    """

    dial_mhz: float
    console: Console
    kept: bool = True
    heard: Any = None


class Planner(Protocol):
    """Says which stop comes next."""

    def next_stop(self, so_far: Sequence[Visited]) -> Ask | None:
        """The next stop, in view of those done with; None: the question is settled."""
        ...


def walk(
    planner: Planner,
    tune: Callable[[Ask], Turn],
    hear: Callable[[Ask], Clip | None],
    keep: Callable[[Ask, Clip], Any],
    so_far: Iterable[Visited] = (),
) -> tuple[Visited, ...]:
    """Walk the dial until the planner is done, and give every stop in order.

    tune    brings the radio there: "go", "skip", or "back" for the stop before once more
    hear    the clip of a stop; None where the person would rather leave it out
    keep    puts the clip where it is safe, before the next stop is asked for
    so_far  stops done with in an earlier walk

    Whatever these raise ends the walk; what was kept stays kept.
    """
    done = list(so_far)
    again: list[Ask] = []  # stops to take once more, the nearest first
    while True:
        ask = again[0] if again else planner.next_stop(done)
        if ask is None:
            return tuple(done)
        turn = tune(ask)
        if turn == "back":
            before = [visit for visit in done if visit.kept][: -len(again) or None]
            if before:
                last = before[-1]
                again.insert(0, Ask(last.dial_mhz, last.console, "You went back to it."))
            continue
        clip = hear(ask) if turn == "go" else None
        heard = None if clip is None else keep(ask, clip)
        if again:
            again.pop(0)
        done.append(Visited(ask.dial_mhz, ask.console, clip is not None, heard))


class ListPlanner:
    """Visits every stop of a list once, then asks for off checks until the switch has spoken.

    An off check is a stop heard before, heard again with the console off.  What did not
    change there was a station, and then another stop may be worth the switch: so after each
    check it is asked again.  It ends where switch_at gives None or a stop that was checked
    (or left out) already, and after MOST_OFF_CHECKS.

    stops      dial positions in the order to visit them, MHz
    why        position to the reason for it
    switch_at  the dial position where the console's switch would settle most in view of all
               that was kept, or None; asked once the list is done, and after each off check
    """

    def __init__(
        self,
        stops: Sequence[float],
        why: Callable[[float], str],
        switch_at: Callable[[], float | None],
    ) -> None:
        self._stops = tuple(stops)
        self._why = why
        self._switch_at = switch_at

    def next_stop(self, so_far: Sequence[Visited]) -> Ask | None:
        """The first stop not done with; after the last, the next off check."""
        seen = {_key(visit.dial_mhz) for visit in so_far if visit.console == "on"}
        left = [stop for stop in self._stops if _key(stop) not in seen]
        if left:
            return Ask(left[0], "on", self._why(left[0]), len(left))
        checked = {_key(visit.dial_mhz) for visit in so_far if visit.console == "off"}
        if len(checked) >= MOST_OFF_CHECKS:
            return None
        dial_mhz = self._switch_at()
        if dial_mhz is None or _key(dial_mhz) in checked:
            return None
        return Ask(dial_mhz, "off", OFF_AGAIN if checked else OFF_FIRST)


def dial_stops(
    radio: Radio,
    step_khz: float | None = None,
    plans: Sequence[str] | None = None,
    every: bool = False,
) -> tuple[float, ...]:
    """Dial positions to visit, rising, MHz, on the radio's grid counted from its low end.

    step_khz  None: the radio's own step, or 100 kHz
    plans     channel plans whose sound carriers count; None: all
    every     the whole band instead

    Raises BadDial where that is no stop at all or more than MOST_STOPS.
    """
    step_khz = step_khz or radio.step_khz or USUAL_STEP_KHZ
    low_mhz, high_mhz = radio.band_mhz
    if not 1 <= step_khz <= 1000:
        raise BadDial(f"a dial step of {step_khz:g} kHz came: give it in kHz, 1 to 1000")
    count = int((high_mhz - low_mhz) * 1000 / step_khz + 1e-6) + 1
    if count > MOST_STOPS:
        raise BadDial(
            f"{count} stops of {step_khz:g} kHz from {low_mhz:g} to {high_mhz:g} MHz are more "
            f"than anybody walks: give a larger --step-khz or a smaller part of the band"
        )
    grid = [round(low_mhz + index * step_khz / 1000, 4) for index in range(count)]
    if every:
        return tuple(grid)
    carriers = [channel.sound_mhz for channel in heard_channels(plans)]
    near = tuple(
        stop
        for stop in grid
        if any(abs(stop - carrier) * 1000 <= AROUND_KHZ + 0.05 for carrier in carriers)
    )
    if not near:
        raise BadDial(
            f"no channel of {', '.join(plans or ()) or 'any plan'} has its sound between "
            f"{low_mhz:g} and {high_mhz:g} MHz: name other plans, or visit the whole band "
            "with --every"
        )
    return near


def heard_channels(plans: Sequence[str] | None = None) -> tuple[Channel, ...]:
    """The channels whose sound is FM, as an FM radio needs it."""
    return tuple(each for each in channels(plans) if system(each.system).sound == "FM")


def reason_for(dial_mhz: float, plans: Sequence[str] | None = None, every: bool = False) -> str:
    """Why a stop is visited, as a sentence for the person who tunes there."""
    near = sorted(
        (abs(channel.sound_mhz - dial_mhz), channel.sound_mhz, channel.name)
        for channel in heard_channels(plans)
        if abs(channel.sound_mhz - dial_mhz) * 1000 <= AROUND_KHZ + 0.05
    )
    if not near:
        return "Every stop is visited." if every else "You asked for it."
    sound_mhz = near[0][1]
    names = list(dict.fromkeys(name for _, mhz, name in near if mhz == sound_mhz))
    more = f" and {len(names) - 2} more" if len(names) > 2 else ""
    return f"{' and '.join(names[:2])}{more} would have the sound on {sound_mhz:g} MHz."


def _key(dial_mhz: float) -> int:
    return round(dial_mhz * 1e4)
