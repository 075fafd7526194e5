"""Where a carrier sits on a radio that mutes: somewhere within the mute's window of what it held.

A hard mute opens where the set is tuned to within a window of a carrier and is silent elsewhere.
So a stop is in or out, with nothing between: no cliff is heard, and how deep a stop is says
nothing of where in the window it stands.

    held   |d| < w        muted   |d| > w

with w half the window.  The window is the radio's own; ±50 to 100 kHz are usual, and a mute that
goes by strength alone has none and holds as far as the passband does.

Conventions
-----------
As in curve.py; a reading of 0 dB and less is a muted stop.  Source of the usual widths: common
practice.
"""

import numpy as np

from listen.analysis.curve import GRID_KHZ, Floats, Posterior, Reading, posterior_of_box

WIDTHS_KHZ = np.arange(40.0, 251.0, 5.0)
USUAL_KHZ = (50.0, 100.0)
FALLS_KHZ = 8.0  # how soon windows get rare outside of that
NO_WINDOW = 0.15  # share of mutes that go by strength alone
EDGE_KHZ = 4.0  # the window's own, and the programme's swing over it
ASTRAY = 0.02  # how often a stop is on the other side of it
WINDOW_REACH_KHZ = 250.0


def fit_window(
    readings: list[Reading], around_mhz: float, *, scatter_khz: float = 0.0
) -> Posterior:
    """The carrier that explains which stops were held, within 250 kHz of a first guess.

    readings  the stops near it, the muted ones among them
    scatter_khz  how far a stop is from what was read off the dial, one standard deviation
    """
    offsets_khz = np.arange(-WINDOW_REACH_KHZ, WINDOW_REACH_KHZ + GRID_KHZ, GRID_KHZ)
    prior = window_weights()
    log_like = np.log(prior)[:, None] + np.zeros(offsets_khz.size)
    edge_khz = float(np.hypot(EDGE_KHZ, scatter_khz))
    for reading in readings:
        away_khz = np.abs(1e3 * (reading.dial_mhz - around_mhz) - offsets_khz)
        beyond = np.clip((away_khz - WIDTHS_KHZ[:, None]) / edge_khz, -50, 50)
        inside = 1 / (1 + np.exp(beyond))
        likely = inside if reading.quieting_db > 0 else 1 - inside
        log_like += np.log(ASTRAY + (1 - 2 * ASTRAY) * likely)
    deep_db = max((reading.quieting_db for reading in readings), default=30.0)

    def curve_db(away_khz: Floats, width_khz: float) -> Floats:
        return np.where(away_khz < width_khz, deep_db, 0.0)

    return posterior_of_box(log_like, around_mhz, offsets_khz, WIDTHS_KHZ, prior, curve_db)


def window_weights() -> Floats:
    """Probability of each of WIDTHS_KHZ before a stop was heard."""
    low_khz, high_khz = USUAL_KHZ
    below = (low_khz - WIDTHS_KHZ) / FALLS_KHZ
    above = (WIDTHS_KHZ - high_khz) / FALLS_KHZ
    usual = 1 / (1 + np.exp(below)) / (1 + np.exp(above))
    weight = (1 - NO_WINDOW) * usual / usual.sum() + NO_WINDOW / WIDTHS_KHZ.size
    return np.asarray(weight / weight.sum())
