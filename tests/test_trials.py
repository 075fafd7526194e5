"""The trials judge by the truth, count without favour, and go on where they were stopped.

The counts are checked against records made by hand; what a bench held comes from the scenario
itself.  How well the analysis does is not tested here: that is what the trials are for.
"""

import json
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from listen.analysis.locate import locate_measured
from listen.analysis.measures import measure
from listen.errors import BadFolder
from listen.simulate import trials
from listen.simulate.air import Console
from listen.simulate.bench import Bench
from listen.simulate.conditions import CONDITIONS
from listen.simulate.effects import made_with, neighbour, radio_with
from listen.simulate.kept import RECORDS, Kept
from listen.simulate.receiver import Receiver
from listen.simulate.scenarios import random_bench
from listen.simulate.scores import Record, by_strength, details, reliability, score, table

BAND = "95.2-95.9"
QUICK = ["--band", BAND, "--seconds", "0.5", "--first-seed", "3"]


def record(seed, error_khz=None, half_khz=20.0, console=True):
    """A bench with its console on 100 MHz, found so far off; None: not found."""
    answer_mhz = None if error_khz is None else 100 + error_khz / 1e3
    interval = (
        None if error_khz is None else (answer_mhz - half_khz / 1e3, answer_mhz + half_khz / 1e3)
    )
    return Record(
        "made", seed, 100.0 if console else None, error_khz is not None, answer_mhz, interval
    )


def test_a_condition_is_counted_as_by_hand():
    errors_khz = [-10, 0, 5, 40, 300, None]
    got = score([record(seed, error) for seed, error in enumerate(errors_khz)])
    assert (got.benches, got.found, got.right, got.false_finds, got.not_found) == (6, 5, 4, 1, 1)
    # Of 0, 5, 10 and 40 the median is 7.5; the 95th percentile lies 0.85 of the way from the
    # third to the fourth (linear, 0.95 x 3 = 2.85).
    assert got.median_khz == pytest.approx(7.5, abs=1e-6)
    assert got.p95_khz == pytest.approx(10 + 0.85 * 30, abs=1e-6)
    assert got.rms_khz == pytest.approx((1725 / 4) ** 0.5, abs=1e-6)
    assert got.bias_khz == pytest.approx(35 / 4, abs=1e-6)
    assert got.coverage == pytest.approx(3 / 5)  # the two beyond 20 kHz are missed
    assert got.width_khz == pytest.approx(40, abs=1e-6)


def test_an_answer_150_khz_off_is_right_and_beyond_that_false():
    verdicts = [record(1, error).verdict for error in (149.9, -149.9, 150.1, -150.1)]
    assert verdicts == ["right", "right", "false", "false"]


def test_any_find_without_a_console_is_false_and_nothing_else_is_measured():
    got = score([record(1, 0.0, console=False), record(2, None, console=False)])
    assert (got.found, got.right, got.false_finds, got.not_found) == (1, None, 1, 1)
    assert {got.median_khz, got.rms_khz, got.coverage, got.width_khz} == {None}


def test_with_nothing_found_there_is_nothing_to_average():
    got = score([record(1, None)])
    assert (got.right, got.not_found, got.median_khz, got.coverage) == (0, 1, None, None)


def test_the_table_reads_as_text_and_as_markdown():
    rows = [("clean", score([record(1, -10), record(2, 4)])), ("empty", score([record(1, None)]))]
    text = table(rows)
    assert " ".join(text[1].split()) == "clean 2 2 2 0 0 7.0 9.7 7.6 -3.0 100 % 40.0 – –"
    assert " ".join(text[2].split()) == "empty 1 0 0 0 1 – – – – – – – –"
    marked = table(rows, markdown=True)
    assert {line.count("|") for line in marked} == {15}
    assert (
        marked[2] == "| clean | 2 | 2 | 2 | 0 | 0 | 7.0 | 9.7 | 7.6 | -3.0 | 100 % | 40.0 | – | – |"
    )


def test_a_picture_counts_only_where_it_was_measured():
    """Sound 4 kHz high and picture 6 kHz low: the spacing is 10 kHz too wide."""
    one = replace(
        record(1, 4.0),
        truth_picture_mhz=94.5,
        picture_mhz=94.494,
        picture_basis="measured",
        spacing_mhz=5.51,
    )
    got = score([one, replace(one, picture_basis="implied", picture_mhz=90.0)])
    assert got.picture_khz == pytest.approx(6.0, abs=1e-6)
    assert got.spacing_khz == pytest.approx(10.0, abs=1e-6)


def test_strengths_are_told_apart_and_benches_without_a_console_are_in_none():
    records = [replace(record(1, 1.0), strength_db=db) for db in (9.0, 12.0, 20.0, 45.0)]
    rows = by_strength([*records, record(2, None, console=False)])
    assert [(words, one.benches) for words, one in rows] == [
        ("console of 20 dB or more", 2),
        ("console of 12 to 20 dB", 1),
        ("console of 9 to 12 dB", 1),
    ]


def test_a_stated_probability_is_held_against_how_often_it_came_true():
    """Of a carrier not called a find it is judged too: it may have been the console."""
    sure = [replace(record(1, e), probability=0.9) for e in (0.0, 10.0, 200.0)]
    missed = replace(record(2, None), probability=0.3, rejected_mhz=100.05)
    lines = reliability([*sure, missed])
    assert " ".join(lines[0].split()) == "probability answers no console stated came true"
    assert " ".join(lines[1].split()) == "0.2 to 0.5 1 0 0.300 1.000"
    assert " ".join(lines[2].split()) == "0.8 to 0.95 3 0 0.900 0.667"


def test_where_there_is_no_console_a_stated_probability_never_came_true():
    """Of three answers of 0.9 with a console and one without, two came true."""
    answers = [replace(record(1, e), probability=0.9) for e in (0.0, 10.0, 200.0)]
    answers.append(replace(record(2, None, console=False), probability=0.9, rejected_mhz=100.0))
    assert " ".join(reliability(answers)[1].split()) == "0.8 to 0.95 4 1 0.900 0.500"
    assert reliability(answers, markdown=True)[2] == "| 0.8 to 0.95 | 4 | 1 | 0.900 | 0.500 |"


def kept_in(folder, how, *records):
    Kept(folder, how, Record.from_dict).add(records)
    return str(folder)


def test_a_report_counts_the_answers_of_the_folders_beside_it(tmp_path, capsys):
    """With the switch and without it they are two; the tables stay those of the one folder."""
    one = replace(record(1, 5.0), condition="dial-100", probability=0.9)
    mix = kept_in(tmp_path / "mix", "code a", one, replace(one, condition="dial-100-no-switch"))
    nothing = replace(record(1, None, console=False), condition="empty", probability=0.004)
    walk = replace(one, condition="thinking", chosen_stops=9)
    no_sound = kept_in(tmp_path / "none", "code a", nothing, one)  # the last one is in both
    walks = kept_in(tmp_path / "walks", "code a", walk)
    assert trials.main(["--report", "--out", mix, "--beside", no_sound, walks]) == 0
    said = capsys.readouterr().out
    assert (
        "came true, 4 answers (2 as walked, 1 without the switch, 1 of walks that chose their "
        "stops; on 1 of them no console's sound carrier):\n"
    ) in said
    rows = [" ".join(line.split()) for line in said.splitlines()]
    assert "0 to 0.01 1 1 0.004 0.000" in rows
    assert "0.8 to 0.95 3 0 0.900 1.000" in rows
    assert "empty band" not in said


def test_a_report_mixes_no_two_versions_and_makes_no_folder(tmp_path, capsys):
    mix = kept_in(tmp_path / "mix", "code a", replace(record(1, 5.0), condition="dial-100"))
    other = kept_in(tmp_path / "b", "code b", replace(record(1, 5.0), condition="dial-200"))
    for words, says in (
        (["--report", "--out", mix, "--beside", other], "was judged by code b, the rest by code a"),
        (["--report", "--out", mix, "--beside", str(tmp_path / "no")], "holds no judged benches"),
        (["--out", mix, "--beside", other], "--beside adds folders to a report"),
    ):
        assert trials.main(words) == 2
        said = capsys.readouterr().err
        assert said.count("\n") == 1
        assert says in said
    assert not (tmp_path / "no").exists()


def test_a_rejected_carrier_is_held_against_the_truth_where_its_way_puts_it():
    """A probability includes how sure the way is, so the place must be that of the way."""
    stops = tuple(by_its_mirror())
    plans = ("eu-ccir-cable",)
    answer = locate_measured(stops, plans=plans)
    assert not answer.found
    assert "110.75 MHz by its mirror" in answer.reason
    assert answer.rejected_mhz == pytest.approx(110.75, abs=0.02)
    assert answer.others[0].centre_mhz == pytest.approx(99.75, abs=0.02)  # where it was heard
    judged = Record("a", 1, 110.75, False, rejected_mhz=answer.rejected_mhz)
    assert judged.named_is_right
    direct = locate_measured(stops)  # among all plans it is taken for the sound itself
    assert (direct.found, direct.rejected_mhz) == (True, None)


def by_its_mirror():
    """The stops round the mirror of a console whose sound is beyond the dial."""
    console = Console(
        *(110.75, 40.0),
        spacing_mhz=5.5,
        deviation_khz=50.0,
        modulation=0.7,
        programme="chip",
        mirror_db=-1.0,
        seed=5,
    )
    bench = Bench((), console, receiver=Receiver(passband_khz=200.0), seed=9001)
    for n in range(17):
        yield measure(bench.hear(round(98.95 + n / 10, 2), 1.0, "on", 2.0 * n))


def test_an_effect_changes_its_bench_in_nothing_else():
    plain, truth = random_bench(4)
    bench, told = made_with(random_bench, radio_with(afc=True, soft_mute_db=(3.0, 5.0)))(4)
    assert bench.receiver.afc
    assert 3.0 <= bench.receiver.soft_mute_db <= 5.0
    receiver = replace(bench.receiver, afc=False, soft_mute_db=None)
    assert replace(bench, receiver=receiver) == plain
    assert told == truth


def test_a_neighbour_stands_on_the_raster_as_far_away_as_asked():
    for seed in range(6):
        bench, truth = made_with(random_bench, neighbour(150, 300, (20, 50)))(seed)
        away_khz = [1e3 * abs(s.mhz - truth.sound_mhz) for s in bench.stations]
        assert 148 <= min(away_khz) <= 302
        assert truth.stations_mhz == tuple(s.mhz for s in bench.stations)
        assert all(abs(s.mhz * 10 - round(s.mhz * 10)) <= 0.0201 for s in bench.stations)


def test_a_record_comes_back_from_its_line():
    one = Record(
        "made", 7, 100.0, True, 100.01, (99.9, 100.1), 0.9, "why", (99.9, 100.2), None, "console"
    )
    assert Record.from_dict(json.loads(json.dumps(one.as_dict()))) == one
    assert "off by +10.0 kHz, interval 99.900 to 100.100" in details([one])[0]
    assert "misses the truth" in details([record(1, 30.0)])[0]


def test_conditions_have_names_of_their_own_and_pairs_share_their_benches():
    assert len({condition.name for condition in CONDITIONS}) == len(CONDITIONS)
    conditions = trials.chosen(["dial-100", "dial-100-no-switch", "stations-100"])
    todo = trials.tasks(conditions, [5, 6], [("dial-100", 5), ("stations-100", 6)])
    assert [(task.names, task.seed) for task in todo] == [
        (("dial-100-no-switch",), 5),
        (("stations-100",), 5),
        (("dial-100", "dial-100-no-switch"), 6),
    ]


def test_a_thinking_walk_without_the_switch_is_a_walk_of_its_own():
    """What it hears first decides where it goes: the other walk's answer is not its own."""
    names = ("thinking-only", "thinking-only-no-switch")
    walked, unswitched = trials.chosen(names)
    assert (walked.off_checks, unswitched.off_checks) == (True, False)
    assert repr(walked.scene.make(5)) == repr(unswitched.scene.make(5))
    todo = trials.tasks([walked, unswitched], [5], [])
    assert [task.names for task in todo] == [(name,) for name in names]


def run(tmp_path, *words):
    done = subprocess.run(
        [sys.executable, "-W", "error", "-m", "listen.simulate.trials", *QUICK, *words],
        cwd=trials.HOME.parent,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_two_benches_are_judged_kept_and_gone_on_with(tmp_path):
    """In processes of their own; a torn line is judged again, to the very same answer."""
    words = ["--conditions", "dial-100", "dial-100-no-switch", "--out", str(tmp_path / "out")]
    run(tmp_path, *words, "--benches", "1", "--workers", "1")
    path = tmp_path / "out" / RECORDS
    first = path.read_text()
    said = run(tmp_path, *words, "--benches", "2", "--workers", "2", "--list-all")
    both = path.read_text()
    assert both.startswith(first)
    records = [json.loads(line) for line in both.splitlines()]
    assert sorted((r["condition"], r["seed"]) for r in records) == [
        (name, seed) for name in ("dial-100", "dial-100-no-switch") for seed in (3, 4)
    ]
    for one in records:
        _, truth = random_bench(one["seed"])
        assert one["truth_mhz"] == truth.sound_mhz
        assert len(one["off_checks_mhz"]) <= (3 if one["condition"] == "dial-100" else 0)
    assert "dial of 100 kHz, as walked: 3 to 4\n" in said
    assert "stops of 0.5 s, 95.2 to 95.9 MHz alone.\n" in said
    assert said.splitlines()[1].startswith("dial of 100 kHz, as walked ")
    path.write_text(both[:-40])
    run(tmp_path, *words, "--benches", "2", "--workers", "1")
    assert path.read_text() == both
    again = run(tmp_path, *words, "--benches", "2", "--report")
    assert path.read_text() == both
    assert again == said[: said.index("\ndial-100 3: ")] + said[said.index("\nMade by") :]


def test_the_walk_is_that_of_a_person_and_its_answers_are_those_of_locate():
    """A console alone: found by its sound, proved at one off check, true within 150 kHz."""
    seed = 2
    _, truth = random_bench(seed, stations=(0, 0))
    low_mhz = float(np.floor(truth.sound_mhz * 10 - 6) / 10)
    band = (low_mhz, min(low_mhz + 1.2, 108.0))
    (task,) = trials.tasks(trials.chosen(["alone"]), [seed], [], 1.0, band)
    (one,) = trials.judge(task.conditions(), task.seed)
    assert one.truth_mhz == truth.sound_mhz
    assert one.verdict == "right"
    assert len(one.off_checks_mhz) == 1
    assert abs(one.off_checks_mhz[0] - truth.sound_mhz) < 0.15
    assert one.switch_at_mhz is None  # the switch has spoken
    assert f"at {truth.sound_mhz:.3f} MHz" in one.bench


def test_the_stops_of_walks_that_choose_them_are_counted_beside_the_rest():
    walks = [replace(record(seed, 5.0), chosen_stops=n) for seed, n in enumerate((8, 12, 14, 80))]
    got = score(walks)
    # The median of 8, 12, 14 and 80 is 13; the 95th percentile lies 0.85 of the way from the
    # third to the fourth (linear, 0.95 x 3 = 2.85).
    assert got.stops == 13
    assert got.p95_stops == pytest.approx(14 + 0.85 * 66)
    assert (got.within_14, got.within_75) == (0.75, 0.75)
    lines = table([("a thinking walk", got), ("a list", score([record(1, 5.0)]))])
    assert lines[0].split()[-5:] == ["95", "%", "stops", "≤", "14", "≤", "75"][-5:]
    assert lines[1].split()[-6:] == ["13.0", "70.1", "75", "%", "75", "%"]
    assert lines[2].split()[-4:] == ["–", "–", "–", "–"]
    assert "≤ 14" not in table([("a list", score([record(1, 5.0)]))])[0]


def test_a_thinking_walk_is_judged_by_the_stops_it_chose():
    seed = 2
    scene = replace(trials.chosen(["thinking-plan"])[0].scene, dwell_s=0.5)
    (one,) = trials.judge([replace(trials.chosen(["thinking-plan"])[0], scene=scene)], seed)
    _, truth = random_bench(seed)
    assert one.truth_mhz == truth.sound_mhz
    assert 3 < one.chosen_stops < 60
    assert f", {one.chosen_stops} stops" in details([one])[0]
    assert len(one.off_checks_mhz) <= 5


def test_benches_judged_otherwise_are_never_mixed(tmp_path):
    Kept(tmp_path, "code a", Record.from_dict).add([record(1, 5.0)])
    assert Kept(tmp_path, "code a", Record.from_dict).records == [record(1, 5.0)]
    with pytest.raises(BadFolder, match=r"judged in another way \(code a; this is code b\)"):
        Kept(tmp_path, "code b", Record.from_dict)
    assert Kept(tmp_path, None, Record.from_dict).how == "code a"
    (tmp_path / RECORDS).write_text('{"seed": 1}\n')
    with pytest.raises(BadFolder, match=r"jsonl:1 is no judged bench .*: delete that line"):
        Kept(tmp_path, "code a", Record.from_dict)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--conditions", "nowhere"], "no condition is named nowhere: there are dial-50, "),
        (["--benches", "0"], "--benches and --workers start at 1"),
        (["--seconds", "0"], "--seconds 0 came: give 0.2 to 120"),
        (["--band", "108-87.5"], "108"),
        (["--report"], "--report prints what a folder holds: name it with --out"),
    ],
)
def test_what_cannot_be_meant_is_one_sentence(words, says, capsys):
    assert trials.main(words) == 2
    said = capsys.readouterr().err
    assert said.startswith("trials: ")
    assert said.count("\n") == 1
    assert says in said


def test_the_fingerprint_follows_the_code(tmp_path):
    (tmp_path / "analysis").mkdir()
    code = tmp_path / "analysis" / "curve.py"
    (tmp_path / "clip.py").write_text("")
    (tmp_path / "radio.py").write_text("")
    code.write_text("A = 1\n")
    before = trials.code_of(tmp_path)
    assert trials.code_of(tmp_path) == before
    code.write_text("A = 2\n")
    assert trials.code_of(tmp_path) != before
