"""Is the picture where it belongs?  That tells which of the two trimmers moved.

A picture oscillator takes both carriers along; the sound subcarrier's trimmer moves the sound
alone.  So the picture's buzz is looked for where it should be if both moved, where it was
before, and where it would be if what sits on the goal were the mirror of the sound.

One stop holds a picture some 0.15 MHz away, so that places nearer to each other than APART_MHZ are
not told apart by a buzz alone.  After a small move, or one from an unknown place, the stops beside
the buzz are asked for too: they place the picture (analysis/picture_fit.py), and with the sound
the spacing.  The dial's error is common to both and falls out.  Whether that is the channel's
spacing is what counts in the end.  A move within SPACING_KHZ cannot spoil it, whichever
trimmer it was.

Conventions
-----------
Places are dial stops, MHz, each with the verdict that a buzz there would give.  Times are seconds
of sound.

moved, stayed  the picture oscillator was to be turned: it was, or the sound trimmer was
alone, both    the sound trimmer was to be turned: it was, or the picture oscillator was
mirror         what sits on the goal is the mirror of the sound
unsure         the spacing was measured, too badly to tell
slight         the move was too small to tell, and to matter
unheard, deaf  no buzz was heard; where it belongs is no stop of this dial
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from listen.analysis.answer import NINETY_FIVE
from listen.analysis.curve import Reading
from listen.analysis.picture_fit import fit_picture
from listen.analysis.width import radio_weights
from listen.radio import Radio
from listen.trim.ear import LONGEST_S, Ear
from listen.trim.left import BESIDE_STATION_MHZ, Left, aside_khz, fitted
from listen.trim.route import EDGE_MHZ, SPACING_KHZ, Leg, Route, nearest_stop

Verdict = Literal[
    "moved", "stayed", "alone", "both", "mirror", "unsure", "slight", "unheard", "deaf"
]
WRONG: tuple[Verdict, ...] = ("stayed", "both", "mirror")  # and so the trim is not done
OPEN: tuple[Verdict, ...] = ("unsure", "slight", "unheard", "deaf")  # which trimmer stays open

APART_MHZ = 0.4  # pictures nearer than this to each other cannot be told apart by a buzz
PAIR_S = 5.0  # what is heard of a carrier before it is no picture
AGAIN_S = 0.5  # between two looks at one stop
NEAR_MHZ = 0.11  # a stop so near to a place serves for it
MOST_ASIDE = 3  # steps to either side of the buzz
REACH_MHZ = 0.65  # a stop further from the buzz tells nothing of its place
CLEAR = 1.5  # of half an interval: two spacings so far apart are told apart by one that fits


@dataclass(frozen=True, slots=True)
class Spacing:
    """Sound minus picture, as measured at the trimmer.

    off_khz          that minus the channel's own
    interval_95_khz  of off_khz
    """

    mhz: float
    off_khz: float
    interval_95_khz: tuple[float, float]

    @property
    def right(self) -> bool | None:
        """Whether it is the channel's, within SPACING_KHZ; None where the interval straddles."""
        low_khz, high_khz = self.interval_95_khz
        if low_khz >= -SPACING_KHZ and high_khz <= SPACING_KHZ:
            return True
        return None if low_khz <= SPACING_KHZ and high_khz >= -SPACING_KHZ else False


class PictureSearch:
    """The places at which the picture is still to be looked for.

    sides_db  quieting by dial stop round the goal, from which `left` was told

    verdict   what is known so far of which trimmer moved
    spacing   where it was measured
    """

    def __init__(
        self, leg: Leg, route: Route, left: Left, radio: Radio, sides_db: Mapping[float, float]
    ) -> None:
        self._leg, self._route, self._radio = leg, route, radio
        self._sound = fitted(sides_db, radio)
        self._now_mhz = left.sound_mhz
        self.spacing: Spacing | None = None
        moved_mhz = None if leg.from_mhz is None else abs(leg.from_mhz - left.sound_mhz)
        self._places: list[tuple[Verdict, float]] = []
        self._beside_db: dict[float, float] = {}  # quieting round the buzz, once it was found
        self._centre_mhz: float | None = None
        self._again_s = 0.0
        if moved_mhz is not None and 1e3 * moved_mhz <= SPACING_KHZ:
            self.verdict: Verdict = "slight"
            return
        self._measures = moved_mhz is None or moved_mhz <= APART_MHZ
        shown_mhz = route.error.dial_mhz
        low_mhz, high_mhz = radio.band_mhz
        places = [
            (what, nearest_stop(shown_mhz(mhz), radio).dial_mhz)
            for what, mhz in pair_places(leg, route, left)
            if route.heard_as != "mirror"  # the picture lies elsewhere than the mirror's shift says
            if low_mhz - EDGE_MHZ <= shown_mhz(mhz) <= high_mhz + EDGE_MHZ
        ]
        self._places = [
            place for n, place in enumerate(places) if place[1] not in {p[1] for p in places[:n]}
        ]
        reached = any(what != "mirror" for what, _ in self._places)
        self.verdict = "unheard" if reached else "deaf"

    @property
    def wanted_mhz(self) -> float | None:
        """The dial stop to look at next; None where nothing is left to look for."""
        if self._centre_mhz is not None:
            return self._next_beside()
        return self._places[0][1] if self._places else None

    @property
    def why(self) -> str:
        """Why that stop is wanted."""
        found = self._centre_mhz is not None
        return "How far is the picture off?" if found else "Is the picture's buzz here?"

    def set_to(self, dial_mhz: float) -> bool:
        """The dial was set there unasked; gives whether that serves one of the places."""
        if self._centre_mhz is not None:
            return abs(dial_mhz - self._centre_mhz) < REACH_MHZ
        near = [place for place in self._places if abs(place[1] - dial_mhz) < NEAR_MHZ]
        self._places = [*near, *(place for place in self._places if place not in near)]
        return bool(near)

    def judged(self, ear: Ear, now_s: float) -> bool:
        """Listen to the stop at hand; gives whether that is done with."""
        if ear.heard_s < LONGEST_S or now_s < self._again_s:
            return False
        self._again_s = now_s + AGAIN_S
        if self._centre_mhz is not None:
            return self._kept(ear)
        held = ear.is_held(now_s)
        buzz = held and ear.kind() == "buzz"
        if held and not buzz and ear.heard_s < PAIR_S:
            return False
        what, _ = self._places.pop(0)
        if buzz:
            self._places.clear()
            self.verdict = what
            if self._measures and what != "mirror":
                self._centre_mhz = ear.dial_mhz
                return self._kept(ear)
        return True

    def _kept(self, ear: Ear) -> bool:
        """Keep what a stop beside the buzz gave, and conclude once there are enough."""
        quieting_db = ear.measured_db()
        if quieting_db is None or ear.dial_mhz is None:
            return False
        self._beside_db[ear.dial_mhz] = quieting_db
        if self._next_beside() is None:
            self._conclude()
        return True

    def _next_beside(self) -> float | None:
        """The next stop round the buzz: a step to each side, and on, until it was left."""
        assert self._centre_mhz is not None
        low_mhz, high_mhz = self._radio.band_mhz
        step_mhz = aside_khz(self._radio) / 1e3
        left_db = max(self._beside_db.values(), default=0.0) / 2
        stations_mhz = self._route.stations_mhz
        for side in (-1, 1):
            for number in range(1, MOST_ASIDE + 1):
                mhz = round(self._centre_mhz + side * number * step_mhz, 4)
                beside = any(abs(mhz - station) < BESIDE_STATION_MHZ for station in stations_mhz)
                if beside or not low_mhz <= mhz <= high_mhz:
                    break
                if mhz not in self._beside_db:
                    return mhz
                if self._beside_db[mhz] < left_db:
                    break
        return None

    def _conclude(self) -> None:
        """The picture's place, the spacing, and what it tells."""
        assert self._centre_mhz is not None
        centre_mhz, self._centre_mhz = self._centre_mhz, None
        readings = [Reading(mhz, db) for mhz, db in sorted(self._beside_db.items())]
        picture = fit_picture(
            *(readings, centre_mhz, radio_weights([], self._radio.passband_khz)),
            scatter_khz=self._radio.scatter_khz,
        )
        goal, sound = self._route.goal, self._sound
        apart = self._route.error.between(sound.mean_mhz, picture.mean_mhz)
        mhz = sound.mean_mhz - picture.mean_mhz - apart.mean_khz / 1e3
        spread_khz = np.hypot(np.hypot(sound.spread_khz, picture.spread_khz), apart.spread_khz)
        off_khz = 1e3 * (mhz - (goal.sound_mhz - goal.picture_mhz))
        sure_khz = NINETY_FIVE * float(spread_khz)
        self.spacing = Spacing(mhz, off_khz, (off_khz - sure_khz, off_khz + sure_khz))
        self.verdict = self._told(off_khz, sure_khz)

    def _told(self, off_khz: float, sure_khz: float) -> Verdict:
        """Which trimmer moved, by the spacing now; where that straddles, by what it was before."""
        assert self.spacing is not None
        leg, right = self._leg, self.spacing.right
        if right is None and leg.spacing_mhz is not None and leg.from_mhz is not None:
            goal = self._route.goal
            kept_khz = 1e3 * (leg.spacing_mhz - (goal.sound_mhz - goal.picture_mhz))
            changed_khz = kept_khz + 1e3 * (self._now_mhz - leg.from_mhz)
            meant_khz, other_khz = kept_khz, changed_khz
            if leg.trimmer == "sound":
                meant_khz, other_khz = changed_khz, kept_khz
            fits = [abs(off_khz - khz) <= sure_khz for khz in (meant_khz, other_khz)]
            clear = abs(other_khz - meant_khz) >= CLEAR * sure_khz
            right = fits[0] if clear and fits[0] != fits[1] else None
        if right is None:
            return "unsure"
        if leg.trimmer == "picture":
            return "moved" if right else "stayed"
        return "alone" if right else "both"


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
        return [("alone", from_mhz - spacing_mhz), ("both", now_mhz - spacing_mhz)]
    spacing_mhz = known_mhz or goal.sound_mhz - goal.picture_mhz
    places: list[tuple[Verdict, float]] = [("moved", now_mhz - spacing_mhz)]
    if from_mhz is not None:
        places.append(("stayed", from_mhz - spacing_mhz))
    return [*places, ("mirror", now_mhz + spacing_mhz)]
