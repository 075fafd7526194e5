"""A sweep folder as values: what it lists, what it says, and its recordings one by one.

Nothing in the folder is changed.  A fault of the folder as such is a BadFolder or CannotRead;
a fault of one recording spoils that stop alone.

What it gives
-------------
read_folder   the folder at a path, its table and settings read and checked
SweepFolder   what it holds; clips() reads the recordings, two stops in memory at a time
"""

import difflib
import os
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from listen.channels import plan
from listen.clip import Clip, spoiled_clip
from listen.errors import BadDial, BadFolder, CannotRead
from listen.folder.audio import Held, read_part
from listen.folder.kinds import kind_of, read_head
from listen.folder.settings import BOTH_MAINS_HZ, assumed, read_settings
from listen.folder.table import Stop, stops_of
from listen.folder.text import find_file, listed, names_in, read_sheet
from listen.radio import EASTERN_MHZ, Radio, refuse_odd_marks, usual_raster_khz

STOPS = "stops.csv"
_SOUND = (".wav", ".flac", ".mp3", ".ogg", ".opus", ".m4a", ".aif", ".aiff", ".wave", ".oga")


@dataclass(frozen=True, slots=True)
class SweepFolder:
    """A sweep as its folder holds it.

    path      the folder
    stops     its stops in the order of the walk
    radio     what is known or assumed of the radio
    mains_hz  the mains rates that are possible here
    plans     ids of the channel plans to look in; None: all
    notes     the folder's own notes
    warnings  sentences on what was assumed, ignored or odd
    """

    path: Path
    stops: tuple[Stop, ...]
    radio: Radio
    mains_hz: tuple[float, ...]
    plans: tuple[str, ...] | None
    notes: str = ""
    warnings: tuple[str, ...] = ()

    def clips(self) -> Iterator[Clip]:
        """The stops' recordings, in order.

        While one is looked at the next is read, unless it is lossy: while MP3 is decoded nothing
        may be said on standard error.
        """
        from concurrent.futures import Future, ThreadPoolExecutor  # slow to import

        held = Held()
        coming: Future[Clip] | None = None
        with ThreadPoolExecutor(1) as reader:
            try:
                for stop, then in zip(self.stops, [*self.stops[1:], None], strict=False):
                    clip = self.clip(stop, held) if coming is None else coming.result()
                    coming = None
                    if then is not None and _is_whole(self.path / then.file):
                        coming = reader.submit(self.clip, then, held)
                    yield clip
            finally:
                reader.submit(held.close)  # once it has read what it was asked for

    def clip(self, stop: Stop, held: Held | None = None) -> Clip:
        """The recording of one stop; a spoiled clip where it cannot be used.

        held  keeps it open for the next stop
        """
        why = stop.spoiled
        if not why:
            part = read_part(self.path / stop.file, stop.start_s, stop.end_s, held)
            if not part.spoiled:
                return Clip(
                    stop.dial_mhz,
                    part.sample_rate_hz,
                    part.samples,
                    stop.console,
                    stop.file,
                    stop.at,
                    notes=part.notes,
                )
            why = part.spoiled
        return spoiled_clip(stop.dial_mhz, why, console=stop.console, file=stop.file, at=stop.at)


def _is_whole(path: Path) -> bool:
    """Whether a recording is of a kind that loses nothing."""
    return kind_of(read_head(path)).use == "whole"


def read_folder(path: str | Path, *, plans: Sequence[str] | None = None) -> SweepFolder:
    """The sweep folder at a path.

    plans  ids of channel plans, to look in these whatever the folder says

    Raises CannotRead where the folder or a table of it cannot be opened; BadFolder where its
    stops.csv or sweep.toml is broken as such; UnknownChannel for a plan that there is not.
    """
    folder = Path(path)
    table_path = _find_table(folder)
    table = stops_of(read_sheet(table_path), table_path.name)
    if not table.stops:
        raise BadFolder(
            f"{table_path} lists no stop: add a row for each recording, such as 001.wav,95.75"
        )
    _refuse_escapes(folder, table.stops, table_path.name)
    stops = _present(folder, table.stops)
    settings = read_settings(folder)
    chosen = settings.plans if plans is None else tuple(plan(name).name for name in plans)
    radio, widened = _widened(settings.radio, stops)
    _refuse_marks(radio, settings.profile)
    assumptions = assumed(radio, settings.mains_hz, chosen)
    warnings = (
        *table.warnings,
        *settings.warnings,
        *_odd_files(folder, stops),
        *widened,
        *([assumptions] if assumptions else []),
    )
    mains_hz = settings.mains_hz or BOTH_MAINS_HZ
    return SweepFolder(folder, stops, radio, mains_hz, chosen, settings.notes, warnings)


def _find_table(folder: Path) -> Path:
    if not folder.exists():
        near = _near_folder(folder)
        then = f"did you mean {near}?" if near else "check the name, or make a sweep first"
        raise CannotRead(f"there is no folder {folder}: {then}")
    if not folder.is_dir():
        raise CannotRead(
            f"{folder} is a file, not a folder: give the folder that holds stops.csv and the "
            "recordings"
        )
    found = find_file(folder, STOPS)
    if found is not None:
        return found
    names = names_in(folder)
    like = [n for n in names if n.lower().startswith("stop") or _near_name(STOPS, [n])]
    if not names:
        raise BadFolder(
            f"the folder {folder} holds nothing: a sweep folder holds stops.csv and recordings"
        )
    if like:
        raise BadFolder(
            f"{folder} has no stops.csv, but it has {listed(like)}: save that table as CSV under "
            "the name stops.csv"
        )
    sweeps = [name for name in names if (folder / name / STOPS).is_file()]
    if sweeps:
        has = "has" if len(sweeps) == 1 else "have"
        raise BadFolder(
            f"{folder} has no stops.csv, but {listed(sweeps)} in it {has} one: name such a folder, "
            f"{folder / sweeps[0]}"
        )
    raise BadFolder(
        f"{folder} has no stops.csv, only {listed(names)}: write one, with a first row "
        "file,dial_mhz and a row for each recording"
    )


def _refuse_escapes(folder: Path, stops: tuple[Stop, ...], name: str) -> None:
    """Refuse a file name that a symbolic link leads out of the folder."""
    home = Path(os.path.realpath(folder))
    for file, row in {stop.file: stop.row for stop in reversed(stops)}.items():
        if not Path(os.path.realpath(folder / file)).is_relative_to(home):
            raise BadFolder(
                f"row {row} of {name} names {file}, a link that leads out of the folder: copy the "
                "recording itself into the folder"
            )


def _present(folder: Path, stops: tuple[Stop, ...]) -> tuple[Stop, ...]:
    """The stops, those whose recording is not there spoiled with the name that comes nearest."""
    missing = {s.file for s in stops if s.file and not os.path.lexists(folder / s.file)}
    if not missing:
        return stops
    listed_files = {stop.file for stop in stops}
    free = [name for name in names_in(folder) if name not in listed_files]
    composed = {unicodedata.normalize("NFC", name): name for name in free}
    found = []
    for stop in stops:
        same = composed.get(unicodedata.normalize("NFC", stop.file))
        if stop.file not in missing or stop.spoiled:
            found.append(stop)
        elif same:  # accents stored in another way by another system: the same name
            found.append(replace(stop, file=same))
        else:
            like = _near_name(stop.file, free[:200])
            hint = f", but {like} is: correct the name in stops.csv" if like else ""
            found.append(replace(stop, spoiled=f"the file is not in the folder{hint}"))
    return tuple(found)


def _near_folder(folder: Path) -> Path | None:
    """The folder that is there and whose name is most like one that is not."""
    for above in folder.parents:
        if above.is_dir():
            missing, *rest = folder.relative_to(above).parts
            near = _near_name(missing, names_in(above))
            guess = above.joinpath(near, *rest) if near else None
            return guess if guess is not None and guess.is_dir() else None
    return None


def _near_name(wanted: str, names: list[str]) -> str | None:
    """The name most like the one wanted, if any is like it."""
    by_fold = {name.casefold(): name for name in names}
    like = difflib.get_close_matches(wanted.casefold(), by_fold, n=1, cutoff=0.75)
    return by_fold[like[0]] if like else None


def _widened(radio: Radio, stops: tuple[Stop, ...]) -> tuple[Radio, tuple[str, ...]]:
    """A radio whose band holds every stop, where nobody stated the band, and its raster."""
    low_mhz = min(stop.dial_mhz for stop in stops)
    high_mhz = max(stop.dial_mhz for stop in stops)
    if "band_mhz" not in radio.stated and EASTERN_MHZ[0] <= low_mhz <= high_mhz <= EASTERN_MHZ[1]:
        radio = replace(radio, band_mhz=EASTERN_MHZ)
    if "raster_khz" not in radio.stated:
        radio = replace(radio, raster_khz=usual_raster_khz(radio.band_mhz))
    band_mhz = (min(radio.band_mhz[0], low_mhz), max(radio.band_mhz[1], high_mhz))
    if band_mhz == radio.band_mhz:
        return radio, ()
    if "band_mhz" not in radio.stated:
        return replace(radio, band_mhz=band_mhz), ()
    outside = [
        s.dial_mhz for s in stops if not radio.band_mhz[0] <= s.dial_mhz <= radio.band_mhz[1]
    ]
    return radio, (
        f"The dial stood at {listed(f'{mhz:g}' for mhz in outside)} MHz, outside of the band "
        f"{radio.band_mhz[0]:g} to {radio.band_mhz[1]:g} MHz that sweep.toml states: one is wrong.",
    )


def _refuse_marks(radio: Radio, profile: str) -> None:
    try:
        refuse_odd_marks(radio)
    except BadDial as why:
        where = f"sweep.toml or its profile {profile}" if profile else "sweep.toml"
        raise BadFolder(f"{where}: {why}") from why


def _odd_files(folder: Path, stops: tuple[Stop, ...]) -> tuple[str, ...]:
    """Sentences on lossy recordings and on recordings that no row lists."""
    files = list(dict.fromkeys(stop.file for stop in stops if stop.file))
    kinds = {file: kind_of(read_head(folder / file)) for file in files}
    sentences = []
    lossy = [file for file, kind in kinds.items() if kind.use == "lossy"]
    if lossy:
        names = listed(sorted({kinds[file].name for file in lossy}))
        sentences.append(
            f"{listed(lossy, 4)} {'is' if len(lossy) == 1 else 'are'} {names}: lossy sound hides "
            "hiss, so clarity is less sure there; record as WAV or FLAC."
        )
    known = {file.casefold() for file in files}
    stray = [
        name
        for name in names_in(folder)
        if name.lower().endswith(_SOUND) and name.casefold() not in known
    ]
    if stray:
        sentences.append(f"No row of stops.csv lists {listed(stray, 4)}: left out.")
    return tuple(sentences)
