"""Is the picture where it belongs?  That tells which of the two trimmers moved.

A picture oscillator takes both carriers along; the sound subcarrier's trimmer moves the sound
alone.  So the picture's buzz is looked for where it should be if both moved, where it was
before, and where it would be if what sits on the goal were the mirror of the sound.

Conventions
-----------
Places are dial stops, MHz, each with the verdict that a buzz there would give.  Times are seconds
of sound.

moved, stayed  the picture oscillator was to be turned: it was, or the sound trimmer was
alone, both    the sound trimmer was to be turned: it was, or the picture oscillator was
mirror         what sits on the goal is the mirror of the sound
unheard, deaf  no buzz was heard; no place lies on this dial
"""

from typing import Literal

from listen.radio import Radio
from listen.trim.ear import LONGEST_S, Ear
from listen.trim.left import Left
from listen.trim.route import EDGE_MHZ, Leg, Route, nearest_stop

Verdict = Literal["moved", "stayed", "alone", "both", "mirror", "unheard", "deaf"]
WRONG: tuple[Verdict, ...] = ("stayed", "both", "mirror")  # and so the trim is not done
OPEN: tuple[Verdict, ...] = ("unheard", "deaf")  # which trimmer it was stays open

APART_MHZ = 0.4  # pictures nearer than this to each other cannot be told apart
PAIR_S = 5.0  # what is heard of a carrier before it is no picture
AGAIN_S = 0.5  # between two looks at one stop
NEAR_MHZ = 0.11  # a stop so near to a place serves for it


class PictureSearch:
    """The places at which the picture is still to be looked for.

    verdict  what is known so far of which trimmer moved
    """

    def __init__(self, leg: Leg, route: Route, left: Left, radio: Radio) -> None:
        shown_mhz = route.error.dial_mhz
        low_mhz, high_mhz = radio.band_mhz
        self._places = [
            (what, nearest_stop(shown_mhz(mhz), radio).dial_mhz)
            for what, mhz in pair_places(leg, route, left)
            if route.heard_as != "mirror"  # the picture lies elsewhere than the mirror's shift says
            if low_mhz - EDGE_MHZ <= shown_mhz(mhz) <= high_mhz + EDGE_MHZ
        ]
        self.verdict: Verdict = "unheard" if self._places else "deaf"
        self._again_s = 0.0

    @property
    def wanted_mhz(self) -> float | None:
        """The dial stop to look at next; None where nothing is left to look for."""
        return self._places[0][1] if self._places else None

    def set_to(self, dial_mhz: float) -> bool:
        """The dial was set there unasked; gives whether that serves one of the places."""
        near = [place for place in self._places if abs(place[1] - dial_mhz) < NEAR_MHZ]
        self._places = [*near, *(place for place in self._places if place not in near)]
        return bool(near)

    def judged(self, ear: Ear, now_s: float) -> bool:
        """Listen to the stop at hand; gives whether that is done with."""
        if ear.heard_s < LONGEST_S or now_s < self._again_s:
            return False
        self._again_s = now_s + AGAIN_S
        held = ear.is_held(now_s)
        buzz = held and ear.kind() == "buzz"
        if held and not buzz and ear.heard_s < PAIR_S:
            return False
        what, _ = self._places.pop(0)
        if buzz:
            self._places.clear()
            self.verdict = what
        return True


def pair_places(leg: Leg, route: Route, left: Left) -> list[tuple[Verdict, float]]:
    """Where a picture's buzz would tell something, true MHz, and which verdict it would give."""
    goal, now_mhz, from_mhz = route.goal, left.sound_mhz, leg.from_mhz
    known_mhz = leg.spacing_mhz
    if leg.trimmer == "sound":  # the picture is to stay where it was
        spacing_mhz = known_mhz
        if spacing_mhz is None:
            spacing_mhz = None if from_mhz is None else from_mhz - goal.picture_mhz
        if from_mhz is None or spacing_mhz is None:
            return [("alone", goal.picture_mhz)]
        places: list[tuple[Verdict, float]] = [("alone", from_mhz - spacing_mhz)]
        if abs(from_mhz - now_mhz) > APART_MHZ:
            places.append(("both", now_mhz - spacing_mhz))
        return places
    spacing_mhz = known_mhz or goal.sound_mhz - goal.picture_mhz
    places = [("moved", now_mhz - spacing_mhz)]
    if from_mhz is not None and abs(from_mhz - now_mhz) > APART_MHZ:
        places.append(("stayed", from_mhz - spacing_mhz))
    return [*places, ("mirror", now_mhz + spacing_mhz)]
