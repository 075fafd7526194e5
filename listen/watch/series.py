"""How far a carrier has drifted since the first round, and whether it has settled.

One dial stop confounds strength with frequency: when its hiss rises, the carrier has moved or has
become weaker.  Stops on both cliffs and between them tell the two apart.  Each round is held
against the first as two sweeps are: what the radio makes of a carrier is the same in both, so
the distance between them is known better than either place (analysis/shift.py).  The first round
goes further round the carrier, which tells how wide it is held; later ones are three of its stops.

Conventions
-----------
Times are minutes since the first round.  Offsets are kHz, positive upward; intervals hold 95 %.
Carriers are true MHz, dial positions what the radio shows.  Quieting is dB below the roar.

A drift has settled where the line through the offsets of the last SPAN_MIN is surely flatter
than FLAT_KHZ_PER_MIN: the whole 95 % interval of its slope lies within.  Fewer than LEAST_ROUNDS
tell nothing.  A stop on a cliff changes by about a decibel a kilohertz, so that offsets scatter by
little; with none on a cliff a carrier can move unheard on the flat top, and each offset is no
better than its own interval.  A cliff is what lies well below the deepest stop: a weak carrier
quiets little at every stop, and its flat top is one all the same.

The line is one of weighted least squares, each round weighing by its own spread, and its slope's
interval is Student's t with n - 2 degrees of freedom about what the rounds scatter: textbook.
A round's own spread is mostly the same error in every round, which a slope does not see, so that
it bounds the interval from below only where no stop stood on a cliff.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from listen.analysis.answer import NINETY_FIVE
from listen.analysis.cliffs import Drawn, drawn
from listen.analysis.curve import Floats, Posterior, Reading
from listen.analysis.dialerror import Local, steady
from listen.analysis.shift import distance
from listen.analysis.width import HALF_WIDTHS_KHZ
from listen.radio import Radio
from listen.trim.left import fitted

SPAN_MIN = 15.0
FLAT_KHZ_PER_MIN = 1.0
LEAST_ROUNDS = 4
LEAST_KHZ = 2.0  # the fit's own grid: no offset is known better
CLIFF_DB = (2.0, 25.0)  # quieted by so much, a stop may stand on a cliff
TELLS_KHZ = 30.0  # a stop on a cliff leaves a place no wider open, one standard deviation
TOP_DB = 6.0  # and it does where it is so much noisier than the deepest of its round
HELD_DB = 8.0
LOST_DB = 6.0  # quieted by less at every stop, the carrier has gone


@dataclass(frozen=True, slots=True, eq=False)
class Round:
    """One round of the stops.

    minutes             since the first round
    heard_db            quieting by dial stop
    sound_mhz           the carrier, true, and its interval
    offset_khz          since the first round, and its interval; 0 by definition in the first
    spread_khz          one standard deviation of that
    alone_khz           how well its own stops place the carrier, one standard deviation
    """

    minutes: float
    heard_db: Mapping[float, float]
    sound_mhz: float
    interval_95_mhz: tuple[float, float]
    offset_khz: float
    offset_interval_95_khz: tuple[float, float]
    spread_khz: float
    alone_khz: float

    @property
    def on_cliff(self) -> bool:
        """Whether a stop stood where a small move is heard, and the round tells it."""
        spread_khz = self.spread_khz or self.alone_khz  # the first has no offset
        return bool(cliffs(self.heard_db)) and spread_khz <= TELLS_KHZ

    @property
    def lost(self) -> bool:
        """Whether no stop held the carrier: its place is no more than a guess."""
        return max(self.heard_db.values()) < LOST_DB


@dataclass(frozen=True, slots=True)
class Settling:
    """What the last rounds say of the drift.

    khz_per_min        the slope of the line through them
    interval_95        of that
    settled            whether it is surely flat
    since_min          when the rounds that say so began
    on_cliff           whether a stop stood on a cliff in all of them: otherwise they see little
    """

    khz_per_min: float
    interval_95: tuple[float, float]
    settled: bool
    since_min: float
    on_cliff: bool


class Series:
    """Rounds of the same stops, the first one the zero.

    radio  the receiver
    error  of its dial at these stops, which widens the carrier's interval alone; None: it has none
    """

    def __init__(self, radio: Radio, error: Local | None = None) -> None:
        self._radio = radio
        self._error = error or steady().at(radio.band_mhz[0])
        self._first: Drawn | None = None  # the first round, as every curve explains it
        self.rounds: list[Round] = []

    def add(self, minutes: float, heard_db: Mapping[float, float]) -> Round:
        """Take one more round: its time, and the quieting at each of its stops."""
        fit = fitted(heard_db, self._radio)
        curves = _drawn(heard_db, fit)
        offset: tuple[float, tuple[float, float], float] = (0.0, (0.0, 0.0), 0.0)
        if self._first is None:
            self._first = curves
        else:
            apart = distance(self._first, curves, same_radio=True)
            offset = (apart.mean_khz, apart.interval_khz(), apart.spread_khz)
        interval_mhz = fit.interval_mhz(0.95, self._error.kernel)
        sound_mhz = fit.mean_mhz - self._error.mean_khz / 1e3
        if self.rounds:  # the first went further round: it knows the place, these the offset
            first = self.rounds[0]
            sound_mhz = first.sound_mhz + offset[0] / 1e3
            low, high = (
                np.hypot(
                    first.interval_95_mhz[n] - first.sound_mhz, (offset[1][n] - offset[0]) / 1e3
                )
                for n in (0, 1)
            )
            interval_mhz = (sound_mhz - float(low), sound_mhz + float(high))
        one = Round(
            minutes,
            dict(heard_db),
            sound_mhz,
            interval_mhz,
            *offset,
            fit.spread_khz,
        )
        self.rounds.append(one)
        return one

    def settling(self) -> Settling | None:
        """What the last SPAN_MIN of rounds say; None while they are too few or too short."""
        if not self.rounds:
            return None
        ends = self.rounds[-1].minutes
        last = [one for one in self.rounds if one.minutes > ends - SPAN_MIN and not one.lost]
        if len(last) < LEAST_ROUNDS or last[-1] is not self.rounds[-1]:
            return None
        minutes = np.array([one.minutes for one in last])
        if np.ptp(minutes) < SPAN_MIN / 2:
            return None
        on_cliff = all(one.on_cliff for one in last)
        slope, sure = _slope(
            minutes,
            np.array([one.offset_khz for one in last]),
            np.array([one.spread_khz for one in last]),
            spread_is_least=not on_cliff,
        )
        interval = (slope - sure, slope + sure)
        settled = max(map(abs, interval)) <= FLAT_KHZ_PER_MIN
        return Settling(slope, interval, settled, float(minutes[0]), on_cliff)


def cliffs(heard_db: Mapping[float, float]) -> list[float]:
    """The dial stops that stand on a cliff, where a small move is heard: rising, MHz."""
    highest_db = min(CLIFF_DB[1], max(heard_db.values()) - TOP_DB)
    return sorted(mhz for mhz, db in heard_db.items() if CLIFF_DB[0] <= db <= highest_db)


def _slope(
    minutes: Floats, khz: Floats, spread_khz: Floats, spread_is_least: bool
) -> tuple[float, float]:
    """Slope of the line through offsets, kHz a minute, and half of its 95 % interval.

    spread_khz       of each offset; 0 for the first round of all, which counts as a usual one
    spread_is_least  whether the offsets may not be held for better than that
    """
    from scipy.special import stdtrit

    usual_khz = np.median(spread_khz[spread_khz > 0]) if np.any(spread_khz > 0) else LEAST_KHZ
    sigma_khz = np.maximum(np.where(spread_khz > 0, spread_khz, usual_khz), LEAST_KHZ)
    weight = sigma_khz**-2
    from_mean = minutes - weight @ minutes / weight.sum()
    lever = float(weight @ from_mean**2)
    slope = float(weight @ (from_mean * khz) / lever)
    residual_khz = khz - weight @ khz / weight.sum() - slope * from_mean
    freedom = minutes.size - 2
    estimated = float(np.sqrt(weight @ residual_khz**2 / freedom / lever))
    least = LEAST_KHZ / float(np.sqrt(np.square(minutes - minutes.mean()).sum()))
    if spread_is_least:
        least = max(least, lever**-0.5)
    return slope, max(float(stdtrit(freedom, 0.975)) * estimated, NINETY_FIVE * least)


def three_of(centre_mhz: float, heard_db: Mapping[float, float]) -> tuple[float, ...]:
    """The stops worth asking for again: the centre, and on each side the one that tells most.

    That is one on a cliff, else the outermost that was held: it falls when the carrier leaves.
    """

    steep = cliffs(heard_db)

    def side(sign: int) -> list[float]:
        beside = sorted(
            (abs(mhz - centre_mhz), mhz) for mhz in heard_db if (mhz - centre_mhz) * sign > 0
        )
        cliff = [mhz for _, mhz in beside if mhz in steep]
        held = [mhz for _, mhz in beside if heard_db[mhz] >= HELD_DB]
        best = cliff or held[-1:] or [mhz for _, mhz in beside]
        return best[:1]

    return (*side(-1), centre_mhz, *side(1))


def _drawn(heard_db: Mapping[float, float], fit: Posterior) -> Drawn:
    """A round's stops by every curve, about where its own fit puts the carrier."""
    prior = np.interp(HALF_WIDTHS_KHZ, fit.half_width_khz, fit.width_prior)
    readings = [Reading(mhz, db) for mhz, db in sorted(heard_db.items())]
    return drawn(readings, fit.mean_mhz, fit.spread_khz, prior, coarse=True)
