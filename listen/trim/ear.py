"""What is heard at the stop where the dial stands: how quiet, for how long, and what plays.

An ear keeps the last seconds of sound of one visit to a dial stop.  The roar of an open spot is
its yardstick: once with the fast meter's measure, once with the analysis's own, which a fit
needs.

Conventions
-----------
Quieting is dB below the roar, None where too little was heard.  Times are seconds of sound.
Words are about quieting from 0 to FULL_DB: what is quieter is all equally held, and only the
programme shows; just beyond a cliff a radio roars louder than in the open.

It knows nothing of goals, ladders or channels.
"""

from collections import deque
from typing import Literal

import numpy as np

from listen.analysis.clarity import clarity_of
from listen.analysis.measures import Measures
from listen.analysis.roar import ALIKE_DB, FLAT_DB, RESTLESS_DB
from listen.analysis.survey import CLIPPED_SHARE
from listen.trim.kinds import Kind, band_of, is_roar, kind_of, measured
from listen.trim.meter import Fast, Meter, Samples, Steady

SETTLE_S = 0.5  # radios mute for a moment after a step
ROAR_S = 1.5
LONGEST_S = 2.0  # of sound that is kept for a measure
HELD_DB, GONE_DB = 8.0, 4.0  # quieted by so much it has come, by less than that it has gone
FULL_DB = 20.0
TREND_DB = 1.5
PASSED_DB = 4.0
ANYWHERE_MHZ = 98.0  # stands in for the dial on an open spot: no measure depends on it
SLOW_S = 1.4  # the words' own memory

OTHER_DB = 3.0  # a roar so much louder or quieter than the yardstick was turned up or down
TILT_DB = 2.0  # a roar's lean to the low end comes back to this over a second or two

Yardstick = Literal["good", "restless", "silent", "taken", "quiet", "clipped"]


class Ear:
    """Hears one stop after the other.

    rate_hz  samples a second
    """

    def __init__(self, rate_hz: int) -> None:
        self.rate_hz = rate_hz
        self._meter, self._steady = Meter(rate_hz), Steady()
        self._kept: deque[Samples] = deque()
        self._began_s = 0.0
        self._roar_db: float | None = None
        self._roar: Measures | None = None
        self.roar_moved_db: float | None = None
        self.dial_mhz: float | None = None
        self.best_db = 0.0

    @property
    def now_s(self) -> float:
        """Seconds of sound so far."""
        return self._meter.now_s

    @property
    def heard_s(self) -> float:
        """Seconds heard at this stop since the radio settled; negative before."""
        return self.now_s - self._began_s - SETTLE_S

    def dial_set(self, dial_mhz: float | None) -> None:
        """Begin a visit; None is an open spot."""
        self.dial_mhz = dial_mhz
        self._began_s = self.now_s
        self._steady.forget()
        self._kept.clear()
        self.best_db = 0.0

    def gap(self) -> None:
        """Some sound before the next block is missing: the visit goes on, heard from here anew."""
        self._meter.gap()
        self._began_s = self.now_s - SETTLE_S
        self._steady.forget()
        self._kept.clear()

    def hear(self, samples: Samples) -> list[Fast]:
        """Take a block, shape (n, channels), and give the readings that it completes."""
        self._kept.append(samples)
        enough = int(LONGEST_S * self.rate_hz)
        while sum(map(len, self._kept)) - len(self._kept[0]) > enough:
            self._kept.popleft()
        return self._meter.feed(samples)

    def saw(self, fast: Fast) -> None:
        """Let a reading pass into the steady measure."""
        self._steady.saw(fast)
        if self.heard_s > 0:
            self.best_db = max(self.best_db, self.steady_db(fast.t_s) or 0.0)

    def fast_db(self, fast: Fast) -> float | None:
        """Quieting over the last 70 ms."""
        return None if self._roar_db is None or fast.silent else self._roar_db - fast.hiss_db

    def clarity(self, fast: Fast) -> float | None:
        """Clarity over the last 70 ms, 0 to 100."""
        quieting_db = self.fast_db(fast)
        return None if quieting_db is None else float(clarity_of(quieting_db))

    def word_db(self, until_s: float) -> float | None:
        """The calm quieting that words are about: over their own memory, 0 to FULL_DB."""
        steady_db = self.steady_db(until_s, SLOW_S)
        return None if steady_db is None else min(max(steady_db, 0.0), FULL_DB)

    def steady_db(self, until_s: float, span_s: float | None = None) -> float | None:
        """The calm quieting of the moments before a time."""
        hiss_db = self._steady.hiss_db(until_s, span_s)
        return None if hiss_db is None or self._roar_db is None else self._roar_db - hiss_db

    def is_held(self, until_s: float) -> bool:
        """Whether a carrier is held."""
        return (self.steady_db(until_s) or 0.0) >= HELD_DB

    def is_stirring(self, until_s: float) -> bool:
        """Whether one comes in, or is half there."""
        return (self.steady_db(until_s) or 0.0) >= GONE_DB or self.trend_db(until_s) > TREND_DB

    def trend_db(self, until_s: float) -> float:
        """How much quieter it became over the words' memory; 0 where nothing tells."""
        now_db, before_db = self.steady_db(until_s), self.steady_db(until_s - SLOW_S)
        if now_db is None or before_db is None:
            return 0.0
        return min(max(now_db, 0.0), FULL_DB) - min(max(before_db, 0.0), FULL_DB)

    def has_passed(self, until_s: float) -> bool:
        """Whether a carrier was held here and is on its way out."""
        now_db, best_db = self.steady_db(until_s, SLOW_S), min(self.best_db, FULL_DB)
        return best_db >= HELD_DB and now_db is not None and now_db < best_db - PASSED_DB

    def word(self, until_s: float, at_goal: bool) -> str:
        """The big word for what the carrier does at this stop."""
        if self.steady_db(until_s) is None:
            return "LISTENING"
        if not at_goal:
            return "COMING" if self.is_stirring(until_s) else "TURN"
        trend_db = self.trend_db(until_s)
        if self.has_passed(until_s) and trend_db < TREND_DB:
            return "PASSED"
        if abs(trend_db) > TREND_DB:
            return "WARMER" if trend_db > 0 else "COLDER"
        return "HOLD" if self.is_held(until_s) else "TURN"

    def learn_roar(self, until_s: float) -> Yardstick:
        """Take what was heard for the yardstick, if it is the roar of an open spot.

        Learned again, `roar_moved_db` tells how much louder it is than it was before, dB.
        """
        heard = self.measured(ROAR_S)
        band = band_of(heard)
        if heard.silent or heard.hiss is None or band is None:
            return "silent"
        if heard.clipped > CLIPPED_SHARE:
            return "clipped"
        if not is_roar(heard):
            return "quiet" if _is_bare(heard, band) else "taken"
        roar_db = self._steady.hiss_db(until_s, ROAR_S)
        if roar_db is None:
            return "silent"
        if self._roar is not None and self._roar.hiss is not None:
            self.roar_moved_db = heard.hiss.calm_db[band] - self._roar.hiss.calm_db[band]
        self._roar, self._roar_db = heard, roar_db
        restless_db = heard.hiss.burst_db[band] - heard.hiss.calm_db[band]
        return "restless" if restless_db > RESTLESS_DB else "good"

    def is_changed_roar(self, last_s: float) -> bool:
        """Whether the last seconds are the yardstick's own sound, only louder or quieter.

        A carrier bends a roar's shape: its programme stands out, and its noise does not lean.  So
        a stop that has it was not quieted; the volume was turned.  One that plays nothing has the
        same shape on its cliffs: the open spot must be heard again to know.
        """
        heard, roar = self.measured(last_s), self._roar
        if heard.hiss is None or roar is None or roar.hiss is None:
            return False
        band = band_of(roar)
        assert band is not None
        louder_db = heard.hiss.calm_db[band] - roar.hiss.calm_db[band]
        whole_db = heard.level_dbfs - roar.level_dbfs
        lean_db = heard.hiss.tilt_db(band) - roar.hiss.tilt_db(band)
        alike = abs(whole_db - louder_db) <= ALIKE_DB and abs(lean_db) <= TILT_DB
        return alike and abs(louder_db) >= OTHER_DB

    def is_clipped(self) -> bool:
        """Whether the input is overdriven at this stop."""
        return self.measured(LONGEST_S).clipped > CLIPPED_SHARE

    def kind(self) -> Kind:
        """What plays at a held stop.  The roar must be known."""
        assert self._roar is not None
        return kind_of(self.measured(LONGEST_S), self._roar.level_dbfs)

    def measured(self, last_s: float) -> Measures:
        """All measures of the last seconds."""
        samples = np.concatenate(list(self._kept))[-round(last_s * self.rate_hz) :]
        return measured(samples, self.rate_hz, self.dial_mhz or ANYWHERE_MHZ)

    def measured_db(self) -> float | None:
        """Quieting by the analysis's own measure; None where nothing was heard."""
        heard, roar = self.measured(LONGEST_S), self._roar
        if roar is None or roar.hiss is None or heard.hiss is None:
            return None
        band = band_of(roar)
        assert band is not None
        return float(roar.hiss.calm_db[band] - heard.hiss.calm_db[band])


def _is_bare(heard: Measures, band: int) -> bool:
    """Whether there is level noise and no more: a carrier without a programme, or a mute."""
    programme, hiss = heard.programme, heard.hiss
    plays = programme is not None and programme.lines > 0.5
    return hiss is not None and abs(hiss.tilt_db(band)) < FLAT_DB and not plays
