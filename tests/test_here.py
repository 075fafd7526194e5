"""What a sweep tells the commands that go on from it: its step, its warnings, its dial's error."""

import pytest
from trim_person import CONSOLE

from listen.analysis.raster import BELIEVED_KHZ
from listen.cli import main
from listen.commands.here import Here, here_from, step_of
from listen.radio import Radio
from listen.simulate.bench import Bench, write_sweep
from listen.trim import nearest_stop


@pytest.mark.parametrize(
    ("stops_mhz", "step_khz"),
    [
        ((87.5, 87.7, 100.9, 101.1), 200.0),
        ((88.0, 88.2, 88.4), 100.0),  # 200 apart, and the dial begins on 87.5
        ((90.3, 100.75, 100.8), 50.0),
        ((90.3, 100.755), 5.0),
        ((88.5, 89.5, 97.5), None),  # a megahertz apart: no dial's step
        ((100.7531,), None),
        ((), None),
    ],
)
def test_the_step_is_the_widest_that_reaches_every_stop(stops_mhz, step_khz):
    assert step_of(stops_mhz, Radio()) == step_khz
    assert step_of(stops_mhz, Radio(dial="analogue")) is None


def test_without_a_sweep_a_dial_is_not_taken_for_exact():
    local = here_from(None, 101.2, None, None).error.at(100.7)
    assert local.mean_khz == pytest.approx(0.0, abs=0.1)
    assert local.spread_khz == pytest.approx(BELIEVED_KHZ, rel=0.05)
    assert Here(Radio()).warnings == ()


def test_a_sweep_s_step_and_warnings_are_handed_on(tmp_path, capsys):
    folder = tmp_path / "sweep"
    stops = (100.5, 100.7, 100.9, 101.1, 101.3, 101.5, 101.7, 90.3)
    write_sweep(Bench(console=CONSOLE, seed=104), folder, stops, dwell_s=1.0)
    (folder / "sweep.toml").write_text("unheard_of = 1\n")
    here = here_from(folder, None, None, None)
    assert here.radio.step_khz == 200.0
    assert any("unheard_of" in line for line in here.warnings)
    # The goal's stop is one that such a radio makes: 87.5 and a multiple of 0.2 above it.
    assert nearest_stop(100.75, here.radio).dial_mhz == 100.7
    assert here_from(folder, None, None, 100.0).radio.step_khz == 100.0
    words = (folder, "--to", "au-air:4", "--from", "101.2", "--replay", folder)
    assert main(["trim", *map(str, words)]) in (0, 1)
    said = capsys.readouterr().out
    assert said.index("unheard_of") < said.index("Goal: ")
