"""How a carrier drifted: its offset from the first round against the minutes since.

A mark a round with its 95 % interval, the line through them, and, where the drift has settled,
the part of the time that says so set off.  Offsets are kHz, positive upward.
"""

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from listen.picture import checked_paths, quiet_library, write_figure
from listen.watch.series import Round, Settling

INK, MARK, CALM = "#20303c", "#1c6e8c", "#dceee2"
SIZE_IN = (7.5, 3.6)


def drift_figure(
    rounds: Iterable[Round], settling: Settling | None = None, title: str = "Drift"
) -> Any:
    """The drawing as a figure of the drawing library, for whoever wants to look into it."""
    from matplotlib.figure import Figure

    shown = list(rounds)
    figure = Figure(figsize=SIZE_IN, layout="constrained")
    axes = figure.add_subplot()
    minutes = [one.minutes for one in shown]
    khz = [one.offset_khz for one in shown]
    if settling is not None and settling.settled:
        axes.axvspan(settling.since_min, minutes[-1], color=CALM, label="settled")
        axes.legend(loc="best", frameon=False)
    axes.axhline(0, color=INK, linewidth=0.6)
    below = [one.offset_khz - one.offset_interval_95_khz[0] for one in shown]
    above = [one.offset_interval_95_khz[1] - one.offset_khz for one in shown]
    axes.errorbar(minutes, khz, (below, above), fmt="o-", color=MARK, ecolor=MARK, capsize=3, ms=4)
    axes.set_xlabel("minutes since the first round")
    axes.set_ylabel("sound carrier, kHz since the first round")
    axes.set_title(title, loc="left")
    axes.margins(x=0.03, y=0.12)
    return figure


def drift_picture(
    rounds: Iterable[Round],
    paths: str | Path | Iterable[str | Path],
    settling: Settling | None = None,
    title: str = "Drift",
) -> None:
    """Draw into PNG or SVG files, by each name's ending; a file that is there is replaced.

    Raises CannotWrite for another ending, or where a file cannot be written.
    """
    wanted = checked_paths(paths)
    with quiet_library():
        write_figure(drift_figure(rounds, settling, title), wanted)
