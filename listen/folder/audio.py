"""What a recording holds, or why it cannot be used; and how one is written.

Samples are float32, shape (n, channels), full scale ±1.0; times are seconds.  This is the
only module that uses the sound-file library, whose errors become plain clauses here.

What it gives
-------------
read_part   a part of a recording as samples, or the clause that says why there are none
Held        one recording kept open while one part of it after the other is read
lasts_s     how long a whole recording lasts, without reading it
encode      samples as the bytes of a FLAC file
"""

import contextlib
import io
import mmap
import os
import stat
import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from listen.errors import BadClip, CannotRead
from listen.folder.kinds import HEAD_BYTES, Kind, kind_of, wav_data
from listen.folder.text import reason

LONGEST_S = 60.0  # more adds nothing to a stop and costs memory
SHORTEST_S = 0.1  # five periods of mains
RATES_HZ = (8_000, 192_000)
MOST_CHANNELS = 8
LOUDEST = 16.0  # float samples beyond this were saved on another scale
KEPT_BYTES = 31 << 20  # the most that is kept is 32 MiB
CUT_SHORT = "is cut short or damaged"  # in the note of a part that holds less than was promised
_UNKNOWN = 2**62  # the library gives such a count where a file does not tell its length
_SMALL = 1024  # frames read at once where a file is damaged: less than a FLAC block


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """What was read of a recording: samples of shape (n, channels), or why not in `spoiled`."""

    samples: NDArray[np.float32]
    sample_rate_hz: int
    spoiled: str = ""
    notes: tuple[str, ...] = ()


class Held(contextlib.AbstractContextManager["Held"]):
    """One recording, kept open while parts of it are read.

    Opening an hour of MP3 costs a quarter of a second, since its length must be counted.  Give
    the same Held to one read_part after the other; the next recording takes its place.
    """

    def __init__(self) -> None:
        self._open = contextlib.ExitStack()
        self._which: tuple[Path, int, int] | None = None
        self._file: Any = None

    def file(self, path: Path, kind: Kind) -> Any:
        """The recording as the library opens it; unless it has changed, as it was left."""
        about = path.stat()
        which = (path, about.st_size, about.st_mtime_ns)
        if which != self._which:
            self.close()
            self._file = self._open.enter_context(_opened(path, kind))
            self._which = which
        return self._file

    def close(self) -> None:
        """Let go of it."""
        self._which, self._file = None, None
        self._open.close()

    def __exit__(self, *why: object) -> None:
        self.close()


def read_part(
    path: Path, start_s: float = 0.0, end_s: float | None = None, held: Held | None = None
) -> Part:
    """A part of a recording, at most its first LONGEST_S, with notes on what was left out.

    held  what keeps the recording open for its next part; None: it is opened and closed

    A bad recording raises nothing: `spoiled` says what is wrong with it, as a clause.
    """
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):
            return _spoiled("its name belongs to a folder or device, not to a recording")
        if not about.st_size:
            return _spoiled("the file is empty")
        with path.open("rb") as raw:
            kind = kind_of(raw.read(HEAD_BYTES))
    except OSError as why:
        return _spoiled(f"the file cannot be opened: {reason(why)}")
    if kind.use == "refused":
        return _spoiled(f"it is {kind.name}, which cannot be read: convert it to WAV or FLAC")
    try:
        with _quiet(kind):
            if held is not None:
                return _read_kind(path, kind, start_s, end_s, held)
            with Held() as alone:
                return _read_kind(path, kind, start_s, end_s, alone)
    except CannotRead:
        raise
    except (OSError, RuntimeError):  # the library's own errors are RuntimeErrors
        if held is not None:
            held.close()
        if kind.use == "unknown":
            return _spoiled("the file holds no sound: record this stop again, as WAV or FLAC")
        return _spoiled(f"the {kind.name} file is damaged: record this stop again")


def _read_kind(path: Path, kind: Kind, start_s: float, end_s: float | None, held: Held) -> Part:
    file = held.file(path, kind)
    rate_hz, channels = int(file.samplerate), int(file.channels)
    length = int(file.frames) if file.frames < _UNKNOWN else None
    if not RATES_HZ[0] <= rate_hz <= RATES_HZ[1]:
        return _spoiled(f"its rate is {rate_hz} samples a second: 8000 to 192000 are read")
    if channels > MOST_CHANNELS:
        return _spoiled(f"it has {channels} channels: up to {MOST_CHANNELS} are read")
    first, most = round(start_s * rate_hz), round(LONGEST_S * rate_hz)
    if length is not None and first >= max(length, 1):
        return _spoiled(
            f"its part starts at {start_s:g} s and the recording lasts {length / rate_hz:.2f} s"
        )
    stop = None if end_s is None else round(end_s * rate_hz)
    wanted = _least(stop, length, first + most) - first
    samples = _frames(file, first, wanted)
    promised = _promised(path, kind, length)
    if samples is None or (len(samples) < wanted and promised is not None):
        held.close()  # where a damaged file stands now nobody knows
        with _opened(path, kind) as file:
            samples = _piecemeal(file, first, wanted)
    there = first + len(samples)
    spoiled = _unusable(samples, rate_hz, promised)
    if spoiled:
        return Part(samples, rate_hz, spoiled)
    notes = []
    if promised is not None and there < _least(stop, promised, first + most):
        notes.append(
            f"{path.name} {CUT_SHORT}: of the {promised / rate_hz:.2f} s that it "
            f"promises, it is used up to {there / rate_hz:.2f} s."
        )
    elif length is not None and stop is not None and stop - length > SHORTEST_S * rate_hz:
        notes.append(
            f"A part of {path.name} ends at {end_s:g} s, after the recording at "
            f"{length / rate_hz:.2f} s: it is used as far as it goes."
        )
    if there == first + most and _least(stop, length, there + 1) > there:
        notes.append(
            f"Stops longer than {LONGEST_S:g} s are measured in their first {LONGEST_S:g} s."
        )
    return Part(samples, rate_hz, notes=tuple(notes))


def lasts_s(path: Path) -> float | None:
    """How long a recording lasts, s; None for the few whose file does not tell.

    Raises CannotRead for what cannot be read as a recording.
    """
    begins = read_part(path, 0.0, 2 * SHORTEST_S)
    if begins.spoiled:
        raise CannotRead(f"{path} cannot be used: {begins.spoiled}")
    with path.open("rb") as raw:
        kind = kind_of(raw.read(HEAD_BYTES))
    with _quiet(kind), _opened(path, kind) as file:
        length = int(file.frames)
    return length / begins.sample_rate_hz if length < _UNKNOWN else None


def _least(*counts: int | None) -> int:
    return min(count for count in counts if count is not None)


def _promised(path: Path, kind: Kind, length: int | None) -> int | None:
    """How many frames a header promises; None for kinds whose length is an estimate."""
    if kind.name == "WAV" and length is not None:
        data = wav_data(path)
        return max(length, data.claimed_frames if data else 0)
    return length if kind.name == "FLAC" else None


@contextlib.contextmanager
def _opened(path: Path, kind: Kind) -> Iterator[Any]:
    """The file as the library opens it, whatever it is called and however it was left."""
    sound = _library()
    with contextlib.ExitStack() as stack:
        source: Any = str(path)
        data = wav_data(path) if kind.name == "WAV" else None
        unfinished = data is not None and data.unfinished  # the library would find it empty
        if unfinished or path.suffix.lower() == ".raw":  # or, so named, not look inside at all
            raw = stack.enter_context(path.open("rb"))
            source = stack.enter_context(mmap.mmap(raw.fileno(), 0, access=mmap.ACCESS_COPY))
            if data is not None and unfinished:
                source[data.at - 4 : data.at] = struct.pack(data.order + "I", data.there_bytes)
        yield stack.enter_context(sound.SoundFile(source))


def _quiet(kind: Kind) -> contextlib.AbstractContextManager[None]:
    return _hushed() if kind.name == "MP3" else contextlib.nullcontext()


@contextlib.contextmanager
def _hushed() -> Iterator[None]:
    """Keep the MP3 decoder's own remarks from standard error."""
    kept = os.dup(2)
    try:
        with open(os.devnull, "wb") as nowhere:
            os.dup2(nowhere.fileno(), 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)


def _frames(file: Any, first: int, wanted: int) -> NDArray[np.float32] | None:
    """The frames wanted, from the first on, shape (n, channels); None if reading broke off."""
    try:
        if first or file.tell():
            file.seek(first)
        samples: NDArray[np.float32] = file.read(wanted, dtype="float32", always_2d=True)
    except (RuntimeError, OSError):
        return None
    return samples


def _piecemeal(file: Any, first: int, wanted: int) -> NDArray[np.float32]:
    """Frames of a damaged file, read in small pieces from its start to where it breaks."""
    pieces = [np.zeros((0, file.channels), np.float32)]
    at = 0
    with contextlib.suppress(RuntimeError, OSError):
        while at < first + wanted:
            goal = first if at < first else first + wanted
            piece = file.read(min(_SMALL, goal - at), dtype="float32", always_2d=True)
            if not len(piece):
                break
            if at >= first:
                pieces.append(piece)
            at += len(piece)
    return np.concatenate(pieces)


def _unusable(samples: NDArray[np.float32], rate_hz: int, promised: int | None) -> str:
    """Why samples cannot be measured, as a clause, or nothing."""
    if not len(samples):
        broken = "cut short or damaged: no sound of it can be read there"
        return f"the file is {broken}" if promised else "the file holds no sound, only a header"
    if len(samples) < SHORTEST_S * rate_hz:
        lasts_ms = 1000 * len(samples) / rate_hz
        return f"it lasts {lasts_ms:.0f} ms and at least {1000 * SHORTEST_S:.0f} ms are needed"
    bad = samples.size - int(np.count_nonzero(np.isfinite(samples)))
    if bad:
        return f"{bad} of its {samples.size} samples are infinite or not a number"
    peak = max(float(samples.max()), -float(samples.min()))
    if peak > LOUDEST:
        return f"its samples reach {peak:.3g} times full scale: save it as 16 or 24 bit"
    return ""


def keep_memory() -> None:
    """Have the memory of one recording's samples used again for the next one's.

    The C library of Linux gives every large array back to the system at once and asks for it
    anew, page by page, which costs more than most of the arithmetic.  When one of this size
    has been given back it keeps what is smaller: mallopt(3), on the dynamic threshold.
    """
    np.empty(KEPT_BYTES, np.uint8)


def encode(samples: NDArray[np.float32], sample_rate_hz: int) -> bytes:
    """Samples, shape (n, channels) or (n,), as a 24-bit FLAC file.

    Values are rounded to the nearest of 2^24 steps and held to full scale.  BadClip for what a
    recording cannot hold.
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
            f"a rate of {sample_rate_hz} samples a second came: 8000 to 192000 can be written"
        )
    full = 2**23
    steps = np.clip(np.rint(samples.astype(np.float64) * full), -full, full - 1).astype(np.int32)
    out = io.BytesIO()
    _library().write(out, steps << 8, sample_rate_hz, format="FLAC", subtype="PCM_24")
    return out.getvalue()


def _library() -> Any:
    try:
        import soundfile
    except OSError as why:  # the library beneath it is missing from this machine
        raise CannotRead(
            "the sound-file library libsndfile is missing: install it (on Debian: libsndfile1)"
        ) from why
    return soundfile


def _spoiled(why: str) -> Part:
    return Part(np.zeros((0, 1), np.float32), 48_000, why)
