"""What a recording holds, or why it cannot be used; and how one is written.

Samples are float32, shape (n, channels), full scale ±1.0, times in seconds.  Files are told
apart by what they hold, not by what they are called.  This is the only module that uses the
sound-file library, and the library's errors become plain clauses here.

What it gives
-------------
kind_of     what a file's first bytes show it to be
read_part   a part of a recording as samples, or the clause that says why there are none
encode      samples as the bytes of a FLAC file
"""

import io
import stat
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from listen.errors import BadClip, CannotRead
from listen.folder.text import reason

LONGEST_S = 60.0  # more adds nothing to a stop and costs memory
SHORTEST_S = 0.1  # five periods of mains
RATES_HZ = (8_000, 192_000)
MOST_CHANNELS = 8
LOUDEST = 16.0  # a float file beyond this was saved on another scale
HEAD_BYTES = 4096
_BLOCK_S = 2.0
_WAV_PCM = {0x0001, 0x0003, 0xFFFE}
_REFUSED = (
    (4, b"ftyp", "AAC in an MP4 file (m4a, mp4, 3gp)"),
    (0, b"#!AMR", "an AMR recording"),
    (0, b"0&\xb2u\x8ef\xcf\x11", "a WMA recording"),
    (0, b"\x1aE\xdf\xa3", "a WebM recording"),
    (0, b"ADIF", "an AAC recording"),
)


@dataclass(frozen=True, slots=True)
class Kind:
    """What a file is: its name in a sentence, and whether it can be used.

    use  "whole" (nothing lost), "lossy", "refused" (cannot be decoded) or "unknown"
    """

    name: str
    use: Literal["whole", "lossy", "refused", "unknown"]


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """What was read of a recording: samples of shape (n, channels), or why not in `spoiled`."""

    samples: NDArray[np.float32]
    sample_rate_hz: int
    spoiled: str = ""
    notes: tuple[str, ...] = ()


def kind_of(head: bytes) -> Kind:
    """What a file is, from its first HEAD_BYTES bytes."""
    for offset, mark, name in _REFUSED:
        if head[offset:].startswith(mark):
            return Kind(name, "refused")
    if head[:4] in (b"RIFF", b"RIFX", b"RF64") and head[8:12] == b"WAVE":
        return _wav_kind(head)
    if head.startswith(b"fLaC"):
        return Kind("FLAC", "whole")
    if head.startswith(b"OggS"):
        names = {b"OpusHead": "Opus", b"\x01vorbis": "Ogg Vorbis", b"\x7fFLAC": "FLAC in Ogg"}
        name = next((n for mark, n in names.items() if mark in head[:512]), "Ogg")
        return Kind(name, "whole" if name == "FLAC in Ogg" else "lossy")
    if head[:4] == b"FORM" or head[:4] in (b".snd", b"caff"):
        return Kind("AIFF, AU or CAF", "whole")
    if head.startswith(b"ID3"):
        return Kind("MP3", "lossy")
    if len(head) > 3 and head[0] == 0xFF and head[1] & 0xE0 == 0xE0:
        layer = head[1] >> 1 & 3  # of the MPEG frame header; AAC streams have 0 there
        return Kind("MP3", "lossy") if layer else Kind("an AAC recording", "refused")
    return Kind("no sound file", "unknown")


def _wav_kind(head: bytes) -> Kind:
    at = head.find(b"fmt ")
    order = ">" if head[:4] == b"RIFX" else "<"
    tag = struct.unpack_from(f"{order}H", head, at + 8)[0] if 0 < at < len(head) - 10 else 1
    return Kind("WAV", "whole") if tag in _WAV_PCM else Kind("WAV with compressed sound", "lossy")


def read_head(path: Path) -> bytes:
    """A file's first bytes, none where it cannot be read or is no plain file."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return b""
        with path.open("rb") as file:
            return file.read(HEAD_BYTES)
    except OSError:
        return b""


def read_part(path: Path, start_s: float = 0.0, end_s: float | None = None) -> Part:
    """A part of a recording, at most its first LONGEST_S, with notes on what was left out.

    Never raises for a bad recording: it says in `spoiled` what is wrong, as a clause.
    """
    try:
        mode, size = path.stat().st_mode, path.stat().st_size
        if not stat.S_ISREG(mode):
            return _spoiled("its name belongs to no plain file")
        if not size:
            return _spoiled("the file is empty")
        with path.open("rb") as file:
            kind = kind_of(file.read(HEAD_BYTES))
    except OSError as why:
        return _spoiled(f"the file cannot be opened: {reason(why)}")
    if kind.use == "refused":
        return _spoiled(f"it is {kind.name}, which cannot be read: convert it to WAV or FLAC")
    sound = _library()
    try:
        with sound.SoundFile(str(path)) as file:
            return _read_open(file, path, size, start_s, end_s)
    except (sound.SoundFileError, OSError, RuntimeError) as why:
        if kind.use == "unknown":
            return _spoiled("the file holds no sound: record this stop again, as WAV or FLAC")
        return _spoiled(f"the {kind.name} file is broken: {_said(why)}")


def _read_open(file: Any, path: Path, size: int, start_s: float, end_s: float | None) -> Part:
    rate_hz = int(file.samplerate)
    if not RATES_HZ[0] <= rate_hz <= RATES_HZ[1]:
        return _spoiled(f"its rate is {rate_hz} samples a second: 8000 to 192000 are read")
    if file.channels > MOST_CHANNELS:
        return _spoiled(f"it has {file.channels} channels: up to {MOST_CHANNELS} are read")
    frames = max(int(file.frames), 0)
    promised = _promised_frames(path, size, file) or frames
    length_s, promised_s = frames / rate_hz, promised / rate_hz
    if start_s >= length_s > 0:
        return _spoiled(
            f"its part starts at {start_s:g} s and the recording lasts {length_s:.2f} s"
        )
    first = round(start_s * rate_hz)
    last = frames if end_s is None else min(round(end_s * rate_hz), frames)
    wanted = min(last - first, round(LONGEST_S * rate_hz))
    samples, broke = _blocks(file, first, wanted, rate_hz)
    notes = []
    if len(samples) < wanted or (promised > frames and (end_s is None or end_s > length_s)):
        there_s = (
            min(length_s, (first + len(samples)) / rate_hz) if len(samples) < wanted else length_s
        )
        notes.append(
            f"{path.name} is cut short: {promised_s:.2f} s are promised and {there_s:.2f} s are "
            "there, which are used."
        )
    elif end_s is not None and end_s - length_s > SHORTEST_S:
        notes.append(
            f"A part of {path.name} ends at {end_s:g} s and the recording at {length_s:.2f} s: "
            "it is used as far as it goes."
        )
    if last - first > wanted and len(samples) == wanted:
        notes.append(
            f"Stops longer than {LONGEST_S:g} s are measured in their first {LONGEST_S:g} s."
        )
    return Part(samples, rate_hz, _unusable(samples, rate_hz, broke), tuple(notes))


def _blocks(file: Any, first: int, wanted: int, rate_hz: int) -> tuple[NDArray[np.float32], str]:
    """Samples from a frame on, as many of those wanted as can be had, and what ended them."""
    blocks = []
    have = 0
    broke = ""
    try:
        if first:
            file.seek(first)
        while have < wanted:
            block = file.read(
                min(wanted - have, round(_BLOCK_S * rate_hz)), dtype="float32", always_2d=True
            )
            if not len(block):
                break
            blocks.append(block)
            have += len(block)
    except (RuntimeError, OSError) as why:  # the library's errors are RuntimeErrors
        broke = _said(why)
    if not blocks:
        return np.zeros((0, file.channels), np.float32), broke
    return np.concatenate(blocks), broke


def _unusable(samples: NDArray[np.float32], rate_hz: int, broke: str) -> str:
    """Why samples cannot be measured, as a clause, or nothing."""
    if not len(samples):
        return f"no sound can be read from it{': ' + broke if broke else ''}"
    if len(samples) < SHORTEST_S * rate_hz:
        lasts_ms = 1000 * len(samples) / rate_hz
        return f"it lasts {lasts_ms:.0f} ms: at least {1000 * SHORTEST_S:.0f} ms are needed"
    bad = samples.size - int(np.count_nonzero(np.isfinite(samples)))
    if bad:
        return f"{bad} of its {samples.size} samples are infinite or not a number"
    peak = float(np.max(np.abs(samples)))
    if peak > LOUDEST:
        return f"its samples reach {peak:.3g} times full scale: save it as 16 or 24 bit"
    return ""


def _promised_frames(path: Path, size: int, file: Any) -> int | None:
    """How many frames a WAV's header claims where the file ends before them; None otherwise."""
    if file.format not in ("WAV", "WAVEX"):
        return None
    with path.open("rb") as raw:
        order = ">" if raw.read(12)[:4] == b"RIFX" else "<"
        frame_bytes = 0
        while len(head := raw.read(8)) == 8:
            length = struct.unpack(f"{order}I", head[4:])[0]
            if head[:4] == b"fmt ":
                body = raw.read(length + length % 2)
                frame_bytes = struct.unpack_from(f"{order}H", body, 12)[0] if len(body) > 13 else 0
            elif head[:4] == b"data":
                streamed = length >= 0xFFFF_FF00  # a length that its writer never came to fill in
                if streamed or raw.tell() + length <= size or not frame_bytes:
                    return None
                return int(length // frame_bytes)
            else:
                raw.seek(length + length % 2, io.SEEK_CUR)
    return None


def encode(samples: NDArray[np.float32], sample_rate_hz: int) -> bytes:
    """Samples, shape (n, channels) or (n,), as a 24-bit FLAC file.

    Values are rounded to the nearest of 2^24 steps and held to full scale; BadClip for what a
    FLAC cannot hold.
    """
    samples = np.asarray(samples)
    if samples.ndim == 1:
        samples = samples[:, np.newaxis]
    if samples.ndim != 2 or not samples.size or samples.shape[1] > MOST_CHANNELS:
        raise BadClip(
            f"a recording is rows of samples, 1 to {MOST_CHANNELS} columns, not {samples.shape}"
        )
    if not np.isfinite(samples).all():
        raise BadClip("a recording's samples must be numbers: some are infinite or not a number")
    if not RATES_HZ[0] <= sample_rate_hz <= RATES_HZ[1]:
        raise BadClip(
            f"a rate of {sample_rate_hz} came: 8000 to 192000 samples a second are written"
        )
    full = 2**23
    steps = np.clip(np.rint(samples.astype(np.float64) * full), -full, full - 1).astype(np.int32)
    out = io.BytesIO()
    _library().write(out, steps << 8, sample_rate_hz, format="FLAC", subtype="PCM_24")
    return out.getvalue()


def _library() -> Any:
    try:
        import soundfile
    except OSError as why:  # its own library is missing from this machine
        raise CannotRead(
            "the sound-file library libsndfile is missing: install it (on Debian: libsndfile1)"
        ) from why
    return soundfile


def _said(why: Exception) -> str:
    text = str(getattr(why, "error_string", "") or why).strip().rstrip(".")
    return text or type(why).__name__


def _spoiled(why: str) -> Part:
    return Part(np.zeros((0, 1), np.float32), 48_000, why)
