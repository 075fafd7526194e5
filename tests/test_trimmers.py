"""Which trimmer was turned, by the arithmetic of a modulator's three carriers.

Sound = picture + spacing, mirror = picture - spacing (a double-sideband modulator; textbook).
"""

import pytest

from listen.analysis.shift import bell
from listen.analysis.trimmers import TURNED, together

SPREAD_KHZ = 6.0


def heard(picture_khz, spacing_khz, mirror=True, picture=True):
    """The three carriers' moves where picture and spacing change by so much."""
    return together(
        bell(picture_khz + spacing_khz, SPREAD_KHZ),
        bell(picture_khz, SPREAD_KHZ) if picture else None,
        bell(picture_khz - spacing_khz, SPREAD_KHZ) if mirror else None,
    )


@pytest.mark.parametrize(
    ("picture_khz", "spacing_khz", "turned"),
    [(80.0, 0.0, "oscillator"), (0.0, 80.0, "subcarrier"), (90.0, 60.0, "both")],
)
@pytest.mark.parametrize(("mirror", "picture"), [(True, True), (True, False), (False, True)])
def test_the_trimmer_is_told(picture_khz, spacing_khz, turned, mirror, picture):
    if turned == "both" and not picture:
        # A mirror alone fits two trimmers too, at the odds that both were turned.
        assert heard(picture_khz, spacing_khz, mirror, picture).turned in (None, "both")
        return
    assert heard(picture_khz, spacing_khz, mirror, picture).turned == turned


def test_three_looks_at_one_move_tell_it_better_than_one():
    """Three equal independent errors: the mean's is smaller by the root of three (textbook)."""
    whole = heard(40.0, 0.0)
    assert whole.sound.mean_khz == pytest.approx(40.0, abs=0.2)
    # The spacing's own drift of 1.5 kHz and the other explanations leave a little more.
    assert whole.sound.spread_khz == pytest.approx(SPREAD_KHZ / 3**0.5, rel=0.1)


def test_a_sound_carrier_alone_tells_no_trimmer():
    alone = heard(40.0, 0.0, mirror=False, picture=False)
    assert alone.turned is None
    assert alone.odds == TURNED
    assert alone.sound.mean_khz == pytest.approx(40.0)
