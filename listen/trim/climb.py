"""The way down the ladder: the radio one stop ahead of the carrier, until the goal's stop.

start   is the carrier where it was thought to be?
ahead   the radio stands one rung ahead of the carrier and waits for it to come
look    nothing came: where is it?  The order of what is heard tells which way it runs

Conventions as in trim/guide.py.  What is done on the goal's stop is the heir's.

A volume that was turned would make every stop seem held, or none.  So a stop that seems held while
it has the yardstick's own shape sends the radio back to the open spot.
"""

from abc import abstractmethod
from collections.abc import Sequence

from listen.analysis.volume import STEP_DB
from listen.radio import Radio
from listen.trim import words
from listen.trim.listener import JUDGE_S, Listener
from listen.trim.meter import Fast
from listen.trim.route import RUNG_KHZ, Leg, Route, rung_mhz
from listen.trim.said import Ask, Stage

SAME_MHZ = 0.012
PATIENCE_S = 12.0


class Climb(Listener):
    """Leads a carrier from rung to rung.

    route       where from and where to
    radio       the receiver
    rate_hz     samples a second of what is heard
    patience_s  how long an empty rung is waited at before the radio is to look around
    open_mhz    dial stops where the band is thought to be open, the surest first
    """

    def __init__(
        self,
        route: Route,
        radio: Radio,
        rate_hz: int,
        *,
        patience_s: float = PATIENCE_S,
        open_mhz: Sequence[float] = (),
        turns_back: bool = True,
    ) -> None:
        super().__init__(rate_hz, open_mhz)
        self._turns_back = turns_back
        self.route, self.radio = route, radio
        self.last_heard_mhz: float | None = None
        self._patience_s = patience_s
        self._leg = 0
        self._rung = 0  # where the radio stands or is wanted
        self._heard_rung: int | None = None  # where the carrier was last
        self._looks: list[int] = []
        self._empty_since_s = 0.0
        self._sides_db: dict[float, float] = {}
        self._back: Stage | None = None  # where to go on once the yardstick is known again
        self._doubted_mhz: float | None = None
        self._sure_mhz: set[float | None] = set()  # stops that were doubted in vain

    @property
    def carries_on_from_mhz(self) -> float | None:
        """Where the carrier was heard last, true MHz: from there a trim can go on."""
        if self.last_heard_mhz is None:
            return None
        return round(self.route.error.true_mhz(self.last_heard_mhz), 4)

    def _at(self, now_s: float) -> None:
        getattr(self, f"_at_{self.stage}")(now_s)

    def _hear_again(self) -> None:
        super()._hear_again()
        self._empty_since_s = self._ear.now_s

    # The yardstick, at first and again

    def _roar_known(self) -> None:
        back, self._back = self._back, None
        if back is None:
            self._begin_leg()
            return
        louder_db = self._ear.roar_moved_db or 0.0
        if abs(louder_db) > STEP_DB:
            self._tell("warn", words.volume(louder_db))
            self._sides_db = {}
            self._sure_mhz = set()
        else:
            self._sure_mhz.add(self._doubted_mhz)
        if back == "sides":
            self.stage = back
            self._next_side()
        else:
            self._wish(self._rung, back, "Here again, with that yardstick.")

    def _in_doubt(self, last_s: float) -> bool:
        """Whether this stop tells nothing by the yardstick; it is then heard again, and said."""
        if self._ear.dial_mhz in self._sure_mhz:
            return False
        if self._ear.is_clipped():
            self._doubt(words.CLIPS)
        elif self._ear.is_changed_roar(last_s):
            self._doubt(words.CHANGED)
        return self.stage == "roar"

    def _doubt(self, why: str) -> None:
        if not self._turns_back:
            self._tell("warn", why, words.RECORDED)
            self._sure_mhz.add(self._ear.dial_mhz)
            return
        self._back, self.stage, self._doubted_mhz = self.stage, "roar", self._ear.dial_mhz
        self._tell("warn", why, words.OPEN_AGAIN)
        self._ask_open(again=True, why="The open spot again: is the yardstick what it was?")

    def _is_held(self, now_s: float) -> bool:
        """Whether a carrier is held here; not where it is in doubt, and then the stage is roar."""
        return self._ear.is_held(now_s) and not self._in_doubt(JUDGE_S)

    # The ladder

    def _at_start(self, now_s: float) -> None:
        if self._ear.heard_s < JUDGE_S:
            return
        if self._is_held(now_s):
            self._heard_at(self._rung)
            self._go_ahead()
        elif self.stage == "start":
            self._look_around(f"Nothing is held on {self._stands_mhz:g} MHz, where it should be.")

    def _at_ahead(self, now_s: float) -> None:
        if self._is_held(now_s):
            self._heard_at(self._rung)
            self._go_ahead()
        elif self.stage == "roar" or self._ear.is_stirring(now_s):
            self._empty_since_s = now_s
        elif now_s - self._empty_since_s > self._patience_s:
            self._look_around(words.nothing_here(self._patience_s, self._stands_mhz))

    def _at_look(self, now_s: float) -> None:
        if self._ear.heard_s < JUDGE_S:
            return
        if self._is_held(now_s):
            self._found_at(self._rung)
        elif self.stage == "roar":
            return
        elif self._looks:
            self._wish(self._looks.pop(0), "look", "Is it here?")
        else:
            self._tell("warn", words.LOST)
            back = min(max(self._heard_rung or 0, 0), self._last)
            self._wish(back, self._stage_of(back), "It was heard here last.")

    @property
    def _here(self) -> Leg:
        return self.route.legs[self._leg]

    @property
    def _last(self) -> int:
        return len(self._here.rungs) - 1

    def _dial(self, rung: int) -> float:
        return rung_mhz(self._here, rung)

    @property
    def _stands_mhz(self) -> float:
        """Where the radio stands; it may have been set beside the rung that was wanted."""
        return self._ear.dial_mhz or self._dial(self._rung)

    def _stage_of(self, rung: int) -> Stage:
        return "goal" if rung >= self._last else "ahead"

    def _wish(self, rung: int, stage: Stage, why: str) -> None:
        """Ask for a rung, unless the radio stands there already."""
        self._rung, self.stage = rung, stage
        dial_mhz = self._dial(rung)
        if self._ear.dial_mhz is None or apart(dial_mhz, self._ear.dial_mhz):
            self.ask = Ask(dial_mhz, why)
        else:
            self._empty_since_s = self._ear.now_s

    def _begin_leg(self) -> None:
        leg = self._here
        self._heard_rung, self._sides_db = None, {}
        if len(self.route.legs) > 1:
            self._tell("do", f"Now turn {words.TRIMMERS[leg.trimmer]}.")
        if self._last == 0:
            self._wish(0, "goal", "The goal's stop. The radio waits here for the carrier.")
        elif self._begins_off_dial():
            self._wish(0, "ahead", "The first stop that the dial reaches: it has to come here.")
        else:
            self._wish(0, "start", "Here the console should be heard.")

    def _begins_off_dial(self) -> bool:
        """Whether the carrier begins beyond the first rung, where no dial stop hears it."""
        begins_mhz = self.route.error.dial_mhz(self._here.from_mhz or 0.0)
        return abs(begins_mhz - self._dial(0)) > 1.5 * RUNG_KHZ / 1e3

    def _heard_at(self, rung: int) -> None:
        before = self._heard_rung
        if before is None or rung > before:
            behind = None if before is None else self.last_heard_mhz
            self._tell("good" if behind else "note", words.arrived(self._stands_mhz, behind))
        self._heard_rung, self.last_heard_mhz = rung, self._stands_mhz

    def _go_ahead(self) -> None:
        """The carrier is on this rung: the radio goes one further."""
        ahead = min(self._rung + 1, self._last)
        self._wish(ahead, self._stage_of(ahead), "The radio steps ahead.")
        self._tell("do", words.AT_GOAL if ahead == self._last else words.STEP_AHEAD)

    def _look_around(self, why: str) -> None:
        here, heard = self._rung, self._heard_rung
        heard = here if heard is None else heard
        order = dict.fromkeys(
            (heard, heard - 1, here + 1, heard - 2, heard - 3, here + 2, heard - 4)
        )
        low_mhz, high_mhz = self.radio.band_mhz
        self._looks = [r for r in order if r != here and low_mhz <= self._dial(r) <= high_mhz]
        self._tell("note", why)
        self._wish(self._looks.pop(0), "look", "Is it here?")

    def _found_at(self, rung: int) -> None:
        """The carrier was found by looking around: the order tells which way it runs."""
        before, now_mhz = self._heard_rung, self._stands_mhz
        if before is not None and rung < before:
            self._tell("warn", words.wrong_way(self.last_heard_mhz or self._dial(before), now_mhz))
        elif before is not None and rung == before:
            self._tell("note", f"It is still on {now_mhz:g} MHz. Turn on, the same way.")
        elif rung > self._last:
            self._tell("warn", "It has gone past the goal. Turn back, slowly.")
        else:
            self._tell("note", f"Heard on {now_mhz:g} MHz.")
        self._heard_rung, self.last_heard_mhz = rung, now_mhz
        ahead = min(max(rung + 1, 0), self._last)
        self._wish(ahead, self._stage_of(ahead), "Here it has to come next.")

    @abstractmethod
    def _next_side(self) -> None:
        """Go on with the stops round the goal."""

    @abstractmethod
    def _word(self, fast: Fast) -> str:
        """The big word, while no dial position is wanted."""


def apart(one_mhz: float, other_mhz: float) -> bool:
    """Whether two dial positions are not the same."""
    return abs(one_mhz - other_mhz) > SAME_MHZ
