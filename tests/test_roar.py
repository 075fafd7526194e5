"""The open band's roar as a yardstick, from noise made here and a model radio that mutes.

A knob, a soft mute, a hard mute and a noise suppressor change the levels here by amounts that are
known to the decibel; de-emphasis of 50 or 75 µs: 47 CFR 73.322.
"""

from dataclasses import replace

import numpy as np
import pytest

from listen.analysis.hiss import Hiss
from listen.analysis.hum import Comb
from listen.analysis.measures import Measures, measure
from listen.analysis.programme import Programme
from listen.analysis.roar import SHAPE_DB, SHAPE_OWN_DB, find_roar
from listen.analysis.survey import survey
from listen.clip import Clip
from listen.simulate.air import Spur, Station
from listen.simulate.bench import Bench
from listen.simulate.linein import LineIn
from listen.simulate.receiver import Receiver

PROGRAMME = Programme(0.5, 0.0, -20.0, 0.5, None, None, None)


def stop(dial_mhz, level_dbfs, shape_db=52.0, restless_db=1.0, peak_dbfs=-20.0, tilt_db=9.0):
    """A stop whose floor lies so far under its level, in every band."""
    calm = level_dbfs - shape_db
    hiss = Hiss((calm, calm + 5, calm + 9), (calm + restless_db,) * 3, calm + tilt_db)
    programme = replace(PROGRAMME, peak_dbfs=peak_dbfs)
    return Measures("", dial_mhz, "on", level_dbfs=level_dbfs, hiss=hiss, programme=programme)


def sweep(*levels_dbfs, held=()):
    """Open stops of these levels, and stations held deep at these dial positions."""
    stops = [stop(88 + 0.2 * n, level) for n, level in enumerate(levels_dbfs)]
    return tuple(stops + [stop(mhz, -25.0, 80.0, 20.0, -19.3) for mhz in held])


@pytest.mark.parametrize("tau_us, own", [(50, 0), (75, 1)])
def test_the_roar_has_its_shape_at_any_volume(tau_us, own):
    for volume_db in (-30.0, -12.0):
        receiver = Receiver(deemphasis_us=tau_us)
        one = measure(Bench(receiver=receiver, line_in=LineIn(volume_db=volume_db)).hear(98.0, 1.0))
        for band in range(3):
            shape_db = one.level_dbfs - one.hiss.calm_db[band]
            assert SHAPE_DB[band][0] < shape_db < SHAPE_DB[band][1]
            assert shape_db == pytest.approx(SHAPE_OWN_DB[band][own], abs=0.7)


def test_a_sound_card_s_floor_has_another_shape():
    rng = np.random.default_rng(1)
    white = (1e-4 * rng.standard_normal((48_000, 1))).astype(np.float32)
    one = measure(Clip(98.0, 48_000, white))
    assert one.level_dbfs - one.hiss.calm_db[0] < SHAPE_DB[0][0]


@pytest.mark.parametrize("step_db", [-6.0, 3.0])
def test_a_touched_knob_is_told_and_taken_out(step_db):
    levels = [-30 + step_db * (n >= 9) + 0.1 * (n % 3) for n in range(20)]
    got = survey(sweep(*levels))
    assert got.roar.gain_db[:9] == pytest.approx(0.0)
    assert got.roar.gain_db[9:] == pytest.approx(step_db, abs=0.3)
    assert np.abs(got.quieting_db).max() < 0.5


def test_a_roar_that_only_scatters_is_no_touched_knob():
    rng = np.random.default_rng(5)
    got = find_roar(sweep(*(-30 + 0.3 * rng.standard_normal(30))), 0)
    assert not got.gain_db.any()
    assert (got.muting, got.heard) == ("none", True)
    assert got.level_dbfs == pytest.approx(-30, abs=0.3)


def test_a_soft_mute_is_told_by_its_loud_stations_and_cliffs():
    """The open band 10 dB down; two cliffs roar louder; stations as loud as over a whole roar."""
    levels = [-40.0] * 12 + [-32.0, -31.0]
    stops = sweep(*levels, held=(95.0, 97.0, 99.0, 101.0, 103.0))
    got = survey(tuple(replace_peak(s, -40 + 9.7 + 10.0) for s in stops))
    assert got.roar.muting == "soft"
    assert got.roar.hidden_db == pytest.approx(10.0, abs=0.5)
    assert got.quieting_db[:12] == pytest.approx(0.0)  # the open band is the open band
    assert got.quieting_db[12:14] == pytest.approx([2.0, 1.0], abs=0.5)
    assert got.loud_db(14) == pytest.approx(9.7, abs=0.5)


def replace_peak(one, peak_dbfs):
    held = one.level_dbfs - one.hiss.calm_db[0] > 60
    return replace(one, programme=replace(one.programme, peak_dbfs=peak_dbfs)) if held else one


def test_loud_stations_alone_are_no_soft_mute():
    stops = sweep(*[-40.0] * 14, held=(95.0, 97.0, 99.0, 101.0, 103.0))
    got = find_roar(tuple(replace_peak(s, -20.0) for s in stops), 0)
    assert got.muting == "none"


def test_a_restless_roar_is_a_suppressor_s():
    got = find_roar(tuple(stop(88 + 0.2 * n, -40.0, restless_db=6.0) for n in range(8)), 0)
    assert got.muting == "suppressed"


STATIONS = tuple(Station(88.5 + 2.0 * n, 40.0, "music", n) for n in range(6))
DIAL_MHZ = np.round(np.arange(88.1, 99.0, 0.2), 1)


@pytest.fixture(scope="module")
def behind_a_mute():
    """The same six stations heard with and without a hard mute."""
    found = []
    for mute_db in (None, 8.0):
        bench = Bench(STATIONS, receiver=Receiver(hard_mute_db=mute_db), seed=6)
        found.append(survey(tuple(measure(bench.hear(float(d), 0.5)) for d in DIAL_MHZ)))
    return found


def test_a_hard_mute_is_told_and_its_roar_reckoned_from_the_stations(behind_a_mute):
    plain, muted = behind_a_mute
    assert (plain.roar.muting, muted.roar.muting) == ("none", "hard")
    assert muted.roar.heard
    far = np.array([min(abs(d - s.mhz) for s in STATIONS) > 0.25 for d in DIAL_MHZ])
    assert muted.roar.muted[far].all()
    assert np.isnan(muted.quieting_db[far]).all()  # a muted stop says nothing
    on = np.array([min(abs(d - s.mhz) for s in STATIONS) < 0.05 for d in DIAL_MHZ])
    assert not muted.roar.muted[on].any()
    # What stations' loudness tells of the roar scatters by some 4 dB from set to set.
    assert muted.roar.hiss_db == pytest.approx(plain.roar.hiss_db, abs=6.0)


def test_bare_carriers_are_no_hard_mute_where_the_open_band_roars():
    """They quiet a radio to the line-in's own floor, as a mute would the open band."""
    spurs = tuple(Spur(mhz, 40.0) for mhz in (89.0, 91.4, 93.0, 95.2, 97.0))
    bench = Bench(spurs=spurs, line_in=LineIn(hum_dbfs=-48.0), seed=6)
    got = survey(tuple(measure(bench.hear(float(d), 0.5)) for d in DIAL_MHZ))
    assert got.roar.muting == "none"
    on = np.array([min(abs(d - s.mhz) for s in spurs) < 0.11 for d in DIAL_MHZ])
    assert (got.quieting_db[on] > 25).all()


def test_with_the_carriers_all_gone_a_muted_sweep_has_no_yardstick():
    bench = Bench(receiver=Receiver(hard_mute_db=8.0), seed=6)
    got = survey(tuple(measure(bench.hear(float(d), 0.3)) for d in DIAL_MHZ[::6]))
    assert not got.roar.heard


@pytest.mark.parametrize(("over_db", "cliff_db"), [(16.6, 0.0), (18.5, 9.0), (13.7, 8.0)])
def test_a_soft_mute_of_few_carriers_is_told_by_what_no_deviation_makes(over_db, cliff_db):
    """Peaks 5 to 9.7 dB over a whole roar are a station's; a steady tone of 75 kHz has 12.5."""
    levels = [-40.0] * 6 + [-40.0 + cliff_db] * 2 + [-40.0] * 6
    stops = sweep(*levels, held=(95.0, 99.0))
    got = find_roar(tuple(replace_peak(s, -40 + over_db) for s in stops), 0)
    assert got.muting == "soft"
    assert over_db - 9.7 <= got.hidden_db <= over_db - 5.0


def test_with_few_carriers_a_loud_cliff_may_be_a_mute_s_and_loudness_tells_nothing():
    """A valley between two strong stations roars as loud as a cliff behind a mute."""
    stops = sweep(*([-40.0] * 12 + [-33.0, -32.0]), held=(95.0, 99.0))
    got = find_roar(tuple(replace_peak(s, -40 + 9.0) for s in stops), 0)
    assert (got.muting, got.level_dbfs, got.heard) == ("none", None, True)
    calm = find_roar(
        tuple(replace_peak(s, -40 + 9.0) for s in sweep(*[-40.0] * 14, held=(95.0,))), 0
    )
    assert (calm.muting, calm.level_dbfs) == ("none", pytest.approx(-40.0))


def test_stops_that_all_stand_on_one_carrier_heard_no_roar():
    """Their floors lean as a roar's do, but lie far deeper under what is played."""
    got = find_roar(tuple(stop(107.6 + 0.1 * n, -30.5, 88.0 + n, 15.0) for n in range(3)), 0)
    assert (got.heard, got.muting, got.level_dbfs) == (False, "none", None)


def test_a_roar_that_a_suppressor_bent_is_a_roar_still():
    """Its floor was read 54 to 62 dB under its level in the top band, on model benches."""
    stops = tuple(stop(88 + 0.2 * n, -40.0, 61.0, 6.0) for n in range(8))
    got = find_roar(stops, 0)
    assert (got.heard, got.muting) == (True, "suppressed")


def test_hum_louder_than_the_roar_does_not_hide_its_shape():
    """99 % of the power is hum: the level stands 20 dB higher over the floor."""
    hums = Comb(50.0, -20.0, 2, 0.0, 0.99, 0.2)
    stops = tuple(stop(88 + 0.2 * n, -20.0, 72.0) for n in range(8))
    assert not find_roar(stops, 0).heard
    assert find_roar(tuple(replace(one, comb=hums) for one in stops), 0).heard


def test_cliffs_that_roar_louder_do_not_make_the_roar_of_a_crowded_band():
    """Four of fifty stops stand at strong stations' cliffs, 3 to 5 dB over the open band."""
    levels = [-40.0 + 0.1 * (n % 3) for n in range(46)] + [-35.0, -35.2, -36.0, -37.0]
    stops = sweep(*levels, held=(99.0, 100.0, 101.0, 102.0))
    got = find_roar(tuple(replace_peak(one, -31.0) for one in stops), 0)
    assert (got.heard, got.muting) == (True, "none")
    assert got.level_dbfs == pytest.approx(-39.9, abs=0.2)
    assert got.hiss_db == pytest.approx(-39.9 - 52.0, abs=0.2)


def test_where_one_stop_roars_the_level_is_its_own_not_that_of_cliffs():
    """Cliffs' levels stand 58 to 59 dB over their floor, the roar's 51.5, with 50 µs."""
    stops = (stop(100.1, -29.1, 51.5), stop(91.9, -22.1, 59.2), stop(101.1, -23.2, 57.8))
    stops += tuple(stop(107 + 0.1 * n, -28.0, 76.0, 6.0) for n in range(10))
    got = find_roar(stops, 0)
    assert (got.heard, got.hiss_db) == (True, pytest.approx(-80.8, abs=0.5))
    assert got.level_dbfs == pytest.approx(got.hiss_db + 51.5, abs=0.1)


def test_where_none_roars_the_level_is_no_higher_than_any_radio_s():
    stops = tuple(stop(91.9 + n, -22.1, 59.2) for n in range(3))
    got = find_roar(stops, 0)
    assert got.level_dbfs == pytest.approx(got.hiss_db + SHAPE_OWN_DB[0][1], abs=0.1)


def test_one_loud_off_stop_is_no_soft_mute():
    """Eleven open stops, one station, and that station again 15 dB louder with the console off."""
    stops = sweep(*[-40.0] * 11, held=(99.0,))
    loud = replace(stop(99.0, -15.0, 80.0, 20.0, -15.3), console="off")
    got = find_roar((*(replace_peak(one, -31.0) for one in stops), loud), 0)
    assert (got.muting, got.level_dbfs) == ("none", pytest.approx(-40.0))


def test_what_a_doubtful_knob_leaves_open_is_rough_and_tells_no_loudness():
    roars, held = [stop(88 + n, -40.0) for n in range(3)], stop(99.0, -25.0, 80.0, 20.0, -46.0)
    got = survey((*roars, held, stop(92.0, -32.0)))
    assert (got.rough_db(3), got.rough_db(0)) == (pytest.approx(8.0, abs=0.1), 0.0)
    assert got.loud_db(3) == pytest.approx(-46.0 + 40.0 + 8.0, abs=0.1)


def test_hum_on_bare_carriers_is_no_roar_at_another_volume():
    """The mains stand 52 dB over the line-in's floor there, and are nearly all that is heard."""
    hums = Comb(50.0, -80.0, 2, 0.0, 0.98, 0.2)
    bare = tuple(replace(stop(87.5 + 0.1 * n, -80.0), comb=hums) for n in range(4))
    roar = find_roar((*bare, *sweep(*[-30.0] * 12)), 0)
    assert not roar.gain_db.any()
    assert roar.pure.tolist() == [False] * 4 + [True] * 12


def test_many_bare_carriers_with_hum_are_no_yardstick():
    """Eight of them against six roars: the hiss is that of the roars."""
    hums = Comb(50.0, -80.0, 2, 0.0, 0.98, 0.2)
    bare = tuple(replace(stop(87.5 + 0.1 * n, -80.0), comb=hums) for n in range(8))
    open_band = sweep(*[-30.0] * 6)
    assert find_roar((*bare, *open_band), 0).hiss_db == find_roar(open_band, 0).hiss_db
