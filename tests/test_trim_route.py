"""Where the dial goes, and the ladder: arithmetic of a dial's stops and a channel's carriers."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from listen.analysis.dialerror import DialError, of_image, steady
from listen.channels import by_name, channels
from listen.errors import BadDial
from listen.radio import Radio
from listen.trim import ladder, nearest_stop, route_to
from listen.trim.left import next_sides
from listen.trim.route import rung_mhz

# ITU-R BT.470: sound 5.5 MHz above the picture in system B; 6 in I, 6.5 in D.
AU_4 = by_name("au-air:4")
STEPS = st.sampled_from([10.0, 25.0, 50.0, 100.0, 200.0])


@given(mhz=st.floats(87.5, 108.0), step=STEPS, error=st.floats(-60, 60))
def test_the_nearest_stop_is_the_nearest_and_its_offset_leads_back(mhz, step, error):
    radio = Radio(step_khz=step)
    place = nearest_stop(mhz, radio, error)
    steps = (place.dial_mhz - 87.5) * 1e3 / step
    assert steps == pytest.approx(round(steps), abs=1e-6)
    assert place.dial_mhz + place.offset_khz / 1e3 == pytest.approx(mhz + error / 1e3, abs=1e-6)
    if 87.5 <= mhz + error / 1e3 <= 107.8:
        assert abs(place.offset_khz) <= step / 2 + 1e-6


@given(start=st.floats(88, 107.5), goal=st.floats(88, 107.5), step=STEPS)
def test_a_ladder_hands_the_carrier_on_and_ends_at_the_goal(start, goal, step):
    radio = Radio(step_khz=step)
    goal_mhz = nearest_stop(goal, radio).dial_mhz
    rungs = ladder(start, goal_mhz, radio)
    assert rungs[-1] == goal_mhz
    assert abs(rungs[0] - start) <= 0.1 + 1e-6
    gaps = [b - a for a, b in pairwise(rungs)]
    assert all(abs(gap) <= 0.2 + 1e-6 for gap in gaps)
    assert all(gap * (goal_mhz - start) > 0 for gap in gaps)


def test_no_rung_is_put_on_a_station():
    stations = (101.5, 101.6)
    rungs = ladder(102.3, 100.7, Radio(step_khz=100.0), stations)
    assert rungs == (102.3, 102.1, 101.9, 101.3, 101.1, 100.9, 100.7)


def test_beyond_its_ends_a_ladder_goes_on():
    (leg,) = route_to(AU_4, Radio(step_khz=100.0), from_mhz=101.2).legs
    assert leg.rungs == (101.1, 100.9, 100.7)
    assert [rung_mhz(leg, number) for number in (-2, -1, 3)] == [101.5, 101.3, 100.5]


def test_one_trimmer_where_the_spacing_is_the_channels():
    (leg,) = route_to(AU_4, Radio(), from_mhz=102.2, spacing_mhz=5.48).legs
    assert (leg.trimmer, leg.upward, leg.to_mhz) == ("picture", False, 100.75)
    assert (leg.place.dial_mhz, leg.place.offset_khz) == (100.7, 50.0)


def test_two_trimmers_where_the_spacing_is_another_systems():
    """6 MHz apart: with the picture right on 95.25 the sound stands on 101.25."""
    first, second = route_to(AU_4, Radio(), from_mhz=103.0, spacing_mhz=6.0).legs
    assert (first.trimmer, first.to_mhz) == ("picture", 101.25)
    assert (second.trimmer, second.from_mhz, second.to_mhz) == ("sound", 101.25, 100.75)


def test_the_sound_trimmer_alone_where_the_picture_is_right():
    (leg,) = route_to(AU_4, Radio(), from_mhz=101.25, spacing_mhz=6.0).legs
    assert (leg.trimmer, leg.from_mhz) == ("sound", 101.25)


AU_5 = by_name("au-air:5")  # picture on 102.25, sound on 107.75


@pytest.mark.parametrize("spacing_mhz", [6.0, 5.8])
def test_the_sound_trimmer_goes_first_where_the_way_would_leave_the_dial_or_enter_108(spacing_mhz):
    """With the picture right first, the sound would stand on 108.25, or 108.05 among aircraft."""
    first, second = route_to(AU_5, Radio(), from_mhz=103.0, spacing_mhz=spacing_mhz).legs
    between_mhz = pytest.approx(103.0 + 5.5 - spacing_mhz)
    assert (first.trimmer, first.to_mhz, first.spacing_mhz) == ("sound", between_mhz, spacing_mhz)
    assert (second.trimmer, second.from_mhz, second.spacing_mhz) == ("picture", between_mhz, 5.5)
    assert second.to_mhz == 107.75


def test_where_no_order_keeps_clear_of_aircraft_it_is_said():
    route = route_to(AU_5, Radio(), spacing_mhz=5.8)  # where it stands is not known
    assert route.legs[0].to_mhz == pytest.approx(108.05)
    assert "On the way the sound carrier stands on 108.05 MHz" in route.warnings[0]


def test_a_trimmer_can_be_asked_for_and_waiting_needs_no_ladder():
    (leg,) = route_to(AU_4, Radio(), from_mhz=102.2, trimmer="sound", wait=True).legs
    assert (leg.trimmer, leg.rungs) == ("sound", (100.7,))


@pytest.mark.parametrize(
    ("name", "says"),
    [
        (
            "us-air:2",
            r"59\.75 MHz cannot be heard on a dial from 87\.5 to 108 MHz, nor by an image",
        ),
        ("uk-vhf-405:9", "is AM, which an FM radio cannot play"),
    ],
)
def test_a_goal_that_cannot_be_heard_is_refused(name, says):
    with pytest.raises(BadDial, match=says):
        route_to(by_name(name), Radio(), from_mhz=100.0)


@pytest.mark.parametrize(("from_mhz", "said"), [(591.25, "a move of 490 MHz"), (107.75, "")])
def test_a_move_that_no_trimmer_makes_is_said_to_be_one(from_mhz, said):
    far = [line for line in route_to(AU_4, Radio(), from_mhz=from_mhz).warnings if "move" in line]
    assert len(far) == bool(said)
    assert all(said in line for line in far)


def test_a_station_on_the_goal_is_said():
    route = route_to(AU_4, Radio(), from_mhz=102.2, stations_mhz=(100.7,))
    assert "A station sits beside 100.7 MHz" in route.warnings[0]


def test_the_sides_go_outward_until_both_fell_off_the_top():
    radio, heard = Radio(step_khz=100.0), {}
    true = {100.7: 30.0, 100.6: 29.0, 100.8: 14.0, 100.5: 2.0}
    asked = []
    while (mhz := next_sides(100.7, heard, radio)) is not None:
        asked.append(mhz)
        heard[mhz] = true[mhz]
    assert asked == [100.7, 100.6, 100.8, 100.5]


def test_sides_beside_a_station_are_left_out():
    heard = {100.7: 30.0, 100.6: 1.0}
    assert next_sides(100.7, heard, Radio(step_khz=100.0), (100.9,)) is None


def test_a_goal_below_the_dial_is_led_to_by_its_image():
    """US channel 4: sound on 71.75; a radio with its oscillator below hears it 2 x 10.7 higher."""
    radio = Radio(step_khz=50.0, oscillator="below")
    route = route_to(by_name("us-air:4"), radio, from_mhz=73.0)
    (leg,) = route.legs
    assert route.heard_as == "image"
    assert leg.to_mhz == 71.75
    assert (leg.place.dial_mhz, leg.place.offset_khz) == (93.15, 0.0)  # 71.75 + 21.4
    assert leg.rungs == (94.35, 94.15, 93.95, 93.75, 93.55, 93.35, 93.15)  # from 73 + 21.4
    assert "near 93.15 MHz. It moves as the carrier does" in route.warnings[0]
    unsure = route_to(by_name("us-air:4"), Radio(step_khz=100.0), from_mhz=73.0)
    assert "if its oscillator runs below what it receives" in unsure.warnings[0]
    with pytest.raises(BadDial, match="nor by an image or a mirror"):
        route_to(by_name("us-air:4"), Radio(oscillator="above"), from_mhz=73.0)


@pytest.mark.parametrize(
    ("oscillator", "sound_mhz", "away_mhz"),
    [("below", 71.75, 10.7 + 10.685), ("above", 113.75, -10.7 - 10.715)],
)
def test_an_image_s_stop_takes_a_digital_dial_s_error_with_the_other_sign(
    oscillator, sound_mhz, away_mhz
):
    """Arithmetic of mixing, intermediate frequency 10.7 MHz, a dial that shows 98 as 98.015.

    Its oscillator 10.7 below the dial, the passband is 10.685 away from that; a carrier as far
    below the oscillator is heard with the dial 10.7 + 10.685 above it.  With the oscillator above,
    the passband is 10.715 away, and the image's dial 10.7 + 10.715 below the carrier.
    """
    goal = next(c for c in channels() if c.sound_mhz == sound_mhz and c.sound == "FM")
    radio = Radio(oscillator=oscillator, step_khz=50.0)
    route = route_to(goal, radio, error=steady(15.0, 4.0))
    place = route.legs[0].place
    shown_mhz = place.dial_mhz + place.offset_khz / 1e3
    assert route.heard_as == "image"
    assert shown_mhz == pytest.approx(sound_mhz + away_mhz, abs=1e-5)
    assert route.error.true_mhz(shown_mhz) == pytest.approx(sound_mhz, abs=1e-5)
    assert route.error.at(shown_mhz).spread_khz == pytest.approx(4.0, rel=0.01)


def test_an_image_s_stop_takes_a_scale_s_error_of_the_place_where_it_is_heard():
    """40 kHz high at 87.5, 245 at 108: 96.3 shows as 96.428 and so does its image, 74.9."""
    scale = DialError(
        *(np.array([40.0]), np.array([245.0]), np.ones(1)), ends_mhz=(87.5, 108.0), raster_khz=100.0
    )
    image = of_image(scale, 21_400.0)
    assert image.dial_mhz(74.9) == pytest.approx(scale.dial_mhz(96.3), abs=1e-4)
    assert image.true_mhz(image.dial_mhz(74.9)) == pytest.approx(74.9, abs=1e-4)


def test_a_goal_above_the_dial_is_led_to_by_its_mirror():
    """Sound on 113.75, spacing 4.5: the mirror stands 9 MHz lower, on 104.75."""
    radio = Radio(step_khz=50.0, oscillator="below")
    goal = next(c for c in channels() if c.sound_mhz == 113.75 and c.spacing_mhz == 4.5)
    route = route_to(goal, radio, from_mhz=107.75)
    assert route.heard_as == "mirror"
    assert route.legs[0].place.dial_mhz == 104.75
    assert "the mirror of the sound" in route.warnings[0]
    with pytest.raises(BadDial, match="the sound trimmer moves that the other way"):
        route_to(goal, radio, from_mhz=107.75, trimmer="sound")
