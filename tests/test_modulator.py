"""By which way a carrier was heard, from carriers placed by arithmetic.

Sound above picture: 4.5 MHz (M, 47 CFR 73.682(a)(3)), 5.5 (B, G), 6.0 (I) and 6.5 (D, K), ITU-R
BT.470.  A double-sideband modulator's mirror of the sound lies as far below the picture (common
practice).  The image of a 10.7 MHz receiver is 21.4 MHz away (arithmetic of mixing).  Channels:
listen/data/channels.csv, held against published tables elsewhere in these tests.
"""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from listen.analysis.curve import HALF_WIDTHS_KHZ, Reading, fit_carrier
from listen.analysis.evidence import Candidate
from listen.analysis.modulator import (
    HEARD_SO,
    MISSED_PICTURE,
    Dial,
    certainty,
    spacings_mhz,
    ways_of,
    with_ways,
)
from listen.analysis.runs import Run
from listen.channels import by_name

ANY_WIDTH = np.full(HALF_WIDTHS_KHZ.size, 1 / HALF_WIDTHS_KHZ.size)
NUMBER = itertools.count()
STOPS = np.round(np.arange(87.5, 108.01, 0.1), 2)


def carrier(mhz, kind="programme", sound=4.0, quieting_db=25.0, switch=0.0):
    """A carrier whose plateau was seen whole, so that its place is known to some 10 kHz."""
    dial = np.round(mhz + np.arange(-4, 5) / 10, 4)
    readings = [Reading(float(d), 25.0 if abs(d - mhz) < 0.16 else 0.0) for d in dial]
    fit = fit_carrier(readings, mhz, half_width_weights=ANY_WIDTH, coarse=True)
    side = 0 if kind == "buzz" else int(np.sign(sound))
    run = Run((next(NUMBER),), side, kind)
    return Candidate(run, fit, 0.0 if kind == "buzz" else sound, 0.0, switch, None, quieting_db)


def dial_of(*carriers, oscillator=None, plans=None, error_mhz=0.0, visited=STOPS, image_mhz=0.0):
    """A dial that heard those and nothing else."""
    held = [c.fit.mean_mhz for c in carriers]
    open_mhz = [m for m in visited if all(abs(m - h) > 0.2 for h in held)]
    return Dial(
        tuple(carriers),
        lambda mhz: mhz - error_mhz,
        tuple(m - error_mhz for m in open_mhz),
        tuple(m - error_mhz for m in visited),
        oscillator,
        plans,
        image_mhz,
    )


def test_the_spacings_are_those_of_the_systems():
    assert spacings_mhz() == (4.5, 5.5, 6.0, 6.5)


@pytest.mark.parametrize("name", ["jp-air:2", "au-air:4", "oirt-dk:R5"])
def test_a_sound_with_its_picture_one_spacing_below_is_heard_directly(name):
    channel = by_name(name)
    sound, picture = carrier(channel.sound_mhz), carrier(channel.picture_mhz, "buzz")
    ways = ways_of(sound, dial_of(sound, picture))
    assert (ways[0].heard_as, ways[0].spacing_mhz) == ("direct", channel.spacing_mhz)
    assert ways[0].picture is picture.run
    assert certainty(ways, channel.sound_mhz) > 0.95
    assert with_ways(sound, dial_of(sound, picture)).pair > 2


@pytest.mark.parametrize("error_mhz", [-0.04, 0.0, 0.04])
def test_of_a_sound_and_its_mirror_the_upper_one_is_the_sound(error_mhz):
    """Picture 97.25 and spacing 4.5: sound 101.75 and mirror 92.75, on a dial that is off."""
    parts = [carrier(mhz + error_mhz) for mhz in (101.75, 92.75)]
    parts.append(carrier(97.25 + error_mhz, "buzz"))
    dial = dial_of(*parts, error_mhz=error_mhz)
    upper, lower = (ways_of(c, dial) for c in parts[:2])
    assert (upper[0].heard_as, upper[0].mirror) == ("direct", parts[1].run)
    assert lower[0].heard_as == "mirror"
    assert lower[0].sound_mhz(92.75) == pytest.approx(101.75)
    assert with_ways(parts[0], dial).odds > with_ways(parts[1], dial).odds + 2


def test_a_mirror_alone_tells_of_a_sound_beyond_the_dial():
    """Picture 105.25, sound 110.75 (a cable channel): the dial hears 99.75 and the buzz above."""
    mirror, picture = carrier(99.75), carrier(105.25, "buzz")
    ways = ways_of(mirror, dial_of(mirror, picture))
    assert ways[0].heard_as == "mirror"
    assert ways[0].sound_mhz(99.75) == pytest.approx(by_name("eu-ccir-cable:S1").sound_mhz)
    assert certainty(ways, 99.75) > 0.9


def test_the_image_of_a_mirror_is_told_where_a_station_hides_that_of_the_sound():
    """us-air:5 and an oscillator below: sound, picture and mirror of 81.75, 77.25 and 72.75 MHz

    are shown 21.4 MHz higher, at 103.15, 98.65 and 94.15; the dial did not stand near the first.
    """
    channel = by_name("us-air:5")
    visited = STOPS[np.abs(STOPS - 103.15) > 0.35]
    mirror, picture = carrier(94.15, switch=16.0), carrier(98.65, "buzz", switch=16.0)
    ways = ways_of(mirror, dial_of(mirror, picture, visited=visited))
    assert (ways[0].heard_as, ways[0].below, ways[0].oscillator) == ("image", 2, "below")
    assert ways[0].picture is picture.run
    assert ways[0].sound_mhz(94.15) == pytest.approx(channel.sound_mhz)
    told = ways_of(mirror, dial_of(mirror, picture))  # where it did, and heard nothing there
    assert told[0].weight < ways[0].weight


def test_no_mirror_where_its_sound_was_listened_for_in_vain():
    mirror, picture = carrier(92.75), carrier(97.25, "buzz")
    ways = ways_of(mirror, dial_of(mirror, picture))
    assert not [
        w for w in ways if w.heard_as == "mirror" and w.spacing_mhz == 4.5 and w.weight > -5
    ]


@pytest.mark.parametrize(
    ("name", "oscillator", "shift_mhz"),
    [("us-air:4", "below", 21.4), ("us-cable-std:99", "above", -21.4)],
)
def test_an_image_is_told_by_the_plans(name, oscillator, shift_mhz):
    channel = by_name(name)
    sound = carrier(channel.sound_mhz + shift_mhz)
    picture = carrier(channel.picture_mhz + shift_mhz, "buzz")
    ways = ways_of(sound, dial_of(sound, picture))
    assert (ways[0].heard_as, ways[0].oscillator) == ("image", oscillator)
    assert ways[0].sound_mhz(channel.sound_mhz + shift_mhz) == pytest.approx(channel.sound_mhz)
    other = "above" if oscillator == "below" else "below"
    impossible = ways_of(sound, dial_of(sound, picture, oscillator=other))
    assert oscillator not in {way.oscillator for way in impossible}


@pytest.mark.parametrize("error_mhz", [-0.025, 0.025])
def test_an_image_shows_the_passband_s_error_the_other_way(error_mhz):
    """A passband off by 25 kHz: 119.75 less 21.4 shows 25 kHz to the other side (mixing)."""
    channel = by_name("us-cable-std:99")
    sound, picture = (
        carrier(mhz - 21.4 - error_mhz, kind)
        for mhz, kind in ((channel.sound_mhz, "programme"), (channel.picture_mhz, "buzz"))
    )
    dial = dial_of(sound, picture, error_mhz=error_mhz, image_mhz=2 * error_mhz)
    best = ways_of(sound, dial)[0]
    assert (best.heard_as, best.picture) == ("image", picture.run)
    place_mhz = dial.true_mhz(channel.sound_mhz - 21.4 - error_mhz)
    assert best.sound_mhz(place_mhz) == pytest.approx(channel.sound_mhz)


def test_a_harmonic_is_told_by_its_fellows():
    """Australia's channel 0, sound 51.75 and picture 46.25: 103.5, 98.0 and 92.5 on the dial."""
    twice, both, picture = carrier(103.5), carrier(98.0), carrier(92.5, "buzz")
    ways = ways_of(twice, dial_of(twice, both, picture))
    assert ways[0].heard_as == "harmonic"
    assert ways[0].sound_mhz(103.5) == pytest.approx(by_name("au-air:0").sound_mhz)


def test_a_picture_that_must_be_heard_and_is_not_speaks_against_a_sound():
    lonely = carrier(100.75)
    (way,) = [
        w
        for w in ways_of(lonely, dial_of(lonely))
        if w.heard_as == "direct" and w.spacing_mhz == 5.5
    ]
    assert way.partners == MISSED_PICTURE
    below = carrier(89.75)  # its picture would lie below the dial: nobody listened there
    assert max(w.partners for w in ways_of(below, dial_of(below)) if w.heard_as == "direct") == 0


def test_a_subcarrier_off_by_150_khz_still_finds_its_picture():
    """Careless trimming; the picture stays where it was."""
    sound, picture = carrier(100.90), carrier(95.25, "buzz")
    ways = ways_of(sound, dial_of(sound, picture))
    assert (ways[0].heard_as, ways[0].picture) == ("direct", picture.run)


def test_stations_are_nobody_s_partners():
    """A music station sits where a mirror would."""
    sound, station = carrier(101.75), carrier(92.75, sound=-4.0)
    assert ways_of(sound, dial_of(sound, station))[0].mirror is None


def test_the_way_by_which_another_sweep_heard_the_console_is_likelier_and_no_other():
    alone = carrier(101.92)
    dial = dial_of(alone)
    direct = next(way for way in ways_of(alone, dial) if way.heard_as == "direct")
    told = ways_of(alone, replace(dial, heard_by=direct))
    assert told[0].heard_as == "direct"
    kinds = [(w.heard_as, w.spacing_mhz, w.below, w.oscillator) for w in told]
    for way in ways_of(alone, dial):
        at = kinds.index((way.heard_as, way.spacing_mhz, way.below, way.oscillator))
        more = HEARD_SO if way.heard_as == "direct" else 0.0
        assert told[at].weight == pytest.approx(way.weight + more)


def test_an_image_is_weaker_than_what_is_heard_directly():
    """Mirror of US 6, 78.75, at its image 100.15: a partner only if it is much noisier."""
    sound = carrier(87.75, quieting_db=40.0)
    for quieting_db, counts in ((20.0, True), (38.0, False)):
        ghost = carrier(100.15, quieting_db=quieting_db)
        best = with_ways(sound, dial_of(sound, ghost))
        assert (best.pair > 1) == counts


def test_the_plans_asked_for_count_most_and_the_others_a_tenth():
    sound = carrier(91.75)
    every, asked, other = (
        max(w.plan for w in ways_of(sound, dial_of(sound, plans=p)) if w.heard_as == "direct")
        for p in (None, ("au-air",), ("jp-air",))
    )
    assert asked > every + 1
    assert every - np.log(10) <= other < every - 1


@pytest.mark.parametrize("plan", ["jp-air", "us-cable-std", "au-air"])
def test_a_pair_that_was_heard_names_the_spacing_whatever_plan_was_asked_for(plan):
    """A console on Australia's channel 5 shares its sound, 107.75, with other plans' 103.25."""
    channel = by_name("au-air:5")
    sound, buzz = carrier(channel.sound_mhz), carrier(channel.picture_mhz, "buzz")
    visited = STOPS[(STOPS < 102.6) | (STOPS > 107.3)]  # nobody listened at 103.25
    best = ways_of(sound, dial_of(sound, buzz, plans=(plan,), visited=visited))[0]
    assert (best.heard_as, best.spacing_mhz, best.picture) == ("direct", 5.5, buzz.run)


def test_a_buzz_that_no_way_explains_speaks_against_none():
    sound, far = carrier(91.75), carrier(106.4, "buzz")
    alone, with_far = ways_of(sound, dial_of(sound)), ways_of(sound, dial_of(sound, far))
    assert with_far[0].stray == 0
    assert with_far[0].weight == pytest.approx(alone[0].weight)


def test_a_buzz_is_no_sound_carrier():
    buzz = carrier(97.25, "buzz")
    assert ways_of(buzz, dial_of(buzz)) == ()
    assert with_ways(buzz, dial_of(buzz)).probability < 0.05


def test_a_picture_that_the_switch_proved_proves_its_sound():
    channel = by_name("au-air:4")
    sound = carrier(channel.sound_mhz)
    picture = carrier(channel.picture_mhz, "buzz", switch=16.0)
    station = carrier(channel.picture_mhz, "buzz", switch=-16.0)
    proved, alone = (with_ways(sound, dial_of(sound, other)) for other in (picture, station))
    assert proved.pair > 6
    assert alone.pair <= 0


def test_a_mirror_is_looked_for_as_far_off_as_twice_its_subcarrier_is():
    """A subcarrier 150 kHz high: the mirror lies 300 kHz below its place."""
    sound, picture, mirror = carrier(101.90), carrier(97.25, "buzz"), carrier(92.60)
    assert ways_of(sound, dial_of(sound, picture, mirror))[0].mirror is mirror.run


@pytest.mark.parametrize(("oscillator", "at_mhz"), [("above", 96.9), ("below", 107.6)])
def test_a_strong_picture_s_buzz_half_way_to_its_image_is_held_against_no_way(oscillator, at_mhz):
    """Sound 107.75, picture 102.25; half an intermediate frequency is 10.7 / 2 = 5.35 MHz.

    An oscillator 10.7 above the dial is 5.35 above a carrier 5.35 above the dial; twice both are
    10.7 apart.  With the oscillator below, the dial is 5.35 above the carrier.
    """
    sound, picture = carrier(107.75), carrier(102.25, "buzz")
    half_way = carrier(at_mhz, "buzz")
    heard = sound, picture, half_way

    def stray(*carriers, side, visited=STOPS):
        dial = dial_of(*carriers, oscillator=side, visited=visited)
        ways = ways_of(sound, dial)
        return next(w.stray for w in ways if w.heard_as == "direct" and w.spacing_mhz == 5.5)

    other = {"above": "below", "below": "above"}[oscillator]
    assert stray(*heard, side=oscillator) == stray(*heard, side=None) == 0
    assert stray(*heard, side=other) < 0
    # Where the picture's own place is silent there is no picture strong enough.
    assert stray(sound, half_way, side=oscillator) < 0
    assert with_ways(sound, dial_of(*heard)).pair == with_ways(sound, dial_of(sound, picture)).pair
