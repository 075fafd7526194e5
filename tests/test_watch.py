"""A console that drifts while it warms, on the model bench: rounds, offsets, when it settles."""

import csv
import re
from datetime import timedelta

import numpy as np
import pytest

from listen.cli import main
from listen.folder import FolderWriter
from listen.radio import Radio
from listen.simulate.air import Console
from listen.simulate.bench import SWITCHED_ON, Bench, write_sweep
from listen.trim.ear import Ear
from listen.trim.left import next_sides
from listen.watch import Series, Watcher
from listen.watch.series import FLAT_KHZ_PER_MIN, three_of

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


def rounds_folder(folder, minutes, console=CONSOLE):
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
        stops = outer if number == 0 else (100.6, 100.7, 100.9)
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
        # 16 benches by chance, 12 rounds each: 10 kHz rms, docs/watch.md.  Three times that.
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
        (["--at", "100.74", "--replay", "nothing"], "there is no folder nothing"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(words, says, capsys):
    assert main(["watch", *words]) == 2
    said = capsys.readouterr().err
    assert re.search(re.escape(says), said)
    assert said.count("\n") == 1


def test_a_folder_without_times_or_roar_is_refused(tmp_path, capsys):
    folder = rounds_folder(tmp_path / "rounds", [0.5, 2.0])
    table = folder / "stops.csv"
    rows = [line.split(",") for line in table.read_text().splitlines()]
    at = rows[0].index("at")
    table.write_text("\n".join(",".join(cells[:at]) for cells in rows) + "\n")
    assert main(["watch", "--at", "100.74", "--replay", str(folder)]) == 2
    assert "does not tell when its stops were recorded" in capsys.readouterr().err
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
    assert np.array_equal(points.get_xdata(), np.arange(0, 20, 2))
    assert len(bars[0].get_segments()) == 10
    assert axes.get_title(loc="left") == "A title"
    assert "kHz" in axes.get_ylabel()
