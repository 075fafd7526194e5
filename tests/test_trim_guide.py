"""The guide at the trimmer, fed with what the model bench's radio plays."""

from dataclasses import replace

import numpy as np
import pytest
from trim_person import CONSOLE, OPEN_MHZ, Person, begun, station

from listen.analysis.dialerror import steady
from listen.channels import by_name
from listen.radio import Radio
from listen.simulate.receiver import Receiver
from listen.trim import route_to, words
from listen.trim.left import Left

GOAL = by_name("au-air:4")  # sound on 100.75
RADIO = Radio(step_khz=100.0)


def led(from_mhz=101.2, **more):
    return begun(route_to(GOAL, RADIO, from_mhz=from_mhz, **more), RADIO)


def test_a_console_is_led_down_the_ladder_and_what_is_left_is_told():
    person = Person(led(), turns=-50.0, stops=100.75)
    assert person.work()
    left = person.guide.left
    true_left_khz = 1e3 * (100.75 - person.sound_mhz)
    # 40 benches by chance: 6 kHz rms about the truth, docs/trim.md.  Three times that.
    assert left.left_khz == pytest.approx(true_left_khz, abs=18)
    assert left.interval_95_khz[0] <= true_left_khz <= left.interval_95_khz[1]
    assert left.on_target is True
    assert person.walked[:4] == [OPEN_MHZ, 101.1, 100.9, 100.7]
    assert person.said("after 101.1: it runs the right way")
    assert not person.said("Wrong way")
    assert "both carriers moved together" in person.guide.moved
    assert person.words[-1] == "DONE"


def test_a_stop_is_named_where_the_dial_stands_and_not_where_it_was_wanted():
    person = Person(led(), turns=0.0, stops=100.75)
    while person.guide.stage == "roar":
        person.listen() if person.guide.ask is None else person.set_dial(OPEN_MHZ)
    assert person.guide.ask.dial_mhz == 101.1
    person.set_dial(101.2)  # one step beside
    assert person.work(lambda p: p.said("Heard on"), 10.0)
    assert [said.text for said in person.said("Heard on")] == ["Heard on 101.2 MHz."]
    assert person.guide.carries_on_from_mhz == 101.2


def test_the_wrong_way_is_told_from_the_order_and_the_hand_turns_round():
    person = Person(led(), turns=+25.0, stops=100.75)
    assert person.work(lambda p: p.said("Wrong way"), 40.0)
    assert person.sound_mhz > 101.2
    (warned,) = person.said("Wrong way")
    assert warned.kind == "warn"
    assert "heard on 101.1 MHz and is now on 101.5" in warned.text
    assert person.work(lambda p: p.said("after 101.5: it runs the right way"), 40.0)


def test_a_carrier_that_stays_is_no_wrong_way():
    person = Person(led(), turns=0.0, stops=101.2)
    person.work(lambda p: p.said("It is still on"), 40.0)
    assert person.said("It is still on 101.1 MHz. Turn on, the same way.")
    assert not person.said("Wrong way")


def test_what_was_turned_past_the_goal_is_found_beyond_it():
    person = Person(led(), turns=-50.0, stops=100.75)
    assert person.work(lambda p: p.guide.stage == "goal" and p.guide.ask is None, 40.0)
    person.turn(-1e3 * (person.sound_mhz - 100.4))
    person.turns = 0.0
    assert person.work(lambda p: p.said("gone past the goal"), 40.0)


def test_at_the_goal_the_words_follow_the_carrier():
    guide = led(wait=True)
    person = Person(guide, turns=-50.0, stops=101.2)
    person.set_dial(None)
    person.listen(3.0)
    person.set_dial(guide.ask.dial_mhz)
    person.listen(3.0)
    assert person.words[-1] == "TURN"
    person.turn(-325)  # to the cliff
    person.listen(0.6)
    assert person.words[-1] == "WARMER"
    person.turn(-150)
    person.listen(2.5)
    assert person.words[-1] == "HOLD"
    person.turn(-210)  # out on the far side
    person.listen(2.0)
    assert person.words[-1] == "PASSED"
    person.turn(200)
    person.listen(2.5)
    assert person.words[-1] == "HOLD"


def test_programme_does_not_move_the_words():
    """Music on the plateau hides the hiss now and then; the big word stays."""
    guide = led(wait=True)
    person = Person(guide, turns=0.0, stops=101.2, console=replace(CONSOLE, sound_mhz=100.74))
    person.set_dial(None)
    person.listen(3.0)
    person.set_dial(guide.ask.dial_mhz)
    person.listen(3.0)
    person.words.clear()
    fast = [frame.quieting_db for frame in person.listen(8.0)]
    assert np.ptp(fast) > 10  # the meter itself does move
    assert set(person.words) == {"HOLD"}


def test_a_picture_at_the_goal_is_no_sound():
    """Down from above, waiting at the goal: the picture's buzz passes before the tune."""
    guide = begun(route_to(GOAL, RADIO, from_mhz=106.9, wait=True), RADIO)
    console = replace(CONSOLE, sound_mhz=106.25)  # its picture stands on 100.75
    person = Person(guide, turns=0.0, stops=106.25, console=console)
    person.set_dial(None)
    person.listen(3.0)
    person.set_dial(guide.ask.dial_mhz)
    person.listen(4.0)
    assert person.said("That is the picture carrier")
    person.turn(-500)
    person.listen(2.0)
    person.turn(-5000)
    person.listen(4.0)
    assert person.said("The tune after the picture's buzz: this is the sound carrier.")


AU_SPACING_MHZ = 5.5  # ITU-R BT.470, system B


@pytest.mark.parametrize(
    ("left_khz", "says"),
    [(150.0, "too low, turn back a little."), (-150.0, "too high, keep turning a little.")],
)
def test_off_the_goal_the_way_to_turn_is_told(left_khz, says):
    """On the way down from 101.2 MHz: too high is not there yet, too low is past it."""
    (leg,) = route_to(GOAL, RADIO, from_mhz=101.2).legs
    left = Left(left_khz, (left_khz - 20, left_khz + 20), 100.75 - left_khz / 1e3, False)
    assert words.result(left, leg).endswith(says)


@pytest.mark.parametrize(
    ("from_mhz", "trimmer", "may_be"),
    [(112.0, None, True), (107.9, None, False), (101.2, None, False), (112.0, "sound", False)],
)
def test_a_mirror_comes_first_only_from_more_than_twice_the_spacing_above(
    from_mhz, trimmer, may_be
):
    """The mirror is two spacings below the sound: it crosses the goal only from above."""
    (leg,) = route_to(GOAL, RADIO, from_mhz=from_mhz, trimmer=trimmer, wait=True).legs
    assert (from_mhz > GOAL.sound_mhz + 2 * AU_SPACING_MHZ) == (from_mhz == 112.0)
    said = words.came_by("tune", (), leg, GOAL)
    assert ("a mirror of the sound may come first" in said) == may_be
    assert said == "A carrier is here." or may_be


@pytest.mark.parametrize(
    ("from_mhz", "trimmer", "says"),
    [
        (101.2, None, "Go on until a tune comes"),
        (95.0, None, "has passed already: turn back until a tune comes"),
        (None, None, "Turn so that the carriers fall"),
        (101.2, "sound", "it is the picture oscillator that stands wrong"),
    ],
)
def test_what_to_do_about_a_buzz_hangs_on_the_way(from_mhz, trimmer, says):
    """The picture is below the sound: on the way up it comes after it."""
    (leg,) = route_to(GOAL, RADIO, from_mhz=from_mhz, trimmer=trimmer, wait=True).legs
    assert says in words.came_by("buzz", (), leg, GOAL)


def test_a_tune_after_the_buzz_on_the_way_up_may_be_the_mirror():
    (leg,) = route_to(GOAL, RADIO, from_mhz=95.0, wait=True).legs
    assert "it may be the mirror" in words.came_by("tune", ("tune", "buzz"), leg, GOAL)


def test_that_only_the_sound_moved_is_told_by_the_picture_that_stayed_and_is_not_done():
    person = Person(led(), turns=-50.0, stops=100.75, moves="sound")
    assert person.work(lambda p: p.said("only the sound moved"))
    guide = person.guide
    assert person.said("only the sound moved")[0].kind == "warn"
    assert (guide.verdict, guide.on_target, guide.left.on_target) == ("stayed", False, True)
    assert (guide.stage, guide.ask.dial_mhz) == ("goal", 100.7)
    assert not guide.is_done


def test_the_mirror_on_the_goal_is_no_answer():
    """Sound on 111.75: its mirror, two spacings lower, plays the same tune on the goal."""
    guide = begun(route_to(GOAL, RADIO, from_mhz=114.0, wait=True), RADIO)
    console = replace(CONSOLE, sound_mhz=111.75, mirror_db=-3.0)
    person = Person(guide, turns=0.0, stops=111.75, console=console)
    assert person.work(lambda p: p.said("is the mirror of the sound"))
    assert person.said("the mirror of the sound. Turn on")[0].kind == "warn"
    assert (guide.verdict, guide.left, guide.on_target) == ("mirror", None, None)
    assert guide.stage == "goal"


def sound_leg(moves):
    """A picture on its place, the sound 0.5 MHz too high: the sound trimmer is to be turned."""
    console = replace(CONSOLE, sound_mhz=101.25, spacing_mhz=6.0)
    guide = led(from_mhz=101.25, spacing_mhz=6.0)
    assert [leg.trimmer for leg in guide.route.legs] == ["sound"]
    return Person(guide, turns=-50.0, stops=100.75, console=console, moves=moves)


def test_a_sound_leg_ends_with_the_sound_moved_alone():
    person = sound_leg("sound")
    assert person.work()
    assert (person.guide.verdict, person.guide.on_target) == ("alone", True)
    assert "the sound alone moved, as it should" in person.guide.moved
    assert "oscillator" not in person.guide.moved


def test_the_picture_oscillator_turned_on_a_sound_leg_is_not_done():
    person = sound_leg("both")
    assert person.work(lambda p: p.said("has moved along"))
    assert (person.guide.verdict, person.guide.on_target) == ("both", False)
    assert person.guide.stage == "goal"


def test_two_trimmers_are_two_legs():
    """A spacing of 6 MHz for a channel of 5.5: the picture's first, then the sound's."""
    console = replace(CONSOLE, sound_mhz=101.65, spacing_mhz=6.0)
    guide = led(from_mhz=101.65, spacing_mhz=6.0)
    person = Person(guide, turns=-50.0, stops=101.25, console=console)
    assert person.work(lambda p: p.said("Now turn the sound trimmer:"))
    assert person.console.picture_mhz == pytest.approx(GOAL.picture_mhz, abs=0.026)
    person.moves, person.stops = "sound", 100.75
    assert person.work()
    assert guide.left.on_target is True
    assert "the spacing is right" in guide.moved


def test_a_station_is_no_yardstick():
    person = Person(led(), turns=0.0, stops=101.2, stations=station(OPEN_MHZ))
    person.set_dial(None)
    person.listen(3.0)
    assert person.said("That is no open spot")
    assert person.guide.ask.dial_mhz is None
    assert person.guide.stage == "roar"


def test_silence_is_no_yardstick_and_no_carrier():
    guide = led()
    guide.begin()
    guide.dial_set(None)
    nothing = np.zeros((48_000, 1), np.float32)
    says = [said for _ in range(3) for frame in guide.hear(nothing) for said in frame.says]
    assert any("Nothing comes in" in said.text for said in says)
    assert guide.stage == "roar"
    guide.dial_set(None)
    frames = guide.hear(nothing)
    assert {frame.word for frame in frames} == {"SILENT"}
    assert {frame.clarity for frame in frames} == {None}


def test_a_dial_set_elsewhere_is_made_the_best_of():
    """Stops either side of the goal count, whoever asked for them."""
    person = Person(led(), turns=0.0, stops=100.74, console=replace(CONSOLE, sound_mhz=100.74))
    for dial_mhz in (None, 100.7, 100.5, 100.6, 100.8, 100.9):
        person.set_dial(dial_mhz)
        person.listen(3.0)
    assert person.guide.left.left_khz == pytest.approx(10, abs=18)


def test_where_it_goes_on_is_where_it_was_heard_last():
    person = Person(led(error=steady(40.0)), turns=-50.0, stops=100.75)
    assert person.guide.carries_on_from_mhz is None
    assert person.work(lambda p: p.said("after 101.2"), 40.0)
    assert person.guide.carries_on_from_mhz == pytest.approx(101.0 - 0.04)


def test_a_goal_below_the_dial_is_reached_by_its_image():
    """US channel 4, sound on 71.75: heard on 93.15 by a radio whose oscillator runs below."""
    goal, radio = by_name("us-air:4"), Radio(step_khz=100.0, oscillator="below")
    console = replace(CONSOLE, sound_mhz=72.15, spacing_mhz=4.5, strength_db=45.0)
    guide = begun(route_to(goal, radio, from_mhz=72.15, spacing_mhz=4.5), radio)
    receiver = Receiver(oscillator="below", image_rejection_db=15.0)
    person = Person(guide, turns=-50.0, stops=71.75, console=console, receiver=receiver)
    assert person.said("the image is listened to, near 93.15 MHz")
    assert person.work()
    assert {round(mhz, 1) for mhz in person.walked} >= {93.6, 93.4, 93.2}
    assert person.said("it runs the right way")
    left = guide.left
    true_left_khz = 1e3 * (71.75 - person.sound_mhz)
    assert left.interval_95_khz[0] <= true_left_khz <= left.interval_95_khz[1]
    assert left.left_khz == pytest.approx(true_left_khz, abs=18)  # as for a direct carrier above
    assert left.sound_mhz == pytest.approx(person.sound_mhz, abs=0.018)
    assert guide.carries_on_from_mhz == pytest.approx(71.8, abs=0.1)
