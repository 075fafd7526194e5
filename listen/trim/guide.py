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

It knows nothing of devices, screens, files or clocks.  The stages before the goal are in
trim/climb.py, the goal's own in trim/goal.py, the roar in trim/listener.py.
"""

from collections.abc import Sequence

from listen.radio import Radio
from listen.trim import words
from listen.trim.climb import PATIENCE_S, SAME_MHZ, apart
from listen.trim.ear import LONGEST_S
from listen.trim.goal import AtGoal
from listen.trim.left import WITHIN_KHZ, Left, is_too_wide, next_sides, what_is_left
from listen.trim.meter import Fast
from listen.trim.pair import OPEN, WRONG, PictureSearch, Verdict
from listen.trim.route import Route
from listen.trim.said import Ask, Say, Weight

BESIDE_MHZ = 0.45  # a stop so near to the goal's is a step aside


class Guide(AtGoal):
    """Leads one console's sound carrier along a route.

    route       where from and where to
    radio       the receiver
    rate_hz     samples a second of what is heard
    patience_s  how long an empty rung is waited at before the radio is to look around
    open_mhz    dial stops where the band is thought to be open, the surest first
    still_s     at the goal, held and still so long, it is measured without a key; None: never
    turns_back  whether the radio can be set back to the open spot; not in a recording
    """

    def __init__(
        self,
        route: Route,
        radio: Radio,
        rate_hz: int,
        *,
        patience_s: float = PATIENCE_S,
        still_s: float | None = None,
        within_khz: float = WITHIN_KHZ,
        open_mhz: Sequence[float] = (),
        turns_back: bool = True,
    ) -> None:
        super().__init__(
            *(route, radio, rate_hz),
            patience_s=patience_s,
            open_mhz=open_mhz,
            turns_back=turns_back,
            still_s=still_s,
        )
        self.left: Left | None = None
        self.result = ""  # what is left, as a sentence
        self.moved = ""
        self.verdict: Verdict | None = None
        self._within_khz = within_khz
        self._was_wide = False
        self._search: PictureSearch | None = None

    @property
    def on_target(self) -> bool | None:
        """Whether the sound carrier is on the goal, and brought there by the right trimmer.

        None where it was not measured, or the interval straddles.
        """
        if self.left is None or self._buzzes:
            return None
        return False if self.verdict in WRONG else self.left.on_target

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
        if wanted is None or wanted.dial_mhz is None or apart(dial_mhz, wanted.dial_mhz):
            self._went_elsewhere(dial_mhz, wanted)

    def enter(self) -> None:
        """The person pressed a key while no dial position was wanted."""
        if self.ask is not None:
            return
        if self.stage == "goal":
            self._begin_sides()
        elif self.stage in ("start", "ahead"):
            self._look_around("You asked where it is.")

    def not_yet(self, dial_moves: bool) -> None:
        """The person is not done at the goal: nothing is measured there for a while.

        dial_moves  whether something else than the person is setting the dial meanwhile
        """
        if self.stage not in ("goal", "sides", "pair"):
            return
        goal_mhz = self._here.place.dial_mhz
        stands = self._ear.dial_mhz is not None and not apart(goal_mhz, self._ear.dial_mhz)
        self._tell("do", words.NOT_YET)
        self._rest.measured()
        self._rung, self.stage = self._last, "goal"
        if stands and not (dial_moves and self.ask is not None):
            self.dial_set(goal_mhz)  # a minute at the goal begins anew
        else:
            self.ask = Ask(goal_mhz, "Back on the goal's stop.")

    def _word(self, fast: Fast) -> str:
        """The big word, which follows the programme more slowly than the meter."""
        if self.stage == "done":
            return "DONE"
        if fast.silent:
            return "SILENT"
        if self.stage in ("ahead", "goal"):
            return self._ear.word(fast.t_s, at_goal=self.stage == "goal")
        return "LISTENING"

    # Where it is measured

    def _at_sides(self, now_s: float) -> None:
        if self._ear.heard_s >= LONGEST_S and self._keep_side():
            self._next_side()

    def _at_pair(self, now_s: float) -> None:
        assert self._search is not None
        if self._search.judged(self._ear, now_s):
            self._next_pair()

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

    # The sides

    def _keep_side(self) -> bool:
        """Keep what this stop gave; False where it is to be heard again."""
        if self._in_doubt(LONGEST_S):
            return False
        dial_mhz, quieting_db = self._ear.dial_mhz, self._measured_db()
        if quieting_db is None:
            return False
        if dial_mhz is not None:
            self._sides_db[dial_mhz] = quieting_db
        return True

    def _keep_goal(self) -> None:
        """Begin the sides with the goal itself, where it was held for long enough just now."""
        self._sides_db = {}
        held_since_s, dial_mhz = self._held_since_s, self._ear.dial_mhz
        if held_since_s is None or self._ear.now_s - held_since_s < LONGEST_S:
            return
        quieting_db = self._ear.measured_db()
        if quieting_db is not None and dial_mhz is not None:
            self._sides_db[dial_mhz] = quieting_db

    def _begin_sides(self) -> None:
        self.stage, self.left, self.verdict = "sides", None, None
        self.result = self.moved = ""
        self._was_wide = False
        self._keep_goal()
        self._tell("do", "Take the tool away: the radio goes one step either side.")
        self._next_side()

    def _next_side(self) -> None:
        place, route = self._here.place, self.route
        wanted = next_sides(place.dial_mhz, self._sides_db, self.radio, route.stations_mhz)
        if wanted is not None and wanted == self._ear.dial_mhz:
            self._ear.dial_set(wanted)  # it stands there: listen anew
        elif wanted is not None:
            self.ask = Ask(wanted, "How far is it off?")
        elif not is_too_wide(place.dial_mhz, self._sides_db, self.radio):
            self._judge_sides()
        elif self._was_wide or not self._turns_back:
            self._again("warn", words.too_wide(self._sides_db))
        else:
            self._was_wide = True
            self._doubt(words.too_wide(self._sides_db))

    def _judge_sides(self) -> None:
        """All stops were heard: what is left?"""
        place, route = self._here.place, self.route
        self.left = what_is_left(
            self._sides_db,
            self._here.to_mhz,
            self.radio,
            error=route.error.at(place.dial_mhz),
            within_khz=self._within_khz,
        )
        if self.left is None:
            self._again("warn", words.not_held(self._sides_db, place.dial_mhz))
            return
        self._result = self.left
        self.result = words.result(self.left, self._here)
        if not self.left.on_target:
            self._again("do", self.result)
            return
        if self._buzzes:
            self._again("warn", f"{self.result}  {words.OF_PICTURE}")
            return
        self._tell("good", self.result)
        if self._leg + 1 < len(route.legs):
            self._leg, self._order = self._leg + 1, []
            self._begin_leg()
        else:
            search = PictureSearch(self._here, route, self.left, self.radio, self._sides_db)
            self._search = search
            self._next_pair()

    def _again(self, kind: Weight, why: str) -> None:
        """Back to the goal's stop, where the hand goes on."""
        self._tell(kind, why)
        self._rest.measured()
        self._wish(self._last, "goal", "Back on the goal's stop, to turn the rest.")
        if self.ask is None:  # it stands there: what it holds is heard anew, as after a step
            self._ear.dial_set(self._ear.dial_mhz)
            self._held_since_s, self._kind_known = None, False

    # The picture

    def _next_pair(self) -> None:
        assert self._search is not None
        self.stage, wanted_mhz = "pair", self._search.wanted_mhz
        if wanted_mhz is not None:
            self.ask = Ask(wanted_mhz, self._search.why)
            return
        self.verdict = self._search.verdict
        self.moved = words.pair(self.verdict, self._search.spacing, self._here, self.route.goal)
        if self.verdict not in WRONG:
            self.stage = "done"
            self._tell("note" if self.verdict in OPEN else "good", self.moved)
            self._tell("good", words.DONE)
            return
        if self.verdict == "mirror":
            self.left = None  # it was the mirror's
        self._again("warn", self.moved)
