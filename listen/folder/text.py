"""What a text file of a sweep folder says, whatever program saved it.

Spreadsheets and phones save the same table in many ways: UTF-8 with or without a
byte-order mark, UTF-16 of either order, an old Windows code page; commas, semicolons or
tabs; any line end.  This module turns all of them into rows of plain cells, and knows
nothing of what the cells mean.

What it gives
-------------
find_file   the file of a folder that goes by a name, in upper or lower case
decode      bytes as text, with the sentences that a guess needs
read_sheet  a table as rows of cells
rows_of     the same from text whose separator is known
plain_name  a column's name, however it is spelt
"""

import codecs
import csv
import io
import os
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from listen.errors import BadFolder, CannotRead

SEPARATORS = (",", ";", "\t")
_MARKS = (  # the longer marks first: UTF-32's begins with UTF-16's
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_NOT_TEXT = (
    (b"PK\x03\x04", "a spreadsheet program's own file or a zip archive"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet program's own file"),
    (b"%PDF", "a PDF"),
    (b"RIFF", "a sound file"),
    (b"fLaC", "a sound file"),
)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table of text as it was saved.

    rows       its rows of cells, blank ones included, so that rows[0] is row 1 of a spreadsheet
    plain      whether a row of UTF-8 with commas can simply be added at its end
    ended      whether its last row ends in a line break
    warnings   sentences on what had to be guessed
    """

    rows: tuple[tuple[str, ...], ...]
    plain: bool
    ended: bool
    warnings: tuple[str, ...] = ()


def find_file(folder: Path, name: str) -> Path | None:
    """The file in the folder that goes by this name, in upper or lower case; None if none does.

    Raises CannotRead if the folder cannot be listed; BadFolder if several files differ only in
    case and none is written exactly so.
    """
    names = names_in(folder)
    if name in names:
        return folder / name
    like = [other for other in names if other.casefold() == name.casefold()]
    if len(like) > 1:
        raise BadFolder(f"{folder} holds {listed(like)}: keep one of them, named {name}")
    return folder / like[0] if like else None


def names_in(folder: Path) -> list[str]:
    """Names of all that lies directly in a folder, sorted; CannotRead where it cannot be listed."""
    try:
        return sorted(os.listdir(folder))
    except OSError as why:
        raise CannotRead(f"cannot look into {folder}: {reason(why)}") from why


def read_bytes(path: Path) -> bytes:
    """All that a small file holds, or CannotRead."""
    try:
        if not path.is_file():
            is_there = "that is no file" if path.exists() else "there is no such file"
            raise CannotRead(f"cannot read {path}: {is_there}, so give the name of one")
        return path.read_bytes()
    except OSError as why:
        if isinstance(why, CannotRead):
            raise
        raise CannotRead(f"cannot read {path}: {reason(why)}") from why


def decode(data: bytes, name: str) -> tuple[str, str, tuple[str, ...]]:
    """The text in some bytes, the encoding they were in, and warnings.

    The text has no byte-order mark and ends its lines with a line feed alone.
    Raises BadFolder where the bytes are no text.
    """
    for head, what in _NOT_TEXT:
        if data.startswith(head):
            raise BadFolder(f"{name} is not text but {what}: save it as CSV text (UTF-8)")
    encoding = "utf-8"
    warnings: tuple[str, ...] = ()
    for mark, marked in _MARKS:
        if data.startswith(mark):
            encoding, data = marked, data[len(mark) :]
            break
    else:
        encoding = _unmarked(data)
    if encoding == "utf-8":
        data = data.rstrip(b"\0")  # a file system may pad with these after a power cut
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as why:
        if why.reason == "unexpected end of data":  # a crash in the middle of a letter
            return decode(data[: why.start], name)
        if encoding != "utf-8":
            raise BadFolder(f"{name} is broken as {encoding.upper()}: save it as UTF-8") from why
        encoding, text = "cp1252", data.decode("cp1252", errors="replace")
        warnings = (
            f"{name} is not UTF-8; it is read as the Western Windows code page, so letters "
            "beyond plain English ones may be wrong.",
        )
    if "\0" in text:
        raise BadFolder(f"{name} is not text (it holds zero bytes): save it as CSV text (UTF-8)")
    return text.replace("\r\n", "\n").replace("\r", "\n"), encoding, warnings


def _unmarked(data: bytes) -> str:
    """UTF-16 without a mark shows by a zero in every second byte of plain letters."""
    head = data[:64]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if len(head) >= 4 and max(even, odd) > len(head) // 4 and min(even, odd) == 0:
        return "utf-16-le" if odd else "utf-16-be"
    return "utf-8"


def read_sheet(path: Path) -> Sheet:
    """A table saved as CSV of any kind; BadFolder or CannotRead where it is none."""
    data = read_bytes(path)
    text, encoding, warnings = decode(data, path.name)
    body = text
    separator = ""
    first, _, rest = text.partition("\n")
    if first.strip().lower().startswith("sep=") and len(first.strip()) == 5:
        separator, body = first.strip()[4], "\n" + rest  # kept as a blank row: rows count on
    ended = text.endswith("\n") or not text
    separator = separator or _separator(body)
    rows = rows_of(body, separator, ended, path.name)
    padded = data.endswith(b"\0") and encoding == "utf-8"
    plain = encoding == "utf-8" and separator == "," and not padded and body is text
    kept = _trimmed(rows)
    plain = plain and ended and b"\r" not in data and len(kept) == len(rows)
    return Sheet(kept, plain, ended, warnings)


def rows_of(body: str, separator: str, ended: bool, name: str) -> tuple[tuple[str, ...], ...]:
    """Rows of cells; BadFolder for a quotation mark that would swallow the rows after it."""
    whole, _, last = body.rpartition("\n")
    ends_with = "the end"
    try:
        rows = (
            list(_cells(f"{whole}\n{ends_with}\n", separator)) if whole or ended else [[ends_with]]
        )
        if rows.pop() != [ends_with]:
            raise BadFolder(
                f"{name} opens a quotation mark that is never closed, in row {len(rows) + 1}: "
                "close it or take it out"
            )
        rows += _cells(last, separator)
    except csv.Error as why:
        raise BadFolder(f"{name} cannot be read as a table: {why}") from why
    return tuple(tuple(cell.strip(" \t\n\xa0\ufeff") for cell in row) for row in rows)


def _cells(text: str, separator: str) -> Iterator[list[str]]:
    return csv.reader(io.StringIO(text), delimiter=separator, skipinitialspace=True)


def _trimmed(rows: tuple[tuple[str, ...], ...]) -> tuple[tuple[str, ...], ...]:
    end = len(rows)
    while end and not any(rows[end - 1]):
        end -= 1
    return rows[:end]


def _separator(text: str) -> str:
    """The separator that cuts the first row that says anything into its columns."""
    header = next((line for line in text.split("\n") if line.strip(' ,;\t"')), "")

    def fits(mark: str) -> tuple[int, int]:
        names = [plain_name(cell) for row in _cells(header, mark) for cell in row]
        return len({"file", "dial_mhz"} & set(names)), len(names)

    return max(SEPARATORS, key=fits)


def plain_name(column: str) -> str:
    """A column's name as this format spells it: "Dial (MHz)" is dial_mhz."""
    return re.sub(r"[^a-z0-9]+", "_", column.lower()).strip("_")


def listed(names: Iterable[object], most: int = 6) -> str:
    """Names as a person lists them: "a", "a and b", "a, b and 7 more"."""
    words = [str(name) for name in names]
    if len(words) > most:
        words = [*words[: most - 1], f"{len(words) - most + 1} more"]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def reason(why: OSError) -> str:
    """What the system said, as a clause."""
    return (why.strerror or str(why)).lower()
