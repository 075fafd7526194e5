"""What `listen sweep` and `listen check` refuse before any sound is asked for, in words."""

import io
import shlex
import subprocess
import sys

import numpy as np
import pytest

from listen.cli import main
from listen.commands.begun import settled
from listen.commands.dialler import unechoed
from listen.commands.options import with_typed
from listen.commands.screen import CELLS, has_keys, level_bar, level_of, read_line
from listen.commands.sweep import _positions
from listen.errors import BadDial, BadFolder
from listen.folder import FolderWriter, SweepSettings
from listen.radio import Radio


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--stops", "110"], "110 MHz is not on a dial from 87.5 to 108 MHz: name the radio's"),
        (["--stops", "95,5,96"], "with decimal commas put semicolons between the positions"),
        (["--stops", " , "], "--stops names no dial position"),
        (["--stops", "ninety"], "ninety"),
        (["--from", "80", "--to", "90"], "80 MHz is not on a dial from 87.5 to 108 MHz"),
        (["--from", "96", "--to", "95"], "96"),
        (["--band", "108-87.5"], "108"),
        (["--band", "76-95", "--stops", "100"], "100 MHz is not on a dial from 76 to 95 MHz"),
        (["--plan", "nowhere"], "nowhere"),
        (["--plan", "uk-uhf"], "no channel of uk-uhf has its sound between"),
        (["--step-khz", "0"], "0 kHz"),
        (["--seconds", "0"], "--seconds 0 came: give seconds, 0.5 to 120"),
        (["--settle", "-1"], "--settle -1 came: give seconds, 0 to 30"),
        (["--dwell", "0"], "--dwell 0 came: give seconds, 0.5 to 600"),
        (["--dwell", "nan"], "--dwell nan came"),
        (["--mains", "55"], "--mains 55 came: mains run at 50 or at 60 Hz"),
        (["--tune-with", "prog"], "does not say where the frequency goes"),
    ],
)
def test_options_that_cannot_be_meant_are_refused_before_anything_is_made(
    words, says, tmp_path, capsys
):
    folder = tmp_path / "new"
    assert main(["sweep", str(folder), *words]) == 2
    said = capsys.readouterr().err
    assert said.startswith("listen: ")
    assert said.count("\n") == 1
    assert says in said
    assert not folder.exists()


def test_a_profile_whose_marks_no_dial_has_is_refused_before_anything_is_made(tmp_path, capsys):
    """By hand: 20 kHz a MHz from 100 at 90; the band typed goes to 120, where that is 700."""
    profile, folder = tmp_path / "radio.toml", tmp_path / "new"
    profile.write_text('dial = "analogue"\ndial_marks = [[90, 100, 5], [100, 300, 5]]\n')
    assert main(["sweep", str(folder), "--radio", str(profile), "--band", "87.5-120"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("listen: dial marks came that put the scale off by +700 kHz at 120 MHz")
    assert not folder.exists()


@pytest.mark.parametrize("seconds", ["1", "61", "nan"])
def test_a_check_of_no_sensible_length_is_refused(seconds, capsys):
    assert main(["check", "--seconds", seconds]) == 2
    assert "the line check needs 2 to 60" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("stops", "positions"),
    [
        ("95.5,95.6", (95.5, 95.6)),
        ("96, 95.5 ,96,", (96.0, 95.5)),
        ("95,5;95,6", (95.5, 95.6)),
    ],
)
def test_named_stops_keep_their_order_and_come_once(stops, positions):
    assert _positions(Radio(), None, None, stops, None, False) == positions


def test_a_part_of_the_band_is_walked_in_the_radio_s_steps():
    assert _positions(Radio(step_khz=200), "95.1", "95,6", None, None, False) == (
        95.1,
        95.3,
        95.5,
    )
    assert _positions(Radio(), "107.8", None, None, None, False) == (107.8, 107.9, 108.0)


def test_a_part_of_the_band_keeps_to_the_steps_that_the_dial_can_make():
    # From 87.5 in steps of 200 kHz: odd tenths.  A dial cannot be set to 95.2.
    assert _positions(Radio(step_khz=200), "95.2", "95.8", None, None, False) == (95.3, 95.5, 95.7)
    assert _positions(Radio(), "95.3", "95.3", None, None, False) == (95.3,)
    with pytest.raises(BadDial, match=r"no dial stop lies from 95\.31 to 95\.39 MHz"):
        _positions(Radio(), "95.31", "95.39", None, None, False)


@pytest.mark.parametrize(
    ("name", "says"),
    [("README.md", "is a file: give another name"), ("things", "holds other files (a.wav)")],
)
def test_a_place_that_can_hold_no_sweep_is_refused_before_an_input_is_looked_for(
    name, says, tmp_path, capsys
):
    (tmp_path / "README.md").write_text("words")
    (tmp_path / "things").mkdir()
    (tmp_path / "things" / "a.wav").write_bytes(b"")
    assert main(["sweep", str(tmp_path / name)]) == 2
    assert says in capsys.readouterr().err


BEGUN = SweepSettings(
    Radio(band_mhz=(76.0, 95.0), step_khz=50.0, stated=frozenset({"band_mhz", "step_khz"})),
    (50.0,),
    ("jp-air",),
)
NOTHING_STATED = SweepSettings(Radio())


@pytest.mark.parametrize(
    ("there", "words", "says"),
    [
        (BEGUN, ["--band", "87.5-108"], "was begun with a dial from 76 to 95 MHz, and --band"),
        (BEGUN, ["--step-khz", "100"], "was begun with dial steps of 50 kHz, and --step-khz"),
        (BEGUN, ["--plan", "au-air"], "was begun with plans jp-air, and --plan"),
        (BEGUN, ["--mains", "60"], "was begun with mains of 50 Hz, and --mains"),
        (NOTHING_STATED, ["--band", "76-95"], "a dial from 87.5 to 108 MHz, and --band"),
        (NOTHING_STATED, ["--step-khz", "50"], "dial steps of 100 kHz, and --step-khz"),
        (NOTHING_STATED, ["--plan", "jp-air"], "all channel plans, and --plan"),
        (NOTHING_STATED, ["--mains", "50"], "mains of 50 or 60 Hz, and --mains"),
    ],
)
def test_what_contradicts_the_sweep_that_is_there_is_refused(there, words, says, tmp_path, capsys):
    folder = tmp_path / "begun"
    FolderWriter.create(folder, there)
    assert main(["sweep", str(folder), *words]) == 2
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == 1


def test_a_sweep_that_is_gone_on_with_keeps_its_own_radio_and_plans(tmp_path):
    folder = tmp_path / "begun"
    FolderWriter.create(folder, BEGUN)
    same = SweepSettings(
        Radio(band_mhz=(76.0, 95.0), stated=frozenset({"band_mhz"})), plans=("JP-AIR",)
    )
    for typed in (same, NOTHING_STATED, BEGUN):
        assert settled(folder, typed) == BEGUN
    assert settled(tmp_path / "new", same) == same
    profiled = SweepSettings(Radio(passband_khz=(180.0, 230.5), stated=frozenset({"passband_khz"})))
    FolderWriter.create(tmp_path / "profiled", profiled)
    assert settled(tmp_path / "profiled", profiled) == profiled
    with pytest.raises(BadFolder, match=r"passband_khz = \(150.0, 280.0\), and --radio says"):
        settled(folder, profiled)
    usual = tmp_path / "usual"
    FolderWriter.create(usual, NOTHING_STATED)
    # The usual step, typed: the sweep was walked in it.
    hundred = SweepSettings(Radio(step_khz=100.0, stated=frozenset({"step_khz"})))
    assert settled(usual, hundred).radio == Radio()


@pytest.mark.parametrize("stdin", [None, io.StringIO(), "closed"])
def test_without_a_keyboard_nobody_is_asked(stdin, monkeypatch):
    if stdin == "closed":
        stdin = io.StringIO()
        stdin.close()
    monkeypatch.setattr("sys.stdin", stdin)
    assert not has_keys()
    with unechoed():
        pass
    if stdin is None:
        with pytest.raises(EOFError):
            read_line("? ")


def test_with_standard_input_closed_a_sweep_still_answers_in_a_sentence(tmp_path):
    words = [sys.executable, "-m", "listen", "sweep", "x", "--stops", "95", "--tune-with"]
    command = f"{shlex.join([*words, 'echo {hz}'])} <&-"
    done = subprocess.run(
        ["sh", "-c", command], capture_output=True, text=True, check=False, cwd=tmp_path
    )
    assert "Traceback" not in done.stderr
    assert done.stderr.startswith("listen: ")


def test_the_level_bar_shows_clipping_and_silence_in_words():
    assert level_bar(0.0, -3.0) == "#" * CELLS + "    0 dB"
    assert level_bar(-30.0, -3.0) == "#" * (CELLS // 2) + "." * (CELLS // 2) + "  -30 dB"
    assert level_bar(-3.0, 0.0).endswith("CLIPPING")
    assert level_bar(-30.0, 0.0, 60) == "###...  -30 dB CLIPPING"
    assert level_bar(-200.0, -200.0) == "." * CELLS + "  -99 dB silent"


def test_the_level_of_a_block_is_that_of_its_louder_channel():
    wave = np.sin(2 * np.pi * np.arange(480) / 48).astype(np.float32)
    level_db, peak_db = level_of(np.stack((0.1 * wave, 0.5 * wave), axis=1))
    # Half of full scale, by AES17: 20·log10(0.5).  Float32 steps are 6e-8 of it.
    assert level_db == pytest.approx(-6.0206, abs=1e-4)
    assert peak_db == pytest.approx(-6.0206, abs=1e-4)


def test_a_typed_eastern_band_has_its_own_raster():
    """Every 30 kHz: listen/data/fm_bands.csv.  What is stated stays."""
    assert with_typed(Radio(), "65.8-74", None).raster_khz == 30
    assert with_typed(Radio(), "87.5-108", None).raster_khz == 100
    stated = Radio(raster_khz=50.0, stated=frozenset(("raster_khz",)))
    assert with_typed(stated, "65.8-74", None).raster_khz == 50
