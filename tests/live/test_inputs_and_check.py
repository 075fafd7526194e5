"""`listen inputs` and `listen check` over the real sound path."""

import json
import signal
from pathlib import Path

import numpy as np
import pytest

from listen.simulate.bench import Bench
from listen.simulate.linein import LineIn

HOME = Path(__file__).parents[2]
OPEN_SPOT_MHZ = 99.0
LOOP_S = 6.0  # longer than what the check listens to


def roar(**line_in):
    return Bench(line_in=LineIn(**line_in)).hear(OPEN_SPOT_MHZ, LOOP_S).samples


def checked(run, *words):
    done = run("check", "--input", "linein", "--seconds", "3", "--json", *words)
    return done, json.loads(done.stdout)


def kinds(answer):
    return {each["kind"]: each["weight"] for each in answer["findings"]}


def test_the_inputs_of_the_sound_system_are_listed(run):
    done = run("inputs", "--json")
    names = [each["name"] for each in json.loads(done.stdout)["inputs"]]
    assert (done.returncode, done.stderr) == (0, "")
    assert {"linein", "pulse"} <= set(names)
    assert "linein" in run("inputs").stdout


def test_a_good_line_is_fit_and_its_level_is_the_one_played(run, player):
    played = roar()
    player.play(played)
    done, answer = checked(run)
    assert (done.returncode, answer["fit"], done.stderr) == (0, True, "")
    assert kinds(answer) == {"mono": "note"}
    level_dbfs = 10 * np.log10(2 * np.mean(played.astype(float) ** 2))
    # Levels of 3 s parts of this roar lie within 0.05 dB of each other; twice that.
    for channel in answer["channels"]:
        assert channel["level_dbfs"] == pytest.approx(level_dbfs, abs=0.1)


@pytest.mark.parametrize(
    ("line_in", "kind", "weight"),
    [
        ({"volume_db": 9.0}, "clipping", "fault"),
        ({"hum_dbfs": -30.0}, "hum", "warning"),
        ({"channels": 2, "dead_channel": 1}, "dead channel", "warning"),
    ],
)
def test_what_is_wrong_with_a_line_is_said(run, player, line_in, kind, weight):
    player.play(roar(**line_in))
    done, answer = checked(run)
    assert kinds(answer)[kind] == weight
    assert done.returncode == (1 if weight == "fault" else 0)


def test_a_system_that_suppresses_noise_is_caught_while_the_roar_fades(terminal, player):
    shown = terminal("check", "--input", "linein", "--seconds", "3")
    shown.expect("Enter when it roars: ")
    player.play(roar(noise_suppression=True))
    shown.keys("\n")
    shown.expect(r"Fault: The roar fades by \d+ dB")
    shown.expect("What to do: switch off every enhancement")
    assert (shown.ends(), shown.errors()) == (1, "")


def test_silence_is_no_line(run, player):
    done, answer = checked(run)
    assert (done.returncode, kinds(answer)) == (1, {"silent": "fault"})


def test_the_words_ask_for_an_open_spot_and_say_what_to_do(terminal, player):
    player.play(roar(volume_db=9.0))
    shown = terminal("check", "--input", "linein", "--seconds", "2")
    shown.expect("open spot")
    shown.expect("Enter when it roars: ")
    shown.keys("\n")
    shown.expect("not fit for a sweep")
    shown.expect("What to do: turn the radio's volume")
    assert (shown.ends(), shown.errors()) == (1, "")


def test_an_input_that_is_not_there_is_refused_with_the_list(run):
    for words in (["--input", "nothing like it"], ["--input", "99"], ["--input", "nowhere"]):
        done = run("check", *words)
        assert done.returncode == 2
        assert done.stdout == ""
        assert "Traceback" not in done.stderr
    assert "cannot be opened" in done.stderr
    assert "linein" in run("check", "--input", "99").stderr


def test_no_sound_system_is_said_in_one_sentence(run, server):
    server.send(signal.SIGKILL)
    server.process.wait()
    done = run("check")
    assert done.returncode == 2
    assert done.stderr.startswith("listen: this machine has no sound input")
    assert done.stderr.count("\n") == 1


def test_a_sound_system_that_does_not_answer_is_given_up_on(run, server):
    server.send(signal.SIGSTOP)
    done = run("check", "--input", "linein")
    assert done.returncode == 2
    assert "does not answer" in done.stderr
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize("command", [["inputs"], ["check"], ["sweep", "new"]])
def test_without_portaudio_the_remedy_is_named(run, tmp_path, command):
    stub = tmp_path / "stub"
    stub.mkdir()
    (stub / "sitecustomize.py").write_text(
        "import ctypes.util\nctypes.util.find_library = lambda name: None\n"
    )
    done = run(*command, env={"PYTHONPATH": f"{stub}:{HOME}"})
    assert done.returncode == 2
    assert "libportaudio2" in done.stderr
    assert done.stderr.count("\n") == 1
    assert not (tmp_path / "new").exists()
