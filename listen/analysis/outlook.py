"""What the stops so far leave open: for whoever chooses the next one.

It is asked after every stop of a walk, so it fits what was heard and stops short of an answer:
no channels, no sentences.

Conventions
-----------
Frequencies are dial positions, MHz: where to turn, not what is true.  Only stops with the
console on are listed.  What a further stop would tell of a carrier is worked out from the
carrier's own probabilities: for every frequency and half-width still possible the likeliest
curve says which quieting that stop would have, in classes as wide as readings scatter; the
spread left within the classes, each as likely as it is, is what to expect after the stop.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, cast

import numpy as np

from listen.analysis.curve import Posterior
from listen.analysis.dialerror import DialError
from listen.analysis.evidence import Candidate
from listen.analysis.measures import Measures
from listen.analysis.plateau import STEP_KHZ
from listen.analysis.raster import known_on_dial
from listen.analysis.runs import Run
from listen.analysis.weigh import Weighed, is_find, switch_at, weigh
from listen.radio import Radio

Word = Literal["open", "edge", "held", "muted", "silent", "spoiled"]
SoundsLike = Literal["console", "station", "picture", "bare", "unclear"]

# Ends of the classes of quieting, dB: each about as wide as two readings of it differ by
# (curve.CLIFF_PER_DB).
CLASSES_DB = (1.0, 2.5, 4.5, 7.0, 10.5, 15.0, 21.0, 29.0, 38.0)
OPEN = 0.5  # to look somewhere costs a stop, and an answer needs more: dialerror.AMBIGUOUS
HALF_DB = 3.0  # the quieting at a curve's half-width


@dataclass(frozen=True, slots=True, eq=False)
class Carrier:
    """A carrier heard so far.

    centre_mhz, spread_khz  where it stands on the dial, and the standard deviation of that
    held_mhz     the stops that held it, rising
    sounds_like  what its stops sound like together
    probability  that it is a console's, heard in whatever way
    switch       +1: it changed with the console's switch; -1: it stayed; 0: not known
    """

    centre_mhz: float
    spread_khz: float
    held_mhz: tuple[float, ...]
    sounds_like: SoundsLike
    probability: float
    switch: int
    fit: Posterior = field(repr=False)

    def spread_with_khz(self, dial_mhz: float) -> float:
        """The standard deviation to expect once this stop was heard too, kHz."""
        fit = self.fit
        below = np.flatnonzero(fit.best < HALF_DB)
        half_khz = STEP_KHZ * float(below[0] if below.size else fit.best.size - 1)
        away_khz = 1e3 * np.abs(dial_mhz - fit.carrier_mhz)
        inward_khz = away_khz[None, :] - (fit.half_width_khz[:, None] - half_khz)
        curve_khz = np.arange(fit.best.size) * STEP_KHZ
        quieting_db = np.interp(inward_khz, curve_khz, fit.best)
        classes = np.digitize(quieting_db, CLASSES_DB).ravel()
        weight = fit.joint.ravel()
        offset_khz = np.broadcast_to(
            1e3 * (fit.carrier_mhz - self.centre_mhz), fit.joint.shape
        ).ravel()
        size = len(CLASSES_DB) + 1
        each = np.bincount(classes, weight, size)
        mean = np.bincount(classes, weight * offset_khz, size)
        square = np.bincount(classes, weight * offset_khz**2, size)
        met = each > 0
        left = square[met] - mean[met] ** 2 / each[met]
        return float(np.sqrt(max(0.0, left.sum() / each.sum())))


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """What is known so far, as far as it helps to choose a stop.

    found       whether the likeliest carrier could be named already
    roar_heard  whether a stop heard the open band, the yardstick of all hiss
    stops       dial position and what was heard, in the order of the walk; "muted" by a radio
                that lets nothing through where it holds no carrier, "silent" for no known reason
    carriers    the likeliest first
    switch_at_mhz  the stop where the console's switch would settle most, or None
    error       of the dial
    known_mhz   true frequencies of stations that tell how far a scale is off; none: it is no scale
    """

    found: bool
    roar_heard: bool
    stops: tuple[tuple[float, Word], ...]
    carriers: tuple[Carrier, ...]
    switch_at_mhz: float | None
    error: DialError = field(repr=False)
    known_mhz: tuple[float, ...] = ()

    def shown_mhz(self, true_mhz: float) -> float:
        """Where the dial shows a true frequency; the same where that is open."""
        return true_mhz if self.is_open_at(true_mhz) else self.error.dial_mhz(true_mhz)

    def is_open_at(self, true_mhz: float) -> bool:
        """Whether other raster steps together are as likely as the one that is the likeliest."""
        return self.error.at(self.error.dial_mhz(true_mhz)).elsewhere > OPEN


def outlook(
    stops: tuple[Measures, ...],
    radio: Radio,
    mains_hz: Sequence[float] = (50.0, 60.0),
    plans: Sequence[str] | None = None,
) -> Outlook:
    """Weigh the measured stops and say what they leave open; there must be one at least."""
    weighed = weigh(stops, radio, mains_hz, tuple(plans) if plans else None)
    best = weighed.candidates[0] if weighed.candidates else None
    words = tuple(
        (stop.dial_mhz, _word(stop, sound.kind))
        for stop, sound in zip(stops, weighed.sounds, strict=True)
        if stop.console == "on"
    )
    return Outlook(
        best is not None and is_find(weighed, best),
        weighed.sweep.roar.heard,
        words,
        tuple(_carrier(one, weighed) for one in weighed.candidates),
        switch_at(weighed),
        weighed.error,
        known_on_dial(radio) if radio.dial == "analogue" else (),
    )


def _word(stop: Measures, kind: str) -> Word:
    if stop.spoiled:
        return "spoiled"
    if kind in ("open", "edge", "muted", "silent"):
        return cast("Word", kind)
    return "edge" if kind == "faint" else "held"


def _carrier(one: Candidate, weighed: Weighed) -> Carrier:
    return Carrier(
        one.fit.mean_mhz,
        one.fit.spread_khz,
        tuple(sorted(weighed.sweep.stops[i].dial_mhz for i in one.run.held)),
        _like(one.run),
        one.console,
        int(np.sign(one.switch)),
        one.fit,
    )


def _like(run: Run) -> SoundsLike:
    if run.kind == "buzz":
        return "picture"
    if run.kind == "bare":
        return "bare"
    return "console" if run.side > 0 else "station" if run.side < 0 else "unclear"
