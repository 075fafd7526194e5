"""The sample sweeps: what they are said to be, what `listen locate` finds, how they were made.

The truth is written here as samples/README.md gives it.  The folders are read by soundfile
and the standard library where they are compared.
"""

import csv
import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest
import soundfile

from listen.simulate.samples import main, samples

HOME = Path(__file__).parent.parent
TRUTH = {  # sound carrier in MHz and channel
    "imported-console": (107.719, ("au-air", "5")),
    "moved-console": (100.774, ("au-air", "4")),
    "stations-only": None,
}


def run(*words, where):
    return subprocess.run(
        [sys.executable, "-W", "error", *words],
        env={**os.environ, "PYTHONPATH": str(HOME)},
        cwd=where,
        capture_output=True,
        text=True,
    )


@pytest.mark.parametrize("name", TRUTH)
def test_locate_gives_the_truth_within_its_interval(name, tmp_path):
    done = run("-m", "listen", "locate", str(HOME / "samples" / name), "--json", where=tmp_path)
    answer = json.loads(done.stdout)
    assert done.stderr == ""
    for said in (answer["reason"], answer["next"] or ""):
        assert not re.search(r"[.!?] [A-Z]", said)  # one sentence each
    if TRUTH[name] is None:
        assert (done.returncode, answer["found"], answer["channels"]) == (1, False, [])
        assert answer["sound_carrier_mhz"] is None
        return
    sound_mhz, channel = TRUTH[name]
    assert (done.returncode, answer["found"], answer["heard_as"]) == (0, True, "direct")
    low_mhz, high_mhz = answer["interval_95_mhz"]
    assert low_mhz < sound_mhz < high_mhz
    assert high_mhz - low_mhz < 0.1  # one step of the dial: else it could be guessed
    assert channel in [(fits["plan"], fits["channel"]) for fits in answer["channels"]]


def test_stops_on_the_carrier_alone_are_no_open_band(tmp_path):
    """Three stops, all on one carrier: the deepest quiet of the sweep is nobody's roar."""
    source, folder = HOME / "samples" / "imported-console", tmp_path / "three"
    folder.mkdir()
    head, *rows = (source / "stops.csv").read_text().splitlines()
    kept = [row for row in rows if row.split(",")[1] in ("107.6", "107.7", "107.8")]
    kept = [row for row in kept if ",on," in row]
    assert len(kept) == 3
    (folder / "stops.csv").write_text("\n".join([head, *kept]) + "\n")
    for row in kept:
        name = row.split(",")[0]
        (folder / name).write_bytes((source / name).read_bytes())
    done = run("-m", "listen", "locate", str(folder), "--json", where=tmp_path)
    answer = json.loads(done.stdout)
    assert (done.returncode, answer["found"]) == (1, False)
    assert answer["reason"].startswith("No stop heard the open band's roar")
    assert answer["next"].startswith("Add two or three stops where the radio only hisses")
    assert {stop["heard"] for stop in answer["stops"]} == {"unclear"}
    assert not [line for line in answer["warnings"] if "takes the hiss away" in line]


def test_a_stop_that_went_with_the_switch_is_used_where_its_neighbour_is_missing(tmp_path):
    """Without 107.60 the stop on 107.70 is a group's end; the band opened there all the same."""
    source, folder = HOME / "samples" / "imported-console", tmp_path / "less"
    shutil.copytree(source, folder)
    rows = (source / "stops.csv").read_text().splitlines()
    kept = [row for row in rows if row.split(",")[1] != "107.6"]
    assert len(kept) == len(rows) - 1
    (folder / "stops.csv").write_text("\n".join(kept) + "\n")
    done = run("-m", "listen", "locate", str(folder), "--json", where=tmp_path)
    assert "107.70 changes when the console is switched off" in json.loads(done.stdout)["reason"]


@pytest.mark.parametrize("plan", ["jp-air", "us-cable-std"])
def test_a_plan_does_not_unhear_the_picture(plan, tmp_path):
    """Channel 3 of Japan and cable 97 share the sound, 107.75, but their picture is 103.25."""
    words = ["locate", str(HOME / "samples" / "imported-console"), "--plan", plan, "--json"]
    done = run("-m", "listen", *words, where=tmp_path)
    answer = json.loads(done.stdout)
    assert (done.returncode, answer["found"], answer["channels"]) == (0, True, [])
    assert (answer["picture_basis"], answer["spacing_basis"]) == ("measured", "measured")
    assert answer["picture_carrier_mhz"] == pytest.approx(102.219, abs=0.03)  # 107.719 less 5.5
    assert answer["spacing_mhz"] == pytest.approx(5.5, abs=0.03)
    assert f"no channel of the plans asked for ({plan}) has its picture" in answer["reason"]
    assert "au-air:5 would fit" in answer["reason"]


def test_locate_draws_what_it_found(tmp_path):
    folder = HOME / "samples" / "moved-console"
    before = {path: path.read_bytes() for path in folder.iterdir()}
    drawn = ["--picture", "strip.svg", "--picture", "strip.png"]
    done = run("-m", "listen", "locate", str(folder), *drawn, where=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    said = re.search(r"sound carrier is on (\d+\.\d{3}) MHz", done.stdout).group(1)
    assert f"Sound carrier on {said} MHz" in (tmp_path / "strip.svg").read_text("utf-8")
    assert "moved-console" in (tmp_path / "strip.svg").read_text("utf-8")
    assert (tmp_path / "strip.png").read_bytes().startswith(b"\x89PNG")
    assert before == {path: path.read_bytes() for path in folder.iterdir()}


def test_locate_refuses_a_picture_that_would_be_no_picture(tmp_path):
    """Before it looks into the folder, so that it costs no wait."""
    done = run("-m", "listen", "locate", "nowhere", "--picture", "a.flac", where=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        "listen: a picture named a.flac was asked for: end its name in .png or .svg\n"
    )


def test_the_samples_are_those_of_the_scenario_and_no_more():
    there = {path.name for path in (HOME / "samples").iterdir() if path.is_dir()}
    assert there == set(TRUTH) == {sample.name for sample in samples()}
    for sample in samples():
        console = sample.bench.console
        truth = TRUTH[sample.name]
        assert (console is None) == (truth is None)
        if console is not None:
            assert console.true_sound_mhz == pytest.approx(truth[0], abs=1e-9, rel=0)


@pytest.mark.parametrize("name", TRUTH)
def test_a_sample_is_small_switched_and_says_that_it_is_simulated(name):
    folder = HOME / "samples" / name
    assert sum(path.stat().st_size for path in folder.iterdir()) < 600_000
    with (folder / "stops.csv").open(encoding="utf-8", newline="") as table:
        rows = list(csv.DictReader(table))
    assert [row["console"] for row in rows[-2:]] == ["on", "off"]
    assert {path.suffix for path in folder.iterdir()} == {".flac", ".csv", ".toml"}
    assert {row["file"] for row in rows} == {path.name for path in folder.glob("*.flac")}
    notes = tomllib.loads((folder / "sweep.toml").read_text("utf-8"))["notes"]
    assert notes.startswith("Simulated by the model bench")


def test_the_page_states_the_same_truth():
    page = (HOME / "samples" / "README.md").read_text("utf-8")
    for name, truth in TRUTH.items():
        row = next(line for line in page.splitlines() if line.startswith(f"| `{name}`"))
        if truth is None:
            assert "none | not found, exit status 1" in row
        else:
            assert f"{truth[0]} MHz | found, exit status 0" in row
            assert f"`{':'.join(truth[1])}`" in row
    assert "python -m listen.simulate.samples samples" in page


def test_the_command_on_the_page_makes_them_again(tmp_path):
    """Same tables and settings byte for byte; sound to one step of 16 bits.

    The sound is equal where libraries and processor are; elsewhere the last digit of a
    transform may differ and turn a rounding, which moves a sample by one step.
    """
    done = run("-m", "listen.simulate.samples", "made", where=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    for name in TRUTH:
        kept, made = HOME / "samples" / name, tmp_path / "made" / name
        files = sorted(path.name for path in kept.iterdir())
        assert files == sorted(path.name for path in made.iterdir())
        for file in files:
            if not file.endswith(".flac"):
                assert (made / file).read_bytes() == (kept / file).read_bytes()
                continue
            ours, rate_hz = soundfile.read(kept / file)
            again, _ = soundfile.read(made / file)
            assert rate_hz == 32_000
            assert ours.shape == again.shape == (28_800,)
            assert np.ptp(ours) > 0.01
            assert np.abs(ours - again).max() <= 1 / 32_768


def test_a_sample_that_is_there_is_not_written_over(tmp_path, capsys):
    (tmp_path / "imported-console").mkdir()
    (tmp_path / "imported-console" / "stops.csv").write_text("mine")
    assert main([str(tmp_path)]) == 2
    assert re.search("holds a sweep already", capsys.readouterr().err)
    assert (tmp_path / "imported-console" / "stops.csv").read_text() == "mine"
