"""Two radios told by the stops beside stations, on slopes that were drawn by hand."""

from datetime import UTC, datetime

import numpy as np
import pytest

from listen.analysis.measures import Measures
from listen.analysis.roar import Roar
from listen.analysis.samestops import gaps_db, two_radios_odds
from listen.analysis.survey import Survey

STATION_MHZ = 98.0
ABOUT = [(STATION_MHZ - 0.3, STATION_MHZ + 0.3)]
DIAL_MHZ = tuple(round(97.5 + 0.1 * n, 1) for n in range(11))


def sweep(half_width_khz, off=()):
    """Stops 100 kHz apart: level within the width, then 0.4 dB a kHz down to the open band."""
    away_khz = 1e3 * np.abs(np.array(DIAL_MHZ) - STATION_MHZ)
    depth_db = np.clip(30.0 - 0.4 * (away_khz - half_width_khz), 0.0, 30.0)
    at = datetime(2026, 5, 1, tzinfo=UTC)
    stops = tuple(
        Measures(f"{n}.flac", mhz, "off" if n in off else "on", at)
        for n, mhz in enumerate(DIAL_MHZ)
    )
    nothing = np.zeros(len(stops))
    return Survey(stops, depth_db, Roar(-80.0, -28.0, True, nothing, nothing > 0), 0)


def test_one_radio_reads_the_same_and_a_wider_one_reads_deeper_on_both_slopes():
    # Arithmetic: at 200 kHz from the station 14 dB for a half-width of 160 kHz, 26 for 190,
    # which counts as 20.  The plateau at 97.9 to 98.1 and the open band beyond tell nothing.
    assert gaps_db(sweep(160.0), sweep(160.0), ABOUT) == pytest.approx([0.0, 0.0])
    assert gaps_db(sweep(160.0), sweep(190.0), ABOUT) == pytest.approx([6.0, 6.0])


def test_stops_with_the_console_off_and_away_from_stations_are_left_alone():
    assert gaps_db(sweep(160.0, off=(3,)), sweep(190.0), ABOUT).size == 1  # 97.8 is left out
    assert gaps_db(sweep(160.0), sweep(190.0), []).size == 0


@pytest.mark.parametrize("common_db", [0.0, 1.5, -1.5])
def test_readings_that_agree_but_for_their_scatter_are_one_radio(common_db):
    scatter_db = np.array([1.0, -2.0, 0.5, -0.5, 2.0, -1.0])
    assert two_radios_odds(common_db + scatter_db) < -2.0


def test_all_slopes_deeper_by_much_are_another_radio_and_one_alone_is_not():
    assert two_radios_odds(np.array([12.0, 15.0, 9.0, 14.0])) > 4.0
    assert two_radios_odds(np.array([0.5, -1.0, 12.0, 0.3, -0.6])) < 0.0  # a reading astray
    assert two_radios_odds(np.zeros(0)) == 0.0
