"""Where a modulator may go, against published carriers, spacings and rates typed here.

Carriers: 47 CFR 73.603 and 73.682 (US air), cable charts (STD), the Japanese, Australian and
CCIR plans as published.  108 to 137 MHz: ITU Radio Regulations, radionavigation and air-ground
speech.  Spacings and field rates of the systems: 47 CFR 73.682 and ITU-R BT.470.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listen.analysis.answer import CarrierFit, FittingChannel, Location, StopAnswer
from listen.analysis.destinations import destinations
from listen.analysis.destwords import listed
from listen.analysis.dialerror import steady
from listen.analysis.occupied import REACH_MHZ, gaps, unvisited
from listen.analysis.setfit import console_of, set_fit
from listen.channels import by_name, channels, plans, systems
from listen.errors import BadDial, UnknownChannel
from listen.radio import Radio

AIRCRAFT_MHZ = (108.0, 137.0)


def stop(dial_mhz, heard="hiss", **more):
    return StopAnswer(f"{dial_mhz:.2f}.wav", dial_mhz, "on", heard, 50.0, **more)


def whole_dial(sound_mhz, picture_mhz=None, stations=(), buzz_hz=None, step=0.1):
    """A stop every step from 87.5 to 108 MHz, and what each heard."""
    stops = []
    for dial_mhz in np.round(np.arange(87.5, 108.01, step), 4):
        heard = "hiss"
        if any(abs(dial_mhz - mhz) < 0.12 for mhz in stations):
            heard = "station"
        if picture_mhz is not None and abs(dial_mhz - picture_mhz) < 0.12:
            heard = "picture"
        if abs(dial_mhz - sound_mhz) < 0.12:
            heard = "console"
        buzz = buzz_hz if heard in ("picture", "console") else None
        stops.append(stop(float(dial_mhz), heard, buzz_hz=buzz))
    return tuple(stops)


def place(name, off_khz=0.0, stations=(), also=(), **more):
    """A console found on a channel, with the other channels that share its sound carrier."""
    on = by_name(name)
    fitting = [by_name(one) for one in (name, *also)]
    sound_mhz = on.sound_mhz + off_khz / 1e3
    known = {"spacing_mhz": on.spacing_mhz, "spacing_basis": "measured"} if not also else {}
    stops = more.pop("stops", None) or whole_dial(sound_mhz, on.picture_mhz, stations)
    told = Location(
        True,
        0.99,
        "It is heard.",
        stops,
        sound_carrier_mhz=sound_mhz,
        interval_95_mhz=(sound_mhz - 0.02, sound_mhz + 0.02),
        heard_as="direct",
        picture_carrier_mhz=on.picture_mhz + off_khz / 1e3 if not also else None,
        channels=tuple(
            FittingChannel(c.plan, c.label, c.sound_mhz, c.picture_mhz, off_khz) for c in fitting
        ),
        **known,
    )
    return replace(told, **more)


def names(answer):
    return [one.channel.name for one in answer.ranked]


def one(answer, name):
    return next(d for d in answer.ranked if d.channel.name == name)


# The scenario of the demonstration


def test_an_australian_console_leaves_channel_5_for_4_because_of_a_station_on_its_picture():
    told = place("au-air:5", -34.0, stations=(97.1, 98.9, 101.9, 104.2, 105.7))
    answer = destinations(told, Radio(), ["au-air"])
    assert answer.found
    assert names(answer) == ["au-air:4", "au-air:5"]
    best, here = answer.ranked
    # Published: channel 4 has its picture on 95.25 and its sound on 100.75, channel 5 on 107.75.
    assert (best.channel.picture_mhz, best.sound_mhz) == (95.25, 100.75)
    assert best.move_khz == pytest.approx(100_750 - 107_716, abs=1e-6)
    assert (best.here, best.fit.sound, best.check.how) == (False, "fits", "direct")
    assert [near.where for near in best.stations] == ["channel", "channel"]
    assert here.here
    near = [near for near in here.stations if near.where == "picture"]
    assert [n.station.mhz for n in near] == pytest.approx([101.9], abs=0.11)
    assert near[0].off_khz == pytest.approx(-350, abs=110)  # a stop of 100 kHz tells no better
    assert any("coarse pattern" in sentence for sentence in here.reasons)
    assert "listen trim FOLDER --to au-air:4" in answer.next


def test_the_next_command_names_the_folder_and_is_one_that_trim_takes():
    told = place("au-air:5", -34.0, stations=(101.9,))
    best = destinations(told, Radio(), ["au-air"], folder="my-sweep")
    assert best.next == "Turn the modulator there with: listen trim my-sweep --to au-air:4"
    here = destinations(place("au-air:5", 12.0), Radio(), ["au-air"], folder="my-sweep")
    assert here.next.endswith("listen trim my-sweep --to au-air:5")
    # A dial of 90 to 97 MHz hears neither us-air:6 (87.75) nor its images (66.35 and 109.15) nor
    # its mirror (78.75).
    blind = destinations(
        place("us-cable-std:95"), Radio(band_mhz=(90.0, 97.0)), ["us-air"], folder="my-sweep"
    )
    assert names(blind)[0] == "us-air:6"
    assert blind.ranked[0].check is None
    assert "listen trim" not in blind.next
    assert "87.75 MHz" in blind.next


def test_a_station_on_its_sound_makes_a_direct_check_unsure():
    clear = one(destinations(place("au-air:5"), Radio(), ["au-air"]), "au-air:4")
    hidden = one(
        destinations(place("au-air:5", stations=(100.9,)), Radio(), ["au-air"]), "au-air:4"
    )
    assert (clear.check.how, clear.check.sure) == ("direct", True)
    assert (hidden.check.how, hidden.check.sure) == ("direct", False)
    assert any("a station there may hide it" in said for said in hidden.reasons)


def test_where_nothing_is_in_the_way_it_stays():
    answer = destinations(place("au-air:5", 12.0), Radio(), ["au-air"])
    assert names(answer)[0] == "au-air:5"
    assert answer.reason == (
        "It stands on au-air:5 now, and no channel of au-air within reach is better."
    )
    assert answer.ranked[0].reasons[0] == "It stands there now, off by +12 kHz."
    assert answer.next.startswith("Leave it, or take out the 12 kHz")


# What is never proposed

IN_IT = {  # name: picture, sound or mirror inside 108 to 137 MHz, as published
    "us-cable-std:98": 109.25,
    "us-cable-std:99": 115.25,
    "us-cable-std:14": 121.25,
    "jp-cable:C13": 109.25,
    "eu-ccir-cable:S2": 112.25,
    "cn-cable:Z1": 112.25,
    "au-air:5A": 138.25 - 5.5,  # the channel begins at 137, but its mirror lies below
}


@pytest.mark.parametrize("name", IN_IT)
def test_what_touches_the_band_of_aircraft_is_left_out_and_named(name):
    low_mhz, high_mhz = AIRCRAFT_MHZ
    assert low_mhz < IN_IT[name] < high_mhz
    answer = destinations(place("jp-air:3"), Radio(), [name.split(":")[0]], within_mhz=1000)
    assert name not in names(answer)
    left_out = {why: [c.name for c in those] for why, those in answer.left_out}
    assert name in left_out["aeronautical"]


@pytest.mark.parametrize("name", ["au-air:5", "us-cable-std:97", "jp-air:3"])
def test_a_channel_that_ends_where_the_band_begins_is_not_in_it(name):
    assert by_name(name).high_mhz == AIRCRAFT_MHZ[0]
    assert name in names(destinations(place(name), Radio(), [name.split(":")[0]]))


def test_a_spacing_that_would_put_the_sound_among_aircraft_is_no_destination():
    # Its picture on 102.25 and 6.5 MHz above it: 108.75, though channel 5's own sound is 107.75.
    answer = destinations(place("oirt-dk:R5"), Radio(), ["au-air"])
    assert "au-air:5" not in names(answer)
    assert one(answer, "au-air:4").sound_mhz == pytest.approx(95.25 + 6.5)


ON_DIAL = [c.name for c in channels() if c.sound == "FM" and 76 < c.sound_mhz < 108]


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(ON_DIAL), st.floats(-150, 150), st.floats(0.1, 1000), st.floats(-300, 300))
def test_nothing_proposed_ever_sends_among_aircraft(name, off_khz, within_mhz, trim_khz):
    told = place(name, off_khz)
    told = replace(told, spacing_mhz=told.spacing_mhz + trim_khz / 1e3)
    answer = destinations(told, Radio(), within_mhz=within_mhz)
    low_mhz, high_mhz = AIRCRAFT_MHZ
    for found in answer.ranked:
        channel = found.channel
        assert channel.high_mhz <= low_mhz or channel.low_mhz >= high_mhz
        mirror_mhz = 2 * channel.picture_mhz - found.sound_mhz
        for mhz in (channel.picture_mhz, channel.sound_mhz, found.sound_mhz, mirror_mhz):
            assert not low_mhz <= mhz <= high_mhz
        assert abs(found.move_khz) <= 1e3 * within_mhz + 1e-6
    left_out = [c for _, those in answer.left_out for c in those]
    assert len(answer.ranked) + len(left_out) == len(channels())  # each is told of, once


def test_am_sound_is_left_out():
    answer = destinations(place("au-air:4"), Radio(), ["fr-l-vhf"], within_mhz=1000)
    assert names(answer) == []
    assert not answer.found
    assert {why for why, _ in answer.left_out} == {"am"}


# What the set makes of it

SPACINGS_MHZ = {  # BT.470
    **dict.fromkeys(("M", "J", "N"), 4.5),
    **dict.fromkeys(("B", "G", "H"), 5.5),
    "I": 6.0,
    **dict.fromkeys(("D", "K", "K1"), 6.5),
}
ONE_OF = {  # a channel of each system above band I, where one is an FM-sound channel
    system: next(c.name for c in channels() if c.system == system and c.picture_mhz > 70)
    for system in SPACINGS_MHZ
}


@pytest.mark.parametrize("of_console", SPACINGS_MHZ)
@pytest.mark.parametrize("of_set", SPACINGS_MHZ)
def test_there_is_sound_where_the_spacings_are_alike_and_none_half_a_megahertz_off(
    of_console, of_set
):
    console = console_of(place(ONE_OF[of_console]))
    fit = set_fit(console, by_name(ONE_OF[of_set]))
    off_khz = 1e3 * (SPACINGS_MHZ[of_set] - SPACINGS_MHZ[of_console])
    # UK channels are published with 5.9996 MHz here and there.
    assert fit.off_khz == pytest.approx(off_khz, abs=0.5)
    assert fit.sound == ("fits" if off_khz == 0 else "none")


@pytest.mark.parametrize(
    ("trim_khz", "sound"),
    [(60, "fits"), (-60, "fits"), (180, "trim"), (-180, "trim"), (400, "none")],
)
def test_a_sound_trimmer_that_is_off_is_told_from_another_system(trim_khz, sound):
    told = place("au-air:5")
    told = replace(told, spacing_mhz=5.5 + trim_khz / 1e3)
    best = one(destinations(told, Radio(), ["au-air"]), "au-air:4")
    assert best.fit.sound == sound
    assert best.fit.off_khz == pytest.approx(-trim_khz, abs=0.01)
    said = " ".join(best.reasons)
    assert (f"{abs(trim_khz)} kHz" in said) == (sound != "fits")
    assert ("would have to go down" in said) == (trim_khz > 100)
    assert ("Picture without sound" in said) == (sound == "none")


def test_a_set_without_sound_is_no_find_and_another_one_is_asked_for():
    answer = destinations(place("au-air:5"), Radio(), ["us-cable-std"])
    assert not answer.found
    assert answer.ranked
    assert all(found.fit.sound == "none" for found in answer.ranked)
    assert "would have sound" in answer.reason
    assert answer.next == (
        "Look for a set that has a plan with 5.5 MHz between picture and sound; which have, this "
        "tells: listen destinations FOLDER"
    )


FIELDS_HZ = {"M": 60, "J": 60, **dict.fromkeys(("N", "B", "G", "H", "I", "D", "K", "K1"), 50)}


@pytest.mark.parametrize("of_set", FIELDS_HZ)
@pytest.mark.parametrize("buzz_hz", [50.08, 49.92, 59.94, 60.054])
def test_another_field_rate_is_warned_of(of_set, buzz_hz):
    stops = whole_dial(107.75, 102.25, buzz_hz=buzz_hz)
    told = place("au-air:5", also=["jp-air:3"], stops=stops)
    fit = set_fit(console_of(told), by_name(ONE_OF[of_set]))
    assert fit.field_fits == (FIELDS_HZ[of_set] == round(buzz_hz))


def test_a_buzz_tells_which_of_the_channels_it_can_be():
    shared = {"also": ["jp-air:3", "us-cable-std:97"]}  # all three have their sound on 107.75
    unknown = console_of(place("au-air:5", **shared))
    assert (unknown.spacings_mhz, unknown.field_hz) == ((4.5, 5.5), None)
    stops = whole_dial(107.75, 102.25, buzz_hz=50.08)
    told = console_of(place("au-air:5", stops=stops, **shared))
    assert (told.spacings_mhz, told.field_hz, told.systems) == ((5.5,), 50.0, ("B",))
    stops = whole_dial(107.75, 103.25, buzz_hz=60.05)
    told = console_of(place("au-air:5", stops=stops, **shared))
    assert (told.spacings_mhz, set(told.systems)) == ((4.5,), {"J", "M"})


def test_a_spacing_that_is_not_known_is_said_to_be_so():
    told = place("au-air:5", also=["jp-air:3"], next="Visit 102.25 and 103.25 MHz.")
    answer = destinations(told, Radio(), ["au-air"])
    best = one(answer, "au-air:4")
    assert (best.fit.sound, best.fit.off_khz) == ("unknown", None)
    assert any("may stand 4.5 or 5.5 MHz above" in sentence for sentence in best.reasons)
    assert answer.next == "Visit 102.25 and 103.25 MHz."
    # Neither of them is 6.5: without sound, whichever it is.
    assert one(destinations(told, Radio(), ["oirt-dk"]), "oirt-dk:R5").fit.sound == "none"


def test_colour_is_warned_of_where_none_is_usual_with_both():
    # 525 lines with NTSC, 625 lines with PAL or SECAM (BT.470, from memory).
    american = place("us-cable-std:96")
    assert one(destinations(american, Radio(), ["au-air"]), "au-air:4").fit.other_colour
    assert not one(destinations(american, Radio(), ["jp-air"]), "jp-air:1").fit.other_colour
    said = one(destinations(american, Radio(), ["au-air"]), "au-air:4").reasons
    assert any("expect a picture without colour" in sentence for sentence in said)
    plain = destinations(american, Radio(), ["jp-air"])
    assert any("No carrier tells the colour system" in warning for warning in plain.warnings)


def test_every_system_has_its_colours():
    from listen.analysis.setfit import COLOURS

    assert set(COLOURS) == {system.name for system in systems()}


# Whether the radio can verify it


@pytest.mark.parametrize(
    ("name", "oscillator", "how", "dial_mhz", "sure"),
    [  # twice 10.7 MHz below or above, by arithmetic
        ("us-air:6", None, "direct", 87.75, True),
        ("us-air:5", "below", "image", 103.15, True),
        ("us-air:5", None, "image", 103.15, False),
        ("us-air:4", "below", "image", 93.15, True),
        ("us-air:5", "above", None, None, None),
        ("us-air:2", None, None, None, None),  # 59.75: its image at 81.15 is on no dial here
    ],
)
def test_a_move_is_verified_directly_by_an_image_or_not_at_all(
    name, oscillator, how, dial_mhz, sure
):
    radio = Radio(oscillator=oscillator)
    answer = destinations(place("us-cable-std:95"), radio, ["us-air"], within_mhz=50)
    check = one(answer, name).check
    found = (check.how, check.dial_mhz, check.sure) if check else (None, None, None)
    assert found == (how, dial_mhz, sure)
    said = " ".join(one(answer, name).reasons)
    assert ("cannot be verified by radio" in said) == (how is None)
    assert ("directly" in said) == (how == "direct")
    assert ("if its oscillator runs below" in said) == (how == "image" and not sure)


def test_a_dial_that_is_high_shows_an_image_as_much_too_low():
    """Its passband is off by 20 kHz; an image comes to it from the other side (mixing)."""
    told = place("us-cable-std:95", error=steady(20.0))
    radio = Radio(band_mhz=(76.0, 108.0), oscillator="below")
    answer = destinations(told, radio, ["us-air"], within_mhz=50)
    assert one(answer, "us-air:6").check.dial_mhz == pytest.approx(87.77)
    image = one(answer, "us-air:4").check
    assert (image.how, image.dial_mhz) == ("image", pytest.approx(93.13))


def test_a_station_on_the_image_leaves_nothing_to_verify_by():
    told = place("us-cable-std:95", stations=(103.1,))
    check = one(destinations(told, Radio(oscillator="below"), ["us-air"]), "us-air:5").check
    assert check is None


def test_a_mirror_is_surer_where_the_sweep_heard_one():
    # Channel 3: picture 86.25, sound 91.75, so its mirror is 80.75, on a dial of 76 to 90 MHz.
    radio = Radio(band_mhz=(76.0, 90.0), oscillator="above")
    heard = place("eu-ccir-cable:S03", stops=(stop(88.75, "console"), stop(77.75, "console")))
    check = one(destinations(heard, radio, ["au-air"]), "au-air:3").check
    assert (check.how, check.dial_mhz, check.sure) == ("mirror", 80.75, True)
    alone = place("eu-ccir-cable:S03", stops=(stop(88.75, "console"),))
    assert not one(destinations(alone, radio, ["au-air"]), "au-air:3").check.sure


def test_a_console_heard_as_an_image_tells_the_oscillators_side():
    told = place(
        "us-air:5", heard_as="image", stops=(stop(103.1, "console"), stop(103.2, "console"))
    )
    check = one(destinations(told, Radio(), ["us-air"]), "us-air:4").check
    assert (check.dial_mhz, check.sure, check.oscillator) == (93.15, True, "below")


def test_what_is_sure_comes_before_what_is_near():
    answer = destinations(place("us-cable-std:95"), Radio(), ["us-air"], within_mhz=50)
    # 6 is direct; 5 and 4 by an image if the oscillator is below; 3 and 2 not at all.
    assert names(answer) == ["us-air:6", "us-air:5", "us-air:4", "us-air:3", "us-air:2"]


# What stands there


@given(
    st.floats(88, 100),
    st.floats(0.1, 5),
    st.lists(st.floats(86, 106), max_size=30),
)
def test_gaps_are_what_no_stop_reaches(low_mhz, wide_mhz, visited_mhz):
    high_mhz = low_mhz + wide_mhz
    parts = gaps(low_mhz, high_mhz, visited_mhz)
    for mhz in np.linspace(low_mhz + 1e-3, high_mhz - 1e-3, 101):
        away_mhz = min((abs(mhz - v) for v in visited_mhz), default=9.0)
        if abs(away_mhz - REACH_MHZ) > 1e-5:  # off the very edge, where rounding decides
            inside = any(low <= mhz <= high for low, high in parts)
            assert inside == (away_mhz > REACH_MHZ)
    assert all(low_mhz <= low < high <= high_mhz for low, high in parts)


def test_places_that_were_not_visited_are_unknown_and_muted_stops_tell_nothing():
    stops = (stop(107.75, "console"), stop(100.75, "muted"), stop(95.25), stop(95.0, "spoiled"))
    stops += (stop(101.9, "station"),)  # near the picture of channel 5
    best = one(destinations(place("au-air:5", stops=stops), Radio(), ["au-air"]), "au-air:4")
    ends = [end for part in best.unknown_mhz for end in part]
    assert ends == pytest.approx([94.25, 95.10, 95.40, 96.25, 100.45, 101.05])
    assert any("94.25 to 95.10, 95.40 to 96.25 and 100.45 to" in said for said in best.reasons)
    answer = destinations(place("au-air:5", stops=stops), Radio(), ["au-air"])
    assert answer.next == (
        "Before turning anything hear whether a station is where nobody listened: "
        "listen sweep FOLDER --from 94.2 --to 95.1"
    )


def test_a_coarse_walk_of_the_whole_dial_leaves_nothing_unknown():
    stops = whole_dial(107.75, 102.25, step=0.2)
    best = one(destinations(place("au-air:5", stops=stops), Radio(), ["au-air"]), "au-air:4")
    assert best.unknown_mhz == ()
    assert "No station was heard near its picture or sound." in best.reasons


@pytest.mark.parametrize(
    ("station_mhz", "where", "trouble"),
    [
        (95.8, "picture", 2),
        (94.6, "picture", 2),
        (100.9, "sound", 2),
        (98.0, "channel", 1),
        (93.0, None, 0),
        (101.6, None, 0),
    ],
)
def test_a_station_is_told_by_where_in_the_channel_it_falls(station_mhz, where, trouble):
    told = place("au-air:5", stations=(station_mhz,))
    best = one(destinations(told, Radio(), ["au-air"]), "au-air:4")
    assert [near.where for near in best.stations] == ([where] if where else [])
    assert best.trouble == trouble


def test_a_fitted_station_stands_at_its_centre_and_a_stated_one_needs_no_stop():
    told = place("au-air:5", stations=(95.8,))
    heard = tuple(i for i, s in enumerate(told.stops) if s.heard == "station")
    fit = CarrierFit(95.803, (95.79, 95.81), (), (), heard)
    told = replace(told, others=(fit,))
    radio = Radio(known_stations_mhz=(98.3,))
    best = one(destinations(told, radio, ["au-air"]), "au-air:4")
    assert [near.station.mhz for near in best.stations] == [95.803, 98.3]
    assert best.stations[0].off_khz == pytest.approx(553, abs=1e-6)


def test_a_carrier_of_nobody_knows_whom_is_not_called_a_station():
    stops = (stop(107.75, "console"), stop(95.8, "unclear"), stop(100.75))
    fit = CarrierFit(95.8, (95.7, 95.9), (), (), (1,))
    told = place("au-air:5", stops=stops, others=(fit,))
    best = one(destinations(told, Radio(), ["au-air"]), "au-air:4")
    assert [near.station.sure for near in best.stations] == [False]
    assert any("A carrier that may be a station on 95.8 MHz" in said for said in best.reasons)


def test_off_the_dial_no_station_is_expected_and_the_rest_is_said_to_be_unknown():
    said = one(destinations(place("us-cable-std:95"), Radio(), ["us-air"]), "us-air:5").reasons
    assert any("no FM station is expected there, and what else is sent" in s for s in said)
    # A dial of 76 to 90 MHz does not hear what stands on 91.75, and stations do stand there.
    radio = Radio(band_mhz=(76.0, 90.0))
    told = place("eu-ccir-cable:S03", stops=(stop(88.75, "console"),))
    best = one(destinations(told, radio, ["au-air"]), "au-air:3")
    assert best.unknown_mhz[-1] == pytest.approx((91.45, 92.05))
    assert not any("no FM station is expected" in s for s in best.reasons)


# The whole


def test_a_console_that_was_not_found_goes_nowhere():
    told = Location(False, 0.1, "Only stations.", (stop(100.0),), next="Switch it on.")
    answer = destinations(told, Radio(), ["au-air"])
    assert (answer.found, answer.ranked, answer.console) == (False, (), None)
    assert answer.reason == "It is not known where the console is. Only stations."
    assert answer.next == "Switch it on."
    with pytest.raises(ValueError, match="without a sound carrier tells nothing of a console"):
        console_of(told)


def test_what_is_asked_wrongly_is_refused():
    told = place("au-air:5")
    with pytest.raises(UnknownChannel, match="no plan is called 'au-airs': did you mean au-air"):
        destinations(told, Radio(), ["au-airs"])
    with pytest.raises(BadDial, match="a reach of 0 MHz came: give how far to move"):
        destinations(told, Radio(), within_mhz=0)


def test_without_a_set_every_plan_is_considered_and_that_is_said():
    answer = destinations(place("au-air:5"), Radio())
    left_out = [c for _, those in answer.left_out for c in those]
    assert {c.plan for c in [*(d.channel for d in answer.ranked), *left_out]} == {
        plan.name for plan in plans()
    }
    assert answer.warnings[0].startswith("No --set was given")
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"], "or") == "a, b or c"


def test_what_was_visited_is_where_the_radio_stood_not_what_its_dial_showed():
    """A dial 300 kHz high that was set to 100.0 stood on 99.7, and reached 99.55 to 99.85."""
    told = replace(place("au-air:4", stops=(stop(100.0),)), error=steady(300.0))
    parts = unvisited(told, 99.4, 100.4)
    assert parts == (pytest.approx((99.4, 99.55)), pytest.approx((99.85, 100.4)))


def test_where_a_move_is_verified_is_said_in_the_dials_own_figures():
    """Australian channel 4 has its sound on 100.75; the dial shows 120 kHz more."""
    plain = place("au-air:5", stations=(90.0,))
    off = replace(plain, error=steady(120.0))
    found = [destinations(one, Radio(), ["au-air"]) for one in (plain, off)]
    shown = [
        next(one.check.dial_mhz for one in answer.ranked if one.channel.label == "4")
        for answer in found
    ]
    assert shown == [pytest.approx(100.75), pytest.approx(100.87)]
