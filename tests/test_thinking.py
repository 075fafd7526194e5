"""The planner that thinks: which stop it asks for next, why, and that it ends.

What was heard is made up here, without any sound: a carrier is held at the stops within 120 kHz
of it and half heard to 160.  Over the model bench it is tried at the end.
"""

from dataclasses import dataclass, field
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listen.analysis.measures import measure
from listen.analysis.outlook import outlook
from listen.radio import Radio
from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench
from listen.simulate.hands import Hands
from listen.sweep import Ask, ThinkingPlanner, Visited, dial_stops, walk
from listen.sweep.leads import MOST_OFF_CHECKS, STALE_STOPS
from listen.sweep.reasons import OFF_ELSEWHERE, OFF_FIRST, ON_AGAIN, ONCE_MORE, ROAR
from listen.sweep.search import passes
from listen.sweep.stops import heard_channels

GRID = dial_stops(Radio(), 200, every=True)
FINE = dial_stops(Radio(), 100, every=True)


@dataclass(frozen=True)
class Heard:
    """A carrier that was heard, as a planner is told of it."""

    centre_mhz: float
    held_mhz: tuple[float, ...]
    sounds_like: str
    probability: float
    switch: int = 0
    spread_khz: float = 20.0
    worth: tuple[float, ...] = ()

    def spread_with_khz(self, dial_mhz):
        return 8.0 if dial_mhz in self.worth else 19.5


@dataclass
class Made:
    """All that was heard, made up from where the carriers are."""

    found: bool
    roar_heard: bool
    stops: tuple[tuple[float, str], ...]
    carriers: tuple[Heard, ...]
    switch_at_mhz: float | None = None
    off_mhz: float = 0.0
    known_mhz: tuple[float, ...] = ()
    told: bool = True

    def shown_mhz(self, true_mhz):
        return true_mhz + self.off_mhz

    def is_open_at(self, true_mhz):
        return not self.told


@dataclass
class Dial:
    """A dial with carriers on it, walked by a planner that is told what it heard so far.

    carriers  place in MHz, to what it sounds like
    console   the place of the one that the switch stops
    """

    carriers: dict[float, str]
    console: float | None = None
    silent: tuple[float, ...] = ()
    spoiled: tuple[float, ...] = ()
    worth: tuple[float, ...] = ()
    beneath: tuple[float, ...] = ()  # stops where the switch tells nothing: another is beneath
    left_out: tuple[str, ...] = ()  # switches that nobody turns
    known: tuple[float, ...] = ()  # stations of known frequency
    off_mhz: float = 0.0  # what the dial is known to show too much, once a station was heard
    kept: list[tuple[float, str]] = field(default_factory=list)
    asked: list[Ask] = field(default_factory=list)

    def look(self):
        words, held = [], {}
        for mhz, switch in self.kept:
            place = min(self.carriers, key=lambda c: abs(c - mhz), default=0.0)
            away_khz = 1e3 * abs(place - mhz)
            word = "held" if away_khz <= 120 else "edge" if away_khz <= 160 else "open"
            word = "silent" if mhz in self.silent else word
            word = "spoiled" if mhz in self.spoiled else word
            if switch == "on":
                words.append((mhz, word))
                if word == "held":
                    held.setdefault(place, set()).add(mhz)
        off = {mhz for mhz, switch in self.kept if switch == "off"}
        heard = []
        for place, stops in held.items():
            checked = bool(stops & off - set(self.beneath))
            switch = (1 if place == self.console else -1) if checked else 0
            sounds = self.carriers[place]
            likely = {"console": 0.95, "unclear": 0.1}.get(sounds, 0.01)
            likely = {1: 0.999, -1: 0.0, 0: likely}[switch]
            heard.append(
                Heard(place, tuple(sorted(stops)), sounds, likely, switch, worth=self.worth)
            )
        heard.sort(key=lambda one: -one.probability)
        return Made(
            bool(heard) and heard[0].probability > 0.9,
            any(word == "open" for _, word in words),
            tuple(words),
            tuple(heard),
            next((min(h.held_mhz) for h in heard if h.switch == 0), None),
            self.off_mhz if any(h.sounds_like == "station" for h in heard) else 0.0,
            self.known,
            any(h.sounds_like == "station" for h in heard),
        )

    def walk(self, plans=None, grid=GRID, so_far=(), **how):
        self.kept = [(v.dial_mhz, v.console) for v in so_far if v.kept]
        planner = ThinkingPlanner(grid, self.look, plans, **how)

        def tune(ask):
            self.asked.append(ask)
            assert len(self.asked) < 500, "it goes on for ever"
            return "skip" if ask.console in self.left_out else "go"

        return walk(
            planner, tune, lambda ask: ask, lambda ask, _: self.kept.append(key(ask)), so_far
        )

    @property
    def on(self):
        return [ask.dial_mhz for ask in self.asked if ask.console == "on"]

    @property
    def off(self):
        return [ask.dial_mhz for ask in self.asked if ask.console == "off"]


def key(ask):
    return ask.dial_mhz, ask.console


def test_the_search_begins_where_the_plan_s_channels_have_their_sound_and_goes_upward():
    """Australia's 3, 4 and 5: 91.75, 100.75 and 107.75 MHz."""
    dial = Dial({})
    dial.walk(["au-air"])
    assert dial.on[:3] == [91.7, 100.7, 107.7]
    assert dial.on[3:6] == [107.9, 91.9, 100.9]  # upward from where the dial stands
    assert dial.on[6:] == [107.5, 91.5, 100.5]
    assert dial.asked[0].why == "au-air:3 would have the sound on 91.75 MHz."


def test_once_a_station_tells_how_far_the_dial_is_off_the_channels_are_looked_for_there():
    """Australia's 3, 4 and 5, 0.4 MHz too high: 92.15, 101.15 and, past the dial's end, 108.15."""
    dial = Dial({91.8: "station", 101.2: "console"}, console=101.2, off_mhz=0.42)
    dial.walk(["au-air"])
    assert dial.on[:3] == [91.7, 92.1, 101.1]  # a true dial's: 91.7, 100.7
    assert dial.asked[2].why == "au-air:4 would have the sound on 100.75 MHz."
    assert dial.off
    little = Dial({91.8: "station"}, off_mhz=0.04)  # a true dial's learned error moves nothing
    little.walk(["au-air"])
    plain = Dial({91.8: "station"})
    plain.walk(["au-air"])
    assert little.on == plain.on


def test_a_known_station_near_the_channels_is_looked_for_on_a_scale_that_may_be_off():
    """A station on 92.5 that the scale shows at 92.9; the other, on 96, is further from them."""
    dial = Dial({92.9: "station", 101.2: "console"}, console=101.2, off_mhz=0.4, known=(96.0, 92.5))
    dial.walk(["au-air"])
    sought = [ask for ask in dial.asked if "how far it is off" in ask.why]
    # One stop nearest to it, the others 200 kHz apart: as soon as it is held, no more are made.
    assert [ask.dial_mhz for ask in sought] == [92.5, 92.7, 92.3, 92.1, 92.9]
    assert sought[0].why == "Where the scale shows the station on 92.5 tells how far it is off."
    assert 101.1 in dial.on[: len(sought) + 3]
    whole = Dial({92.9: "station"}, known=(92.5,))
    whole.walk()  # with no plan the whole band is heard anyway
    assert not any("how far it is off" in ask.why for ask in whole.asked)
    in_vain = Dial({}, known=(92.5, 96.0, 104.0))
    in_vain.walk(["au-air"])
    assert sum("how far it is off" in ask.why for ask in in_vain.asked) <= 10  # two stations


def test_each_pass_goes_upward_and_together_they_leave_no_gap():
    for grid in (GRID, FINE):
        stops = []
        for each in passes(grid, [c.sound_mhz for c in heard_channels()], whole=True):
            assert list(each.stops) == sorted(each.stops)
            stops += each.stops
        assert len(set(stops)) == len(stops)
        stops.sort()
        # A carrier of 9 dB in the narrowest radio is held to some 80 kHz on either side
        # (docs/carrier-fit.md): a stop within 150 kHz hears its edge at least.
        assert max(b - a for a, b in pairwise(stops)) < 0.301
        assert stops[0] - grid[0] < 0.15
        assert grid[-1] - stops[-1] < 0.15


def test_a_console_on_a_known_plan_is_followed_at_once_proved_and_that_is_all():
    dial = Dial({100.8: "console"}, console=100.8)
    done = dial.walk(["au-air"])
    assert dial.on[:5] == [91.7, 100.7, 100.9, 101.1, 100.5]  # its stops, until it fades
    assert dial.off in ([100.7], [100.9])
    assert done[-1].console == "off"
    assert dial.asked[-1].why == OFF_FIRST
    assert len(done) <= 14
    assert 107.7 not in dial.on


def test_the_picture_is_looked_for_one_spacing_below_and_above_the_mirror():
    """Australia's channels have 5.5 MHz between picture and sound (system B)."""
    dial = Dial({100.8: "console", 95.3: "picture"}, console=100.8)
    dial.walk(["au-air"])
    words = {ask.dial_mhz: ask.why for ask in dial.asked}
    assert "its picture buzzes near here" in words[95.3]
    # 89.75 is where the mirror of channel 4 would stand, its picture 5.5 MHz above.
    dial = Dial({89.75: "console", 95.25: "picture", 100.75: "console"}, console=100.75)
    dial.walk()
    words = {ask.dial_mhz: ask.why for ask in dial.asked}
    assert "may be the mirror of a sound on 100.75" in words[95.3]
    assert 100.7 in dial.on


def test_where_a_picture_is_heard_its_sound_is_looked_for_above():
    dial = Dial({91.2: "picture", 95.7: "console"}, console=95.7)
    dial.walk(grid=tuple(mhz for mhz in GRID if mhz < 96.1))
    assert any(ask.why.startswith("A picture buzzes at 91.20") for ask in dial.asked) or (
        95.7 in dial.on[:8]
    )


def test_the_stop_that_tells_most_is_asked_for_and_no_other():
    dial = Dial({100.8: "console"}, console=100.8, worth=(100.6,))
    dial.walk(["au-air"], grid=FINE)
    why = {ask.dial_mhz: ask.why for ask in dial.asked}
    assert why[100.6] == "This stop tells most of where it stands: to ±16 kHz or so, from ±40."
    assert len(dial.asked) <= 14


def test_a_station_that_sounds_like_a_console_is_cleared_and_the_search_goes_on():
    dial = Dial({91.8: "console", 107.7: "console"}, console=107.7)
    dial.walk(["au-air"])
    assert dial.off[0] in (91.7, 91.9)
    assert dial.off[1] == 107.7
    assert dial.asked[-1].why.endswith("This is the next likeliest.")


def test_where_a_neighbour_lies_beneath_the_switch_is_used_once_more_further_away():
    dial = Dial({100.8: "console", 100.45: "station"}, console=100.8, beneath=(100.7,))
    dial.walk(["au-air"])
    assert dial.off == [100.7, 100.9]
    assert dial.asked[-1].why == OFF_ELSEWHERE


def test_without_any_console_it_ends_at_the_end_of_the_plan_or_of_the_band():
    dial = Dial({91.8: "station"})
    dial.walk(["au-air"])
    assert len(dial.on) == 9
    dial = Dial({91.8: "station"})
    dial.walk()
    assert len(set(dial.on)) == len(dial.on) == len(GRID)
    assert dial.off == [91.7]  # where the switch would settle most


def test_a_dial_of_one_position_is_walked_too():
    dial = Dial({87.75: "console", 83.25: "picture"}, console=87.75)
    dial.walk(["us-air"], grid=(87.7,))
    assert [(ask.dial_mhz, ask.console) for ask in dial.asked] == [(87.7, "on"), (87.7, "off")]


def test_a_cliff_is_bracketed_by_the_dial_s_own_steps():
    """Held to 120 kHz, half heard to 160: on a fine dial the steps between are asked for."""
    dial = Dial({100.73: "console"}, console=100.73)
    dial.walk(["au-air"], grid=FINE)
    held = [mhz for mhz in FINE if abs(mhz - 100.73) <= 0.12]
    assert set(held) <= set(dial.on)
    beside = {round(held[0] - 0.1, 4), round(held[-1] + 0.1, 4)}
    assert beside <= set(dial.on)


def test_an_upper_limit_of_stops_holds():
    dial = Dial({91.8: "station"})
    assert len(dial.walk(at_most=20)) == 20


def test_what_nobody_can_switch_is_left_out_once_and_every_channel_is_listened_to():
    dial = Dial({91.8: "console"}, left_out=("off",))
    done = dial.walk(["au-air"])
    assert len(dial.off) == 1
    assert not done[[v.console for v in done].index("off")].kept
    assert {91.7, 91.9, 91.5, 100.7, 107.7, 107.9, 107.5} <= set(dial.on)


def test_a_spoiled_stop_is_taken_once_more_and_a_muting_radio_is_left_to_mute():
    dial = Dial({}, spoiled=(100.7,))
    dial.walk(["au-air"])
    assert dial.on[:4] == [91.7, 100.7, 100.7, 107.7]
    assert dial.asked[2].why == ONCE_MORE
    dial = Dial({}, silent=GRID)
    dial.walk(["au-air"])
    twice = [mhz for mhz in set(dial.on) if dial.on.count(mhz) == 2]
    assert len(twice) == 2


def test_without_any_roar_one_is_looked_for_where_nothing_is_known_to_be():
    dial = Dial(dict.fromkeys((91.7, 100.7, 107.7), "station"))
    dial.walk(["au-air"])
    assert dial.asked[2].why == ROAR
    assert min(abs(dial.asked[2].dial_mhz - mhz) for mhz in (91.75, 100.75, 107.75)) > 0.5


def test_a_roar_beside_a_carrier_is_no_yardstick_and_a_clear_one_is_asked_for():
    dial = Dial({88.75: "console"}, console=88.75)
    dial.walk(["eu-ccir-cable"])
    assert ROAR in [ask.why for ask in dial.asked]
    (roar,) = (ask.dial_mhz for ask in dial.asked if ask.why == ROAR)
    assert abs(roar - 88.75) > 0.6
    assert dial.off == [88.7]


def test_what_the_switch_proved_is_followed_alone():
    """A modulator's picture goes with the switch too: no second check is wasted on it."""
    dial = Dial({100.8: "console", 95.3: "console", 104.1: "console"}, console=100.8)
    dial.walk(["au-air"])
    assert len(dial.off) == 1


def test_a_stop_half_heard_leads_to_its_neighbours():
    dial = Dial({91.55: "unclear"})
    dial.walk(["oirt-dk"])
    assert dial.asked[0].dial_mhz == 91.7  # 150 kHz away
    assert dial.asked[1].why == "Something is half heard at 91.7: it may stand here."
    assert 91.5 in dial.on[:3]


def test_an_off_check_long_after_is_followed_by_the_console_on_again():
    far = [Visited(mhz, "on") for mhz in GRID[20 : 20 + STALE_STOPS + 1]]
    so_far = [*(Visited(mhz, "on") for mhz in (87.5, 87.7, 87.9, 88.1)), *far]
    dial = Dial({87.75: "console"}, console=0.0)
    dial.walk(["us-air"], so_far=so_far, at_most=len(so_far) + 3)
    assert [(ask.dial_mhz, ask.console) for ask in dial.asked[:1]] == [(87.7, "off")]
    fresh = Dial({87.75: "console"}, console=87.75)
    fresh.walk(["us-air"], so_far=so_far)
    assert fresh.asked[-1] == Ask(87.7, "on", ON_AGAIN)


def test_a_walk_goes_on_from_what_was_kept_as_if_it_had_not_been_interrupted():
    whole = Dial({100.8: "console", 95.3: "picture"}, console=100.8)
    done = whole.walk(["au-air"])
    for cut in range(1, len(done)):
        rest = Dial({100.8: "console", 95.3: "picture"}, console=100.8)
        again = rest.walk(["au-air"], so_far=[Visited(v.dial_mhz, v.console) for v in done[:cut]])
        assert [(v.dial_mhz, v.console) for v in again] == [(v.dial_mhz, v.console) for v in done]


places = st.dictionaries(
    st.floats(87.4, 108.1),
    st.sampled_from(["console", "station", "picture", "bare", "unclear"]),
    max_size=12,
)


@given(places, st.integers(0, 11), st.sampled_from([None, ["au-air"], ["us-cable-hrc"]]), st.data())
@settings(deadline=None, max_examples=40)
def test_whatever_is_heard_it_ends_and_asks_for_no_stop_endlessly(carriers, number, plans, data):
    console = sorted(carriers)[number % len(carriers)] if carriers else None
    silent = tuple(data.draw(st.lists(st.sampled_from(GRID), max_size=20)))
    spoiled = tuple(data.draw(st.lists(st.sampled_from(GRID), max_size=20)))
    left_out = data.draw(st.sampled_from([(), ("off",), ("on",)]))
    dial = Dial(carriers, console, silent, spoiled, left_out=left_out)
    done = dial.walk(plans)
    assert len(done) <= 2 * len(GRID)
    # What the switch proved but does not play is heard four times, and once after the switch.
    assert max((dial.on.count(mhz) for mhz in set(dial.on)), default=0) <= 5
    assert len(dial.off) <= MOST_OFF_CHECKS
    assert all(ask.dial_mhz in GRID and ask.why.endswith(".") for ask in dial.asked)


@pytest.mark.parametrize(
    ("plans", "most"),
    [(["au-air"], 14), (None, 75)],
)
def test_on_the_model_bench_a_console_is_found_and_proved_in_few_stops(plans, most):
    """20 dB or more, on a dial of 200 kHz: in 14 stops on a known plan, in 75 anywhere."""
    bench = Bench(
        stations=(Station(93.7, 40.0, "music"), Station(104.1, 30.0, "speech")),
        console=Console(sound_mhz=100.79, strength_db=28.0, spacing_mhz=5.5, deviation_khz=50.0),
        seed=11,
    )
    hands, measured = Hands(bench, 1.0), []
    walk(
        ThinkingPlanner(GRID, lambda: outlook(tuple(measured), Radio(), plans=plans), plans),
        lambda ask: hands.tune(ask.dial_mhz, ask.console),
        lambda ask: hands.hear(ask.dial_mhz, ask.console),
        lambda ask, clip: measured.append(measure(clip)),
    )
    assert len(measured) <= most
    known = outlook(tuple(measured), Radio(), plans=plans)
    assert known.found
    assert known.carriers[0].switch > 0
    assert abs(known.carriers[0].centre_mhz - 100.79) < 0.1  # within a step of either stop
