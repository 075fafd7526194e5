"""What is said of a volume knob that was turned in mid-walk, or may have been."""

from itertools import pairwise

import numpy as np

from listen.analysis.roar import in_time
from listen.analysis.survey import Survey
from listen.analysis.volume import STEP_DB
from listen.channels import mhz_text

ALONE = "leave the knob alone during a sweep"


def volume_said(sweep: Survey) -> list[str]:
    """The turns that were told, and the stops that are in doubt."""
    order = in_time(sweep.stops)
    gain_db = sweep.roar.gain_db
    doubtful = np.array([sweep.roar.doubt(i) >= STEP_DB / 2 for i in order])
    sure = order[~doubtful]
    turns = [
        f"by {gain_db[after] - gain_db[before]:+.0f} dB near "
        f"{'' if said else 'the stop at '}{mhz_text(sweep.stops[after].dial_mhz)} MHz"
        for said, (before, after) in enumerate(
            (before, after)
            for before, after in pairwise(sure)
            if abs(gain_db[after] - gain_db[before]) >= STEP_DB / 2
        )
    ]
    said = []
    if turns:
        listed = " and ".join([", ".join(turns[:-1]), turns[-1]] if turns[1:] else turns)
        said.append(f"The volume changed {listed}: that was reckoned with, but {ALONE}.")
    known = np.flatnonzero(~doubtful)
    places = np.flatnonzero(doubtful)
    first, last = (known[0], known[-1]) if known.size else (0, -1)
    head, tail = places[places < first], places[places > last]
    between = places.size - head.size - tail.size
    if between and turns:
        stops = "stop there counts" if between == 1 else "stops there count"
        said.append(f"When it was turned is not known to the stop: {between} {stops} little.")
    ends = [(end[nearest], end.size) for end, nearest in ((head, -1), (tail, 0)) if end.size]
    said += [_may_have_changed(sweep, order[place], count) for place, count in ends]
    if ends:
        said[-1] = f"{said[-1].removesuffix('.')}: sweep again, and {ALONE}."
    return said


def _may_have_changed(sweep: Survey, at: int, count: int) -> str:
    """That an end of the walk is in doubt.

    at     its stop next to those that are not in doubt
    count  of its stops
    """
    return (
        f"The volume may have changed near {mhz_text(sweep.stops[at].dial_mhz)} MHz: the open "
        f"band was {sweep.roar.doubt(at):.0f} dB louder or softer there. {count} of "
        f"{len(sweep.stops)} stops are in doubt by as much and count little."
    )
