"""The dial strip: one drawing that shows what a sweep heard and which channels it may be.

Below, the radio's dial as a scale in MHz.  On it a bar a stop, as high as its clarity (0 to
100), a box under the zero line for every stop that was visited, the fitted curve, and the
95 % interval of the carrier.  Above, a bracket a channel: its picture carrier and its sound
carrier, marked and joined, a row a plan, those that fit set off.  Where the carrier was
found, a close-up stands beside it.

Conventions
-----------
Everything lies on one scale in MHz.  Bars and curve stand where the dial stood; carriers,
interval and channels where they truly are.  What was heard is told by colour and by hatching,
so that it can be read in grey.  The same answer gives the same file, byte for byte.

What it gives
-------------
dial_strip     draws an answer into PNG and SVG files
strip_figure   the drawing itself, for whoever wants to look into it
checked_paths  refuses file names that cannot be drawn into
quiet_library  the drawing library with its own settings
write_figure   a drawing into its files

It reads no recordings and measures nothing.
"""

import io
import logging
import warnings
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from listen.analysis.answer import Location
from listen.errors import CannotWrite
from listen.picture.strip import strip_figure
from listen.radio import Radio

__all__ = ["checked_paths", "dial_strip", "quiet_library", "strip_figure", "write_figure"]

SETTINGS: dict[Any, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": 9.0,
    "hatch.linewidth": 0.6,
    "svg.hashsalt": "dial strip",
    "svg.fonttype": "none",
    "axes.unicode_minus": False,
}


def dial_strip(
    answer: Location,
    radio: Radio,
    paths: str | Path | Iterable[str | Path],
    *,
    plans: Sequence[str] | None = None,
    title: str = "Dial strip",
) -> None:
    """Draw an answer into one or several files, the format by each name's ending.

    paths  ending in .png or .svg; a file that is there already is replaced
    plans  ids of the plans whose channels may be drawn; None: all
    title  what stands over it

    Raises CannotWrite for another ending, or where a file cannot be written.
    """
    wanted = checked_paths(paths)
    with quiet_library():
        write_figure(strip_figure(answer, radio, plans=plans, title=title), wanted)


def write_figure(figure: Any, paths: Iterable[Path]) -> None:
    """Write a drawing into files; the same drawing gives the same bytes.  Raises CannotWrite."""
    for path in paths:
        drawn = io.BytesIO()
        kind = path.suffix.lower()[1:]
        plain: dict[str, Any] = {"Software": None} if kind == "png" else {"Date": None}
        figure.savefig(drawn, format=kind, dpi=110, metadata=plain)
        try:
            path.write_bytes(drawn.getvalue())
        except OSError as why:
            raise CannotWrite(
                f"the picture cannot be written to {path} ({why.strerror}): name another place"
            ) from why


def checked_paths(paths: str | Path | Iterable[str | Path]) -> list[Path]:
    """The files to draw into.

    Raises CannotWrite for one that is no PNG or SVG by its name, and where its folder is not there.
    """
    wanted = [Path(p) for p in ([paths] if isinstance(paths, str | Path) else paths)]
    for path in wanted:
        if path.suffix.lower() not in (".png", ".svg"):
            raise CannotWrite(
                f"a picture named {path.name} was asked for: end its name in .png or .svg"
            )
        if not path.parent.is_dir():
            raise CannotWrite(
                f"the picture cannot be written to {path} (there is no folder {path.parent}): name "
                "another place"
            )
        if path.is_dir():
            raise CannotWrite(f"{path} is a folder: give the picture another name")
    return wanted


@contextmanager
def quiet_library() -> Iterator[None]:
    """The drawing library with its own settings, whatever the user's, and nothing to say."""
    log = logging.getLogger("matplotlib")
    before = log.level
    log.setLevel(logging.ERROR)  # it announces that it looks for fonts
    try:
        import matplotlib

        with matplotlib.rc_context(), warnings.catch_warnings():
            matplotlib.rcdefaults()
            matplotlib.rcParams.update(SETTINGS)
            warnings.filterwarnings("ignore", "Glyph", UserWarning)  # a title in any script
            yield
    finally:
        log.setLevel(before)
