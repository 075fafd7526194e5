"""Two sweeps held against each other: the samples, whose true carriers are written down.

samples/README.md gives them: 107.719 MHz before, 100.774 MHz after.
"""

import json
import re
from dataclasses import replace
from datetime import timedelta
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import pytest
from typer.testing import CliRunner

import listen
from listen.analysis.confirm import _are_exchanged, _moved, _same_way, confirm_measured
from listen.analysis.confirmwords import (
    EXCHANGED,
    distance_text,
    next_words,
    put_back_words,
    reason_words,
)
from listen.analysis.locate import located
from listen.analysis.measures import measured
from listen.analysis.modulator import Way
from listen.analysis.shift import bell, mixed
from listen.cli import application, main
from listen.commands.confirm import headline
from listen.errors import BadClip, BadDial, UnknownChannel
from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench
from listen.simulate.hands import Hands
from listen.simulate.receiver import Receiver

SAMPLES = Path(__file__).parent.parent / "samples"
BEFORE_MHZ, AFTER_MHZ = 107.719, 100.774


@cache
def stops(name):
    return measured(listen.read_folder(SAMPLES / name).clips())[0]


@cache
def moved_answer():
    return confirm_measured(stops("imported-console"), stops("moved-console"), to="au-air:4")


def test_the_move_of_the_samples_is_told():
    answer = moved_answer()
    true_khz = 1e3 * (AFTER_MHZ - BEFORE_MHZ)
    low, high = answer.shift_interval_95_khz
    assert answer.moved is True
    assert low <= true_khz <= high
    # Two single sweeps of 100 kHz stops are right to some 10 kHz each (docs/accuracy.md).
    assert answer.shift_khz == pytest.approx(true_khz, abs=15.0)
    assert answer.same_radio


def test_the_difference_is_known_better_than_the_places():
    answer = moved_answer()
    low, high = answer.shift_interval_95_khz
    widths = [
        place.interval_95_mhz[1] - place.interval_95_mhz[0]
        for place in (answer.before, answer.after)
    ]
    assert high - low < 1e3 * (widths[0] ** 2 + widths[1] ** 2) ** 0.5


def test_on_target_and_what_is_left():
    answer = moved_answer()
    assert answer.on_target is True
    assert answer.left_khz == pytest.approx(1e3 * (100.75 - answer.after.sound_carrier_mhz))
    assert answer.yes
    assert "6.9" in answer.put_back
    assert "higher" in answer.put_back


@pytest.mark.parametrize(
    ("to", "within_khz", "on_target"),
    [("au-air:5", 100.0, False), ("au-air:4", 20.0, None), ("au-air:4", 200.0, True)],
)
def test_the_limit_decides(to, within_khz, on_target):
    answer = confirm_measured(
        stops("moved-console"), stops("moved-console"), to=to, within_khz=within_khz
    )
    assert answer.on_target is on_target
    assert answer.yes is (on_target is True)
    assert (answer.next is None) is (on_target is True)
    if on_target is False:  # 107.75 minus where it was moved to
        assert f"has to go {answer.left_khz / 1e3:.3f} MHz higher, to 107.75 MHz" in answer.next


def test_a_move_either_way_is_said_to_be_one_and_names_no_way_back():
    place = moved_answer().before
    said = reason_words(place, place, True, 10.0, (-40.0, 50.0))
    assert said == "The sound carrier most likely moved: by +10 kHz (95 %: -40 kHz to +50 kHz)."
    assert put_back_words(place, 10.0, (-40.0, 50.0), "oscillator") is None
    assert "until the sound carrier is 20 kHz lower" in put_back_words(
        place, 20.0, (5.0, 35.0), None
    )
    asked = next_words(place, place, True, (-40.0, 50.0), None, 100.0, None, None)
    assert asked.startswith("Sweep again with the smallest dial step")
    assert next_words(place, place, True, (5.0, 35.0), None, 100.0, None, None) is None


def test_a_move_is_one_where_staying_is_unlikely_or_outside_the_interval():
    """Of a normal 90 % lie within 1.645 spreads of its mean: any table of the normal integral."""
    assert _moved(bell(9.0, 5.0)) is True  # 1.8 spreads, with nought inside the interval
    assert _moved(bell(7.0, 5.0)) is False
    assert _moved(bell(14.0, 10.0)) is None  # the interval reaches beyond STILL_KHZ
    assert _moved(mixed([(0.5, bell(-30.0, 5.0)), (0.5, bell(30.0, 5.0))])) is True


def test_what_stood_still_is_not_called_moved():
    answer = confirm_measured(stops("imported-console"), stops("imported-console"))
    assert answer.moved is False
    assert answer.shift_khz == pytest.approx(0.0, abs=1.0)  # the very same readings
    assert answer.put_back is None
    assert not answer.yes


@pytest.mark.parametrize(
    ("before", "after", "says"),
    [
        ("stations-only", "moved-console", "not found in the sweep before"),
        ("imported-console", "stations-only", "not found in the sweep after"),
        ("stations-only", "stations-only", "found in neither sweep"),
    ],
)
def test_what_was_not_found_twice_cannot_be_told(before, after, says):
    answer = confirm_measured(stops(before), stops(after))
    assert answer.moved is None
    assert answer.shift_khz is None
    assert answer.shift_interval_95_khz is None
    assert says in answer.reason
    assert answer.next
    assert not answer.yes


def test_radios_that_were_stated_to_differ_are_two():
    one = listen.Radio(passband_khz=(180.0, 200.0), stated=frozenset({"passband_khz"}))
    two = replace(one, passband_khz=(230.0, 250.0))
    alike = confirm_measured(stops("moved-console"), stops("moved-console"), one)
    answer = confirm_measured(stops("moved-console"), stops("moved-console"), one, radio_after=two)
    assert alike.same_radio
    assert not answer.same_radio
    assert any("passband differ as stated" in line for line in answer.warnings)
    low, high = answer.shift_interval_95_khz
    assert low <= 0.0 <= high
    assert high - low > alike.shift_interval_95_khz[1] - alike.shift_interval_95_khz[0]


STATIONS = tuple(Station(mhz, 40.0, "music", seed) for seed, mhz in enumerate((90.0, 92.0, 94.0)))
CONSOLE = Console(100.783, 32.0, seed=5)
PLACES_MHZ = (90.0, 92.0, 94.0, 100.8)


def walked(receiver, start_s):
    """A short walk past three stations and a console, with a receiver."""
    hands = Hands(Bench(STATIONS, CONSOLE, receiver=receiver, seed=3), 0.4, start_s)
    clips = []
    for place_mhz in PLACES_MHZ:
        for n in range(-4, 5):
            dial_mhz = round(place_mhz + n / 10, 4)
            hands.tune(dial_mhz, "on")
            clips.append(hands.hear(dial_mhz, "on"))
    hands.tune(100.8, "off")
    return measured([*clips, hands.hear(100.8, "off")])[0]


def test_another_radio_is_noticed_by_the_stations_that_both_sweeps_heard():
    first = Receiver(passband_khz=180.0, misalignment_khz=-20.0)
    second = Receiver(passband_khz=250.0, misalignment_khz=20.0)
    before = walked(first, 60.0)
    same = confirm_measured(before, walked(first, 900.0))
    other = confirm_measured(before, walked(second, 900.0))
    assert same.same_radio
    low, high = same.shift_interval_95_khz
    assert low <= 0.0 <= high
    assert not other.same_radio
    assert any("stations stand elsewhere" in line for line in other.warnings)
    low, high = other.shift_interval_95_khz
    assert low <= 0.0 <= high  # the console stood still, though the dials differ by 40 kHz


def test_sweeps_given_the_wrong_way_round_are_noticed_by_their_times():
    first, second = stops("imported-console"), stops("moved-console")
    later = tuple(replace(stop, at=stop.at + timedelta(days=1)) for stop in second)
    zoneless = tuple(replace(stop, at=stop.at.replace(tzinfo=None)) for stop in later)
    assert _are_exchanged(later, first)
    for one, other in ((first, later), (first, second), (zoneless, first), (later, ())):
        assert not _are_exchanged(one, other)
    untimed = tuple(replace(stop, at=None) for stop in later)
    assert not _are_exchanged(untimed, first)
    assert confirm_measured(later, first).warnings[0] == EXCHANGED


@pytest.mark.parametrize(
    ("passband_khz", "sound_mhz", "by_khz", "picture_by_khz", "seed", "never"),
    [
        (200.0, 95.70, 30.0, 30.0, 96005, "subcarrier"),
        (220.0, 95.72, -40.0, -40.0, 96011, "subcarrier"),
        (200.0, 95.70, 150.0, 0.0, 96013, "oscillator"),
    ],
)
def test_a_picture_between_two_stops_names_no_wrong_trimmer(
    passband_khz, sound_mhz, by_khz, picture_by_khz, seed, never
):
    stations = (Station(98.5, 35.0, seed=2), Station(92.3, 30.0, seed=3))
    before = Console(sound_mhz, 30.0, spacing_mhz=4.5, deviation_khz=25.0, field_hz=60.05, seed=1)
    trim_khz = by_khz - picture_by_khz
    after = replace(before, sound_mhz=sound_mhz + picture_by_khz / 1e3, sound_trim_khz=trim_khz)
    radio = Receiver(passband_khz=passband_khz)
    tenths = (*range(908, 918), 922, 923, 924, 939, *range(953, 964), *range(984, 988))
    sweeps = []
    for number, console in enumerate((before, after)):
        bench = Bench(stations, console, receiver=radio, seed=seed + number)
        heard = [bench.hear(n / 10, 1.0, at_s=900.0 * number + n % 1000) for n in tenths]
        sweeps.append(measured(heard)[0])
    answer = confirm_measured(*sweeps)
    low, high = answer.shift_interval_95_khz
    assert low <= by_khz <= high
    low, high = answer.picture_shift_interval_95_khz
    assert low <= picture_by_khz <= high
    assert answer.moved
    assert answer.turned != never


def test_bad_targets_limits_and_empty_sweeps_are_refused_in_words():
    with pytest.raises(UnknownChannel, match="no channel"):
        listen.confirm([], [], to="au-air:99")
    with pytest.raises(BadDial, match="how near counts as on target, 1 to 1000 kHz"):
        listen.confirm([], [], within_khz=-5.0)
    with pytest.raises(BadClip, match="no stops came"):
        listen.confirm([], [])


def test_the_command_prints_the_contract(capsys):
    folders = [str(SAMPLES / "imported-console"), str(SAMPLES / "moved-console")]
    assert main(["confirm", *folders, "--to", "au-air:4", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["schema"] == "listen.confirmation/1"
    assert answer["moved"] is True
    assert answer["target"] == {"plan": "au-air", "channel": "4", "sound_mhz": 100.75}
    assert answer["before"]["schema"] == answer["after"]["schema"] == "listen.location/1"
    low, high = answer["shift_interval_95_khz"]
    assert low < answer["shift_khz"] < high
    needed = {"on_target", "left_khz", "reason", "next", "warnings"}
    assert needed <= set(answer)
    page = (SAMPLES.parent / "docs" / "confirmation.md").read_text("utf-8")
    assert {name for name in answer if f"`{name}`" not in page} == set()


def test_the_command_in_words_and_its_status():
    run = CliRunner().invoke(
        application(("confirm", "locate")),
        ["confirm", str(SAMPLES / "moved-console"), str(SAMPLES / "stations-only")],
    )
    assert run.exit_code == 1
    assert run.stdout.startswith("Cannot tell.")


def test_the_same_recordings_twice_are_refused_whatever_they_are_called(capsys, tmp_path):
    source, copy = SAMPLES / "moved-console", tmp_path / "copy"
    copy.mkdir()
    for file in source.iterdir():
        (copy / file.name.replace("0", "z", 1)).write_bytes(file.read_bytes())
    names = {f.name: f.name.replace("0", "z", 1) for f in source.iterdir()}
    table = (source / "stops.csv").read_text()
    for name, other in names.items():
        table = table.replace(name, other)
    (copy / "stops.csv").write_text(table)
    for after in (source, copy):
        assert main(["confirm", str(source), str(after)]) == 2
        assert "hold the same recordings: give the sweep made" in capsys.readouterr().err


def test_a_console_that_stood_still_is_said_so_without_a_minus_nought():
    twice = stops("imported-console")
    said = "\n".join(headline(confirm_measured(twice, twice, to="au-air:4")))
    told = re.search(
        r"By their own stops the picture carrier moved by \+0 kHz \(95 %: -(\d+) kHz to \+\1 kHz\) "
        r"and the spacing changed by \+0 kHz \(95 %: -(\d+) kHz to \+\2 kHz\)\.",
        said,
    )
    assert int(told[2]) >= int(told[1])  # the sound's own doubt comes on top of the picture's
    assert "Next: Go on trimming: the sound carrier has to go 6.9" in said
    assert [distance_text(khz) for khz in (-0.4, 0.0, -17.6, 1234.5)] == [
        "+0 kHz",
        "+0 kHz",
        "-18 kHz",
        "+1.234 MHz",
    ]


@pytest.mark.parametrize("doubted", [0, 1])
def test_a_sweep_whose_way_is_in_doubt_is_taken_as_the_other_one_was_heard(monkeypatch, doubted):
    sweeps = stops("imported-console"), stops("moved-console")
    asked = []

    def in_doubt_at_first(of_stops, radio, **more):
        weighed, at = located(of_stops, radio, **more)
        asked.append(more.get("heard_by"))
        in_doubt = of_stops is sweeps[doubted] and asked[-1] is None
        return weighed, replace(at, found=False) if in_doubt else at

    monkeypatch.setattr("listen.analysis.confirm.located", in_doubt_at_first)
    answer = confirm_measured(*sweeps)
    assert answer.moved is True
    assert [way if way is None else way.heard_as for way in asked] == [None, None, "direct"]


def test_a_limit_without_a_target_is_refused(capsys):
    folders = [str(SAMPLES / name) for name in ("imported-console", "moved-console")]
    assert main(["confirm", *folders, "--within", "50"]) == 2
    assert "--within 50 came without --to" in capsys.readouterr().err


def test_a_folder_that_is_not_there_is_refused(capsys):
    assert main(["confirm", str(SAMPLES / "nowhere"), str(SAMPLES / "moved-console")]) == 2
    assert "there is no folder" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("heard_as", "scale", "shifts_mhz", "same"),
    [
        ("image", 1.0, (21.38, 21.42), True),  # two sweeps put the dial's error 20 kHz apart
        ("image", 1.0, (21.4, -21.4), False),  # the other oscillator's
        ("harmonic", 0.5, (0.0, 2.25), False),  # twice the sound, and sound and picture
        ("mirror", 1.0, (9.0, 9.0), False),  # it moves against the sound
    ],
)
def test_only_carriers_heard_in_one_way_share_a_dial(heard_as, scale, shifts_mhz, same):
    sides = [
        SimpleNamespace(ways=(Way(heard_as, scale, shift_mhz, 4.5, None, 0.0),))
        for shift_mhz in shifts_mhz
    ]
    assert _same_way(*sides) is same
