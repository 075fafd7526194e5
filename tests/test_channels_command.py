"""`listen channels` as a person and as a program meet it."""

import json
import re

import pytest
import typer
from typer.testing import CliRunner

from listen.commands.channels import channels
from listen.errors import BadDial, UnknownChannel

APP = typer.Typer(rich_markup_mode=None)
APP.command()(channels)


def run(*words):
    return CliRunner().invoke(APP, words)


def rows(ran):
    """The cells of a piped table, a dict a row."""
    header, *lines = [
        [cell.strip() for cell in line.split("  ") if cell] for line in ran.stdout.splitlines()
    ]
    return [dict(zip(header, line, strict=True)) for line in lines]


def answer(*words):
    ran = run(*words, "--json")
    found = json.loads(ran.stdout)
    assert found["schema"] == "listen.channels/1"
    assert ran.exit_code == (0 if found.get("reason") is None else 1)
    return found


def test_with_nothing_asked_it_lists_the_plans():
    ran = run()
    assert ran.exit_code == 0
    listed = rows(ran)
    assert len(listed) == 30
    assert listed[4] == {"plan": "jp-air", "systems": "J", "channels": "62", "region": "Japan"}
    assert sum(int(row["channels"]) for row in listed) == 1268
    assert [plan["plan"] for plan in answer()["plans"]] == [row["plan"] for row in listed]


def test_a_plan_is_listed_a_row_a_channel_with_its_source():
    listed = rows(run("JP-air"))
    assert len(listed) == 62
    assert listed[0] == {
        **{"channel": "jp-air:1", "system": "J", "picture MHz": "91.25", "sound MHz": "95.75"},
        **{"from MHz": "90.00", "to MHz": "96.00", "note": "-"},
        "source": "wiki-asia; vf-lib; jp-page",
    }
    both = rows(run("--plan", "za-vhf", "--plan", "ma-vhf"))
    assert [row["channel"].split(":")[0] for row in both] == ["za-vhf"] * 9 + ["ma-vhf"] * 7


def test_a_channel_is_told_with_all_that_share_its_sound():
    ran = run("us-air:6")
    assert ran.exit_code == 0
    for words in (
        "its sound at 87.75 MHz; its picture, a buzz without a tune, at 83.25 MHz",
        "Source (cfr-73.603): 47 CFR 73.603(a)",
        "Sound carriers within 150 kHz of this one:",
        "it-vhf:C        B             82.25",
    ):
        assert words in ran.stdout
    found = answer("us-air:6")
    assert [c["channel"] for c in found["channels"]] == ["6"]
    assert {c["plan"] for c in found["shares_sound"]} == {"us-cable-std", "it-vhf", "ar-air-n"}
    assert {(h["how"], h["dial_mhz"]) for h in found["heard"]} == {
        *{("sound", 87.75), ("picture", 83.25), ("image", 66.35)}
    }
    assert found["sources"]["cfr-73.603"].startswith("47 CFR 73.603(a)")


def test_what_an_fm_radio_cannot_play_or_must_not_radiate_is_said():
    assert "Its sound is AM, which an FM radio cannot play." in run("fr-l-vhf:2").stdout
    assert "Caution: a carrier in the air band, 108 to 137 MHz" in run("jp-cable:C13").stdout
    assert "Caution" not in run("jp-air:3").stdout
    assert [row["note"] for row in rows(run("--sound", "113.75"))] == ["air band"] * 3


def test_a_sound_carrier_names_its_channels_and_how_far_off_they_are():
    listed = rows(run("--sound", "95.8"))
    assert [(row["channel"], row["sound off kHz"]) for row in listed] == [
        ("us-cable-irc:95", "+37.5"),
        ("us-cable-std:95", "+50.0"),
        ("jp-air:1", "+50.0"),
    ]
    assert [c["off_by_khz"] for c in answer("--sound", "95,8")["channels"]] == [37.5, 50, 50]


def test_what_is_asked_narrows_together():
    both = answer("--sound", "107.75", "--picture", "102.25")["channels"]
    assert [(c["plan"], c["channel"], c["picture_off_by_khz"]) for c in both] == [
        ("au-air", "5", 0.0)
    ]
    assert [c["plan"] for c in answer("jp-air", "--sound", "107.75")["channels"]] == ["jp-air"]
    assert answer("jp-air:1", "--sound", "107.75")["channels"] == []
    near = answer("--sound", "107.75", "--within", "10")["channels"]
    assert {c["plan"] for c in near} == {"us-cable-std", "jp-air", "au-air"}


def test_a_dial_hears_sounds_pictures_and_images():
    listed = rows(run("--heard-on", "87.5-108", "--plan", "jp-air", "--plan", "jp-cable"))
    assert [(row["dial MHz"], row["heard as"], row["channel"]) for row in listed] == [
        *[("95.75", "sound", "jp-air:1"), ("101.75", "sound", "jp-air:2")],
        *[("107.75", "sound", "jp-air:3"), ("91.25", "picture", "jp-air:1")],
        *[("97.25", "picture", "jp-air:2"), ("103.25", "picture", "jp-air:3")],
        *[("92.35", "image", "jp-cable:C13"), ("98.35", "image", "jp-cable:C14")],
        ("104.35", "image", "jp-cable:C15"),
    ]
    below = answer("us-air", "--heard-on", "87.5-108", "--oscillator", "below")["heard"]
    assert [(h["channel"], h["how"], h["dial_mhz"]) for h in below] == [
        *[("6", "sound", 87.75), ("4", "image", 93.15), ("5", "image", 103.15)]
    ]


def test_am_sound_in_the_dial_is_said_not_to_be_heard():
    ran = run("fr-l-vhf", "--heard-on", "40-60")
    assert ran.exit_code == 0
    assert ran.stdout.splitlines()[-1] == (
        "Not heard: the sound of fr-l-vhf:1, fr-l-vhf:2, fr-l-vhf:3, fr-l-vhf:4 is AM, "
        "which an FM radio cannot play."
    )
    am = answer("fr-l-vhf", "--heard-on", "40-60")["am_sound"]
    assert [c["channel"] for c in am] == ["1", "2", "3", "4"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--sound", "110"), "No channel asked for has its sound within 150 kHz of 110.00 MHz"),
        (("jp-air", "--plan", "us-air"), "No channel fits: NAME and --plan have no channel in"),
        (("uk-uhf", "--heard-on", "87.5-108"), "No channel asked for is heard on an FM dial from"),
    ],
)
def test_where_nothing_fits_it_says_so_and_exits_with_1(words, says):
    ran = run(*words)
    assert ran.exit_code == 1
    assert ran.stdout.startswith(says)
    assert len(ran.stdout.splitlines()) == 1
    assert answer(*words)["reason"] == ran.stdout.strip()


@pytest.mark.parametrize(
    ("words", "error", "says"),
    [
        (("--sound", "95750"), BadDial, "did you mean 95.75 MHz?"),
        (("--picture", "loud"), BadDial, "a picture carrier of 'loud' came"),
        (("--heard-on", "108-87.5"), BadDial, "give the low end first"),
        (("--heard-on", "87.5-108", "--oscillator", "up"), BadDial, "write above or below"),
        (("--oscillator", "above"), BadDial, "give the dial too, --heard-on LOW-HIGH"),
        (("--sound", "95.75", "--within", "-5"), BadDial, "within -5 kHz came"),
        (("us:6",), UnknownChannel, "did you mean us-air, us-cable-std"),
        (("us",), UnknownChannel, "did you mean us-air, us-cable-std"),
        (("--plan", "us"), UnknownChannel, "did you mean us-air, us-cable-std"),
    ],
)
def test_what_cannot_be_read_is_refused(words, error, says):
    with pytest.raises(error, match=re.escape(says)):
        CliRunner().invoke(APP, words, catch_exceptions=False)


def test_the_help_ends_with_an_example_that_works():
    shown = run("--help").stdout
    examples = [
        line.split()[2:] for line in shown.splitlines() if line.strip().startswith("listen channel")
    ]
    assert len(examples) == 3
    assert all(run(*words).exit_code == 0 for words in examples)
