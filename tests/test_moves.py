"""Judged moves are kept and gone on with, and counted without favour.

How well confirm does is not tested here: that is what the moves are for.
"""

import json

import pytest

from listen.simulate import moves
from listen.simulate.kept import RECORDS
from listen.simulate.moves import Judged, Task, row, table

QUICK = ["--moves", "0", "--radio", "same", "--seconds", "0.3", "--workers", "1"]
QUICK += ["--first-seed", "3"]


def judged(seed, error_khz=None, moved=None, half_khz=10.0):
    shift_khz = None if error_khz is None else 25.0 + error_khz
    interval = None if shift_khz is None else (shift_khz - half_khz, shift_khz + half_khz)
    return Judged(Task("25", seed), 25.0, moved, shift_khz, interval, False, None)


def test_a_row_is_counted_as_by_hand():
    """Errors of 0, 4 and 12 kHz: median 4; two of three intervals of ±10 kHz hold the truth."""
    group = [judged(1, 0.0, True), judged(2, -4.0, True), judged(3, 12.0, None), judged(4)]
    cells = row("25", group)
    assert cells[:5] == ("25", "the same", "4", "3", "4.0")
    assert cells[6:9] == ("7.3", "67 %", "20")  # the root of (0 + 16 + 144) / 3
    assert cells[9:12] == ("50 %", "0 %", "50 %")
    assert {line.count("|") for line in table([cells])} == {15}


def test_a_judged_move_comes_back_from_its_line():
    for one in (judged(7, 3.0, True), judged(8)):
        assert Judged.from_dict(json.loads(json.dumps(one.as_dict()))) == one


def test_moves_are_kept_and_gone_on_with(tmp_path, capsys):
    words = [*QUICK, "--out", str(tmp_path)]
    assert moves.main([*words, "--benches", "1"]) == 0
    first = (tmp_path / RECORDS).read_text()
    assert moves.main([*words, "--benches", "2"]) == 0
    both = (tmp_path / RECORDS).read_text()
    assert both.startswith(first)
    assert [json.loads(line)["task"]["seed"] for line in both.splitlines()] == [3, 4]
    capsys.readouterr()
    (tmp_path / RECORDS).write_text(both[:-30])  # torn while it was written
    assert moves.main([*words, "--benches", "2"]) == 0
    assert (tmp_path / RECORDS).read_text() == both
    said = capsys.readouterr().out
    assert "Seeds 3 to 4; made by code " in said
    assert moves.main([*words, "--report"]) == 0
    assert capsys.readouterr().out == said
    assert moves.main([*words, "--pictures"]) == 2
    assert "judged in another way" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--benches", "0"], "--benches and --workers start at 1"),
        (["--report"], "--report prints what a folder holds: name it with --out"),
    ],
)
def test_what_cannot_be_meant_is_one_sentence(words, says, capsys):
    assert moves.main(words) == 2
    said = capsys.readouterr().err
    assert said.startswith("moves: ")
    assert said.count("\n") == 1
    assert says in said
