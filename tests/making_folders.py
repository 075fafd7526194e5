"""Sweep folders made by hand, for tests: none of `listen` has a hand in writing them."""

import hashlib
import wave
from pathlib import Path

import numpy as np

from listen.folder import read_folder


def pcm16(path, samples, rate_hz):
    """Whole numbers of 16 bits, shape (n, channels), as a WAV by the standard library."""
    samples = np.asarray(samples, np.int16)
    with wave.open(str(path), "wb") as out:
        out.setnchannels(samples.shape[1])
        out.setsampwidth(2)
        out.setframerate(rate_hz)
        out.writeframes(samples.astype("<i2").tobytes())


def noise16(seconds=0.5, rate_hz=8000, channels=1, seed=0):
    """White noise as whole numbers of 16 bits, shape (n, channels)."""
    rng = np.random.default_rng(seed)
    return rng.integers(-20_000, 20_000, (round(seconds * rate_hz), channels), np.int16)


def hand_made(folder, table="file,dial_mhz\na.wav,95.75\n", *names, toml=None):
    """A folder with a table (text, or bytes as some program saved it) and short recordings."""
    folder = Path(folder)
    folder.mkdir(exist_ok=True)
    data = table.encode() if isinstance(table, str) else table
    (folder / "stops.csv").write_bytes(data)
    for seed, name in enumerate(names or ("a.wav",)):
        pcm16(folder / name, noise16(seed=seed), 8000)
    if toml is not None:
        (folder / "sweep.toml").write_text(toml, "utf-8")
    return folder


def traces(folder):
    """Everything that reading a folder could have changed in it."""
    return {
        str(path.relative_to(folder)): (
            path.stat().st_mtime_ns,
            path.stat().st_mode,
            hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else "",
        )
        for path in sorted([Path(folder), *Path(folder).rglob("*")])
    }


def clips_of(folder, *names, part=""):
    """The clips of a folder whose table lists these files."""
    rows = "".join(f"{name},{88 + n},{part}\n" for n, name in enumerate(names))
    (folder / "stops.csv").write_text(f"file,dial_mhz,start_s,end_s\n{rows}")
    return list(read_folder(folder).clips())
