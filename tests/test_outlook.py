"""What the stops so far leave open, by arithmetic on probabilities made by hand."""

from dataclasses import replace

import numpy as np
import pytest

from listen.analysis.curve import Posterior, Reading, fit_carrier
from listen.analysis.dialerror import DialError
from listen.analysis.hiss import BANDS_HZ, Hiss
from listen.analysis.measures import Measures
from listen.analysis.outlook import Carrier, Outlook, outlook
from listen.analysis.plateau import STEP_KHZ
from listen.analysis.width import HALF_WIDTHS_KHZ
from listen.radio import Radio

CLIFF_KHZ = 120.0
OFFSETS_KHZ = np.arange(0, 600 + STEP_KHZ, STEP_KHZ)
STEP_CURVE_DB = np.where(OFFSETS_KHZ < CLIFF_KHZ, 30.0, 0.0)


def carrier(places_mhz, weights, half_widths_khz=(CLIFF_KHZ,), curve=STEP_CURVE_DB):
    """A carrier that may be at these places, with these chances, each half-width alike."""
    weight = np.array(weights, float)
    joint = np.tile(weight / len(half_widths_khz), (len(half_widths_khz), 1))
    fit = Posterior(
        np.array(places_mhz),
        weight,
        joint,
        np.array(half_widths_khz),
        np.ones(len(half_widths_khz)),
        curve,
        places_mhz[0],
    )
    return Carrier(fit.mean_mhz, fit.spread_khz, (100.0,), "console", 0.9, 0, fit)


def test_a_stop_that_only_one_of_two_places_would_quiet_tells_which_it_is():
    """At 100 or 100.1 MHz alike: 50 kHz of spread, none once a stop tells them apart."""
    one = carrier([100.0, 100.1], [0.5, 0.5])
    assert one.spread_khz == pytest.approx(50)
    assert one.spread_with_khz(99.9) == pytest.approx(0, abs=1e-6)  # 100 or 200 kHz away
    assert one.spread_with_khz(100.2) == pytest.approx(0, abs=1e-6)
    assert one.spread_with_khz(100.05) == pytest.approx(50)  # held in either case
    assert one.spread_with_khz(99.0) == pytest.approx(50)  # open in either case


def test_what_is_left_is_the_spread_within_the_answers_each_as_likely_as_it_is():
    """At 100, 100.1 or 100.2 alike; a stop at 99.95 tells the first from the other two.

    The variance within those is 50² kHz² two times in three, and none the third time.
    """
    one = carrier([100.0, 100.1, 100.2], [1 / 3] * 3)
    assert one.spread_khz == pytest.approx(np.sqrt(2 / 3) * 100)
    assert one.spread_with_khz(99.95) == pytest.approx(np.sqrt(2 / 3) * 50)


def test_a_width_that_is_not_known_leaves_what_it_would_tell_in_doubt():
    """Half-widths of 120 and 220 kHz alike: a stop 100 or 200 kHz away may be held in both.

    Held: all but the farther place with the narrower width, 3 cases in 4, where the places are
    2 to 1: a variance of 2/9 of 100² kHz²; open, 1 case in 4: none.
    """
    one = carrier([100.0, 100.1], [0.5, 0.5], (CLIFF_KHZ, 220.0))
    assert one.spread_with_khz(99.9) == pytest.approx(np.sqrt(0.75 * 2 / 9) * 100)


def test_a_fitted_carrier_is_never_made_less_certain_and_a_missing_flank_is_worth_most():
    readings = [Reading(99.6, 0.0), Reading(99.8, 0.2), Reading(100.0, 33.0)]
    weights = np.ones(HALF_WIDTHS_KHZ.size) / HALF_WIDTHS_KHZ.size
    fit = fit_carrier(readings, 100.0, half_width_weights=weights, coarse=True)
    one = replace(carrier([100.0], [1.0]), fit=fit, centre_mhz=fit.mean_mhz)
    spread_khz = fit.spread_khz
    left = {mhz: one.spread_with_khz(mhz) for mhz in np.arange(99.4, 101.01, 0.2).round(1)}
    # The law of total variance, to the rounding of a sum over a thousand places.
    assert all(khz <= spread_khz * (1 + 1e-9) for khz in left.values())
    assert min(left, key=left.get) in (100.2, 100.4)
    assert left[101.0] > 0.99 * spread_khz


def stop(dial_mhz, hiss_db, console="on"):
    """A stop of open band: its hiss leans 8 dB toward low frequencies, as a roar's does.

    The level of a roar lies some 53 dB over its floor (docs/clarity.md).
    """
    hiss = Hiss((hiss_db,) * len(BANDS_HZ), (hiss_db,) * len(BANDS_HZ), hiss_db + 8.0)
    return Measures("", dial_mhz, console, hiss=hiss, level_dbfs=hiss_db + 53.0)


def test_what_is_open_and_what_was_spoiled_is_told_in_the_order_of_the_walk():
    stops = (stop(100.7, -78.0), Measures("", 91.7, "on", spoiled="cut short"), stop(91.5, -78.1))
    known = outlook((*stops, stop(91.5, -78.0, "off")), Radio())
    assert not known.found
    assert known.carriers == ()
    assert [mhz for mhz, _ in known.stops] == [100.7, 91.7, 91.5]
    assert known.stops[1] == (91.7, "spoiled")


@pytest.mark.parametrize(
    ("low_khz", "high_khz", "weight", "shown_mhz"),
    [
        ([100.0], [305.0], [1.0], 98.2072),  # 0.1 at 87.5 and 0.305 at 108: 1 % more a MHz
        ([100.0, 0.0], [305.0, 205.0], [0.6, 0.4], 98.2072),  # a raster step less is less likely
        ([100.0, 0.0, 200.0], [305.0, 205.0, 405.0], [0.4, 0.3, 0.3], 98.0),  # two together more
    ],
)
def test_where_the_dial_shows_a_channel_is_told_where_one_raster_step_is_likelier_than_not(
    low_khz, high_khz, weight, shown_mhz
):
    """98.0 shows at x where x = 98.0 + 0.1 + 0.01 (x - 87.5): x = 97.225 / 0.99."""
    error = DialError(
        *(np.array(low_khz), np.array(high_khz), np.array(weight)), (87.5, 108.0), 100.0
    )
    looking = Outlook(False, True, (), (), None, error)
    assert looking.shown_mhz(98.0) == pytest.approx(shown_mhz, abs=2e-4)
    assert looking.is_open_at(98.0) == (shown_mhz == 98.0)
