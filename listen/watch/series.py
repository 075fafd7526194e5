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
better than its own interval.  Source of the line's uncertainty: least squares, textbook.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from listen.analysis.cliffs import Drawn, drawn
from listen.analysis.curve import Posterior, Reading
from listen.analysis.shift import distance
from listen.analysis.width import HALF_WIDTHS_KHZ
from listen.radio import Radio
from listen.trim.left import fitted

SPAN_MIN = 15.0
FLAT_KHZ_PER_MIN = 1.0
LEAST_ROUNDS = 4
SURE = 1.96  # standard deviations of 95 %
LEAST_KHZ = 2.0  # the fit's own grid: no offset is known better
CLIFF_DB = (2.0, 25.0)  # quieted by so much, a stop stands on a cliff
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
    """

    minutes: float
    heard_db: Mapping[float, float]
    sound_mhz: float
    interval_95_mhz: tuple[float, float]
    offset_khz: float
    offset_interval_95_khz: tuple[float, float]
    spread_khz: float

    @property
    def on_cliff(self) -> bool:
        """Whether a stop stood where a small move is heard."""
        return any(CLIFF_DB[0] <= db <= CLIFF_DB[1] for db in self.heard_db.values())

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

    radio           the receiver
    dial_error_khz  the dial minus the truth
    spread_khz      one standard deviation of that: it widens the carrier's interval alone
    """

    def __init__(self, radio: Radio, dial_error_khz: float = 0.0, spread_khz: float = 0.0) -> None:
        self._radio = radio
        self._error_mhz, self._spread_khz = dial_error_khz / 1e3, spread_khz
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
        low_mhz, high_mhz = fit.interval_mhz(0.95, self._spread_khz)
        sound_mhz = fit.mean_mhz - self._error_mhz
        interval_mhz = (low_mhz - self._error_mhz, high_mhz - self._error_mhz)
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
        khz = np.array([one.offset_khz for one in last])
        on_cliff = all(one.on_cliff for one in last)
        slope, intercept = np.polyfit(minutes, khz, 1)
        scatter = float(np.sqrt(np.mean((khz - slope * minutes - intercept) ** 2)))
        if not on_cliff:
            scatter = max(scatter, *(one.spread_khz for one in last))
        lever = float(np.sqrt(np.square(minutes - minutes.mean()).sum()))
        sure = SURE * max(scatter, LEAST_KHZ) / lever
        interval = (float(slope - sure), float(slope + sure))
        settled = max(map(abs, interval)) <= FLAT_KHZ_PER_MIN
        return Settling(float(slope), interval, settled, float(minutes[0]), on_cliff)


def three_of(centre_mhz: float, heard_db: Mapping[float, float]) -> tuple[float, ...]:
    """The stops worth asking for again: the centre, and on each side the one that tells most.

    That is one on a cliff, else the outermost that was held: it falls when the carrier leaves.
    """

    def side(sign: int) -> list[float]:
        beside = sorted(
            (abs(mhz - centre_mhz), mhz) for mhz in heard_db if (mhz - centre_mhz) * sign > 0
        )
        cliff = [mhz for _, mhz in beside if CLIFF_DB[0] <= heard_db[mhz] <= CLIFF_DB[1]]
        held = [mhz for _, mhz in beside if heard_db[mhz] >= HELD_DB]
        best = cliff or held[-1:] or [mhz for _, mhz in beside]
        return best[:1]

    return (*side(-1), centre_mhz, *side(1))


def _drawn(heard_db: Mapping[float, float], fit: Posterior) -> Drawn:
    """A round's stops by every curve, about where its own fit puts the carrier."""
    prior = np.interp(HALF_WIDTHS_KHZ, fit.half_width_khz, fit.width_prior)
    readings = [Reading(mhz, db) for mhz, db in sorted(heard_db.items())]
    return drawn(readings, fit.mean_mhz, fit.spread_khz, prior, coarse=True)
