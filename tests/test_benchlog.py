"""A log that grows: what is on disk when a row was added, and how one goes on after a crash."""

import os

import pytest

from listen.commands.benchlog import BenchLog
from listen.errors import CannotWrite

COLUMNS = ("at", "said")


def test_every_row_is_synced_when_it_was_added(tmp_path, monkeypatch):
    path, synced = tmp_path / "drift.csv", []
    monkeypatch.setattr(os, "fsync", lambda handle: synced.append(path.read_text()))
    log = BenchLog(path, COLUMNS)
    log.add(at=1.5, said="a, b")
    log.add(synced=False, at=2.0)
    log.close()
    assert synced == ["at,said\n", 'at,said\n1.5,"a, b"\n']
    assert path.read_text() == 'at,said\n1.5,"a, b"\n2,\n'


@pytest.mark.parametrize(
    ("left", "then"),
    [
        ("at,said\n1,x\n", "at,said\n1,x\n2,y\n"),
        ("at,said\n1,x\n1.5,half a sen", "at,said\n1,x\n1.5,half a sen\n2,y\n"),
        ("at,said", "at,said\n2,y\n"),
        ("at,s", "at,said\n2,y\n"),
        ("", "at,said\n2,y\n"),
    ],
)
def test_a_log_goes_on_and_a_line_cut_short_is_ended_first(left, then, tmp_path):
    path = tmp_path / "drift.csv"
    path.write_text(left)
    log = BenchLog(path, COLUMNS)
    log.add(at=2.0, said="y")
    log.close()
    assert path.read_text() == then


@pytest.mark.parametrize("other", ["at,left\n1,2\n", "at,said,more\n", "dear diary", "\n"])
def test_another_file_is_never_touched(other, tmp_path):
    path = tmp_path / "drift.csv"
    path.write_text(other)
    with pytest.raises(CannotWrite, match="no log of this kind"):
        BenchLog(path, COLUMNS)
    assert path.read_text() == other
