"""The goal's stop: what is held there, and when it is to be measured.

What comes in is told by its sound and by the order of what came by: a tune, a picture's buzz, a
bare carrier.  What was held there from the first, while the console began elsewhere, may be a
station.  A tune is measured once the hand rests (trim/rest.py); a picture is not: it is listened
to anew until something else is held.

Conventions as in trim/guide.py.  How it is measured is the heir's.
"""

from abc import abstractmethod
from collections.abc import Sequence

from listen.radio import Radio
from listen.trim import words
from listen.trim.climb import Climb
from listen.trim.ear import LONGEST_S
from listen.trim.kinds import Kind
from listen.trim.listener import JUDGE_S
from listen.trim.rest import Rest
from listen.trim.route import Route

ELSEWHERE_MHZ = 0.6  # a carrier that begins so far from the goal is not held there


class AtGoal(Climb):
    """Waits on the goal's stop for the carrier.

    route       where from and where to
    radio       the receiver
    rate_hz     samples a second of what is heard
    patience_s  how long an empty stop is waited at before the radio is to look around
    open_mhz    dial stops where the band is thought to be open, the surest first
    turns_back  whether the radio can be set back to the open spot; not in a recording
    still_s     held and still so long, it is measured without a key; None: never
    """

    def __init__(
        self,
        route: Route,
        radio: Radio,
        rate_hz: int,
        *,
        patience_s: float,
        open_mhz: Sequence[float],
        turns_back: bool,
        still_s: float | None,
    ) -> None:
        super().__init__(
            *(route, radio, rate_hz),
            patience_s=patience_s,
            open_mhz=open_mhz,
            turns_back=turns_back,
        )
        self._rest = Rest(still_s)
        self._held_since_s: float | None = None
        self._order: list[Kind] = []  # what came by at the goal
        self._kind_known = False
        self._said_still = False

    @property
    def _buzzes(self) -> bool:
        """Whether what was held at the goal last is a picture carrier by its sound."""
        return self._order[-1:] == ["buzz"]

    def _at_goal(self, now_s: float) -> None:
        heard_s = self._ear.heard_s
        if heard_s >= LONGEST_S:
            self._rest.saw(now_s, self._ear.word_db(now_s), heard_s)
        if self._ear.is_held(now_s):
            self._empty_since_s = now_s
            self._held_since_s = self._held_since_s or now_s
            if now_s - self._held_since_s >= LONGEST_S and not self._kind_known:
                if self._in_doubt(LONGEST_S):
                    return
                self._came()
            if self._rest.is_due(now_s, self._held_since_s):
                self._measure_or_warn()
        elif self._ear.is_stirring(now_s):
            self._empty_since_s = now_s
        else:
            self._held_since_s, self._kind_known = None, False
            known = self._heard_rung is not None and self._last > 0
            if known and now_s - self._empty_since_s > self._patience_s:
                self._look_around(words.nothing_here(self._patience_s, self._stands_mhz))

    def _measure_or_warn(self) -> None:
        """The hand rests: measure, unless it is the picture that stands on the goal."""
        if not self._buzzes:
            self._begin_sides()
            return
        self._held_since_s, self._kind_known = None, False  # listen anew to what it is

    def _hear_again(self) -> None:
        super()._hear_again()
        self._held_since_s, self._kind_known = None, False

    def _hear_on(self) -> None:
        self._empty_since_s = self._ear.now_s
        self._held_since_s, self._kind_known = None, False
        self._rest.gap()

    def _came(self) -> None:
        """Something is held at the goal: what is it?"""
        self._kind_known = True
        kind = self._ear.kind()
        handed_on = self._heard_rung is not None and self._last > 0
        stood_before = kind != "buzz" and self._rest.still_s is not None and self._stood_before()
        self._heard_at(self._rung)
        if stood_before:
            self._rest.stood_before()
            self._tell("warn", words.stood_before(self._here))
        elif kind == "buzz" or not handed_on:
            text = words.came_by(kind, tuple(self._order), self._here, self.route.goal)
            self._tell("warn" if kind == "buzz" else "note", text)
        self._order.append(kind)
        still_s = None if stood_before or kind == "buzz" else self._rest.still_s
        if still_s is not None and not self._said_still:
            self._said_still = True
            self._tell("do", words.still(still_s))

    def _stood_before(self) -> bool:
        """Whether the goal's stop held it from the first, while the console began elsewhere."""
        from_mhz, heard_s = self._here.from_mhz, self._ear.heard_s
        if from_mhz is None or self._heard_rung is not None or self._order or self._last > 0:
            return False
        elsewhere = abs(from_mhz - self._here.to_mhz) > ELSEWHERE_MHZ
        return elsewhere and heard_s < LONGEST_S + JUDGE_S

    @abstractmethod
    def _begin_sides(self) -> None:
        """Measure what is held: the goal's stop and one step either side."""
