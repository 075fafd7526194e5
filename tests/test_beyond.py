"""What a second reading adds, against closed forms."""

import numpy as np
import pytest

from listen.simulate.beyond import Curves, main, spread_khz
from listen.simulate.bound import OFFSETS_KHZ

KINDS = 6


def curves(slopes, scatter):
    """Straight lines through nought, one a kind."""
    middle = np.outer(OFFSETS_KHZ, slopes)
    return Curves(middle, np.repeat(np.asarray(scatter, dtype=float)[None], OFFSETS_KHZ.size, 0))


def test_independent_readings_add_their_information():
    # Textbook: information adds, 1 / spread² = sum over kinds of (slope / scatter)².
    drawn = curves([0.10, 0.05, 0.0, 0.0, 0.0, 0.0], np.diag([1.0, 1.0, 1.0, 1.0, 1.0, 1.0]))
    stop = np.array([10.0])
    assert spread_khz(drawn, stop, [0], 1) == pytest.approx(10.0, rel=0.02)
    both = 1 / np.hypot(0.10, 0.05)
    assert spread_khz(drawn, stop, [0, 1], 1) == pytest.approx(both, rel=0.02)
    # A kind that does not change with the offset adds nothing.
    assert spread_khz(drawn, stop, [0, 2], 1) == pytest.approx(10.0, rel=0.02)


def test_a_reading_that_scatters_with_the_hiss_takes_its_scatter_out():
    # A flat kind correlated by r leaves a variance of 1 - r² (textbook, conditional normal).
    scatter = np.eye(KINDS)
    scatter[0, 1] = scatter[1, 0] = 0.8
    drawn = curves([0.10, 0.0, 0.0, 0.0, 0.0, 0.0], scatter)
    assert spread_khz(drawn, np.array([10.0]), [0, 1], 1) == pytest.approx(6.0, rel=0.02)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--benches", "0"], "start at 1"),
        (["--repeats", "2"], "--repeats at 3"),
        (["--condition", "empty", "--benches", "1"], "no console"),
        (["--condition", "nought"], "no condition is named nought"),
    ],
)
def test_what_cannot_be_judged_is_refused_in_words(capsys, words, says):
    assert main(words) == 2
    assert says in capsys.readouterr().err
