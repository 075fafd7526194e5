"""`listen sweep` over the real sound path, with a person at a terminal and a bench that plays.

The radio is a model bench: when the prompt names a dial position, the test plays what the
bench hears there and presses Enter.  Sound on its way through pipes and buffers is older than
what is played now by under 0.2 s; the command's own settling time leaves it out.
"""

import csv
import os
import re
import shlex
import signal
import subprocess
import sys

import numpy as np
import pytest
import soundfile

from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench

STOPS = "95.4,95.5,95.6,95.7,95.8,95.9,96,96.1"
SHORT = ["--seconds", "1", "--settle", "0.5"]
LOOP_S = 4.0  # longer than settling and recording: no seam within a stop
BENCH = Bench(
    stations=(Station(96.9, 30.0, "music"),),
    console=Console(sound_mhz=95.75, strength_db=30.0, spacing_mhz=4.5, deviation_khz=25.0),
    seed=3,
)
PROMPT = r"Dial to ([\d.]+) MHz, console (on|off)"


def rows(folder):
    with (folder / "stops.csv").open(newline="") as file:
        return list(csv.DictReader(file))


def turn(shown, player, key="\n", bench=BENCH):
    """Be the person: set the dial and the switch as asked, then press the key."""
    asked = shown.expect(PROMPT)
    shown.expect(r"Ctrl-C to stop: ")
    dial_mhz, console = float(asked[1]), asked[2]
    player.play(bench.hear(dial_mhz, LOOP_S, console).samples)
    shown.keys(key)
    return dial_mhz, console


def begin(terminal, *words, stops=STOPS):
    return terminal("sweep", "new", "--input", "linein", "--stops", stops, *SHORT, *words)


def test_a_person_walks_the_dial_and_is_told_the_channel(terminal, player, tmp_path):
    shown = begin(terminal, "--plan", "jp-air", "--plan", "us-air")
    shown.expect("Caution: ")
    walked = [turn(shown, player) for _ in range(8)]
    assert walked == [(float(text), "on") for text in STOPS.split(",")]
    shown.expect("Switch the console OFF, then set the dial")
    last = turn(shown, player)
    shown.expect("Switch the console ON again")
    shown.expect("Found")
    shown.expect("jp-air:1")
    assert (shown.ends(), shown.errors()) == (0, "")
    assert last[1] == "off"
    kept = rows(tmp_path / "new")
    assert [(float(row["dial_mhz"]), row["console"]) for row in kept] == [*walked, last]
    assert all(row["at"] for row in kept)
    for row in kept:
        samples, rate_hz = soundfile.read(tmp_path / "new" / row["file"], always_2d=True)
        assert (samples.shape, rate_hz) == ((48_000, 2), 48_000)


def test_a_station_that_sounds_like_a_console_costs_a_second_off_check(terminal, player, tmp_path):
    """A tune on 101.8, near a channel, that stays when the console goes; that one is silent."""
    bench = Bench(
        stations=(Station(101.8, 35.0, "chip", deviation_khz=25.0, stereo=False),),
        console=Console(
            sound_mhz=95.75,
            strength_db=30.0,
            spacing_mhz=4.5,
            deviation_khz=25.0,
            programme="silence",
            picture_db=None,
        ),
        seed=3,
    )
    shown = begin(terminal, "--plan", "jp-air", stops="95.5,95.7,96.0,101.1,101.8")
    for _ in range(5):
        turn(shown, player, bench=bench)
    shown.expect("Switch the console OFF, leave the dial")  # it stands on 101.8 already
    assert turn(shown, player, bench=bench) == (101.8, "off")
    shown.expect("Looking at what was heard")
    assert turn(shown, player, bench=bench) == (95.7, "off")
    assert "switch proved nothing" in shown.all
    shown.expect("Switch the console ON again")
    shown.expect("Found")
    shown.expect("jp-air:1")
    assert (shown.ends(), shown.errors()) == (0, "")
    kept = [(row["dial_mhz"], row["console"]) for row in rows(tmp_path / "new")]
    assert kept[5:] == [("101.8", "off"), ("95.7", "off")]


def test_each_stop_is_chosen_by_what_was_heard_and_an_interrupted_walk_goes_on(
    terminal, player, tmp_path
):
    """Japan's channels 1 to 3 have their sound on 95.75, 101.75 and 107.75 MHz."""
    words = ("--input", "linein", "--plan", "jp-air", "--step-khz", "200", *SHORT)
    shown = terminal("sweep", "new", *words)
    shown.expect("Each stop is chosen by what was heard")
    assert [turn(shown, player) for _ in range(2)] == [(95.7, "on"), (101.7, "on")]
    assert "jp-air:1 would have the sound on 95.75 MHz." in shown.all
    shown.expect("where it fades tells where it stands")
    shown.expect(r"Ctrl-C to stop: ")
    shown.keys("\x03")
    assert shown.ends() == 130
    shown = terminal("sweep", "new", *words)
    shown.expect("Going on with new: 2 stops are there already")
    walked = []
    while not walked or walked[-1][1] == "on":
        walked.append(turn(shown, player))
    shown.expect("Switch the console ON again")
    shown.expect("Found")
    shown.expect("jp-air:1")
    assert (shown.ends(), shown.errors()) == (0, "")
    kept = [(float(row["dial_mhz"]), row["console"]) for row in rows(tmp_path / "new")]
    assert kept == [(95.7, "on"), (101.7, "on"), *walked]
    assert len(kept) <= 14
    assert 91.3 in [mhz for mhz, _ in kept]  # the picture, 4.5 MHz below


def test_what_is_played_is_what_is_kept_bit_by_bit(terminal, player, tmp_path):
    shown = begin(terminal, stops="95.5")
    rng = np.random.default_rng(7)
    # 24 bits, as the recordings hold.
    played = rng.integers(-(2**20), 2**20, (4 * 48_000, 2)).astype(np.float32) / 2**23
    shown.expect(r"Ctrl-C to stop: ")
    player.play(played)
    shown.keys("\n")
    shown.expect("Looking at what was heard")
    shown.keys("\x03")
    shown.ends()
    kept, _ = soundfile.read(tmp_path / "new" / rows(tmp_path / "new")[0]["file"], dtype="float32")
    begins = np.flatnonzero((played == kept[0]).all(axis=1))
    assert begins.size == 1
    assert np.array_equal(np.roll(played, -begins[0], axis=0)[: len(kept)], kept)


def test_ctrl_c_keeps_what_is_there_and_the_printed_line_goes_on(terminal, player, tmp_path):
    shown = begin(terminal, stops="95.5,95.7,95.9")
    turn(shown, player)
    shown.expect(r"recorded: level -\d+ dBFS")
    shown.expect(r"Ctrl-C to stop: ")
    shown.keys("\x03")
    assert shown.ends() == 130
    said = shown.errors()
    assert "1 stop is kept in new." in said
    assert "Traceback" not in said
    again = re.search(r"To go on:  listen (.*)", said)
    before = (tmp_path / "new" / "stops.csv").read_text()
    shown = terminal(*shlex.split(again[1]))
    shown.expect("Going on with new: 1 stop is there already")
    assert turn(shown, player) == (95.7, "on")
    shown.expect("recorded: level")
    shown.expect(r"Dial to 95.9 MHz")
    assert (tmp_path / "new" / "stops.csv").read_text().startswith(before)


def test_ctrl_c_while_it_records_keeps_the_stops_before(terminal, player, tmp_path):
    shown = terminal("sweep", "new", "--input", "linein", "--stops", "95.5,95.7", "--seconds", "20")
    turn(shown, player)
    shown.expect("95.5 MHz .*#")  # the level moves: it records
    shown.keys("\x03")
    assert shown.ends() == 130
    assert "Nothing was recorded yet" in shown.errors()
    assert rows(tmp_path / "new") == []


@pytest.mark.parametrize(
    ("how", "says"),
    [
        ("kill", "went away"),
        ("stop", "has stalled"),
        ("suspend", "has stalled"),
    ],
)
def test_an_input_that_is_lost_is_one_sentence_and_costs_nothing(
    terminal, player, server, tmp_path, how, says
):
    shown = terminal("sweep", "new", "--input", "linein", "--stops", "95.5,95.7", "--seconds", "2")
    turn(shown, player)
    shown.expect("recorded: level")
    turn(shown, player)
    shown.expect("95.7 MHz .*#")
    if how == "kill":
        server.send(signal.SIGKILL)
    elif how == "stop":
        server.send(signal.SIGSTOP)
    else:
        assert server.control("suspend-sink", "ci", "1").returncode == 0
    assert shown.ends() == 2
    said = shown.errors().splitlines()
    assert len(said) == 2
    assert said[0].startswith("listen: the sound input linein ")
    assert says in said[0]
    assert said[1].startswith("1 stop is kept in new.  To go on:  listen sweep new")
    (row,) = rows(tmp_path / "new")
    assert row["dial_mhz"] == "95.5"


def test_clipping_is_said_at_once_and_the_stop_taken_again(terminal, player, tmp_path):
    shown = begin(terminal, stops="95.8,96.1")
    shown.expect(r"Ctrl-C to stop: ")
    sound = BENCH.hear(95.8, LOOP_S).samples
    player.play(np.clip(sound * 200, -1, 1))
    shown.keys("\n")
    shown.expect("It clips")
    shown.expect("Enter to keep: ")
    assert rows(tmp_path / "new") == []
    player.play(sound)
    shown.keys("r\n")
    shown.expect("recorded: level")
    shown.expect(r"Ctrl-C to stop: ")
    assert [row["dial_mhz"] for row in rows(tmp_path / "new")] == ["95.8"]
    player.play(np.zeros(48_000))
    shown.keys("\n")
    shown.expect("Nothing came in")
    shown.expect("Enter to keep: ")
    shown.keys("s\n")
    shown.expect("Looking at what was heard")
    shown.keys("\x03")
    shown.ends()
    assert len(rows(tmp_path / "new")) == 1


def test_a_stop_can_be_left_out_and_the_one_before_taken_again(terminal, player, tmp_path):
    shown = begin(terminal, stops="95.5,95.7,95.9")
    assert turn(shown, player) == (95.5, "on")
    assert turn(shown, player, "s\n") == (95.7, "on")
    shown.expect("Left out")
    assert turn(shown, player, "b\n") == (95.9, "on")
    assert turn(shown, player) == (95.5, "on")
    assert turn(shown, player) == (95.9, "on")
    shown.expect("Looking at what was heard")
    shown.keys("\x03")
    shown.ends()
    assert [row["dial_mhz"] for row in rows(tmp_path / "new")] == ["95.5", "95.5", "95.9"]


def test_without_a_keyboard_a_dwell_is_enough(run, player, tmp_path):
    player.play(BENCH.hear(99.9, LOOP_S).samples)  # the dial is left where only hiss is
    words = ("sweep", "new", "--input", "linein", "--from", "99.8", "--to", "100", *SHORT)
    refused = run(*words)
    assert refused.returncode == 2
    assert "--dwell" in refused.stderr
    done = run(*words, "--dwell", "0.5")
    assert (done.returncode, done.stderr) == (1, "")
    assert "\x1b" not in done.stdout
    assert "Not found" in done.stdout
    assert [row["dial_mhz"] for row in rows(tmp_path / "new")] == ["99.8", "99.9", "100.0"]


def test_a_program_turns_the_dial(server, player, tmp_path):
    """The program writes the frequency into one pipe and waits at another until it is set."""
    for name in ("asked", "set"):
        os.mkfifo(tmp_path / name)
    tuner = tmp_path / "tuner.py"
    tuner.write_text(
        "import sys\nopen('asked', 'w').write(sys.argv[1])\nsys.exit(open('set').read() != 'yes')\n"
    )
    words = ["sweep", "new", "--input", "linein", "--stops", STOPS, *SHORT, "--tune-with"]
    process = subprocess.Popen(
        [sys.executable, "-m", "listen", *words, f"{sys.executable} {tuner} {{hz}}"],
        env=server.env,
        cwd=tmp_path,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    asked_hz = []
    for answer in ["yes"] * 7 + ["no"]:
        with (tmp_path / "asked").open() as pipe:
            asked_hz.append(int(pipe.read()))
        player.play(BENCH.hear(asked_hz[-1] / 1e6, LOOP_S).samples)
        with (tmp_path / "set").open("w") as pipe:
            pipe.write(answer)
    _, errors = process.communicate(timeout=30)
    assert asked_hz == [round(float(text) * 1e6) for text in STOPS.split(",")]
    assert process.returncode == 2
    assert "tuning command failed with status 1" in errors
    assert "7 stops are kept in new" in errors
    assert len(rows(tmp_path / "new")) == 7
