"""Time marks of a take: every way a person may write one row, and what is refused in words."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listen.errors import BadFolder, CannotRead
from listen.folder.marks import read_marks, seconds_of, stops_from

TAKE_S = 200.0


def marks_of(folder, text):
    path = folder / "marks.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_marks(path)


def parts(folder, text, take_s=TAKE_S, **options):
    """Dial, start, end and console of each stop."""
    stops = stops_from(marks_of(folder, text), "take.wav", take_s, **options)
    return [(s.dial_mhz, s.start_s, s.end_s, s.console) for s in stops]


@given(st.integers(0, 99 * 3600 * 1000 - 1), st.sampled_from([".", ","]))
def test_a_time_in_hours_minutes_and_seconds_is_that_many_seconds(whole_ms, point):
    minutes, ms = divmod(whole_ms, 60_000)
    seconds = f"{ms // 1000:02d}{point}{ms % 1000:03d}"
    clock = f"{minutes // 60}:{minutes % 60:02d}:{seconds}"
    # Sums of whole minutes and parsed seconds: off by rounding in binary at most.
    assert seconds_of(clock) == pytest.approx(whole_ms / 1000, abs=1e-9)
    assert seconds_of(f"{minutes}:{seconds}") == pytest.approx(whole_ms / 1000, abs=1e-9)
    assert seconds_of(f"{whole_ms // 1000}{point}{whole_ms % 1000:03d} s") == whole_ms / 1000


ENDLESS = "9" * 5000  # more digits than a float holds, or int() takes


@pytest.mark.parametrize(
    "text",
    ["", "soon", "-3", "1:75", "1:60:00", "1:2:3:4", "1e3", "12 MHz", ENDLESS, f"{ENDLESS}:10"],
    ids=lambda text: text[:10],
)
def test_what_is_no_time_is_none(text):
    assert seconds_of(text) is None


SAME = [(95.5, 10.7, 28.0, "on"), (95.75, 30.7, 48.0, "on"), (95.75, 50.7, 200.0, "off")]
WAYS = {
    "commas": "10,95.5\n0:30,95.75\n50,95.75,off\n",
    "a header": "time,dial_mhz,console\n10,95.5,on\n30,95.75,\n0:00:50,95.75,off\n",
    "another order": "Console;Dial (MHz);Time (s)\n;95,5;10\non;95,75;30\noff;95,75;50\n",
    "semicolons and decimal commas": "10,0;95,5\n30,0;95,75\n50,0;95,75;off\n",
    "tabs and decimal commas": "10,0\t95,5\n0:30,0\t95,75\n50\t95,75\tOFF\n",
    "blanks": "0:10 95.5\n0:30   95.75 MHz\n0:50 95.75 off\n",
    "blanks and decimal commas": "0:10 95,5\n0:30 95,75\n0:50 95,75 off\n",
    "quoted decimal commas": '10,"95,5"\n30,"95,75"\n50,"95,75",off\n',
    "sep=": "sep=;\n10;95.5\n30;95.75\n50;95.75;off\n",
    "remarks and blank rows": "# my take\n\n10,95.5\n,,\n30,95.75\n50,95.75,off",
    "point labels": "10.0\t10.0\t95.5\n30.0\t30.0\t95.75 on\n50.0\t50.0\t95.75 off\n",
    "old line ends": "10,95.5\r30,95.75\r50,95.75,off\r",
}


@pytest.mark.parametrize("text", WAYS.values(), ids=WAYS)
def test_marks_are_read_however_they_are_written(tmp_path, text):
    assert parts(tmp_path, text) == SAME


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32"])
def test_marks_are_read_in_the_encodings_of_spreadsheets(tmp_path, encoding):
    assert parts(tmp_path, WAYS["semicolons and decimal commas"].encode(encoding)) == SAME


def test_a_mark_holds_until_the_dial_is_turned_and_the_last_one_to_the_end(tmp_path):
    text = "10,95.5\n30,95.75\n"
    assert parts(tmp_path, text, turning_s=3, settle_s=1) == [
        (95.5, 11.0, 27.0, "on"),
        (95.75, 31.0, 200.0, "on"),
    ]
    assert parts(tmp_path, text, take_s=None)[-1] == (95.75, 30.7, None, "on")


def test_rows_with_an_end_hold_for_just_that_part(tmp_path):
    text = "start,end,dial\n10,20,95.5\n20,,95.75\n40,200.3,96\n"
    assert parts(tmp_path, text) == [
        (95.5, 10.0, 20.0, "on"),
        (95.75, 20.7, 38.0, "on"),
        (96.0, 40.0, 200.0, "on"),  # written in whole seconds: to the take's end
    ]


def test_a_dash_says_that_nothing_is_used_from_there_on(tmp_path):
    assert parts(tmp_path, "10,95.5\n20,-\n30,95.75\n40,-\n") == [
        (95.5, 10.7, 18.0, "on"),
        (95.75, 30.7, 38.0, "on"),
    ]


def test_the_switch_is_as_asked_where_a_mark_does_not_say(tmp_path):
    text = "10,95.5\n30,95.75,on\n50,96,off\n"
    assert [p[3] for p in parts(tmp_path, text, console="off")] == ["off", "on", "off"]


def test_other_columns_are_kept(tmp_path):
    marks = marks_of(tmp_path, "time,dial,aerial,file\n10,95.5,whip in,x\n30,95.75,whip out,y\n")
    stops = stops_from(marks, "take.wav", TAKE_S)
    assert [dict(stop.extra) for stop in stops] == [{"aerial": "whip in"}, {"aerial": "whip out"}]
    assert {stop.file for stop in stops} == {"take.wav"}


REFUSED = {
    "no rows": ("time,dial\n", "holds no mark: write a row for each place of the dial"),
    "nothing": ("", "holds no mark"),
    "no dial column": ("time,note\n10,a\n", "names the columns time and note: it needs one named"),
    "one mark": ("10,95.5\n", r"marks 1 stop: a sweep needs two or more; mark more"),
    "only dashes": ("10,-\n20,-\n", r"marks 0 stops: a sweep needs two or more"),
    "a sentence": ("10,95.5\nthen I turned it\n", r"row 2 of marks.csv \(then I turned it\) is no"),
    "no time": ("10,95.5\nsoon,95.75\n", r"row 2 of marks.csv \(soon,95.75\) has .soon. for"),
    "75 seconds": ("10,95.5\n1:75,96\n", "has '1:75' for a time: write seconds, 75.5, or minutes"),
    "kHz": ("10,95500\n30,95750\n", r"which is no frequency of an FM dial.*did you mean 95.5\?"),
    "outside": ("10,95.5\n30,400\n", r"row 2 .* has '400' under dial_mhz, which is no frequency"),
    "console": ("time,dial,console\n10,95.5,maybe\n", "says 'maybe' of the console: write on or"),
    "not rising": ("30,95.5\n10,95.75\n", r"row 2 \(10,95.75\) .* lies at 10 s, not after .* 30 s"),
    "twice": ("10,95.5\n10,95.75\n", "lies at 10 s, not after the mark before it at 10 s"),
    "after the end": ("10,95.5\n200,96\n", r"row 2 \(200,96\) .* lies at 200 s, .* lasts 200.00 s"),
    "ends late": ("10,20,95.5\n30,201,96\n", "ends at 201 s, and the take lasts 200.00 s: correct"),
    "backwards": ("20,10,95.5\n30,40,96\n", r"row 1 .* ends at 10 s, before it starts: swap"),
    "overlap": ("10,40,95.5\n30,50,96\n", r"row 1 .* ends at 40 s, after the next one starts"),
    "bare decimal commas": ("10,95,75\n30,96,25\n", r"with decimal commas set semicolons between"),
    "too close": ("10,95.5\n13,96\n", r"leaves 0.30 s when 0.7 s after it and 2 s before the next"),
    "nothing left": ("10,95.5\n11,96\n", r"leaves 0.00 s when"),
    "at the very end": ("10,95.5\n199.2,96\n", r"leaves 0.10 s when 0.7 s after it are left out"),
    "a short part": ("10,10.2,95.5\n30,40,96\n", r"leaves 0.20 s: 0.5 s are needed, so"),
    "a spreadsheet": (b"PK\x03\x04rest", "is not text but a spreadsheet program's own file"),
    "a quote": ('10,"95.5\n30,96\n', "opens a quotation mark that is never closed"),
}


@pytest.mark.parametrize(("text", "says"), REFUSED.values(), ids=REFUSED)
def test_marks_that_cannot_be_are_refused_in_words(tmp_path, text, says):
    with pytest.raises(BadFolder, match=says):
        parts(tmp_path, text)


def test_marks_that_are_not_there_are_refused(tmp_path):
    with pytest.raises(CannotRead, match="there is no such file, so give the name"):
        read_marks(tmp_path / "none.csv")
