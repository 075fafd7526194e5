"""Where a carrier may hide beside a station: unlike slopes, and where a picture says it must be.

A station's slopes are alike on both sides.  Where the dial is quieted on one side of a station
and open as near to it on the other, something else stands there, too weak to be held.  And
where a picture was heard its sound stands one spacing above: if the dial is open there it is not
that spacing, but if a station is held there the sound may be behind it.  Only the console's
switch can tell whose it is: what is heard there changes, or it stays.

Conventions
-----------
Indices are into Survey.stops; only stops with the console on are looked at.
"""

from collections.abc import Sequence

from listen.analysis.evidence import Candidate
from listen.analysis.heard import Sound
from listen.analysis.modulator import spacings_mhz
from listen.analysis.runs import BESIDE_MHZ, FAINT_DB, LISTENED_MHZ, SAME_PLACE_MHZ, is_quiet
from listen.analysis.survey import Survey

NEARER_MHZ = 0.03  # a stop hardly further out than the other side's may be held against it


def hidden_at(
    sweep: Survey, sounds: tuple[Sound, ...], carriers: Sequence[Candidate]
) -> tuple[int, ...]:
    """The stops where a carrier may hide and the switch was not asked, the most quieted first."""
    found = []
    for i, stop in enumerate(sweep.stops):
        if stop.console != "on" or sounds[i].kind != "edge":
            continue
        if not sweep.quieting_db[i] >= FAINT_DB or not is_quiet(sweep, i):
            continue
        if was_asked(sweep, i):
            continue
        near = [one for one in carriers if _is_near(one, stop.dial_mhz, sweep)]
        if near and all(_open_beyond(one, stop.dial_mhz, sweep, sounds) for one in near):
            found.append(i)
    return tuple(sorted(found, key=lambda i: -float(sweep.quieting_db[i])))


def behind_at(
    sweep: Survey, sounds: tuple[Sound, ...], carriers: Sequence[Candidate]
) -> tuple[int, ...]:
    """The stops of stations that may hide the sound to a picture, the likelier picture's first.

    Of one picture's spacings the stop nearest to where the sound would be is first.  Whether the
    switch was asked there is `was_asked`'s to say.
    """
    stations = {i for one in carriers if one.run.side < 0 for i in one.run.held}
    heard = [
        (i, stop.dial_mhz)
        for i, stop in enumerate(sweep.stops)
        if stop.console == "on" and sounds[i].kind not in ("silent", "muted")
    ]
    found: list[int] = []
    for picture in carriers:
        if picture.run.kind != "buzz" or picture.switch < 0:
            continue
        nearest = []
        for spacing_mhz in spacings_mhz():
            place_mhz = picture.fit.mean_mhz + spacing_mhz
            i, dial_mhz = min(heard, key=lambda one: abs(one[1] - place_mhz))
            if i in stations and abs(dial_mhz - place_mhz) <= LISTENED_MHZ:
                nearest.append((abs(dial_mhz - place_mhz), i))
        found += [i for _, i in sorted(nearest) if i not in found]
    return tuple(found)


def was_asked(sweep: Survey, index: int) -> bool:
    """Whether a stop's place was also recorded with the console off."""
    dial_mhz = sweep.stops[index].dial_mhz
    off_mhz = [stop.dial_mhz for stop in sweep.stops if stop.console == "off"]
    return any(abs(dial_mhz - mhz) <= SAME_PLACE_MHZ for mhz in off_mhz)


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
