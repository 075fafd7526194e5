"""What the sweep knows of a stretch of dial: stations heard there, and what was not visited.

Conventions
-----------
Frequencies are true MHz; the dial's error is taken out of a stop's.  A place
counts as visited where a stop that could be used stands within REACH_MHZ, as far as a radio's
passband shows a carrier (150 to 280 kHz wide).

What it gives
-------------
stations_of   the carriers on the air that are not the console's
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
        shown_mhz = location.error.dial_mhz(fit.centre_mhz)
        near = min(stops, key=lambda s: abs(s.dial_mhz - shown_mhz), default=None)
        if near is not None and near.heard in ("station", "unclear"):
            found.append(OnAir(fit.centre_mhz, near.heard == "station"))
    found += [
        OnAir(location.error.true_mhz(stop.dial_mhz), True)
        for stop in location.stops
        if stop.heard == "station"
    ]
    kept: list[OnAir] = []
    for one in found:
        if all(abs(one.mhz - other.mhz) >= SAME_STATION_MHZ for other in kept):
            kept.append(one)
    return tuple(sorted(kept, key=lambda one: one.mhz))


def unvisited(
    location: Location, low_mhz: float, high_mhz: float
) -> tuple[tuple[float, float], ...]:
    """The parts of low_mhz to high_mhz that no usable stop tells of, rising."""
    visited = (
        location.error.true_mhz(stop.dial_mhz)
        for stop in location.stops
        if stop.heard not in ("muted", "spoiled")
    )
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
