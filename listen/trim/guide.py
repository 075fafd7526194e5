"""The guide as one machine: sound and dial positions in; words, wishes and a result out.

It leads through these stages, each leg's ladder in turn:

roar    the radio stands on an open spot: the yardstick
start   is the carrier where it was thought to be?
ahead   the radio stands one rung ahead of the carrier and waits for it to come
look    nothing came: where is it?  The order of what is heard tells which way it runs
goal    the carrier comes in at the last rung: warmer, colder, hold, passed
sides   one step either side: what is left, in kHz
pair    is the picture where it belongs?  That tells which trimmer moved
done    the result stands

Conventions
-----------
Time is seconds of sound.  Dial positions are what the radio shows, MHz; None is an open spot.
Quieting is dB below the roar of the open spot.  `ask` is the dial position wanted at present;
`dial_set` says where the radio stands, whether asked for or not.

It knows nothing of devices, screens, files or clocks.
"""

from collections.abc import Sequence

from listen.radio import Radio
from listen.trim import words
from listen.trim.ear import LONGEST_S, ROAR_S, Ear
from listen.trim.kinds import Kind
from listen.trim.left import WITHIN_KHZ, Left, next_sides, what_is_left
from listen.trim.meter import Fast, Samples
from listen.trim.pair import PictureSearch
from listen.trim.route import RUNG_KHZ, Leg, Route, rung_mhz
from listen.trim.said import Ask, Frame, Say, Stage, Weight

JUDGE_S = 1.0  # what is heard of a stop before it is judged
PIECE_S = 0.02  # longer blocks are taken apart, or they would be judged as of their end
SAME_MHZ = 0.012
BESIDE_MHZ = 0.45  # a stop so near to the goal's is a step aside
PATIENCE_S = 12.0
OPEN_SPOT = "An open spot, where no station is and it roars: the yardstick."
NOT_OPEN = {
    "silent": "Nothing comes in: is the radio on, and its cable in the line-in?",
    "taken": "That is no open spot, something is received: turn to another.",
}


class Guide:
    """Leads one console's sound carrier along a route.

    route       where from and where to
    radio       the receiver
    rate_hz     samples a second of what is heard
    patience_s  how long an empty rung is waited at before the radio is to look around
    open_mhz    dial stops where the band is thought to be open, the surest first
    done_s      at the goal, held so long, the sides are asked for without a key; None: never
    """

    def __init__(
        self,
        route: Route,
        radio: Radio,
        rate_hz: int,
        *,
        patience_s: float = PATIENCE_S,
        done_s: float | None = None,
        within_khz: float = WITHIN_KHZ,
        open_mhz: Sequence[float] = (),
    ) -> None:
        self.route, self.radio = route, radio
        self.stage: Stage = "roar"
        self.ask: Ask | None = None
        self.left: Left | None = None
        self.moved = ""
        self.last_heard_mhz: float | None = None
        self._patience_s, self._done_s, self._within_khz = patience_s, done_s, within_khz
        self._ear = Ear(rate_hz)
        self._open_mhz = list(open_mhz)
        self._leg = 0
        self._rung = 0  # where the radio stands or is wanted
        self._heard_rung: int | None = None  # where the carrier was last
        self._looks: list[int] = []
        self._empty_since_s = 0.0
        self._held_since_s: float | None = None
        self._order: list[Kind] = []  # what came by at the goal
        self._kind_known = False
        self._sides_db: dict[float, float] = {}
        self._search: PictureSearch | None = None
        self._says: list[Say] = []

    # What the outside tells

    def begin(self) -> list[Say]:
        """The opening sentences; the first wish is an open spot."""
        self._tell("note", *words.opening(self.route))
        self._ask_open()
        return self._due()

    def dial_set(self, dial_mhz: float | None) -> None:
        """The radio stands there now; None is an open spot."""
        wanted, self.ask = self.ask, None
        if self.stage == "goal":  # what was heard there serves the sides
            self._keep_goal()
        self._ear.dial_set(dial_mhz)
        self._empty_since_s = self._ear.now_s
        self._held_since_s, self._kind_known = None, False
        if self.stage in ("roar", "done") or dial_mhz is None:
            return
        if wanted is None or wanted.dial_mhz is None or _apart(dial_mhz, wanted.dial_mhz):
            self._went_elsewhere(dial_mhz, wanted)

    @property
    def carries_on_from_mhz(self) -> float | None:
        """Where the carrier was heard last, true MHz: from there a trim can go on."""
        if self.last_heard_mhz is None:
            return None
        return round(self.route.error.true_mhz(self.last_heard_mhz), 4)

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to do."""
        return self.stage == "done"

    def enter(self) -> None:
        """The person pressed a key while no dial position was wanted."""
        if self.ask is not None:
            return
        if self.stage == "goal":
            self._begin_sides()
        elif self.stage in ("start", "ahead"):
            self._look_around("You asked where it is.")

    def hear(self, samples: Samples) -> list[Frame]:
        """Take a block of sound, shape (n, channels), and give the readings it completes."""
        size = max(1, round(PIECE_S * self._ear.rate_hz))
        pieces = (samples[first : first + size] for first in range(0, len(samples), size))
        return [self._frame(fast) for piece in pieces for fast in self._ear.hear(piece)]

    def _frame(self, fast: Fast) -> Frame:
        self._ear.saw(fast)
        if self.ask is None and self._ear.heard_s >= 0:
            getattr(self, f"_at_{self.stage}")(fast.t_s)
        says = tuple(self._due())
        return Frame(
            fast.t_s,
            self._ear.dial_mhz,
            self.stage,
            self._ear.clarity(fast),
            self._ear.fast_db(fast),
            self._word(fast),
            fast.clips,
            says,
        )

    def _word(self, fast: Fast) -> str:
        """The big word, which follows the programme more slowly than the meter."""
        if self.ask is not None:
            return "SET THE DIAL"
        if self.stage == "done":
            return "DONE"
        if fast.silent:
            return "SILENT"
        if self.stage in ("ahead", "goal"):
            return self._ear.word(fast.t_s, at_goal=self.stage == "goal")
        return "LISTENING"

    # The stages, each called with every reading while no dial position is wanted

    def _at_roar(self, now_s: float) -> None:
        if self._ear.heard_s < ROAR_S:
            return
        found = self._ear.learn_roar(now_s)
        if found in ("good", "restless"):
            self._tell("note", "That is the open band's roar.")
            if found == "restless":
                self._tell("warn", words.RESTLESS)
            self._begin_leg()
        else:
            self._tell("warn", NOT_OPEN[found])
            self._ask_open()

    def _ask_open(self) -> None:
        self.ask = Ask(self._open_mhz.pop(0) if self._open_mhz else None, OPEN_SPOT)

    def _at_start(self, now_s: float) -> None:
        if self._ear.heard_s < JUDGE_S:
            return
        if self._ear.is_held(now_s):
            self._heard_at(self._rung)
            self._go_ahead()
        else:
            dial_mhz = self._dial(self._rung)
            self._look_around(f"Nothing is held on {dial_mhz:g} MHz, where it should be.")

    def _at_ahead(self, now_s: float) -> None:
        if self._ear.is_held(now_s):
            self._heard_at(self._rung)
            self._go_ahead()
        elif self._ear.is_stirring(now_s):
            self._empty_since_s = now_s
        elif now_s - self._empty_since_s > self._patience_s:
            self._look_around(words.nothing_here(self._patience_s, self._dial(self._rung)))

    def _at_look(self, now_s: float) -> None:
        if self._ear.heard_s < JUDGE_S:
            return
        if self._ear.is_held(now_s):
            self._found_at(self._rung)
        elif self._looks:
            self._wish(self._looks.pop(0), "look", "Is it here?")
        else:
            self._tell("warn", words.LOST)
            back = min(max(self._heard_rung or 0, 0), self._last)
            self._wish(back, self._stage_of(back), "It was heard here last.")

    def _at_goal(self, now_s: float) -> None:
        if self._ear.is_held(now_s):
            self._empty_since_s = now_s
            self._held_since_s = self._held_since_s or now_s
            held_s = now_s - self._held_since_s
            if held_s >= LONGEST_S and not self._kind_known:
                self._came()
            if self._done_s is not None and held_s >= self._done_s:
                self._begin_sides()
        elif self._ear.is_stirring(now_s):
            self._empty_since_s = now_s
        else:
            self._held_since_s, self._kind_known = None, False
            known = self._heard_rung is not None and self._last > 0
            if known and now_s - self._empty_since_s > self._patience_s:
                self._look_around(words.nothing_here(self._patience_s, self._dial(self._rung)))

    def _at_sides(self, now_s: float) -> None:
        if self._ear.heard_s >= LONGEST_S:
            self._keep_side()
            self._next_side()

    def _at_pair(self, now_s: float) -> None:
        assert self._search is not None
        if self._search.judged(self._ear, now_s):
            self._next_pair()

    def _at_done(self, now_s: float) -> None:
        """Nothing is left to do."""

    # The ladder

    @property
    def _here(self) -> Leg:
        return self.route.legs[self._leg]

    @property
    def _last(self) -> int:
        return len(self._here.rungs) - 1

    def _dial(self, rung: int) -> float:
        return rung_mhz(self._here, rung)

    def _stage_of(self, rung: int) -> Stage:
        return "goal" if rung >= self._last else "ahead"

    def _wish(self, rung: int, stage: Stage, why: str) -> None:
        """Ask for a rung, unless the radio stands there already."""
        self._rung, self.stage = rung, stage
        dial_mhz = self._dial(rung)
        if self._ear.dial_mhz is None or _apart(dial_mhz, self._ear.dial_mhz):
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
            behind = None if before is None else self._dial(before)
            self._tell("good" if behind else "note", words.arrived(self._dial(rung), behind))
        self._heard_rung, self.last_heard_mhz = rung, self._dial(rung)

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
        before = self._heard_rung
        if before is not None and rung < before:
            self._tell("warn", words.wrong_way(self._dial(before), self._dial(rung)))
        elif before is not None and rung == before:
            self._tell("note", f"It is still on {self._dial(rung):g} MHz. Turn on, the same way.")
        elif rung > self._last:
            self._tell("warn", "It has gone past the goal. Turn back, slowly.")
        else:
            self._tell("note", f"Heard on {self._dial(rung):g} MHz.")
        self._heard_rung, self.last_heard_mhz = rung, self._dial(rung)
        ahead = min(max(rung + 1, 0), self._last)
        self._wish(ahead, self._stage_of(ahead), "Here it has to come next.")

    def _went_elsewhere(self, dial_mhz: float, wanted: Ask | None) -> None:
        """The radio was set to a stop that was not asked for: make the best of it."""
        if self.stage == "pair":
            assert self._search is not None
            self.ask = None if self._search.set_to(dial_mhz) else wanted
            return
        away_mhz = abs(dial_mhz - self._here.place.dial_mhz)
        if self.stage in ("goal", "sides") and away_mhz < BESIDE_MHZ:
            self.stage = "goal" if away_mhz <= SAME_MHZ and self.stage == "goal" else "sides"
            return
        rungs = range(-2, self._last + 3)
        nearest = min(rungs, key=lambda rung: abs(self._dial(rung) - dial_mhz))
        if abs(self._dial(nearest) - dial_mhz) < BESIDE_MHZ:
            self._rung, self.stage = nearest, self._stage_of(nearest)
        else:
            self.ask = wanted  # nothing on the way is heard from there

    # The goal

    def _came(self) -> None:
        """Something is held at the goal: what is it?"""
        self._kind_known = True
        kind = self._ear.kind()
        handed_on = self._heard_rung is not None and self._last > 0
        self._heard_at(self._rung)
        if kind == "buzz" or not handed_on:
            text = words.came_by(kind, tuple(self._order), self._here, self.route.goal)
            self._tell("warn" if kind == "buzz" else "note", text)
        self._order.append(kind)

    def _keep_side(self) -> None:
        dial_mhz, quieting_db = self._ear.dial_mhz, self._ear.measured_db()
        if dial_mhz is not None:
            self._sides_db[dial_mhz] = quieting_db or 0.0

    def _keep_goal(self) -> None:
        """Begin the sides with the goal itself, where it was held for long enough just now."""
        self._sides_db = {}
        held_since_s = self._held_since_s
        if held_since_s is not None and self._ear.now_s - held_since_s >= LONGEST_S:
            self._keep_side()

    def _begin_sides(self) -> None:
        self.stage = "sides"
        self._keep_goal()
        self._tell("do", "Take the tool away: the radio goes one step either side.")
        self._next_side()

    def _next_side(self) -> None:
        place, route = self._here.place, self.route
        wanted = next_sides(place.dial_mhz, self._sides_db, self.radio, route.stations_mhz)
        if wanted is not None and wanted == self._ear.dial_mhz:
            self._ear.dial_set(wanted)  # it stands there: listen anew
            return
        if wanted is not None:
            self.ask = Ask(wanted, "How far is it off?")
            return
        self.left = what_is_left(
            self._sides_db,
            self._here.to_mhz,
            self.radio,
            error=route.error.at(place.dial_mhz),
            within_khz=self._within_khz,
        )
        self._tell("good" if self.left.on_target else "do", words.result(self.left, self._here))
        if not self.left.on_target:
            self._wish(self._last, "goal", "Back on the goal's stop, to turn the rest.")
        elif self._leg + 1 < len(route.legs):
            self._leg += 1
            self._begin_leg()
        else:
            self._search = PictureSearch(self._here, route, self.left, self.radio)
            self._next_pair()

    def _next_pair(self) -> None:
        assert self._search is not None
        self.stage, wanted_mhz = "pair", self._search.wanted_mhz
        if wanted_mhz is not None:
            self.ask = Ask(wanted_mhz, "Is the picture's buzz here?")
        else:
            self.stage, self.moved = "done", self._search.moved
            self._tell("note", self.moved)

    def _tell(self, kind: Weight, *texts: str) -> None:
        self._says += [Say(kind, text) for text in texts]

    def _due(self) -> list[Say]:
        says, self._says = self._says, []
        return says


def _apart(one_mhz: float, other_mhz: float) -> bool:
    return abs(one_mhz - other_mhz) > SAME_MHZ
