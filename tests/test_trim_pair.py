"""Which trimmer moved, after moves too small for the picture's buzz alone to tell."""

from dataclasses import replace

import pytest
from trim_person import CONSOLE, Person, begun

from listen.channels import by_name
from listen.radio import Radio
from listen.trim import route_to
from listen.trim.pair import Spacing
from listen.trim.route import SPACING_KHZ

GOAL = by_name("au-air:4")  # sound on 100.75, picture on 95.25
RADIO = Radio(step_khz=50.0)


def moving(from_mhz, moves, spacing_mhz=5.5, known_mhz=5.5, **more):
    """Somebody who turns one trimmer until the sound is 10 kHz from the goal."""
    route = route_to(GOAL, RADIO, from_mhz=from_mhz, spacing_mhz=known_mhz, **more)
    console = replace(CONSOLE, sound_mhz=from_mhz, spacing_mhz=spacing_mhz)
    turns = -50.0 if from_mhz > GOAL.sound_mhz else 50.0
    return Person(begun(route, RADIO), turns=turns, stops=100.75, console=console, moves=moves)


def ended(person):
    return person.guide.verdict is not None


def measured(person):
    """The spacing as measured, held against the truth."""
    spacing = person.guide._search.spacing
    low_khz, high_khz = spacing.interval_95_khz
    truth_mhz = person.sound_mhz - person.console.picture_mhz
    assert low_khz <= 1e3 * (truth_mhz - 5.5) <= high_khz
    # 30 benches by chance, dials of 50 to 200 kHz: 23 kHz rms about the truth, docs/trim.md.
    assert spacing.mhz == pytest.approx(truth_mhz, abs=0.06)
    return spacing


@pytest.mark.parametrize("from_mhz", [101.0, 100.5])
def test_both_carriers_moved_by_a_quarter_megahertz(from_mhz):
    person = moving(from_mhz, "both")
    assert person.work()
    assert (person.guide.verdict, person.guide.on_target) == ("moved", True)
    measured(person)
    assert "it was the picture oscillator that moved" in person.guide.moved
    assert person.said("How far is the picture off?") == []  # a wish is no sentence


@pytest.mark.parametrize("from_mhz", [101.0, 100.5])
def test_the_sound_alone_moved_by_a_quarter_megahertz(from_mhz):
    person = moving(from_mhz, "sound")
    assert person.work(ended)
    assert (person.guide.verdict, person.guide.on_target) == ("stayed", False)
    assert (person.guide.stage, person.guide.is_done) == ("goal", False)
    spacing = measured(person)
    assert (spacing.mhz < 5.5) == (from_mhz > GOAL.sound_mhz)
    (warned,) = person.said("it was the sound trimmer that moved")
    assert warned.kind == "warn"
    assert ("sound has gone up" in warned.text) == (from_mhz > GOAL.sound_mhz)


@pytest.mark.parametrize(("moves", "verdict"), [("sound", "alone"), ("both", "both")])
def test_the_sound_trimmer_was_to_be_turned(moves, verdict):
    person = moving(101.0, moves, spacing_mhz=5.75, known_mhz=5.75)
    assert [leg.trimmer for leg in person.guide.route.legs] == ["sound"]
    assert person.work(ended)
    assert person.guide.verdict == verdict
    measured(person)


def test_a_spacing_that_nobody_knew_is_measured_and_no_trimmer_is_blamed_for_sure():
    """Wrong from the first, and only the oscillator turned."""
    person = moving(101.0, "both", spacing_mhz=5.63, known_mhz=None)
    assert person.work(ended)
    assert measured(person).right is False
    assert person.guide.on_target is False
    assert ", or the spacing was wrong before" in person.guide.moved


def test_a_move_too_small_to_matter_asks_for_no_picture():
    person = moving(100.79, "sound")
    assert person.work()
    assert (person.guide.verdict, person.guide.on_target) == ("slight", True)
    assert min(person.walked[1:]) > 100
    assert "cannot tell which of the two trimmers" in person.guide.moved


def test_a_picture_beyond_the_dial_is_said_to_be_so():
    goal = by_name("au-air:3")  # sound on 91.75, picture on 86.25
    route = route_to(goal, RADIO, from_mhz=92.0, spacing_mhz=5.5)
    console = replace(CONSOLE, sound_mhz=92.0)
    guide = begun(route, RADIO)
    person = Person(guide, turns=-50.0, stops=91.75, console=console, moves="sound")
    assert person.work()
    assert guide.verdict == "deaf"
    assert "the radio cannot tell which of the two trimmers moved" in guide.moved


@pytest.mark.parametrize(
    ("off_khz", "sure_khz", "right"),
    [(0.0, SPACING_KHZ - 1, True), (SPACING_KHZ, 10.0, None), (-2 * SPACING_KHZ, 10.0, False)],
)
def test_a_spacing_is_right_wrong_or_open(off_khz, sure_khz, right):
    spacing = Spacing(5.5 + off_khz / 1e3, off_khz, (off_khz - sure_khz, off_khz + sure_khz))
    assert spacing.right is right
