"""`listen demo` from its command line: the answer is the scenario's, and nothing is hidden.

The scenario's truth comes from its bench, not from the demo; the folder is read with the
standard library.
"""

import csv
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from listen.channels import by_name
from listen.cli import main
from listen.simulate.scenarios import demo_bench

HOME = Path(__file__).parent.parent
# Whatever opens the sound hardware's library ends the program.
NO_SOUND = """import sys
class Refuse:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in ("sounddevice", "_sounddevice"):
            raise RuntimeError("the demo asked for " + name)
sys.meta_path.insert(0, Refuse())
"""


def listen(where, *words):
    """Run `listen` without a terminal, where sound hardware may not be asked for."""
    guard = where / "guard"
    guard.mkdir(exist_ok=True)
    (guard / "sitecustomize.py").write_text(NO_SOUND)
    return subprocess.run(
        [sys.executable, "-W", "error", "-m", "listen", *words],
        env={**os.environ, "PYTHONPATH": f"{guard}:{HOME}"},
        cwd=where,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
    )


@pytest.fixture(scope="module")
def shown(tmp_path_factory):
    """The demo, run once where a listen-demo is there already."""
    where = tmp_path_factory.mktemp("demo")
    (where / "listen-demo").mkdir()
    (where / "listen-demo" / "mine.txt").write_text("mine")
    return where, listen(where, "demo")


def test_it_ends_well_and_says_nothing_on_standard_error(shown):
    _, done = shown
    assert (done.returncode, done.stderr) == (0, "")


def test_what_was_there_is_left_alone(shown):
    where, _ = shown
    assert [path.name for path in (where / "listen-demo").iterdir()] == ["mine.txt"]
    assert {path.name for path in (where / "listen-demo-2").iterdir()} == {"before", "after"}


def test_a_file_is_no_place_for_it(tmp_path):
    (tmp_path / "notes.txt").write_text("mine")
    done = listen(tmp_path, "demo", "notes.txt")
    assert (done.returncode, done.stdout) == (2, "")
    wanted = "listen: notes.txt is a file: give the name of a folder that is not there yet\n"
    assert done.stderr == wanted
    assert {path.name for path in tmp_path.iterdir()} == {"guard", "notes.txt"}


@pytest.mark.parametrize("name,moved,channel", [("before", False, "5"), ("after", True, "4")])
def test_its_folders_hold_the_scenario(shown, name, moved, channel):
    where, _ = shown
    done = listen(where, "locate", f"listen-demo-2/{name}", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    answer = json.loads(done.stdout)
    assert [(c["plan"], c["channel"]) for c in answer["channels"]] == [("au-air", channel)]
    low_mhz, high_mhz = answer["interval_95_mhz"]
    assert low_mhz < demo_bench(moved).console.true_sound_mhz < high_mhz
    assert high_mhz - low_mhz < 0.1  # a dial of 100 kHz steps: one step at most


@pytest.mark.parametrize("name", ["before", "after"])
def test_its_folders_are_ordinary_sweeps_with_one_stop_switched_off(shown, name):
    folder = shown[0] / "listen-demo-2" / name
    with (folder / "stops.csv").open(encoding="utf-8", newline="") as table:
        rows = list(csv.DictReader(table))
    assert [row["console"] for row in rows].count("off") == 1
    assert rows[-1]["console"] == "off"
    assert rows[-1]["dial_mhz"] in {row["dial_mhz"] for row in rows[:-1]}
    assert all((folder / row["file"]).read_bytes()[:4] == b"fLaC" for row in rows)
    assert "simulated" in (folder / "sweep.toml").read_text("utf-8")
    assert (folder / "dial-strip.png").read_bytes().startswith(b"\x89PNG")
    assert "simulated" in (folder / "dial-strip.svg").read_text("utf-8")


def test_it_says_what_it_is_what_it_found_and_what_to_try(shown):
    _, done = shown
    said = done.stdout
    assert re.match("This is a demonstration: .* all simulated", said)
    for words in (
        "docs/cautions.md",
        "fits au-air:5",
        "fits au-air:4",
        "The sweep is in listen-demo-2/before",
        "listen-demo-2/after/dial-strip.png",
        "listen locate listen-demo-2/before",
        "listen channels --sound 107.75",
        "listen sweep",
    ):
        assert words in said, words


def test_the_move_it_states_is_the_one_that_the_benches_made(shown):
    _, done = shown
    number = r"(-[\d.]+) MHz"
    words = rf"^Moved\. .* {number} \(95 %: {number} to {number}\)"
    stated, least, most = map(float, re.search(words, done.stdout, re.M).groups())
    benches = [demo_bench(False), demo_bench(True)]
    true_mhz = benches[1].console.true_sound_mhz - benches[0].console.true_sound_mhz
    assert least < true_mhz < most
    assert least < stated < most
    assert "On target: au-air:4, sound 100.75 MHz" in done.stdout
    nominal_mhz = by_name("au-air:4").sound_mhz - by_name("au-air:5").sound_mhz
    assert f"From au-air:5 to au-air:4 it is {nominal_mhz:.3f} MHz." in done.stdout


def test_progress_comes_as_plain_lines_where_it_is_piped(shown):
    _, done = shown
    lines = re.findall(r"^  (\d+) of (\d+) stops, dial at [\d.]+ MHz$", done.stdout, re.M)
    assert len(lines) > 4
    assert lines[-1][0] == lines[-1][1]
    assert "\x1b" not in done.stdout


def test_a_place_that_cannot_be_written_is_one_line(tmp_path):
    (tmp_path / "file").write_text("")
    done = listen(tmp_path, "demo", "file/inside")
    assert (done.returncode, len(done.stderr.splitlines())) == (2, 1)
    assert done.stderr.startswith("listen: cannot write to file/inside")


def test_ctrl_c_says_where_the_rest_is_left(tmp_path, capsys, monkeypatch):
    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("listen.commands.demo.walk", interrupted)
    assert main(["demo", str(tmp_path / "first")]) == 130
    said = f"\nStopped.  What was made so far is left in {tmp_path / 'first'}.\n"
    assert capsys.readouterr().err == said
    assert (tmp_path / "first" / "before" / "stops.csv").exists()
