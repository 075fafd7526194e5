"""How a carrier drifted: its offset from the first round against the minutes since.

A mark a round with the 95 % interval of its distance from the first, which is the zero and so
has none; the line through them; and, where the drift has settled, the part of the time that says
so set off.  Offsets are kHz, positive upward; the scale on the right gives the carrier in MHz.
"""

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from listen.picture import checked_paths, quiet_library, write_figure
from listen.watch.series import FLAT_KHZ_PER_MIN, Round, Settling

INK, MARK, CALM = "#20303c", "#1c6e8c", "#dceee2"
SIZE_IN = (7.5, 4.0)
LEAST_KHZ, LEAST_MIN = 10.0, 5.0  # the axes show so much at least: a dot alone is no drift


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
    below = [max(0.0, one.offset_khz - one.offset_interval_95_khz[0]) for one in shown]
    above = [max(0.0, one.offset_interval_95_khz[1] - one.offset_khz) for one in shown]
    axes.axhline(0, color=INK, linewidth=0.6)
    if settling is not None and settling.settled:
        calm = f"settled: surely under {FLAT_KHZ_PER_MIN:g} kHz a minute"
        axes.axvspan(settling.since_min, minutes[-1], color=CALM, label=calm, zorder=0)
    axes.plot(minutes, khz, "-", color=MARK, linewidth=1)
    axes.plot(minutes[:1], khz[:1], "s", color=INK, ms=6, label="first round, the zero")
    later = (minutes[1:], khz[1:], (below[1:], above[1:]))
    axes.errorbar(*later, fmt="o", color=MARK, capsize=3, ms=4, label="a round, its 95 % interval")
    axes.set_xlabel("minutes since the first round")
    axes.set_ylabel("sound carrier, kHz since the first round")
    axes.set_title(title, loc="left")
    axes.margins(x=0.03, y=0.08)
    _widen(axes)
    if shown:
        first_mhz = shown[0].sound_mhz
        scale = (lambda khz: first_mhz + khz / 1e3, lambda mhz: 1e3 * (mhz - first_mhz))
        right = axes.secondary_yaxis("right", functions=scale)
        right.set_ylabel("MHz")
        right.yaxis.set_major_formatter("{x:.3f}")
    figure.legend(loc="outside lower left", ncols=3, frameon=False)
    return figure


def _widen(axes: Any) -> None:
    """Let the axes show LEAST_KHZ and LEAST_MIN at least."""
    low, high = axes.get_ylim()
    more = max(0.0, 2 * LEAST_KHZ - (high - low)) / 2
    axes.set_ylim(low - more, high + more)
    first, last = axes.get_xlim()
    axes.set_xlim(first, max(last, first + LEAST_MIN))


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
