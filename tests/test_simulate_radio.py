"""What a real radio adds: images, mutes, AFC, stereo, imperfect limiting, ghosts.

Sources, beside each check: arithmetic of mixing with a 10.7 MHz IF, published observations of
images, IEC 60315-4's way to state AM suppression, single-chip receivers' soft mute (common
practice).
"""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from model_bench import BARE, DIAL_MHZ, IDEAL, carrier, db, heard, power, tone_and_rest

from listen.simulate.air import Console, Emission, Spur, Station
from listen.simulate.bench import Bench
from listen.simulate.broadcast import play
from listen.simulate.frontend import arrivals, ghosts, straight_to_if, tuned_mhz
from listen.simulate.receiver import Receiver

TONE = {"programme": "tone", "seed": 0, "buzz_khz": 0.0, "picture_db": None, "modulation": 1.0}


def bench_of(*emitters, console=None, line_in=BARE, **receiver):
    return Bench(emitters, console, (), replace(IDEAL, **receiver), line_in, 1)


@pytest.mark.parametrize(
    ("true_mhz", "oscillator", "dial_mhz"),
    [
        (107.75, "above", 86.35),  # observed: 107.75 MHz sound at dial 86.35, oscillator above
        (77.6, "below", 99.0),  # observed: a 77.6 MHz station at 99.0, oscillator below
        (71.75, "below", 93.15),
        (113.75, "above", 92.35),
    ],
)
def test_an_image_appears_twice_the_if_away(true_mhz, oscillator, dial_mhz):
    console = Console(true_mhz, 50.0, **TONE)
    rejection = {"oscillator": oscillator, "image_rejection_db": 25.0}
    image = bench_of(console=console, **rejection)
    direct = bench_of(console=replace(console, strength_db=25.0))
    loud, rest = tone_and_rest(heard(image, dial_mhz=dial_mhz), 1000)
    direct_loud, direct_rest = tone_and_rest(heard(direct, dial_mhz=true_mhz), 1000)
    # The image is the carrier less the rejection: the same S/N as a carrier of 25 dB.
    assert db(loud / direct_loud) == pytest.approx(0, abs=0.01)
    assert db(rest / direct_rest) == pytest.approx(0, abs=0.3)
    other = replace(image.receiver, oscillator="below" if oscillator == "above" else "above")
    away, noise = tone_and_rest(heard(replace(image, receiver=other), dial_mhz=dial_mhz), 1000)
    assert away < noise


def test_an_image_moves_against_the_dial():
    # |L - f| is mirrored on the oscillator's far side: 40 kHz above its nominal place an image
    # stands 40 kHz below the centre.
    receiver = replace(IDEAL, image_rejection_db=10.0)
    (found,) = arrivals(receiver, 86.35, Spur(107.79, 40.0).emissions(), 250.0)
    assert found.offset_hz == pytest.approx(-40_000, abs=0.01)
    assert found.strength_db == pytest.approx(30.0)


def test_an_image_is_heard_upside_down():
    # Beyond the oscillator a higher frequency makes a lower IF: the audio changes its sign.
    console = Console(107.75, 60.0, **TONE)
    bench = bench_of(console=console, image_rejection_db=10.0)
    direct, image = heard(bench, 1.0, 107.75), heard(bench, 1.0, 86.35)
    assert np.corrcoef(direct, image)[0, 1] < -0.99


@pytest.mark.parametrize(("oscillator", "dial_mhz"), [("above", 92.65), ("below", 103.35)])
def test_half_an_if_away_the_deviation_is_doubled(oscillator, dial_mhz):
    # 2 L - 2 f = 10.7 MHz: 5.35 MHz from the carrier, on the side away from the oscillator.
    console = Console(98.0, 60.0, deviation_khz=25.0, **TONE)
    bench = bench_of(console=console, oscillator=oscillator, half_if_rejection_db=40.0)
    direct, _ = tone_and_rest(heard(bench, dial_mhz=98.0), 1000)
    twice, _ = tone_and_rest(heard(bench, dial_mhz=dial_mhz), 1000)
    assert db(twice / direct) == pytest.approx(6.02, abs=0.02)


@dataclass(frozen=True)
class Wavering:
    """A carrier with 30 % AM at 1 kHz, standing off_hz from the dial."""

    off_hz: float = 0.0
    half_width_khz: float = 5.0

    def track(self, window, rate_hz):
        t_s = window.times_s(rate_hz)
        return np.full(t_s.size, self.off_hz), 1 + 0.3 * np.sin(2 * np.pi * 1000 * t_s)

    def emissions(self):
        return (Emission(DIAL_MHZ, 60.0, ((self, 1),)),)


@pytest.mark.parametrize("rejection_db", [30.0, 45.0])
def test_am_rejection_is_what_it_says(rejection_db):
    # IEC 60315-4: output of 30 % AM against that of 30 % FM (22.5 kHz) at the same level.
    am, _ = tone_and_rest(heard(bench_of(Wavering(), am_rejection_db=rejection_db)), 1000)
    console = Console(DIAL_MHZ, 60.0, deviation_khz=22.5, **TONE)
    fm, _ = tone_and_rest(heard(bench_of(console=console, am_rejection_db=rejection_db)), 1000)
    assert db(fm / am) == pytest.approx(rejection_db, abs=0.2)


def test_am_rejection_collapses_off_tune():
    # Common practice: the IF's slope and the discriminator's standing voltage let AM through.
    spots = [
        tone_and_rest(heard(bench_of(Wavering(off_hz), am_rejection_db=40.0)), 1000)[0]
        for off_hz in (0.0, 60_000.0)
    ]
    assert db(spots[1] / spots[0]) > 3


def test_a_hard_mute_is_digital_silence_before_the_line():
    receiver = {"hard_mute_db": 8.0, "mute_window_khz": 60.0}
    silent = replace(BARE, floor_dbfs=-400.0)
    bench = bench_of(console=Console(DIAL_MHZ, 40.0, **TONE), line_in=silent, **receiver)
    assert np.abs(heard(bench, 1.0)).max() > 0.1
    assert np.abs(heard(bench, 1.0, console="off")).max() < 1e-15  # no carrier
    assert np.abs(heard(bench, 1.0, DIAL_MHZ + 0.09)).max() < 1e-15  # a carrier, off tune


def test_a_soft_mute_turns_roar_down_by_sixteen_decibels_at_most():
    # Single-chip receivers by default: 2 dB a dB, 16 dB at most.  Noise alone reads 0 dB.
    open_roar = power(heard(carrier(-60.0)), 30, 15_000)
    for threshold_db, cut_db in ((4.0, 8.0), (12.0, 16.0)):
        muted = power(heard(carrier(-60.0, receiver={"soft_mute_db": threshold_db})), 30, 15_000)
        assert db(open_roar / muted) == pytest.approx(cut_db, abs=0.1)
    loud = {"receiver": {"soft_mute_db": 12.0}}
    assert np.array_equal(heard(carrier(40.0, **loud), 0.5), heard(carrier(40.0), 0.5))


def test_it_is_silent_after_each_step():
    clip = carrier(-60.0, receiver={"mute_after_step_s": 0.3}).hear(DIAL_MHZ, 1.0)
    samples = clip.samples[:, 0]
    assert np.abs(samples[: round(0.3 * 48_000)]).max() < 1e-5
    assert samples[round(0.35 * 48_000) :].std() > 0.01


def test_afc_holds_on_while_the_dial_is_turned_away():
    receiver = Receiver(afc=True, afc_gain=5.0, afc_pull_khz=120.0, afc_hold_khz=250.0)
    air = Spur(98.0, 40.0).emissions()
    # The loop leaves 1 / (1 + gain) of the error: 60 kHz become 10 kHz.
    assert tuned_mhz(receiver, 98.06, air) == pytest.approx(98.01, abs=1e-6)
    assert tuned_mhz(receiver, 98.2, air) == pytest.approx(98.2)  # beyond its pull
    assert tuned_mhz(receiver, 98.2, air, came_from_mhz=98.1) == pytest.approx(98.2 - 0.2 * 5 / 6)
    assert tuned_mhz(receiver, 98.3, air, came_from_mhz=98.1) == pytest.approx(98.3)  # let go
    assert tuned_mhz(replace(receiver, afc=False), 98.06, air) == 98.06


def test_stereo_is_separated_and_forced_stereo_is_noisier():
    station = Station(DIAL_MHZ, 60.0, "music", 4, preemphasis_us=0.0)
    stereo = replace(BARE, channels=2, floor_dbfs=-400.0)
    bench = bench_of(station, line_in=stereo, stereo="auto", passband_khz=300.0)
    clip = bench.hear(DIAL_MHZ, 2.0)
    left, right = clip.samples.T
    assert np.corrcoef(left, right)[0, 1] < 0.99
    mono = replace(bench, receiver=replace(bench.receiver, stereo="mono")).hear(DIAL_MHZ, 2.0)
    assert np.array_equal(*mono.samples.T)
    middle = (left + right) / 2
    assert np.abs(middle - mono.samples[:, 0]).max() < 1e-5
    # A console has no pilot: "auto" stays mono, "forced" adds the hiss around 38 kHz.
    # Parabolic noise: 23 to 53 kHz against 0 to 15 kHz, up to some 20 dB (common practice).
    console = {"line_in": {"channels": 2, "floor_dbfs": -400.0}}
    quiet = carrier(30, receiver={"stereo": "auto"}, **console).hear(DIAL_MHZ, 2.0).samples
    noisy = carrier(30, receiver={"stereo": "forced"}, **console).hear(DIAL_MHZ, 2.0).samples
    assert np.array_equal(quiet[:, 0], quiet[:, 1])
    ratio_db = db(power(noisy[:, 0], 30, 15_000) / power(quiet[:, 0], 30, 15_000))
    assert 10 < ratio_db < 24


def test_a_station_is_as_wide_as_its_programme():
    station = Station(DIAL_MHZ, 60.0, "music", 4, preemphasis_us=0.0)
    line_in = replace(BARE, channels=2, floor_dbfs=-400.0)
    bench = bench_of(station, line_in=line_in, stereo="auto", passband_khz=300.0)
    left, right = bench.hear(DIAL_MHZ, 2.0).samples.T.astype(np.float64)
    middle, side = play("music", 4, 0.0, 80_000, 40_000)
    heard_db = db(np.var(left - right) / np.var(left + right))
    # The limiter at full deviation takes up to 1 dB from either.
    assert heard_db == pytest.approx(db(side.var() / middle.var()), abs=1.5)


def test_a_decoder_gives_back_left_and_right():
    # A pure difference: 47 CFR 73.322, sub-carrier crossing zero upward with the pilot.
    @dataclass(frozen=True)
    class LeftOnly:
        half_width_khz: float = 128.0

        def track(self, window, rate_hz):
            t_s = window.times_s(rate_hz)
            tone = np.sin(2 * np.pi * 1000 * t_s)
            pilot = np.sin(2 * np.pi * 19_000 * t_s)
            carrier_38 = np.sin(2 * np.pi * 38_000 * t_s)
            return 75e3 * (0.45 * tone + 0.45 * tone * carrier_38 + 0.09 * pilot), None

        def emissions(self):
            return (Emission(DIAL_MHZ, 60.0, ((self, 1),)),)

    stereo = replace(BARE, channels=2)
    bench = bench_of(LeftOnly(), line_in=stereo, stereo="auto", passband_khz=300.0)
    left, right = bench.hear(DIAL_MHZ, 2.0).samples.T.astype(np.float64)
    assert db(tone_and_rest(left, 1000)[0] / tone_and_rest(right, 1000)[0]) > 30


def test_two_strong_carriers_make_ghosts():
    # Third order: 2a - b, 3 S - 2 I for equal levels; second order: a - b at 10.7 MHz is heard
    # all over the dial.
    receiver = replace(IDEAL, intercept_db=60.0)
    air = (*Spur(95.0, 50.0).emissions(), *Spur(97.0, 50.0).emissions())
    made = {round(e.mhz, 3): e.strength_db for e in ghosts(receiver, air)}
    assert made == pytest.approx({93.0: 30.0, 99.0: 30.0})
    apart = (*Spur(104.0, 50.0).emissions(), *Spur(93.31, 50.0).emissions())
    (through,) = straight_to_if(receiver, apart)
    assert through.offset_hz == pytest.approx(-10_000, abs=0.1)
    assert ghosts(IDEAL, air) == ()


def test_a_swamped_front_end_loses_the_weak():
    receiver = replace(IDEAL, blocking_db=50.0)
    air = (*Spur(95.0, 60.0).emissions(), *Spur(98.0, 30.0).emissions())
    (found,) = arrivals(receiver, 98.0, air, 200.0)
    assert found.strength_db == pytest.approx(20.0)


def test_misalignment_moves_both_cliffs_alike():
    cliffs_khz = {}
    for off_khz in (0.0, 30.0):
        bench = carrier(30, receiver={"misalignment_khz": off_khz})
        for side in (-1, 1):
            far_khz = np.arange(110, 241, 10) - side * off_khz
            levels_db = [db(_treble(bench, side * khz)) for khz in far_khz]
            cliffs_khz[off_khz, side] = side * np.interp(-40.0, levels_db, far_khz)
    # The passband lies 30 kHz above the dial: the carrier is centred with the dial 30 below it.
    # The cliffs fall some 2 dB a kHz and a level there spreads by 1 dB.
    assert cliffs_khz[0.0, 1] + cliffs_khz[0.0, -1] == pytest.approx(0, abs=3)
    for side in (-1, 1):
        assert cliffs_khz[30.0, side] - cliffs_khz[0.0, side] == pytest.approx(-30, abs=3)


def _treble(bench, off_khz):
    return power(heard(bench, 0.4, DIAL_MHZ + off_khz / 1000), 4000, 14_000)


def test_dial_scale_error_and_scatter():
    receiver = Receiver(dial_offset_khz=100.0, dial_slope_khz_per_mhz=-20.0)
    assert receiver.dial_error_khz(98.0) == pytest.approx(100.0)
    assert receiver.dial_error_khz(108.0) == pytest.approx(-100.0)
    assert tuned_mhz(receiver, 88.0, ()) == pytest.approx(88.3)
    scattered = carrier(30, receiver={"dial_scatter_khz": 60.0})
    edge_mhz = DIAL_MHZ + 0.17
    spread_db = [
        np.std([db(power(heard(b, 0.3, edge_mhz, at_s=t), 4e3, 14e3)) for t in range(12)])
        for b in (scattered, carrier(30))
    ]
    assert spread_db[0] > 5 > 2 > spread_db[1]


def test_treble_is_cut_at_a_weak_signal():
    plain, cut = (
        heard(carrier(12, receiver={"high_cut_below_db": below}), 1.0) for below in (None, 30.0)
    )
    low_db, high_db = (
        db(power(cut, a, b) / power(plain, a, b)) for a, b in ((100, 500), (9e3, 12e3))
    )
    assert low_db > -0.5
    assert high_db < -9
