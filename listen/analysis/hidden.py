"""Where a carrier may hide beside a station: slopes that the station does not explain.

A station's slopes are alike on both sides.  Where the dial is quieted on one side of a station
and open as near to it on the other, something else stands there, too weak to be held.  Only
the console's switch can tell whose it is: the roar comes back, or it stays.

Conventions
-----------
Indices are into Survey.stops; only stops with the console on are looked at.
"""

from collections.abc import Sequence

from listen.analysis.evidence import Candidate
from listen.analysis.heard import Sound
from listen.analysis.runs import BESIDE_MHZ, FAINT_DB, is_quiet
from listen.analysis.survey import Survey
from listen.analysis.switch import SAME_MHZ

NEARER_MHZ = 0.03  # a stop hardly further out than the other side's may be held against it


def hidden_at(
    sweep: Survey, sounds: tuple[Sound, ...], carriers: Sequence[Candidate]
) -> tuple[int, ...]:
    """The stops where a carrier may hide and the switch was not asked, the most quieted first."""
    asked_mhz = [stop.dial_mhz for stop in sweep.stops if stop.console == "off"]
    found = []
    for i, stop in enumerate(sweep.stops):
        if stop.console != "on" or sounds[i].kind != "edge":
            continue
        if not sweep.quieting_db[i] >= FAINT_DB or not is_quiet(sweep, i):
            continue
        if any(abs(stop.dial_mhz - mhz) <= SAME_MHZ for mhz in asked_mhz):
            continue
        near = [one for one in carriers if _is_near(one, stop.dial_mhz, sweep)]
        if near and all(_open_beyond(one, stop.dial_mhz, sweep, sounds) for one in near):
            found.append(i)
    return tuple(sorted(found, key=lambda i: -float(sweep.quieting_db[i])))


def _is_near(one: Candidate, dial_mhz: float, sweep: Survey) -> bool:
    """Whether a stop may be a carrier's slope."""
    return any(abs(sweep.stops[i].dial_mhz - dial_mhz) <= BESIDE_MHZ for i in one.run.held)


def _open_beyond(
    station: Candidate, dial_mhz: float, sweep: Survey, sounds: tuple[Sound, ...]
) -> bool:
    """Whether the dial is open on a station's other side, no further out than a stop on this.

    A carrier that is no station's may be the console itself: its slopes are not looked into.
    """
    if station.run.side >= 0:
        return False
    centre_mhz = station.fit.mean_mhz
    out_mhz = dial_mhz - centre_mhz
    there = [
        (abs(stop.dial_mhz - centre_mhz), sounds[i].kind)
        for i, stop in enumerate(sweep.stops)
        if stop.console == "on"
        and (stop.dial_mhz - centre_mhz) * out_mhz < 0
        and abs(stop.dial_mhz - centre_mhz) <= abs(out_mhz) + NEARER_MHZ
    ]
    return bool(there) and max(there)[1] == "open"
