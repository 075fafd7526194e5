"""`listen locate` as a user meets it: the command in a process of its own, its words and status.

What must hold for every bad folder: exit status 2, one or two plain lines on standard error,
no traceback, and the folder as it was.  What is wrong with one recording spoils that stop only.
"""

import json
import os
import subprocess
import sys

import numpy as np
import pytest
import soundfile
from making_folders import hand_made, noise16, pcm16, traces

from listen._version import VERSION
from listen.cli import COMMANDS, main
from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench, write_sweep
from listen.simulate.receiver import Receiver

SOUND_MHZ = 100.783
CONSOLE = Console(
    SOUND_MHZ,
    32.0,
    spacing_mhz=5.5,
    deviation_khz=50.0,
    modulation=0.7,
    programme="chip",
    seed=5,
    field_hz=50.08,
)
STOPS_MHZ = tuple(round(100.3 + n / 10, 2) for n in range(11))
ENVIRONMENT = {**os.environ, "NO_COLOR": "", "FORCE_COLOR": "1", "TERM": "xterm-256color"}


def listen(*words, env=None):
    command = [sys.executable, "-m", "listen", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, check=False, env=env)


def refused(*words):
    """The sentence that a refusal prints, with all that every refusal must keep to."""
    done = listen(*words)
    assert done.returncode == 2, (done.stdout, done.stderr)
    assert done.stdout == ""
    lines = done.stderr.splitlines()
    assert 1 <= len(lines) <= 2, done.stderr
    assert lines[0].startswith("listen: ")
    assert "Traceback" not in done.stderr
    return lines[0].removeprefix("listen: ")


def located(folder, *options):
    """The answer in JSON of a folder that can be read, and its exit status."""
    before = traces(folder)
    done = listen("locate", folder, "--json", *options)
    assert done.stderr == ""
    assert traces(folder) == before
    answer = json.loads(done.stdout)
    assert done.returncode == (0 if answer["found"] else 1)
    return answer


@pytest.fixture(scope="module")
def sweep(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sweeps") / "sweep"
    bench = Bench((Station(99.9, 40.0, "music", 21),), CONSOLE, (), Receiver(), seed=9002)
    write_sweep(bench, folder, STOPS_MHZ, 1.0)
    return folder


@pytest.fixture
def copy(sweep, tmp_path):
    """A sweep of one's own to damage, and its recordings in the order of the walk."""
    folder = tmp_path / "sweep"
    folder.mkdir()
    for path in sweep.iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    return folder, sorted(folder.glob("*.wav")) + sorted(folder.glob("*.flac"))


def test_a_sweep_with_a_console_is_found(sweep):
    answer = located(sweep)
    assert answer["found"]
    low_mhz, high_mhz = answer["interval_95_mhz"]
    assert low_mhz < SOUND_MHZ < high_mhz
    assert answer["channels"][0]["channel"] == "4"


def test_in_words_it_says_the_same(sweep):
    done = listen("locate", sweep)
    assert (done.returncode, done.stderr) == (0, "")
    first = done.stdout.splitlines()[0]
    assert first.startswith("Found: the sound carrier is on 100.")
    assert "au-air:4" in done.stdout
    rows = [line.split() for line in done.stdout.splitlines() if " on  " in line]
    assert [row[0] for row in rows] == [f"{mhz:.2f}" for mhz in STOPS_MHZ]


def test_piped_output_has_no_escape_codes(sweep):
    done = listen("locate", sweep, env=ENVIRONMENT)
    assert "\x1b" not in done.stdout + done.stderr


def test_a_sweep_without_its_console_is_not_found(sweep, tmp_path):
    bench = Bench((Station(100.8, 40.0, "music", 21),), None, (), Receiver(), seed=9003)
    write_sweep(bench, tmp_path / "none", STOPS_MHZ, 1.0)
    answer = located(tmp_path / "none")
    assert not answer["found"]
    done = listen("locate", tmp_path / "none")
    assert done.returncode == 1
    assert done.stdout.startswith("Not found: ")


def test_plans_are_a_filter(sweep):
    assert {c["plan"] for c in located(sweep, "--plan", "au-air")["channels"]} == {"au-air"}
    both = located(sweep, "--plan", "au-air", "--plan", "us-cable-hrc")["channels"]
    assert {c["plan"] for c in both} <= {"au-air", "us-cable-hrc"}
    assert "au-air" in {c["plan"] for c in both}


def test_an_unknown_plan_is_named(sweep):
    said = refused("locate", sweep, "--plan", "au-aire")
    assert "au-aire" in said
    assert "au-air" in said.replace("au-aire", "")  # the likely one


def test_a_missing_folder(tmp_path):
    said = refused("locate", tmp_path / "nowhere")
    assert said.startswith("there is no folder ")


def test_a_name_that_is_too_long_for_the_system(tmp_path):
    assert "... is longer than this system takes" in refused("locate", tmp_path / ("a" * 5000))


def test_a_file_in_place_of_a_folder(tmp_path):
    pcm16(tmp_path / "a.wav", noise16(), 8000)
    assert "is a file, not a folder" in refused("locate", tmp_path / "a.wav")


def test_an_empty_folder(tmp_path):
    folder = tmp_path / "empty"
    folder.mkdir()
    before = traces(folder)
    says = refused("locate", folder)
    assert "holds nothing: a sweep folder holds stops.csv and recordings" in says
    assert traces(folder) == before


@pytest.mark.parametrize(
    "table, says",
    [
        ("", "stops.csv"),
        ("file,dial_mhz\n", "lists no stop"),
        ("name,mhz\na.wav,95.75\n", "file"),
        ("file,place\na.wav,95.75\n", "dial_mhz"),
        ("file,dial_mhz\na.wav,loud\n", "loud"),
        ("file,dial_mhz\na.wav,nan\n", "nan"),
        ("file,dial_mhz\na.wav,inf\n", "inf"),
        ("file,dial_mhz\na.wav,-95.75\n", "-95.75"),
        ("file,dial_mhz\na.wav,0\n", "0"),
        ("file,dial_mhz\na.wav,95750\n", "95750"),
        ("file,dial_mhz\na.wav,1e308\n", "1e"),
        ("file,dial_mhz\n../a.wav,95.75\n", "../a.wav"),
        ("file,dial_mhz,console\na.wav,95.75,maybe\n", "maybe"),
    ],
)
def test_a_broken_table_or_an_absurd_dial(tmp_path, table, says):
    folder = hand_made(tmp_path / "sweep", table)
    before = traces(folder)
    assert says in refused("locate", folder)
    assert traces(folder) == before


def damaged(name):
    """The bytes, or the samples, of a recording that cannot be used."""
    rng = np.random.default_rng(1)
    quiet = np.zeros(48_000, np.float32)
    noise = rng.normal(0, 0.1, 48_000).astype(np.float32)
    return {
        "zero length": b"",
        "not sound": b"This is a letter, not a recording.\n" * 200,
        "header alone": b"RIFF\x24\x00\x00\x00WAVE",
        "5 ms": noise[:240],
        "not a number": np.where(np.arange(48_000) % 7, noise, np.nan).astype(np.float32),
        "infinite": np.where(np.arange(48_000) % 7, noise, np.inf).astype(np.float32),
        "silent": quiet,
        "all clipped": np.where(noise > 0, 1, -1).astype(np.float32),
    }[name]


def damage(path, name):
    data = damaged(name)
    if isinstance(data, bytes):
        path.write_bytes(data)
    else:
        soundfile.write(path, data, 48_000, subtype="FLOAT", format="WAV")


@pytest.mark.parametrize(
    "name, heard",
    [
        ("zero length", "spoiled"),
        ("not sound", "spoiled"),
        ("header alone", "spoiled"),
        ("5 ms", "spoiled"),
        ("not a number", "spoiled"),
        ("infinite", "spoiled"),
        ("silent", "muted"),
    ],
)
def test_one_broken_recording_spoils_its_stop_alone(copy, name, heard):
    folder, recordings = copy
    damage(recordings[1], name)
    answer = located(folder)
    assert answer["found"]
    assert [n for n, s in enumerate(answer["stops"]) if s["heard"] in ("spoiled", "muted")] == [1]
    assert (answer["stops"][1]["heard"], answer["stops"][1]["clarity"]) == (heard, None)
    words = " ".join(answer["warnings"])
    assert recordings[1].name in words or heard == "muted"
    assert "silent" in words or heard == "spoiled"


@pytest.mark.parametrize(
    "name", ["zero length", "not sound", "5 ms", "not a number", "infinite", "silent"]
)
def test_nothing_but_broken_recordings_is_not_found_and_says_so(copy, name):
    folder, recordings = copy
    for path in recordings:
        damage(path, name)
    answer = located(folder)
    assert not answer["found"]
    assert {s["heard"] for s in answer["stops"]} == {"muted" if name == "silent" else "spoiled"}
    assert answer["probability"] == 0
    words = answer["reason"]
    assert "silent" in words if name == "silent" else "No recording" in words


def test_where_all_is_clipped_the_volume_is_named(copy):
    folder, recordings = copy
    for path in recordings:
        damage(path, "all clipped")
    answer = located(folder)
    assert any("overdriven" in w and "volume down" in w for w in answer["warnings"])


def test_a_truncated_recording_is_used_as_far_as_it_goes(copy):
    folder, recordings = copy
    data = recordings[4].read_bytes()
    recordings[4].write_bytes(data[: len(data) * 2 // 3])
    answer = located(folder)
    assert answer["found"]
    assert answer["stops"][4]["clarity"] is not None
    assert any(recordings[4].name in w and "cut short" in w for w in answer["warnings"])


def test_duplicated_stops_are_all_answered(copy):
    folder, _ = copy
    table = (folder / "stops.csv").read_text("utf-8")
    rows = table.splitlines()
    (folder / "stops.csv").write_text("\n".join([*rows, *rows[1:]]) + "\n", "utf-8")
    answer = located(folder)
    assert answer["found"]
    assert len(answer["stops"]) == 2 * len(STOPS_MHZ)
    assert [s["dial_mhz"] for s in answer["stops"]] == [*STOPS_MHZ, *STOPS_MHZ]


def test_off_stops_only(tmp_path):
    bench = Bench((), CONSOLE, (), Receiver(), seed=9004)
    write_sweep(bench, tmp_path / "off", [(mhz, "off") for mhz in STOPS_MHZ[:4]], 0.5)
    answer = located(tmp_path / "off")
    assert not answer["found"]
    assert {s["console"] for s in answer["stops"]} == {"off"}
    assert "off" in answer["reason"]


def test_one_stop(tmp_path):
    bench = Bench((), CONSOLE, (), Receiver(), seed=9005)
    write_sweep(bench, tmp_path / "one", [100.8], 1.0)
    answer = located(tmp_path / "one")
    assert not answer["found"]
    assert len(answer["stops"]) == 1
    assert answer["next"]


def test_a_reader_that_goes_leaves_no_traceback_and_no_yes(sweep):
    for words in (f'locate "{sweep}" --json', "--version"):
        command = f'(sleep 0.2; "{sys.executable}" -m listen {words}; echo $? >&2) | true'
        done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, check=False)
        # 128 + 13, SIGPIPE, as a shell tells it (POSIX, 2.8.2): never 0, which means found.
        assert (done.stdout, done.stderr) == ("", "141\n")


def test_ctrl_c_is_answered_with_a_word(capsys, monkeypatch):
    def interrupted(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("listen.folder.read_folder", interrupted)
    assert main(["locate", "here"]) == 130
    assert capsys.readouterr().err == "\nlisten: stopped\n"


def test_the_version():
    done = listen("--version")
    assert (done.returncode, done.stdout, done.stderr) == (0, f"listen {VERSION}\n", "")


@pytest.mark.parametrize(
    "words, says",
    [(("locat",), "locat"), (("locate", "--jsn"), "--jsn"), (("locate",), "FOLDER")],
)
def test_a_wrong_word_is_refused_with_a_hint(words, says):
    done = listen(*words)
    assert done.returncode == 2
    first, second = done.stderr.splitlines()
    assert first.startswith("listen: ")
    assert says.lower() in first.lower()
    assert second.startswith("Try:    listen")
    assert second.endswith("--help")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("sweep", "sweep needs a folder to write the sweep to (FOLDER), and none came: "),
        ("confirm a", "confirm needs the sweep folder from after the move (AFTER), and none"),
        ("confirm", "confirm needs the sweep folder from before the move (BEFORE), and"),
        ("trim --within abc", "--within abc came: give a number of kHz"),
        ("trim --within=abc", "--within abc came: give a number of kHz"),
        ("trim --within=", "--within with nothing came: give a number of kHz"),
        ("watch --every x", "--every x came: give a number of minutes"),
        ("sweep a --at-most 2.5", "--at-most 2.5 came: give a whole number of stops"),
        ("sweep a --seconds abc", "--seconds abc came: give a number of seconds"),
        ("sweep a --seconds 5 --seconds x", "--seconds x came: give a number of seconds"),
        ("sweep a --mains x", "--mains x came: give 50 or 60"),
        ("trim --to", "--to came with nothing after it: give its value, or leave it out"),
        ("channels --json=3", "--json came with a value, and takes none: leave the value out"),
        ("channels a b", "channels came with too many words (b): give one thing at a time"),
        ("trim a au-air:4", "au-air:4 came without its option: write --to au-air:4"),
        ("trim a AU-AIR:4 --wait", "AU-AIR:4 came without its option: write --to AU-AIR:4"),
        ("trim a au-air:999", "trim came with too many words (au-air:999)"),
        ("trim a au-air", "trim came with too many words (au-air)"),
        ("destinations a au-air", "au-air came without its option: write --set au-air"),
        ("destinations a b", "destinations came with too many words (b)"),
        ("locate a au-air", "au-air came without its option: write --plan au-air"),
        ("sweep a au-air", "au-air came without its option: write --plan au-air"),
        ("locate --jsn", "locate has no option --jsn: did you mean --json?"),
        ("demo --xyz", "demo has no option --xyz"),
        ("locat", "there is no command locat: did you mean locate?"),
        ("xyz", "there is no command xyz: there are demo, inputs, check, sweep"),
        ("frobnicate", "there is no command frobnicate: there are demo, inputs"),
    ],
)
def test_a_wrong_command_line_is_one_plain_sentence(words, says, capsys):
    assert main(words.split()) == 2
    first, second = capsys.readouterr().err.splitlines()
    assert first.startswith(f"listen: {says}")
    assert second.startswith("Try:    listen")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("trim --to au-air:4 --within 0,5", "--within 0.5 came"),
        ("trim --to au-air:4 --within=1000,5", "--within 1000.5 came"),
        ("watch --every 60,5", "--every 60.5 came"),
        ("watch --for 0,05", "--for 0.05 came"),
        ("watch --dwell ,25", "--dwell 0.25 came"),
        ("sweep new --settle -1,5", "--settle -1.5 came"),
        ("sweep new --step-khz 12,5 --dwell 0,25", "--dwell 0.25 came"),
        ("destinations x --within 1000,5", "--within 1000.5 came"),
        ("trim --within 1,2,3", "--within 1,2,3 came: give a number of kHz"),
        ("watch --every 2,x", "--every 2,x came: give a number of minutes"),
        ("locate a,5", "there is no folder a,5"),
        ("locate 2,5", "there is no folder 2,5"),
    ],
)
def test_a_number_may_have_a_decimal_comma_and_nothing_else_is_changed(words, says, capsys):
    """Seen by what is refused, which names the number that was read."""
    assert main(words.split()) == 2
    assert capsys.readouterr().err.startswith(f"listen: {says}")


@pytest.mark.parametrize(
    ("words", "ends"),
    [
        ("locate", "after locate"),
        ("confirm", "after confirm"),
        ("confirm a", "after BEFORE"),
        ("split a.wav", "after TAKE"),
    ],
)
def test_where_a_missing_name_goes_is_said(words, ends, capsys):
    assert main(words.split()) == 2
    assert capsys.readouterr().err.splitlines()[0].endswith(f"none came: name it {ends}")


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_s_help_ends_with_an_example(name):
    done = listen(name, "--help")
    assert (done.returncode, done.stderr) == (0, "")
    example = done.stdout[done.stdout.index("Example") :]
    assert f"listen {name}" in example
    arguments = done.stdout.splitlines()[0].partition("[OPTIONS]")[2]
    assert arguments == arguments.upper()  # as the pages and the refusals write them
