"""`listen radio` as a user meets it: what is learned is right, kept, used, and refused if not.

The truth is the model radio's settings, which nothing but the checks see.
"""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making_folders import traces

from listen.analysis.dialerror import DialError
from listen.analysis.profile import marks_of
from listen.analysis.raster import dial_error_of
from listen.cli import main
from listen.folder import SweepSettings, read_folder, read_profile, write_profile
from listen.radio import Radio
from listen.simulate.air import Station
from listen.simulate.bench import Bench, write_sweep
from listen.simulate.linein import LineIn
from listen.simulate.receiver import Receiver

BAND_MHZ = (88.0, 96.0)
STATIONS_MHZ = (88.9, 90.3, 91.8, 93.5, 94.7)
SAID = {"band_mhz": BAND_MHZ, "stated": frozenset({"band_mhz", "dial"})}


@cache
def swept(dial="digital", stations_mhz=STATIONS_MHZ, strength_db=35.0, **receiver):
    """A sweep folder over these stations, and the radio that played them."""
    radio = Receiver(passband_khz=200.0, **receiver)
    on_air = tuple(
        Station(mhz, strength_db, "music" if n % 2 else "speech", n)
        for n, mhz in enumerate(stations_mhz)
    )
    shown_mhz = [mhz - radio.dial_error_khz(mhz) / 1e3 for mhz in stations_mhz] or [91.0]
    stops = {round(round(10 * mhz + k) / 10, 1) for mhz in shown_mhz for k in range(-4, 5)}
    folder = Path(mkdtemp()) / "sweep"
    bench = Bench(on_air, None, (), radio, LineIn(sample_rate_hz=44_100), 7, "trial")
    told = SweepSettings(Radio(dial=dial, **SAID))
    within = sorted(mhz for mhz in stops if BAND_MHZ[0] <= mhz <= BAND_MHZ[1])
    write_sweep(bench, folder, within, 1.0, settings=told)
    return folder, radio


def run(capsys, *words):
    status = main(["radio", *map(str, words)])
    return status, capsys.readouterr()


def test_misalignment_and_passband_are_learned_and_written(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    folder, radio = swept(misalignment_khz=-22.0)
    before = traces(folder)
    status, printed = run(capsys, folder)
    assert status == 0
    lines = printed.out.splitlines()
    assert lines[0] == "Learned from 5 stations, none of known frequency."
    assert traces(folder) == before
    profile, warnings = read_profile(tmp_path / "radio.toml")
    assert warnings == ()
    assert profile.stated == {"band_mhz", "dial", "passband_khz", "dial_marks"}
    ((_, error_khz, spread_khz),) = profile.dial_marks
    # A passband 22 kHz under the dial: a carrier seems 22 kHz too high.
    assert error_khz == pytest.approx(22.0, abs=3 * spread_khz)
    assert spread_khz < 6.0
    low_khz, high_khz = profile.passband_khz
    assert high_khz - low_khz < 100  # of 130 that were believed
    assert low_khz - 15 < radio.passband_khz < high_khz + 15


def test_the_json_is_the_stable_form(tmp_path, capsys):
    folder, _ = swept(misalignment_khz=-22.0)
    out = tmp_path / "kitchen.toml"
    status, printed = run(capsys, folder, "--out", out, "--station", "91.8", "--json")
    answer = json.loads(printed.out)
    assert (status, answer["schema"], answer["learned"]) == (0, "listen.radio/1", True)
    assert (answer["dial"], answer["next"], answer["profile"]) == ("digital", None, str(out))
    assert [mark["dial_mhz"] for mark in answer["errors"]] == [88.0, 92.0, 96.0]
    places = [(one["true_mhz"], one["known"]) for one in answer["stations"]]
    assert places == [(mhz, mhz == 91.8) for mhz in STATIONS_MHZ]
    left_khz = [one["left_khz"] for one in answer["stations"]]
    assert np.abs(left_khz).max() < 15


def test_a_named_station_that_was_not_heard_is_said_so(tmp_path, capsys):
    folder, _ = swept(misalignment_khz=-22.0)
    named = ("--station", "91.8", "--station", "92.6")
    status, printed = run(capsys, folder, "--out", tmp_path / "radio.toml", *named)
    assert status == 0
    assert "Learned from 5 stations, 1 of known frequency." in printed.out
    assert (
        "Note: Named, but not told apart within 200 kHz of its place: 92.60 MHz. See that"
        in printed.out
    )
    only = run(capsys, folder, "--out", tmp_path / "radio.toml", "--station", "91.8")[1].out
    assert "Named, but" not in only


def test_stations_with_others_beside_them_tell_the_dial_s_error_but_no_passband(tmp_path, capsys):
    stations = (89.4, 89.8, 93.0, 93.4)
    folder, _ = swept(stations_mhz=stations, strength_db=30.0, misalignment_khz=-22.0)
    out = tmp_path / "radio.toml"
    named = [word for mhz in (89.4, 89.8, 93.0) for word in ("--station", str(mhz))]
    status, printed = run(capsys, folder, "--out", out, *named)
    assert status == 0
    assert "Note: No station stands alone, so the passband is not learned" in printed.out
    profile, _ = read_profile(out)
    ((_, error_khz, spread_khz),) = profile.dial_marks
    assert error_khz == pytest.approx(22.0, abs=3 * spread_khz)
    assert spread_khz < 10.0
    assert profile.passband_khz == Radio().passband_khz
    assert "passband_khz" not in profile.stated


def test_both_ways_to_use_a_profile_are_told(tmp_path, capsys):
    folder, _ = swept(misalignment_khz=-22.0)
    out = tmp_path / "my radio.toml"
    printed = run(capsys, folder, "--out", out)[1].out
    assert f"From now on:  listen sweep FOLDER --radio '{out}'" in printed
    assert f'  profile = "{out.as_posix()}"' in printed


def test_what_was_learned_serves_a_sweep_without_stations(tmp_path, capsys):
    folder, _ = swept(misalignment_khz=-22.0)
    out = tmp_path / "radio.toml"
    assert run(capsys, folder, "--out", out)[0] == 0
    later, _ = swept(stations_mhz=())
    (later / "sweep.toml").write_text(f'[radio]\nprofile = "{out.as_posix()}"\n', "utf-8")
    told = read_folder(later).radio
    assert told.dial_marks == read_profile(out)[0].dial_marks
    assert dial_error_of(told, []).at(92.0).mean_khz == pytest.approx(22.0, abs=6.0)
    (later / "sweep.toml").write_text(
        f'[radio]\nprofile = "{out.as_posix()}"\ndial_marks = [[92, 5, 1]]\n', "utf-8"
    )
    assert read_folder(later).radio.dial_marks == ((92.0, 5.0, 1.0),)  # the sweep beats it


def test_a_scale_needs_one_known_station_and_says_so(tmp_path, capsys):
    folder, radio = swept(
        "analogue", dial_offset_khz=150.0, dial_slope_khz_per_mhz=35.0, dial_scatter_khz=20.0
    )
    out = tmp_path / "radio.toml"
    status, printed = run(capsys, folder, "--out", out)
    assert status == 1
    assert printed.out.startswith("Not learned. The stations fit their raster with more than one")
    assert "One known station is needed" in printed.out
    assert not out.exists()
    known = [word for mhz in (88.9, 90.3, 94.7) for word in ("--station", mhz)]
    status, printed = run(capsys, folder, "--out", out, *known)
    assert status == 0, printed.out
    error = dial_error_of(read_profile(out)[0], [])
    for mhz in (89.0, 92.0, 95.0):
        # Reading scatter of 20 kHz over some four stops a station: 10 kHz each.
        assert error.at(mhz).mean_khz == pytest.approx(-radio.dial_error_khz(mhz), abs=30.0)


def test_without_a_station_nothing_is_learned(tmp_path, capsys):
    folder, _ = swept(stations_mhz=())
    status, printed = run(capsys, folder, "--out", tmp_path / "radio.toml")
    assert status == 1
    assert printed.out.startswith("Not learned. No single station was told apart")
    assert not (tmp_path / "radio.toml").exists()


def test_another_profile_is_not_written_over_unless_it_is_named(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "radio.toml").write_text("raster_khz = 200\n")
    folder, _ = swept(misalignment_khz=-22.0)
    status, printed = run(capsys, folder)
    assert status == 2
    assert printed.err.startswith("listen: radio.toml is there already: name it with --out")
    assert (tmp_path / "radio.toml").read_text() == "raster_khz = 200\n"
    assert run(capsys, folder, "--out", "radio.toml")[0] == 0


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["nowhere"], "nowhere"),
        (["{folder}", "--station", "ninety"], "ninety"),
        (["{folder}", "--out", "{tmp}"], "is a folder"),
        (["{folder}", "--out", "{tmp}/none/radio.toml"], "there is no such folder"),
    ],
)
def test_bad_input_is_refused_in_a_sentence(words, says, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    folder, _ = swept(stations_mhz=())
    words = [word.format(folder=folder, tmp=tmp_path) for word in words]
    status, printed = run(capsys, *words)
    assert status == 2
    assert says in printed.err
    assert "Traceback" not in printed.err


@pytest.mark.parametrize(
    "marks", ["[[98, 12]]", "12", '["a"]', "[[98, 12, 0]]", "[[98,1,1],[98,2,1]]", "[[9, 1, 1]]"]
)
def test_marks_that_are_none_are_refused_by_name(marks, tmp_path, capsys):
    folder, _ = swept(stations_mhz=())
    profile = tmp_path / "radio.toml"
    profile.write_text(f"dial_marks = {marks}\n")
    (folder / "sweep.toml").write_text(f'[radio]\nprofile = "{profile.as_posix()}"\n', "utf-8")
    try:
        status, printed = run(capsys, folder, "--out", tmp_path / "new.toml")
    finally:
        (folder / "sweep.toml").unlink()
    assert status == 2
    assert printed.err.startswith("listen: radio.toml")


KHZ = st.floats(-400, 400).map(lambda khz: round(khz, 1))
MARK = st.tuples(st.floats(21, 299), KHZ, st.floats(0.5, 50))


@settings(deadline=None, max_examples=60)
@given(
    radio=st.builds(
        Radio,
        band_mhz=st.tuples(st.floats(60, 88), st.floats(90, 110)),
        dial=st.sampled_from(["digital", "analogue"]),
        oscillator=st.sampled_from([None, "above", "below"]),
        step_khz=st.none() | st.floats(5, 200),
        passband_khz=st.tuples(st.floats(60, 200), st.floats(201, 400)),
        dial_marks=st.lists(MARK, max_size=2, unique_by=lambda mark: mark[0]).map(tuple),
    ),
    words=st.text(max_size=40),
)
def test_a_profile_reads_back_as_it_was_written(radio, words):
    path = Path(mkdtemp()) / "radio.toml"
    write_profile(path, radio, words)
    back, warnings = read_profile(path)
    assert replace(back, stated=frozenset()) == radio
    assert warnings == ()


def test_the_two_marks_of_a_scale_are_independent_and_say_all():
    # Errors at the ends: variances 100 and 50, covariance -20, by a grid of pairs.
    low, high = (part.ravel() for part in np.meshgrid(*[np.arange(-50.0, 51.0, 2.0)] * 2))
    inverse = np.linalg.inv([[100.0, -20.0], [-20.0, 50.0]])
    away = np.stack([low - 5.0, high + 8.0])
    weight = np.exp(-0.5 * np.einsum("ik,ij,jk->k", away, inverse, away))
    error = DialError(low, high, weight / weight.sum(), (88.0, 108.0), 100.0)
    (first_mhz, first, one), (second_mhz, second, two) = marks_of(error, [90.0, 105.0])
    # Hand arithmetic: S = 100 + 50 + 40 = 190, t0 = 120 / 190 = 0.632, V0 = 100 - 120² / 190 =
    # 24.2, so the places are 0.632 ± sqrt(24.2 / 190) = 0.275 and 0.989 of the way, and the
    # variance at both is 2 V0 = 48.4.
    assert first_mhz == pytest.approx(88 + 20 * 0.275, abs=0.05)
    assert second_mhz == pytest.approx(88 + 20 * 0.989, abs=0.05)
    assert (one, two) == (pytest.approx(6.96, abs=0.15), pytest.approx(6.96, abs=0.15))
    assert first == pytest.approx(5 - 0.275 * 13, abs=0.15)
    assert second == pytest.approx(5 - 0.989 * 13, abs=0.15)
