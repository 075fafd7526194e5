"""What the sweep knows of a stretch of dial: stations heard there, and what was not visited.

Conventions
-----------
Frequencies are true MHz: of a stop counts where the radio truly stood, as far as the stations
tell it, not what its dial showed.  A place counts as visited where a stop that could be used
stands within REACH_MHZ, as far as a radio's passband shows a carrier (150 to 280 kHz wide).

What it gives
-------------
stations_of   the carriers on the air that are not the console's
shown_mhz     what the dial shows where a carrier is heard
unvisited     the parts of a stretch that no stop tells of
"""

from collections.abc import Iterable
from dataclasses import dataclass

from listen.analysis.answer import Location
from listen.radio import Radio

REACH_MHZ = 0.15
SAME_STATION_MHZ = 0.3  # stations stand further apart; stops so near heard the same one
EDGE_MHZ = 1e-6  # less than this is rounding


@dataclass(frozen=True, slots=True)
class OnAir:
    """A carrier on the air.

    mhz    where it is
    sure   whether it sounds like a station, or is stated; else a carrier of nobody knows whom
    """

    mhz: float
    sure: bool


def stations_of(location: Location, radio: Radio) -> tuple[OnAir, ...]:
    """The carriers that are not the console's, by rising frequency.

    Those fitted in the sweep, at their fitted centre; stops that heard a station and belong to
    none of them; and the stations that are stated to be on the air.
    """
    found = [OnAir(mhz, True) for mhz in radio.known_stations_mhz]
    for fit in location.others:
        stops = [location.stops[i] for i in fit.stops]
        near = min(stops, key=lambda s: abs(s.true_mhz - fit.centre_mhz), default=None)
        if near is not None and near.heard in ("station", "unclear"):
            found.append(OnAir(fit.centre_mhz, near.heard == "station"))
    found += [OnAir(stop.true_mhz, True) for stop in location.stops if stop.heard == "station"]
    kept: list[OnAir] = []
    for one in found:
        if all(abs(one.mhz - other.mhz) >= SAME_STATION_MHZ for other in kept):
            kept.append(one)
    return tuple(sorted(kept, key=lambda one: one.mhz))


def shown_mhz(location: Location, true_mhz: float) -> float:
    """What the dial shows at a true place, by its error at the nearest stop."""
    near = min(location.stops, key=lambda s: abs(s.true_mhz - true_mhz), default=None)
    return true_mhz if near is None else true_mhz + near.dial_error_khz / 1e3


def unvisited(
    location: Location, low_mhz: float, high_mhz: float
) -> tuple[tuple[float, float], ...]:
    """The parts of low_mhz to high_mhz that no usable stop tells of, rising."""
    visited = (s.true_mhz for s in location.stops if s.heard not in ("muted", "spoiled"))
    return gaps(low_mhz, high_mhz, visited)


def gaps(
    low_mhz: float, high_mhz: float, visited_mhz: Iterable[float]
) -> tuple[tuple[float, float], ...]:
    """The parts of low_mhz to high_mhz further than REACH_MHZ from all of some places."""
    parts: list[tuple[float, float]] = []
    at_mhz = low_mhz
    for mhz in sorted(visited_mhz):
        if mhz - REACH_MHZ > at_mhz + EDGE_MHZ:
            parts.append((at_mhz, min(mhz - REACH_MHZ, high_mhz)))
        at_mhz = max(at_mhz, mhz + REACH_MHZ)
        if at_mhz >= high_mhz:
            break
    if high_mhz > at_mhz + EDGE_MHZ:
        parts.append((at_mhz, high_mhz))
    return tuple((low, high) for low, high in parts if high > low + EDGE_MHZ)
