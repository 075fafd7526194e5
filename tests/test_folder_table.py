"""stops.csv as people and spreadsheets save it, and the refusals that show the row.

The forms are common practice of spreadsheet programs: RFC 4180 commas and quotes; semicolons
with decimal commas where the country writes those; "Unicode text" as UTF-16 with tabs.
"""

from datetime import UTC, datetime

import pytest
from making_folders import hand_made

from listen.errors import BadFolder, CannotRead
from listen.folder import read_folder

PLAIN = """file,dial_mhz,console,start_s,end_s,at,aerial
a.wav,95.75,on,0.1,0.4,,whip
b.wav,100.7,off,,,,
"""
SEMICOLONS = """file;dial_mhz;console;start_s;end_s;at;aerial
a.wav;95,75;on;0,1;0,4;;whip
b.wav;100,7;off;;;;
"""
OTHER_ORDER = """console,aerial,dial_mhz,end_s,start_s,file
on,whip,95.75,.4,0.1,a.wav
off,,100.7,,,b.wav
"""
SAVED = {
    "plain": PLAIN.encode(),
    "byte-order mark": b"\xef\xbb\xbf" + PLAIN.encode(),
    "UTF-16 little, marked": b"\xff\xfe" + PLAIN.encode("utf-16-le"),
    "UTF-16 big, marked": b"\xfe\xff" + PLAIN.encode("utf-16-be"),
    "UTF-16 little, unmarked": PLAIN.encode("utf-16-le"),
    "UTF-16 big, unmarked": PLAIN.encode("utf-16-be"),
    "UTF-16 with tabs": PLAIN.replace(",", "\t").encode("utf-16"),
    "UTF-32": PLAIN.encode("utf-32"),
    "semicolons": SEMICOLONS.encode(),
    "semicolons in UTF-16": SEMICOLONS.encode("utf-16"),
    "separator named first": b"sep=;\r\n" + SEMICOLONS.replace("\n", "\r\n").encode(),
    "tabs, decimal commas": SEMICOLONS.replace(";", "\t").encode(),
    "quoted decimal commas": PLAIN.replace("95.75", '"95,75"').replace("0.4", '"0,4"').encode(),
    "all quoted": "\n".join(
        ",".join(f'"{cell}"' for cell in line.split(",")) for line in PLAIN.splitlines()
    ).encode(),
    "CR": PLAIN.replace("\n", "\r").encode(),
    "CRLF": PLAIN.replace("\n", "\r\n").encode(),
    "no last line end": PLAIN.rstrip("\n").encode(),
    "blank lines": b"\n\n" + PLAIN.replace("\n", "\n\n,,,\n\n").encode(),
    "spaces": PLAIN.replace(",", " , ").encode(),
    "names in capitals": PLAIN.replace(
        "file,dial_mhz,console", "FILE,Dial (MHz), Console "
    ).encode(),
    "words in capitals": PLAIN.replace(",on,", ",On,").replace(",off,", ",OFF,").encode(),
    "units": PLAIN.replace("95.75", "95.75 MHz").replace("0.4", "0.4 s").encode(),
    "other order": OTHER_ORDER.encode(),
    "padded by a power cut": PLAIN.encode() + b"\0" * 500,
}


@pytest.mark.parametrize("data", SAVED.values(), ids=SAVED.keys())
def test_every_way_to_save_the_table_reads_the_same(tmp_path, data):
    sweep = read_folder(hand_made(tmp_path, data, "a.wav", "b.wav"))
    assert [(s.file, s.dial_mhz, s.console, s.start_s, s.end_s) for s in sweep.stops] == [
        ("a.wav", 95.75, "on", 0.1, 0.4),
        ("b.wav", 100.7, "off", 0.0, None),
    ]
    assert sweep.stops[0].extra["aerial"] == "whip"
    assert [clip.samples.shape for clip in sweep.clips()] == [(2400, 1), (4000, 1)]
    assert [w for w in sweep.warnings if "assumed" not in w] == []


def test_two_columns_are_enough_and_the_console_is_on(tmp_path):
    (stop,) = read_folder(hand_made(tmp_path)).stops
    assert (stop.console, stop.start_s, stop.end_s, stop.at, dict(stop.extra)) == (
        "on",
        0.0,
        None,
        None,
        {},
    )


def test_an_empty_console_cell_is_on(tmp_path):
    (stop,) = read_folder(hand_made(tmp_path, "file,dial_mhz,console\na.wav,95.75,\n")).stops
    assert stop.console == "on"


def test_the_order_of_the_walk_is_kept_and_a_dial_may_be_visited_again(tmp_path):
    table = "file,dial_mhz\nb.wav,95.75\na.wav,88\nc.wav,95.75\n"
    sweep = read_folder(hand_made(tmp_path, table, "a.wav", "b.wav", "c.wav"))
    assert [(s.row, s.file, s.dial_mhz) for s in sweep.stops] == [
        (2, "b.wav", 95.75),
        (3, "a.wav", 88.0),
        (4, "c.wav", 95.75),
    ]
    assert [w for w in sweep.warnings if "assumed" not in w] == []


def test_rows_are_numbered_as_a_spreadsheet_shows_them(tmp_path):
    table = "\nfile,dial_mhz\n\na.wav,95.75\n\nb.wav,9575\n"
    with pytest.raises(BadFolder, match=r"row 6 of stops\.csv \(b\.wav,9575\)"):
        read_folder(hand_made(tmp_path, table))


def test_letters_of_an_old_code_page_are_read_with_a_warning(tmp_path):
    table = "file,dial_mhz,note\na.wav,95.75,café 5 µV\n".encode("cp1252")
    sweep = read_folder(hand_made(tmp_path, table))
    assert sweep.stops[0].extra["note"] == "café 5 µV"
    assert any("stops.csv is not UTF-8" in warning for warning in sweep.warnings)


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("2026-05-01T14:30:00", datetime(2026, 5, 1, 14, 30)),
        ("2026-05-01 14:30", datetime(2026, 5, 1, 14, 30)),
        ("2026-05-01T14:30:00.25Z", datetime(2026, 5, 1, 14, 30, 0, 250_000, tzinfo=UTC)),
    ],
)
def test_times_are_read(tmp_path, text, at):
    (stop,) = read_folder(hand_made(tmp_path, f"file,dial_mhz,at\na.wav,95.75,{text}\n")).stops
    assert stop.at == at
    assert next(read_folder(tmp_path).clips()).at == at


def test_times_that_cannot_be_read_are_one_warning(tmp_path):
    table = "file,dial_mhz,at\na.wav,88,1.5.26\nb.wav,89,noon\nc.wav,90,2026-05-01T14:30\n"
    sweep = read_folder(hand_made(tmp_path, table, "a.wav", "b.wav", "c.wav"))
    assert [s.at is None for s in sweep.stops] == [True, True, False]
    (warning,) = [w for w in sweep.warnings if "time" in w]
    assert warning.startswith("The time in row 2 and 3 of stops.csv is not in the form")


def test_times_with_and_without_an_offset_are_not_mixed(tmp_path):
    table = "file,dial_mhz,at\na.wav,88,2026-05-01T14:30\nb.wav,89,2026-05-01T14:30Z\n"
    sweep = read_folder(hand_made(tmp_path, table, "a.wav", "b.wav"))
    assert [s.at is None for s in sweep.stops] == [True, False]
    assert any("row 2 of stops.csv has no offset from UTC" in w for w in sweep.warnings)


def test_a_recording_listed_twice_is_kept_and_said(tmp_path):
    sweep = read_folder(hand_made(tmp_path, "file,dial_mhz\na.wav,88\na.wav,88\na.wav,89\n"))
    assert len(sweep.stops) == 3
    assert any("rows 2, 3 and 4 list one recording as different" in w for w in sweep.warnings)
    same = read_folder(hand_made(tmp_path, "file,dial_mhz\na.wav,88\na.wav,88\n"))
    assert any("rows 2 and 3 list one recording more than once" in w for w in same.warnings)


def test_parts_of_one_recording_are_no_duplicates(tmp_path):
    table = "file,dial_mhz,start_s,end_s\na.wav,88,0,0.2\na.wav,89,0.2,0.4\n"
    sweep = read_folder(hand_made(tmp_path, table))
    assert not any("one recording" in w for w in sweep.warnings)


BAD = {
    "a dial in kHz": ("a.wav,95750", r"'95750' under dial_mhz, .* \(did you mean 95\.75\?\)"),
    "a dial without its point": ("a.wav,9575", r"did you mean 95\.75\?"),
    "a dial in Hz": ("a.wav,95750000", r"did you mean 95\.75\?"),
    "a dial ten times too high": ("a.wav,1007", r"did you mean 100\.7\?"),
    "a dial in GHz": ("a.wav,0.09575", r"did you mean 95\.75\?"),
    "a dial of none": ("a.wav,", "nothing under dial_mhz"),
    "a dial in words": ("a.wav,ninety", r"'ninety' under dial_mhz, which is no frequency"),
    "a dial below any": ("a.wav,-95.75", "no frequency of an FM dial"),
    "a dial of nan": ("a.wav,nan", "no frequency of an FM dial"),
    "a dial of infinity": ("a.wav,inf", "no frequency of an FM dial"),
    "a dial above any": ("a.wav,471.25", r"no frequency .* such as 95\.75$"),
    "a parent folder": ("../a.wav,95.75", "names a file outside of the folder"),
    "a parent further in": ("x/../../a.wav,95.75", "outside of the folder"),
    "an absolute name": ("/etc/a.wav,95.75", "outside of the folder"),
    "a drive": ("C:a.wav,95.75", "outside of the folder"),
    "backslashes": ("..\\a.wav,95.75", "outside of the folder"),
    "a shared drive": ("\\\\host\\a.wav,95.75", "copy the recording into the folder"),
    "an unquoted decimal comma": ("a.wav,95,75,on,", r'more cells .* in quotes \("95,75"\)'),
    "console yes": ("a.wav,95.75,yes", "says 'yes' under console: write on or off"),
    "console 1": ("a.wav,95.75,1", "says '1' under console"),
}


@pytest.mark.parametrize(("row", "says"), BAD.values(), ids=BAD.keys())
def test_what_is_wrong_with_a_row_is_said_with_the_row(tmp_path, row, says):
    table = f"file,dial_mhz,console\nb.wav,88,on\n{row}\n"
    with pytest.raises(BadFolder, match=says) as refused:
        read_folder(hand_made(tmp_path, table, "a.wav", "b.wav"))
    assert f"row 3 of stops.csv ({row.rstrip(',')})" in str(refused.value)


@pytest.mark.parametrize(
    ("header", "says"),
    [
        ("file,freq", r"no column named dial_mhz: rename freq to dial_mhz"),
        ("Recording,dial_mhz", r"no column named file: rename Recording to file"),
        ("x,y", r"no column named file in its first row, only x and y"),
        ("file,dial_mhz,DIAL (MHz)", "2 columns named dial_mhz: keep one"),
    ],
)
def test_columns_that_are_missing_are_named_with_what_came(tmp_path, header, says):
    with pytest.raises(BadFolder, match=says):
        read_folder(hand_made(tmp_path, f"{header}\na.wav,95.75\n"))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "stops.csv is empty"),
        (b"\n \n,,\n", "stops.csv is empty"),
        (b"\xff\xfe", "stops.csv is empty"),
        (b"file,dial_mhz\n", "lists no stop"),
        (b"file,dial_mhz\n,\n\n", "lists no stop"),
        (b"PK\x03\x04rest", "a spreadsheet program's own file"),
        (b"fLaC\0\0\0\x22", "not text but a sound file"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "is not text"),
        (b'file,dial_mhz\n"a.wav,88\nb.wav,89\n', "quotation mark that is never closed, in row 2"),
        (b"\xff\xfefile\n", "is broken as UTF-16-LE"),
    ],
)
def test_what_is_no_table_is_refused_in_words(tmp_path, data, says):
    with pytest.raises(BadFolder, match=says):
        read_folder(hand_made(tmp_path, data))


def test_a_quoted_cell_may_hold_anything(tmp_path):
    table = 'file,dial_mhz,note\n"a.wav" ,"95.75" , "one, ""two""\nthree"\nb.wav,96,5" whip\n'
    sweep = read_folder(hand_made(tmp_path, table, "a.wav", "b.wav"))
    assert [s.dial_mhz for s in sweep.stops] == [95.75, 96.0]
    assert sweep.stops[0].extra["note"] == 'one, "two"\nthree'
    assert sweep.stops[1].extra["note"] == '5" whip'


@pytest.mark.parametrize("name", ["Stops.CSV", "STOPS.csv"])
def test_the_table_may_be_named_in_capitals(tmp_path, name):
    (hand_made(tmp_path) / "stops.csv").rename(tmp_path / name)
    assert len(read_folder(tmp_path).stops) == 1


def test_two_tables_that_differ_in_capitals_are_refused(tmp_path):
    (hand_made(tmp_path) / "stops.csv").rename(tmp_path / "Stops.csv")
    (tmp_path / "STOPS.CSV").write_text("file,dial_mhz\n")
    with pytest.raises(BadFolder, match=r"holds STOPS.CSV and Stops.csv: keep one"):
        read_folder(tmp_path)


@pytest.mark.parametrize(
    "name", ["stops.txt", "stops.csv.csv", "stops.xlsx", "stop.csv", "Stops.ods"]
)
def test_a_table_under_another_name_is_pointed_out(tmp_path, name):
    (hand_made(tmp_path) / "stops.csv").rename(tmp_path / name)
    with pytest.raises(BadFolder, match=f"has no stops.csv, but it has {name}: save that table"):
        read_folder(tmp_path)


def test_a_folder_without_a_table_says_what_it_holds(tmp_path):
    (hand_made(tmp_path) / "stops.csv").unlink()
    with pytest.raises(BadFolder, match=r"has no stops\.csv, only a\.wav: write one"):
        read_folder(tmp_path)


def test_a_folder_of_sweeps_points_at_one_of_them(tmp_path):
    for name in ("after", "before"):
        (tmp_path / name).mkdir()
        hand_made(tmp_path / name)
    with pytest.raises(BadFolder) as refused:
        read_folder(tmp_path)
    assert str(refused.value) == (
        f"{tmp_path} has no stops.csv, but after and before in it have one: name such a folder, "
        f"{tmp_path / 'after'}"
    )


def test_no_folder_an_empty_one_and_a_file_are_told_apart(tmp_path):
    with pytest.raises(CannotRead, match=r"there is no folder .*nowhere"):
        read_folder(tmp_path / "nowhere")
    with pytest.raises(BadFolder, match="holds nothing"):
        read_folder(tmp_path)
    (tmp_path / "one.wav").write_bytes(b"RIFF")
    with pytest.raises(CannotRead, match=r"one\.wav is a file, not a folder"):
        read_folder(tmp_path / "one.wav")
    (tmp_path / "stops.csv").mkdir()
    with pytest.raises(CannotRead, match=r"stops.csv: that is no file"):
        read_folder(tmp_path)


def test_a_folder_whose_name_was_nearly_right_is_named(tmp_path):
    (tmp_path / "samples" / "before").mkdir(parents=True)
    with pytest.raises(CannotRead, match=r"did you mean .*samples.before\?"):
        read_folder(tmp_path / "sample" / "before")
    with pytest.raises(CannotRead, match=r"did you mean .*before\?"):
        read_folder(tmp_path / "samples" / "befor")
    with pytest.raises(CannotRead, match=r"check the name, or make a sweep first"):
        read_folder(tmp_path / "sample" / "after")


def test_a_link_out_of_the_folder_is_refused_and_one_inside_is_followed(tmp_path):
    folder = hand_made(tmp_path / "sweep", "file,dial_mhz\na.wav,88\nlink.wav,89\n")
    (folder / "link.wav").symlink_to("a.wav")
    assert [clip.spoiled for clip in read_folder(folder).clips()] == ["", ""]
    (folder / "link.wav").unlink()
    (tmp_path / "outside.wav").write_bytes(b"")
    (folder / "link.wav").symlink_to(tmp_path / "outside.wav")
    with pytest.raises(
        BadFolder, match=r"row 3 of stops.csv names link.wav, a link that leads out"
    ):
        read_folder(folder)


@pytest.mark.parametrize("end", ["", "\n"])
@pytest.mark.parametrize(
    ("header", "row"),
    [("file,dial_mhz,console", "a.wav,95.75"), ("file,dial_mhz,at,console", "a.wav,95.75,,")],
)
def test_a_last_row_that_may_be_whole_is_kept(tmp_path, header, row, end):
    (stop,) = read_folder(hand_made(tmp_path, f"{header}\n{row}{end}")).stops
    assert (stop.file, stop.dial_mhz, stop.console) == ("a.wav", 95.75, "on")


def test_a_short_row_with_a_line_end_is_whole_in_a_live_table_too(tmp_path):
    (stop,) = read_folder(hand_made(tmp_path, "file,dial_mhz,console,at\na.wav,95.75\n")).stops
    assert stop.dial_mhz == 95.75


def test_a_row_broken_off_in_a_live_table_is_left_out(tmp_path):
    whole = "file,dial_mhz,console,start_s,end_s,at\na.wav,95.75,on,,,2026-05-01T14:30:00Z\n"
    for cut in ["b", "b.wav", "b.wav,9", "b.wav,95.7", "b.wav,95.75,o", "b.wav,95.75,on,,"]:
        sweep = read_folder(hand_made(tmp_path, whole + cut, "a.wav"))
        assert [s.file for s in sweep.stops] == ["a.wav"], cut
        assert any("broke off while it was written" in w for w in sweep.warnings), cut
