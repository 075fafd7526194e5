"""The writer: what it lists reads back as it was given, and no crash loses a stop it listed.

Recordings are checked through the sound-file library alone as well as through our reader.
A 24-bit whole number is 2^-23 of full scale, so rounding to the nearest errs by 2^-24 at most.
"""

import csv
import os
import sys
import tempfile
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st
from making_folders import hand_made, noise16, traces

from listen.errors import BadClip, BadDial, BadFolder, CannotRead, CannotWrite
from listen.folder import FolderWriter, read_folder

HALF_STEP = 2.0**-24
SOME = noise16(0.2) / np.float32(2**15)


def stops_of(folder):
    return [(stop.file, stop.dial_mhz, stop.console) for stop in read_folder(folder).stops]


WORDS = st.text(st.characters(exclude_categories=["Cs", "Cc", "Z"]), max_size=8)
STOP = st.fixed_dictionaries(
    {
        "dial_mhz": st.floats(20, 300),
        "console": st.sampled_from(["on", "off"]),
        "sample_rate_hz": st.sampled_from([8000, 11_025, 44_100, 192_000]),
        "at": st.none() | st.datetimes(timezones=st.just(timezone(timedelta(hours=9.5)))),
        "extra": st.dictionaries(st.sampled_from(["why", "Room °C", 'a "b"; c']), WORDS),
    }
)


@given(
    walk=st.lists(STOP, min_size=1, max_size=5),
    channels=st.integers(1, 8),
    seed=st.integers(0, 2**32 - 1),
    level=st.sampled_from([1e-6, 1e-3, 0.3, 1.0]),
)
@settings(deadline=None, max_examples=40)
def test_what_is_written_reads_back(tmp_path_factory, walk, channels, seed, level):
    rng = np.random.default_rng(seed)
    folder = tmp_path_factory.mktemp("round") / "sweep"
    writer = FolderWriter.create(folder)
    given_samples = []
    for stop in walk:
        frames = round(0.1 * stop["sample_rate_hz"]) + 1
        samples = (level * rng.uniform(-1, 1, (frames, channels))).astype(np.float32)
        given_samples.append(samples)
        assert writer.add(samples, **stop) == writer.stops[-1]
    sweep = read_folder(folder)
    assert len(sweep.stops) == len(walk)
    for stop, clip, listed, wanted in zip(
        walk, sweep.clips(), sweep.stops, given_samples, strict=True
    ):
        for name in ("dial_mhz", "console", "at"):
            assert getattr(clip, name) == stop[name]
        assert clip.sample_rate_hz == stop["sample_rate_hz"]
        assert {k: v for k, v in listed.extra.items() if v} == {
            k: v for k, v in stop["extra"].items() if v
        }
        error = np.abs(clip.samples.astype(float) - np.minimum(wanted, 1 - 2.0**-23))
        assert error.max() <= HALF_STEP
    assert FolderWriter.resume(folder).stops == sweep.stops


def test_a_recording_is_24_bit_flac_named_after_its_stop(tmp_path):
    writer = FolderWriter.create(tmp_path / "s")
    writer.add(SOME, 8000, 88.0)
    writer.add(SOME, 8000, 95.75, "off")
    writer.add(SOME[:, 0], 8000, 107.125)
    names = ["001-088.00-on.flac", "002-095.75-off.flac", "003-107.125-on.flac"]
    assert [stop.file for stop in writer.stops] == names
    for name in names:
        about = soundfile.info(tmp_path / "s" / name)
        assert (about.format, about.subtype, about.samplerate) == ("FLAC", "PCM_24", 8000)
        samples, _ = soundfile.read(tmp_path / "s" / name, always_2d=True)
        assert np.array_equal(samples, SOME)  # whole 16-bit numbers are exact in 24


def test_what_exceeds_full_scale_is_held_to_it(tmp_path):
    writer = FolderWriter.create(tmp_path / "s")
    writer.add(np.tile([1.0, 1.5, -1.0, -9.0], 500).astype(np.float32), 8000, 88.0)
    (clip,) = read_folder(tmp_path / "s").clips()
    high = 1 - 2.0**-23
    assert np.array_equal(clip.samples[:4, 0], np.float32([high, high, -1, -1]))


def test_the_table_is_the_documented_one(tmp_path):
    writer = FolderWriter.create(tmp_path / "s")
    writer.add(SOME, 8000, 95.75, "off", datetime(2026, 5, 1, 14, 30, tzinfo=UTC))
    writer.add(SOME, 8000, 95.8, extra={"why": "finer, here"})
    with (tmp_path / "s" / "stops.csv").open(newline="", encoding="utf-8") as table:
        assert list(csv.reader(table)) == [
            ["file", "dial_mhz", "console", "start_s", "end_s", "at", "why"],
            ["001-095.75-off.flac", "95.75", "off", "", "", "2026-05-01T14:30:00+00:00", ""],
            ["002-095.80-on.flac", "95.8", "on", "", "", "", "finer, here"],
        ]


def test_a_resumed_sweep_goes_on_where_it_was(tmp_path):
    FolderWriter.create(tmp_path / "s").add(SOME, 8000, 88.0)
    again = FolderWriter.resume(tmp_path / "s")
    assert [stop.dial_mhz for stop in again.stops] == [88.0]
    before = traces(tmp_path / "s" / "001-088.00-on.flac")
    table = tmp_path / "s" / "stops.csv"
    was, inode = table.read_bytes(), table.stat().st_ino
    again.add(SOME, 8000, 88.1, "off")
    assert table.read_bytes() == was + b"002-088.10-off.flac,88.1,off,,,\n"
    assert table.stat().st_ino == inode  # a row was added, the table not written anew
    FolderWriter.open(tmp_path / "s").add(SOME, 8000, 88.0)
    assert stops_of(tmp_path / "s") == [
        ("001-088.00-on.flac", 88.0, "on"),
        ("002-088.10-off.flac", 88.1, "off"),
        ("003-088.00-on.flac", 88.0, "on"),
    ]
    assert traces(tmp_path / "s" / "001-088.00-on.flac") == before


def test_resuming_changes_nothing_until_a_stop_is_added(tmp_path):
    FolderWriter.create(tmp_path / "s").add(SOME, 8000, 88.0)
    before = traces(tmp_path / "s")
    FolderWriter.resume(tmp_path / "s")
    assert traces(tmp_path / "s") == before


@pytest.mark.parametrize("cut", range(1, 40))
def test_half_a_row_is_removed_and_its_recording_is_neither_lost_nor_double(tmp_path, cut):
    folder = tmp_path / "s"
    writer = FolderWriter.create(folder)
    at = datetime(2026, 5, 1, 14, 30, tzinfo=UTC)
    writer.add(SOME, 8000, 88.0, at=at)
    writer.add(0.5 * SOME, 8000, 95.75, at=at)
    table = folder / "stops.csv"
    whole = table.read_bytes()
    table.write_bytes(whole[:-cut])
    assert whole.endswith(b"+00:00\n")
    again = FolderWriter.resume(folder)
    listed = [stop.dial_mhz for stop in again.stops]
    # Cut within the last cell, the row still tells file and dial; cut before it, it does not.
    assert listed == ([88.0, 95.75] if cut <= len("2026-05-01T14:30:00+00:00\n") else [88.0])
    if len(listed) == 1:
        again.add(0.25 * SOME, 8000, 95.75, at=at)
    again.add(SOME, 8000, 99.0, at=at)
    assert [stop.dial_mhz for stop in read_folder(folder).stops] == [88.0, 95.75, 99.0]
    files = [stop.file for stop in read_folder(folder).stops]
    assert len(set(files)) == 3
    first, _ = soundfile.read(folder / "002-095.75-on.flac", always_2d=True)
    assert np.array_equal(first, 0.5 * SOME)  # the recording from before the crash is untouched
    assert table.read_bytes().endswith(b"\n")
    assert not any("broke off" in w for w in read_folder(folder).warnings)


def test_a_recording_that_a_crash_left_unlisted_is_kept(tmp_path):
    folder = tmp_path / "s"
    FolderWriter.create(folder).add(SOME, 8000, 88.0)
    (folder / "002-095.75-on.flac").write_bytes(b"half a recording")
    FolderWriter.resume(folder).add(SOME, 8000, 95.75)
    assert stops_of(folder)[1] == ("002-095.75-on-2.flac", 95.75, "on")
    assert (folder / "002-095.75-on.flac").read_bytes() == b"half a recording"
    assert "No row of stops.csv lists 002-095.75-on.flac: left out." in read_folder(folder).warnings


def test_a_sweep_that_has_no_table_yet_is_resumed(tmp_path):
    FolderWriter.create(tmp_path)
    for leave in (b"", None):
        (tmp_path / "stops.csv").unlink()
        if leave is not None:
            (tmp_path / "stops.csv").write_bytes(leave)
        writer = FolderWriter.open(tmp_path)
        assert writer.stops == ()
    writer.add(SOME, 8000, 88.0)
    assert stops_of(tmp_path) == [("001-088.00-on.flac", 88.0, "on")]


@pytest.mark.parametrize(
    "table",
    [
        "file;dial_mhz;note\na.wav;95,75;naïve\n".encode("utf-16"),
        "file;dial_mhz;note\r\na.wav;95,75;naïve".encode("cp1252"),
        "note,dial_mhz,file\nnaïve,95.75,a.wav".encode(),
    ],
)
def test_a_hand_made_table_is_carried_on_with_all_its_cells(tmp_path, table):
    hand_made(tmp_path, table)
    recording = traces(tmp_path / "a.wav")
    FolderWriter.resume(tmp_path).add(SOME, 8000, 96.0, "off")
    sweep = read_folder(tmp_path)
    assert [(s.file, s.dial_mhz, s.console, s.extra.get("note")) for s in sweep.stops] == [
        ("a.wav", 95.75, "on", "naïve"),
        ("002-096.00-off.flac", 96.0, "off", ""),
    ]
    assert traces(tmp_path / "a.wav") == recording


@pytest.mark.skipif(sys.platform == "win32", reason="permissions are of another kind there")
def test_a_place_that_is_not_ours_is_one_sentence():
    root = os.geteuid() == 0  # to whom nothing is closed: become nobody for a moment
    with tempfile.TemporaryDirectory() as place:
        Path(place).chmod(0o555)
        try:
            if root:
                os.seteuid(65_534)
            with pytest.raises(
                CannotWrite, match=r"^cannot write to .*: permission denied; choose"
            ):
                FolderWriter.create(Path(place) / "s")
        finally:
            if root:
                os.seteuid(0)
            Path(place).chmod(0o755)


def test_what_is_there_already_is_not_written_over(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(CannotWrite, match=r"file is a file: give another name"):
        FolderWriter.create(tmp_path / "file")
    with pytest.raises(CannotWrite, match="not a directory"):
        FolderWriter.create(tmp_path / "file" / "s")
    with pytest.raises(CannotWrite, match=r"holds other files \(file\): name a new folder"):
        FolderWriter.create(tmp_path)
    FolderWriter.create(tmp_path / "s").add(SOME, 8000, 88.0)
    before = traces(tmp_path / "s")
    with pytest.raises(CannotWrite, match="holds a sweep already: resume it"):
        FolderWriter.create(tmp_path / "s")
    assert traces(tmp_path / "s") == before


def test_an_empty_folder_and_one_with_notes_are_fine(tmp_path):
    (tmp_path / "notes.txt").write_text("kitchen")
    (tmp_path / ".hidden").write_text("x")
    FolderWriter.create(tmp_path).add(SOME, 8000, 88.0)
    assert len(stops_of(tmp_path)) == 1
    (tmp_path / "deep").mkdir()
    assert FolderWriter.create(tmp_path / "deep" / "er" / "s").stops == ()


def test_what_cannot_be_resumed_is_said(tmp_path):
    with pytest.raises(CannotRead, match=r"cannot look into .*nowhere"):
        FolderWriter.resume(tmp_path / "nowhere")
    with pytest.raises(BadFolder, match=r"holds no sweep to resume: it has no stops\.csv"):
        FolderWriter.resume(tmp_path)


@pytest.mark.parametrize(
    ("change", "error", "says"),
    [
        ({"samples": np.zeros((0, 1), np.float32)}, BadClip, r"not \(0, 1\)"),
        ({"samples": np.zeros((800, 9), np.float32)}, BadClip, r"1 to 8 columns, not \(800, 9\)"),
        ({"samples": np.full((800, 1), np.nan, np.float32)}, BadClip, "infinite or not a number"),
        ({"sample_rate_hz": 4000}, BadClip, "a rate of 4000 samples a second came"),
        ({"dial_mhz": 95_750.0}, BadDial, "a dial at 95750 MHz cannot be listed"),
        ({"dial_mhz": float("nan")}, BadDial, "a dial at nan MHz cannot be listed"),
        ({"console": "maybe"}, BadFolder, "console came as 'maybe'"),
        ({"extra": {"Dial (MHz)": "1"}}, BadFolder, r"extra columns Dial \(MHz\) came"),
        ({"extra": {" ": "1"}}, BadFolder, "extra columns"),
    ],
)
def test_what_is_no_stop_is_refused_and_leaves_no_trace(tmp_path, change, error, says):
    writer = FolderWriter.create(tmp_path / "s")
    writer.add(SOME, 8000, 88.0)
    before = traces(tmp_path / "s")
    with pytest.raises(error, match=says):
        writer.add(**{"samples": SOME, "sample_rate_hz": 8000, "dial_mhz": 89.0, **change})
    assert traces(tmp_path / "s") == before
    assert len(writer.stops) == 1
