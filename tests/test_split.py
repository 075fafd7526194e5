"""`listen split`: a take and its marks become a sweep folder, and the take stays what it was.

Takes are written by the standard library's `wave`, so what a stop must hold is known sample by
sample without our reader.
"""

import os
import tracemalloc

import numpy as np
import pytest
import soundfile
from making_docs import HOME
from making_folders import noise16, pcm16, traces

from listen.analysis.locate import locate
from listen.cli import main
from listen.clip import Clip
from listen.errors import CannotRead
from listen.folder import audio, read_folder
from listen.folder.audio import lasts_s

RATE_HZ = 8000


def take_in(folder, seconds=60.0, name="take.wav"):
    samples = noise16(seconds, RATE_HZ)
    pcm16(folder / name, samples, RATE_HZ)
    return samples


def split(*words):
    return main(["split", *map(str, words)])


@pytest.fixture
def bench(tmp_path):
    take_in(tmp_path)
    (tmp_path / "marks.csv").write_text("5,95.5\n20,95.75\n40,95.75,off\n")
    return tmp_path


def test_each_stop_holds_its_part_of_the_take_and_the_take_is_untouched(bench, capsys):
    samples = noise16(60.0, RATE_HZ)
    before = traces(bench)
    assert split(bench / "take.wav", bench / "marks.csv") == 0
    folder = bench / "take"
    assert f"3 stops from 95.50 to 95.75 MHz, 1 of them with the console off, are in {folder}" in (
        capsys.readouterr().out
    )
    sweep = read_folder(folder)
    assert [w for w in sweep.warnings if "assumed" not in w] == []
    clips = list(sweep.clips())
    assert [(c.dial_mhz, c.console) for c in clips] == [(95.5, "on"), (95.75, "on"), (95.75, "off")]
    for clip, (start_s, end_s) in zip(clips, ((5.7, 18), (20.7, 38), (40.7, 60)), strict=True):
        wanted = samples[round(start_s * RATE_HZ) : round(end_s * RATE_HZ)]
        assert np.array_equal(clip.samples, wanted / 2**15)
    after = traces(bench)
    assert all(after[name] == before[name] for name in ("take.wav", "marks.csv"))
    assert (folder / "take.wav").read_bytes() == (bench / "take.wav").read_bytes()
    # A copy and no link: a later edit of the original does not reach the sweep.
    assert not os.path.samefile(folder / "take.wav", bench / "take.wav")


@pytest.mark.parametrize(
    ("marks", "says"),
    [
        ("5,95.7\n20,95.7\n", "2 stops at 95.70 MHz are in "),
        ("5,95.7\n20,95.7,off\n", "2 stops at 95.70 MHz, 1 of them with the console off, are in "),
        ("5,95.7\n20,95.75\n", "2 stops from 95.70 to 95.75 MHz are in "),
    ],
)
def test_what_was_made_is_said_in_one_sentence(tmp_path, capsys, marks, says):
    take_in(tmp_path)
    (tmp_path / "marks.csv").write_text(marks)
    assert split(tmp_path / "take.wav", tmp_path / "marks.csv") == 0
    assert capsys.readouterr().out.startswith(f"{says}{tmp_path / 'take'}.\n")


def test_a_take_in_the_folder_stays_where_it_is(tmp_path):
    folder = tmp_path / "s"
    folder.mkdir()
    take_in(folder)
    (folder / "marks.txt").write_text("5 95.5\n20 95.75\n")
    (folder / "sweep.toml").write_text("mains_hz = 50\n")
    before = traces(folder)
    assert split(folder / "take.wav", folder / "marks.txt", "--out", folder) == 0
    after = traces(folder)
    assert set(after) == {*before, "stops.csv"}
    assert all(after[name] == before[name] for name in before if name != ".")
    assert read_folder(folder).mains_hz == (50.0,)


def test_a_second_split_writes_over_nothing(bench, capsys):
    words = (bench / "take.wav", bench / "marks.csv")
    assert split(*words) == 0
    before = traces(bench)
    assert split(*words) == 2
    assert "holds a sweep already: name a new folder with --out" in capsys.readouterr().err
    assert traces(bench) == before
    other = bench / "other"
    other.mkdir()
    (other / "photo.jpg").write_bytes(b"x")
    assert split(*words, "--out", other) == 2
    assert "holds other files (photo.jpg)" in capsys.readouterr().err
    assert sorted(os.listdir(other)) == ["photo.jpg"]
    assert split(*words, "--out", bench / "marks.csv") == 2
    assert "marks.csv is a file: name another folder with --out" in capsys.readouterr().err


def test_a_name_that_no_table_can_hold_is_changed_in_the_copy(tmp_path):
    take_in(tmp_path, name="my  take: one.wav")
    (tmp_path / "m.csv").write_text("5,95.5\n20,95.75\n")
    assert split(tmp_path / "my  take: one.wav", tmp_path / "m.csv", "--out", tmp_path / "s") == 0
    assert {stop.file for stop in read_folder(tmp_path / "s").stops} == {"my take_ one.wav"}
    assert all(not clip.spoiled for clip in read_folder(tmp_path / "s").clips())


def test_stops_carry_the_time_where_the_take_has_one(bench):
    words = (bench / "take.wav", bench / "marks.csv", "--out", bench / "s")
    assert split(*words, "--began", "2026-05-01T14:30:00+10:00") == 0
    at = [stop.at.isoformat() for stop in read_folder(bench / "s").stops]
    assert at[0] == "2026-05-01T14:30:05.700000+10:00"
    assert at[2] == "2026-05-01T14:30:40.700000+10:00"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("none.wav", "marks.csv"), "none.wav cannot be used: the file cannot be opened: no such"),
        (("marks.csv", "take.wav"), "marks.csv came as the recording: name that first"),
        (("take.m4a", "marks.csv"), "it is AAC in an MP4 file (m4a, mp4, 3gp), which cannot be"),
        (("take.wav", "none.csv"), "none.csv: there is no such file, so give the name of one"),
        (("take.wav", "take.wav"), "take.wav is not text but a sound file"),
        (("take.wav", "marks.csv", "--console", "maybe"), "--console maybe came: write on or off"),
        (("take.wav", "marks.csv", "--turning", "-1"), "--turning -1 came: give seconds, 0 to 60"),
        (("take.wav", "marks.csv", "--settle", "nan"), "--settle nan came: give seconds, 0 to 60"),
        (("take.wav", "marks.csv", "--began", "noon"), "--began noon came: write it as 2026"),
        (("take.wav", "marks.csv", "--began", "9999-12-31T23:59:59"), "came: write it as 2026"),
        (("take.wav", "marks.csv", "--turning", "20"), "leaves 0.00 s when 0.7 s after it"),
    ],
)
def test_bad_input_is_one_line_and_leaves_nothing_behind(bench, monkeypatch, capsys, words, says):
    (bench / "take.m4a").write_bytes(b"\0\0\0\x20ftypM4A " + bytes(100))
    monkeypatch.chdir(bench)
    before = traces(bench)
    assert split(*words) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith("listen: ")
    assert says in printed.err
    assert printed.err.count("\n") == 1
    assert traces(bench) == before


def test_an_answer_from_a_take_is_that_of_its_stops_apart(tmp_path):
    """The stops of a sample one behind the other, dial noise between, and split again."""
    sample = read_folder(HOME / "samples" / "moved-console")
    rate_hz = 32_000
    apart, pieces, marks, at = [], [], [], 0
    for stop, clip in zip(sample.stops, sample.clips(), strict=True):
        assert clip.sample_rate_hz == rate_hz
        turned = np.random.default_rng(at).normal(0, 0.1, (2 * rate_hz, clip.samples.shape[1]))
        pieces += [turned, clip.samples]
        at += len(turned)
        marks.append(f"{at / rate_hz}\t{stop.dial_mhz}\t{stop.console}\n")
        at += len(clip.samples)
        apart.append(Clip(stop.dial_mhz, rate_hz, clip.samples, stop.console))
    soundfile.write(tmp_path / "take.wav", np.concatenate(pieces), rate_hz, subtype="PCM_24")
    (tmp_path / "labels.txt").write_text("".join(marks))
    words = ("--settle", "0", "--turning", "2", "--out", tmp_path / "s")
    assert split(tmp_path / "take.wav", tmp_path / "labels.txt", *words) == 0
    split_again = read_folder(tmp_path / "s")
    told = locate(split_again.clips(), sample.radio)
    wanted = locate(apart, sample.radio)
    assert told.found
    assert {f"{c.plan}:{c.channel}" for c in told.channels} >= {"au-air:4"}
    # The recordings are 16 bits, so 24 bits hold them whole: the same samples, the same answer.
    assert told.sound_carrier_mhz == wanted.sound_carrier_mhz
    assert [stop.heard for stop in told.stops] == [stop.heard for stop in wanted.stops]


@pytest.mark.parametrize(("name", "form"), [("h.wav", "WAV"), ("h.flac", "FLAC")])
def test_an_hour_is_never_in_memory_whole(tmp_path, name, form):
    """A hundred stops of an hour: what is held at once is a stop's half minute, not the hour."""
    minute = noise16(60.0, RATE_HZ)
    with soundfile.SoundFile(tmp_path / name, "w", RATE_HZ, 1, "PCM_16", format=form) as out:
        for _ in range(60):
            out.write(minute)
    (tmp_path / "m.csv").write_text("".join(f"{36 * n},{88 + n / 10:.1f}\n" for n in range(100)))
    tracemalloc.start()
    try:
        assert split(tmp_path / name, tmp_path / "m.csv", "--out", tmp_path / "s") == 0
        count = 0
        sweep = read_folder(tmp_path / "s")
        for n, clip in enumerate(map(sweep.clip, sweep.stops)):
            first = round((36 * n + 0.7) * RATE_HZ) % len(minute)
            assert clip.samples[0, 0] == minute[first, 0] / 2**15
            assert clip.duration_s == pytest.approx(36 - 2.7 + (2 if n == 99 else 0), abs=1e-3)
            count += 1
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert count == 100
    # A stop is 33.3 s of float32, 1.07 MB, twice while it is copied; the hour would be 115 MB.
    # Measured: 3.7 MB, and 9.7 MB where modules are imported meanwhile.
    assert peak < 15e6


def test_a_recordings_length_is_read_off_its_header(tmp_path):
    take_in(tmp_path, 12.5)
    assert lasts_s(tmp_path / "take.wav") == 12.5
    (tmp_path / "empty.wav").write_bytes(b"")
    with pytest.raises(CannotRead, match=r"empty.wav cannot be used: the file is empty"):
        lasts_s(tmp_path / "empty.wav")


def test_a_long_take_is_opened_once_for_all_its_stops(tmp_path, monkeypatch):
    """In any order of the rows, the parts are those that each row alone would give."""
    rng = np.random.default_rng(4)
    sound = (0.1 * rng.standard_normal((RATE_HZ * 30, 1))).astype(np.float32)
    soundfile.write(tmp_path / "take.mp3", sound, RATE_HZ)
    starts_s = (0.0, 5.0, 12.5, 2.0, 25.0, 25.0)
    alone = [audio.read_part(tmp_path / "take.mp3", at_s, at_s + 3) for at_s in starts_s]
    opened = []
    whole = soundfile.SoundFile
    monkeypatch.setattr(soundfile, "SoundFile", lambda path: opened.append(path) or whole(path))
    with audio.Held() as held:
        for one, at_s in zip(alone, starts_s, strict=True):
            part = audio.read_part(tmp_path / "take.mp3", at_s, at_s + 3, held)
            assert not part.spoiled
            assert len(part.samples) == 3 * RATE_HZ
            # A decoder that arrives from elsewhere may round the last bit of a float otherwise.
            np.testing.assert_allclose(part.samples, one.samples, atol=1e-6)
    assert len(opened) == 1


def test_a_recording_that_was_written_anew_is_opened_anew(tmp_path):
    path = tmp_path / "take.wav"
    with audio.Held() as held:
        for level in (0.25, 0.5):
            soundfile.write(path, np.full((int(level * RATE_HZ * 8), 1), level), RATE_HZ)
            part = audio.read_part(path, 0.0, 1.0, held)
            assert part.samples[0, 0] == level
