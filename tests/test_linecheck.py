"""The line check: levels against AES17 and arithmetic, its findings against model radios.

AES17-2015 defines 0 dBFS as the level of a sine whose peaks reach full scale; the mean square
of that sine is 1/2.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listen.analysis.clipping import flat_tops
from listen.analysis.linecheck import channel_level, check_line
from listen.analysis.linewords import WORDS, finding
from listen.capture import Input
from listen.commands.check import print_check
from listen.errors import BadClip
from listen.simulate.air import Console, Station
from listen.simulate.bench import Bench
from listen.simulate.linein import LineIn
from listen.simulate.receiver import Receiver

RATE_HZ = 48_000
DIAL_MHZ = 99.0


def roar(line_in=None, receiver=None, duration_s=5.0, seed=1, **air):
    bench = Bench(line_in=line_in or LineIn(), receiver=receiver or Receiver(), seed=seed, **air)
    return bench.hear(DIAL_MHZ, duration_s).samples


@pytest.mark.parametrize(
    ("found", "says"),
    [
        ((), "line in: fit for a sweep."),
        (("mono",), "line in: fit for a sweep."),
        (("mono", "no roar"), "line in: fit for a sweep, with a warning."),
        (("silent", "no roar"), "line in: not fit for a sweep as it is."),
    ],
)
def test_the_verdict_does_not_hide_a_warning(found, says, capsys):
    findings = tuple(finding(kind) for kind in found)
    checked = replace(check_line(roar(duration_s=2.0), RATE_HZ), findings=findings)
    print_check(checked, Input(0, "line in", 2, 48_000.0, "a host", True))
    assert capsys.readouterr().out.splitlines()[0] == says


def kinds(samples, rate_hz=RATE_HZ):
    return {each.kind for each in check_line(samples, rate_hz).findings}


def sine(level_db, tone_hz=1000.0, duration_s=1.0):
    t_s = np.arange(int(duration_s * RATE_HZ)) / RATE_HZ
    return 10 ** (level_db / 20) * np.sin(2 * np.pi * tone_hz * t_s)


@given(level_db=st.floats(-80, -0.1), dc=st.floats(-0.2, 0.2))
@settings(deadline=None)
def test_a_sine_reads_its_level_as_aes17_has_it(level_db, dc):
    if 10 ** (level_db / 20) + abs(dc) > 1:
        dc = 0.0
    level = channel_level(sine(level_db) + dc, RATE_HZ)
    assert level.rms_dbfs == pytest.approx(level_db, abs=1e-9)  # whole periods: rounding only
    assert level.dc == pytest.approx(dc, abs=1e-12)


def test_a_full_scale_square_wave_reads_3_db_over_a_sine():
    level = channel_level(np.sign(sine(0, 1001.0)), RATE_HZ)
    # 1001 periods are no whole number of samples: sign(0) at the start is one sample of 48,000.
    assert level.rms_dbfs == pytest.approx(10 * np.log10(2), abs=2e-4)
    assert level.peak_db == 0.0


@pytest.mark.parametrize("limit", [1.0, 0.5])
def test_each_flattened_peak_is_counted_at_full_scale_and_below(limit):
    clipped = np.clip(sine(6, 100.0) * limit, -limit, limit)
    assert flat_tops(clipped)[0] == 200  # 100 periods, both ends
    assert channel_level(clipped, RATE_HZ).flattened_per_s == 200


@given(seed=st.integers(0, 2**32 - 1), peak=st.floats(0.2, 1.0))
@settings(deadline=None)
def test_noise_that_touches_its_highest_value_once_is_not_clipped(seed, peak):
    noise = np.random.default_rng(seed).normal(0, 1, RATE_HZ)
    assert flat_tops(noise / np.abs(noise).max() * peak)[0] == 0


def test_coarse_steps_of_a_quiet_line_are_not_clipped():
    quiet = np.round(sine(-85, 50.0) * 32768) / 32768  # two or three 16-bit steps
    assert np.unique(quiet).size < 6
    assert flat_tops(quiet)[0] == 0


RADIOS = {
    "plain": Receiver(),
    "narrow": Receiver(passband_khz=150.0),
    "wide": Receiver(passband_khz=280.0),
    "75 us": Receiver(deemphasis_us=75.0),
    "no de-emphasis": Receiver(deemphasis_us=0.0),
    "soft mute": Receiver(soft_mute_db=10.0),
    "high cut": Receiver(high_cut_below_db=20.0),
}


@pytest.mark.parametrize("radio", RADIOS)
@pytest.mark.parametrize("duration_s", [2.0, 5.0])
def test_the_roar_of_every_kind_of_radio_is_fit(radio, duration_s):
    assert kinds(roar(receiver=RADIOS[radio], duration_s=duration_s)) == set()


@pytest.mark.parametrize("rate_hz", [8_000, 16_000, 44_100, 96_000])
def test_the_roar_is_fit_at_every_rate(rate_hz):
    assert kinds(roar(LineIn(sample_rate_hz=rate_hz)), rate_hz) == set()


@pytest.mark.parametrize(
    ("line_in", "expected"),
    [
        (LineIn(volume_db=6.0), {"clipping"}),
        (LineIn(volume_db=-40.0), {"quiet"}),
        (LineIn(volume_db=-60.0), {"faint"}),
        (LineIn(channels=2, dead_channel=0), {"dead channel"}),
        (LineIn(channels=2), {"mono"}),
        (LineIn(hum_dbfs=-50.0), set()),
        (LineIn(hum_dbfs=-35.0, mains_hz=60.0), {"hum"}),
        (LineIn(buzz_dbfs=-30.0), {"hum twice"}),
        (LineIn(hum_dbfs=-15.0), {"hum drowns"}),
        (LineIn(noise_suppression=True), {"fading"}),
        (LineIn(agc=True), {"rising"}),
        (LineIn(agc=True, volume_db=-30.0), {"rising"}),
    ],
)
@pytest.mark.parametrize("seed", [1, 2])
def test_each_fault_of_a_line_is_found_and_no_other(line_in, expected, seed):
    assert kinds(roar(line_in, seed=seed)) == expected


@pytest.mark.parametrize(("mains_hz", "level_dbfs"), [(50.0, -35.0), (60.0, -30.0), (60.0, -45.0)])
def test_hum_is_read_at_its_rate_and_level(mains_hz, level_dbfs):
    # The bench gives the level of the whole hum; its tone at the mains rate carries most.
    line_in = LineIn(hum_dbfs=level_dbfs, mains_hz=mains_hz, mains_wander_hz=0.0)
    hum = check_line(roar(line_in), RATE_HZ).hum
    assert hum.mains_hz == mains_hz
    assert hum.once_dbfs > hum.twice_dbfs


@pytest.mark.parametrize("mains_hz", [50, 60])
@pytest.mark.parametrize("times", [1, 2])
def test_a_tone_at_the_mains_rate_reads_the_level_it_was_made_with(mains_hz, times):
    hiss = np.random.default_rng(mains_hz).normal(0, 0.03, 5 * RATE_HZ)
    hum = check_line(hiss + sine(-30, mains_hz * times, 5.0), RATE_HZ).hum
    read_dbfs = hum.once_dbfs if times == 1 else hum.twice_dbfs
    assert hum.mains_hz == mains_hz
    # Spread over 400 seeds 0.033 dB: the noise in the bins of the tone.  Six times that.
    assert read_dbfs == pytest.approx(-30, abs=0.2)


def test_a_picture_s_buzz_is_no_hum():
    """Forty harmonics of a field rate over the roar; a mains' hum has a few."""
    hiss = np.random.default_rng(3).normal(0, 0.03, 5 * RATE_HZ)
    buzz = sum(sine(-45, 60.05 * n, 5.0) for n in range(1, 41))
    assert check_line(hiss + buzz, RATE_HZ).hum is None


def test_no_hum_is_read_where_there_is_none():
    for seed in range(10):
        hiss = np.random.default_rng(seed).normal(0, 0.03, 5 * RATE_HZ)
        assert check_line(hiss, RATE_HZ).hum is None


@pytest.mark.parametrize(
    "air",
    [
        {"stations": (Station(DIAL_MHZ, 40.0, "music"),)},
        {"stations": (Station(DIAL_MHZ, 20.0, "speech"),)},
        {"console": Console(DIAL_MHZ, 30.0, programme="chip")},
        {"console": Console(DIAL_MHZ, 30.0, programme="effects")},
    ],
)
def test_a_programme_is_no_open_spot(air):
    assert kinds(roar(**air)) == {"no roar"}


def test_a_telephone_path_lacks_the_top():
    spectrum = np.fft.rfft(roar()[:, 0])
    spectrum[np.fft.rfftfreq(5 * RATE_HZ, 1 / RATE_HZ) > 7_500] = 0
    assert kinds(np.fft.irfft(spectrum)) == {"no top"}


def test_a_gate_that_opens_and_shuts_pumps():
    sound = roar()[:, 0].astype(float)
    gate = np.where((np.arange(sound.size) // 12_000) % 2, 1.0, 0.5)
    assert kinds(sound * gate) == {"pumping"}


def test_a_stereo_roar_is_a_note_and_no_fault():
    heard = check_line(roar(LineIn(channels=2), receiver=Receiver(stereo="forced")), RATE_HZ)
    assert [(each.kind, each.weight) for each in heard.findings] == [("stereo", "note")]
    assert heard.fit


def test_dc_is_said_and_does_not_count_as_level():
    sound = roar()
    shifted = check_line(sound + 0.05, RATE_HZ)
    plain = check_line(sound, RATE_HZ)
    assert {each.kind for each in shifted.findings} == {"dc"}
    assert shifted.channels[0].rms_dbfs == pytest.approx(plain.channels[0].rms_dbfs, abs=1e-5)


@pytest.mark.parametrize("value", [0.0, 0.3])
def test_a_line_that_never_moves_is_silent(value):
    heard = check_line(np.full((3 * RATE_HZ, 2), value), RATE_HZ)
    assert [each.kind for each in heard.findings] == ["silent"]
    assert not heard.fit


def test_faults_come_before_warnings_before_notes():
    sound = roar(LineIn(channels=2, hum_dbfs=-20.0, volume_db=6.0))
    weights = [each.weight for each in check_line(sound, RATE_HZ).findings]
    assert weights == ["fault", "warning", "note"]


@pytest.mark.parametrize(
    ("samples", "says"),
    [
        (np.zeros((RATE_HZ, 2)), r"1\.00 s of sound came, and the line check needs 2 s"),
        (np.full(3 * RATE_HZ, np.nan), "infinite or not a number"),
    ],
)
def test_what_cannot_be_judged_is_refused(samples, says):
    with pytest.raises(BadClip, match=says):
        check_line(samples, RATE_HZ)


@pytest.mark.parametrize("kind", WORDS)
def test_every_finding_says_what_and_what_to_do(kind):
    numbers = dict.fromkeys(
        ("per_s", "peak_db", "level_dbfs", "number", "percent", "likeness", "mains_hz"), 1.0
    )
    numbers |= dict.fromkeys(("top_db", "evenness", "change_db", "moving_db"), 1.0)
    made = finding(kind, **numbers)
    assert "{" not in made.says
    assert made.says.endswith(".")
    assert bool(made.do) == (kind != "mono")
