"""A console that drifts while it warms, on the model bench: rounds, offsets, when it settles."""

import csv
import re
from datetime import timedelta

import numpy as np
import pytest

from listen.cli import main
from listen.commands.here import here_from
from listen.commands.rounds import rounds_of
from listen.folder import FolderWriter
from listen.radio import Radio
from listen.simulate.air import Console
from listen.simulate.bench import SWITCHED_ON, Bench, write_sweep
from listen.trim.ear import Ear
from listen.trim.left import next_sides
from listen.trim.listener import LOST, SILENT
from listen.watch import Series, Watcher
from listen.watch.series import FLAT_KHZ_PER_MIN, TELLS_KHZ, Round, cliffs, three_of
from listen.watch.watcher import HALF_ROUND, TIME_UP

OPEN_MHZ, CENTRE_MHZ = 90.3, 100.7
RATE_HZ = 48_000
RADIO = Radio(step_khz=50.0)
CONSOLE = Console(
    sound_mhz=100.74, strength_db=30.0, seed=4, drift_khz_per_min=5.0, drift_settles_min=5.0
)
BENCH = Bench(console=CONSOLE, seed=133)


def drifted_khz(minutes, since_min):
    return float(CONSOLE.drift_hz(60 * minutes) - CONSOLE.drift_hz(60 * since_min)) / 1e3


class Bystander:
    """Sets the dial for a watcher; its clock runs while nothing is heard."""

    def __init__(self, **more):
        self.rounds = []
        series = Series(RADIO)
        self.watcher = Watcher(
            CENTRE_MHZ,
            series,
            RADIO,
            RATE_HZ,
            open_mhz=(OPEN_MHZ,),
            on_round=lambda one, settling: self.rounds.append((one, settling)),
            **more,
        )
        self.says = self.watcher.begin()
        self.at_s, self.walked, self.dial_mhz = 0.0, [], OPEN_MHZ

    def listen(self, duration_s):
        samples = BENCH.hear(self.dial_mhz, duration_s, at_s=self.at_s).samples
        self.at_s += duration_s
        self.says += [said for frame in self.watcher.hear(samples) for said in frame.says]

    def work(self, most_min):
        while self.at_s < 60 * most_min and self.watcher.stage != "done":
            if self.watcher.ask is not None:
                self.dial_mhz = self.watcher.ask.dial_mhz
                self.walked.append(self.dial_mhz)
                self.watcher.dial_set(self.dial_mhz)
            self.listen(2.6)

    def said(self, text):
        return [said.text for said in self.says if text in said.text]


def test_rounds_go_up_and_down_the_same_three_stops():
    person = Bystander(every_s=20.0, until_s=75.0)
    person.work(3.0)
    stops = person.watcher.stops
    assert len(stops) == 3
    first = len(person.rounds[0][0].heard_db)
    later = person.walked[1 + first :]
    # A round begins where the last one ended, so that stop is not asked for again.
    assert set(later) <= set(stops)
    assert person.watcher.stage == "done"
    assert [sorted(one.heard_db) for one, _ in person.rounds[1:]] == [sorted(stops)] * (
        len(person.rounds) - 1
    )
    assert len(person.rounds) >= 3
    assert person.said("First round")
    assert person.said("From now on these stops")


def rounds_folder(folder, minutes, console=CONSOLE, later=(100.6, 100.7, 100.9)):
    """A sweep folder of rounds at these minutes, the first going further round; its true times."""
    bench = Bench(console=console, seed=133)
    writer = FolderWriter.create(folder)

    def keep(dial_mhz, at_s):
        clip = bench.hear(dial_mhz, 2.0, at_s=at_s)
        at = SWITCHED_ON + timedelta(seconds=at_s)
        writer.add(clip.samples, clip.sample_rate_hz, dial_mhz, "on", at)

    keep(OPEN_MHZ, 10.0)
    for number, minute in enumerate(minutes):
        outer = (100.4, 100.5, 100.6, 100.7, 100.8, 100.9, 101.0)
        stops = outer if number == 0 else later
        for place, dial_mhz in enumerate(stops if number % 2 == 0 else stops[::-1]):
            keep(dial_mhz, 60 * minute + 3.0 * place)
    return folder


def test_offsets_follow_the_drift_and_it_is_said_when_it_settles(tmp_path, capsys):
    minutes = [0.5, 2, 4, 6, 8, 12, 16, 20, 24, 28, 32]
    folder = rounds_folder(tmp_path / "rounds", minutes)
    log, picture = tmp_path / "drift.csv", tmp_path / "drift.png"
    words = ("watch", "--at", "100.74", "--replay", folder, "--log", log, "--picture", picture)
    assert main([str(word) for word in words]) == 0
    assert "Settled: since minute" in capsys.readouterr().out
    with log.open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(minutes)
    zero = minutes[0] + 9 / 60
    for row, minute in zip(rows[1:], minutes[1:], strict=True):
        truth = drifted_khz(minute + 3 / 60, zero)
        # 30 benches by chance, 12 rounds each: 15 kHz rms, docs/watch.md.  Twice that.
        assert float(row["offset_khz"]) == pytest.approx(truth, abs=30)
        assert float(row["offset_low_khz"]) <= truth <= float(row["offset_high_khz"])
    settled = [row["settled"] for row in rows]
    assert "true" not in settled[:6]  # 4 kHz in the last 4 minutes
    assert settled[-1] == "true"
    # e-folding in 5 minutes leaves less than 0.03 kHz a minute at the end.
    assert abs(float(rows[-1]["khz_per_min"])) < FLAT_KHZ_PER_MIN
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_a_carrier_that_only_weakens_does_not_drift():
    """5 dB less on every stop: one stop would call that a move."""
    strong, weak = (
        Bench(console=Console(100.74, strength_db=db, seed=4), seed=133) for db in (30.0, 25.0)
    )
    series = Series(RADIO)
    stops = None
    for bench in (strong, weak):
        ear = Ear(RATE_HZ)
        for fast in ear.hear(bench.hear(OPEN_MHZ, 2.0).samples):
            ear.saw(fast)
        assert ear.learn_roar(ear.now_s) == "good"
        heard = {}
        while True:
            if stops is None:
                mhz = next_sides(CENTRE_MHZ, heard, RADIO)
            else:
                mhz = next((stop for stop in stops if stop not in heard), None)
            if mhz is None:
                break
            ear.dial_set(mhz)
            ear.hear(bench.hear(mhz, 2.0).samples)
            heard[mhz] = ear.measured_db()
        stops = stops or three_of(CENTRE_MHZ, heard)
        series.add(float(len(series.rounds)), heard)
    low, high = series.rounds[1].offset_interval_95_khz
    assert low <= 0 <= high


def test_the_three_stops_are_the_centre_and_a_cliff_or_the_last_held_either_side():
    heard = {100.4: 0.1, 100.5: 12.0, 100.6: 40.0, 100.7: 41.0, 100.8: 40.0, 100.9: 38.0, 101: 0.2}
    assert three_of(100.7, heard) == (100.5, 100.7, 100.9)


def test_too_few_rounds_say_nothing():
    series = Series(RADIO)
    assert series.settling() is None
    for minute in range(3):
        series.add(float(minute), {100.6: 12.0, 100.7: 40.0, 100.9: 20.0})
    assert series.settling() is None


def test_without_a_stop_on_a_cliff_nothing_is_called_settled():
    """On the flat top a carrier may move unheard, however alike the rounds are."""
    flat, cliff = Series(RADIO), Series(RADIO)
    for minute in range(0, 20, 2):
        flat.add(float(minute), {100.6: 40.0, 100.7: 41.0, 100.8: 40.0})
        cliff.add(float(minute), {100.5: 10.0, 100.7: 41.0, 100.9: 30.0})
    assert flat.settling().settled is False
    assert flat.settling().on_cliff is False
    assert cliff.settling().settled is True


def test_a_lost_carrier_ends_the_watch():
    series = Series(RADIO)
    series.add(0.0, {100.6: 12.0, 100.7: 40.0, 100.9: 20.0})
    assert series.add(1.0, {100.6: 0.1, 100.7: 0.3, 100.9: -1.0}).lost


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "nothing says where the console is now: name its sweep folder, or type it"),
        (["--at", "100.74", "--every", "99"], "--every 99 came"),
        (["--at", "100.74", "--for", "0"], "--for 0 came"),
        (["--at", "100.74", "--picture", "x.jpg"], "end its name in .png or .svg"),
        (["--at", "120"], "cannot be heard on a dial"),
        (["--dwell", "0"], "--dwell 0 came: give seconds, 0.5 to 600"),
        (["--at", "100.74", "--picture", "nowhere/x.png"], "there is no folder nowhere"),
        (["--at", "100.74", "--replay", "nothing"], "there is no folder nothing"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(words, says, capsys):
    assert main(["watch", *words]) == 2
    said = capsys.readouterr().err
    assert re.search(re.escape(says), said)
    assert said.count("\n") == 1


@pytest.mark.parametrize(
    "idle",
    [
        ["--every", "2"],  # what is the default is told from what was typed
        ["--for", "60"],
        ["--input", "mic"],
        ["--band", "87.5-108"],
        ["--step-khz", "100"],
        ["--open", "90.3"],
        ["--dwell", "8"],
        ["--tune-with", "tune {hz}"],
        ["--bell"],
    ],
    ids=lambda words: words[0],
)
def test_an_option_that_changes_no_replay_is_refused(tmp_path, idle, capsys):
    assert main(["watch", "--replay", str(tmp_path), *idle]) == 2
    said = capsys.readouterr().err
    assert said.startswith(f"listen: {idle[0]} came with --replay and would change nothing: ")
    assert said.endswith("; leave it out\n")
    assert said.count("\n") == 1


def test_a_folder_without_times_or_roar_is_refused(tmp_path, capsys):
    folder = rounds_folder(tmp_path / "rounds", [0.5, 2.0])
    table = folder / "stops.csv"
    rows = [line.split(",") for line in table.read_text().splitlines()]
    at = rows[0].index("at")
    table.write_text("\n".join(",".join(cells[:at]) for cells in rows) + "\n")
    assert main(["watch", "--at", "100.74", "--replay", str(folder)]) == 2
    said = capsys.readouterr().err
    assert "does not tell when its stops were recorded: fill in the column at of" in said
    held = tmp_path / "held"
    write_sweep(BENCH, held, (100.7, 100.75, 100.8), dwell_s=1.0)
    assert main(["watch", "--at", "100.74", "--replay", str(held)]) == 2
    assert "no stop of open band" in capsys.readouterr().err


def test_the_drawing_has_every_round_and_its_interval():
    from listen.picture import quiet_library
    from listen.picture.drift import drift_figure

    series = Series(RADIO)
    for minute in range(0, 20, 2):
        series.add(float(minute), {100.5: 10.0, 100.7: 41.0, 100.9: 30.0})
    with quiet_library():
        figure = drift_figure(series.rounds, series.settling(), "A title")
    (axes,) = figure.axes
    points, _caps, bars = axes.containers[0]
    assert np.array_equal(points.get_xdata(), np.arange(2, 20, 2))
    assert len(bars[0].get_segments()) == 9  # the first is the zero, and has no distance
    assert axes.get_title(loc="left") == "A title"
    assert "kHz" in axes.get_ylabel()
    (legend,) = figure.legends
    words = [text.get_text() for text in legend.get_texts()]
    assert words == [
        "settled: surely under 1 kHz a minute",
        "first round, the zero",
        "a round, its 95 % interval",
    ]
    figure.draw_without_rendering()
    # Nothing is drawn over: the legend lies below the axes and what they are labelled with.
    assert legend.get_window_extent().y1 <= axes.get_tightbbox().y0
    (right,) = axes.child_axes
    first_mhz = series.rounds[0].sound_mhz
    low_khz, high_khz = axes.get_ylim()
    assert right.get_ylim() == pytest.approx(
        (first_mhz + low_khz / 1e3, first_mhz + high_khz / 1e3), abs=1e-6
    )


def round_at(minutes, khz, spread_khz=10.0, interval_khz=None, heard_db=None):
    """A round by its figures alone."""
    heard_db = heard_db or {100.5: 10.0, 100.7: 40.0, 100.9: 10.0}
    interval_khz = interval_khz or (khz - 2 * spread_khz, khz + 2 * spread_khz)
    return Round(minutes, heard_db, 100.7, (100.6, 100.8), khz, interval_khz, spread_khz, 10.0)


def test_a_mean_outside_of_its_interval_is_drawn_all_the_same():
    from listen.picture import quiet_library
    from listen.picture.drift import LEAST_KHZ, drift_figure

    with quiet_library():
        figure = drift_figure([round_at(0, 0.0), round_at(2, 3.0, interval_khz=(4.0, 30.0))])
        alone = drift_figure([round_at(0, 0.0)])
    assert figure.axes[0].containers[0].has_yerr
    low_khz, high_khz = alone.axes[0].get_ylim()
    assert high_khz - low_khz >= LEAST_KHZ


@pytest.mark.parametrize("rounds", [4, 5, 8])
def test_the_interval_of_the_slope_holds_it_as_often_as_it_says(rounds):
    """Independent normal errors of 8 kHz, some rounds twice and some half as rough."""
    rng = np.random.default_rng(90_000 + rounds)
    minutes = np.linspace(0, 14, rounds)
    rough_khz = 8.0 * np.resize([1.0, 0.5, 2.0], rounds)
    held, wide, tries = 0, [], 2000
    for _ in range(tries):
        series = Series(RADIO)
        khz = 0.7 * minutes + rough_khz * rng.standard_normal(rounds)
        # What a round says of its own spread is in proportion, and by no means its size.
        given = zip(minutes, khz, 0.6 * rough_khz, strict=True)
        series.rounds = [round_at(*each) for each in given]
        low, high = series.settling().interval_95
        held += low <= 0.7 <= high
        wide.append(high - low)
    # Three standard deviations of a share of 2000 are 1.5 %.
    assert held / tries == pytest.approx(0.95, abs=0.015)
    # And no wider than theory: 2 t σ / lever with the weights known (scipy.stats would say the
    # same of t), times the mean of a chi distribution, at most 1.
    weight = rough_khz**-2
    lever = weight @ (minutes - weight @ minutes / weight.sum()) ** 2
    t_95 = {4: 4.303, 5: 3.182, 8: 2.447}[rounds]  # Student's t tables, n - 2 degrees of freedom
    assert 0.85 * 2 * t_95 / np.sqrt(lever) < np.mean(wide) < 1.02 * 2 * t_95 / np.sqrt(lever)


@pytest.mark.parametrize("flat_db", [10.0, 18.0, 20.0, 24.0])
def test_the_flat_top_of_a_weak_carrier_is_no_cliff(flat_db):
    series = Series(RADIO)
    for minute in range(0, 16, 2):
        series.add(float(minute), dict.fromkeys((100.6, 100.7, 100.8), flat_db))
    settling = series.settling()
    assert not settling.on_cliff
    assert not settling.settled
    # The slope knows no better than the rounds: each is open by some 90 kHz either way.
    assert settling.interval_95[1] > 5


def test_a_cliff_is_what_lies_well_below_the_deepest_stop():
    assert cliffs({100.5: 10.0, 100.7: 20.0, 100.9: 13.9}) == [100.5, 100.9]
    assert cliffs({100.5: 14.1, 100.7: 20.0, 100.9: 1.9}) == []
    assert cliffs({100.5: 24.0, 100.7: 45.0, 100.9: 26.0}) == [100.5]


def test_a_round_that_leaves_the_place_open_tells_no_drift_whatever_its_cliff():
    series = Series(RADIO)
    for minute in range(3):
        series.add(float(minute), {100.6: 20.0, 100.7: 20.0, 100.8: 13.0})
    assert cliffs(series.rounds[1].heard_db)
    assert series.rounds[1].spread_khz > TELLS_KHZ
    assert not series.rounds[1].on_cliff


class Quick:
    """A watcher at a radio of plain noise, each stop quieted as it is told, and a clock beside."""

    def __init__(self, monkeypatch, heard_db, **more):
        monkeypatch.setattr(Ear, "learn_roar", lambda ear, until_s: "good")
        monkeypatch.setattr(Ear, "measured_db", lambda ear: heard_db[ear.dial_mhz])
        self.rounds = []
        more = {"every_s": 30.0, "open_mhz": (OPEN_MHZ,)} | more
        self.watcher = Watcher(
            CENTRE_MHZ,
            Series(RADIO),
            RADIO,
            8_000,
            on_round=lambda one, settling: self.rounds.append(one),
            **more,
        )
        self.says = [said.text for said in self.watcher.begin()]
        self._noise = 0.1 * np.random.default_rng(1).standard_normal((2_000, 1)).astype(np.float32)

    def hear(self, duration_s, loud=1.0):
        for _ in range(round(duration_s / 0.25)):
            frames = self.watcher.hear(np.float32(loud) * self._noise)
            self.says += [said.text for frame in frames for said in frame.says]

    def set_dial(self):
        self.watcher.dial_set(self.watcher.ask.dial_mhz)

    def round(self, wait_s=0.0):
        """Until the next round is over, the person taking so long for each stop."""
        before = len(self.rounds)
        while len(self.rounds) == before:
            if self.watcher.ask is not None:
                self.hear(wait_s)
                self.set_dial()
            self.hear(0.25)


HEARD_DB = {100.4: 0.0, 100.6: 12.0, 100.7: 40.0, 100.8: 20.0, 100.9: 0.0, 100.5: 0.0, 101.0: 0.0}


def test_without_a_cliff_it_is_said_how_far_a_drift_could_pass_unheard(monkeypatch):
    flat = {round(100.3 + 0.1 * n, 1): 20.0 for n in range(9)}
    bench = Quick(monkeypatch, flat)
    bench.round()
    assert [text for text in bench.says if text.startswith("None of the stops stands on a cliff")]
    cliff = Quick(monkeypatch, HEARD_DB)
    cliff.round()
    assert not [text for text in cliff.says if text.startswith("None of the stops stands")]


@pytest.mark.parametrize(
    ("until_s", "stage", "says"),
    [(1.0, "roar", TIME_UP), (6.0, "round", HALF_ROUND), (40.0, "pause", TIME_UP)],
)
def test_the_time_is_up_in_every_stage(until_s, stage, says, monkeypatch):
    bench = Quick(monkeypatch, HEARD_DB, until_s=until_s, every_s=600.0)
    if stage == "round":
        bench.set_dial()
        bench.hear(3.0)
    elif stage == "pause":
        bench.round()
    assert bench.watcher.stage == stage
    assert not bench.watcher.is_done
    bench.hear(until_s + 1)  # nobody sets the dial any more
    assert bench.watcher.is_done
    assert bench.watcher.ask is None
    assert bench.says[-1] == says


def test_an_overdriven_stop_is_said_once(monkeypatch):
    bench = Quick(monkeypatch, HEARD_DB, every_s=0.0)
    bench._noise = np.clip(bench._noise * 30.0, -1.0, 1.0)  # most samples at full scale
    bench.round()
    bench.round()
    assert len([text for text in bench.says if text.startswith("CLIPPING")]) == 1
    clean = Quick(monkeypatch, HEARD_DB, every_s=0.0)
    clean.round()
    assert not [text for text in clean.says if text.startswith("CLIPPING")]


def test_a_round_s_time_is_that_of_its_stops_and_not_of_whoever_was_waited_for(monkeypatch):
    bench = Quick(monkeypatch, HEARD_DB, every_s=0.0)
    bench.round()
    begins_s = bench.watcher._ear.now_s
    bench.hear(60.0)  # before the first wish is obeyed: the next ones come at once
    bench.round()
    ends_s = bench.watcher._ear.now_s
    bench.round()
    # Three stops, each settled for 0.5 s and heard for 2 s: 2.5 s apart, to a block of 0.25 s.
    between_s = 60 * (bench.rounds[2].minutes - bench.rounds[1].minutes)
    assert between_s == pytest.approx(7.5, abs=1.0)
    middle_s = (begins_s + ends_s) / 2
    first_s = 60 * bench.rounds[1].minutes
    assert first_s > middle_s - begins_s + 20  # the middle would count half of the minute


def test_minutes_are_the_clock_s_and_a_stop_that_lost_sound_is_heard_again(monkeypatch):
    bench = Quick(monkeypatch, HEARD_DB, every_s=0.0)
    watcher, at_s = bench.watcher, 1000.0
    lost_s = 0.0

    def hear():
        nonlocal at_s
        watcher.clock(at_s)
        bench.hear(0.25)
        at_s += 0.25

    while len(bench.rounds) < 3:
        if watcher.ask is not None:
            bench.set_dial()
        hear()
        heard = watcher.stage == "round" and watcher.ask is None and watcher._ear.heard_s > 1
        if heard and len(bench.rounds) == 1 and not lost_s:
            at_s += (lost_s := 90.0)  # the machine slept
            watcher.clock(at_s)
            watcher.lost()
            assert watcher._ear.heard_s < 0
    assert bench.says.count(LOST) == 1
    away_s = 60 * (bench.rounds[2].minutes - bench.rounds[0].minutes)
    sound_s = watcher._ear.now_s
    assert lost_s < away_s < lost_s + sound_s


def test_a_dead_cable_is_said_and_waited_for_and_is_no_open_band(monkeypatch):
    bench = Quick(monkeypatch, HEARD_DB, every_s=0.0)
    bench.round()
    while bench.watcher.stage != "round" or bench.watcher.ask is not None:
        if bench.watcher.ask is not None:
            bench.set_dial()
        bench.hear(0.25)
    bench.hear(30.0, loud=0.0)
    assert bench.watcher.stage == "round"
    assert bench.says.count(SILENT) == 1
    bench.round()
    assert bench.rounds[1].heard_db == {mhz: HEARD_DB[mhz] for mhz in (100.6, 100.7, 100.8)}
    assert not any("any more" in text for text in bench.says)


@pytest.fixture(scope="module")
def roar():
    return BENCH.hear(OPEN_MHZ, 1.5).samples


def scaled_rounds(folder, roar, rounds, flank_db=12.0):
    """Rounds of a roar made softer: quick, and heard as quieted."""
    writer = FolderWriter.create(folder)
    levels = {OPEN_MHZ: 0.0, 100.6: flank_db, 100.7: 40.0, 100.9: 20.0 if flank_db < 20 else 40.0}
    for at_s, dial_mhz in [(0.0, OPEN_MHZ), *rounds]:
        samples = roar * np.float32(10 ** (-levels[dial_mhz] / 20))
        writer.add(samples, RATE_HZ, dial_mhz, "on", SWITCHED_ON + timedelta(seconds=at_s))
    return folder


THREE = (100.6, 100.7, 100.9)


def test_a_round_s_recorded_time_is_the_mean_of_its_stops(tmp_path, roar):
    rounds = [(10.0, 100.6), (20.0, 100.7), (90.0, 100.9)]
    (one,), left_out = rounds_of(scaled_rounds(tmp_path / "r", roar, rounds))
    assert (one.at - SWITCHED_ON).total_seconds() == pytest.approx(40.0)
    assert left_out == []


def test_rounds_that_are_left_out_are_named_with_the_reason(tmp_path, roar, capsys):
    rounds = [(60.0 * n + 5 * k, mhz) for n in range(4) for k, mhz in enumerate(THREE)]
    del rounds[4]  # of the second round; the stops of the third begin a new one all the same
    folder = scaled_rounds(tmp_path / "rounds", roar, rounds)
    spoiled = sorted(folder.glob("*100.70-on*"))[-1]
    spoiled.write_bytes(b"")
    assert main(["watch", "--replay", str(folder)]) == 1
    said = capsys.readouterr().out
    assert "Round 2 is left out: it has 2 of the 3 stops it needs." in said
    assert re.search(r"Round 4 is left out: 100\.7 MHz cannot be measured \(.*empty.*\)\.", said)
    assert said.count("kHz since the first round") == 1


def test_a_replay_needs_no_place_and_refuses_one_that_is_not_in_it(tmp_path, roar, capsys):
    rounds = [(60.0 * n + 5 * k, mhz) for n in range(2) for k, mhz in enumerate(THREE)]
    folder = scaled_rounds(tmp_path / "rounds", roar, rounds)
    for words in ([], ["--at", "100.77"]):
        assert main(["watch", "--replay", str(folder), *words]) == 1
        assert "First round" in capsys.readouterr().out
    assert main(["watch", "--replay", str(folder), "--at", "95.2"]) == 2
    assert "rounds is near 95.2 MHz" in capsys.readouterr().err


@pytest.mark.parametrize(("flank_db", "blind"), [(12.0, False), (40.0, True)])
def test_a_replay_without_a_stop_on_a_cliff_says_how_far_it_could_drift_unheard(
    tmp_path, roar, capsys, flank_db, blind
):
    rounds = [(60.0 * n + 5 * k, mhz) for n in range(2) for k, mhz in enumerate(THREE)]
    folder = scaled_rounds(tmp_path / "rounds", roar, rounds, flank_db)
    assert main(["watch", "--replay", str(folder)]) == 1
    assert ("could pass unheard" in capsys.readouterr().out) == blind


@pytest.mark.parametrize(
    ("console", "later", "blind"),
    [
        (CONSOLE, (100.6, 100.7, 100.9), False),
        (Console(sound_mhz=100.7, strength_db=30.0, seed=4), (100.5, 100.7, 100.9), True),
    ],
)
def test_the_last_line_of_a_replay_asks_for_more_rounds_only_where_they_can_settle_it(
    tmp_path, capsys, console, later, blind
):
    """One console drifts; the other stands, and its stops are the flat top and what is beyond."""
    folder = rounds_folder(tmp_path / "rounds", [0.5, 2, 4, 6, 8, 10], console, later)
    assert main(["watch", "--replay", str(folder)]) == 1
    last = capsys.readouterr().out.splitlines()[-1]
    assert last.startswith("Not settled: ")
    assert last.endswith("Go on with the rounds.") == (not blind)
    assert ("a finer dial step (--step-khz), so that a stop stands on a cliff" in last) == blind


@pytest.mark.parametrize("second_s", [60.0, -60.0])
def test_rounds_whose_times_do_not_rise_are_refused(tmp_path, roar, capsys, second_s):
    rounds = [(60.0 + at + 5 * k, mhz) for at in (0.0, second_s) for k, mhz in enumerate(THREE)]
    folder = scaled_rounds(tmp_path / "rounds", roar, rounds)
    assert main(["watch", "--replay", str(folder)]) == (1 if second_s > 0 else 2)
    assert ("round 2 of" in capsys.readouterr().err) == (second_s < 0)


def test_a_replay_is_heard_with_its_own_radio_and_its_warnings_are_said(tmp_path, roar, capsys):
    rounds = [(60.0 * n + 5 * k, mhz) for n in range(2) for k, mhz in enumerate(THREE)]
    folder = scaled_rounds(tmp_path / "rounds", roar, rounds)
    (folder / "sweep.toml").write_text("unheard_of = 1\n[radio]\npassband_khz = [150, 170]\n")
    here = here_from(None, None, None, None, folder)
    assert here.radio.passband_khz == (150, 170)
    assert here.radio.step_khz == 100.0
    assert main(["watch", "--replay", str(folder)]) == 1
    assert "unheard_of" in capsys.readouterr().out


def test_what_ends_a_watch_ends_no_picture(tmp_path, roar, monkeypatch, capsys):
    rounds = [(60.0 * n + 5 * k, mhz) for n in range(2) for k, mhz in enumerate(THREE)]
    folder = scaled_rounds(tmp_path / "rounds", roar, rounds)
    picture = tmp_path / "drift.svg"

    def stopped(words):
        if "kHz since" in words:
            raise KeyboardInterrupt

    monkeypatch.setattr("listen.commands.watch.sentence", stopped)
    words = ["watch", "--replay", str(folder), "--picture", str(picture)]
    assert main(words) == 130
    assert "rounds: sound carrier on 100." in picture.read_text()


def test_one_round_alone_is_not_drawn(tmp_path, roar, capsys):
    rounds = [(5.0 * k, mhz) for k, mhz in enumerate(THREE)]
    folder = scaled_rounds(tmp_path / "rounds", roar, rounds)
    picture = tmp_path / "drift.png"
    assert main(["watch", "--replay", str(folder), "--picture", str(picture)]) == 1
    assert "One round alone shows no drift: no picture was drawn." in capsys.readouterr().out
    assert not picture.exists()
