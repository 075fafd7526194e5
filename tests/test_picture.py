"""The dial strip shows what the answer says: heights, carriers, edges, words.

What is drawn is read back from the figure by name (gid) and held against the answer and the
published tables; files are held against each other, byte for byte.
"""

import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from making_answers import fit_at, found, not_found, stop
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from listen.channels import by_name, channels
from listen.errors import CannotWrite
from listen.picture import dial_strip, strip_figure
from listen.picture.layout import (
    MOST_ROWS,
    bar_widths_mhz,
    carrier_words,
    rows_of,
    window_mhz,
    words_of,
)
from listen.picture.strip import LOOKS
from listen.radio import Radio

HOME = Path(__file__).parent.parent
WALK = tuple(round(87.5 + 0.1 * n, 1) for n in range(206))


@cache
def whole_dial():
    """Every kind of stop on 206 positions, the console on channel 1 of Japan."""
    kinds = {88.6: "station", 93.0: "muted", 94.0: "spoiled", 91.2: "picture", 99.5: "unclear"}
    stops = [
        stop(mhz, "console", 95 + 10 * (mhz - 95.7))
        if abs(mhz - 95.74) < 0.15
        else stop(mhz, kinds.get(mhz, "hiss"), 80 if mhz in kinds else 0.5)
        for mhz in WALK
    ]
    stops.append(stop(95.7, "hiss", 1.5, "off"))
    near = {mhz: tuple(i for i, m in enumerate(WALK) if abs(m - mhz) < 0.12) for mhz in kinds}
    others = (fit_at(88.61, stops=near[88.6]), fit_at(91.22, stops=near[91.2]))
    return found(stops, 95.741, "jp-air:1", "us-cable-std:95", picture_mhz=91.241, others=others)


NEAR = (stop(95.6, "hiss", 9), stop(95.7, "console", 97), stop(95.8, "console", 96))
CASES = {
    "whole dial": (whole_dial(), Radio()),
    "three stops": (found(NEAR, 95.741, "jp-air:1", half_khz=45), Radio()),
    "one stop": (found(NEAR[1:2], 95.741, "jp-air:1", half_khz=150), Radio()),
    "no channel": (found(NEAR, 99.04), Radio()),
    "narrow": (found(NEAR, 95.741, "jp-air:1"), Radio(band_mhz=(95.0, 97.0))),
    "carriers at both ends": (
        found(NEAR, 95.741, "jp-air:1", picture_mhz=91.241),
        Radio(band_mhz=(91.0, 96.0)),
    ),
    "japan": (
        found([stop(86.2, "console", 98)], 86.2, picture_mhz=80.7),
        Radio(band_mhz=(76.0, 90.0)),
    ),
    "not found": (not_found([stop(88.6, "station", 80), stop(90.0)], "x " * 400), Radio()),
    "nothing heard": (not_found([stop(95.7, "muted")]), Radio()),
    "off alone": (not_found([stop(95.7, "hiss", 2, "off")]), Radio()),
    "outside its band": (not_found([stop(120.0, "station", 80)]), Radio()),
}


def by_gid(axes):
    return {a.get_gid(): a for a in (*axes.patches, *axes.lines) if a.get_gid()}


@cache
def drawn(answer, radio=None, **options):
    """The axes of the brackets and of the strip, and of the close-up where there is one."""
    return strip_figure(answer, radio or Radio(), **options).axes


def words(axes):
    return [text.get_text() for text in axes.texts]


def test_every_bar_is_as_high_as_its_clarity_and_stands_where_its_dial_stood():
    answer = whole_dial()
    parts = by_gid(drawn(answer)[1])
    shown = [i for i, one in enumerate(answer.stops) if one.clarity is not None]
    assert len(shown) == 205
    assert {f"stop-{i}" for i in shown} == {gid for gid in parts if gid.startswith("stop-")}
    for i in shown:
        bar = parts[f"stop-{i}"]
        assert (bar.get_y(), bar.get_height()) == (0, answer.stops[i].clarity)
        middle_mhz = bar.get_x() + bar.get_width() / 2
        assert middle_mhz == pytest.approx(answer.stops[i].dial_mhz, abs=1e-9, rel=0)


def test_a_stop_that_told_nothing_has_its_box_and_no_bar():
    answer = whole_dial()
    parts = by_gid(drawn(answer)[1])
    silent = [i for i, one in enumerate(answer.stops) if one.heard in ("muted", "spoiled")]
    assert len(silent) == 2
    for i, one in enumerate(answer.stops):
        box = parts[f"box-{i}"]
        assert box.get_y() + box.get_height() < 0
        assert box.get_hatch() == ("" if one.console == "off" else LOOKS[one.heard][1])
    assert not {f"stop-{i}" for i in silent} & set(parts)


def test_with_the_console_off_a_bar_is_hollow_slimmer_and_in_front():
    answer = whole_dial()
    parts = by_gid(drawn(answer)[1])
    on, off = parts[f"stop-{WALK.index(95.7)}"], parts[f"stop-{len(WALK)}"]
    assert off.get_facecolor() == (1, 1, 1, 1)
    assert off.get_width() == pytest.approx(on.get_width() / 2)
    assert off.get_zorder() > on.get_zorder()


def test_looks_differ_in_grey_as_well():
    """Those that share a hatch differ in luminance (Rec. 709 weights) by a quarter at least."""
    looks = list(LOOKS.values())
    for i, (face, hatch) in enumerate(looks):
        for other, other_hatch in looks[:i]:
            if hatch == other_hatch:
                assert abs(grey(face) - grey(other)) > 0.25


def grey(face):
    red, green, blue = (int(face[n : n + 2], 16) / 255 for n in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_brackets_join_the_published_carriers():
    """us-air: 47 CFR 73.603(a) and 73.682(a); the others as their plans are commonly printed."""
    published = {
        "us-air:6": (83.25, 87.75),
        "jp-air:1": (91.25, 95.75),
        "au-air:5": (102.25, 107.75),
    }
    above = by_gid(drawn(whole_dial(), plans=("us-air", "jp-air", "au-air"))[0])
    for name, (picture_mhz, sound_mhz) in published.items():
        assert list(above[name].get_xdata()) == [picture_mhz, picture_mhz, sound_mhz, sound_mhz]
        assert list(above[f"{name} picture"].get_xdata()) == [picture_mhz]
        assert list(above[f"{name} sound"].get_xdata()) == [sound_mhz]
        assert above[f"{name} picture"].get_marker() != above[f"{name} sound"].get_marker()


def test_what_fits_is_set_off():
    above = by_gid(drawn(whole_dial())[0])
    fits, others = above["jp-air:1"], above["jp-air:2"]
    assert fits.get_linewidth() > 1.5 * others.get_linewidth()
    assert fits.get_color() != others.get_color()
    assert {"1  fits", "95  fits", "2", "3"} <= set(words(drawn(whole_dial())[0]))


def test_fitting_plans_lie_next_to_the_strip_and_the_rest_is_counted():
    answer = whole_dial()
    rows, more = rows_of(answer, window_mhz(answer, Radio()))
    assert [row.plan for row in rows[:2]] == ["jp-air", "us-cable-std"]
    seen = {
        c.plan
        for c in channels()
        if c.sound == "FM" and (87.5 <= c.sound_mhz <= 108 or 87.5 <= c.picture_mhz <= 108)
    }
    assert len(rows) == MOST_ROWS
    assert len(rows) + more == len(seen)
    assert f"({more} more plans are on this dial)" in " ".join(words(drawn(answer)[0]))


def test_brackets_of_one_plan_never_overlap_on_a_level():
    answer = not_found([stop(80.0)])
    for plan in {channel.plan for channel in channels()}:
        for row in rows_of(answer, (40.0, 300.0), (plan,))[0]:
            for level in range(row.levels):
                pairs = sorted(
                    sorted((b.channel.picture_mhz, b.channel.sound_mhz))
                    for b in row.brackets
                    if b.level == level
                )
                assert all(a[1] < b[0] for a, b in pairwise(pairs)), plan


def test_curve_interval_and_carriers_stand_where_the_answer_says():
    answer = whole_dial()
    above, strip, close_up = drawn(answer)
    for axes in (strip, close_up):
        fit = by_gid(axes)["fit"]
        assert tuple(fit.get_xdata()) == answer.fit.curve_dial_mhz
        assert tuple(fit.get_ydata()) == answer.fit.curve_clarity
    for axes, gid in (
        (above, "interval above"),
        (strip, "interval"),
        (close_up, "interval close up"),
    ):
        span = by_gid(axes)[gid]
        edges = (span.get_x(), span.get_x() + span.get_width())
        assert edges == pytest.approx(answer.interval_95_mhz, abs=1e-9, rel=0)
    lines = [line.get_xdata()[0] for line in strip.lines if len(line.get_xdata()) == 2]
    assert {answer.sound_carrier_mhz, answer.picture_carrier_mhz} <= set(lines)
    others = [line for line in strip.lines if line.get_gid() == "other"]
    assert len(others) == 2
    for line, mhz in zip(others, (88.6, 91.2), strict=True):  # its three stops, and 0.1 MHz
        assert (min(line.get_xdata()), max(line.get_xdata())) == pytest.approx(
            (mhz - 0.2, mhz + 0.2), abs=0.05
        )
    assert "sound carrier 95.741" in words(strip)
    assert "picture carrier 91.241, implied" in words(strip)


def test_the_close_up_stands_where_the_dial_heard_it_even_an_image():
    answer = whole_dial()
    moved = tuple(mhz + 10.7 for mhz in answer.fit.curve_dial_mhz)
    image = replace(answer, heard_as="image", fit=replace(answer.fit, curve_dial_mhz=moved))
    for shown, heard_mhz in ((answer, 95.741), (image, 95.741 + 10.7)):
        left_mhz, right_mhz = drawn(shown)[2].get_xlim()
        assert (left_mhz + right_mhz) / 2 == pytest.approx(heard_mhz, abs=1e-6, rel=0)


def test_what_was_not_found_has_no_interval_and_no_curve_of_its_own():
    answer, radio = CASES["not found"]
    axes = drawn(answer, radio)
    assert len(axes) == 2
    assert not {"fit", "interval"} & set(by_gid(axes[1]))
    said = strip_figure(answer, radio).texts
    assert any(text.get_text().startswith("Not found.") for text in said)
    assert all(text.get_text().count("\n") < 3 for text in said)


def test_the_clarity_axis_is_numbered_from_0_to_100():
    strip = drawn(whole_dial())[1]
    assert list(strip.get_yticks()) == [0, 25, 50, 75, 100]
    assert strip.get_ylabel() == "clarity"
    assert strip.get_xlabel() == "dial, MHz"


@pytest.mark.parametrize("case", CASES)
def test_each_kind_of_answer_is_drawn_on_the_whole_of_its_dial(case, tmp_path):
    answer, radio = CASES[case]
    left_mhz, right_mhz = drawn(answer, radio)[1].get_xlim()
    dial = [one.dial_mhz for one in answer.stops]
    assert left_mhz < min(*dial, *radio.band_mhz) < max(*dial, *radio.band_mhz) < right_mhz
    dial_strip(answer, radio, tmp_path / "strip.png")
    data = (tmp_path / "strip.png").read_bytes()
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    assert int.from_bytes(data[16:20]) == 1375  # pixels across: the IHDR chunk of the PNG standard


def test_bars_of_neighbours_do_not_touch_whatever_the_steps():
    stops = [stop(mhz) for mhz in (95.0, 95.2, 95.4, 95.5, 95.55, 95.6, 96.6)]
    answer = not_found(stops)
    widths_mhz = bar_widths_mhz(answer, (94.9, 96.7))
    for a, b, wide_a, wide_b in zip(stops, stops[1:], widths_mhz, widths_mhz[1:], strict=False):
        assert (wide_a + wide_b) / 2 < b.dial_mhz - a.dial_mhz
    assert max(widths_mhz) < 0.2


@pytest.mark.parametrize("low_mhz", [86.0, 88.0, 91.0, 95.0])
def test_words_beside_the_carriers_never_overlap(low_mhz):
    for wide_mhz in (6.0, 10.0, 20.0):
        answer = found(NEAR, 95.741, "jp-air:1", picture_mhz=91.241)
        placed = carrier_words(answer, (low_mhz, low_mhz + wide_mhz))
        assert {words.split()[0] for _, words, _, _ in placed} == {
            name
            for name, mhz in (("sound", 95.741), ("picture", 91.241))
            if low_mhz <= mhz <= low_mhz + wide_mhz
        }
        if len(placed) == 2:
            (sound, _, side, level), (picture, _, other_side, other_level) = placed
            assert picture < sound
            assert (
                level != other_level
                or (side, other_side) == ("right", "left")
                or (sound - picture > 0.3 * wide_mhz)
            )


@pytest.mark.parametrize("case", CASES)
def test_no_words_overlap_and_none_leave_the_drawing(case):
    figure = strip_figure(*CASES[case], title="A sweep with a name of some length, 2")
    renderer = FigureCanvasAgg(figure).get_renderer()
    figure.draw(renderer)
    unseen = set()
    for axes in figure.axes:
        for axis, place in ((axes.xaxis, 0), (axes.yaxis, 1)):
            low, high = axis.get_view_interval()
            for label in axis.get_ticklabels(which="both"):
                if not axes.axison or not low <= label.get_position()[place] <= high:
                    unseen.add(label)
    boxes = {
        text: text.get_window_extent(renderer)
        for text in set(figure.findobj(Text)) - unseen
        if text.get_text() and text.get_visible()
    }
    assert len(boxes) > 20
    for one, box in boxes.items():
        assert figure.bbox.x0 <= box.x0 < box.x1 <= figure.bbox.x1, one
        assert figure.bbox.y0 <= box.y0 < box.y1 <= figure.bbox.y1, one
    for one, other in combinations(boxes, 2):
        assert not boxes[one].padded(-0.5).overlaps(boxes[other].padded(-0.5)), (one, other)


def test_a_figure_is_the_same_at_every_making(tmp_path):
    answer = whole_dial()
    for name in ("a", "b"):
        dial_strip(answer, Radio(), [tmp_path / f"{name}.svg", tmp_path / f"{name}.png"])
    for kind in ("svg", "png"):
        assert (tmp_path / f"a.{kind}").read_bytes() == (tmp_path / f"b.{kind}").read_bytes()
    assert b"<dc:date>" not in (tmp_path / "a.svg").read_bytes()


def test_the_svg_holds_the_words_as_words_and_a_shape_a_stop(tmp_path):
    answer = whole_dial()
    dial_strip(answer, Radio(), str(tmp_path / "strip.svg"), title="My $sweep_1$ & <more>")
    root = ElementTree.parse(tmp_path / "strip.svg").getroot()
    said = " ".join("".join(element.itertext()) for element in root.iter() if "text" in element.tag)
    assert "My $sweep_1$ & <more>" in said
    assert "Sound carrier on 95.741 MHz (95 %: 95.721 to 95.761)" in re.sub(r"\s+", " ", said)
    names = {element.get("id") for element in root.iter()}
    assert {f"box-{i}" for i in range(len(answer.stops))} <= names


def test_a_title_in_any_script_is_drawn_without_a_word(tmp_path, capfd):
    dial_strip(whole_dial(), Radio(), tmp_path / "strip.png", title="掃引 1")
    assert capfd.readouterr() == ("", "")


def test_the_users_own_settings_change_nothing(tmp_path):
    import matplotlib

    answer = CASES["three stops"][0]
    dial_strip(answer, Radio(), tmp_path / "a.png")
    with matplotlib.rc_context({"lines.linewidth": 9, "font.size": 30, "axes.grid": True}):
        dial_strip(answer, Radio(), tmp_path / "b.png")
        assert matplotlib.rcParams["font.size"] == 30
    assert (tmp_path / "a.png").read_bytes() == (tmp_path / "b.png").read_bytes()


@pytest.mark.parametrize("name", ["strip.jpg", "strip", "001-095.70-on.flac"])
def test_another_ending_is_refused_before_anything_is_touched(name, tmp_path):
    with pytest.raises(CannotWrite, match=re.escape(f"named {name} was asked for")):
        dial_strip(whole_dial(), Radio(), [tmp_path / "strip.png", tmp_path / name])
    assert list(tmp_path.iterdir()) == []


def test_a_place_that_cannot_be_written_is_named(tmp_path):
    with pytest.raises(CannotWrite, match=r"cannot be written to .*nowhere.*name another place"):
        dial_strip(replace(whole_dial(), others=()), Radio(), tmp_path / "nowhere" / "strip.png")


def test_without_a_font_cache_nothing_reaches_the_error_stream(tmp_path):
    made = "from making_answers import *\nfrom listen.picture import dial_strip\n"
    made += "from listen.radio import Radio\n"
    made += "answer = found([stop(95.7, 'console', 97)], 95.7)\n"
    made += f"dial_strip(answer, Radio(), {str(tmp_path / 'a.png')!r})"
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", made],
        env={
            "PATH": "",
            "PYTHONPATH": f"{HOME}:{HOME / 'tests'}",
            "MPLCONFIGDIR": str(tmp_path / "m"),
        },
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    assert (tmp_path / "a.png").stat().st_size > 10_000


def test_the_names_of_channels_drawn_are_those_of_the_tables():
    above = by_gid(drawn(whole_dial())[0])
    names = [gid for gid in above if " " not in gid]
    assert len(names) > 10
    assert all(by_name(name).sound == "FM" for name in names)


def test_a_find_that_fits_no_channel_says_why_in_the_drawing_too():
    why = "no channel of the plans asked for (oirt-dk) has its sound there"
    answer = replace(found([stop(100.8, "console", 95)], 100.8), no_channel=why)
    assert words_of(answer)[0].endswith("Fits no channel.")
    assert words_of(answer)[1:] == [
        "No channel of the plans asked for (oirt-dk) has its sound there."
    ]
    assert words_of(found([stop(100.8, "console", 95)], 100.8, "au-air:4"))[0].endswith(
        "Fits au-air:4."
    )


def test_a_curve_that_rests_on_one_stop_is_not_drawn():
    answer = replace(whole_dial(), others=(fit_at(88.61, stops=(11,)),))
    assert "other" not in by_gid(drawn(answer)[1])


def test_of_a_picture_s_curve_only_what_it_claims_is_drawn():
    """It is a box on a floor of half a clarity, where it says nothing; stops of hiss lie there."""
    dial_mhz = tuple(round(90.7 + 0.01 * n, 2) for n in range(101))
    clarity = tuple(98.0 if 91.1 <= mhz <= 91.3 else 50.0 for mhz in dial_mhz)
    near = tuple(i for i, mhz in enumerate(WALK) if abs(mhz - 91.2) < 0.32)
    box = replace(fit_at(91.2, stops=near), curve_dial_mhz=dial_mhz, curve_clarity=clarity)
    (line,) = [
        one
        for one in drawn(replace(whole_dial(), others=(box,)))[1].lines
        if one.get_gid() == "other"
    ]
    assert set(line.get_ydata()) == {98.0}
    assert (min(line.get_xdata()), max(line.get_xdata())) == (91.1, 91.3)


def test_the_consoles_mirror_is_not_labelled_as_if_it_were_a_second_console():
    answer = whole_dial()
    stops = [
        replace(one, heard="console", clarity=99.0) if one.dial_mhz in (91.1, 91.2) else one
        for one in answer.stops
    ]
    fitted = tuple(i for i, mhz in enumerate(WALK) if abs(mhz - 95.7) < 0.25)
    answer = replace(answer, stops=tuple(stops), fit=replace(answer.fit, stops=fitted))
    said = [word for word in words(drawn(answer)[1]) if word in ("console", "its mirror")]
    assert sorted(said) == ["console", "its mirror"]


def test_a_channel_whose_sound_alone_fits_says_why_it_does_not():
    """au-air:5 and jp-air:3 share a sound carrier, 107.75; their pictures are 1 MHz apart."""
    stops = (stop(107.7, "console", 97), stop(107.8, "console", 96), stop(107.9, "hiss", 2))
    answer = found(stops, 107.75, "au-air:5", picture_mhz=102.25)
    notes = {
        bracket.channel.name: bracket.note
        for row in rows_of(replace(answer, picture_basis="measured"), (87.5, 108.0))[0]
        for bracket in row.brackets
    }
    assert notes["au-air:5"] == "fits"
    assert notes["jp-air:3"] == notes["us-cable-std:97"] == "its picture is elsewhere"
    assert notes["jp-air:2"] == ""
    implied = rows_of(answer, (87.5, 108.0))[0]
    assert {b.note for row in implied for b in row.brackets} == {"fits", ""}
