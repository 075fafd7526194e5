"""The discriminator against an independent FM modem, liquid-dsp (general-purpose, C).

A small program is compiled against the library of the machine; where that cannot be done these
tests are skipped, or fail if LISTEN_REQUIRE_MODEM=1.  Both demodulate the same IF
signal, noise included.  liquid's freqdem gives the phase step of each sample over 2 pi times
its modulation factor, https://liquidsdr.org/doc/freqmodem/.
"""

import os
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from model_bench import DIAL_MHZ, IDEAL, carrier, db, tone_and_rest

from listen.simulate.air import Window
from listen.simulate.detector import discriminate, intermediate
from listen.simulate.frontend import arrivals

RATE_HZ = 600_000
WINDOW = Window(5.0, 120)

SOURCE = r"""
#include <stdio.h>
#include <liquid/liquid.h>
int main(int argc, char **argv) {
    freqdem dem = freqdem_create(0.125f);
    float pair[2], out;
    FILE *in = fopen(argv[1], "rb"), *to = fopen(argv[2], "wb");
    if (argc < 3 || !in || !to) return 1;
    while (fread(pair, sizeof(float), 2, in) == 2) {
        liquid_float_complex z = pair[0] + pair[1] * _Complex_I;
        freqdem_demodulate(dem, z, &out);
        fwrite(&out, sizeof(float), 1, to);
    }
    fclose(in); fclose(to); freqdem_destroy(dem);
    return 0;
}
"""


def missing(what):
    """Skip, or fail where the comparison is required."""
    if os.environ.get("LISTEN_REQUIRE_MODEM") == "1":
        pytest.fail(what)
    pytest.skip(what)


@pytest.fixture(scope="module")
def liquid(tmp_path_factory):
    if not shutil.which("gcc"):
        missing("no C compiler here to build the program that calls liquid-dsp")
    folder = tmp_path_factory.mktemp("liquid")
    (folder / "fm.c").write_text("#include <complex.h>\n" + SOURCE)
    command = ["gcc", "-O1", "fm.c", "-lliquid", "-lm", "-o", "fm"]
    built = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if built.returncode and not Path("/usr/include/liquid/liquid.h").exists():
        missing("liquid-dsp's header and library are not installed here")
    assert built.returncode == 0, built.stderr

    def demodulate_hz(signal):
        signal.astype(np.complex64).tofile(folder / "in")
        subprocess.run([folder / "fm", folder / "in", folder / "out"], check=True)
        return np.fromfile(folder / "out", np.float32).astype(np.float64) * 0.125 * RATE_HZ

    return demodulate_hz


def if_signal(strength_db, **changes):
    """The IF's Fourier coefficients, lowest first, and its samples."""
    bench = carrier(strength_db, **changes)
    heard = arrivals(IDEAL, DIAL_MHZ, bench.emissions(), 300.0)
    rng = np.random.default_rng(3)
    lines = intermediate(IDEAL, heard, WINDOW, RATE_HZ, 1, rng)
    return lines, np.fft.ifft(np.fft.ifftshift(lines)) * lines.size


def low_passed(hz):
    """A frequency over time, cut at 15 kHz, without its first and last 20 ms."""
    lines = np.fft.rfft(hz)
    lines[int(15_000 * WINDOW.length_s) :] = 0
    return np.fft.irfft(lines, hz.size)[12_000:-12_000]


@pytest.mark.parametrize("strength_db", [60.0, 20.0, 12.0, 6.0, 0.0])
def test_both_hear_the_same_audio(liquid, strength_db):
    lines, signal = if_signal(strength_db, programme="chip")
    ours = low_passed(discriminate(IDEAL, lines, WINDOW, RATE_HZ).hz.astype(np.float64))
    theirs = low_passed(liquid(signal))
    # The two differ by rounding alone, but where single precision decides on which side of half
    # a cycle a step falls: a few clicks among the thousands at 0 dB.
    assert db(np.mean((ours - theirs) ** 2) / np.mean(theirs**2)) < -30


@pytest.mark.parametrize("strength_db", [40.0, 25.0, 15.0, 8.0])
def test_both_find_the_same_signal_to_noise_ratio(liquid, strength_db):
    lines, signal = if_signal(strength_db, programme="tone", deviation_khz=75.0)
    ratios_db = []
    for hz in (discriminate(IDEAL, lines, WINDOW, RATE_HZ).hz, liquid(signal)):
        audio = low_passed(np.asarray(hz, np.float64))
        loud, rest = tone_and_rest(audio, 440.0, RATE_HZ)
        ratios_db.append(db(loud / rest))
    assert ratios_db[0] == pytest.approx(ratios_db[1], abs=0.02)
    # And above threshold it is what theory says: 3/2 (75/15)² (200/15) C/N.
    if 12 < strength_db < 30:
        theory_db = db(1.5 * 25 * 200 / 15) + strength_db
        # below it by the passband's distortion at 25 dB: 1 dB
        assert ratios_db[1] == pytest.approx(theory_db, abs=1.3)
