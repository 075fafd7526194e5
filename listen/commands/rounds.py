"""Rounds of dial stops in a sweep folder, with their times: a watch that was recorded."""

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from listen.errors import BadFolder
from listen.folder import read_folder

LEAST_STOPS = 3
BESIDE_MHZ = 0.35  # a stop of the first round alone lies so near to those that come again


@dataclass(frozen=True, slots=True)
class Recorded:
    """One round: the mean of its stops' times, and the quieting by dial stop, dB."""

    at: datetime
    heard_db: dict[float, float]


@dataclass(frozen=True, slots=True)
class _Stop:
    """One stop of a round; quieting_db is None where it cannot be measured, for the reason why."""

    at: datetime | None
    dial_mhz: float
    quieting_db: float | None
    why: str


def rounds_of(folder: Path) -> tuple[list[Recorded], list[str]]:
    """The rounds of a folder in the order of the walk, and why others were left out, in words.

    A stop that comes again begins the next round.  The yardstick is the open band's roar, heard
    anywhere in the folder; stops that roar far from the others belong to no round.  A round
    of fewer than LEAST_STOPS that can be measured is left out.

    Raises BadFolder where times or a roar are missing, or the times do not rise.
    """
    rounds: list[Recorded] = []
    left_out: list[str] = []
    for number, group in enumerate(_groups(_stops(folder)), 1):
        heard = [stop for stop in group if stop.quieting_db is not None]
        if len(heard) < LEAST_STOPS:
            broken = [f"{s.dial_mhz:g} MHz {s.why}" for s in group if s.quieting_db is None]
            why = "; ".join(broken) or f"it has {len(heard)} of the {LEAST_STOPS} stops it needs"
            left_out.append(f"Round {number} is left out: {why}.")
            continue
        times = [stop.at for stop in heard if stop.at is not None]
        if len(times) < len(heard):
            raise BadFolder(
                f"{folder} does not tell when its stops were recorded: fill in the column at of "
                "its stops.csv, as in 2026-01-31T20:15:00"
            )
        since = sum((at - times[0] for at in times), timedelta()) / len(times)
        heard_db = {s.dial_mhz: s.quieting_db for s in heard if s.quieting_db is not None}
        one = Recorded(times[0] + since, heard_db)
        if rounds and one.at <= rounds[-1].at:
            raise BadFolder(
                f"round {number} of {folder} is no later than the one before it, by the column at "
                "of its stops.csv: list the stops in the order of the walk, each with its own time"
            )
        rounds.append(one)
    return rounds, left_out


def _stops(folder: Path) -> list[_Stop]:
    """The stops that rounds are made of, in the order of the walk."""
    from listen.analysis.measures import measure
    from listen.analysis.survey import survey
    from listen.terminal import followed
    from listen.trim.kinds import is_roar

    sweep = read_folder(folder)
    clips = followed(sweep.clips(), len(sweep.stops), "Measuring the stops")
    measured = tuple(measure(clip) for clip in clips)
    if not any(map(is_roar, measured)):
        raise BadFolder(f"{folder} has no stop of open band: record one, to measure against")
    stops = []
    for stop, db in zip(measured, survey(measured).quieting_db, strict=True):
        if stop.console == "on":
            why = f"cannot be measured ({stop.spoiled})" if stop.spoiled else "is silent"
            stops.append(
                _Stop(stop.at, stop.dial_mhz, float(db) if math.isfinite(db) else None, why)
            )
    visits = {one.dial_mhz: sum(s.dial_mhz == one.dial_mhz for s in stops) for one in stops}
    again = [mhz for mhz, count in visits.items() if count > 1]
    if not again:  # one round alone: what has another stop beside it
        again = [mhz for mhz in visits if any(0 < abs(mhz - o) < BESIDE_MHZ for o in visits)]
    return [s for s in stops if any(abs(s.dial_mhz - mhz) < BESIDE_MHZ for mhz in again)]


def _groups(stops: list[_Stop]) -> list[list[_Stop]]:
    groups: list[list[_Stop]] = []
    for one in stops:
        if not groups or any(one.dial_mhz == other.dial_mhz for other in groups[-1]):
            groups.append([])
        groups[-1].append(one)
    return groups
