"""What a sound file is, told from its bytes and never from its name.

What it gives
-------------
kind_of    what a file's first bytes show it to be
read_head  those bytes
wav_data   where a WAV's samples lie, and how many its header claims
"""

import io
import stat
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

HEAD_BYTES = 4096
_WAV_WHOLE = (0x0001, 0x0003, 0xFFFE)  # PCM, float, and the extensible form of both
_REFUSED = (
    (4, b"ftyp", "AAC in an MP4 file (m4a, mp4, 3gp)"),
    (0, b"#!AMR", "AMR"),
    (0, b"0&\xb2u\x8ef\xcf\x11", "WMA"),
    (0, b"\x1aE\xdf\xa3", "WebM"),
    (0, b"ADIF", "AAC"),
)
_OGG = ((b"OpusHead", "Opus"), (b"\x01vorbis", "Ogg Vorbis"), (b"\x7fFLAC", "FLAC in Ogg"))
_NO_SAMPLES = (b"LIST", b"id3 ", b"ID3 ", b"bext", b"cue ", b"fact", b"PEAK", b"JUNK")


@dataclass(frozen=True, slots=True)
class Kind:
    """What a file is: its name in a sentence, and how it can be used.

    use  "whole" (nothing lost), "lossy", "refused" (cannot be decoded) or "unknown"
    """

    name: str
    use: Literal["whole", "lossy", "refused", "unknown"]


def read_head(path: Path) -> bytes:
    """A file's first bytes; none where it cannot be read or is no plain file."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):  # opening a pipe would wait for ever
            return b""
        with path.open("rb") as file:
            return file.read(HEAD_BYTES)
    except OSError:
        return b""


def kind_of(head: bytes) -> Kind:
    """What a file is, from its first HEAD_BYTES bytes.

    Source: the marks each format begins with: FLAC, RFC 9639, section 8; Ogg, RFC 3533,
    section 6; Opus in Ogg, RFC 7845, section 5.1; AMR, RFC 4867, section 5.  Those of WAV,
    MPEG, MP4, WMA and WebM are common practice.
    """
    for offset, mark, name in _REFUSED:
        if head[offset:].startswith(mark):
            return Kind(name, "refused")
    if head[:4] in (b"RIFF", b"RIFX", b"RF64") and head[8:12] == b"WAVE":
        order = ">" if head.startswith(b"RIFX") else "<"
        at = head.find(b"fmt ") + 8
        tag = struct.unpack_from(order + "H", head, at)[0] if 8 < at < len(head) - 1 else 1
        return Kind("WAV", "whole") if tag in _WAV_WHOLE else Kind("compressed WAV", "lossy")
    if head.startswith(b"fLaC"):
        return Kind("FLAC", "whole")
    if head.startswith(b"OggS"):
        name = next((name for mark, name in _OGG if mark in head[:512]), "Ogg")
        return Kind(name, "whole" if name == "FLAC in Ogg" else "lossy")
    if head[:4] in (b"FORM", b".snd", b"caff"):
        return Kind("AIFF, AU or CAF", "whole")
    if head.startswith(b"ID3"):
        return Kind("MP3", "lossy")
    if len(head) > 3 and head[0] == 0xFF and head[1] & 0xE0 == 0xE0:
        layer = head[1] >> 1 & 3  # of the MPEG frame header; AAC streams have 0 there
        return Kind("MP3", "lossy") if layer else Kind("AAC", "refused")
    return Kind("no sound file", "unknown")


@dataclass(frozen=True, slots=True)
class WavData:
    """A WAV's chunk of samples.

    at             where its first sample lies, bytes from the file's start
    claimed_bytes  how long the header says it is
    there_bytes    how much the file holds from `at` on
    frame_bytes    size of one sample of all channels
    order          "<" or ">": the byte order, as struct spells it
    """

    at: int
    claimed_bytes: int
    there_bytes: int
    frame_bytes: int
    order: str
    next_bytes: bytes

    @property
    def unfinished(self) -> bool:
        """Whether its recorder never came to write the length: it stopped or lost power."""
        return (
            self.claimed_bytes == 0
            and self.there_bytes >= self.frame_bytes
            and self.next_bytes not in _NO_SAMPLES
        )

    @property
    def claimed_frames(self) -> int:
        """How many samples of each channel the header claims; 0 where it makes no claim."""
        open_ended = self.claimed_bytes >= 0xFFFF_FF00  # written to a pipe, never filled in
        return 0 if open_ended else self.claimed_bytes // self.frame_bytes


def wav_data(path: Path) -> WavData | None:
    """Where the samples of a RIFF or RIFX WAV lie; None in a file of any other build."""
    with path.open("rb") as file:
        order = {b"RIFF": "<", b"RIFX": ">"}.get(file.read(12)[:4])
        frame_bytes = 0
        while order and len(head := file.read(8)) == 8:
            length = struct.unpack(order + "I", head[4:])[0]
            if head.startswith(b"data"):
                at = file.tell()
                there = path.stat().st_size - at
                if not frame_bytes:
                    return None
                return WavData(at, length, there, frame_bytes, order, file.read(4))
            if head.startswith(b"fmt "):
                body = file.read(min(length, 64))
                frame_bytes = struct.unpack_from(order + "H", body, 12)[0] if len(body) > 13 else 0
                length -= len(body)
            file.seek(length + length % 2, io.SEEK_CUR)
    return None
