"""Whether two sweeps were made with one radio, and how far the second dial stands off the first.

With one radio the error of a digital dial is the same twice, so it cancels in a move.  With
two it does not, and what is known of either error widens the answer.

Four things tell.  What was stated of the two radios; the colour of the open band's roar,
which is the radio's own de-emphasis and audio filter; and the stations that both sweeps
heard: they stand still, so a dial that shows them elsewhere, or holds them wider, is another,
and so is one whose stops beside them read otherwise (samestops.py).

Conventions
-----------
A distance between dials is kHz, the second's error minus the first's, at the places of the
console's carriers.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from listen.analysis.cliffs import Drawn, beside_others, drawn
from listen.analysis.curve import Floats
from listen.analysis.dialerror import DialError
from listen.analysis.evidence import Candidate
from listen.analysis.raster import BELIEVED_KHZ
from listen.analysis.readings import readings_of
from listen.analysis.samestops import gaps_db, two_radios_odds
from listen.analysis.shift import Distance, bell, distance, mixed, moved_by
from listen.analysis.weigh import Weighed
from listen.analysis.width import HALF_WIDTHS_KHZ
from listen.radio import Radio

OTHER = 0.03  # how often two sweeps of one console are made with two radios, unsaid
SAME_KHZ = {"digital": 1.0, "analogue": 8.0}  # a crystal stays; a pointer is set anew
COLOUR_DB, COLOURS_DB = 0.3, 1.5  # spread of the roar's tilt between sweeps of one radio, of two
STATED = ("passband_khz", "dial", "oscillator", "step_khz")  # what differs only between radios
STATION_KHZ = 25.0  # where a station is looked for, about the middle of its stops
SAME_STATION_MHZ = 0.07  # two dials show one station no further apart than this
MOST_STATIONS = 6
SLOPES_MHZ = 0.3  # from a station's middle, where its slopes are
MOST = 8.0  # no clue weighs more than this, natural logarithm
SURE = 0.5  # probability of two radios from which it is said


@dataclass(frozen=True, slots=True, eq=False)
class Dials:
    """Two sweeps' dials.

    other      probability that they are two radios'
    if_same    how far the second stands off the first if they are one radio's
    if_other   the same if they are two radios'
    stations   how many stations both sweeps heard
    why        what told of two radios, as a clause; empty where nothing did
    """

    other: float
    if_same: Distance
    if_other: Distance
    stations: int
    why: str = ""

    @property
    def two_radios(self) -> bool:
        """Whether it is to be said that these are two radios."""
        return self.other > SURE


def compare_dials(
    before: Weighed,
    after: Weighed,
    radios: tuple[Radio, Radio],
    places_mhz: tuple[float, float],
) -> Dials:
    """Hold two sweeps' dials against each other.

    radios      what is known of the radio of each
    places_mhz  where the console's carrier stood on each dial
    """
    stated = _stated_differently(radios)
    colour = _colour(before, after)
    pairs = _in_common(before, after)
    told = _told_by_stations(before, after, radios, places_mhz, pairs)
    slopes = 0.0 if _analogue(radios) else _told_by_slopes(before, after, places_mhz, pairs)
    clues = {
        f"their {stated} differ as stated": MOST if stated else 0.0,
        "the open band's roar has another colour": colour,
        "stations stand elsewhere on the dial, or are held wider": told.odds,
        "stops beside stations are held deeper or less deep": slopes,
    }
    if_same = told.if_same
    if not before.error.same_everywhere:  # the scale's error changes on the way
        apart = before.error.between(places_mhz[1], places_mhz[0])
        if_same = moved_by(if_same, bell(-apart.mean_khz, max(apart.spread_khz, 0.5)))
    log_odds = np.log(OTHER / (1 - OTHER)) + sum(clues.values())
    other = float(1 / (1 + np.exp(-log_odds)))
    why = max(clues, key=lambda clue: clues[clue])
    return Dials(other, if_same, told.if_other, told.stations, why if other > SURE else "")


def _stated_differently(radios: tuple[Radio, Radio]) -> str:
    """The first thing that was stated of both radios and is not the same."""
    one, two = radios
    for name in STATED:
        if name in one.stated and name in two.stated and getattr(one, name) != getattr(two, name):
            return name.replace("_", " ").replace(" khz", "")
    return ""


def _colour(before: Weighed, after: Weighed) -> float:
    """Odds of two radios against one from the roar's tilt, in the highest band of both."""
    band = max(before.sweep.band, after.sweep.band)
    tilts = []
    for weighed in (before, after):
        own = [
            stop.hiss.tilt_db(band)
            for stop, sound in zip(weighed.sweep.stops, weighed.sounds, strict=True)
            if sound.kind == "open" and stop.hiss is not None
        ]
        if len(own) < 2 or not weighed.sweep.roar.heard:
            return 0.0
        tilts.append((float(np.median(own)), float(np.std(own) / np.sqrt(len(own)))))
    gap_db = tilts[1][0] - tilts[0][0]
    alike, unlike = (
        float(np.sqrt(spread**2 + tilts[0][1] ** 2 + tilts[1][1] ** 2))
        for spread in (COLOUR_DB, COLOURS_DB)
    )
    odds = 0.5 * (gap_db / alike) ** 2 - 0.5 * (gap_db / unlike) ** 2 + np.log(alike / unlike)
    return float(np.clip(odds, -2.0, MOST))


@dataclass(frozen=True, slots=True, eq=False)
class _Told:
    """What the stations tell: odds of two radios, and the dials' distance either way."""

    odds: float
    if_same: Distance
    if_other: Distance
    stations: int


def _told_by_stations(
    before: Weighed,
    after: Weighed,
    radios: tuple[Radio, Radio],
    places_mhz: tuple[float, float],
    pairs: list[tuple[Candidate, Candidate]],
) -> _Told:
    """The dials' distance, from what was known before and the stations in common."""
    usual = bell(0.0, SAME_KHZ["analogue" if _analogue(radios) else "digital"])
    if not pairs:
        errors = [
            _error_khz(w.error, mhz) for w, mhz in zip((before, after), places_mhz, strict=True)
        ]
        (first, first_spread), (second, second_spread) = errors
        apart = bell(second - first, float(np.hypot(first_spread, second_spread)))
        return _Told(0.0, usual, apart, 0)
    khz = np.arange(-120.0, 121.0)
    chance = bell(0.0, float(np.sqrt(2)) * BELIEVED_KHZ)
    log_p = {
        same: np.log(_at(khz, one))
        for same, one in ((True, mixed([(1.0, usual)])), (False, mixed([(1.0, chance)])))
    }
    for first_drawn, second_drawn in _both_drawn(before, after, pairs):
        for same in (True, False):
            told = distance(first_drawn, second_drawn, same_radio=same)
            log_p[same] = log_p[same] + np.log(_at(khz, told)) + told.evidence
    odds = float(np.logaddexp.reduce(log_p[False]) - np.logaddexp.reduce(log_p[True]))
    either = {same: _normal(khz, log_p[same]) for same in (True, False)}
    return _Told(float(np.clip(odds, -MOST, MOST)), either[True], either[False], len(pairs))


def _at(khz: Floats, one: Distance) -> Floats:
    """Its density at these distances, never quite nought."""
    step = float(one.khz[1] - one.khz[0])
    density = np.interp(khz, one.khz, one.weight / step, left=0.0, right=0.0)
    return np.asarray(density + 1e-7)


def _normal(khz: Floats, log_p: Floats) -> Distance:
    weight = np.exp(log_p - log_p.max())
    return Distance(khz, weight / weight.sum())


def _error_khz(error: DialError, dial_mhz: float) -> tuple[float, float]:
    """What is known of a dial's error at one place of it: mean and spread, kHz."""
    local = error.at(dial_mhz)
    return local.mean_khz, local.spread_khz


def _analogue(radios: tuple[Radio, Radio]) -> bool:
    return "analogue" in (radios[0].dial, radios[1].dial)


def _told_by_slopes(
    before: Weighed,
    after: Weighed,
    places_mhz: tuple[float, float],
    pairs: list[tuple[Candidate, Candidate]],
) -> float:
    """Odds of two radios from the stops beside stations, clear of the console's carrier."""
    middles_mhz = [_middle_mhz(one, before) for one, _ in pairs]
    clear = [
        (mhz - SLOPES_MHZ, mhz + SLOPES_MHZ)
        for mhz in middles_mhz
        if all(abs(mhz - place) > 2 * SLOPES_MHZ for place in places_mhz)
    ]
    odds = two_radios_odds(gaps_db(before.sweep, after.sweep, clear))
    return float(np.clip(odds, -MOST, MOST))


def _middle_mhz(one: Candidate, weighed: Weighed) -> float:
    """The middle of the stops that held a carrier, MHz on the dial."""
    stops = weighed.sweep.stops
    return (stops[one.run.held[0]].dial_mhz + stops[one.run.held[-1]].dial_mhz) / 2


def _in_common(before: Weighed, after: Weighed) -> list[tuple[Candidate, Candidate]]:
    """The stations that both sweeps heard, the best placed first."""
    pairs = []
    theirs = _stations(after)
    for one in _stations(before):
        near = [
            other
            for other in theirs
            if abs(other.fit.mean_mhz - one.fit.mean_mhz) < SAME_STATION_MHZ
        ]
        if len(near) == 1:
            pairs.append((one, near[0]))
    return sorted(pairs, key=lambda pair: pair[0].fit.spread_khz + pair[1].fit.spread_khz)


def _both_drawn(
    before: Weighed, after: Weighed, pairs: list[tuple[Candidate, Candidate]]
) -> Iterator[tuple[Drawn, Drawn]]:
    """The best placed stations in both sweeps as every curve explains them."""
    for one, other in pairs[:MOST_STATIONS]:
        around_mhz = _middle_mhz(one, before)
        yield (
            drawn_from(one, before, around_mhz, STATION_KHZ, coarse=True),
            drawn_from(other, after, around_mhz, STATION_KHZ, coarse=True),
        )


def _stations(weighed: Weighed) -> list[Candidate]:
    """The carriers that sound like stations, coarsely fitted."""
    return [one for one in weighed.candidates if one.run.side < 0 and one.odds < 0]


def drawn_from(
    one: Candidate, weighed: Weighed, around_mhz: float, spread_khz: float, *, coarse: bool = False
) -> Drawn:
    """A carrier of a sweep as every curve explains it.

    around_mhz, spread_khz  about where it stands on the dial
    coarse                  fewer curves, for stations
    """
    readings, _ = readings_of(one.run, weighed.runs, weighed.sweep, weighed.sounds)
    stops = weighed.sweep.stops
    others_mhz = [stops[i].dial_mhz for run in weighed.runs if run is not one.run for i in run.held]
    prior = np.interp(HALF_WIDTHS_KHZ, one.fit.half_width_khz, one.fit.width_prior)
    alone = beside_others(readings, others_mhz)
    return drawn(alone, around_mhz, spread_khz, prior, coarse=coarse)
