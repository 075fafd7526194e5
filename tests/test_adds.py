"""What loudness and the picture add: the four answers of one walk."""

from datetime import timedelta
from types import SimpleNamespace

import pytest

from listen.analysis.measures import Measures, measure
from listen.radio import Radio
from listen.simulate import adds
from listen.simulate.adds import errors_khz, main, table
from listen.simulate.air import Console
from listen.simulate.bench import SWITCHED_ON, Bench


def heard(low_mhz):
    """A console's stops from some place of the dial upward; its picture stands on 95.03."""
    console = Console(99.53, 32.0, 4.5, deviation_khz=25.0, modulation=0.8, mirror_db=None)
    bench = Bench((), console, seed=21)
    dial_mhz = [round(low_mhz + n / 5, 1) for n in range(int((101.0 - low_mhz) * 5) + 1)]
    return tuple(measure(bench.hear(mhz, 0.5)) for mhz in dial_mhz)


def test_what_is_not_on_the_dial_adds_nothing_and_what_is_moves_the_answer():
    sound = errors_khz(heard(97.5), Radio(), 99.53)
    assert sound[0] == sound[2]
    assert sound[1] == sound[3]
    assert sound[0] != sound[1]
    both = errors_khz(heard(93.5), Radio(), 99.53)
    assert both[0] != both[2]
    assert both[1] != both[3]
    assert max(map(abs, (*sound, *both))) < 60


def test_a_drifting_console_is_looked_for_where_it_then_stood(monkeypatch):
    """Its own drift is no error: 30 kHz a minute, steady, at a stop half a minute after power."""
    console = Console(99.53, 32.0, 4.5, drift_khz_per_min=30.0, drift_settles_min=1e6)
    stop = Measures("", 99.5, "on", at=SWITCHED_ON + timedelta(seconds=30))
    far = Measures("", 90.0, "on", at=SWITCHED_ON + timedelta(seconds=90))
    truth = SimpleNamespace(sound_mhz=99.53)
    scene = SimpleNamespace(
        make=lambda seed: (Bench((), console), truth), told=lambda _: Radio(), plan=lambda _: None
    )
    monkeypatch.setattr(adds, "chosen", lambda names: [SimpleNamespace(scene=scene)])
    walk = SimpleNamespace(stops=(far, stop))
    monkeypatch.setattr(adds, "walked", lambda *_: walk)
    asked = []
    monkeypatch.setattr(adds, "errors_khz", lambda *words: asked.append(words[2]) or (0.0,) * 4)
    assert adds.judged("any", None, 1) == (0.0,) * 4
    assert asked == [pytest.approx(99.53 + 0.015, abs=1e-5)]


def test_the_table_gives_median_and_rms_of_each_row():
    lines = table([(3.0, 1.0, -1.0, 0.0), (-4.0, 1.0, 1.0, 0.0)]).splitlines()
    assert lines[2].startswith("| hiss alone | 3.5 | 3.5 |")
    assert lines[5] == "| all | 0.0 | 0.0 | 0.0 |"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--benches", "0"], "start at 1"),
        (["--condition", "empty", "--benches", "1", "--workers", "1"], "no console"),
        (["--condition", "nought"], "no condition is named nought"),
    ],
)
def test_what_cannot_be_judged_is_refused_in_words(capsys, words, says):
    assert main(words) == 2
    assert says in capsys.readouterr().err
