"""The bound on placing a carrier, against closed forms where there are some."""

import json

import numpy as np
import pytest

from listen.simulate import bound as bounds
from listen.simulate.air import Console
from listen.simulate.bench import Bench
from listen.simulate.bound import Curve, draw_curve, key_of, main, spread_khz

OFFSETS_KHZ = np.arange(-420.0, 421.0, 1.0)


def curve(middle_db, scatter_db=0.2):
    return Curve(OFFSETS_KHZ, middle_db, np.full(OFFSETS_KHZ.size, scatter_db))


def bound(drawn, *stops_khz, draws=200):
    return spread_khz(drawn, np.array(stops_khz), np.random.default_rng(3), draws)


@pytest.mark.parametrize("count", [1, 4])
@pytest.mark.parametrize("slope", [0.05, 0.5])
def test_a_straight_cliff_with_normal_scatter(slope, count):
    # Textbook, the mean of n normal readings: scatter / (slope · √n).
    drawn = curve(slope * (OFFSETS_KHZ + 420), scatter_db=1.0)
    assert bound(drawn, *[10.0] * count) == pytest.approx(1 / (slope * np.sqrt(count)), rel=0.02)


def test_a_flat_top_alone_leaves_a_box():
    # Held at one stop and nothing else read: anywhere in the box, whose spread is width / √12.
    drawn = curve(np.where(np.abs(OFFSETS_KHZ) <= 100, 30.0, 0.0))
    assert bound(drawn, 0.0) == pytest.approx(200 / np.sqrt(12), rel=0.02)
    # A stop of roar 150 kHz further up takes away what would be held there: 50 kHz of it.
    assert bound(drawn, 0.0, 150.0) == pytest.approx(150 / np.sqrt(12), rel=0.02)


def test_a_coarser_dial_cannot_do_better():
    skirts_db = np.clip(0.3 * (200 - np.abs(OFFSETS_KHZ)), 0, 30)
    drawn = curve(skirts_db, scatter_db=0.5)
    fine = bound(drawn, *np.arange(-430.0, 431.0, 50.0))
    coarse = bound(drawn, *np.arange(-430.0, 431.0, 100.0))
    assert fine < coarse


def test_the_drawn_curve_is_the_bench_s_own():
    bench = Bench((), Console(100.0, 25.0, 5.5, deviation_khz=25.0), seed=3)
    drawn = draw_curve(bench, 100.0, 2, 0.3)
    middle_db, scatter_db = drawn.at(np.array([0.0, 400.0]))
    assert middle_db[0] > 25  # 25 dB in 200 kHz quiets by 30 to 45: docs/carrier-fit.md
    assert abs(middle_db[1]) < 0.5  # the open band, four repeats of 0.2 dB each
    assert (scatter_db > 0).all()
    flipped = np.abs(drawn.middle_db - drawn.middle_db[::-1])
    assert np.median(flipped) < 1.5  # a passband in the middle is alike on both sides


@pytest.mark.parametrize(
    "words, said",
    [
        (["--benches", "0"], "start at 1"),
        (["--conditions", "empty", "--benches", "1"], "no console"),
        (["--conditions", "nowhere"], "no condition is named nowhere"),
    ],
)
def test_bad_requests_are_refused_in_a_sentence(words, said, capsys):
    assert main(words) == 2
    assert said in capsys.readouterr().err


def test_a_kept_bound_is_not_worked_out_again(tmp_path, capsys):
    (tmp_path / "bounds.json").write_text(json.dumps({key_of("dial-100", 5, 4): 3.5}), "utf-8")
    assert main(["--conditions", "dial-100", "--benches", "1", "--first-seed", "5",
                 "--out", str(tmp_path)]) == 0  # fmt: skip
    assert "RMS 3.5 kHz" in capsys.readouterr().out
    assert list(json.loads((tmp_path / "bounds.json").read_text("utf-8"))) == [
        key_of("dial-100", 5, 4)
    ]
    (tmp_path / "bounds.json").write_text("[", "utf-8")
    assert main(["--out", str(tmp_path)]) == 2


def test_a_bound_of_other_code_or_of_another_bench_is_worked_out_anew(tmp_path, monkeypatch):
    """A kept one says nothing of what a changed receiver, measure or bench would give."""
    words = ["--conditions", "dial-100", "--benches", "1", "--first-seed", "5",
             "--out", str(tmp_path)]  # fmt: skip
    worked = []
    monkeypatch.setattr(bounds, "bound_of", lambda *which: worked.append(which) or 4.0)
    assert main(words) == main(words) == 0
    assert worked == [("dial-100", 5, 4)]
    monkeypatch.setattr(bounds, "code_that_hears", lambda: "another")
    assert main(words) == main(words) == 0
    assert len(worked) == 2
    told = bounds.placed
    monkeypatch.setattr(bounds, "placed", lambda *which: (told(*which)[0], 1.0, *told(*which)[2:]))
    assert main(words) == 0
    assert len(worked) == 3
    assert len(json.loads((tmp_path / "bounds.json").read_text("utf-8"))) == 3
