"""Programmes, and what the line-in does to them.

Sources, beside each check: arithmetic, the units' definitions, common practice for operating
systems' sound processing.
"""

from dataclasses import replace

import numpy as np
import pytest
from model_bench import BARE, carrier, db, heard, power

from listen.errors import BadDial
from listen.simulate.broadcast import PLAYERS, play
from listen.simulate.linein import LineIn, hum, record
from listen.simulate.waves import chance, shape_table, steps

RATE_HZ = 40_000


def sine(hz, rate_hz, length_s, size=1.0):
    return size * np.sin(2 * np.pi * hz * np.arange(round(rate_hz * length_s)) / rate_hz)


def quiet(**changes):
    return replace(BARE, volume_db=0.0, floor_dbfs=-400.0, **changes)


def rng():
    return np.random.default_rng(5)


@pytest.mark.parametrize("kind", PLAYERS)
def test_a_programme_goes_on_in_time(kind):
    whole = play(kind, 3, 7.0, 3 * RATE_HZ, RATE_HZ)
    later = play(kind, 3, 8.5, RATE_HZ, RATE_HZ)
    for long, short in zip(whole, later, strict=True):
        if long is not None:
            # Phases are worked out afresh: single precision, times some hundred cycles.
            assert np.abs(long[60_000:100_000] - short).max() < 2e-3


@pytest.mark.parametrize("kind", PLAYERS)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_programme_stays_within_full_deviation(kind, seed):
    middle, side = play(kind, seed, 0.0, 8 * RATE_HZ, RATE_HZ)
    for part in (middle, side):
        if part is not None:
            assert np.isfinite(part).all()
            assert np.abs(part).max() <= 1.05
    assert np.abs(middle).max() > 0.25 or kind == "silence"
    assert not np.array_equal(middle, play(kind, seed + 7, 0.0, 8 * RATE_HZ, RATE_HZ)[0]) or (
        kind in ("silence", "tone")
    )


def test_speech_pauses_and_music_does_not():
    shares = {}
    for kind in ("speech", "music"):
        middle, _ = play(kind, 4, 0.0, 20 * RATE_HZ, RATE_HZ)
        loud = middle.reshape(-1, RATE_HZ // 20).std(axis=1)
        shares[kind] = float((loud < 0.05 * loud.max()).mean())
    # Broadcast speech rests for some 10 to 40 % of the time; compressed music hardly ever.
    assert 0.1 < shares["speech"] < 0.4
    assert shares["music"] == 0


def test_chip_tunes_stand_on_few_lines():
    # Steady pitches: most power within few narrow lines, unlike speech.
    shares = {}
    for kind in ("chip", "speech"):
        middle, _ = play(kind, 2, 10.0, RATE_HZ // 10, RATE_HZ)
        lines = np.sort(np.abs(np.fft.rfft(middle * np.hanning(middle.size))) ** 2)[::-1]
        shares[kind] = lines[:60].sum() / lines.sum()
    assert shares["chip"] > 0.9


def test_a_pulse_of_one_quarter_has_no_fourth_harmonic():
    # Fourier series of a pulse of duty d: sin(pi n d) / n.
    lines = np.abs(np.fft.rfft(shape_table("pulse:0.25", 16)[:-1]))
    assert lines[4] < 1e-4 * lines[1]
    assert lines[3] / lines[1] == pytest.approx(1 / 3, rel=1e-4)
    assert lines[17:].max() < 1e-3 * lines[1]


def test_chance_is_even_and_repeats():
    drawn = chance(9, np.arange(100_000))
    assert np.array_equal(drawn, chance(9, np.arange(100_000)))
    # Uniform: mean 1/2, variance 1/12, neighbours uncorrelated; five standard errors.
    assert drawn.mean() == pytest.approx(0.5, abs=5 * np.sqrt(1 / 12 / 1e5))
    assert drawn.var() == pytest.approx(1 / 12, abs=0.002)
    assert abs(np.corrcoef(drawn[:-1], drawn[1:])[0, 1]) < 5 / np.sqrt(1e5)


def test_steps_leave_out_nothing():
    seen = [(n, s) for n, s, _ in steps(-0.03, 1000, 1000, 0.117)]
    assert seen[0] == (-1, slice(0, 30))
    assert [s.start for _, s in seen[1:]] == [s.stop for _, s in seen[:-1]]
    assert seen[-1][1].stop == 1000


@pytest.mark.parametrize("sample_rate_hz", [8_000, 16_000, 44_100, 48_000, 96_000])
def test_every_sample_rate_records_the_same_tone(sample_rate_hz):
    bench = carrier(50, programme="tone", seed=1, line_in={"sample_rate_hz": sample_rate_hz})
    clip = bench.hear(98.0, 1.5)
    assert clip.samples.shape == (round(1.5 * sample_rate_hz), 1)
    samples = heard(bench, 1.5)
    hz = np.fft.rfftfreq(samples.size, 1 / sample_rate_hz)
    lines = np.abs(np.fft.rfft(samples * np.hanning(samples.size)))
    assert hz[lines.argmax()] in (440.0, 523.25, 1000.0, 1760.0, 2093.0, 220.0)
    # 50 kHz of deviation is 2/3 of full: -3.52 dB re a sine of 75 kHz.
    assert db(2 * power(samples, 100, 3900, sample_rate_hz)) == pytest.approx(-3.52, abs=0.05)


def test_hum_stands_at_its_rate_and_level_and_wanders():
    line_in = quiet(hum_dbfs=-40.0, mains_hz=60.0, mains_wander_hz=0.03)
    t_s = np.arange(20 * 4000) / 4000
    wave = hum(line_in, t_s).astype(np.float64)
    assert db(2 * power(wave, 58, 62, 4000)) == pytest.approx(-40, abs=0.05)
    turns = np.flatnonzero((wave[:-1] < 0) & (wave[1:] >= 0)).size
    assert turns == pytest.approx(60 * 20, abs=2)
    still = hum(replace(line_in, mains_wander_hz=0.0), t_s)
    assert np.abs(wave - still).max() > 0.3 * np.abs(wave).max()
    buzz = hum(quiet(hum_dbfs=None, buzz_dbfs=-30.0, mains_hz=50.0), t_s).astype(np.float64)
    assert power(buzz, 45, 55, 4000) < 1e-4 * power(buzz, 95, 105, 4000)
    assert power(buzz, 195, 205, 4000) > 0.05 * power(buzz, 95, 105, 4000)


def test_the_floor_has_its_level():
    played = np.zeros((96_000, 1))
    floor = record(replace(BARE, floor_dbfs=-60.0), played, 0.0, rng())
    # Full scale is a sine of rms 1/sqrt(2): -60 dBFS is an rms of 0.000707.
    assert floor.std() == pytest.approx(0.000707, rel=0.02)


def test_volume_is_touched_at_its_time_and_loud_sound_clips():
    line_in = quiet(volume_steps=((100.5, 6.02),), channels=2)
    recorded = record(line_in, sine(997, 48_000, 1.0, 0.7)[:, None], 100.0, rng())
    assert recorded.shape == (48_000, 2)
    assert np.abs(recorded[:24_000]).max() == pytest.approx(0.7, abs=1e-3)
    assert np.abs(recorded[24_000:]).max() == 1.0
    assert (np.abs(recorded[24_000:, 0]) == 1.0).mean() == pytest.approx(
        1 - 2 / np.pi * np.arcsin(1 / 1.4), abs=0.01
    )


def test_a_dead_channel_records_its_floor_alone():
    line_in = replace(BARE, channels=2, dead_channel=1, floor_dbfs=-80.0)
    recorded = record(line_in, sine(1000, 48_000, 1.0, 0.5)[:, None], 0.0, rng())
    assert recorded[:, 0].std() > 0.02
    assert recorded[:, 1].std() < 1e-4


def test_noise_suppression_makes_steady_noise_fade():
    noise = rng().normal(0, 0.1, (4 * 48_000, 1))
    recorded = record(quiet(noise_suppression=True), noise, 0.0, rng())
    faded_db = db(recorded[-48_000:].var() / recorded[: 48_000 // 4].var())
    assert -20 < faded_db < -8  # up to 18 dB in the bench


def test_automatic_gain_pumps():
    sound = np.concatenate([sine(500, 48_000, 3, 0.02), sine(500, 48_000, 1, 0.8)])
    recorded = record(quiet(agc=True), np.tile(sound, 2)[:, None], 0.0, rng())[:, 0]
    loud = [recorded[round(s * 48_000) :][:4800].std() for s in (0.05, 2.8, 3.8, 6.8)]
    assert loud[1] > 3 * loud[0]  # it turns the quiet up
    assert loud[2] < 0.8 * 0.7 / 3  # and the loud down
    assert recorded.max() <= 1


def test_the_same_question_gets_the_same_answer():
    bench = carrier(10, programme="chip", line_in=vars_of(LineIn()))
    again = bench.hear(98.05, 0.4, at_s=3.0).samples
    assert np.array_equal(bench.hear(98.05, 0.4, at_s=3.0).samples, again)
    for other in (
        bench.hear(98.05, 0.4, at_s=3.0, visit=1),
        bench.hear(98.05, 0.4, at_s=3.4),
        bench.hear(98.06, 0.4, at_s=3.0),
        bench.hear(98.05, 0.4, "off", at_s=3.0),
        replace(bench, seed=2).hear(98.05, 0.4, at_s=3.0),
    ):
        assert not np.array_equal(other.samples, again)


def vars_of(value):
    return {name: getattr(value, name) for name in value.__slots__}


def test_a_long_stop_goes_on_where_its_pieces_meet():
    bench = carrier(60, programme="tone")
    hz = 523.25  # half a cycle is left over after 10 s
    samples = heard(replace(bench, console=replace(bench.console, seed=2)), 21.0)
    for seam_s in (10, 20):
        near = samples[round((seam_s - 0.1) * 48_000) : round((seam_s + 0.1) * 48_000)]
        t_s = seam_s - 0.1 + np.arange(near.size) / 48_000
        expected = 50 / 75 * np.sin(2 * np.pi * hz * t_s)
        # Hiss at 60 dB is -93 dB; the passband's own distortion of it some -60 dB.
        assert np.abs(near - expected).max() < 0.02


@pytest.mark.parametrize(
    ("dial_mhz", "dwell_s", "says"),
    [
        (9.8, 1.0, "dial at 9.8 came"),
        (float("nan"), 1.0, "dial at nan came"),
        (98.0, 0.0, "stop of 0 s came"),
        (98.0, 1e9, "up to two hours"),
    ],
)
def test_stops_that_no_radio_has_are_refused(dial_mhz, dwell_s, says):
    with pytest.raises(BadDial, match=says):
        carrier(20).hear(dial_mhz, dwell_s)
