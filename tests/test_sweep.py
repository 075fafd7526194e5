"""The walk along the dial, with scripts in place of people, radios and planners."""

import numpy as np
import pytest

from listen.clip import Clip
from listen.errors import BadDial
from listen.radio import Radio
from listen.sweep import (
    Ask,
    ListPlanner,
    Visited,
    dial_stops,
    reason_for,
    walk,
)
from listen.sweep.reasons import OFF_AGAIN, OFF_FIRST


def clip(dial_mhz, console="on"):
    return Clip(dial_mhz, 48_000, np.zeros((10, 1), np.float32), console)


class Scripted:
    """tune, hear and keep that follow a list of turns, which must be used up."""

    def __init__(self, *turns):
        self.turns = list(turns)
        self.asked = []
        self.kept = []

    def tune(self, ask):
        self.asked.append((ask.dial_mhz, ask.console))
        return self.turns.pop(0)

    def hear(self, ask):
        return clip(ask.dial_mhz, ask.console)

    def keep(self, ask, heard):
        assert (heard.dial_mhz, heard.console) == (ask.dial_mhz, ask.console)
        self.kept.append((ask.dial_mhz, ask.console))

    def walk(self, planner, so_far=()):
        done = walk(planner, self.tune, self.hear, self.keep, so_far)
        assert self.turns == []
        return done


def listed(*stops, switch_at=()):
    """A planner whose switch_at gives these in turn, then None; they must be used up."""
    answers = [*switch_at, None]
    return ListPlanner(stops, lambda mhz: f"why {mhz:g}", lambda: answers.pop(0))


def test_every_stop_is_visited_then_the_best_one_with_the_console_off():
    bench = Scripted(*["go"] * 4)
    done = bench.walk(listed(95.5, 95.6, 95.7, switch_at=[95.6]))
    assert bench.kept == [(95.5, "on"), (95.6, "on"), (95.7, "on"), (95.6, "off")]
    assert [(visit.dial_mhz, visit.console) for visit in done] == bench.kept
    assert all(visit.kept for visit in done)


def test_where_the_first_off_check_met_a_station_the_next_one_is_asked_for():
    bench = Scripted(*["go"] * 4)
    bench.walk(listed(95.5, 95.7, switch_at=[95.7, 95.5]))
    assert bench.kept == [(95.5, "on"), (95.7, "on"), (95.7, "off"), (95.5, "off")]


def test_it_is_looked_again_after_each_off_check_and_three_are_enough():
    looked = []

    def switch_at():
        looked.append(len(bench.kept))
        return 95.0 + 0.1 * looked[-1]  # always another stop

    bench = Scripted(*["go"] * 5)
    bench.walk(ListPlanner((95.5, 95.6), str, switch_at))
    assert bench.kept[2:] == [(95.2, "off"), (95.3, "off"), (95.4, "off")]
    assert looked == [2, 3, 4]


def test_a_stop_that_was_checked_or_left_out_is_not_checked_again():
    bench = Scripted("go", "go")
    bench.walk(listed(95.5, switch_at=[95.5, 95.500_04]))
    assert bench.kept == [(95.5, "on"), (95.5, "off")]
    bench = Scripted("go", "skip")
    bench.walk(listed(95.5, switch_at=[95.5, 95.5]))
    assert bench.kept == [(95.5, "on")]


def test_off_checks_of_an_earlier_walk_count():
    before = (Visited(95.5, "on"), Visited(95.5, "off"), Visited(95.6, "on"))
    bench = Scripted("go")
    bench.walk(listed(95.5, 95.6, switch_at=[95.6]), before)
    assert bench.kept == [(95.6, "off")]
    three = tuple(Visited(mhz, how) for how in ("on", "off") for mhz in (95.5, 95.6, 95.7))
    assert Scripted().walk(listed(95.5, 95.6, 95.7, switch_at=[95.5]), three) == three


def test_an_off_check_says_why_and_a_second_one_says_what_the_first_told():
    planner = listed(95.5, 95.7, switch_at=[95.7, 95.5])
    on = [Visited(95.5, "on"), Visited(95.7, "on")]
    assert planner.next_stop(on) == Ask(95.7, "off", OFF_FIRST, None)
    assert planner.next_stop([*on, Visited(95.7, "off")]) == Ask(95.5, "off", OFF_AGAIN, None)


def test_nothing_like_a_console_means_no_switching():
    bench = Scripted("go", "go")
    bench.walk(listed(95.5, 95.6))
    assert bench.kept == [(95.5, "on"), (95.6, "on")]


def test_where_to_switch_is_looked_for_once_all_are_there():
    looked = []
    planner = ListPlanner((95.5, 95.6), str, lambda: looked.append(len(bench.kept)))
    bench = Scripted("go", "go")
    bench.walk(planner)
    assert looked == [2]


def test_stops_done_before_are_not_asked_for_again():
    before = (Visited(95.5, "on"), Visited(95.600_04, "on"))
    bench = Scripted("go", "go")
    bench.walk(listed(95.5, 95.6, 95.7, switch_at=[95.7]), before)
    assert bench.kept == [(95.7, "on"), (95.7, "off")]


def test_a_sweep_that_is_done_asks_for_nothing():
    before = (Visited(95.5, "on"), Visited(95.5, "off"))
    assert Scripted().walk(listed(95.5), before) == before


def test_a_stop_left_out_is_not_kept_and_not_asked_for_again():
    bench = Scripted("go", "skip", "go", "skip")
    done = bench.walk(listed(95.5, 95.6, 95.7, switch_at=[95.5, 95.5]))
    assert bench.kept == [(95.5, "on"), (95.7, "on")]
    assert [visit.kept for visit in done] == [True, False, True, False]


def test_a_clip_that_hear_will_not_give_counts_as_left_out():
    bench = Scripted("go", "go")
    bench.hear = lambda ask: None
    done = bench.walk(listed(95.5, 95.6))
    assert (bench.kept, [visit.kept for visit in done]) == ([], [False, False])


def test_going_back_takes_the_stop_before_once_more_then_goes_on():
    bench = Scripted("go", "go", "back", "back", "go", "go", "go")
    bench.walk(listed(95.5, 95.6, 95.7))
    assert bench.asked == [
        (95.5, "on"),
        (95.6, "on"),
        (95.7, "on"),
        (95.6, "on"),
        (95.5, "on"),
        (95.6, "on"),
        (95.7, "on"),
    ]
    assert bench.kept[2:] == [(95.5, "on"), (95.6, "on"), (95.7, "on")]


def test_going_back_at_the_first_stop_asks_for_it_again():
    bench = Scripted("back", "go")
    bench.walk(listed(95.5))
    assert bench.kept == [(95.5, "on")]


def test_what_a_stop_raises_ends_the_walk_with_the_stops_before_kept():
    bench = Scripted("go", "go")

    def hear(ask):
        if ask.dial_mhz == 95.6:
            raise KeyboardInterrupt("at the second stop")
        return clip(ask.dial_mhz)

    bench.hear = hear
    with pytest.raises(KeyboardInterrupt, match="at the second stop"):
        bench.walk(listed(95.5, 95.6))
    assert bench.kept == [(95.5, "on")]


def test_a_planner_sees_all_that_was_visited_and_may_ask_for_anything():
    class Halving:
        def __init__(self):
            self.saw = []

        def next_stop(self, so_far):
            self.saw.append([visit.dial_mhz for visit in so_far])
            wanted = (Ask(100.0, "on", "coarse"), Ask(99.95, "on", "finer"))
            return wanted[len(so_far)] if len(so_far) < 2 else None

    planner = Halving()
    Scripted("go", "go").walk(planner)
    assert planner.saw == [[], [100.0], [100.0, 99.95]]


def test_an_ask_says_why_and_how_many_are_left():
    planner = listed(95.5, 95.6)
    assert planner.next_stop([]) == Ask(95.5, "on", "why 95.5", 2)
    assert planner.next_stop([Visited(95.5, "on")]) == Ask(95.6, "on", "why 95.6", 1)


def test_the_stops_lie_round_the_sound_carriers_of_the_plans():
    # Japan's channel 1 has its sound on 95.75 and channel 2 on 101.75 MHz, channel 3 on 107.75
    # (carriers 91.25, 97.25 and 103.25, 4.5 MHz below).
    stops = dial_stops(Radio(), 100, ["jp-air"])
    near = [mhz for c in (95.75, 101.75, 107.75) for mhz in np.arange(c - 0.25, c + 0.26, 0.1)]
    assert stops == pytest.approx([mhz for mhz in near if mhz <= 108.0], abs=1e-9)


def test_the_whole_band_is_visited_on_the_radio_s_own_grid():
    everything = dial_stops(Radio(), 200, every=True)
    assert (everything[0], everything[1], everything[-1], len(everything)) == (
        87.5,
        87.7,
        107.9,
        103,
    )
    assert set(dial_stops(Radio(step_khz=200))) < set(everything)
    assert dial_stops(Radio(band_mhz=(95.0, 95.2), step_khz=50), every=True) == (
        95.0,
        95.05,
        95.1,
        95.15,
        95.2,
    )


@pytest.mark.parametrize(
    ("radio", "step_khz", "plans", "every", "says"),
    [
        (Radio(), 100, ["uk-uhf"], False, "no channel of uk-uhf has its sound between 87.5 and"),
        (Radio(), 0.5, None, True, "a dial step of 0.5 kHz came: give it in kHz, 1 to 1000"),
        (Radio(), 1, None, True, "20501 stops of 1 kHz from 87.5 to 108 MHz are more than"),
    ],
)
def test_a_walk_that_makes_no_sense_is_refused(radio, step_khz, plans, every, says):
    with pytest.raises(BadDial, match=says):
        dial_stops(radio, step_khz, plans, every)


def test_a_reason_names_the_nearest_channel():
    assert reason_for(95.8, ["jp-air"]) == "jp-air:1 would have the sound on 95.75 MHz."
    assert reason_for(99.0, ["jp-air"]) == "You asked for it."
    assert reason_for(99.0, ["jp-air"], every=True) == "Every stop is visited."
    # Two plans of one carrier: cable channel 95 has Japan's channel 1's.
    assert reason_for(95.7, ["jp-air", "us-cable-std"]) == (
        "jp-air:1 and us-cable-std:95 would have the sound on 95.75 MHz."
    )
