"""From clips to an answer, on small simulated benches: what is found, what is not, and why."""

from dataclasses import replace

import numpy as np
import pytest

from listen.analysis.locate import locate
from listen.clip import Clip, spoiled_clip
from listen.errors import BadClip
from listen.radio import Radio
from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench
from listen.simulate.receiver import Receiver

SOUND_MHZ = 100.783  # Australian channel 4 (95.25, 100.75), 33 kHz high; off a 100 kHz raster
CONSOLE = Console(
    SOUND_MHZ,
    30.0,
    spacing_mhz=5.5,
    deviation_khz=50.0,
    modulation=0.7,
    programme="chip",
    seed=5,
    picture_db=12.0,
    field_hz=50.08,
    incidental_khz=10.0,
)
STATIONS = (Station(99.9, 40.0, "music", 21), Station(101.7, 35.0, "speech", 22))
DIAL_MHZ = tuple(round(99.5 + n / 10, 2) for n in range(25))
HEARD = {"console", "station", "picture", "hiss", "muted", "unclear", "spoiled"}
DWELL_S = 1.0


def walk(console=CONSOLE, stations=STATIONS, dial_mhz=DIAL_MHZ, off_mhz=(), **radio):
    bench = Bench(stations, console, receiver=Receiver(passband_khz=200.0, **radio), seed=9001)
    stops = [(mhz, "on") for mhz in dial_mhz] + [(mhz, "off") for mhz in off_mhz]
    return [
        replace(bench.hear(mhz, DWELL_S, switch, n * 2.0), file=f"{n:03}.flac")
        for n, (mhz, switch) in enumerate(stops)
    ]


@pytest.fixture(scope="module")
def clips():
    return walk()


@pytest.fixture(scope="module")
def answer(clips):
    return locate(clips)


@pytest.fixture(scope="module")
def silent_clips():
    return walk(replace(CONSOLE, programme="silence"))


def is_the_console(answer):
    """Found, and within the 150 kHz that the probability speaks of."""
    return answer.found and abs(answer.sound_carrier_mhz - SOUND_MHZ) < 0.15


def test_a_console_among_stations_is_found(answer):
    assert answer.found
    # Measured: 1.4 kHz off; a dial of 100 kHz is good to 22 kHz in 95 of 100.
    assert answer.sound_carrier_mhz == pytest.approx(SOUND_MHZ, abs=0.022)
    low_mhz, high_mhz = answer.interval_95_mhz
    assert low_mhz < SOUND_MHZ < high_mhz
    assert high_mhz - low_mhz < 0.1
    assert answer.probability > 0.9
    assert answer.heard_as == "direct"
    assert (answer.channels[0].plan, answer.channels[0].channel) == ("au-air", "4")


@pytest.mark.parametrize("misalignment_khz", [-25.0, 25.0])
def test_frequencies_are_true_whatever_the_dial_showed(misalignment_khz):
    # Three stations on the raster tell the dial's error, and it is taken out.
    third = Station(99.2, 38.0, "music", 23)
    dial_mhz = (*(round(98.8 + n / 10, 2) for n in range(7)), *DIAL_MHZ)
    clips = walk(stations=(third, *STATIONS), dial_mhz=dial_mhz, misalignment_khz=misalignment_khz)
    found = locate(clips)
    low_mhz, high_mhz = found.interval_95_mhz
    assert low_mhz < SOUND_MHZ < high_mhz
    assert found.sound_carrier_mhz == pytest.approx(SOUND_MHZ, abs=0.022)


@pytest.mark.parametrize("misalignment_khz", [-25.0, 25.0])
def test_an_image_is_true_whatever_the_dial_showed(misalignment_khz):
    """US cable 98, 113.75 MHz, its image at 92.35: the passband's error turns its sign there."""
    stations = (Station(91.0, 38.0, "music", 23), Station(94.0, 40.0, "speech", 24))
    console = replace(CONSOLE, sound_mhz=113.75, strength_db=45.0, spacing_mhz=4.5)
    near = [round(mhz + n / 10, 1) for mhz in (91.0, 92.4, 94.0) for n in range(-4, 5)]
    clips = walk(
        *(console, stations, near, (92.4,)),
        misalignment_khz=misalignment_khz,
        image_rejection_db=20.0,
    )
    answer = locate(clips, Radio(oscillator="above"), plans=["us-cable-std"])
    assert answer.heard_as == "image"
    without = locate(clips[:-1], Radio(oscillator="above"), plans=["us-cable-std"])
    assert not without.found
    assert "an image or a harmonic of one on 113.7" in without.reason
    assert "switch the console off" in without.next
    # Measured: 19 and 14 kHz off, and 47 and 52 with the sign of what is heard directly.
    assert answer.sound_carrier_mhz == pytest.approx(113.75, abs=0.03)


def test_what_was_heard_is_said_stop_by_stop(answer):
    heard = {stop.dial_mhz: stop.heard for stop in answer.stops}
    assert heard[100.8] == "console"
    assert heard[99.9] == heard[101.7] == "station"
    assert heard[100.3] == heard[101.2] == "hiss"


def test_the_stops_of_a_mirror_say_that_it_is_the_console_s():
    """A double-sideband modulator's mirror lies two spacings, 11 MHz, below the sound."""
    sent = replace(CONSOLE, mirror_db=0.0, picture_db=6.0)
    places = (SOUND_MHZ - 11.0, SOUND_MHZ - 5.5, SOUND_MHZ)
    dial_mhz = sorted({round(round(mhz, 1) + n / 10, 1) for mhz in places for n in range(-4, 5)})
    answer = locate(walk(sent, (), dial_mhz))
    assert is_the_console(answer)
    own = [stop for stop in answer.stops if stop.heard == "console"]
    for stop in own:
        is_mirror = abs(stop.dial_mhz - places[0]) < 0.4
        assert is_mirror or abs(stop.dial_mhz - SOUND_MHZ) < 0.4
        assert stop.why.startswith("the console's mirror: ") == is_mirror
    assert {round(stop.dial_mhz, -1) for stop in own} == {90.0, 100.0}


def test_stations_alone_are_no_console():
    found = locate(walk(None))
    assert not found.found
    assert found.probability < 0.5
    assert "console" not in {stop.heard for stop in found.stops}


def test_the_open_band_alone_is_no_console():
    found = locate(walk(None, (), dial_mhz=DIAL_MHZ[:8]))
    assert (found.found, found.probability) == (False, 0.0)
    assert found.reason == (
        "Only the open band's hiss was heard: no carrier stands at any of the stops."
    )
    assert {stop.heard for stop in found.stops} == {"hiss"}
    assert max(stop.clarity for stop in found.stops) < 15


def test_a_silent_console_is_not_guessed_and_next_names_the_stop_to_switch_at(silent_clips):
    found = locate(silent_clips)
    assert not found.found
    assert found.switch_at_mhz == pytest.approx(SOUND_MHZ, abs=0.06)  # the nearest stop
    assert f"{found.switch_at_mhz:.2f}" in found.next
    assert "off" in found.next


def test_the_switch_decides_for_a_silent_console(silent_clips):
    off = walk(replace(CONSOLE, programme="silence"), dial_mhz=(), off_mhz=(100.8,))
    found = locate([*silent_clips, *off])
    assert is_the_console(found)
    assert "switched off" in found.reason


def test_what_stays_when_the_console_is_off_is_not_the_console():
    # A station that plays a steady tone off the raster, as a console may: only the switch tells.
    like = Station(SOUND_MHZ, 30.0, "tone", 5, deviation_khz=35.0, stereo=False)
    clips = walk(None, (*STATIONS, like), off_mhz=(100.8,))
    found = locate(clips)
    assert not found.found
    assert "stays when the console is switched off" in found.reason
    assert locate(clips[:-1]).found  # without that stop nothing speaks against it


def test_a_picture_s_buzz_alone_is_not_a_find():
    # Picture on 100.5, sound on 106.0: beyond these stops.
    found = locate(walk(replace(CONSOLE, sound_mhz=106.0)))
    assert not found.found
    assert "picture" in {stop.heard for stop in found.stops}
    assert found.reason.startswith("Only a picture carrier's buzz was heard")
    assert found.probability < 0.05  # that a sound carrier stands there


def test_stops_come_back_in_the_order_they_went_in(clips, answer):
    mixed = [clips[n] for n in np.random.default_rng(6).permutation(len(clips))]
    found = locate(mixed)
    assert [stop.file for stop in found.stops] == [clip.file for clip in mixed]
    assert found.sound_carrier_mhz == pytest.approx(answer.sound_carrier_mhz, abs=1e-6)
    assert {(s.file, s.heard) for s in found.stops} == {(s.file, s.heard) for s in answer.stops}


@pytest.mark.parametrize("gain_db", [-30.0, -12.0])
def test_the_gain_of_the_recording_does_not_matter(clips, answer, gain_db):
    gain = np.float32(10 ** (gain_db / 20))
    found = locate([replace(clip, samples=clip.samples * gain) for clip in clips])
    assert is_the_console(found)
    # All measures are ratios; single precision leaves some 1e-5 dB of them.
    assert found.sound_carrier_mhz == pytest.approx(answer.sound_carrier_mhz, abs=1e-4)
    for before, after in zip(answer.stops, found.stops, strict=True):
        assert after.heard == before.heard
        assert after.clarity == pytest.approx(before.clarity, abs=0.01)
        assert after.hiss_db == pytest.approx(before.hiss_db + gain_db, abs=0.01)


def test_polarity_does_not_matter(clips, answer):
    found = locate([replace(clip, samples=-clip.samples) for clip in clips])
    assert found.sound_carrier_mhz == pytest.approx(answer.sound_carrier_mhz, abs=1e-6)
    assert [s.heard for s in found.stops] == [s.heard for s in answer.stops]


def test_a_spoiled_stop_elsewhere_does_not_matter(clips, answer):
    broken = [*clips]
    broken[2] = spoiled_clip(clips[2].dial_mhz, "the file is empty", file=clips[2].file)
    found = locate(broken)
    # It stood beside a station, which then tells less of the radio's width: 3.2 kHz were measured.
    assert found.sound_carrier_mhz == pytest.approx(answer.sound_carrier_mhz, abs=0.005)
    assert (found.stops[2].heard, found.stops[2].clarity) == ("spoiled", None)
    assert any("the file is empty" in warning for warning in found.warnings)


def test_a_muted_stop_says_nothing(clips):
    quiet = Clip(98.7, 48_000, np.zeros((48_000, 2), np.float32), file="quiet.flac")
    found = locate([*clips, quiet])
    assert is_the_console(found)
    assert (found.stops[-1].heard, found.stops[-1].clarity) == ("muted", None)


def test_no_stops_at_all_is_refused():
    with pytest.raises(BadClip, match="no stops came: a sweep needs at least one recording"):
        locate([])


def test_only_the_plans_asked_for_are_named(clips):
    found = locate(clips, plans=["au-air"])
    assert [(c.plan, c.channel) for c in found.channels] == [("au-air", "4")]
    assert found.no_channel == ""
    other = locate(clips, plans=["oirt-dk"])
    assert other.channels == ()
    assert other.sound_carrier_mhz == pytest.approx(found.sound_carrier_mhz, abs=0.01)
    assert "no channel of the plans asked for (oirt-dk) has its sound there" in other.reason
    assert "of the other plans, au-air:4 would fit" in other.reason
    assert "off" in other.next


NUMBER = (int, float)
FIELDS = {  # name: (kinds when found, kinds when not)
    "schema": ((str,), (str,)),
    "found": ((bool,), (bool,)),
    "sound_carrier_mhz": (NUMBER, (type(None),)),
    "interval_95_mhz": ((list,), (type(None),)),
    "heard_as": ((str,), (type(None),)),
    "probability": (NUMBER, NUMBER),
    "rejected_mhz": ((type(None),), (*NUMBER, type(None))),
    "picture_carrier_mhz": ((*NUMBER, type(None)), (type(None),)),
    "picture_basis": ((str, type(None)), (type(None),)),
    "spacing_mhz": ((*NUMBER, type(None)), (type(None),)),
    "spacing_basis": ((str, type(None)), (type(None),)),
    "channels": ((list,), (list,)),
    "stops": ((list,), (list,)),
    "reason": ((str,), (str,)),
    "next": ((str, type(None)), (str, type(None))),
    "warnings": ((list,), (list,)),
}


@pytest.mark.parametrize("which", ["found", "not found"])
def test_the_printed_form_keeps_its_contract(request, answer, silent_clips, which):
    shown = (answer if which == "found" else locate(silent_clips)).as_dict()
    assert list(shown) == list(FIELDS)
    for name, kinds in FIELDS.items():
        assert isinstance(shown[name], kinds[which != "found"]), name
    assert shown["schema"] == "listen.location/1"
    assert 0 <= shown["probability"] <= 1
    assert shown["reason"].endswith(".")
    assert [s["file"] for s in shown["stops"]] == [f"{n:03}.flac" for n in range(25)]
    for stop in shown["stops"]:
        assert stop["heard"] in HEARD
        assert (stop["clarity"] is None) == (stop["heard"] in ("muted", "spoiled"))
        assert stop["clarity"] is None or 0 <= stop["clarity"] <= 100
        assert stop["console"] in ("on", "off")
    if which == "not found":
        assert (shown["found"], shown["channels"]) == (False, [])
        return
    low_mhz, high_mhz = shown["interval_95_mhz"]
    assert low_mhz < shown["sound_carrier_mhz"] < high_mhz
    away = [abs(c["off_by_khz"]) for c in shown["channels"]]
    assert away == sorted(away)
    for channel in shown["channels"]:
        assert set(channel) == {"plan", "channel", "sound_mhz", "picture_mhz", "off_by_khz"}
        wanted_khz = 1e3 * (shown["sound_carrier_mhz"] - channel["sound_mhz"])
        assert channel["off_by_khz"] == pytest.approx(wanted_khz, abs=0.11)  # printed to 0.1 kHz
    assert shown["spacing_mhz"] == pytest.approx(5.5, abs=0.05)
    implied_mhz = shown["sound_carrier_mhz"] - shown["spacing_mhz"]
    assert shown["picture_carrier_mhz"] == pytest.approx(implied_mhz, abs=2e-4)
    assert (shown["picture_basis"], shown["spacing_basis"]) == ("implied", "standard")


def test_three_stops_beside_one_carrier_tell_that_the_roar_is_not_known():
    """107.60, 107.70 and 107.90 of a console on 107.72: the last one stands on its cliff."""
    console = replace(CONSOLE, sound_mhz=107.72)
    few = walk(console, (), (107.6, 107.7, 107.9))
    more = walk(console, (), (107.6, 107.7, 107.9, 106.0, 106.2))
    told, known = locate(few), locate(more)
    assert any("beside a carrier" in line for line in told.warnings)
    assert not any("beside a carrier" in line for line in known.warnings)
    low_mhz, high_mhz = told.interval_95_mhz
    assert low_mhz < 107.72 < high_mhz


def test_where_no_stop_heard_the_roar_it_is_warned_that_clarity_is_a_guess():
    """Noise of one kind everywhere, whiter than a discriminator's, with nothing to hold it against.

    Its clarity is 100 (1 - 10^(-30 / 20)) = 96.8: the 30 dB that the noisiest stop is taken for.
    """
    rng = np.random.default_rng(1)
    noise = [Clip(98.0 + n / 10, 48_000, 0.1 * rng.standard_normal(48_000)) for n in range(3)]
    told = locate(noise)
    assert any("clarity and quieting tell these stops apart" in line for line in told.warnings)
    assert [stop.heard for stop in told.stops] == ["unclear"] * 3
    noisiest = min(stop.clarity for stop in told.stops)
    assert noisiest == pytest.approx(100 * (1 - 10**-1.5), abs=0.3)
    nothing = [Clip(98.0 + n / 10, 48_000, np.zeros(48_000)) for n in range(3)]
    assert not any("clarity" in line for line in locate(nothing).warnings)


def test_where_the_roar_was_heard_no_clarity_is_called_a_guess(answer):
    assert not any("clarity" in line for line in answer.warnings)
