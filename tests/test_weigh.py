"""Which carrier of a sweep is put first, and which of them are fitted finely."""

from dataclasses import replace

import pytest

from listen.analysis import weigh as weighing
from listen.analysis.measures import measure
from listen.analysis.weigh import is_find, weigh
from listen.radio import Radio
from listen.simulate.air import Console
from listen.simulate.bench import Bench
from listen.simulate.receiver import Receiver

FIRST_MHZ, SECOND_MHZ = 100.783, 91.733  # by Australian channels 4 and 3
DWELL_S = 1.0


def heard(sound_mhz, strength_db, mirror_db=None, around_mhz=None):
    """The stops round a console on an empty dial, or round another place of it."""
    console = Console(
        sound_mhz,
        strength_db,
        spacing_mhz=5.5,
        deviation_khz=50.0,
        modulation=0.7,
        programme="chip",
        mirror_db=mirror_db,
        seed=5,
    )
    bench = Bench((), console, receiver=Receiver(passband_khz=200.0), seed=9001)
    middle_mhz = round(around_mhz or sound_mhz, 1)
    dial_mhz = [round(middle_mhz + n / 10, 1) for n in range(-8, 9)]
    return [measure(bench.hear(mhz, DWELL_S, "on", 2.0 * n)) for n, mhz in enumerate(dial_mhz)]


@pytest.fixture(scope="module")
def two():
    """Two carriers that sound like a console's, far apart on one dial."""
    return tuple(heard(SECOND_MHZ, 30.0) + heard(FIRST_MHZ, 30.0))


def fine_fits(monkeypatch):
    """Where weigh fits finely, MHz, and the places that it must call no find, to be filled in."""
    fitted, barred = [], []
    told = weighing._refined

    def watched(one, *rest):
        found = told(one, *rest)
        best = found.candidates[0]
        fitted.append(best.fit.mean_mhz)
        if any(abs(best.fit.mean_mhz - mhz) < 0.2 for mhz in barred):
            best = replace(best, near=0.1)  # what a fine fit may turn out to be: too wide
            found = replace(found, candidates=(best, *found.candidates[1:]))
        return found

    monkeypatch.setattr(weighing, "_refined", watched)
    return fitted, barred


def test_only_the_likeliest_is_fitted_finely_where_that_is_a_find(two, monkeypatch):
    fitted, _ = fine_fits(monkeypatch)
    told = weigh(two, Radio())
    assert is_find(told, told.candidates[0])
    assert len(fitted) == 1


def test_where_the_likeliest_is_no_find_after_all_the_next_one_may_be(two, monkeypatch):
    plain = weigh(two, Radio())
    first, second = (c.fit.mean_mhz for c in plain.candidates[:2])
    assert sorted([first, second]) == pytest.approx([SECOND_MHZ, FIRST_MHZ], abs=0.05)
    fitted, barred = fine_fits(monkeypatch)
    barred.append(first)
    told = weigh(two, Radio())
    assert fitted == pytest.approx([first, second], abs=0.05)
    assert [c.fit.mean_mhz for c in told.candidates] == pytest.approx([second, first], abs=0.05)
    assert is_find(told, told.candidates[0])
    barred.append(second)  # neither of them: then the likeliest is spoken of
    told = weigh(two, Radio())
    assert told.candidates[0].fit.mean_mhz == pytest.approx(first, abs=0.05)
    assert not is_find(told, told.candidates[0])


def test_what_the_switch_proved_gives_way_to_none_that_it_did_not(two, monkeypatch):
    first = weigh(two, Radio()).candidates[0].fit.mean_mhz
    nothing = Bench((), None, receiver=Receiver(passband_khz=200.0), seed=9001)
    off = measure(nothing.hear(round(first, 1), DWELL_S, "off", 90.0))
    fitted, barred = fine_fits(monkeypatch)
    barred.append(first)
    told = weigh((*two, off), Radio())
    assert len(fitted) == 2
    assert told.candidates[0].fit.mean_mhz == pytest.approx(first, abs=0.05)
    assert told.candidates[0].switch > 0


def test_a_mirror_is_as_sure_as_its_picture_places_the_sound():
    """Heard alone it stands two spacings below, each off as a subcarrier may be: 0.895.

    0.7 · P(|x| < 150 kHz) of a normal error of 2 · 15 kHz, and 0.3 of one of 2 · 80: 0.895.
    """
    mirror, picture = (heard(110.75, 40.0, -1.0, around) for around in (99.75, 105.25))
    alone = weigh(tuple(mirror), Radio(), plans=("eu-ccir-cable",))
    assert alone.ways[0].heard_as == "mirror"
    best = alone.candidates[0]
    assert best.near == pytest.approx(0.895, abs=0.005)
    assert best.probability < 0.895
    both = weigh(tuple(mirror + picture), Radio(), plans=("eu-ccir-cable",))
    assert both.ways[0].heard_as == "mirror"
    assert both.heard.mhz == pytest.approx(105.25, abs=0.05)
    assert both.candidates[0].near > 0.99  # its spread, some 18 kHz, twice
    assert is_find(both, both.candidates[0])
