"""How an answer is shown: tables and sentences, rich on a terminal, plain when piped.

Plain output is made for other programs: a header line, then one row a line, its columns set
apart by two spaces or more, no colour and no frame.
"""

import re
import sys
from collections.abc import Iterable, Iterator, Sequence
from typing import Literal, TypeVar

GAP = "  "
T = TypeVar("T")


def on_terminal() -> bool:
    """Whether standard output is a terminal with a person before it."""
    return sys.stdout is not None and sys.stdout.isatty()


def say(text: str) -> None:
    """One sentence, or one paragraph, on standard output."""
    if not on_terminal():
        print(text)
        return
    from rich.console import Console

    Console(highlight=False).print(text, markup=False)


def print_table(headers: Sequence[str], rows: Sequence[Sequence[str]], title: str = "") -> None:
    """A table on standard output; columns of numbers are set flush right.

    headers   one heading a column
    rows      the cells, as many as headers in each row
    title     what the table holds; shown above it
    """
    right = [_is_numbers([row[column] for row in rows]) for column in range(len(headers))]
    if on_terminal():
        _print_rich(headers, rows, right, title)
        return
    if title:
        print(title)
    lines = [list(headers), *(list(row) for row in rows)]
    widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
    for line in lines:
        cells = (
            cell.rjust(width) if flush_right else cell.ljust(width)
            for cell, width, flush_right in zip(line, widths, right, strict=True)
        )
        print(GAP.join(cells).rstrip())


def fits(columns: Sequence[tuple[str, Sequence[str]]], *, whole: bool = False) -> bool:
    """Whether a table of these headings and cells has room here; what is piped always has.

    whole  with no cell wrapped; False: headings and sentences may take a line a word
    """
    if not on_terminal():
        return True
    from rich.console import Console

    least = 0
    for head, cells in columns:
        parts = cells if whole else [word for cell in cells for word in cell.split()]
        least += max(map(len, (*head.split(), *parts)), default=0)
    return least + _frame(len(columns)) <= Console().width


def _frame(columns: int) -> int:
    """What the frame and the padding of a table on a terminal take."""
    return 2 + 3 * columns


def _print_rich(
    headers: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[bool], title: str
) -> None:
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(
        box=SIMPLE_HEAD, title=Text(title) if title else None, title_justify="left", padding=(0, 1)
    )
    frame = _frame(len(headers))
    console = Console(highlight=False)
    columns = [[row[column] for row in rows] for column in range(len(headers))]
    whole = [max(map(len, (head, *cells))) for head, cells in zip(headers, columns, strict=True)]
    if sum(whole) + frame > console.width:  # too wide: headings take a line a word
        headers = [re.sub(r" (?!%)", "\n", head) for head in headers]
    least = frame
    for head, cells, flush_right in zip(headers, columns, right, strict=True):
        # Columns of sentences wrap at spaces; a name or a number is never broken.
        sentences = any(" " in cell for cell in cells)
        words = " ".join((head, *cells)).split() if sentences else (*head.split("\n"), *cells)
        least += max(map(len, words), default=0)
        side: Literal["left", "right"] = "right" if flush_right else "left"
        table.add_column(Text(head), justify=side, no_wrap=not sentences, overflow="fold")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    # Where even that does not fit, the terminal itself breaks the lines: nothing is cut off.
    console.width = max(console.width, least)
    console.print(table)


def _is_numbers(cells: Sequence[str]) -> bool:
    filled = [cell for cell in cells if cell]
    return bool(filled) and all(cell.lstrip("+-").replace(".", "", 1).isdigit() for cell in filled)


def followed(items: Iterable[T], total: int, words: str) -> Iterator[T]:
    """The items, with a progress bar on a terminal's standard error while they are used up."""
    if not sys.stderr.isatty():
        yield from items
        return
    from rich.console import Console
    from rich.progress import track

    yield from track(items, words, total, console=Console(stderr=True), transient=True)
