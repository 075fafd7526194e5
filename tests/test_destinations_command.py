"""`listen destinations` as a user meets it: words, JSON, exit status, and its page."""

import json
import re

import pytest
from making_docs import HOME
from making_folders import traces

from listen.analysis.destinations import destinations
from listen.cli import main
from listen.commands.locate import located

SAMPLE = HOME / "samples" / "imported-console"


def run(capsys, *words):
    status = main(["destinations", *map(str, words)])
    return status, capsys.readouterr()


def test_the_sample_is_sent_from_channel_5_to_channel_4_in_words(capsys):
    before = traces(SAMPLE)
    status, printed = run(capsys, SAMPLE, "--set", "au-air")
    assert status == 0
    lines = printed.out.splitlines()
    assert lines[0] == "The best channel of au-air within reach is au-air:4."
    rows = [line.split() for line in lines if line.startswith("au-air:") and "direct" in line]
    # The sample's station on 101.9 lies 350 kHz below 102.25, channel 5's published picture; its
    # stops, 100 kHz apart, place it to some 50 kHz.
    assert [row[0] for row in rows] == ["au-air:4", "au-air:5"]
    (below_mhz,) = re.findall(
        r"A station on 101.9 MHz lies (\S+) MHz below its picture carrier", printed.out
    )
    assert float(below_mhz) == pytest.approx(0.35, abs=0.05)
    assert "where aircraft navigate and speak" in printed.out
    assert traces(SAMPLE) == before


def test_the_json_is_the_librarys_own_value(capsys):
    status, printed = run(capsys, SAMPLE, "--set", "au-air", "--json")
    answer = json.loads(printed.out)
    sweep, location = located(SAMPLE)
    assert status == 0
    same = destinations(location, sweep.radio, ["au-air"], folder=str(SAMPLE))
    assert answer == json.loads(json.dumps(same.as_dict()))
    assert answer["schema"] == "listen.destinations/1"
    assert (answer["found"], answer["located"], answer["sets"]) == (True, True, ["au-air"])
    best = answer["destinations"][0]
    assert (best["plan"], best["channel"], best["picture_mhz"]) == ("au-air", "4", 95.25)
    assert best["move_khz"] == pytest.approx(1e3 * (100.75 - answer["sound_carrier_mhz"]), abs=0.1)


def test_no_channel_with_sound_and_no_console_are_status_1(capsys):
    status, printed = run(capsys, SAMPLE, "--set", "us-air")
    assert status == 1
    assert "No channel of us-air can be proposed" in printed.out
    status, printed = run(capsys, HOME / "samples" / "stations-only", "--set", "us-air", "--json")
    assert (status, json.loads(printed.out)["located"]) == (1, False)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--set", "au"), "no plan is called 'au': did you mean "),
        (("--within", "0"), "--within 0 came: give how far to move in MHz"),
        (("--within", "nan"), "--within nan came: give how far to move in MHz, up to 1000"),
        (("--most", "-1"), "--most -1 came: give how many to explain"),
        (("--plan", "au"), "no plan is called 'au'"),
    ],
)
def test_bad_input_is_one_line(capsys, words, says):
    status, printed = run(capsys, SAMPLE, *words)
    assert (status, printed.out) == (2, "")
    assert printed.err.startswith("listen: ")
    assert says in printed.err
    assert printed.err.count("\n") == 1


def test_the_page_has_every_field(capsys):
    _, printed = run(capsys, SAMPLE, "--set", "au-air", "--json")
    answer = json.loads(printed.out)
    here = answer["destinations"][1]
    fields = {*answer, *here, *here["stations"][0], *answer["left_out"][0]}
    page = (HOME / "docs" / "destinations.md").read_text("utf-8")
    assert {name for name in fields if f"`{name}`" not in page} == set()
    assert answer["schema"] in page
