"""Is the picture where it belongs?  That tells which of the two trimmers moved.

A picture oscillator takes both carriers along; the sound subcarrier's trimmer moves the sound
alone.  So the picture's buzz is looked for where it should be if both moved, where it was
before, and where it would be if what sits on the goal were the mirror of the sound.

Conventions
-----------
Places are dial stops, MHz, each with the name of what a buzz there would tell (words.PAIRS).
Times are seconds of sound.
"""

from listen.radio import Radio
from listen.trim import words
from listen.trim.ear import LONGEST_S, Ear
from listen.trim.left import Left
from listen.trim.route import EDGE_MHZ, Leg, Route

PAIR_S = 5.0  # what is heard of a carrier before it is no picture
AGAIN_S = 0.5  # between two looks at one stop
NEAR_MHZ = 0.11  # a stop so near to a place serves for it


class PictureSearch:
    """The places at which the picture is still to be looked for.

    moved  what is known so far of which trimmer moved, as a sentence
    """

    def __init__(self, leg: Leg, route: Route, left: Left, radio: Radio) -> None:
        shown_mhz = route.error.dial_mhz
        low_mhz, high_mhz = radio.band_mhz
        self._places = [
            (what, words.on_grid(shown_mhz(mhz), radio))
            for what, mhz in words.pair_places(leg, route, left)
            if route.heard_as != "mirror"  # the picture lies elsewhere than the mirror's shift says
            if low_mhz - EDGE_MHZ <= shown_mhz(mhz) <= high_mhz + EDGE_MHZ
        ]
        self.moved = words.PAIRS["unheard" if self._places else "deaf"]
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
            self.moved = words.PAIRS[what]
        return True
