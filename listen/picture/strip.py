"""The dial strip as a figure: ink on what layout.py lays out.

Its parts carry names (gid): box-N and stop-N for stop N of the answer, fit, other, interval,
and plan:label for a bracket with "plan:label picture" and "plan:label sound" for its marks.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from listen.analysis.answer import CarrierFit, Location
from listen.picture.layout import (
    Bracket,
    Row,
    bar_widths_mhz,
    carrier_words,
    curve_beside_stops,
    groups_of,
    label_of,
    on_true_scale,
    rows_of,
    window_mhz,
    words_of,
)
from listen.radio import Radio

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

CLOSE_UP_MHZ = 0.6  # to either side of the carrier
CLOSE_UP_OVER_MHZ = 4.0  # a dial narrower than this shows enough without one
BOX = (-9.0, -3.0)  # the boxes under the zero line, on the clarity axis
TOP = 128.0  # of the clarity axis; above 100 there are only words

INK, FAINT, PALE = "#1d2733", "#7b8794", "#eef0f2"
CARRIER = "#0b3c6f"
LOOKS = {  # what was heard: face and hatch, in the order of the key
    "console": ("#1f5f99", ""),
    "picture": ("#b5568c", "xxxx"),
    "station": ("#e6ab3f", "////"),
    "unclear": ("#9aa5ae", "...."),
    "hiss": ("#d9dde1", ""),
    "muted": ("#ffffff", "\\\\\\\\"),
    "spoiled": ("#ffffff", "++++"),
}


def strip_figure(
    answer: Location,
    radio: Radio,
    *,
    plans: Sequence[str] | None = None,
    title: str = "Dial strip",
) -> "Figure":
    """The drawing, not yet in a file; arguments as for dial_strip."""
    from matplotlib.figure import Figure

    answer = on_true_scale(answer)
    low_mhz, high_mhz = window_mhz(answer, radio)
    rows, more = rows_of(answer, (low_mhz, high_mhz), plans)
    close_up = answer.fit is not None and high_mhz - low_mhz > CLOSE_UP_OVER_MHZ
    said = words_of(answer)
    brackets_in = 0.25 + 0.34 * sum(row.levels for row in rows)
    strip_in, head_in, foot_in = 2.6, 0.55 + 0.17 * len(said), 0.95
    height_in = brackets_in + strip_in + head_in + foot_in
    figure = Figure(figsize=(12.5, height_in), facecolor="white")
    right = 0.80 if close_up else 0.98
    above = figure.add_axes(
        (0.1, (foot_in + strip_in) / height_in, right - 0.1, brackets_in / height_in)
    )
    strip = figure.add_axes((0.1, foot_in / height_in, right - 0.1, strip_in / height_in))
    for axes in (above, strip):
        axes.set_xlim(low_mhz, high_mhz)
    _draw_rows(above, rows, more)
    _draw_stops(strip, answer)
    _draw_fits(strip, answer)
    _draw_labels(strip, answer)
    _mark_carriers(above, strip, answer)
    _scale(strip, 22)
    strip.set_ylabel("clarity", color=INK, y=0.45)
    strip.set_xlabel("dial, MHz", color=INK)
    if close_up and answer.fit is not None:
        beside = figure.add_axes((0.835, foot_in / height_in, 0.15, strip_in / height_in))
        _draw_close_up(beside, answer, answer.fit)
    _draw_key(figure, answer, 0.08 / height_in)
    top = 1 - 0.2 / height_in
    _text(figure, 0.015, top, title, size=13, weight="bold", color=INK, va="top")
    body = "\n".join(said)
    y = top - 0.27 / height_in
    _text(figure, 0.015, y, body, color=INK, va="top", linespacing=1.35)
    return figure


def _text(on: Any, x: float, y: float, words: str, **look: Any) -> None:
    """Words exactly as they are: no formula is looked for in them."""
    on.text(x, y, words, parse_math=False, **look)


def _draw_rows(axes: "Axes", rows: tuple[Row, ...], more: int) -> None:
    """The brackets, the best fitting plan nearest to the strip."""
    height = max(1, sum(row.levels for row in rows))
    axes.set_ylim(-0.1, height + 0.65)
    axes.axis("off")
    base = 0
    left_mhz, right_mhz = axes.get_xlim()
    if not rows:
        _text(axes, (left_mhz + right_mhz) / 2, 0.4, "no channel of these plans is on this dial",
              ha="center", color=FAINT)  # fmt: skip
    for row in rows:
        if base % 2 == 0:
            axes.axhspan(base, base + row.levels, color=PALE, lw=0)
        fits = any(bracket.fits for bracket in row.brackets)
        look = {"color": CARRIER if fits else FAINT, "weight": "bold" if fits else "normal"}
        trans = axes.get_yaxis_transform()
        _text(axes, -0.008, base + row.levels / 2, row.plan, ha="right", va="center",
              transform=trans, **look)  # fmt: skip
        for bracket in row.brackets:
            _draw_bracket(axes, bracket, base + bracket.level)
        base += row.levels
    are = "plan is" if more == 1 else "plans are"
    left_out = f"   ({more} more {are} on this dial)" if more else ""
    words = f"channel plans:  \u25a1 picture carrier \u2014 \u25cf sound carrier{left_out}"
    _text(axes, 0.0, height + 0.3, words, transform=axes.get_yaxis_transform(), va="center",
          size=8, color=FAINT)  # fmt: skip


def _draw_bracket(axes: "Axes", bracket: Bracket, base: float) -> None:
    """A pair: its two carriers marked and joined, its channel's label between them."""
    channel = bracket.channel
    color, width, size = (CARRIER, 2.2, 7.0) if bracket.fits else (FAINT, 1.1, 4.5)
    y, foot = base + 0.38, base + 0.12
    left_mhz, right_mhz = axes.get_xlim()
    pair = (channel.picture_mhz, channel.sound_mhz)
    x = [pair[0], pair[0], pair[1], pair[1]]
    axes.plot(x, [foot, y, y, foot], color=color, lw=width, gid=channel.name, zorder=2,
              solid_joinstyle="miter")  # fmt: skip
    marks = ((pair[0], "s", "white", "picture"), (pair[1], "o", color, "sound"))
    for mhz, mark, face, name in marks:
        axes.plot([mhz], [y], mark, ms=size, mfc=face, mec=color, mew=1.3, zorder=3,
                  gid=f"{channel.name} {name}")  # fmt: skip
    seen = (max(min(pair), left_mhz), min(max(pair), right_mhz))
    words = f"{channel.label}  {bracket.note}".rstrip()
    if seen[1] - seen[0] > 0.02 * (right_mhz - left_mhz):
        _text(axes, sum(seen) / 2, y + 0.06, words, ha="center", va="bottom",
              size=8 if bracket.fits else 7, color=color, clip_on=True,
              weight="bold" if bracket.fits else "normal")  # fmt: skip


def _draw_stops(axes: "Axes", answer: Location) -> None:
    """A bar and a box a stop; with the console off they are hollow and slimmer."""
    from matplotlib.patches import Rectangle

    widths_mhz = bar_widths_mhz(answer, axes.get_xlim())
    axes.set_ylim(BOX[0] - 2, TOP)
    axes.axhline(0, color=INK, lw=0.8, zorder=1)
    for y in (25, 50, 75, 100):
        axes.axhline(y, color=PALE, lw=0.8, zorder=0)
    for index, stop in enumerate(answer.stops):
        off = stop.console == "off"
        face, hatch = LOOKS[stop.heard]
        wide = widths_mhz[index] * (0.5 if off else 1)
        look: dict[str, Any] = {
            "facecolor": "white" if off else face,
            "hatch": "" if off else hatch,
            "edgecolor": INK if off or stop.clarity is None else "#5b6670",
            "linewidth": 0.8 if off else 0.3,
            "zorder": 4 if off else 2,
        }
        left = stop.dial_mhz - wide / 2
        box = Rectangle((left, BOX[0]), wide, BOX[1] - BOX[0], gid=f"box-{index}", **look)
        axes.add_patch(box)
        if stop.clarity is not None:
            axes.add_patch(Rectangle((left, 0), wide, stop.clarity, gid=f"stop-{index}", **look))


def _draw_fits(axes: "Axes", answer: Location) -> None:
    """The fitted curve and its interval; what else was fitted, thin."""
    for fit in answer.others:
        beside = curve_beside_stops(answer, fit)
        if beside:
            axes.plot(*zip(*beside, strict=True), color=FAINT, lw=0.7, ls=(0, (3, 2)), zorder=5,
                      gid="other")  # fmt: skip
    if answer.fit is not None:
        curve = (answer.fit.curve_dial_mhz, answer.fit.curve_clarity)
        axes.plot(*curve, color="white", lw=3.0, zorder=6)
        axes.plot(*curve, color=INK, lw=1.5, zorder=7, gid="fit")


def _mark_carriers(above: "Axes", strip: "Axes", answer: Location) -> None:
    """The carrier with its interval, and the picture carrier, through brackets and strip."""
    if answer.sound_carrier_mhz is None or answer.interval_95_mhz is None:
        return
    floor, ceiling = above.get_ylim()
    rows_top = (ceiling - 0.6 - floor) / (ceiling - floor)  # below the words over the rows
    for axes, gid, ymax in ((above, "interval above", rows_top), (strip, "interval", 1.0)):
        look: dict[str, Any] = {"color": CARRIER, "zorder": 1, "ymax": ymax}
        axes.axvspan(*answer.interval_95_mhz, alpha=0.28, lw=0, gid=gid, **look)
        axes.axvline(answer.sound_carrier_mhz, lw=1.0, **look)
        if answer.picture_carrier_mhz is not None:
            axes.axvline(answer.picture_carrier_mhz, lw=1.0, ls=(0, (5, 3)), **look)
    window_mhz = strip.get_xlim()
    gap_mhz = 0.004 * (window_mhz[1] - window_mhz[0])
    for mhz, words, side, level in carrier_words(answer, window_mhz):
        left = side == "left"
        x = mhz - gap_mhz if left else mhz + gap_mhz
        _text(strip, x, 122 - 8 * level, words, ha="right" if left else "left", va="center",
              size=8, color=CARRIER, weight="bold")  # fmt: skip


def _draw_labels(axes: "Axes", answer: Location) -> None:
    """One word over each group of stops that heard the same, where there is room."""
    left_mhz, right_mhz = axes.get_xlim()
    taken: list[tuple[float, float]] = []
    groups = sorted(groups_of(answer.stops), key=lambda g: list(LOOKS).index(g[0].heard))
    for group in groups:
        word = label_of(answer, group)
        middle_mhz = sum(stop.dial_mhz for stop in group) / len(group)
        half_mhz = 0.0034 * (len(word) + 1) * (right_mhz - left_mhz)
        middle_mhz = min(max(middle_mhz, left_mhz + half_mhz), right_mhz - half_mhz)
        if any(abs(middle_mhz - mhz) < half_mhz + half for mhz, half in taken):
            continue
        taken.append((middle_mhz, half_mhz))
        weight = "bold" if word == "console" else "normal"
        _text(axes, middle_mhz, 106, word, ha="center", va="center", size=7.5, color=INK,
              weight=weight, bbox={"facecolor": "white", "lw": 0, "pad": 0.6})  # fmt: skip


def _draw_close_up(axes: "Axes", answer: Location, fit: CarrierFit) -> None:
    """The stops about the carrier, wide enough to see the curve and the interval."""
    low_mhz, high_mhz = fit.interval_95_mhz
    reach_mhz = max(CLOSE_UP_MHZ, high_mhz - low_mhz)
    # Where the dial heard it: an image or a mirror is far from the carrier itself.
    heard_mhz = (fit.curve_dial_mhz[0] + fit.curve_dial_mhz[-1]) / 2
    axes.set_xlim(heard_mhz - reach_mhz, heard_mhz + reach_mhz)
    _draw_stops(axes, answer)
    _draw_fits(axes, answer)
    top = (104 - BOX[0] + 2) / (TOP - BOX[0] + 2)  # below the words
    look: dict[str, Any] = {"color": CARRIER, "ymax": top}
    axes.axvspan(low_mhz, high_mhz, alpha=0.28, lw=0, zorder=1, gid="interval close up", **look)
    for mhz in (low_mhz, high_mhz):  # its ends, seen on the bars as well
        axes.axvline(mhz, lw=2.6, zorder=8, **{**look, "color": "white"})
        axes.axvline(mhz, lw=1.0, zorder=9, **look)
    axes.axvline(fit.centre_mhz, lw=1.0, ls=(0, (1, 1)), zorder=9, **{**look, "color": "white"})
    _text(axes, 0.5, 0.98, f"close-up\n95 %: {low_mhz:.3f} to {high_mhz:.3f}", ha="center",
          va="top", transform=axes.transAxes, size=8, color=CARRIER, weight="bold")  # fmt: skip
    _scale(axes, 5)
    axes.set_yticklabels([])
    axes.set_xlabel("dial, MHz", color=INK)


def _scale(axes: "Axes", most: int) -> None:
    """The dial's own marks: at most so many numbers, with finer strokes between them."""
    from matplotlib.ticker import FuncFormatter, MultipleLocator

    left_mhz, right_mhz = axes.get_xlim()
    steps = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
    step = next((s for s in steps if (right_mhz - left_mhz) / s <= most), 100.0)
    digits = 2 if step < 0.1 else 1 if step < 1 else 0
    axes.xaxis.set_major_locator(MultipleLocator(step))
    axes.xaxis.set_minor_locator(MultipleLocator(step / 5))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda mhz, _: f"{mhz:.{digits}f}"))
    axes.tick_params(axis="x", which="major", length=9, width=1.2, color=INK, labelcolor=INK)
    axes.tick_params(axis="x", which="minor", length=4.5, width=0.7, color=INK)
    axes.set_yticks([0, 25, 50, 75, 100])
    axes.tick_params(axis="y", length=0, labelcolor=FAINT)
    for side in ("left", "top", "right"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(INK)
    axes.spines["bottom"].set_linewidth(1.6)
    axes.patch.set_visible(False)


def _draw_key(figure: "Figure", answer: Location, y: float) -> None:
    """What the looks mean, as far as they occur."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    there = {stop.heard for stop in answer.stops if stop.console == "on"}
    shown: list[Any] = [
        Patch(facecolor=face, hatch=hatch, edgecolor="#5b6670", linewidth=0.5, label=name)
        for name, (face, hatch) in LOOKS.items()
        if name in there
    ]
    if any(stop.console == "off" for stop in answer.stops):
        shown.append(Patch(facecolor="white", edgecolor=INK, linewidth=1.1, label="console off"))
    if answer.fit is not None:
        shown.append(Line2D([], [], color=INK, lw=1.5, label="fitted curve"))
        shown.append(Patch(facecolor=CARRIER, alpha=0.28, label="95 % interval"))
    if answer.others:
        shown.append(
            Line2D([], [], color=FAINT, lw=0.7, ls=(0, (3, 2)), label="other carriers fitted")
        )
    figure.legend(handles=shown, loc="lower left", bbox_to_anchor=(0.09, y), frameon=False,
                  ncols=len(shown), fontsize=8, labelcolor=INK, handlelength=1.5,
                  columnspacing=1.4, borderaxespad=0)  # fmt: skip
