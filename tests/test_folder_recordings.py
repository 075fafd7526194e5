"""Recordings of every kind: what is read is what was recorded, and one bad file spoils one stop.

WAV files of whole numbers are written and read back by the standard library's `wave`, so
that a scale or an offset wrong in our reading cannot hide; full scale is 2^(bits-1), as
common practice has it.  The other formats are written by the sound-file library, and for
those that lose something only pitch and level are asked for.
"""

import os
import threading
import tracemalloc
import wave
from dataclasses import replace

import numpy as np
import pytest
import soundfile
from making_folders import clips_of, hand_made, noise16, pcm16, traces

from listen.errors import CannotRead
from listen.folder import SweepFolder, read_folder
from listen.folder.audio import Held

RATES_HZ = (8000, 11_025, 16_000, 22_050, 44_100, 48_000, 96_000, 192_000)


def warnings_of(folder):
    return [warning for warning in read_folder(folder).warnings if "assumed" not in warning]


def tone(rate_hz=48_000, seconds=2.0, tone_hz=1000.0):
    return 0.5 * np.sin(2 * np.pi * tone_hz * np.arange(round(rate_hz * seconds)) / rate_hz)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("channels", [1, 2, 8])
def test_wav_is_read_as_the_standard_library_wrote_it(tmp_path, rate_hz, channels):
    wanted = noise16(0.2, rate_hz, channels)
    wanted[:3] = [[-32_768], [32_767], [0]]
    pcm16(tmp_path / "a.wav", wanted, rate_hz)
    (clip,) = clips_of(tmp_path, "a.wav")
    assert clip.sample_rate_hz == rate_hz
    assert np.array_equal(clip.samples, wanted / 2**15)  # 16 bits are exact in float32


@pytest.mark.parametrize("bits", [8, 24, 32])
def test_wav_of_other_widths_is_read_as_the_standard_library_wrote_it(tmp_path, bits):
    whole = np.random.default_rng(bits).integers(-(2 ** (bits - 1)), 2 ** (bits - 1), 2000)
    raw = whole + 128 if bits == 8 else whole  # 8-bit WAV alone is unsigned
    with wave.open(str(tmp_path / "a.wav"), "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(bits // 8)
        out.setframerate(8000)
        out.writeframes(
            b"".join(int(v).to_bytes(bits // 8, "little", signed=bits > 8) for v in raw)
        )
    (clip,) = clips_of(tmp_path, "a.wav")
    wanted = (whole / 2 ** (bits - 1)).reshape(-1, 2)
    # Up to 24 bits fit a float32 whole; 32 bits are rounded to it.
    assert np.array_equal(clip.samples, wanted.astype(np.float32))


@pytest.mark.parametrize("subtype", ["FLOAT", "DOUBLE"])
def test_wav_of_floats_is_read_unchanged(tmp_path, subtype):
    wanted = np.random.default_rng(1).normal(0, 0.4, (9000, 2)).astype(np.float32)
    soundfile.write(tmp_path / "a.wav", wanted, 44_100, subtype=subtype)
    (clip,) = clips_of(tmp_path, "a.wav")
    assert np.array_equal(clip.samples, wanted)
    assert np.abs(wanted).max() > 1  # and nothing was held to full scale


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("subtype", ["PCM_16", "PCM_24"])
@pytest.mark.parametrize("channels", [1, 2, 8])
def test_flac_is_read_as_its_whole_numbers(tmp_path, rate_hz, subtype, channels):
    wanted = noise16(0.2, rate_hz, channels)
    soundfile.write(tmp_path / "a.flac", wanted, rate_hz, subtype=subtype)
    (clip,) = clips_of(tmp_path, "a.flac")
    assert clip.sample_rate_hz == rate_hz
    assert np.array_equal(clip.samples, wanted / 2**15)


@pytest.mark.parametrize(("name", "form"), [("a.wav", "WAV"), ("a.flac", "FLAC")])
def test_a_part_is_cut_where_its_times_say(tmp_path, name, form):
    wanted = noise16(3.0, 44_100, 2)
    soundfile.write(tmp_path / name, wanted, 44_100, format=form)
    (clip,) = clips_of(tmp_path, name, part="0.7,2.1")
    assert np.array_equal(clip.samples, wanted[30_870:92_610] / 2**15)
    (clip,) = clips_of(tmp_path, name, part="2.5,")
    assert np.array_equal(clip.samples, wanted[110_250:] / 2**15)
    assert (clip.notes, clip.spoiled) == ((), "")


def test_many_stops_may_lie_on_one_take(tmp_path):
    wanted = noise16(10.0)
    pcm16(tmp_path / "take.wav", wanted, 8000)
    rows = "".join(f"take.wav,{88 + n / 10:.1f},{n},{n + 1}\n" for n in range(10))
    (tmp_path / "stops.csv").write_text(f"file,dial_mhz,start_s,end_s\n{rows}")
    clips = list(read_folder(tmp_path).clips())
    assert np.array_equal(np.concatenate([clip.samples for clip in clips]), wanted / 2**15)


def test_a_long_stop_is_measured_in_its_first_minute(tmp_path):
    wanted = noise16(61.0)
    pcm16(tmp_path / "a.wav", wanted, 8000)
    (clip,) = clips_of(tmp_path, "a.wav")
    assert np.array_equal(clip.samples, wanted[: 60 * 8000] / 2**15)
    assert clip.notes == ("Stops longer than 60 s are measured in their first 60 s.",)
    (clip,) = clips_of(tmp_path, "a.wav", part="0.5,60.5")
    assert (clip.duration_s, clip.notes) == (60.0, ())


@pytest.mark.parametrize(
    ("name", "form", "subtype"),
    [
        ("a.mp3", "MP3", "MPEG_LAYER_III"),
        ("a.ogg", "OGG", "VORBIS"),
        ("a.opus", "OGG", "OPUS"),
        ("a.wav", "WAV", "IMA_ADPCM"),
    ],
)
def test_lossy_sound_is_read_with_a_warning(tmp_path, name, form, subtype):
    soundfile.write(tmp_path / name, tone(), 48_000, format=form, subtype=subtype)
    (clip,) = clips_of(tmp_path, name)
    spectrum = np.abs(np.fft.rfft(clip.samples[24_000:72_000, 0]))  # 1 s: a bin is 1 Hz
    assert int(spectrum.argmax()) == 1000
    # The coders' own errors, measured over the four here: at most 0.8 % of the level.
    assert spectrum[1000] / 24_000 == pytest.approx(0.5, rel=0.02)
    (warning,) = warnings_of(tmp_path)
    assert "lossy sound hides hiss" in warning


def test_lossy_recordings_share_one_warning(tmp_path):
    for name in ("a.mp3", "b.mp3", "c.ogg"):
        soundfile.write(tmp_path / name, tone(), 48_000)
    clips_of(tmp_path, "a.mp3", "b.mp3", "c.ogg")
    (warning,) = warnings_of(tmp_path)
    assert warning.startswith("a.mp3, b.mp3 and c.ogg are MP3 and Ogg Vorbis: lossy")


@pytest.mark.parametrize(
    ("name", "form"),
    [("a.wav", "FLAC"), ("a.flac", "WAV"), ("a", "WAV"), ("a.raw", "WAV"), ("a.mp3", "FLAC")],
)
def test_a_file_is_what_it_holds_not_what_it_is_called(tmp_path, name, form):
    wanted = noise16()
    with (tmp_path / name).open("wb") as out:
        soundfile.write(out, wanted, 8000, format=form, subtype="PCM_16")
    (clip,) = clips_of(tmp_path, name)
    assert np.array_equal(clip.samples, wanted / 2**15)
    assert warnings_of(tmp_path) == []


REFUSED = {  # the marks of each format, from memory and common practice
    "a.m4a": b"\0\0\0\x20ftypM4A \0\0\0\0",
    "a.mp4": b"\0\0\0\x18ftypmp42\0\0\0\0",
    "a.3gp": b"\0\0\0\x18ftyp3gp4\0\0\0\0",
    "a.aac": b"\xff\xf1\x50\x80\x02\x1f\xfc",
    "a.amr": b"#!AMR\n<",
    "a.wma": bytes.fromhex("3026b2758e66cf11a6d900aa0062ce6c"),
    "a.webm": b"\x1aE\xdf\xa3\x9fB\x86\x81",
    "lies.wav": b"\0\0\0\x20ftypM4A \0\0\0\0",
}


@pytest.mark.parametrize(("name", "head"), REFUSED.items())
def test_what_cannot_be_decoded_says_the_one_thing_to_do(tmp_path, name, head):
    (tmp_path / name).write_bytes(head + bytes(5000))
    (clip,) = clips_of(tmp_path, name)
    assert clip.spoiled.endswith("which cannot be read: convert it to WAV or FLAC")
    assert clip.samples.size == 0


def spoil_nothing(path):
    pcm16(path, noise16(), 8000)


def spoil_zero_length(path):
    path.write_bytes(b"")


def spoil_text(path):
    path.write_text("This is no sound.\n" * 500)


def spoil_random(path):
    path.write_bytes(np.random.default_rng(3).bytes(20_000))


def spoil_nan(path):
    samples = np.full(8000, 0.1, np.float32)
    samples[17] = np.nan
    soundfile.write(path, samples, 8000, format="WAV", subtype="FLOAT")


def spoil_infinite(path):
    samples = np.full(8000, 0.1)
    samples[[5, 7]] = np.inf, -np.inf
    soundfile.write(path, samples, 8000, format="WAV", subtype="DOUBLE")


def spoil_too_large(path):
    samples = 20_000 * tone(8000)
    soundfile.write(path, samples, 8000, format="WAV", subtype="FLOAT")


def spoil_short(path):
    pcm16(path, noise16(0.005, 48_000), 48_000)


def spoil_no_samples(path):
    pcm16(path, noise16(0, 8000), 8000)


def spoil_nine_channels(path):
    pcm16(path, noise16(0.5, 8000, 9), 8000)


def spoil_slow(path):
    pcm16(path, noise16(0.5, 6000), 6000)


def spoil_fast(path):
    pcm16(path, noise16(0.2, 384_000), 384_000)


def spoil_missing(path):
    path.with_name("stop-2.wav").write_bytes(b"RIFF")


def spoil_folder(path):
    path.mkdir()


def spoil_pipe(path):
    os.mkfifo(path)


def spoil_head_only(path):
    pcm16(path, noise16(), 8000)
    path.write_bytes(path.read_bytes()[:44])


def spoil_broken_mp3(path):
    path.write_bytes(b"\xff\xfb\x90\x64" + np.random.default_rng(4).bytes(30_000))


def spoil_cut_flac(path):
    soundfile.write(path, noise16(2.0), 8000, format="FLAC")
    path.write_bytes(path.read_bytes()[:300])


SPOILED = [
    (spoil_zero_length, "the file is empty"),
    (spoil_text, "the file holds no sound: record this stop again, as WAV or FLAC"),
    (spoil_random, "the file holds no sound: record this stop again, as WAV or FLAC"),
    (spoil_nan, "1 of its 8000 samples are infinite or not a number"),
    (spoil_infinite, "2 of its 8000 samples are infinite or not a number"),
    (spoil_too_large, "its samples reach 1e+04 times full scale: save it as 16 or 24 bit"),
    (spoil_short, "it lasts 5 ms and at least 100 ms are needed"),
    (spoil_no_samples, "the file holds no sound, only a header"),
    (spoil_nine_channels, "it has 9 channels: up to 8 are read"),
    (spoil_slow, "its rate is 6000 samples a second: 8000 to 192000 are read"),
    (spoil_fast, "its rate is 384000 samples a second: 8000 to 192000 are read"),
    (spoil_missing, "the file is not in the folder, but stop-2.wav is: correct the name in"),
    (spoil_folder, "its name belongs to a folder or device, not to a recording"),
    (spoil_pipe, "its name belongs to a folder or device, not to a recording"),
    (spoil_head_only, "the file is cut short or damaged: no sound of it can be read there"),
    (spoil_broken_mp3, "the MP3 file is damaged: record this stop again"),
    (spoil_cut_flac, "the file is cut short or damaged: no sound of it can be read there"),
]


@pytest.mark.parametrize(("spoil", "says"), SPOILED, ids=[s.__name__ for s, _ in SPOILED])
def test_a_bad_recording_spoils_its_stop_alone(tmp_path, capfd, spoil, says):
    pcm16(tmp_path / "stop1.wav", noise16(seed=1), 8000)
    pcm16(tmp_path / "stop3.wav", noise16(seed=3), 8000)
    spoil(tmp_path / "stop2.wav")
    clips = clips_of(tmp_path, "stop1.wav", "stop2.wav", "stop3.wav")
    assert [clip.spoiled == "" for clip in clips] == [True, False, True]
    assert clips[1].spoiled.startswith(says)
    assert [clip.dial_mhz for clip in clips] == [88, 89, 90]
    assert np.array_equal(clips[2].samples, noise16(seed=3) / 2**15)
    assert capfd.readouterr().err == ""  # decoders keep their remarks to themselves


def test_silence_and_clipping_are_for_the_analysis_to_judge(tmp_path):
    pcm16(tmp_path / "a.wav", np.zeros((4000, 1)), 8000)
    pcm16(tmp_path / "b.wav", np.where(noise16() > 0, 32_767, -32_768), 8000)
    silent, clipped = clips_of(tmp_path, "a.wav", "b.wav")
    assert (silent.spoiled, clipped.spoiled) == ("", "")
    assert not silent.samples.any()
    assert (np.abs(clipped.samples) > 0.9999).all()


@pytest.mark.parametrize(
    ("part", "says"),
    [
        ("-1,0.3", "its part starts before the recording does, at -1 s"),
        ("0.4,0.2", "its part ends at 0.2 s, not after its start at 0.4 s"),
        ("0.2,0.2", "its part ends at 0.2 s, not after its start at 0.2 s"),
        ("0.5,0.9", "its part starts at 0.5 s and the recording lasts 0.50 s"),
        ("7,9", "its part starts at 7 s and the recording lasts 0.50 s"),
        ("soon,9", "its start_s is soon, not a number of seconds"),
        ("0,1:30", "its end_s is 1:30, not a number of seconds"),
        ("nan,9", "its start_s is nan, not a number of seconds"),
        (f"0,{'9' * 400}", f"its end_s is {'9' * 400}, not a number of seconds"),
        ("0.45,0.6", "it lasts 50 ms and at least 100 ms are needed"),
    ],
)
def test_a_part_that_cannot_be_spoils_its_stop_alone(tmp_path, part, says):
    hand_made(tmp_path, f"file,dial_mhz,start_s,end_s\na.wav,88,{part}\na.wav,89,,\n")
    bad, good = read_folder(tmp_path).clips()
    assert (bad.spoiled, good.spoiled) == (says, "")


def test_a_part_partly_beyond_the_end_is_used_as_far_as_it_goes(tmp_path):
    pcm16(tmp_path / "a.wav", noise16(2.0), 8000)
    (clip,) = clips_of(tmp_path, "a.wav", part="1,3")
    assert (clip.duration_s, clip.spoiled) == (1.0, "")
    assert clip.notes == (
        "A part of a.wav ends at 3 s, after the recording at 2.00 s: it is used as far as it goes.",
    )
    (clip,) = clips_of(tmp_path, "a.wav", part="1,2.05")  # as a person rounds
    assert (clip.duration_s, clip.notes) == (1.0, ())


def test_a_row_that_names_no_recording_spoils_its_stop_alone(tmp_path):
    hand_made(tmp_path, "file,dial_mhz\n,88\na.wav,89\n")
    assert [clip.spoiled for clip in read_folder(tmp_path).clips()] == [
        "its row names no recording",
        "",
    ]


def test_names_with_accents_are_found_however_they_are_stored(tmp_path):
    hand_made(tmp_path, "file,dial_mhz\nk\u00fcche.wav,88\n", "ku\u0308che.wav")
    (clip,) = read_folder(tmp_path).clips()
    assert clip.spoiled == ""


def test_recordings_that_no_row_lists_are_one_warning(tmp_path):
    hand_made(tmp_path, "file,dial_mhz\na.wav,88\n", "a.wav", "b.wav", "c.flac")
    assert warnings_of(tmp_path) == ["No row of stops.csv lists b.wav and c.flac: left out."]


def test_reading_changes_nothing_in_the_folder(tmp_path):
    folder = hand_made(tmp_path / "sweep", toml="notes = 'n'\n")
    (folder / "stops.csv").write_bytes("file;dial_mhz\na.wav;95,75\nno.wav;96".encode("utf-16"))
    before = traces(folder)
    list(read_folder(folder).clips())
    assert traces(folder) == before


def test_memory_stays_flat_over_many_stops_and_a_long_take(tmp_path):
    pcm16(tmp_path / "a.wav", noise16(400.0), 8000)
    peaks_bytes = []
    for stops in (4, 400):
        rows = "".join(f"a.wav,{88 + n / 100},{n % 399},{n % 399 + 1}\n" for n in range(stops))
        (tmp_path / "stops.csv").write_text(f"file,dial_mhz,start_s,end_s\n{rows}")
        sweep = read_folder(tmp_path)
        tracemalloc.start()
        assert sum(clip.duration_s for clip in sweep.clips()) == stops
        peaks_bytes.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    # A stop is 32 kB here and the take 12.8 MB: a hundred times the stops may cost one more.
    assert peaks_bytes[1] - peaks_bytes[0] < 32_000
    assert peaks_bytes[0] > 32_000


def swept(folder, kind="wav"):
    """A folder of six recordings of some kind, and their names."""
    names = [f"{n}.{kind}" for n in range(6)]
    rows = "".join(f"{name},{88 + n}\n" for n, name in enumerate(names))
    hand_made(folder, f"file,dial_mhz\n{rows}", *names)
    if kind == "mp3":
        for name in names:
            soundfile.write(folder / name, tone(), 48_000, format="MP3")
    return read_folder(folder), names


@pytest.mark.parametrize(("kind", "ahead"), [("wav", 1), ("mp3", 0)])
def test_no_more_than_the_next_recording_is_read_ahead_and_no_lossy_one(
    tmp_path, monkeypatch, kind, ahead
):
    read = []

    def clip(sweep, stop, held, of=SweepFolder.clip):
        read.append(stop.file)
        return of(sweep, stop, held)

    monkeypatch.setattr(SweepFolder, "clip", clip)
    sweep, names = swept(tmp_path, kind)
    clips = sweep.clips()
    assert [next(clips).file for _ in range(2)] == names[:2]
    clips.close()
    assert read == names[: 2 + ahead]


def test_what_stops_the_reading_comes_out_at_its_own_stop(tmp_path, monkeypatch):
    def clip(sweep, stop, held, of=SweepFolder.clip):
        if stop.file == "2.wav":
            raise CannotRead("no library")
        return of(sweep, stop, held)

    monkeypatch.setattr(SweepFolder, "clip", clip)
    sweep, names = swept(tmp_path)
    clips = sweep.clips()
    assert [next(clips).file for _ in range(2)] == names[:2]
    with pytest.raises(CannotRead, match="no library"):
        next(clips)


def test_the_recording_is_let_go_of_by_who_reads_it(tmp_path, monkeypatch):
    """To close it while the library reads it would bring the whole process down."""
    sweep, _ = swept(tmp_path)
    closed_by = []
    monkeypatch.setattr(Held, "close", lambda held: closed_by.append(threading.get_ident()))
    clips = sweep.clips()
    next(clips)
    clips.close()
    assert threading.get_ident() != closed_by[-1]


def test_what_is_said_on_standard_error_is_not_lost_beside_mp3(tmp_path, capfd):
    sweep, _ = swept(tmp_path, "mp3")
    for number, (clip, twin) in enumerate(zip(sweep.clips(), sweep.clips(), strict=True)):
        assert not clip.spoiled + twin.spoiled
        os.write(2, f"note {number}\n".encode())
    assert capfd.readouterr().err == "".join(f"note {n}\n" for n in range(6))


def test_a_sweep_of_no_stops_has_no_recordings(tmp_path):
    sweep, _ = swept(tmp_path)
    assert list(replace(sweep, stops=()).clips()) == []
