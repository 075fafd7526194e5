"""Tables: plain when piped, and on a terminal wrapped without cutting a name or a number."""

import os
import pty
import re
import subprocess
import sys

import pytest
from making_docs import HOME

from listen.channels import mhz_text
from listen.terminal import print_table, say

HEADERS = ("channel", "picture MHz", "sound off kHz", "where it holds")
ROWS = [
    ("us-cable-irc:99", "115.275", "-25.0", "United States; Canada and other systems"),
    ("jp-air:1", "91.25", "+0.0", "Japan"),
]


def test_a_piped_table_is_a_header_and_one_row_a_line(capsys):
    print_table(HEADERS, ROWS, title="Channels")
    say("That is all.")
    assert capsys.readouterr().out == (
        "Channels\n"
        "channel          picture MHz  sound off kHz  where it holds\n"
        "us-cable-irc:99      115.275          -25.0  United States; Canada and other systems\n"
        "jp-air:1               91.25           +0.0  Japan\n"
        "That is all.\n"
    )


def test_a_table_without_rows_is_its_header(capsys):
    print_table(("a", "b c"), [])
    assert capsys.readouterr().out == "a  b c\n"


TABLE = f"from listen.terminal import print_table; print_table({HEADERS!r}, {ROWS!r}, 'Two')"


def on_a_terminal(columns, code=TABLE):
    """What the table, or the code, shows on a pseudo-terminal of that width."""
    ours, theirs = pty.openpty()
    environment = os.environ | {"COLUMNS": str(columns), "TERM": "xterm"}
    with subprocess.Popen(
        [sys.executable, "-c", code], stdout=theirs, stderr=subprocess.STDOUT, env=environment
    ) as child:
        os.close(theirs)
        shown = b""
        try:
            while part := os.read(ours, 4096):
                shown += part
        except OSError:  # Linux says so when the other end has closed
            pass
    os.close(ours)
    assert child.returncode == 0, shown
    plain = re.sub(r"\x1b\[[0-9;]*m", "", shown.decode())
    return [line.rstrip() for line in plain.splitlines()]


@pytest.mark.parametrize("columns", [100, 80, 60, 20])
def test_a_narrow_terminal_breaks_no_word(columns):
    lines = on_a_terminal(columns)
    words = " ".join(lines).split()
    for cells in (HEADERS, *ROWS):
        for cell in cells:
            for word in cell.split():
                assert word in words, (word, lines)
    if columns >= 60:  # below that the columns cannot fit, and the terminal breaks the lines
        assert max(map(len, lines)) <= columns


@pytest.mark.parametrize(
    ("columns", "has", "lacks", "says"),
    [
        (150, ("from", "to", "source"), (), ""),
        (80, ("from", "to"), ("source",), "Without sources: a wider terminal"),
        (60, (), ("from", "to", "source"), "Without band edges and sources: a wider"),
    ],
)
def test_a_table_of_channels_says_which_columns_had_no_room(columns, has, lacks, says):
    code = "from listen.cli import main; main(['channels', '--sound', '95.75'])"
    *lines, end = (line for line in on_a_terminal(columns, code) if line)
    shown = " ".join([*lines, end])
    heads = shown[: shown.index("us-cable-std:95")].split()
    assert set(has) <= set(heads)
    assert not set(lacks) & set(heads)
    assert says in shown
    assert ("Without" in shown) == bool(says)


@pytest.mark.parametrize(("columns", "whole"), [(100, True), (60, False)])
def test_a_narrow_table_of_destinations_leaves_out_what_the_name_tells(columns, whole):
    words = ["destinations", str(HOME / "samples" / "imported-console"), "--most", "0"]
    lines = on_a_terminal(columns, f"from listen.cli import main; main({words!r})")
    first = next(n for n, line in enumerate(lines) if line.split()[:1] == ["au-air:4"])
    assert max(map(len, lines[first - 3 :])) <= columns
    assert ("100.75" in lines[first]) == whole
    assert ("Without systems and carriers: a wider terminal" in " ".join(lines)) != whole


@pytest.mark.parametrize(
    ("mhz", "shown"),
    [(87.75, "87.75"), (90, "90.00"), (88.5042, "88.5042"), (95.7625, "95.7625"), (99.5, "99.50")],
)
def test_a_frequency_has_two_decimals_or_more_where_it_needs_them(mhz, shown):
    assert mhz_text(mhz) == shown
