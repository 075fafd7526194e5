"""Recordings that break off or are damaged are used as far as they go, and that is said."""

import struct

import numpy as np
import pytest
import soundfile
from making_folders import clips_of, noise16, pcm16, traces


@pytest.mark.parametrize("share", [0.9, 0.5])
def test_a_wav_cut_short_is_used_as_far_as_it_goes(tmp_path, share):
    wanted = noise16(4.0)
    pcm16(tmp_path / "a.wav", wanted, 8000)
    data = (tmp_path / "a.wav").read_bytes()
    (tmp_path / "a.wav").write_bytes(data[: 44 + round(share * 64_000)])
    (clip,) = clips_of(tmp_path, "a.wav")
    assert np.array_equal(clip.samples, wanted[: round(share * 32_000)] / 2**15)
    assert clip.notes == (
        "a.wav is cut short or damaged: of the 4.00 s that it promises, it is used up to "
        f"{4 * share:.2f} s.",
    )


@pytest.mark.parametrize("share", [0.9, 0.5])
def test_a_flac_cut_short_is_used_as_far_as_it_goes(tmp_path, share):
    wanted = noise16(4.0, 48_000, 2)
    soundfile.write(tmp_path / "a.flac", wanted, 48_000)
    data = (tmp_path / "a.flac").read_bytes()
    (tmp_path / "a.flac").write_bytes(data[: round(share * len(data))])
    (clip,) = clips_of(tmp_path, "a.flac")
    # A block of 4096 frames is lost where the file is cut, and one in small pieces beside it.
    assert share * 4 - 2 * 4096 / 48_000 < clip.duration_s <= share * 4
    assert np.array_equal(clip.samples, wanted[: len(clip.samples)] / 2**15)
    assert clip.notes[0].startswith("a.flac is cut short or damaged: of the 4.00 s")
    (late,) = clips_of(tmp_path, "a.flac", part="3.7,3.9")
    assert late.spoiled == "the file is cut short or damaged: no sound of it can be read there"
    (early,) = clips_of(tmp_path, "a.flac", part="0.5,1.5")
    assert np.array_equal(early.samples, wanted[24_000:72_000] / 2**15)
    assert early.notes == ()


def test_a_flac_damaged_in_the_middle_is_used_up_to_there(tmp_path):
    wanted = noise16(4.0, 48_000)
    soundfile.write(tmp_path / "a.flac", wanted, 48_000)
    data = bytearray((tmp_path / "a.flac").read_bytes())
    middle = len(data) // 2
    data[middle : middle + 300] = bytes(300)
    (tmp_path / "a.flac").write_bytes(data)
    (clip,) = clips_of(tmp_path, "a.flac")
    assert 1.8 < clip.duration_s < 2.0
    assert np.array_equal(clip.samples, wanted[: len(clip.samples)] / 2**15)
    assert "cut short or damaged" in clip.notes[0]


@pytest.mark.parametrize("claims", [0, 0xFFFF_FFFF])
def test_a_wav_whose_recorder_never_finished_it_is_read_whole(tmp_path, claims):
    wanted = noise16(1.0)
    pcm16(tmp_path / "a.wav", wanted, 8000)
    data = bytearray((tmp_path / "a.wav").read_bytes())
    assert data[36:40] == b"data"
    data[4:8] = data[40:44] = struct.pack("<I", claims)
    (tmp_path / "a.wav").write_bytes(data)
    before = traces(tmp_path / "a.wav")
    (clip,) = clips_of(tmp_path, "a.wav")
    assert np.array_equal(clip.samples, wanted / 2**15)
    assert traces(tmp_path / "a.wav") == before


def test_a_flac_that_does_not_tell_its_length_is_read(tmp_path):
    wanted = noise16(2.0)
    soundfile.write(tmp_path / "a.flac", wanted, 8000)
    data = bytearray((tmp_path / "a.flac").read_bytes())
    data[21] &= 0xF0  # RFC 9639, section 8.2: 36 bits from here tell the length, 0 if unknown
    data[22:26] = bytes(4)
    (tmp_path / "a.flac").write_bytes(data)
    (clip,) = clips_of(tmp_path, "a.flac")
    assert len(clip.samples) > len(wanted) - 1024  # one small piece may be lost at the end
    assert np.array_equal(clip.samples, wanted[: len(clip.samples)] / 2**15)
    assert (clip.spoiled, clip.notes) == ("", ())
