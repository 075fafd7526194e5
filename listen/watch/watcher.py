"""Asks for the same dial stops round after round, and says what the drift does.

roar   the radio stands on an open spot: the yardstick of the whole watch
round  the stops of a round, one after the other; the first goes further out on both sides
pause  until the next round is due
done   the drift has settled, or the time is up

Conventions
-----------
Time is what `clock` was told last, in seconds of any clock that goes forward, and seconds of sound
since; where nobody tells it, seconds of sound alone.  The rounds go up and down the dial in turn,
so that a round begins where the last one ended.  It is fed and asked as the trim's guide is.

The roar, and what is no measure: trim/listener.py.
"""

from collections.abc import Callable, Sequence

from listen.radio import Radio
from listen.trim.ear import LONGEST_S
from listen.trim.left import next_sides
from listen.trim.listener import Listener
from listen.trim.meter import Fast
from listen.trim.said import Ask, Say
from listen.watch.series import FLAT_KHZ_PER_MIN, Round, Series, Settling, cliffs, three_of

GONE = "The carrier is held at none of these stops any more: begin anew round where it is now."
BLIND = (
    "None of the stops stands on a cliff, so a drift of some {khz:.0f} kHz could pass unheard; a "
    "finer dial step (--step-khz) would hear it."
)
CLIPS = (
    "CLIPPING: the line-in is overdriven at this stop, and its drift may be misread. Begin anew "
    "with the volume turned down."
)
TIME_UP = "The time is up."
HALF_ROUND = "The time is up; the round under way is left out."


class Watcher(Listener):
    """Watches one carrier.

    centre_mhz    the dial stop nearest to it
    every_s       from the beginning of one round to that of the next
    until_s       when to stop in any case; None: never
    open_mhz      dial stops where the band is thought to be open, the surest first
    stations_mhz  dial stops that hear stations
    on_round      called with every round, and what the rounds so far say
    """

    def __init__(
        self,
        centre_mhz: float,
        series: Series,
        radio: Radio,
        rate_hz: int,
        *,
        every_s: float,
        until_s: float | None = None,
        open_mhz: Sequence[float] = (),
        stations_mhz: tuple[float, ...] = (),
        on_round: Callable[[Round, Settling | None], None] = lambda one, settling: None,
    ) -> None:
        super().__init__(rate_hz, open_mhz)
        self.series = series
        self.stops: tuple[float, ...] = ()
        self._centre_mhz, self._radio, self._stations_mhz = centre_mhz, radio, stations_mhz
        self._every_s, self._until_s, self._on_round = every_s, until_s, on_round
        self._heard_db: dict[float, float] = {}
        self._times_s: dict[float, float] = {}  # when each of them was heard
        self._zero_s: float | None = None  # of the first round
        self._round_s = 0.0  # when this round began
        self._clock_zero_s: float | None = None
        self._ahead_s = 0.0  # of the seconds of sound
        self._said_clips = False

    def begin(self) -> list[Say]:
        """The opening sentences; the first wish is an open spot."""
        self._tell(
            "note",
            "The console has just been switched on?  Leave the radio's volume and the cable as "
            "they are until the end: each round is held against the first.",
        )
        self._ask_open()
        return self._due()

    def dial_set(self, dial_mhz: float | None) -> None:
        """The radio stands there now; None is an open spot."""
        self.ask = None
        self._ear.dial_set(dial_mhz)

    def clock(self, at_s: float) -> None:
        """Tell the time at which the sound that comes next begins or ends, always the same."""
        if self._clock_zero_s is None:
            self._clock_zero_s = at_s - self._ear.now_s
        self._ahead_s = at_s - self._clock_zero_s - self._ear.now_s

    def enter(self) -> None:
        """A key: the next round begins at once."""
        if self.stage == "pause" and self.ask is None:
            self._begin_round()

    def _take(self, fast: Fast) -> None:
        now_s = fast.t_s + self._ahead_s
        if self._until_s is not None and now_s >= self._until_s and not self.is_done:
            self._tell("note", HALF_ROUND if self.stage == "round" else TIME_UP)
            self.stage, self.ask = "done", None
        elif self.stage == "pause" and now_s - self._round_s >= self._every_s:
            self._begin_round()
        else:
            super()._take(fast)

    def _at(self, now_s: float) -> None:
        if self.stage == "round" and self._ear.heard_s >= LONGEST_S:
            self._keep()

    def _word(self, fast: Fast) -> str:
        word = {"pause": "WAIT", "done": "DONE"}.get(self.stage, "LISTENING")
        return "SILENT" if fast.silent else word

    def _roar_known(self) -> None:
        self._begin_round()

    def _begin_round(self) -> None:
        self.stage, self._heard_db, self._times_s = "round", {}, {}
        self._round_s = self._now_s
        self._next()

    @property
    def _now_s(self) -> float:
        return self._ear.now_s + self._ahead_s

    def _keep(self) -> None:
        dial_mhz, quieting_db = self._ear.dial_mhz, self._measured_db()
        if quieting_db is None:
            return
        if not self._said_clips and self._ear.is_clipped():
            self._said_clips = True
            self._tell("warn", CLIPS)
        if dial_mhz is not None:
            self._heard_db[dial_mhz] = quieting_db
            self._times_s[dial_mhz] = self._now_s - LONGEST_S / 2
        self._next()

    def _wanted(self) -> float | None:
        """The next stop of this round; None where it is complete."""
        if not self.series.rounds:
            return next_sides(self._centre_mhz, self._heard_db, self._radio, self._stations_mhz)
        down = len(self.series.rounds) % 2 == 1
        order = self.stops[::-1] if down else self.stops
        return next((mhz for mhz in order if mhz not in self._heard_db), None)

    def _next(self) -> None:
        wanted = self._wanted()
        if wanted is None:
            self._complete()
        elif wanted == self._ear.dial_mhz:
            self._ear.dial_set(wanted)
        else:
            self.ask = Ask(wanted, f"Round {len(self.series.rounds) + 1}.")

    def _complete(self) -> None:
        # A round's time is the mean of its stops': whoever turns the dial may take a while.
        middle_s = sum(self._times_s.values()) / len(self._times_s)
        first = self._zero_s is None
        self._zero_s = middle_s if self._zero_s is None else self._zero_s
        one = self.series.add((middle_s - self._zero_s) / 60, self._heard_db)
        settling = self.series.settling()
        self.stage = "pause"
        self._tell("warn" if one.lost else "note", GONE if one.lost else round_words(one))
        if first:
            self.stops = three_of(self._centre_mhz, self._heard_db)
            shown = ", ".join(f"{mhz:g}" for mhz in self.stops)
            self._tell("note", f"From now on these stops, up and down in turn: {shown} MHz.")
            if not (one.on_cliff and set(self.stops) & set(cliffs(self._heard_db))):
                self._tell("warn", blind_words(one))
        self._on_round(one, settling)
        if settling is not None and settling.settled:
            self.stage = "done"
            self._tell("good", settled_words(settling))
        elif one.lost:
            self.stage = "done"


def round_words(one: Round) -> str:
    """A round as a sentence."""
    low, high = one.offset_interval_95_khz
    place = f"the carrier is on {one.sound_mhz:.3f} MHz"
    if one.minutes == 0:
        return f"First round: {place}. This is the zero."
    return (
        f"{one.minutes:.1f} min: {one.offset_khz:+.0f} kHz since the first round "
        f"(95 %: {low:+.0f} to {high:+.0f}); {place}."
    )


def blind_words(one: Round) -> str:
    """That a round stands on no cliff, and how far a drift would stay unheard."""
    low_mhz, high_mhz = one.interval_95_mhz
    return BLIND.format(khz=1e3 * (high_mhz - low_mhz) / 2)


def settled_words(settling: Settling) -> str:
    """That it has settled, and what that rests on."""
    low, high = settling.interval_95
    return (
        f"Settled: since minute {settling.since_min:.0f} it drifts by {settling.khz_per_min:+.1f} "
        f"kHz a minute (95 %: {low:+.1f} to {high:+.1f}), surely less than {FLAT_KHZ_PER_MIN:g}."
    )
