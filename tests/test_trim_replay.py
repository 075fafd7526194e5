"""`listen trim` from recordings, and what it refuses."""

import csv
import io
import itertools
import json
import re
from dataclasses import replace

import numpy as np
import pytest
import scipy.signal
import soundfile
from trim_person import CONSOLE, OPEN_MHZ, heard

from listen.channels import by_name
from listen.cli import main
from listen.commands.here import here_from
from listen.commands.meter_json import MeterJson
from listen.commands.prompts import Prompts
from listen.commands.trimreplay import replayed
from listen.errors import NoInput
from listen.folder import FolderWriter
from listen.simulate.bench import Bench, write_sweep
from listen.trim import route_to

# (dial, carrier, seconds): the ladder down, the goal, its sides, the picture.
WALK = (
    *((OPEN_MHZ, 101.2, 2.5), (101.1, 101.2, 2.0), (100.9, 101.2, 1.5), (100.9, 101.0, 1.5)),
    *((100.7, 101.0, 1.5), (100.7, 100.85, 1.0), (100.7, 100.74, 2.6), (100.6, 100.74, 2.6)),
    *((100.8, 100.74, 2.6), (100.5, 100.74, 2.6), (100.9, 100.74, 2.6), (95.2, 100.74, 2.6)),
)


@pytest.fixture(scope="module")
def take(tmp_path_factory):
    """A long recording of a trim, and the marks of when its dial was set."""
    home = tmp_path_factory.mktemp("take")
    parts, marks, at_s, stood = [], ["time,dial"], 0.0, None
    for dial_mhz, sound_mhz, lasts_s in WALK:
        if dial_mhz != stood:
            marks.append(f"{at_s:g},{dial_mhz:g}")
            stood = dial_mhz
        parts.append(heard(moved(sound_mhz), dial_mhz)[: round(lasts_s * 48_000)])
        at_s += lasts_s
    soundfile.write(home / "take.flac", np.concatenate(parts), 48_000)
    (home / "marks.csv").write_text("\n".join(marks) + "\n")
    return home


def moved(sound_mhz):
    return replace(CONSOLE, sound_mhz=sound_mhz)


def trim(*words):
    return main(["trim", *map(str, words)])


def test_a_long_take_is_guided_as_it_was_heard(take, capsys, tmp_path):
    log = tmp_path / "log.csv"
    words = ("--replay", take / "take.flac", "--marks", take / "marks.csv", "--log", log)
    assert trim("--to", "au-air:4", "--from", "101.2", *words) == 0
    said = capsys.readouterr().out
    order = ("open band's roar", "Heard on 101.1", "Heard on 100.9 MHz, after 101.1", "On target")
    places = [said.index(text) for text in order]
    assert places == sorted(places)
    left = float(re.search(r"On target: ([+-]\d+) kHz left", said)[1])
    assert left == pytest.approx(10, abs=18)  # 40 benches: 6 kHz rms, docs/trim.md
    assert "both carriers moved together" in said
    assert "\x1b" not in said
    assert said.splitlines()[-1].startswith("On target: ")
    assert "damaged" not in said
    assert not re.search(r"^ +[\d.]+ s  ", said, re.MULTILINE)  # the meter's lines
    with log.open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["at"] for row in rows} == {""}
    seconds = [float(row["t_s"]) for row in rows]
    assert seconds == sorted(seconds)
    told = [row["said"] for row in rows if row["said"]]
    assert told[0].startswith("Goal: ")
    assert "The dial was set to 100.9 MHz." in told
    (result,) = [row for row in rows if row["left_khz"]]
    assert result["said"].startswith("On target: ")
    assert float(result["left_low_khz"]) < 10 < float(result["left_high_khz"])


def test_with_json_each_line_is_an_event_and_the_last_the_result(take, capsys):
    words = ("--replay", take / "take.flac", "--marks", take / "marks.csv", "--json")
    assert trim("--to", "au-air:4", "--from", "101.2", *words) == 0
    events = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert {one["event"] for one in events} == {"say", "meter", "result"}
    last = events[-1]
    assert (last["event"], last["schema"], last["on_target"]) == ("result", "listen.trim/1", True)
    assert last["target"] == {"plan": "au-air", "channel": "4", "sound_mhz": 100.75}
    low, high = last["left_interval_95_khz"]
    assert low < 10 < high
    assert last["sound_carrier_mhz"] == pytest.approx(100.75 - last["left_khz"] / 1e3, abs=1e-4)
    texts = [one["text"] for one in events if one["event"] == "say"]
    assert any(text.startswith("On target: ") for text in texts)
    assert texts == [text.strip() for text in texts]  # no layout of the screen in them


def test_a_folder_is_replayed_and_nothing_in_it_changes(tmp_path, capsys):
    folder = tmp_path / "after"
    stops = (90.3, 100.5, 100.6, 100.7, 100.8, 100.9)
    write_sweep(Bench(console=moved(100.74), seed=104), folder, stops, dwell_s=2.0)
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert trim("--to", "au-air:4", "--wait", "--replay", folder) == 0
    said = capsys.readouterr().out
    assert "On target" in said
    assert "does not tell which trimmer was turned" in said
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_the_meter_s_lines_are_printed_on_request(take, capsys):
    words = ("--replay", take / "take.flac", "--marks", take / "marks.csv", "--meter")
    assert trim("--to", "au-air:4", "--from", "101.2", *words) == 0
    assert re.search(r"^ +[\d.]+ s  .*clarity", capsys.readouterr().out, re.MULTILINE)


def test_a_recording_that_breaks_off_is_said(take, tmp_path, capsys):
    """Cut in the middle of the file: what stands before is heard."""
    whole = (take / "take.flac").read_bytes()
    (tmp_path / "cut.flac").write_bytes(whole[: int(0.9 * len(whole))])
    words = ("--replay", tmp_path / "cut.flac", "--marks", take / "marks.csv")
    assert trim("--to", "au-air:4", "--from", "101.2", *words) in (0, 1)
    said = capsys.readouterr().out
    assert "Heard on 101.1" in said
    assert len(re.findall(r"cut.flac is cut short or damaged: of the .* up to [\d.]+ s", said)) == 1


def test_a_folder_at_a_low_rate_has_its_loudest_roar_for_a_yardstick(tmp_path):
    """Below 32,000 a second the highest band of the floors is not there."""
    from listen.commands.replay import folder_events

    writer = FolderWriter.create(tmp_path / "low")
    bench = Bench(console=moved(100.74), seed=104)
    for dial_mhz, gain in ((101.4, 0.25), (100.7, 1.0), (90.3, 1.0)):
        samples = bench.hear(dial_mhz, 2.0).samples
        low = scipy.signal.resample_poly(samples, 1, 2, axis=0).astype(np.float32)
        writer.add(np.float32(gain) * low, 24_000, dial_mhz, "on")
    rate_hz, events = folder_events(tmp_path / "low")
    first = list(itertools.takewhile(lambda one: not getattr(one, "dial_mhz", None), events))
    level = np.concatenate([one for one in first if isinstance(one, np.ndarray)]).std()
    assert rate_hz == 24_000
    roar = scipy.signal.resample_poly(bench.hear(90.3, 2.0).samples, 1, 2, axis=0)
    assert level == pytest.approx(roar.std(), rel=0.02)  # 101.4, turned down, has a quarter


def test_a_stop_of_a_folder_that_cannot_be_heard_is_said(tmp_path, capsys):
    folder = tmp_path / "after"
    stops = (90.3, 100.5, 100.6, 100.7, 100.8, 100.9, 101.0)
    write_sweep(Bench(console=moved(100.74), seed=104), folder, stops, dwell_s=1.0)
    last = sorted(folder.glob("*.flac"))[-1]
    last.write_bytes(b"")
    assert trim("--to", "au-air:4", "--wait", "--replay", folder) in (0, 1)
    assert "The stop on 101 MHz is not heard: " in capsys.readouterr().out


def test_a_take_that_ends_early_is_no_answer(take, tmp_path, capsys):
    samples, rate_hz = soundfile.read(take / "take.flac", stop=8 * 48_000)
    soundfile.write(tmp_path / "short.wav", samples, rate_hz)
    words = ("--replay", tmp_path / "short.wav", "--marks", take / "marks.csv")
    assert trim("--to", "au-air:4", "--from", "101.2", *words) == 1
    assert (
        capsys.readouterr()
        .out.splitlines()[-1]
        .startswith(
            "The recording never visits 100.6 and 100.8 MHz, the stops beside the goal's 100.7, so "
        )
    )


def test_a_take_that_never_comes_to_the_goal_says_so_at_its_end(take, tmp_path, capsys):
    samples, rate_hz = soundfile.read(take / "take.flac", stop=5 * 48_000)
    soundfile.write(tmp_path / "short.wav", samples, rate_hz)
    words = ("--replay", tmp_path / "short.wav", "--marks", take / "marks.csv")
    assert trim("--to", "au-air:4", "--from", "101.2", *words) == 1
    assert capsys.readouterr().out.splitlines()[-1] == (
        "The recording never visits 100.7 MHz, the stop of the goal: replay a sweep that was made "
        "after the trim."
    )


@pytest.mark.parametrize(
    ("stops", "says"),
    [
        ((101.1, 101.2, 101.3), "100.7 MHz, the stop of the goal: replay a sweep that was made"),
        ((100.6, 100.8), "100.7 MHz, the stop of the goal: replay a sweep that was made"),
        ((100.6, 100.7), "100.8 MHz, a stop beside the goal's 100.7, so what is left cannot"),
        ((100.7,), "100.6 and 100.8 MHz, the stops beside the goal's 100.7, so what is left"),
    ],
)
def test_a_folder_that_lacks_a_stop_is_refused_before_a_hand_is_told_anything(
    tmp_path, capsys, stops, says
):
    write_sweep(Bench(console=CONSOLE, seed=104), tmp_path / "a", (90.3, *stops), dwell_s=0.5)
    assert trim("--to", "au-air:4", "--from", "101.2", "--replay", tmp_path / "a") == 2
    came = capsys.readouterr()
    assert not re.search("turn|Goal:", came.out)
    assert re.match(rf"listen: the recording \S+a never visits {re.escape(says)}", came.err)
    assert came.err.count("\n") == 1


def test_a_folder_that_tells_what_the_first_of_two_trimmers_left_is_replayed(tmp_path):
    """The second one's stop, the goal's 100.7, is not in it; the first one ends on 101.3."""
    stops = (90.3, 101.3, 101.2, 101.4, 101.1, 101.0, 101.5)
    write_sweep(Bench(console=moved(101.24), seed=104), tmp_path / "a", stops, dwell_s=2.0)
    here = here_from(None, 103.0, None, None, tmp_path / "a")
    route = route_to(by_name("au-air:4"), here.radio, from_mhz=103.0, spacing_mhz=6.0)
    assert [leg.place.dial_mhz for leg in route.legs] == [101.3, 100.7]
    view = MeterJson(Prompts(False, None, io.StringIO()))
    guide = replayed(tmp_path / "a", None, route, here, 100.0, None, view)
    assert guide.left is not None
    assert guide.left.sound_mhz == pytest.approx(101.24, abs=0.03)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "where to was not said"),
        (["--to", "au-air:4"], r"nothing says where .* --from MHZ, or --wait"),
        (["--to", "us-air:3", "--wait"], r"65\.75 MHz cannot be heard on a dial from 87\.5"),
        (["--to", "au-air:4", "--wait", "--trimmer", "both"], "--trimmer both came"),
        (["--to", "au-air:4", "--wait", "--within", "0"], "--within 0 came"),
        (["--to", "au-air:4", "--wait", "--dwell", "0.1"], r"--dwell 0\.1 came"),
        (["--to", "au-air:4", "--wait", "--tune-with", "x"], "where the frequency goes"),
        (["--to", "au-air:4", "--wait", "--replay", __file__], "add --marks CSV"),
        (["--to", "au-air:4", "--wait", "--replay", "x.wav"], r"there is no recording x\.wav"),
        (["--to", "au-air:4", "--wait", "--open", "60"], r"--open 60 came: .* 87\.5 to 108"),
        (["--to", "au-air:4", "--wait", "--marks", "m.csv"], "--marks came without a recording"),
        (["no-folder", "--to", "au-air:4"], "there is no folder no-folder"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(words, says, capsys):
    assert trim(*words) == 2
    said = capsys.readouterr().err
    assert re.search(says, said)
    assert said.count("\n") == 1


@pytest.mark.parametrize(
    "idle",
    [
        ["--input", "mic"],
        ["--open", "90.3"],
        ["--dwell", "8"],
        ["--tune-with", "tune {hz}"],
        ["--sound"],
        ["--output", "desk"],
    ],
    ids=lambda words: words[0],
)
def test_an_option_that_changes_no_replay_is_refused(take, idle, capsys):
    """Alone, and beside another: the sentence names what came, and nothing else is done."""
    words = ("--to", "au-air:4", "--from", "101.2", "--replay", take / "take.flac")
    assert trim(*words, "--marks", take / "marks.csv", *idle) == 2
    came = capsys.readouterr()
    assert came.err.startswith(f"listen: {idle[0]} came with --replay and would change nothing: ")
    assert came.err.endswith("; leave it out\n")
    assert came.err.count("\n") == 1
    assert came.out == ""


def test_all_that_change_no_replay_are_named_and_the_others_are_not(take, capsys):
    words = ("--to", "au-air:4", "--from", "101.2", "--replay", take / "take.flac", "--bell")
    assert trim(*words, "--dwell", "8", "--within", "50", "--sound", "--input=1", "--meter") == 2
    said = capsys.readouterr().err
    assert said.startswith("listen: --input, --dwell and --sound came with --replay")
    assert said.endswith("; leave them out\n")


def test_a_replay_rings_where_it_says_something(take, capsys):
    words = ("--replay", take / "take.flac", "--marks", take / "marks.csv", "--bell")
    assert trim("--to", "au-air:4", "--from", "101.2", *words) == 0
    assert "\a" in capsys.readouterr().out


def test_marks_beside_a_folder_are_refused(take, tmp_path, capsys):
    words = ("--to", "au-air:4", "--wait", "--replay", tmp_path)
    (tmp_path / "stops.csv").write_text("file,dial_mhz\na.flac,90.3\n")
    assert trim(*words, "--marks", take / "marks.csv") == 2
    said = capsys.readouterr().err
    assert said.startswith(f"listen: --marks came with the folder {tmp_path}, whose own table")
    assert said.count("\n") == 1


def test_a_sweep_without_a_console_does_not_tell_where_it_starts(tmp_path, capsys):
    folder = tmp_path / "empty"
    write_sweep(Bench(seed=104), folder, (98.0, 98.1, 98.2), dwell_s=1.0)
    assert trim(folder, "--to", "au-air:4") == 2
    said = capsys.readouterr().err
    assert "does not tell where the console is, so sweep again, type it with --from MHZ" in said


def test_without_an_input_no_caution_is_told_in_vain(capsys, monkeypatch):
    def choose(_):
        raise NoInput("this machine has no sound input")

    monkeypatch.setattr("listen.capture.choose", choose)
    assert trim("--to", "au-air:4", "--from", "101.2") == 2
    assert capsys.readouterr() == ("", "listen: this machine has no sound input\n")


def test_another_table_is_never_written_on(take, tmp_path, capsys):
    other = tmp_path / "log.csv"
    other.write_text("file,dial_mhz\n")
    words = ("--replay", take / "take.flac", "--marks", take / "marks.csv", "--log", other)
    assert trim("--to", "au-air:4", "--from", "101.2", *words) == 2
    assert "is no log of this kind" in capsys.readouterr().err
    assert other.read_text() == "file,dial_mhz\n"
