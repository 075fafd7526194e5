"""Small files and names put on disk so that neither a crash nor a power cut leaves half of one.

What it gives
-------------
csv_row        cells as a line of a table; one_line a cell without line breaks
replace_file   a small file's new contents, at one stroke
append_row     a line at a file's end, or the file as it was
copy_in        another file's bytes under a name of its own, at one stroke
write_all      bytes to an open file, synced
sync_folder    names in a folder, synced
writing        the system's refusals as one sentence
"""

import contextlib
import csv
import errno
import io
import os
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path

from listen.errors import CannotWrite, ListenError
from listen.folder.text import reason


def one_line(text: str) -> str:
    """A cell without line breaks, each run of blanks one space."""
    return " ".join(text.split())


def csv_row(cells: Iterable[str]) -> str:
    """Cells as a line of a table, its line feed included."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(map(one_line, cells))
    return out.getvalue()


def replace_file(path: Path, text: str) -> None:
    """Give a small file new contents at one stroke: it holds the old or the new, never half."""
    draft = path.with_name(f".{path.name}.part")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o666)
    write_all(handle, text.encode())
    draft.replace(path)
    sync_folder(path.parent)


def copy_in(source: Path, path: Path) -> None:
    """Put a copy of a file at a path: whole, or not at all; its bytes are never held in memory."""
    draft = path.with_name(f".{path.name}.part")
    try:
        shutil.copyfile(source, draft)
        handle = os.open(draft, os.O_RDWR)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
        draft.replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            draft.unlink()
        raise
    sync_folder(path.parent)


def append_row(path: Path, row: bytes) -> None:
    """Add a row and sync it; where that fails, the file is left as it was."""
    handle = os.open(path, os.O_WRONLY | os.O_APPEND)
    before = os.fstat(handle).st_size
    try:
        write_all(handle, row)
    except BaseException:
        with contextlib.suppress(OSError):
            os.truncate(path, before)
        raise


def write_all(handle: int, data: bytes) -> None:
    """Write, sync and close."""
    try:
        view = memoryview(data)
        while view:
            view = view[os.write(handle, view) :]
        os.fsync(handle)
    finally:
        os.close(handle)


def sync_folder(folder: Path) -> None:
    """Make names in a folder outlast a power cut, where the system can."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except PermissionError:  # some systems do not open folders
        return
    try:
        os.fsync(handle)
    except OSError as why:
        if why.errno not in (errno.EINVAL, errno.ENOTSUP, errno.EBADF):
            raise
    finally:
        os.close(handle)


@contextlib.contextmanager
def writing(folder: Path, kept: int) -> Iterator[None]:
    """Turn the system's refusals into one sentence that says what is kept."""
    try:
        yield
    except CannotWrite:
        raise
    except OSError as why:
        if isinstance(why, ListenError):
            raise
        safe = f"; the {kept} stops listed there are kept" if kept > 1 else ""
        safe = "; the stop listed there is kept" if kept == 1 else safe
        todo = {
            errno.ENOSPC: "free some space",
            errno.EDQUOT: "free some space",
            errno.EACCES: "choose a folder that is yours",
            errno.EROFS: "choose a disk that can be written to",
        }.get(why.errno or 0, "choose another place")
        raise CannotWrite(f"cannot write to {folder}: {reason(why)}{safe}; {todo}") from why
