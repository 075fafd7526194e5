"""Stops once heard at a bench are kept, and never taken for those of another."""

from dataclasses import replace

import pytest

from listen.analysis.measures import measure
from listen.errors import CannotWrite
from listen.simulate import heard
from listen.simulate.bench import Bench
from listen.simulate.hands import Hands
from listen.simulate.heard import NOTHING_KEPT, Store, code_that_hears
from listen.simulate.scenarios import demo_bench

STOPS = ((107.7, "on"), (98.9, "on"), (107.7, "off"))


def walked(store, bench, stops=STOPS, dwell_s=0.2):
    hands = Hands(bench, dwell_s)
    ears = store.ears(hands)
    found = []
    for dial_mhz, console in stops:
        hands.tune(dial_mhz, console)
        found.append(ears.hear(dial_mhz, console))
    ears.keep()
    return found


def clips(bench):
    hands = Hands(bench, 0.2)
    for dial_mhz, console in STOPS:
        hands.tune(dial_mhz, console)
        yield hands.hear(dial_mhz, console)


def test_what_is_kept_is_what_measuring_the_clips_gives(tmp_path):
    plain = [measure(clip) for clip in clips(demo_bench())]
    for store in (NOTHING_KEPT, Store(tmp_path), Store(tmp_path)):
        assert repr(walked(store, demo_bench())) == repr(plain)
    assert len(list(tmp_path.rglob("*.pickle"))) == 1


def test_a_bench_heard_before_is_not_made_again(tmp_path, monkeypatch):
    first = walked(Store(tmp_path), demo_bench())
    monkeypatch.setattr(Bench, "hear", lambda *a, **k: pytest.fail("heard again"))
    assert repr(walked(Store(tmp_path), demo_bench())) == repr(first)


@pytest.mark.parametrize(
    "changed",
    [
        lambda: replace(demo_bench(), seed=77),
        lambda: replace(
            demo_bench(), receiver=replace(demo_bench().receiver, misalignment_khz=1.0)
        ),
        lambda: replace(demo_bench(), line_in=replace(demo_bench().line_in, volume_db=-1.0)),
    ],
    ids=["seed", "receiver", "line-in"],
)
def test_the_least_change_of_a_bench_is_another_bench(tmp_path, changed):
    walked(Store(tmp_path), demo_bench())
    walked(Store(tmp_path), changed())
    assert len(list(tmp_path.rglob("*.pickle"))) == 2


def test_another_way_to_the_same_dial_is_another_stop(tmp_path):
    walked(Store(tmp_path), demo_bench())
    other = walked(Store(tmp_path), demo_bench(), [(98.9, "on"), (107.7, "on")])
    assert repr(other) == repr(walked(NOTHING_KEPT, demo_bench(), [(98.9, "on"), (107.7, "on")]))


def test_other_code_hears_anew(tmp_path):
    home = tmp_path / "listen"
    for part in ("simulate", "analysis"):
        (home / part).mkdir(parents=True)
    for name in heard.MAKES_SOUND:
        (home / "simulate" / f"{name}.py").write_text("a = 1\n")
    for name in heard.MEASURES:
        (home / "analysis" / f"{name}.py").write_text("a = 1\n")
    (home / "clip.py").write_text("a = 1\n")
    code_that_hears.cache_clear()
    before = code_that_hears(home)
    (home / "analysis" / "hiss.py").write_text("a = 2\n")
    code_that_hears.cache_clear()
    assert code_that_hears(home) != before


def test_a_store_that_cannot_be_written_is_refused_in_words(tmp_path):
    (tmp_path / "file").write_text("no folder")
    with pytest.raises(CannotWrite, match="cannot keep what was heard"):
        walked(Store(tmp_path / "file"), demo_bench())
