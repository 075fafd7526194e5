"""What `listen sweep` and `listen check` refuse before any sound is asked for, in words."""

import numpy as np
import pytest

from listen.cli import main
from listen.commands.screen import CELLS, level_bar, level_of
from listen.commands.sweep import _positions
from listen.radio import Radio


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--stops", "110"], "110 MHz is not on a dial from 87.5 to 108 MHz: name the radio's"),
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


def test_the_level_bar_shows_clipping_and_silence_in_words():
    assert level_bar(0.0, -3.0) == "#" * CELLS + "    0 dB"
    assert level_bar(-30.0, -3.0) == "#" * (CELLS // 2) + "." * (CELLS // 2) + "  -30 dB"
    assert level_bar(-3.0, 0.0).endswith("CLIPPING")
    assert level_bar(-200.0, -200.0) == "." * CELLS + "  -99 dB silent"


def test_the_level_of_a_block_is_that_of_its_louder_channel():
    wave = np.sin(2 * np.pi * np.arange(480) / 48).astype(np.float32)
    level_db, peak_db = level_of(np.stack((0.1 * wave, 0.5 * wave), axis=1))
    # Half of full scale, by AES17: 20·log10(0.5).  Float32 steps are 6e-8 of it.
    assert level_db == pytest.approx(-6.0206, abs=1e-4)
    assert peak_db == pytest.approx(-6.0206, abs=1e-4)
