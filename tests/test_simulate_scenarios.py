"""Random benches, their truth, the demonstration, and sweeps as folders.

Rasters and tolerances: 47 CFR 73.201 and 73.1545(b)(1); channels as in the published plans.
"""

import numpy as np
import pytest
from model_bench import db, power

from listen.channels import by_name
from listen.errors import CannotWrite
from listen.folder import read_folder
from listen.simulate.bench import write_sweep
from listen.simulate.scenarios import BAND_MHZ, WITHIN_REACH, demo_bench, dial_stops, random_bench

SEEDS = range(60)


def test_the_same_seed_gives_the_same_bench():
    assert random_bench(7) == random_bench(7)
    assert random_bench(7) != random_bench(8)


def test_truth_is_the_benchs_own():
    for seed in SEEDS:
        bench, truth = random_bench(seed)
        (sound, picture), nominal = (
            bench.console.emissions()[:2],
            by_name(f"{truth.plan}:{truth.channel}"),
        )
        assert truth.sound_mhz == sound.mhz
        assert truth.picture_mhz == picture.mhz
        assert truth.spacing_mhz == pytest.approx(sound.mhz - picture.mhz)
        assert abs(truth.sound_mhz - nominal.sound_mhz) <= 0.105 + 1e-9
        assert 20 <= truth.strength_db <= 45
        assert bench.console.deviation_khz == (25 if nominal.system in "MJN" else 50)


@pytest.mark.parametrize("wanted", [0, 1, 15])
def test_as_many_stations_are_there_as_were_asked_for(wanted):
    for seed in SEEDS:
        bench, _ = random_bench(seed, stations=(wanted, wanted), console_db=None)
        assert len(bench.stations) == wanted


@pytest.mark.parametrize(("raster_khz", "first_mhz"), [(100, 87.5), (200, 88.1)])
def test_stations_sit_on_the_raster_and_clear_of_the_console(raster_khz, first_mhz):
    counts = set()
    for seed in SEEDS:
        bench, truth = random_bench(seed, raster_khz=raster_khz, stations=(5, 15))
        counts.add(len(bench.stations))
        for mhz in truth.stations_mhz:
            steps = (mhz - first_mhz) * 1000 / raster_khz
            assert abs(steps - round(steps)) * raster_khz <= 2.001
            assert abs(mhz - truth.sound_mhz) >= 0.345
            assert BAND_MHZ[0] <= mhz <= BAND_MHZ[1]
    assert min(counts) == 5
    assert max(counts) == 15


def test_a_bench_without_a_console_says_so():
    bench, truth = random_bench(3, console_db=None)
    assert bench.console is None
    assert (truth.sound_mhz, truth.picture_mhz, truth.channel) == (None, None, None)
    assert bench.stations


def test_every_channel_named_lies_on_the_dial():
    for name in WITHIN_REACH:
        assert BAND_MHZ[0] < by_name(name).sound_mhz < BAND_MHZ[1]


def test_a_dial_has_all_its_positions():
    assert dial_stops(200.0)[:3] == (87.5, 87.7, 87.9)
    assert len(dial_stops(100.0)) == 206
    assert dial_stops(50.0, (107.0, 108.0))[-1] == 108.0


def test_the_demonstration_moves_from_channel_5_to_4():
    for moved, sound_mhz, picture_mhz in ((False, 107.75, 102.25), (True, 100.75, 95.25)):
        bench = demo_bench(moved)
        assert bench.console.true_sound_mhz == pytest.approx(sound_mhz, abs=0.06)
        assert bench.console.picture_mhz == pytest.approx(picture_mhz, abs=0.06)
        on, off = (
            bench.hear(sound_mhz, 1.0, switch).samples[:, 0].astype(float)
            for switch in ("on", "off")
        )
        assert db(power(off, 4000, 14_000) / power(on, 4000, 14_000)) > 15
    assert any(abs(station.mhz - 101.9) < 0.01 for station in bench.stations)


def test_a_sweep_is_an_ordinary_folder(tmp_path):
    bench = demo_bench()
    stops = [107.7, 107.8, (107.8, "off"), 90.0]
    write_sweep(bench, tmp_path / "sweep", stops, 0.5, pause_s=1.0)
    clips = list(read_folder(tmp_path / "sweep").clips())
    assert [(clip.dial_mhz, clip.console) for clip in clips] == [
        (107.7, "on"),
        (107.8, "on"),
        (107.8, "off"),
        (90.0, "on"),
    ]
    assert [(clip.at - clips[0].at).total_seconds() for clip in clips] == [0, 1.5, 3.0, 4.5]
    again = bench.hear(107.8, 0.5, "off", 3.0, came_from_mhz=107.8)
    # The folder keeps 16 or 24 bits: half a step of 16 bits, and as much again for dither.
    assert np.abs(clips[2].samples - again.samples).max() < 2 / 32_768
    with pytest.raises(CannotWrite, match="holds a sweep already"):
        write_sweep(bench, tmp_path / "sweep", stops, 0.5)
