"""What a guide and a watcher share: an ear, the yardstick, sentences and wishes.

The roar of an open spot is the yardstick.  It is learned first, and again where it is in doubt.
What is not whole is no measure: a stop at which the input falls silent, or some sound was lost,
is heard again.  Silence is never taken for open band.

Conventions
-----------
Time is seconds of sound.  Dial positions are what the radio shows, MHz; None is an open spot.
`ask` is the dial position wanted at present.  What is led to is the heir's: it says what is done
with a reading (`_at`), with the yardstick (`_roar_known`) and which word is shown (`_word`).
"""

from abc import ABC, abstractmethod
from collections.abc import Sequence

from listen.trim.ear import ROAR_S, Ear
from listen.trim.left import Left
from listen.trim.meter import Fast, Samples
from listen.trim.said import Ask, Frame, Say, Stage, Weight

JUDGE_S = 1.0  # what is heard of a stop before it is judged
PIECE_S = 0.02  # longer blocks are taken apart, or they would be judged as of their end
TURNED_DB = 3.0  # so much quieter or noisier than before, the dial was turned, or the trimmer
UNJUDGED = ("roar", "pause", "done")  # stages in which no stop is judged
FREE = ("ahead", "goal")  # stages in which the hand turns: the meter goes on after a gap
OPEN_SPOT = "No station is there and the radio roars: the yardstick."
IS_OPEN = "That is the open band's roar."
RESTLESS = (
    "This roar is restless, as if the system took noise away: see listen check, or the meter "
    "shows less than there is."
)
NOT_OPEN = {
    "silent": "Nothing comes in: is the radio on, and its cable in the line-in?",
    "taken": "That is no open spot, something is received: turn to another.",
    "quiet": "That is no open spot, it is quiet there and does not roar: turn to another.",
    "clipped": "The roar is CLIPPING, its peaks are cut flat: turn the volume down, then hear it "
    "again.",
}
MUTES = (
    "No spot roars: the radio seems to mute between stations, and then nothing can be measured. "
    "Switch its muting off; on many sets the switch for FM stereo does that too."
)
MUTES_AFTER = 2  # spots without a sound of their own
SILENT = "Nothing comes in: is the radio on, and its cable in the line-in?  Waiting for sound."
LOST = "Some of the sound was lost on its way here: this stop is heard again."
LOST_FREE = "Some of the sound was lost on its way here. The meter goes on; what it shows is new."
LOSES = (
    "This machine loses sound again and again: close what else runs on it, or the meter cannot be "
    "trusted."
)
OFTEN = 3  # losses that are said
SAID_AGAIN_S = 10.0  # a loss while the hand turns is not said more often


class Listener(ABC):
    """Hears stop after stop.

    rate_hz   samples a second of what is heard
    open_mhz  dial stops where the band is thought to be open, the surest first
    """

    def __init__(self, rate_hz: int, open_mhz: Sequence[float] = ()) -> None:
        self.stage: Stage = "roar"
        self.ask: Ask | None = None
        self._ear = Ear(rate_hz)
        self._open_mhz = list(open_mhz)
        self._open_at_mhz: float | None = None  # the open spot asked for last
        self._quiet_spots = 0  # tried in vain
        self._silences = 0  # tries at this stop in which nothing came in
        self._result: Left | None = None  # of the reading at hand
        self._says: list[Say] = []
        self._losses, self._quiet_until_s = 0, 0.0
        self._asked: Ask | None = None  # the wish that the sound is followed for
        self._asked_db: float | None = None  # how quiet it was as it was made
        self._turned = False

    @property
    def sounds_turned(self) -> bool:
        """Whether the sound has changed since the dial was wanted elsewhere, as if it was set.

        An open spot may sound as what was heard before; its roar tells what it is.
        """
        return self.stage == "roar" or (self.ask is self._asked and self._turned)

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to do."""
        return self.stage == "done"

    def hear(self, samples: Samples) -> list[Frame]:
        """Take a block of sound, shape (n, channels), and give the readings it completes."""
        size = max(1, round(PIECE_S * self._ear.rate_hz))
        pieces = (samples[first : first + size] for first in range(0, len(samples), size))
        return [self._frame(fast) for piece in pieces for fast in self._ear.hear(piece)]

    def lost(self) -> None:
        """Some sound before the next block never arrived: what is heard now is heard anew."""
        now_s = self._ear.now_s
        idle = self.ask is not None or self.stage in ("pause", "done")
        again = not idle and self.stage not in FREE and self._ear.heard_s > 0
        self._ear.gap()
        if again:
            self._ear.dial_set(self._ear.dial_mhz)
        elif not idle:
            self._hear_on()
        if idle or not (again or now_s >= self._quiet_until_s):
            return
        self._quiet_until_s = now_s + SAID_AGAIN_S
        self._losses += 1
        self._tell("warn", LOST if again else LOST_FREE)
        if self._losses == OFTEN:
            self._tell("warn", LOSES)

    def _hear_on(self) -> None:  # noqa: B027 (a watch has nothing to do here)
        """After a gap the hand goes on; what was counted over time at this stop begins anew."""

    def _frame(self, fast: Fast) -> Frame:
        ear = self._ear
        ear.saw(fast)
        self._take(fast)
        self._follow(fast)
        word = "SET THE DIAL" if self.ask is not None else self._word(fast)
        figures = (ear.clarity(fast), ear.fast_db(fast))
        said, result = tuple(self._due()), self._result
        self._result = None
        return Frame(
            fast.t_s, ear.dial_mhz, self.stage, *figures, word, fast.clips, said, left=result
        )

    def _follow(self, fast: Fast) -> None:
        """Note whether the sound changes while the dial is wanted elsewhere."""
        if self.ask is None:
            return
        quiet_db = self._ear.word_db(fast.t_s)
        if self.ask is not self._asked:
            self._asked, self._asked_db, self._turned = self.ask, quiet_db, False
        elif fast.silent:  # a radio that mutes while it is tuned
            self._turned = True
        elif quiet_db is not None:
            self._asked_db = quiet_db if self._asked_db is None else self._asked_db
            self._turned |= abs(quiet_db - self._asked_db) >= TURNED_DB

    def _take(self, fast: Fast) -> None:
        """One reading, while the radio stands where it was wanted."""
        heard_s = self._ear.heard_s
        if self.ask is not None or heard_s < 0 or self.is_done:
            return
        if heard_s >= JUDGE_S:
            self._silences = 0
        if self.stage == "roar":
            if heard_s >= ROAR_S:
                self._learn(fast.t_s)
        elif fast.silent and heard_s > 0 and self.stage not in UNJUDGED:
            self._hear_again()
        else:
            self._at(fast.t_s)

    def _learn(self, now_s: float) -> None:
        found = self._ear.learn_roar(now_s)
        if found in NOT_OPEN:
            self._tell("warn", NOT_OPEN[found])
            self._quiet_spots += found in ("silent", "quiet")
            if self._quiet_spots >= MUTES_AFTER:
                self._tell("warn", MUTES)
            self._ask_open(again=found == "clipped")
            return
        self._quiet_spots = 0
        self._tell("note", IS_OPEN)
        if found == "restless":
            self._tell("warn", RESTLESS)
        self._roar_known()

    def _ask_open(self, *, again: bool = False, why: str = OPEN_SPOT) -> None:
        """Wish for an open spot: another one, or the last one again."""
        if not again:
            self._open_at_mhz = self._open_mhz.pop(0) if self._open_mhz else None
        self.ask = Ask(self._open_at_mhz, why)

    def _measured_db(self) -> float | None:
        """Quieting at this stop; None where nothing came in, and then it is heard again."""
        quieting_db = self._ear.measured_db()
        if quieting_db is None:
            self._hear_again()
        return quieting_db

    def _hear_again(self) -> None:
        """Nothing was measured here, since nothing came in: the stop begins anew.

        It is said at the second try in vain: some radios mute for long after a step.
        """
        self._silences += 1
        if self._silences == 2:
            self._tell("warn", SILENT)
        self._ear.dial_set(self._ear.dial_mhz)

    def _tell(self, kind: Weight, *texts: str) -> None:
        self._says += [Say(kind, text) for text in texts]

    def _due(self) -> list[Say]:
        says, self._says = self._says, []
        return says

    @abstractmethod
    def _at(self, now_s: float) -> None:
        """What the stage does with a reading that is no silence."""

    @abstractmethod
    def _roar_known(self) -> None:
        """The yardstick is learned."""

    @abstractmethod
    def _word(self, fast: Fast) -> str:
        """The big word, while no dial position is wanted."""
