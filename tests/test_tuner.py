"""Who turns the dial: keys, a set time, and programs that are run without a shell."""

import sys

import pytest

from listen.errors import TunerFailed
from listen.tuner import Command, Dwell, Person, filled


def typing(*lines):
    left = list(lines)

    def read_line(prompt):
        assert "Enter" in prompt
        if not left:
            raise EOFError
        return left.pop(0)

    return read_line, left


@pytest.mark.parametrize(("typed", "turn"), [("\n", "go"), ("s\n", "skip"), (" B \n", "back")])
def test_a_person_answers_with_a_key(typed, turn):
    read_line, left = typing(typed)
    assert Person(read_line).tune(95.5, "on") == turn
    assert left == []


def test_a_key_without_meaning_is_asked_again():
    read_line, left = typing("x\n", "yes\n", "\n")
    assert Person(read_line).tune(95.5, "on") == "go"
    assert left == []


def test_nobody_at_the_keyboard_is_refused_with_the_way_out():
    with pytest.raises(TunerFailed, match="--dwell, or a program that tunes with --tune-with"):
        Person(typing()[0]).tune(95.5, "on")


def test_a_dwell_waits_its_time():
    waited = []
    assert Dwell(4.0, waited.append).tune(95.5, "off") == "go"
    assert waited == [4.0]


@pytest.mark.parametrize(
    ("word", "value"),
    [
        ("{hz}", "95762500"),
        ("{khz}", "95762.5"),
        ("F{mhz}M", "F95.7625M"),
        ("{console}", "off"),
        ("--tune={mhz},{hz}", "--tune=95.7625,95762500"),
    ],
)
def test_the_frequency_is_put_in_where_the_template_says(word, value):
    assert filled(word, 95.7625, "off") == value


def test_whole_frequencies_have_no_tail():
    assert [filled(place, 100.0, "on") for place in ("{hz}", "{khz}", "{mhz}")] == [
        "100000000",
        "100000",
        "100",
    ]


def program(tmp_path, code):
    path = tmp_path / "a program.py"
    path.write_text(code)
    return f'"{sys.executable}" "{path}"'


def test_a_program_is_run_with_the_frequency_and_without_a_shell(tmp_path):
    out = tmp_path / "out"
    written = program(tmp_path, f"import sys; open({str(out)!r}, 'w').write(repr(sys.argv[1:]))")
    assert Command(written + " {hz} ';' '$HOME'").tune(95.5, "on") == "go"
    assert out.read_text() == "['95500000', ';', '$HOME']"


@pytest.mark.parametrize(
    ("code", "says"),
    [
        ("import sys; sys.exit('no radio\\nis there')", r"status 1 \(is there\)"),
        ("import sys; print('only out'); sys.exit(7)", r"status 7 \(only out\)"),
        ("import sys; sys.exit(3)", r"status 3 \(it said nothing\)"),
        ("import time; time.sleep(60)", r"did not end within 0\.5 s"),
    ],
)
def test_a_program_that_fails_is_quoted(tmp_path, code, says):
    tuner = Command(program(tmp_path, code) + " {mhz}", timeout_s=0.5)
    if "sleep" not in code:
        tuner = Command(program(tmp_path, code) + " {mhz}")
    with pytest.raises(TunerFailed, match=says):
        tuner.tune(95.5, "on")


@pytest.mark.parametrize(
    ("template", "says"),
    [
        ("tune 95.5", "does not say where the frequency goes: write {hz}, {khz} or {mhz}"),
        ("", "does not say where the frequency goes"),
        ("tune '{hz}", "cannot be read as a command: No closing quotation"),
    ],
)
def test_a_template_that_cannot_work_is_refused_at_once(template, says):
    with pytest.raises(TunerFailed, match=says):
        Command(template)


def test_a_program_that_is_not_there_is_named():
    with pytest.raises(TunerFailed, match=r"\(No such file or directory\): not-there-xyz 95\.5"):
        Command("not-there-xyz {mhz}").tune(95.5, "on")


def test_the_console_is_switched_by_a_person_by_the_program_or_not_at_all(tmp_path):
    nothing = program(tmp_path, "pass") + " {hz}"
    asked = []

    class Hand:
        def tune(self, dial_mhz, console):
            asked.append(console)
            return "go"

    by_hand = Command(nothing, switch=Hand())
    assert [by_hand.tune(95.5, state) for state in ("on", "off", "off", "on")] == ["go"] * 4
    assert asked == ["off", "on"]
    assert Command(nothing + " {console}").tune(95.5, "off") == "go"
    assert Command(nothing).tune(95.5, "off") == "skip"
    assert Command(nothing, console="off").tune(95.5, "off") == "go"
