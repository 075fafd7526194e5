"""Rounds of dial stops in a sweep folder, with their times: a watch that was recorded."""

import math
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from listen.errors import BadFolder
from listen.folder import read_folder

LEAST_STOPS = 3
BESIDE_MHZ = 0.35  # a stop of the first round alone lies so near to those that come again


def rounds_of(folder: Path) -> Iterator[tuple[datetime, float, dict[float, float]]]:
    """Each round: when, minutes since the first, and the quieting by dial stop, dB.

    A stop that comes again begins the next round.  The yardstick is the open band's roar, heard
    anywhere in the folder; stops that roar far from the others belong to no round.

    Raises BadFolder where times or a roar are missing.
    """
    from listen.analysis.measures import measure
    from listen.analysis.survey import survey
    from listen.terminal import followed
    from listen.trim.kinds import is_roar

    sweep = read_folder(folder)
    clips = followed(sweep.clips(), len(sweep.stops), "Measuring the stops")
    stops = tuple(measure(clip) for clip in clips)
    heard = survey(stops)
    if not any(map(is_roar, stops)):
        raise BadFolder(f"{folder} has no stop of open band: record one, to measure against")
    told = [
        (stop.at, stop.dial_mhz, float(db))
        for stop, db in zip(stops, heard.quieting_db, strict=True)
        if stop.console == "on" and math.isfinite(db)
    ]
    visits = {mhz: sum(other == mhz for _, other, _ in told) for _, mhz, _ in told}
    again = [mhz for mhz, count in visits.items() if count > 1] or list(visits)
    told = [one for one in told if min(abs(one[1] - mhz) for mhz in again) < BESIDE_MHZ]
    groups: list[list[tuple[datetime | None, float, float]]] = []
    for one in told:
        if not groups or any(one[1] == mhz for _, mhz, _ in groups[-1]):
            groups.append([])
        groups[-1].append(one)
    zero: datetime | None = None
    for group in groups:
        times = [at for at, _, _ in group if at is not None]
        if len(group) < LEAST_STOPS:
            continue
        if len(times) < len(group):
            raise BadFolder(f"{folder} does not tell when its stops were recorded: column at")
        middle = times[0] + (times[-1] - times[0]) / 2
        zero = middle if zero is None else zero
        minutes = (middle - zero).total_seconds() / 60
        yield middle, minutes, {mhz: db for _, mhz, db in group}
