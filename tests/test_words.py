"""What an answer says: true of what was heard, and doable at the dial that is there.

Sweeps and carriers are laid out by hand here: what is tested is the sentence, not the finding.
Places come by arithmetic from the carriers of listen/data/channels.csv; the image of a 10.7 MHz
receiver is 21.4 MHz away.
"""

from dataclasses import replace

import numpy as np
import pytest

from listen.analysis.advice import next_in_doubt, next_picture, next_step
from listen.analysis.answer import CarrierFit
from listen.analysis.curve import HALF_WIDTHS_KHZ, Reading, fit_carrier
from listen.analysis.dialerror import steady
from listen.analysis.dialplaces import left_out, unvisited_mhz, whole_dial
from listen.analysis.evidence import Candidate
from listen.analysis.heard import Sound
from listen.analysis.hiss import Hiss
from listen.analysis.measures import Measures
from listen.analysis.modulator import Way
from listen.analysis.named import named_as
from listen.analysis.reasons import reason_found, reason_not_found, sweep_warnings
from listen.analysis.roar import Roar
from listen.analysis.runs import Run
from listen.analysis.spacing import Picture
from listen.analysis.survey import Survey, survey
from listen.analysis.volumewords import volume_said
from listen.radio import Radio

RADIO = Radio()
DIRECT = Way("direct", 1.0, 0.0, 5.5, None, 0.0)
IMAGE = Way("image", 1.0, 21.4, 5.5, "above", -3.0)
OPEN = Sound("open", 0.0, "the open band's roar")


def sweep_of(*dial_mhz, off=(), muting="none", heard=True):
    """Stops with the console on, then those with it off; off: (dial, "silent" | "spoiled" | "")."""
    stops = [Measures("on.flac", mhz, "on") for mhz in dial_mhz]
    for mhz, came in off:
        spoiled = "it is cut short" if came == "spoiled" else ""
        stops.append(Measures("off.flac", mhz, "off", spoiled=spoiled, silent=came == "silent"))
    nothing = np.zeros(len(stops))
    muted = np.array([stop.silent for stop in stops])
    roar = Roar(-60.0, -20.0, heard, nothing, muted, muting)
    return Survey(tuple(stops), nothing, roar, 0)


def grid(low_mhz, high_mhz, step_khz):
    return np.round(np.arange(low_mhz, high_mhz + 1e-6, step_khz / 1e3), 4).tolist()


def held(sweep, mhz, kind="programme", **odds):
    """A carrier held by the stops within 150 kHz of it."""
    those = [i for i, s in enumerate(sweep.stops) if abs(s.dial_mhz - mhz) < 0.16]
    those = [i for i in those if sweep.stops[i].console == "on"]
    dial = np.round(mhz + np.arange(-4, 5) / 10, 4)
    readings = [Reading(float(d), 25.0 if abs(d - mhz) < 0.16 else 0.0) for d in dial]
    widths = np.full(HALF_WIDTHS_KHZ.size, 1 / HALF_WIDTHS_KHZ.size)
    fit = fit_carrier(readings, mhz, half_width_weights=widths, coarse=True)
    return Candidate(Run(tuple(those), 0, kind), fit, **({"sound": 0.0} | odds))


def fit_of(mhz, half_khz=20.0):
    ends = (mhz - half_khz / 1e3, mhz + half_khz / 1e3)
    return CarrierFit(mhz, ends, (), (), ())


def advice(sweep, best, fit=None, radio=RADIO, plans=None):
    return next_step(sweep, best, fit, radio, plans)


def why_not(sweep, best, radio=RADIO, plans=None):
    return reason_not_found(sweep, (OPEN,) * len(sweep.stops), best, radio, plans)


@pytest.mark.parametrize(
    ("came", "says"),
    [
        (
            "silent",
            "Turn the radio's muting off, then record 100.80 again, with the console on and",
        ),
        ("spoiled", "Record 100.80 with the console off again: the recording that there is cannot"),
        ("", "Record 100.80 again, some ten seconds with the console on and as long with it off"),
    ],
)
@pytest.mark.parametrize("found", [True, False])
def test_an_off_stop_that_told_nothing_is_not_asked_for_in_the_same_words(came, says, found):
    stops = grid(100.4, 101.2, 100)
    sweep = sweep_of(*stops, off=[(100.8, came)])
    best = held(sweep, 100.78, sound=3.0)
    fit = fit_of(100.78) if found else None
    assert advice(sweep, best, fit).startswith(says)
    plain = sweep_of(*stops)
    assert advice(plain, best, fit) != advice(sweep, best, fit)
    assert "100.80" in advice(plain, best, fit)


def test_a_dial_of_50_khz_is_named_to_its_step():
    sweep = sweep_of(*grid(100.525, 100.925, 50))
    best = held(sweep, 100.726, sound=3.0)
    assert "Record 100.725 once more" in advice(sweep, best, fit_of(100.726))
    assert "at 100.575 to 100.875 MHz" in why_not(sweep, best)


@pytest.mark.parametrize(
    ("centre_mhz", "stops", "radio", "wanted"),
    [
        (100.75, grid(100.5, 101.0, 500), RADIO, [100.6, 100.9]),  # no finer than usual
        (100.75, grid(100.5, 101.0, 500), Radio(step_khz=50), [100.6, 100.9]),
        (100.75, [100.5, 100.7, 100.9], Radio(step_khz=200), []),
        (100.75, grid(100.4, 101.1, 100), RADIO, []),
        (107.95, grid(107.0, 108.0, 200), RADIO, [107.9]),  # 108.10 is beyond the dial
        (108.0, [107.6, 107.8, 108.0, 108.2], RADIO, [107.9, 108.1]),  # stops show that it is not
        (100.74, [100.75], RADIO, [100.55, 100.85]),
        (100.5, [100.0], Radio(step_khz=500), [100.5]),  # one place for both sides: once
    ],
)
def test_the_stops_asked_for_are_the_dial_s_own(centre_mhz, stops, radio, wanted):
    assert unvisited_mhz(sweep_of(*stops), centre_mhz, radio) == pytest.approx(wanted)


def test_stops_that_narrow_are_said_once_each():
    sweep = sweep_of(*grid(107.0, 108.0, 200))
    best = held(sweep, 107.95, sound=3.0, switch=16.0)
    assert advice(sweep, best, fit_of(107.95, 60.0)) == (
        "Add the stop left out beside it, 107.90: it narrows the interval."
    )
    assert advice(sweep, best, fit_of(107.95, 20.0)) is None


def test_a_find_that_lacks_neighbours_asks_for_the_switch_first_and_for_one_thing_only():
    sweep = sweep_of(100.6, 100.7, 100.9)
    proof = "Record 100.70 once more with the console off: if the sound goes, it is proved."
    assert advice(sweep, held(sweep, 100.72, sound=3.0), fit_of(100.72, 80.0)) == proof
    switched = held(sweep, 100.72, sound=3.0, switch=16.0)
    assert advice(sweep, switched, fit_of(100.72, 80.0)) == (
        "Add the stops left out beside it, 100.50 and 100.80: they narrow the interval."
    )


@pytest.mark.parametrize(
    ("step_khz", "radio", "finer"),
    [(200, RADIO, True), (200, Radio(step_khz=200), False), (100, RADIO, False)],
)
def test_behind_a_hard_mute_the_stops_between_are_asked_for_where_the_dial_has_them(
    step_khz, radio, finer
):
    """On a model radio a carrier of 33 dB was muted 98 and 102 kHz away from the dial."""
    sweep = sweep_of(*grid(88.0, 100.0, step_khz), muting="hard")
    station = held(sweep, 98.0, sound=-6.5)
    for best in (None, station):
        said = advice(sweep, best, radio=radio)
        assert "turn the radio's muting off and record the stops again" in said
        assert ("or stop every 100 kHz" in said) == finer
    buzz = advice(sweep, held(sweep, 90.0, "buzz"), radio=radio)
    how = ", muting off or in steps of 100 kHz" if finer else " again, muting off"
    assert buzz.startswith(f"Sweep from 94.50 to 96.60{how}:")
    elsewhere = held(sweep, 94.0, "buzz")  # its sound is past the stops made
    assert advice(sweep, elsewhere, radio=radio).startswith("Sweep from 98.50 to 100.60")
    assert " again" not in advice(sweep, elsewhere, radio=radio)


@pytest.mark.parametrize(("step_khz", "wide"), [(200, True), (100, False)])
def test_the_reason_counts_the_stops_that_a_mute_took_where_a_carrier_fits_between(step_khz, wide):
    dial = grid(88.0, 100.0, step_khz)
    sweep = sweep_of(*dial, muting="hard")
    sounds = (Sound("programme", -6.0, ""), *[Sound("muted", 0.0, "")] * (len(dial) - 1))
    for best in (held(sweep, 98.0, sound=-6.5), held(sweep, 90.0, "buzz")):
        said = reason_not_found(sweep, sounds, best, RADIO, None)
        assert ("the radio mutes, 60 of 61 stops let nothing through" in said) == wide


def test_a_picture_whose_sound_is_beyond_the_dial_says_so():
    # Picture 105.25: its sound is on 109.75 to 111.75 MHz, whatever its system.
    sweep = sweep_of(*grid(104.8, 105.8, 100))
    buzz = held(sweep, 105.25, "buzz")
    assert "is not on this dial, which ends at 108.00." in why_not(sweep, buzz)
    assert advice(sweep, buzz).startswith("`listen channels --picture 105.25` names the channels")
    wider = Radio(band_mhz=(76.0, 110.0))
    assert why_not(sweep, buzz, wider).endswith("its sound carrier is not on the stops made.")
    assert advice(sweep, buzz, radio=wider).startswith("Sweep from 109.70 to 110.00:")


def test_a_picture_within_reach_asks_for_its_sound_and_no_further():
    sweep = sweep_of(*grid(101.8, 102.8, 100))
    buzz = held(sweep, 102.25, "buzz")
    assert advice(sweep, buzz).startswith("Sweep from 106.70 to 108.00:")


def test_a_picture_whose_sound_was_listened_for_in_vain_asks_for_no_second_walk():
    """Picture 102.25: a sound 5.5 MHz over it would have been heard; a set then plays hiss."""
    sweep = sweep_of(*grid(101.8, 102.8, 100), *grid(106.7, 108.0, 100))
    buzz = held(sweep, 102.25, "buzz")
    assert "106.75 to 108.00 MHz, where its sound carrier should be, nothing" in why_not(
        sweep, buzz
    )
    assert "subcarrier is dead or far off" in advice(sweep, buzz)
    some = sweep_of(*grid(101.8, 102.8, 100), *grid(107.2, 108.0, 100))
    assert why_not(some, buzz).endswith("its sound carrier is not on the stops made.")
    assert advice(some, buzz).startswith("Sweep from 106.70 to 108.00:")


@pytest.mark.parametrize(
    ("stops", "radio", "asked"),
    [
        (grid(107.3, 107.9, 200), Radio(step_khz=200.0), "Record 102.30 and 103.30 too:"),
        (grid(107.3, 108.0, 100), RADIO, "Record 102.20 and 103.20 too:"),
        (grid(107.5, 108.0, 50), RADIO, "Record 102.25 and 103.25 too:"),
    ],
)
def test_the_picture_is_asked_for_where_the_dial_can_stop(stops, radio, asked):
    """The pictures of Australia 5 and Japan 3, which share the sound 107.75."""
    assert next_picture(sweep_of(*stops), [102.25, 103.25], radio).startswith(asked)


def test_a_dial_of_the_old_eastern_band_has_us_channel_4():
    """Sound 71.75 MHz (47 CFR 73.603 and 73.682); channel 3's, 65.75, lies under the dial."""
    eastern = Radio(band_mhz=(65.8, 74.0))
    said = advice(sweep_of(*grid(65.8, 74.0, 200)), None, radio=eastern)
    assert "UHF, US channel 3 and most other VHF channels" in said


def test_plans_that_are_not_on_this_dial_are_a_reason_of_their_own():
    sweep = sweep_of(*grid(99.0, 100.0, 100))
    assert why_not(sweep, None, plans=("uk-uhf",)) == (
        "No channel of the plans asked for (uk-uhf) has its sound on this dial, 87.50 to "
        "108.00 MHz."
    )
    assert "Locate again with no plan named" in advice(sweep, None, plans=("uk-uhf",))
    assert "this dial" not in why_not(sweep, None, plans=("au-air",))


def test_a_whole_dial_without_a_console_is_not_asked_for_again():
    some, whole = sweep_of(*grid(99.0, 100.0, 100)), sweep_of(*grid(87.5, 108.0, 200))
    assert (whole_dial(some, RADIO), whole_dial(whole, RADIO)) == (False, True)
    assert "then visit the stops that were left out." in advice(some, None)
    assert "UHF, US channels 3 and 4 and most other VHF channels" in advice(whole, None)
    assert "left out" not in advice(whole, None)
    assert "the whole dial was walked" in why_not(whole, None)
    gap = [mhz for mhz in grid(87.5, 108.0, 200) if not 98 < mhz < 98.5]
    assert not whole_dial(sweep_of(*gap), RADIO)


def test_stops_that_told_nothing_are_asked_for_as_such_and_never_called_left_out():
    """The dial was walked; some of its recordings cannot be used."""
    whole = sweep_of(*grid(87.5, 108.0, 100))
    assert (left_out(whole, 87.5, 108.0), left_out(whole, 87.5, 109.0)) == (False, True)
    lost = [
        replace(stop, spoiled="it is cut short") if 97.0 < stop.dial_mhz < 97.6 else stop
        for stop in whole.stops
    ]
    sweep = replace(whole, stops=tuple(lost))
    assert not whole_dial(sweep, RADIO)
    assert advice(sweep, None).endswith("then record again the stops that told nothing.")
    buzz = held(sweep, 91.5, "buzz")
    assert advice(sweep, buzz).startswith("Record again the stops from 96.00 to 98.")


def test_a_mute_that_hid_the_roar_is_named():
    sweep = sweep_of(*grid(100.4, 101.2, 100), muting="hard", heard=False)
    best = held(sweep, 100.78, "bare")
    assert why_not(sweep, best).startswith("The radio mutes where it holds no carrier")
    assert advice(sweep, best).startswith("Turn the radio's muting off, then record the stops")
    assert advice(sweep, best).endswith("record 100.80 with the console off.")


def test_what_the_switch_proved_is_never_called_a_station():
    sweep = sweep_of(*grid(107.4, 108.0, 100), off=[(107.7, "")])
    best = held(sweep, 107.71, sound=6.0, switch=16.0, switch_stop=7, sure=0.87)
    said = why_not(sweep, best, plans=("oirt-dk",))
    assert said.startswith("The console is heard at 107.60 to 107.80 MHz, for what is heard at")
    assert "no channel of the plans asked for (oirt-dk) accounts for it" in said
    assert "no plan named" in advice(sweep, best, plans=("oirt-dk",))
    assert "an image or a harmonic is not sure enough" in why_not(sweep, best)
    asked = advice(sweep, best)
    assert "--plan" in asked
    assert asked.endswith("Whether this is the sound carrier, an image or a harmonic is open.")


@pytest.mark.parametrize(("step_khz", "wide"), [(100, False), (300, False), (400, True)])
def test_only_what_is_held_too_widely_is_called_so(step_khz, wide):
    """Three stops: 0.2 and 0.6 MHz are one carrier's, 0.8 is more than 0.75."""
    sweep = sweep_of(100.0, 100.0 + step_khz / 1e3, 100.0 + 2 * step_khz / 1e3)
    best = replace(
        held(sweep, 100.0, sound=-6.5, switch=8.0, switch_stop=0, near=1.0),
        run=Run((0, 1, 2), 1, "programme"),
    )
    said, then = why_not(sweep, best), advice(sweep, best)
    assert ("it is held over more of the dial than one carrier can be" in said) == wide
    assert then.startswith(
        "Switch the radio's AFC off" if wide else "Record 100.00 again, some ten"
    )


@pytest.mark.parametrize(
    ("odds", "says"),
    [
        ({"sound": -6.5}, "but it sounds like a station, since it is in stereo."),
        ({"raster": -4.0, "way": -3.0, "sound": 0.0}, "but it sits where stations sit."),
        (
            {"way": -6.0, "sound": -1.0},
            "but no channel of the plans asked for (us-air) has its sound there.",
        ),
    ],
)
def test_where_the_switch_and_the_rest_contradict_each_other_the_reason_says_what(odds, says):
    sweep = sweep_of(100.6, 100.7, 100.8)
    best = held(sweep, 100.7, switch=6.0, switch_stop=1, near=1.0, **odds)
    sounds = (Sound("programme", -4.0, "it is in stereo"),) * 3
    assert reason_not_found(sweep, sounds, best, RADIO, ("us-air",)) == (
        "The console is heard at 100.60 to 100.80 MHz, for what is heard at 100.70 changes when "
        f"the console is switched off; {says}"
    )
    then = advice(sweep, best, plans=("us-air",))
    assert then.startswith("Record 100.70 again, some ten seconds with the console on")


def test_what_is_nearly_sure_in_each_way_is_not_said_to_be_too_wide():
    sweep = sweep_of(100.6, 100.7, 100.8)
    best = held(sweep, 100.7, switch=16.0, switch_stop=1, near=0.91, sure=0.91, sound=3.0)
    assert not best.is_find
    assert why_not(sweep, best).endswith(
        "but by which way, and where it stands, are together not sure enough."
    )
    assert advice(sweep, best).startswith("Add the stops left out beside it")
    whole = sweep_of(*grid(100.3, 101.1, 100))
    best = held(whole, 100.7, switch=16.0, switch_stop=4, near=0.91, sure=0.91, sound=3.0)
    assert advice(whole, best).endswith(
        "By which way it is heard, and where it stands, are together still open."
    )


def test_only_a_place_that_is_open_is_laid_to_strength():
    whole = sweep_of(*grid(100.3, 101.1, 100))
    odds = {"sound": 3.0, "switch": 16.0, "switch_stop": 4}
    for near, sure, laid in ((0.85, 1.0, True), (1.0, 0.85, False), (0.91, 0.91, False)):
        said = advice(whole, held(whole, 100.7, near=near, sure=sure, **odds))
        assert ("what is too strong has no place" in said) == laid


def test_a_doubtful_check_is_told_as_one():
    stops = grid(100.4, 101.2, 100)
    best = held(sweep_of(*stops), 100.78, sound=1.4, raster=0.5)
    doubted = sweep_of(*stops, off=[(100.8, "")])
    words = "may be a station: whether the console's switch changed it is in doubt"
    assert words in why_not(doubted, best)
    assert words not in why_not(sweep_of(*stops), best)
    assert words not in why_not(sweep_of(*stops, off=[(100.8, "silent")]), best)


def reason(sweep, best, named):
    sounds = (Sound("programme", 2.0, "it plays softer than a station"),) * len(sweep.stops)
    return reason_found(best, sounds, sweep, named, RADIO)


def test_no_channel_of_the_plans_asked_for_is_not_none_of_any():
    sweep = sweep_of(*grid(107.4, 108.0, 100))
    best = held(sweep, 107.72, sound=3.0)
    ends = (107.7, 107.74)
    some = named_as(DIRECT, 107.72, ends, steady(), Picture(), ("oirt-dk",))
    assert some.no_channel == (
        "no channel of the plans asked for (oirt-dk) has its sound there; of the other plans, "
        "us-cable-std:97, jp-air:3, au-air:5 and 1 more would fit"
    )
    assert some.no_channel in reason(sweep, best, some)
    # A picture on 102.22 leaves the one channel with 5.5 MHz between its carriers.
    heard = Picture(heard_mhz=102.22, spread_khz=10.0, by="buzz")
    wrong = named_as(DIRECT, 107.72, ends, steady(), heard, ("jp-air",))
    assert wrong.no_channel == (
        "by the sound jp-air:3 would fit, but no channel of the plans asked for (jp-air) has its "
        "picture at 102.220 MHz, where it was heard; of the other plans, au-air:5 would fit"
    )
    nowhere = named_as(DIRECT, 99.0, (98.98, 99.02), steady(), Picture(), None)
    assert nowhere.no_channel == "no channel of any plan has its sound there"
    assert named_as(DIRECT, 107.72, ends, steady(), heard, None).no_channel == ""


def test_a_picture_heard_too_roughly_is_not_placed_to_the_kilohertz():
    """Japan 1: picture 91.25, sound 95.75.  The answer then gives the implied place beside it."""
    sweep, ends = sweep_of(*grid(95.5, 96.0, 100)), (95.72, 95.78)
    best = held(sweep, 95.75, sound=3.0)
    rough = Picture(heard_mhz=91.2, spread_khz=60.0, by="buzz")
    named = named_as(DIRECT, 95.749, ends, steady(), rough, ("jp-air",))
    assert (named.picture.basis, round(named.picture.mhz, 3)) == ("implied", 91.249)
    assert "a buzz one spacing below places its picture near 91.2 MHz." in reason(
        sweep, best, named
    )
    exact = Picture(91.213, 4.536, "measured", heard_mhz=91.213, spread_khz=10.0, by="buzz")
    named = named_as(DIRECT, 95.749, ends, steady(), exact, ("jp-air",))
    assert "places its picture at 91.213 MHz." in reason(sweep, best, named)


def test_recordings_that_are_spoiled_alike_are_told_once():
    sweep = sweep_of(*grid(95.0, 95.9, 100))
    stops = [replace(s, file=f"{n}.m4a", spoiled="it is AAC") for n, s in enumerate(sweep.stops)]
    stops[0] = replace(stops[0], spoiled="the file is empty")
    stops[9] = replace(stops[9], spoiled="")
    said = sweep_warnings(replace(sweep, stops=tuple(stops)), (OPEN,) * 10, (50.0,))
    assert said[0] == (
        "Not measured: 0.m4a: the file is empty; 1.m4a, 2.m4a, 3.m4a and 5 more: it is AAC."
    )


def test_a_reason_without_one_good_piece_is_still_a_sentence():
    sweep = sweep_of(*grid(107.4, 108.0, 100))
    named = named_as(DIRECT, 107.72, (107.7, 107.74), steady(), Picture(), None)
    for odds in ({"sound": 0.9}, {"sound": 0.9, "pair": 2.0}):
        assert ": ." not in reason(sweep, held(sweep, 107.72, **odds), named)
    assert "other carriers of the same modulator" in reason(
        sweep, held(sweep, 107.72, sound=0.9, pair=2.0), named
    )


def test_a_picture_that_would_settle_is_named_where_the_dial_shows_it():
    # US channel 6 and Italian C share 87.75 MHz; pictures on 83.25 and 82.25.
    below = named_as(DIRECT, 87.75, (87.73, 87.77), steady(), Picture(), None)
    sweep = sweep_of(*grid(87.5, 88.2, 100))
    said = reason(sweep, held(sweep, 87.75, sound=3.0), below)
    assert said.endswith(
        "the picture carrier, 83.25 or 82.25 MHz, would tell which, but is beyond this dial."
    )
    # Heard as an image 21.4 MHz up, by a dial 0.02 MHz high, the same pictures are in reach.
    way = replace(IMAGE, shift_mhz=-21.4, oscillator="below")
    image = named_as(way, 87.75, (87.73, 87.77), steady(20.0), Picture(), None)
    far = Radio(band_mhz=(76.0, 110.0))
    sweep = sweep_of(*grid(108.8, 109.6, 100))
    sounds = (OPEN,) * len(sweep.stops)
    said = reason_found(held(sweep, 109.17, sound=0.5), sounds, sweep, image, far)
    assert "an image: the carrier itself is on 87.750 MHz" in said
    assert "above" not in said
    assert "83.25 or 82.25 MHz, which this dial shows at 104.67 or 103.67, would tell" in said
    shown = [dial_mhz for _, dial_mhz in image.pictures_mhz()]
    assert next_picture(sweep, shown, far).startswith("Record 104.70 and 103.70 too:")
    assert next_picture(sweep_of(103.7, 104.7, 109.2), shown, far) is None
    assert "--plan" in next_picture(sweep, shown, Radio(band_mhz=(107.0, 110.0)))
    assert next_picture(sweep, shown[:1], far) is None


@pytest.mark.parametrize(
    ("trim_khz", "off_khz", "spread_khz", "says"),
    [
        (0.0, 0.0, 5.0, ""),
        (120.0, 0.0, 5.0, "its spacing is 120 kHz over 5.5 MHz: the sound subcarrier's trimmer"),
        (-60.0, 0.0, 5.0, "its spacing is 60 kHz under 5.5 MHz: the sound subcarrier's trimmer"),
        (0.0, -90.0, 5.0, "its picture carrier is 90 kHz under that of au-air:4: the picture osc"),
        (120.0, 0.0, 70.0, ""),
        (0.0, -90.0, 50.0, ""),
    ],
)
def test_which_trimmer_is_off_is_told_where_the_picture_was_measured(
    trim_khz, off_khz, spread_khz, says
):
    """Australia 4: picture 95.25, sound 100.75; the picture oscillator moves both."""
    picture_mhz = 95.25 + off_khz / 1e3
    sound_mhz = picture_mhz + 5.5 + trim_khz / 1e3
    heard = Picture(
        picture_mhz, sound_mhz - picture_mhz, "measured", picture_mhz, spread_khz, "buzz"
    )
    ends_mhz = (sound_mhz - 0.01, sound_mhz + 0.01)
    found = named_as(DIRECT, sound_mhz, ends_mhz, steady(), heard, ("au-air",))
    assert found.trimmer.startswith(says)
    assert bool(found.trimmer) == bool(says)
    guessed = named_as(DIRECT, sound_mhz, ends_mhz, steady(), Picture(), ("au-air",))
    assert (guessed.picture.basis, guessed.trimmer) == ("implied", "")


def test_a_way_in_doubt_asks_for_other_plans_where_those_asked_for_have_no_channel():
    sweep = sweep_of(*grid(99.0, 100.0, 100))
    ways = (replace(DIRECT, plan=-4.6), replace(IMAGE, plan=-4.6))
    named = next_in_doubt(sweep, ways, RADIO, ("it-vhf",))
    assert named.startswith("Locate again with no plan named")
    assert "oscillator" in next_in_doubt(sweep, ways, RADIO, None)
    near = (replace(DIRECT, plan=2.0), replace(IMAGE, plan=1.5))
    assert "oscillator" in next_in_doubt(sweep, near, RADIO, ("it-vhf",))


def test_a_way_in_doubt_asks_for_stops_only_where_some_were_left_out():
    ways = (replace(DIRECT, plan=2.0), replace(DIRECT, heard_as="mirror", plan=1.5))
    some, whole = sweep_of(*grid(99.0, 100.0, 100)), sweep_of(*grid(87.5, 108.0, 200))
    for plans in (None, ("it-vhf",)):
        assert next_in_doubt(some, ways, RADIO, plans).startswith("Visit the stops that were left")
        assert "left out" not in next_in_doubt(whole, ways, RADIO, plans)
    assert "--plan" in next_in_doubt(whole, ways, RADIO, None)
    assert "--plan" not in next_in_doubt(whole, ways, RADIO, ("it-vhf",))


def test_what_is_surely_a_console_s_and_badly_placed_is_not_called_a_station():
    """As the mirror of a sound beyond the dial whose picture was not placed."""
    sweep = sweep_of(*grid(98.0, 101.0, 100))
    open_place = held(sweep, 99.7, sound=6.5, near=0.85)
    assert open_place.console > 0.98
    said = why_not(sweep, open_place)
    assert said.startswith("A console seems to be heard at 99.60 to 99.80 MHz, but ")
    assert said.endswith("do not place its sound carrier to within 150 kHz.")
    assert "may be a station" in why_not(sweep, held(sweep, 99.7, sound=3.0, near=0.85))
    assert "may be a station" in why_not(sweep, held(sweep, 99.7, sound=6.5, near=0.95))


@pytest.mark.parametrize(
    ("roar_db", "says"),
    [
        ((0, 0, 0, 6, 6, 6), ["changed by +6 dB near the stop at 91.00 MHz: that was"]),
        (
            (0, 0, 0, -6, -6, -6, -6, 2, 2, 2),
            ["by -6 dB near the stop at 91.00 MHz and by +8 dB near 95.00 MHz: that was"],
        ),
        ((0, 0, 0, None, 6, 6, 6), ["by +6 dB near the stop at 92.00 MHz", "1 stop there counts"]),
        ((0, 0, None, None, 6), ["may have changed near 90.00 MHz", "6 dB louder", "3 of 5 stops"]),
        (
            (9, None, None, 0, 0, 0, 0, 0, 0, 0, None, 6),
            [
                "changed near 90.00 MHz: the open band was 9 dB louder or softer there. 3 of 12 "
                "stops are in doubt by as much and count little.",
                "changed near 98.00 MHz: the open band was 6 dB louder or softer there. 2 of 12 "
                "stops are in doubt by as much and count little: sweep again, and leave the knob",
            ],
        ),
        ((0, 0, None, None, 0), []),
    ],
)
def test_a_turned_knob_is_said_and_where_it_is_in_doubt(roar_db, says):
    levels = [-20.0 if db is None else -40.0 + db for db in roar_db]
    stops = []
    for n, (level, db) in enumerate(zip(levels, roar_db, strict=True)):
        calm = level - (52.0 if db is not None else 75.0)
        hiss = Hiss((calm,) * 3, (calm + 1,) * 3, calm + 9)
        stops.append(Measures("", 88.0 + n, "on", level_dbfs=level, hiss=hiss))
    said = " ".join(volume_said(survey(tuple(stops))))
    assert [words for words in says if words not in said] == []
    assert bool(said) == bool(says)
