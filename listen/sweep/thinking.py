"""A planner that chooses each stop to settle the question soonest, from all that was heard.

In this order, the first that has a stop to ask for:

1. a recording of which nothing could be told is taken once more;
2. where nothing but carriers was heard, a stop of open band: all hiss is measured against it;
3. a carrier that sounds like a console is followed (leads.py) up to the switch; once the
   switch has proved it and nothing would narrow its place, the walk is over;
4. with a plan, on a scale of which it is not known how far it is off: known stations near the
   plan's channels;
5. the stops beside anything undecided or half heard, and the sound above a picture's buzz;
6. the next stop of the search (search.py), upward;
7. at the end of the search, the switch where it settles most.

Where a channel's sound is on the dial is told by the plan and, where stations of known frequency
or the radio's profile tell that the dial is off, by the dial's error there.

It keeps nothing between two questions: all follows from the stops done with and from what
was heard at them, so that a walk goes on from its folder.  A stop left out counts as done with.
"""

from collections.abc import Callable, Sequence

from listen.sweep.leads import (
    MOST_OFF_CHECKS,
    Nominal,
    above_picture,
    beside,
    beside_edge,
    bracket,
    finer,
    is_near_sound,
    its_picture,
    known_station,
    not_its_mirror,
    off_check,
    on_again,
    when_it_plays,
)
from listen.sweep.now import NEAR_MHZ, Now
from listen.sweep.outlook import Carrier, Outlook
from listen.sweep.reasons import OFF_AGAIN, OFF_FIRST, ONCE_MORE, ROAR, scale_words, search_words
from listen.sweep.search import Pass, around, nearest, passes
from listen.sweep.stops import heard_channels, reason_for
from listen.sweep.walk import Ask, Visited, key

LIKELY = 0.2  # a carrier as probable as this is followed at once
LIKELY_AT_HOME = 0.03  # where the plan that was named has a sound carrier
WORTH_THE_SWITCH = 0.5
# A walk longer than this is not made longer to place its picture: with a plan, and without.
SHORT_WALK, LONGER_WALK = 12, 30
ROAR_AFTER = (2, 4, 8)  # stops without any roar after which one is looked for
ROAR_CLEAR_MHZ = 0.6  # it is looked for this far from whatever was heard
SILENT_TWICE = 2  # so many silent stops are heard again; then it may be the radio's way
DIAL_OFF_MHZ = 0.1  # by less a channel is not looked for elsewhere: its stops reach further
STATIONS_SOUGHT = 2  # the two ends of a line tell a scale
SCALE_OFF_KHZ = 400.0  # known stations settle a scale that is off by no more
MANY_HELD = 6  # a carrier with more stops than this is known well enough


class ThinkingPlanner:
    """Chooses each stop in view of what was heard.

    grid     every position of the dial, rising, MHz
    look     what was heard so far, weighed; asked once a stop, and only if there is any
    plans    channel plans whose sound carriers are looked for; None: all, then the whole band
    at_most  stops after which the walk is over in any case, off checks counted; None: twice
             the dial's positions
    """

    def __init__(
        self,
        grid: Sequence[float],
        look: Callable[[], Outlook],
        plans: Sequence[str] | None = None,
        at_most: int | None = None,
    ) -> None:
        self._grid = tuple(grid)
        self._look = look
        self._plans = tuple(plans) if plans else None
        self._at_most = at_most or 2 * len(self._grid)
        self._known = heard_channels(self._plans)
        self._channels: tuple[Nominal, ...] = ()
        self._passes: tuple[Pass, ...] = ()
        self._go_by(lambda true_mhz: true_mhz)

    def next_stop(self, so_far: Sequence[Visited]) -> Ask | None:
        """The stop that settles most; None where the question is settled, or nothing is left."""
        if len(so_far) >= self._at_most:
            return None
        if not any(visit.kept for visit in so_far):
            return self._search(tuple(so_far))
        now = Now(self._grid, tuple(so_far), self._look())
        self._go_by(now.outlook.shown_mhz)
        roar = now.outlook.roar_heard
        ask = _once_more(now) or self._roar(now)
        if ask is not None:
            return ask
        ask = self._follow_leads(now, first=True)
        if ask is not None or self._is_settled(now):
            return ask
        return (
            self._known_station(now)
            or self._undecided(now)
            or (above_picture(now, self._channels, self._plans is None) if roar else None)
            or self._search(now.so_far)
            or self._follow_leads(now, first=False)
            or self._roar(now, clear=True)
            or self._last_checks(now)
        )

    def _go_by(self, shown_mhz: Callable[[float], float]) -> None:
        """Look for the channels where the dial shows them.

        A dial's error changes a little with each station heard: it is rounded, so that what was
        listened to is not looked for again beside it, and a true dial stays one.
        """
        off_mhz = [
            DIAL_OFF_MHZ * round((shown_mhz(c.sound_mhz) - c.sound_mhz) / DIAL_OFF_MHZ)
            for c in self._known
        ]
        channels = tuple(map(Nominal.of, self._known, off_mhz))
        if channels != self._channels:
            self._channels = channels
            sounds_mhz = [c.sound_mhz for c in channels]
            self._passes = passes(self._grid, sounds_mhz, whole=self._plans is None)

    def _follow_leads(self, now: Now, first: bool) -> Ask | None:
        """What is worth hearing of the leads; first: of those where the plan has a sound.

        Once the switch has proved one, no other is followed: a modulator's picture and mirror
        come and go with the switch as its sound does.
        """
        proved = [c for c in now.outlook.carriers if c.switch > 0]
        for carrier in proved or now.outlook.carriers:
            at_home = self._plans is None or is_near_sound(carrier.centre_mhz, self._channels)
            if at_home is first and self._is_lead(carrier):
                ask = self._follow(now, carrier)
                if ask is not None:
                    return ask
        return None

    def _is_lead(self, carrier: Carrier) -> bool:
        """Whether a carrier is likely enough to be followed at once."""
        if carrier.switch < 0 or carrier.sounds_like == "station":
            return False
        at_home = is_near_sound(carrier.centre_mhz, self._channels)
        if carrier.sounds_like == "picture" and not at_home:
            return False
        expected = self._plans is not None and at_home
        return carrier.probability >= (LIKELY_AT_HOME if expected else LIKELY)

    def _follow(self, now: Now, carrier: Carrier) -> Ask | None:
        """What is worth hearing of a lead."""
        ask = (
            on_again(now)
            or beside(now, carrier, console=True)
            or finer(now, carrier)
            or bracket(now, carrier)
            or self._roar(now, clear=True)
            or not_its_mirror(now, carrier, self._channels)
        )
        if ask is None and len(now.so_far) < (SHORT_WALK if self._plans else LONGER_WALK):
            ask = its_picture(now, carrier, self._channels) or known_station(now, carrier)
        if ask is None and carrier.sounds_like in ("bare", "picture"):
            ask = when_it_plays(now, carrier)
        expected = self._plans is not None and carrier.probability >= LIKELY_AT_HOME
        if ask is None and (carrier.probability >= WORTH_THE_SWITCH or expected):
            ask = off_check(now, carrier)
        return ask

    def _is_settled(self, now: Now) -> bool:
        """Found and proved; without a switch, found and every channel listened to."""
        if not now.outlook.found:
            return False
        if now.outlook.carriers[0].switch > 0:
            return True
        listened = all(
            now.is_done(stop)
            for each in self._passes
            if each.why in ("channel", "drifted")
            for stop in each.stops
        )
        return not now.switch_works and listened

    def _known_station(self, now: Now) -> Ask | None:
        """A stop round a station of known frequency, where the scale may be off by too much.

        Without a plan the whole band is walked, and stations are met anyway.
        """
        known_mhz = now.outlook.known_mhz
        ends_mhz = now.grid[0], now.grid[-1]
        sounds_mhz = [
            c.true_mhz
            for c in self._channels
            if ends_mhz[0] <= c.true_mhz <= ends_mhz[1] and now.outlook.is_open_at(c.true_mhz)
        ]
        if not self._plans or not known_mhz or not sounds_mhz:
            return None
        near = sorted(known_mhz, key=lambda mhz: min(abs(mhz - c) for c in sounds_mhz))
        for station_mhz in near[:STATIONS_SOUGHT]:
            for stop in around(now.grid, station_mhz, SCALE_OFF_KHZ):
                if not now.is_done(stop, NEAR_MHZ - 0.005):
                    return Ask(stop, "on", scale_words(station_mhz))
        return None

    def _undecided(self, now: Now) -> Ask | None:
        """The stops beside what is neither a console nor a station yet."""
        for carrier in now.outlook.carriers:
            open_question = carrier.sounds_like in ("console", "bare", "unclear")
            if open_question and carrier.switch == 0 and len(carrier.held_mhz) < MANY_HELD:
                ask = beside(now, carrier, console=False)
                if ask is not None:
                    return ask
        return beside_edge(now)

    def _search(self, so_far: tuple[Visited, ...]) -> Ask | None:
        """The next stop of the passes, upward from where the dial stands."""
        done = {key(visit.dial_mhz) for visit in so_far if visit.console == "on"}
        dial_mhz = so_far[-1].dial_mhz if so_far else 0.0
        for each in self._passes:
            free = [stop for stop in each.stops if key(stop) not in done]
            if free:
                stop = min((mhz for mhz in free if mhz > dial_mhz), default=free[0])
                near = min(self._channels, key=lambda c: abs(c.sound_mhz - stop))
                words = search_words(each.why, reason_for(stop - near.off_mhz, self._plans))
                return Ask(stop, "on", words)
        return None

    def _roar(self, now: Now, clear: bool = False) -> Ask | None:
        """A stop of open band, where none was heard yet.

        clear  where none was heard clear of all carriers: beside one a radio roars louder, and
               then everything seems quieter than it is
        """
        stops = now.outlook.stops
        missing = not now.outlook.roar_heard and len(stops) in ROAR_AFTER
        if clear and len(stops) <= ROAR_AFTER[-1]:
            beside = [mhz for mhz, word in stops if word in ("held", "edge")]
            missing = not any(
                word in ("open", "muted")
                and all(abs(mhz - one) >= ROAR_CLEAR_MHZ for one in beside)
                for mhz, word in stops
            )
        if not missing:
            return None
        taken = [mhz for mhz, word in now.outlook.stops if word != "open"]
        taken += [c.sound_mhz for c in self._channels] if self._plans else []
        free = [
            mhz
            for mhz in now.grid
            if not now.is_done(mhz) and all(abs(mhz - one) >= ROAR_CLEAR_MHZ for one in taken)
        ]
        return Ask(nearest(free, now.dial_mhz), "on", ROAR) if free else None

    def _last_checks(self, now: Now) -> Ask | None:
        """The switch, where it settles most."""
        dial_mhz = now.outlook.switch_at_mhz
        checks = now.done("off")
        if dial_mhz is None or not now.switch_works or len(checks) >= MOST_OFF_CHECKS:
            return None
        if key(dial_mhz) in {key(mhz) for mhz in checks}:
            return None
        return Ask(dial_mhz, "off", OFF_AGAIN if checks else OFF_FIRST)


def _once_more(now: Now) -> Ask | None:
    """The last stop again, where nothing could be told of it and it was the first try."""
    last = now.so_far[-1]
    if last.console != "on" or not last.kept:
        return None
    word = now.outlook.stops[-1][1]
    tries = sum(key(mhz) == key(last.dial_mhz) for mhz in now.done())
    silent = {key(mhz) for mhz, heard in now.outlook.stops if heard == "silent"}
    again = word == "spoiled" or (word == "silent" and len(silent) <= SILENT_TWICE)
    return Ask(last.dial_mhz, "on", ONCE_MORE) if again and tries == 1 else None
