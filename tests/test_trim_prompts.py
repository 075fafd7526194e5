"""What tells a person to act without being looked at, and what tells a program."""

import io
import json
import shlex
import sys
import time

import pytest

from listen.cli import main
from listen.commands.meter_json import MeterJson
from listen.commands.meter_view import figures
from listen.commands.prompts import Prompts, Speaker
from listen.errors import BadDial
from listen.trim import Ask, Frame, Say

WRITES = """
import sys, time
with open(sys.argv[1], 'a') as said:
    said.write(sys.argv[-1] + chr(10))
time.sleep({})
"""


def speaking(path, lasts_s=0.0):
    return Speaker(shlex.join([sys.executable, "-c", WRITES.format(lasts_s), str(path)]))


def frame(word, t_s=0.0, stage="goal", **more):
    fields = {"dial_mhz": 100.7, "clarity": 50.0, "quieting_db": 12.34, "clips": False}
    return Frame(t_s=t_s, stage=stage, word=word, **{**fields, **more})


def test_a_sentence_is_the_last_argument_whole_and_no_shell_reads_it(tmp_path):
    voice = speaking(tmp_path / "said")
    for text in ('Turn; it\'s $HOME * "here".', "Hold."):
        voice.say(text)
        voice.finish()
    assert (tmp_path / "said").read_text() == 'Turn; it\'s $HOME * "here".\nHold.\n'


def test_speaking_keeps_nobody_waiting_and_drops_what_is_no_longer_true(tmp_path):
    voice = speaking(tmp_path / "said", lasts_s=1.0)
    voice.say("first")
    while not (tmp_path / "said").exists() or not (tmp_path / "said").read_text():
        time.sleep(0.02)
    for number in range(20):
        voice.say(f"later {number}")
    assert (tmp_path / "said").read_text() == "first\n"  # twenty came while one was spoken
    voice.finish()
    assert (tmp_path / "said").read_text() == "first\nlater 18\nlater 19\n"


@pytest.mark.parametrize(
    ("command", "why"),
    [
        ("no-such-program-here", r"cannot be run \(No such file"),
        (f"{shlex.quote(sys.executable)} -c 'raise SystemExit(3)'", "ended with status 3"),
    ],
)
def test_a_program_that_fails_is_named_once_and_all_else_goes_on(command, why):
    voice = Speaker(command)
    prompts = Prompts(speaker=voice)
    prompts.said(Say("do", "Turn."))
    prompts.finish()
    while not voice.failed:
        time.sleep(0.02)
    said = prompts.complaint()
    assert said.startswith("Nothing is spoken: of the program after --say-with, it ")
    assert why.replace("\\", "") in said
    assert prompts.complaint() is None
    prompts.said(Say("do", "Turn on."))  # and nothing more is tried


@pytest.mark.parametrize("command", ["", "  ", "half 'a word"])
def test_what_is_no_command_is_refused(command):
    with pytest.raises(BadDial, match=r"--say-with .* each sentence as its last argument"):
        Speaker(command)


def test_the_bell_rings_for_what_is_to_be_done_and_at_the_goal_for_hold_and_passed():
    out = io.StringIO()
    prompts = Prompts(bell=True, out=out)
    rung = []

    def rings(tell, what):
        before = len(out.getvalue())
        tell(what)
        rung.append(len(out.getvalue()) - before)

    for kind in ("do", "warn", "good", "note"):
        rings(prompts.said, Say(kind, "A sentence."))
    assert rung == [1, 1, 1, 0]
    rung.clear()
    for word in ("TURN", "WARMER", "HOLD", "HOLD", "COLDER", "PASSED", "TURN", "HOLD"):
        rings(prompts.saw, frame(word))
    assert rung == [0, 0, 1, 0, 0, 1, 0, 1]
    assert set(out.getvalue()) == {"\a"}


@pytest.mark.parametrize("clarity", [None, 50.0])
def test_clipping_is_shown_whether_or_not_the_roar_is_known(clarity):
    assert "CLIPPING" in figures(frame("LISTENING", clarity=clarity, clips=True))
    assert "CLIPPING" not in figures(frame("LISTENING", clarity=clarity))


def test_for_a_program_each_event_is_a_line_of_json(capsys):
    view = MeterJson()
    view.say(Say("warn", "Wrong way."))
    view.want(Ask(None, "An open spot."), "")
    for n in range(25):  # half a second, 50 readings a second
        view.show(frame("HOLD", 0.02 * n))
    view.result(left_khz=None)
    events = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert events[0] == {"event": "say", "kind": "warn", "text": "Wrong way."}
    assert events[1] == {"event": "dial", "dial_mhz": None, "why": "An open spot."}
    meters = [one for one in events if one["event"] == "meter"]
    assert [one["t_s"] for one in meters] == [0.0, 0.1, 0.2, 0.3, 0.4]
    assert meters[0]["quieting_db"] == 12.3
    assert events[-1] == {"event": "result", "left_khz": None}


def test_a_command_that_cannot_be_read_is_one_sentence(capsys):
    words = ["trim", "--to", "au-air:4", "--wait", "--replay", "x", "--say-with", "it's"]
    assert main(words) == 2
    said = capsys.readouterr().err
    assert said.startswith('listen: --say-with "it\'s" cannot be read as a command')
    assert said.count("\n") == 1
