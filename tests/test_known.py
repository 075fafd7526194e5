"""What knowing a radio is worth, on a curve made by hand."""

import numpy as np
import pytest

from listen.simulate.bound import OFFSETS_KHZ, Curve
from listen.simulate.known import (
    KNOWN,
    Answer,
    judged,
    laid,
    main,
    priors,
    table,
    told_by,
    unsure_khz,
)


@pytest.fixture(scope="module")
def curve():
    # A Rayleigh envelope lost to noise behind skirts of the 16th power (textbook), a floor of
    # 40 dB: half the roar at 170 kHz by its own formula.  An ordinary radio: 25 dB through 220 kHz.
    away_khz = np.maximum(np.abs(OFFSETS_KHZ), 15.0)
    skirts_db = -10 * np.log10(0.5 ** ((170 / away_khz) ** 16) + 1e-4)
    return Curve(OFFSETS_KHZ, skirts_db, np.full(OFFSETS_KHZ.size, 0.2))


@pytest.fixture(scope="module")
def told(curve):
    return told_by(curve)


@pytest.fixture(scope="module")
def coarse(curve, told):
    return judged(curve, told, 195.0, np.random.default_rng(4))


def mean(dials, name, known):
    return np.mean([getattr(dial[KNOWN.index(known)], name) for dial in dials])


def test_every_dial_that_fits_is_judged(coarse):
    assert len(coarse) == 13  # 195 kHz in steps of 15 kHz; each has a stop within 97 kHz
    assert all(len(dial) == len(KNOWN) for dial in coarse)


@pytest.mark.parametrize("piece", KNOWN[1:])
def test_knowing_more_scores_no_worse(coarse, piece):
    assert mean(coarse, "score", piece) >= mean(coarse, "score", "nothing")


@pytest.mark.parametrize("piece", ["half-width", "all"])
def test_the_half_width_narrows_the_answer(coarse, piece):
    # Not so steepness and foot: an answer may be surer of the wrong ones than of the right.
    assert mean(coarse, "spread_khz", piece) < 0.8 * mean(coarse, "spread_khz", "nothing")


@pytest.mark.parametrize("piece", KNOWN[:3])
def test_knowing_all_is_best(coarse, piece):
    errors_khz = {
        known: np.sqrt(np.mean([dial[n].error_khz ** 2 for dial in coarse]))
        for n, known in enumerate(KNOWN)
    }
    assert mean(coarse, "score", "all") >= mean(coarse, "score", piece)
    assert errors_khz["all"] <= errors_khz[piece]
    if piece != "half-width":  # how sure an answer is follows what it believes, right or wrong
        assert mean(coarse, "spread_khz", "all") <= mean(coarse, "spread_khz", piece)


def test_a_finer_dial_needs_no_knowledge_to_do_better(curve, told, coarse):
    fine = judged(curve, told, 105.0, np.random.default_rng(4))
    assert len(fine) == 7
    assert mean(fine, "spread_khz", "nothing") < mean(coarse, "spread_khz", "nothing")


@pytest.mark.parametrize("within_khz", [80, 200])
def test_the_whole_curve_tells_its_own_half_width(curve, told, within_khz):
    one = laid(curve.offset_khz, curve.middle_db, within_khz)
    assert told.sum(axis=1) @ one.half_width_khz == pytest.approx(170, abs=4)
    assert 1e3 * (one.carrier_mhz[-1] - one.carrier_mhz[0]) / 2 == pytest.approx(within_khz)
    assert 1e3 * (one.carrier_mhz[one.carrier_mhz.size // 2] - 100) == pytest.approx(0, abs=1e-6)
    for prior in priors(one, told):
        assert prior.sum() == pytest.approx(1)


def test_the_table_by_hand():
    dials = [[Answer(e, s, 0.0)] * 4 for e, s in ((3.0, 2.0), (-4.0, 4.0), (0.0, 6.0))]
    lines = table({105.0: [dials]}).splitlines()
    assert [line.split(" |")[0] for line in lines[2:]] == [f"| {known}" for known in KNOWN]
    # Of 3, 4 and 0 the median is 3, the root mean square √(25 / 3); one bench cannot vary.
    assert lines[2] == "| nothing | 3.0 ± 0.0 | 2.9 | 4.0 |"


def test_the_median_s_own_error():
    # Two benches, all 0 and all 8: drawn anew both are 0 or both 8 a quarter of the time each,
    # else the median is 4: √(16 / 2) = 2.83.
    assert unsure_khz([np.zeros(3), np.full(3, 8.0)]) == pytest.approx(8**0.5, rel=0.1)


@pytest.mark.parametrize("words", [["--benches", "0"], ["--first-seed", "-1"]])
def test_bad_requests_are_refused_in_a_sentence(words, capsys):
    assert main(words) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert " ".join(words) in said
    assert "at least 1 bench" in said
