"""sweep.toml: what it says is taken, what it does not say is assumed aloud, slips are refused.

The defaults are those that docs/sweep-folder.md promises.
"""

import re
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making_folders import hand_made, noise16, pcm16

from listen.errors import BadFolder, UnknownChannel
from listen.folder import FolderWriter, SweepSettings, read_folder
from listen.folder.settings import TO_FILL_IN
from listen.radio import Radio

EVERYTHING = """
mains_hz = 60
plans = ["us-air", "JP-AIR"]
notes = "kitchen radio"

[radio]
band_mhz = [76, 95]
raster_khz = 100
dial = "analogue"
step_khz = 50
oscillator = "below"
passband_khz = [180.5, 230]
known_stations_mhz = [80.0, 82.5]
dial_marks = [[78.5, -20, 3.5], [90, 41.5, 4]]
"""


def test_everything_that_is_said_is_taken_and_nothing_is_assumed(tmp_path):
    table = "file,dial_mhz\na.wav,80.7\n"
    sweep = read_folder(hand_made(tmp_path, table, toml=EVERYTHING))
    assert sweep.radio == Radio(
        band_mhz=(76.0, 95.0),
        raster_khz=100.0,
        dial="analogue",
        step_khz=50.0,
        oscillator="below",
        passband_khz=(180.5, 230.0),
        known_stations_mhz=(80.0, 82.5),
        dial_marks=((78.5, -20.0, 3.5), (90.0, 41.5, 4.0)),
        stated=frozenset(Radio.__dataclass_fields__) - {"stated"},
    )
    assert (sweep.mains_hz, sweep.plans, sweep.notes) == (
        (60.0,),
        ("us-air", "jp-air"),
        "kitchen radio",
    )
    assert sweep.warnings == ()


@pytest.mark.parametrize("toml", [None, "", "[radio]\n"])
def test_what_nobody_said_is_assumed_in_one_sentence(tmp_path, toml):
    sweep = read_folder(hand_made(tmp_path, toml=toml))
    assert (sweep.radio, sweep.mains_hz, sweep.plans, sweep.notes) == (Radio(), (50, 60), None, "")
    assert sweep.warnings == (
        "Not said in sweep.toml, so assumed: dial 87.5 to 108 MHz, digital, the stops' "
        "step, passband 150 to 280 kHz, stations every 100 kHz, oscillator on either side, mains "
        "50 or 60 Hz, all plans.",
    )


def test_an_assumed_band_grows_to_hold_the_stops_and_a_stated_one_is_questioned(tmp_path):
    table = "file,dial_mhz\na.wav,76.5\na.wav,95.75\n"
    sweep = read_folder(hand_made(tmp_path, table))
    assert sweep.radio.band_mhz == (76.5, 108.0)
    assert "assumed: dial 76.5 to 108 MHz" in sweep.warnings[-1]
    sweep = read_folder(hand_made(tmp_path, table, toml="[radio]\nband_mhz = [87.5, 108]\n"))
    assert sweep.radio.band_mhz == (87.5, 108.0)
    assert any(w.startswith("The dial stood at 76.5 MHz, outside of the") for w in sweep.warnings)


def test_stops_of_the_old_eastern_band_are_of_such_a_dial(tmp_path):
    """65.9 to 74 MHz, also quoted from 65.8, stations every 30 kHz: listen/data/fm_bands.csv."""
    table = "file,dial_mhz\na.wav,65.9\na.wav,71.75\n"
    sweep = read_folder(hand_made(tmp_path, table))
    assert (sweep.radio.band_mhz, sweep.radio.raster_khz) == ((65.8, 74.0), 30.0)
    assert "assumed: dial 65.8 to 74 MHz" in sweep.warnings[-1]
    assert "stations every 30 kHz" in sweep.warnings[-1]
    stated = "[radio]\nband_mhz = [65, 108]\nraster_khz = 100\n"
    sweep = read_folder(hand_made(tmp_path, table, toml=stated))
    assert (sweep.radio.band_mhz, sweep.radio.raster_khz) == ((65.0, 108.0), 100.0)


@pytest.mark.parametrize("heading", ["", "[radio]\n"])
def test_a_profile_is_used_and_the_sweep_beats_it(tmp_path, heading):
    (tmp_path / "radio.toml").write_text(f"{heading}raster_khz = 200\nstep_khz = 100\n")
    toml = '[radio]\nprofile = "../radio.toml"\nstep_khz = 50\n'
    sweep = read_folder(hand_made(tmp_path / "sweep", toml=toml))
    assert (sweep.radio.raster_khz, sweep.radio.step_khz) == (200, 50)
    assert sweep.radio.stated == {"raster_khz", "step_khz"}


def test_a_profile_that_is_not_named_is_pointed_out(tmp_path):
    (tmp_path / "radio.toml").write_text("raster_khz = 200\n")
    sweep = read_folder(hand_made(tmp_path, toml="mains_hz = 50\n"))
    assert sweep.radio.raster_khz == 100
    assert any(
        w.startswith("radio.toml lies in the folder but is not used") for w in sweep.warnings
    )


def test_keys_that_are_unknown_are_one_warning(tmp_path):
    toml = "mains = 50\ncolour = 'red'\n[radio]\nbrand = 'x'\n[else]\nz = 1\n"
    sweep = read_folder(hand_made(tmp_path, toml=toml))
    assert sweep.warnings[0] == (
        "sweep.toml says mains, colour, else and radio.brand, which this format does not know: "
        "ignored."
    )


def test_a_profiles_unknown_keys_are_a_warning_that_names_it(tmp_path):
    (tmp_path / "my.toml").write_text("colour = 'red'\nprofile = 'another.toml'\n")
    sweep = read_folder(hand_made(tmp_path, toml='[radio]\nprofile = "my.toml"\n'))
    assert sweep.warnings[0].startswith("my.toml says colour and profile, which this format")


BAD = [
    ("mains_hz = 55", r"sweep\.toml has mains_hz = 55: give 50, 60 or \[50, 60\]"),
    ("mains_hz = true", "mains_hz = True: give 50, 60 or"),
    ("mains_hz = []", r"mains_hz = \[\]: give 50, 60 or"),
    ('mains_hz = "50"', "mains_hz = '50': give 50, 60 or"),
    ("plans = 5", r'plans = 5: give plan names in brackets, such as \["us-air"\]'),
    ("plans = []", r"plans = \[\]: give plan names"),
    ('plans = ["us-ear"]', r"give plans that there are \(no plan is called 'us-ear'.* us-air"),
    ("notes = 1", "notes = 1: give text in quotes"),
    ("radio = 5", r"radio = 5: write \[radio\] as a heading"),
    ("[radio]\nband_mhz = 87.5", r"band_mhz = 87\.5: give two numbers in brackets"),
    ("[radio]\nband_mhz = [87.5]", r"give two numbers in brackets, the lower first"),
    ("[radio]\nband_mhz = [87.5, 98, 108]", "give two numbers in brackets"),
    ('[radio]\nband_mhz = ["87.5", "108"]', "give two numbers in brackets"),
    ("[radio]\nband_mhz = [108, 87.5]", "band from 108 to 87.5 MHz came: give the low end first"),
    ("[radio]\nband_mhz = [87500, 108000]", "sweep.toml: a band from 87500 to 108000 MHz came"),
    ("[radio]\nraster_khz = 0.1", "station raster of 0.1 kHz came"),
    ("[radio]\nraster_khz = nan", "raster_khz = nan: give a number"),
    ("[radio]\nraster_khz = true", "raster_khz = True: give a number"),
    ("[radio]\nstep_khz = -50", "dial step of -50 kHz came"),
    ("[radio]\nstep_khz = inf", "step_khz = inf: give a number"),
    (f"[radio]\nstep_khz = {'9' * 400}", "9: give a number"),
    ("[radio]\nstep_khz = 2020-01-01", "give a number"),
    ("[radio]\npassband_khz = 200", r"the lower first, such as \[150, 280\]"),
    ('[radio]\ndial = "round"', 'dial = \'round\': give "digital" or "analogue"'),
    ("[radio]\noscillator = 10.7", 'oscillator = 10.7: give "above" or "below"'),
    ("[radio]\npassband_khz = [280, 150]", "passband of 280 to 150 kHz came"),
    ("[radio]\nknown_stations_mhz = 101.9", "give station frequencies in MHz in brackets"),
    ("[radio]\nknown_stations_mhz = [101900]", "give station frequencies in MHz in brackets"),
    ('[radio]\nprofile = "no.toml"', "radio profile no.toml, and .* is not there"),
    ("[radio]\nprofile = 7", "profile = 7: give text in quotes"),
    ("mains_hz 50", "sweep.toml is not valid TOML: .*line 1"),
    ("mains_hz = 50\nmains_hz = 60", "sweep.toml is not valid TOML"),
]


@pytest.mark.parametrize(("toml", "says"), BAD, ids=[toml for toml, _ in BAD])
def test_a_value_of_the_wrong_kind_is_refused_with_key_and_need(tmp_path, toml, says):
    with pytest.raises(BadFolder, match=says):
        read_folder(hand_made(tmp_path, toml=toml + "\n"))


def test_a_profile_with_a_slip_is_named(tmp_path):
    (tmp_path / "my.toml").write_text("step_khz = 0.05\n")
    with pytest.raises(BadFolder, match=r"my\.toml: a dial step of 0\.05 kHz came"):
        read_folder(hand_made(tmp_path, toml='[radio]\nprofile = "my.toml"\n'))


SCALE = '[radio]\ndial = "analogue"\ndial_marks = [[67, 100, 8], [73, -100, 8]]\n'


def test_marks_are_held_against_the_band_that_the_stops_tell(tmp_path):
    """By hand: 100 at 67 and -33 a MHz are 140 to -133 on the old eastern dial; -1267 at 108."""
    eastern = hand_made(tmp_path / "east", "file,dial_mhz\na.wav,66\na.wav,72\n", toml=SCALE)
    assert read_folder(eastern).radio.band_mhz == (65.8, 74.0)
    says = r"sweep\.toml: dial marks came that put .* -1267 kHz at 108"
    with pytest.raises(BadFolder, match=says):
        read_folder(hand_made(tmp_path / "west", toml=SCALE))


def test_marks_of_a_profile_that_the_sweep_makes_impossible_are_refused(tmp_path):
    (tmp_path / "my.toml").write_text(SCALE.replace("[73, -100, 8]", "[90, -100, 8]"))
    toml = '[radio]\nprofile = "my.toml"\n'
    assert len(read_folder(hand_made(tmp_path, toml=toml)).radio.dial_marks) == 2
    with pytest.raises(BadFolder, match=r"sweep\.toml or its profile my\.toml: 2 dial marks came"):
        read_folder(hand_made(tmp_path, toml=toml + 'dial = "digital"\n'))


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_settings_may_be_saved_in_other_encodings(tmp_path, encoding):
    hand_made(tmp_path)
    (tmp_path / "sweep.toml").write_bytes('notes = "50 µs, naïve"\r\n'.encode(encoding))
    assert read_folder(tmp_path).notes == "50 µs, naïve"


def test_settings_under_another_name_are_pointed_out(tmp_path):
    hand_made(tmp_path)
    (tmp_path / "sweep.toml.txt").write_text("mains_hz = 50\n")
    assert read_folder(tmp_path).warnings[0] == (
        "sweep.toml.txt is not read: name it sweep.toml if it is meant."
    )


def test_plans_asked_for_beat_those_of_the_folder(tmp_path):
    folder = hand_made(tmp_path, toml='plans = ["us-air"]\n')
    assert read_folder(folder).plans == ("us-air",)
    assert read_folder(folder, plans=["JP-air"]).plans == ("jp-air",)
    with pytest.raises(UnknownChannel, match="no plan is called 'jp-ear'"):
        read_folder(folder, plans=["jp-ear"])


TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)


@given(
    mains_hz=st.sampled_from([(), (50.0,), (60.0,), (50.0, 60.0)]),
    plans=st.sampled_from([None, ("us-air",), ("au-air", "oirt-dk")]),
    notes=TEXT,
    band_mhz=st.tuples(st.floats(20, 87.5), st.floats(88, 300)),
    raster_khz=st.floats(5, 500),
    step_khz=st.none() | st.floats(1, 1000),
    dial=st.sampled_from(["digital", "analogue"]),
    oscillator=st.sampled_from([None, "above", "below"]),
    stations_mhz=st.lists(st.floats(20, 300), max_size=3),
)
@settings(deadline=None, max_examples=50)
def test_what_the_writer_says_the_reader_takes(
    tmp_path_factory,
    mains_hz,
    plans,
    notes,
    band_mhz,
    raster_khz,
    step_khz,
    dial,
    oscillator,
    stations_mhz,
):
    radio = Radio(
        band_mhz,
        raster_khz,
        dial,
        step_khz,
        oscillator,
        known_stations_mhz=tuple(stations_mhz),
    )
    told = SweepSettings(radio, mains_hz, plans, notes)
    folder = tmp_path_factory.mktemp("told") / "sweep"
    FolderWriter.create(folder, told)
    (folder / "stops.csv").write_text("file,dial_mhz\nno.wav,88\n")
    sweep = read_folder(folder)
    for name in set(Radio.__dataclass_fields__) - {"stated"}:
        assert getattr(sweep.radio, name) == getattr(radio, name), name
    assert sweep.mains_hz == (mains_hz or (50, 60))
    assert (sweep.plans, sweep.notes) == (plans, notes)
    said = tomllib.loads((folder / "sweep.toml").read_text("utf-8"))
    assert set(said.get("radio", {})) == set(sweep.radio.stated)


def test_what_was_stated_stays_stated_though_it_is_the_default(tmp_path):
    radio = Radio(stated=frozenset({"band_mhz", "dial"}))
    FolderWriter.create(tmp_path / "s", SweepSettings(radio, profile="../my.toml"))
    (tmp_path / "my.toml").write_text("raster_khz = 200\n")
    (tmp_path / "s" / "stops.csv").write_text("file,dial_mhz\nno.wav,88\n")
    assert read_folder(tmp_path / "s").radio.stated == {"band_mhz", "dial", "raster_khz"}


DOCS = (Path(__file__).parent.parent / "docs" / "sweep-folder.md").read_text("utf-8")


def test_the_documents_examples_read_as_they_say(tmp_path):
    table, toml = (DOCS.split(f"```{kind}\n")[1].split("```")[0] for kind in ("csv", "toml"))
    names = ("001.wav", "002.wav", "003.wav")
    folder = hand_made(tmp_path / "sweep", table, *names, toml=toml)
    pcm16(folder / "take.wav", noise16(24.0), 8000)
    (tmp_path / "radio.toml").write_text("step_khz = 100\n")
    sweep = read_folder(folder)
    assert [(s.dial_mhz, s.console) for s in sweep.stops] == [
        (95.5, "on"),
        (95.75, "on"),
        (95.75, "off"),
        (96.0, "on"),
        (96.25, "on"),
    ]
    assert [(c.spoiled, c.duration_s) for c in sweep.clips()] == [("", 0.5)] * 3 + [("", 5.0)] * 2
    assert sweep.radio.stated == set(Radio.__dataclass_fields__) - {"stated"}
    assert (sweep.radio.step_khz, sweep.mains_hz, sweep.plans) == (50, (50,), ("au-air", "us-air"))
    assert sweep.warnings == ()


def test_the_settings_to_be_filled_in_say_nothing_and_each_of_their_lines_is_one_that_is_read(
    tmp_path,
):
    hand_made(tmp_path, toml=TO_FILL_IN)
    blank = read_folder(tmp_path)
    assert blank.radio.stated == frozenset()
    assert blank.plans is None
    filled = re.sub(r"(?m)^# (?=\w+ = )", "", TO_FILL_IN)
    (tmp_path / "sweep.toml").write_text(filled)
    told = read_folder(tmp_path)
    assert told.radio.stated == {
        *("band_mhz", "step_khz", "raster_khz", "dial", "passband_khz", "oscillator"),
        "known_stations_mhz",
    }
    assert (told.mains_hz, told.plans) == ((50.0,), ("au-air",))
    assert not [line for line in told.warnings if "ignored" in line]
