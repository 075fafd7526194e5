"""What a guide must not take for a carrier: open band, silence, a turned volume, a clipped roar."""

from dataclasses import replace

import pytest
from trim_person import CONSOLE, OPEN_MHZ, RATE_HZ, Person, begun, heard, station

from listen.channels import by_name
from listen.radio import Radio
from listen.simulate.receiver import Receiver
from listen.trim import route_to
from listen.trim.ear import Ear
from listen.trim.left import is_too_wide, what_is_left

GOAL = by_name("au-air:4")  # sound on 100.75, its stop on 100.7
RADIO = Radio(step_khz=100.0)
SIDES = (100.3, 100.4, 100.5, 100.6, 100.7, 100.8, 100.9, 101.0, 101.1)


def waiting(sound_mhz, programme="chip", **more):
    """Somebody at the goal's stop, the carrier on a place."""
    guide = begun(route_to(GOAL, RADIO, from_mhz=101.2, wait=True), RADIO, **more)
    console = replace(CONSOLE, sound_mhz=sound_mhz, programme=programme)
    person = Person(guide, turns=0.0, stops=sound_mhz, console=console)
    person.set_dial(None)
    person.listen(3.0)
    person.set_dial(guide.ask.dial_mhz)
    person.listen(1.0)
    return person


def measured(person, most_s=60.0):
    """Press Enter at the goal and obey until it is back there, or more is wanted."""
    person.guide.enter()
    return person.work(lambda p: p.guide.stage in ("goal", "pair", "done"), most_s)


def test_open_band_has_nothing_left():
    assert what_is_left(dict.fromkeys(SIDES[1:-1], 0.1), 100.75, RADIO) is None


def test_a_plateau_without_an_end_tells_no_place():
    """As quiet at every stop: the carrier may be anywhere that it was sought."""
    assert what_is_left(dict.fromkeys(SIDES, 40.0), 100.75, RADIO) is None
    assert is_too_wide(100.7, dict.fromkeys(SIDES, 40.0), RADIO)
    assert not is_too_wide(100.7, {**dict.fromkeys(SIDES, 40.0), 100.3: 5.0}, RADIO)
    assert not is_too_wide(100.7, dict.fromkeys(SIDES, 0.0), RADIO)


def test_enter_where_nothing_is_held_says_so():
    person = waiting(102.75)
    assert measured(person)
    assert person.said("Nothing is held here, from 100.6 to 100.8 MHz")
    assert person.guide.left is None
    assert not person.said("kHz left")
    assert person.guide.stage == "goal"


def test_a_dead_line_is_no_open_band():
    person = waiting(100.62)
    person.listen(2.0)
    person.guide.enter()
    person.listen(0.25)
    person.unplugged = True
    person.work(lambda p: False, 20.0)
    assert person.said("Waiting for sound")[0].kind == "warn"
    assert person.guide.left is None
    assert person.guide.stage == "sides"
    person.unplugged = False
    assert person.work(lambda p: p.guide.left is not None, 60.0)
    low, high = person.guide.left.interval_95_khz
    assert low <= 130 <= high  # 100.75 minus 100.62


def test_a_gap_in_the_sound_at_the_goal_does_no_harm():
    person = waiting(100.74)
    person.unplugged = True
    person.listen(3.0)
    assert person.words[-1] == "SILENT"
    person.unplugged = False
    person.listen(3.0)
    assert person.words[-1] == "HOLD"


def test_a_volume_turned_down_is_no_carrier():
    """12 dB less, the carrier 2 MHz away: the open spot is heard again, and nothing is held."""
    person = waiting(102.75)
    person.volume_db = -12.0
    person.work(lambda p: p.said("The volume was turned"), 30.0)
    assert person.said("was the volume turned")
    assert "the open band is 12 dB quieter than before" in person.said("The volume was")[0].text
    assert person.work(lambda p: p.guide.stage == "goal" and p.guide.ask is None, 10.0)
    assert measured(person)
    assert person.said("Nothing is held here")
    assert person.guide.left is None


def test_a_recording_cannot_go_back_to_the_open_spot_so_a_doubt_is_said_once_and_it_goes_on():
    person = waiting(100.74, turns_back=False)
    person.listen(2.0)
    person.guide.enter()
    person.set_dial(person.guide.ask.dial_mhz)
    person.volume_db = -6.0
    assert person.work(lambda p: p.guide.left is not None or p.guide.stage == "goal", 90.0)
    assert person.guide.stage != "roar"
    assert len(person.said("In a recording the open spot cannot")) >= 1
    assert not person.said("The open spot is heard again")


@pytest.mark.parametrize("by_db", [-12.0, 9.0])
def test_a_volume_turned_between_the_sides_is_noticed_and_the_result_right(by_db):
    person = waiting(100.74)
    person.listen(2.0)
    person.guide.enter()
    person.set_dial(person.guide.ask.dial_mhz)
    person.volume_db = by_db
    assert person.work(lambda p: p.guide.left is not None, 90.0)
    assert person.said("The volume was turned")
    low, high = person.guide.left.interval_95_khz
    assert low <= 10 <= high


@pytest.mark.parametrize("programme", ["chip", "music"])
def test_no_stop_of_a_programme_is_taken_for_a_turned_volume(programme):
    """A programme stands out of its hiss, at every place of a carrier's curve."""
    console = replace(CONSOLE, sound_mhz=100.74, programme=programme)
    ear, told = Ear(RATE_HZ), []
    for dial_mhz in (OPEN_MHZ, 100.4, 100.5, 100.6, 100.7, 100.8, 100.9, 101.0):
        ear.dial_set(dial_mhz)
        for fast in ear.hear(heard(console, dial_mhz)):
            ear.saw(fast)
        if dial_mhz == OPEN_MHZ:
            assert ear.learn_roar(ear.now_s) == "good"
        told.append(ear.is_changed_roar(1.5))
    assert not any(told)


def test_the_cliff_of_a_silent_carrier_counts_once_the_open_spot_is_what_it_was():
    """Without a programme a cliff sounds as a roar does that was turned down."""
    person = waiting(100.65, programme="silence")
    person.listen(2.0)
    person.guide.enter()
    assert person.work(lambda p: p.guide.left is not None, 90.0)
    assert len(person.said("was the volume turned")) == 2  # one for each cliff
    assert not person.said("The volume was turned")
    low, high = person.guide.left.interval_95_khz
    assert low <= 100 <= high


def test_a_clipped_roar_is_no_yardstick():
    guide = begun(route_to(GOAL, RADIO, from_mhz=101.2), RADIO, open_mhz=(OPEN_MHZ,))
    person = Person(guide, turns=0.0, stops=101.2)
    person.volume_db = 30.0
    person.set_dial(guide.ask.dial_mhz)
    person.listen(3.0)
    assert person.said("The roar is CLIPPING")[0].kind == "warn"
    assert guide.stage == "roar"
    assert guide.ask.dial_mhz == OPEN_MHZ  # the same spot again
    assert all(frame.clips for frame in person.frames)
    person.volume_db = 0.0
    person.set_dial(guide.ask.dial_mhz)
    person.listen(3.0)
    assert guide.stage == "start"


def test_a_radio_that_mutes_between_stations_is_named_after_two_spots():
    guide = begun(route_to(GOAL, RADIO, from_mhz=101.2), RADIO)
    receiver = Receiver(hard_mute_db=10.0)
    person = Person(guide, turns=0.0, stops=101.2, receiver=receiver)
    for tries in (1, 2):
        person.set_dial(None)
        person.listen(3.0)
        assert bool(person.said("seems to mute between stations")) == (tries == 2)
    assert guide.ask.dial_mhz is None


def test_a_station_twice_is_no_mute():
    guide = begun(route_to(GOAL, RADIO, from_mhz=101.2), RADIO)
    person = Person(guide, turns=0.0, stops=101.2, stations=station(OPEN_MHZ))
    for _ in range(2):
        person.set_dial(None)
        person.listen(3.0)
    assert len(person.said("something is received")) == 2
    assert not person.said("seems to mute")


def test_without_a_key_a_result_stands_until_somebody_turns():
    """Held 120 kHz below the goal: measured once, and again only when the meter has moved."""
    person = waiting(100.63, within_khz=30.0, still_s=4.0)

    def results():
        return len([frame for frame in person.frames if frame.left is not None])

    def left_alone(for_s):
        for _ in range(round(for_s / 0.25)):
            if person.guide.ask is not None:
                person.set_dial(person.guide.ask.dial_mhz)
            person.listen()

    left_alone(60.0)
    assert results() == 1
    assert person.guide.stage == "goal"
    person.turn(-90)  # to the cliff
    left_alone(30.0)
    assert results() == 2
