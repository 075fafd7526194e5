"""Whatever bytes a folder holds, reading it ends in stops or in one plain sentence."""

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st
from making_folders import hand_made, noise16, pcm16

from listen.errors import ListenError
from listen.folder import read_folder

TABLE = b'file,dial_mhz,console,start_s,end_s,at\na.wav,95.75,on,0.1,"0,4",2026-05-01T14:30Z\n'
TOML = b'mains_hz = [50, 60]\nnotes = "n"\n[radio]\nband_mhz = [87.5, 108]\nprofile = "p.toml"\n'


@st.composite
def damaged(draw, whole):
    """Some bytes with a few of them struck out, changed or put in."""
    data = bytearray(whole)
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, len(data)))
        data[at : at + draw(st.integers(0, 4))] = draw(st.binary(max_size=4))
    return bytes(data)


def reads_or_refuses(folder):
    """The clips, or none where the folder was refused in one sentence."""
    try:
        return list(read_folder(folder).clips())
    except ListenError as why:
        said = str(why)
        assert said
        assert "Traceback" not in said
        assert "Error" not in said
        return []


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return hand_made(tmp_path_factory.mktemp("noise"))


@given(data=damaged(TABLE) | st.binary(max_size=200) | damaged(TABLE.decode().encode("utf-16")))
@settings(deadline=None, max_examples=300)
def test_any_table_gives_stops_or_a_sentence(folder, data):
    hand_made(folder, data)
    (folder / "sweep.toml").unlink(missing_ok=True)
    for clip in reads_or_refuses(folder):
        assert 20 <= clip.dial_mhz <= 300


@given(data=damaged(TOML) | st.binary(max_size=200))
@settings(deadline=None, max_examples=200)
def test_any_settings_give_a_radio_or_a_sentence(folder, data):
    hand_made(folder)
    (folder / "sweep.toml").write_bytes(data)
    (folder / "p.toml").write_bytes(b"step_khz = 50\n")
    for clip in reads_or_refuses(folder):
        assert (clip.dial_mhz, clip.spoiled) == (95.75, "")


@pytest.mark.parametrize("form", ["WAV", "FLAC", "OGG", "MP3"])
@given(data=st.data())
@settings(deadline=None, max_examples=60)
def test_any_recording_gives_finite_samples_or_a_reason(folder, form, data):
    hand_made(folder)
    (folder / "sweep.toml").unlink(missing_ok=True)
    path = folder / "a.wav"
    if form == "WAV":
        pcm16(path, noise16(0.3), 8000)
    else:
        with path.open("wb") as out:
            soundfile.write(out, noise16(0.3), 8000, format=form)
    path.write_bytes(data.draw(damaged(path.read_bytes()[:6000])))
    (clip,) = reads_or_refuses(folder)
    assert (clip.samples.size > 0) == (clip.spoiled == "")
    assert np.isfinite(clip.samples).all()
