"""A trim without a key: the hand rests, the dial is set unseen, sound is lost on the way."""

from dataclasses import replace
from types import SimpleNamespace
from unittest.mock import Mock

import numpy as np
import pytest
from trim_person import CONSOLE, Person, begun, station

from listen.capture.linein import Block
from listen.channels import by_name
from listen.commands.attend import attend
from listen.commands.dialler import REMIND_S, UNTURNED, Dialler
from listen.errors import TunerFailed
from listen.radio import Radio
from listen.trim import route_to
from listen.trim.rest import MOVED_DB, REST_S, Rest
from listen.tuner import Command

GOAL = by_name("au-air:4")  # sound on 100.75, its stop on 100.7
RADIO = Radio(step_khz=100.0)


class Keyless(Person):
    """Sets the dial where it is wanted, and presses nothing."""

    def until(self, holds, most_s):
        for _ in range(round(most_s / 0.25)):
            if holds(self):
                return True
            if self.guide.ask is not None:
                self.set_dial(self.guide.ask.dial_mhz)
            self.listen()
        return False


def at_the_goal(sound_mhz, still_s=5.0, stations_mhz=(), **more):
    route = route_to(GOAL, RADIO, from_mhz=101.2, wait=True, stations_mhz=stations_mhz)
    guide = begun(route, RADIO, still_s=still_s)
    console = replace(CONSOLE, sound_mhz=sound_mhz, **more)
    return Keyless(guide, turns=0.0, stops=sound_mhz, console=console)


def test_on_target_it_ends_by_itself():
    person = at_the_goal(100.74)
    assert person.until(lambda p: p.guide.is_done, 60.0)
    assert person.guide.on_target is True
    assert person.said("held and still for 5 s, it is measured")[0].kind == "do"
    assert person.says[-1].text.endswith("The trim is done.")
    assert person.says[-1].kind == "good"


def test_a_hand_that_turns_is_not_interrupted():
    """The meter moves every two seconds: nothing is measured until it stands still."""
    person = at_the_goal(100.54)  # on the cliff of the goal's stop, where a turn is heard
    person.until(lambda p: p.guide.stage == "goal" and p.guide.ask is None, 10.0)
    for number in range(10):
        person.turn(-40 if number % 2 else 40)
        person.listen(2.0)
    assert not person.said("Take the tool away")
    assert person.until(lambda p: p.said("Take the tool away"), 10.0)


def test_a_hand_that_was_not_done_takes_the_measuring_back():
    """It stood still, the radio asks for a step aside, and the person types n."""
    person = at_the_goal(100.74)
    assert person.until(lambda p: p.guide.stage == "sides" and p.guide.ask is not None, 40.0)
    person.guide.not_yet(dial_moves=False)
    assert (person.guide.stage, person.guide.ask) == ("goal", None)  # the radio never left it
    person.listen(30.0)
    assert person.said("Not yet: turn on")
    assert person.guide.stage == "goal"  # as still as before, and yet nothing is measured
    person.turn(-160)
    person.listen(2.0)
    person.turn(150)
    assert person.until(lambda p: p.guide.is_done, 60.0)  # the meter moved and stands again


@pytest.mark.parametrize("aside", [True, False])
def test_a_radio_that_went_aside_or_is_on_its_way_is_asked_back_to_the_goal(aside):
    person = at_the_goal(100.74)
    person.until(lambda p: p.guide.stage == "sides" and p.guide.ask is not None, 40.0)
    if aside:
        person.set_dial(person.guide.ask.dial_mhz)
    person.guide.not_yet(dial_moves=not aside)
    assert (person.guide.stage, person.guide.ask.dial_mhz) == ("goal", 100.7)
    person.set_dial(100.7)
    person.listen(20.0)
    assert (person.guide.stage, person.guide.ask) == ("goal", None)
    person.guide.enter()  # Enter measures at once
    assert person.guide.stage == "sides"


def test_not_yet_says_nothing_before_the_goal():
    guide = begun(route_to(GOAL, RADIO, from_mhz=99.2), RADIO)
    assert guide.stage == "roar"
    before = guide.stage, guide.ask
    guide.not_yet(dial_moves=False)
    assert (guide.stage, guide.ask) == before


def test_a_key_takes_a_wish_back_and_a_command_obeys_the_later_wish_last(tmp_path):
    """A program that takes longer for the first wish than for the second."""
    done = tmp_path / "done"
    script = tmp_path / "tune"
    script.write_text(f"#!/bin/sh\n[ $1 = 100600000 ] && sleep 0.5\necho $1 >> {done}\n")
    script.chmod(0o755)
    dialler = Dialler(None, None, Command(f"{script} {{hz}}"))
    dialler.want(100.6, 0.0)
    dialler.want(100.7, 0.1)
    while not dialler.is_set(1.0, None, True):
        pass
    assert done.read_text().split() == ["100600000", "100700000"]


def test_n_typed_is_not_yet_and_no_word_that_the_dial_is_set():
    person = at_the_goal(100.74)
    person.until(lambda p: p.guide.stage == "sides" and p.guide.ask is not None, 40.0)
    typed = iter(["n", None, "q"])
    view = Mock()
    told = []

    def not_yet(dial_moves):
        told.append(dial_moves)
        person.guide.not_yet(dial_moves)

    keys = SimpleNamespace(next=lambda: next(typed), ended=False)
    quiet = [Block(np.zeros((4800, 1), np.float32), 0, 0.0, False)] * 3
    attend(person.guide, quiet, keys, Dialler(keys, None, None), view, Mock(), not_yet=not_yet)
    assert told == [False]
    view.is_set.assert_called_once()
    assert (person.guide.stage, person.guide.ask) == ("goal", None)


def test_off_target_it_goes_on_guiding():
    person = at_the_goal(100.63)
    person.guide._within_khz = 60.0
    assert person.until(lambda p: p.guide.left is not None, 40.0)
    assert not person.until(lambda p: p.guide.is_done, 20.0)
    assert person.guide.stage == "goal"
    person.turn(+110)  # to 100.74, over the flat top: the meter does not move
    assert person.until(lambda p: p.guide.is_done, REST_S + 40.0)
    assert person.guide.on_target is True


def test_where_no_side_can_be_asked_for_a_result_is_said_once_a_minute():
    """A station sits on the goal's stop: the radio stays there, and one stop tells little."""
    person = at_the_goal(100.74, stations_mhz=(100.7,))
    person.until(lambda p: False, REST_S + 25.0)
    assert 1 <= len(person.said("Take the tool away")) <= 2


def test_what_stood_on_the_goal_before_anything_was_turned_does_not_end_the_trim():
    """A station on 87.7, where US 6 has its sound; its picture, 83.25, lies outside the dial."""
    console = replace(CONSOLE, sound_mhz=90.5)
    route = route_to(by_name("us-air:6"), RADIO, from_mhz=90.5, wait=True)
    guide = begun(route, RADIO, still_s=5.0)
    person = Keyless(guide, turns=0.0, stops=90.5, console=console, stations=station(87.7))
    assert not person.until(lambda p: p.guide.is_done, REST_S + 15.0)
    assert len(person.said("before anything was turned")) == 1
    assert not person.said("Take the tool away")
    assert not person.said("it is measured by itself.")
    person.guide.enter()
    assert person.until(
        lambda p: p.guide.is_done, 40.0
    )  # who presses the key says it is the console


def test_a_carrier_that_comes_to_a_waiting_goal_ends_the_trim():
    console = replace(CONSOLE, sound_mhz=90.5)
    route = route_to(by_name("us-air:6"), RADIO, from_mhz=90.5, wait=True)
    guide = begun(route, RADIO, still_s=5.0)
    person = Keyless(guide, turns=0.0, stops=90.5, console=console)
    assert not person.until(lambda p: p.guide.is_done, 6.0)
    person.console = replace(CONSOLE, sound_mhz=87.74)
    assert person.until(lambda p: p.guide.is_done, 60.0)
    assert not person.said("before anything was turned")
    assert person.guide.on_target is True


def test_a_picture_on_the_goal_is_never_measured_by_itself_and_is_said_again():
    person = at_the_goal(106.25)  # its picture stands on 100.75
    person.until(lambda p: False, 25.0)
    assert len(person.said("That is the picture carrier")) >= 2
    assert not person.said("Take the tool away")
    person.guide.enter()
    assert person.until(lambda p: p.guide.left is not None and p.guide.stage == "goal", 40.0)
    assert person.guide.on_target is None
    assert person.said("it does not count")[0].kind == "warn"


@pytest.mark.parametrize(("still_s", "held_s", "due"), [(5.0, 6.0, True), (None, 100.0, False)])
def test_rest_counts_from_when_it_was_held(still_s, held_s, due):
    rest = Rest(still_s)
    for second in range(int(held_s) + 1):
        rest.saw(float(second), 15.0, float(second))
    assert rest.is_due(held_s, 0.0) == due


def test_rest_waits_for_the_meter_to_move_after_a_result_or_a_minute():
    rest = Rest(5.0)
    rest.measured()
    rest.saw(0.0, 15.0, 2.0)
    assert not rest.is_due(30.0, 0.0)
    rest.saw(31.0, 15.0 + MOVED_DB, 33.0)
    assert not rest.is_due(35.0, 0.0)
    assert rest.is_due(36.0, 0.0)
    rest.measured()
    rest.saw(40.0, 15.0, 2.0)
    rest.saw(40.0 + REST_S, 15.0, REST_S + 2.0)
    assert rest.is_due(40.0 + REST_S, 40.0)


def test_the_sound_tells_whether_the_dial_was_turned():
    person = at_the_goal(100.74)
    person.until(lambda p: p.guide.stage == "sides" and p.guide.ask is not None, 40.0)
    person.listen(3.0)  # the hand is still at the trimmer
    assert not person.guide.sounds_turned
    person.dial_mhz = 100.3  # off the carrier
    person.listen(2.0)
    assert person.guide.sounds_turned
    person.set_dial(person.guide.ask.dial_mhz)
    assert person.guide.ask is None
    assert not person.guide.sounds_turned


def test_without_a_key_a_stop_that_sounds_as_before_is_waited_for_and_said():
    dialler = Dialler(None, 6.0, None)
    dialler.want(100.6, 10.0)
    assert not dialler.is_set(15.9, None, True)
    assert dialler.is_set(16.0, None, True)
    assert not dialler.is_set(16.0, None, False)
    assert dialler.reminder("Dial to 100.6 MHz.", 15.9) is None
    said = dialler.reminder("Dial to 100.6 MHz.", 16.0)
    assert said == "It sounds as it did: is the dial set?  Dial to 100.6 MHz."
    assert dialler.reminder("Dial to 100.6 MHz.", 16.5) is None
    assert dialler.is_set(10.0 + 6.0 * UNTURNED, None, False)
    assert dialler.is_set(11.0, "", False)  # a key says it all


def test_with_a_key_the_dial_is_waited_for_and_asked_for_again():
    class Silent:
        ended = False

    keys = Silent()
    dialler = Dialler(keys, None, None)
    dialler.want(100.6, 0.0)
    assert not dialler.is_set(1e4, None, True)
    assert dialler.reminder("Dial to 100.6 MHz.", REMIND_S - 1) is None
    assert "Enter when it is there" in dialler.reminder("Dial to 100.6 MHz.", REMIND_S)
    keys.ended = True
    with pytest.raises(TunerFailed, match="nobody is at the keyboard"):
        dialler.is_set(1.0, None, True)


def test_a_command_is_never_reminded():
    assert Dialler(None, None, Command("true {hz}")).reminder("Dial to 100.6 MHz.", 1e4) is None


def test_lost_sound_at_the_goal_is_no_word_of_the_carrier_s():
    """Of a second, a third is lost: the meter goes on, and no WARMER or COLDER comes of it."""
    person = at_the_goal(100.74, still_s=None)
    person.until(lambda p: p.words and p.words[-1] == "HOLD", 15.0)
    person.words.clear()
    for _ in range(8):
        person.place += 16_000
        person.guide.lost()
        person.listen(1.0)
    assert set(person.words) <= {"HOLD", "LISTENING"}
    assert len(person.said("Some of the sound was lost")) == 1  # within ten seconds
    clarity = [frame.clarity for frame in person.frames[-200:] if frame.clarity is not None]
    assert min(clarity) > 50


def test_sound_that_is_lost_again_and_again_is_said_to_be_so():
    person = at_the_goal(100.74, still_s=None)
    person.until(lambda p: p.words and p.words[-1] == "HOLD", 15.0)
    for _ in range(3):
        person.guide.lost()
        person.listen(11.0)
    assert len(person.said("Some of the sound was lost")) == 3
    assert len(person.said("loses sound again and again")) == 1
