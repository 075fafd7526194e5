"""Hands at a simulated bench do what a real tuner and line-in do: time passes, chance repeats."""

from datetime import timedelta

import numpy as np
import pytest

from listen.simulate.bench import Bench
from listen.simulate.hands import TURN_S, Hands
from listen.simulate.receiver import Receiver
from listen.simulate.scenarios import demo_bench


def walked(bench, *stops, dwell_s=0.2):
    hands = Hands(bench, dwell_s)
    clips = []
    for dial_mhz, console in stops:
        assert hands.tune(dial_mhz, console) == "go"
        clips.append(hands.hear(dial_mhz, console))
    return clips


def test_a_stop_begins_after_the_one_before_and_the_turn_of_the_dial():
    first, second = walked(demo_bench(), (107.7, "on"), (98.9, "on"))
    assert second.at - first.at == timedelta(seconds=0.2 + TURN_S)
    assert [clip.dial_mhz for clip in (first, second)] == [107.7, 98.9]
    assert first.duration_s == pytest.approx(0.2, rel=1e-12)


def test_the_same_walk_sounds_the_same_and_a_second_visit_does_not():
    walk = ((100.0, "on"), (100.0, "on"))
    one, again = walked(demo_bench(), *walk), walked(demo_bench(), *walk)
    for clip, other in zip(one, again, strict=True):
        assert np.array_equal(clip.samples, other.samples)
    assert not np.array_equal(one[0].samples, one[1].samples)


def test_off_takes_the_console_away():
    """Its held carrier gives way to the open band, whose roar is louder by far (quieting)."""
    on, off = walked(demo_bench(), (107.7, "on"), (107.7, "off"))
    treble = [np.std(np.diff(clip.samples[:, 0], 3)) for clip in (on, off)]
    assert treble[1] > 10 * treble[0]


def test_the_radio_remembers_where_the_dial_came_from():
    """With AFC that holds on, the way a carrier is approached decides how it is heard."""
    receiver = Receiver(afc=True, afc_gain=9.0, afc_pull_khz=60.0, afc_hold_khz=300.0)
    bench = Bench(console=demo_bench().console, receiver=receiver, seed=3)
    away, near = (
        walked(bench, (107.0, "on"), (107.5, "on")),
        walked(bench, *[(107.7, "on"), (107.5, "on")]),
    )
    levels = [np.std(np.diff(clips[1].samples[:, 0], 3)) for clips in (away, near)]
    assert levels[0] > 3 * levels[1]
