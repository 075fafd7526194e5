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


def heard(sound_mhz, strength_db):
    """The stops round a console on an empty dial."""
    console = Console(
        sound_mhz,
        strength_db,
        spacing_mhz=5.5,
        deviation_khz=50.0,
        modulation=0.7,
        programme="chip",
        seed=5,
    )
    bench = Bench((), console, receiver=Receiver(passband_khz=200.0), seed=9001)
    dial_mhz = [round(round(sound_mhz, 1) + n / 10, 1) for n in range(-8, 9)]
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
