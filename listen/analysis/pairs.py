"""Which carriers belong together: a modulator's sound, its picture, and its mirror.

Sound lies above the picture by a spacing that every television system fixes.  A modulator
without a sideband filter also puts a mirror of the sound as far below the picture.  So the
upper of two like sounds, twice a spacing apart, is the sound, and the buzz of a picture one
spacing below a carrier speaks for that carrier.

Source of the spacings: listen/data/systems.csv, sound above picture.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from listen.analysis.evidence import PAIR, Candidate
from listen.analysis.runs import Run
from listen.channels import systems

LIKE_CONSOLE = 1.5  # odds of the sound from which a carrier may be half of a mirror pair
MIDDLE_MHZ = 0.25  # a picture half-way is heard at a stop this near
SLACK_MHZ = 0.06  # what an old subcarrier may be off, beside what is not known of the fits


@cache
def spacings_mhz() -> tuple[float, ...]:
    """The spacings of all systems with FM sound above the picture, MHz."""
    above = {s.spacing_mhz for s in systems() if s.sound == "FM" and s.spacing_mhz > 0}
    return tuple(sorted(above))


@dataclass(frozen=True, slots=True)
class Pair:
    """Two carriers of one modulator: indices of the sound and of its partner.

    kind  "picture" or "mirror", what the partner is
    """

    sound: int
    partner: int
    kind: str


def find_pairs(candidates: list[Candidate], open_mhz: Sequence[float]) -> list[Pair]:
    """All pairs among the candidates, mirrors first.

    open_mhz  the dial positions at which nothing but the open band was heard, console on
    """
    pairs = []
    for kind, times in (("mirror", 2.0), ("picture", 1.0)):
        for upper, sound in enumerate(candidates):
            for lower, partner in enumerate(candidates):
                if not _may_be(kind, sound, partner, candidates, open_mhz):
                    continue
                apart = sound.fit.mean_mhz - partner.fit.mean_mhz
                slack = times * SLACK_MHZ + 2e-3 * np.hypot(
                    sound.fit.spread_khz, partner.fit.spread_khz
                )
                if any(abs(apart - times * s) <= slack for s in spacings_mhz()):
                    pairs.append(Pair(upper, lower, kind))
    return pairs


def _may_be(
    kind: str,
    sound: Candidate,
    partner: Candidate,
    candidates: list[Candidate],
    open_mhz: Sequence[float],
) -> bool:
    """Whether two carriers sound like the pair that their distance makes them."""
    if kind == "picture":
        return partner.run.kind == "buzz" and sound.run.kind != "buzz" and sound.run.side >= 0
    if sound.sound < LIKE_CONSOLE or partner.sound < LIKE_CONSOLE:
        return False
    # The picture half-way is stronger than either: it must be heard, unless a station hides it
    # or nobody listened.
    middle_mhz = (sound.fit.mean_mhz + partner.fit.mean_mhz) / 2
    buzzes = [c.fit.mean_mhz for c in candidates if c.run.kind == "buzz"]
    if any(abs(mhz - middle_mhz) < MIDDLE_MHZ for mhz in buzzes):
        return True
    return not any(abs(mhz - middle_mhz) < MIDDLE_MHZ for mhz in open_mhz)


def with_pairs(candidates: list[Candidate], open_mhz: Sequence[float]) -> list[Candidate]:
    """The candidates with what their pairs say of them."""
    weighed = list(candidates)
    for pair in find_pairs(candidates, open_mhz):
        weighed[pair.sound] = replace(weighed[pair.sound], pair=PAIR)
        if pair.kind == "mirror":
            weighed[pair.partner] = replace(weighed[pair.partner], mirror=True)
    return weighed


def partners(
    sound: Candidate, candidates: list[Candidate], open_mhz: Sequence[float]
) -> tuple[Run | None, Run | None]:
    """The runs of a sound carrier's picture and of its mirror, where they were heard."""
    found: dict[str, Run] = {}
    for pair in find_pairs(candidates, open_mhz):
        if candidates[pair.sound].run is sound.run:
            found.setdefault(pair.kind, candidates[pair.partner].run)
    return found.get("picture"), found.get("mirror")
