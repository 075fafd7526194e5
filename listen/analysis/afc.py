"""Whether the radio drags its dial: automatic frequency control (AFC), by what a walk heard.

AFC takes hold of a carrier once the dial comes near, centres it, and lets go only when the dial
has gone further off than it had to come near.  So in a walk a carrier is held evenly, as deep as
at its middle, from CATCH before it to HOLD behind it in the direction of the walk, and there is
no slope on the far side: a stop that holds it whole stands beside an open one.  Short of the
catch the dial is where it says, and the near slope is the radio's own.  Weak carriers are held
as wide as strong ones.

Two stories are told of all carriers heard alone, and compared:

plain   each is held as wide as its strength and the radio's passband make it, or whole up to one
        distance, as by very steep filters; alike on both sides
drawn   the same, but whole between catch and hold, whatever the passband

Stations can only stand on their raster; other carriers stand anywhere.  Passband, dial error,
catch and hold are unknown and summed over.

Conventions
-----------
A stop is "deep", "partial" or "open".  Dial positions MHz, all else kHz; a dial error is dial
minus truth.  The walk is the order of the stops, or of their times where all have one.  Sources:
pull and hold of AFC, common practice; how deep a stop is on a slope, curves of plateau.py.

What it gives
-------------
drawn_by   how likely AFC is, and what it does: Afc
placed_by  one carrier's fit, given that
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from listen.analysis.dialerror import DialError, Floats
from listen.analysis.evidence import Candidate
from listen.analysis.heard import Sound
from listen.analysis.raster import off_raster_khz
from listen.analysis.readings import deepest_db, readings_of
from listen.analysis.runs import Run
from listen.analysis.survey import Survey
from listen.analysis.width import (
    BASIC_KHZ,
    QUIETS_DB,
    QUIETS_SPREAD_DB,
    SLOPE,
    STATION,
    STRENGTHS_DB,
    USUAL_DB,
    USUAL_SPREAD_DB,
    radio_weights,
    strength_weights,
)
from listen.radio import Radio

PRIOR = -2.0  # odds before anything is heard: few sets have it, fewer have it switched on
LIKELY = 0.5  # from which it is spoken of, and stations no longer calibrate the dial
MAYBE = 0.25  # from which it is reckoned with
EVEN_KHZ = (90.0, 120.0, 150.0, 180.0, 210.0, 250.0, 300.0, 350.0)  # held whole, either side
CATCH_KHZ = (60.0, 90.0, 120.0, 150.0)
HOLD_KHZ = (140.0, 170.0, 200.0, 230.0, 260.0, 300.0)
BEHIND = 1.3  # hold over catch, at least: an AFC without memory shifts nothing
STEP_KHZ = 10.0
PLACES_KHZ = np.arange(-400.0, 401.0, STEP_KHZ)  # of a carrier, from the middle of its stops
ERRORS_KHZ = np.arange(-40.0, 41.0, STEP_KHZ)  # of the dial
WIDTHS_KHZ = np.arange(66.0, 431.0, 13.0)
WIDTH_SCATTER = 0.08  # of the law of widths, its slope's included, as a share
LOST_DB = 2.0  # quieting that is none
# Shares of the deepest quieting that part the states; where a plain slope passes them, as shares of
# the half-width: at 0 dB of depth and what each dB takes off; and how much that differs.
DEEP, MID = 0.66, 0.33
PASSES = ((0.95, 0.0037, 0.024), (0.985, 0.0025, 0.015), (1.01, 0.0, 0.012))
CHANCE = 0.04  # how often a stop is in a state that its place does not explain
STRAYS = 0.05  # carriers that are none, or two
LEANS_KHZ = ((0.9, 1.0), (0.1, 20.0))  # height and spread more: a passband that leans is no AFC
FEW = 5  # carriers, fewer of which tell nothing: a leaning passband does the same to them
RASTER_KHZ = 7.0  # a station's place on the raster, the grid's cells included
ON_RASTER = 0.9  # of carriers that sound like stations
ALONE_MHZ = 0.5  # no radio holds one carrier over more than this: two stand there
FAR_MHZ = 0.45  # from a carrier, where no AFC holds it


@dataclass(frozen=True, slots=True, eq=False)
class Afc:
    """What a walk tells of AFC.

    probability  that the radio has it and it was on
    errors_khz   shape (m,): errors of the dial, rising
    told         shape (m,): how much likelier each is for what was heard, if it was on
    weight       shape (drawn stories, BASIC_KHZ): how likely each is if it was on, adds up to 1
    order        the stops' indices in the order of the walk
    """

    probability: float
    errors_khz: Floats
    told: Floats
    weight: Floats
    order: tuple[int, ...]

    @property
    def likely(self) -> bool:
        """Whether it is to be spoken of."""
        return self.probability > LIKELY

    @property
    def may_be(self) -> bool:
        """Whether it has to be reckoned with."""
        return self.probability > MAYBE

    def error(self, before: DialError) -> DialError:
        """The dial's error, given that AFC was on; an analogue scale's is not told by it.

        before  what was believed of it before a station was heard
        """
        if not before.same_everywhere:
            return before
        weight = before.weight * np.interp(before.low_khz, self.errors_khz, self.told)
        return replace(before, weight=weight / weight.sum())


def drawn_by(
    carriers: Sequence[Candidate],
    runs: tuple[Run, ...],
    sweep: Survey,
    sounds: tuple[Sound, ...],
    radio: Radio,
    before: DialError,
) -> Afc:
    """How likely it is that AFC was on during this walk, and between which bounds it holds.

    before  the dial's error as it was believed before a station was heard
    """
    order = walk_order(sweep)
    blind = sweep.roar.muting in ("hard", "suppressed")  # where no stop tells a slope from none
    rasters = _rasters_of(radio)
    local = before.at(sum(radio.band_mhz) / 2)
    errors_khz = local.mean_khz + ERRORS_KHZ
    errors = np.zeros(ERRORS_KHZ.size)
    for height, more_khz in LEANS_KHZ:
        errors += height * np.exp(-0.5 * (ERRORS_KHZ / (local.spread_khz + more_khz)) ** 2)
    errors /= errors.sum()
    basics = radio_weights([], radio.passband_khz).sum(axis=1)
    log_p = np.log(np.tile(errors / len(rasters), len(rasters)) + 1e-12)[:, None]
    log_p = log_p + np.log(basics + 1e-12)
    stories = np.log(_priors())[:, None, None] + log_p
    telling = [one for one in carriers if not blind and _tells(one, sweep)]
    for one in telling if len(telling) >= FEW else []:
        like, by_chance = _explained(one, runs, sweep, sounds, order)
        where = _where(one, sweep, radio, errors_khz)
        stories = stories + np.log((1 - STRAYS) * (where @ like) + STRAYS * by_chance)
    alike = 1 + len(EVEN_KHZ)
    drawn, plain = (
        float(np.logaddexp.reduce(part, axis=None)) for part in (stories[alike:], stories[:alike])
    )
    odds = PRIOR + drawn - plain
    weight = np.exp(stories[alike:] - stories[alike:].max())
    weight /= weight.sum()
    told = weight.sum(axis=(0, 2)).reshape(len(rasters), -1).sum(axis=0) / (errors + 1e-12)
    return Afc(float(1 / (1 + np.exp(-odds))), errors_khz, told, weight.sum(axis=1), order)


def placed_by(
    one: Candidate,
    afc: Afc,
    runs: tuple[Run, ...],
    sweep: Survey,
    sounds: tuple[Sound, ...],
) -> Candidate:
    """The carrier with its place as AFC leaves it open, as far as AFC is likely."""
    fit = one.fit
    like = _explained(one, runs, sweep, sounds, afc.order)[0][1 + len(EVEN_KHZ) :]
    weight = np.einsum("cxb,cb->x", like, afc.weight)
    places_mhz = _middle_mhz(one, sweep) + PLACES_KHZ / 1e3
    drawn = np.interp(fit.carrier_mhz, places_mhz, weight) + 1e-12
    mixed = afc.probability * drawn / drawn.sum() + (1 - afc.probability) * fit.weight
    joint = np.outer(fit.joint.sum(axis=1), mixed)
    best_mhz = float(fit.carrier_mhz[int(mixed.argmax())])
    return replace(one, fit=replace(fit, weight=mixed, joint=joint, best_mhz=best_mhz))


def walk_order(sweep: Survey) -> tuple[int, ...]:
    """The stops as they were visited: by their times, or as they came.

    As they came where any has no time, or where some have an offset from UTC and some have none.
    """
    times = [stop.at for stop in sweep.stops if stop.at is not None]
    clocks = {at.utcoffset() is None for at in times}
    if len(times) < len(sweep.stops) or len(clocks) > 1:
        return tuple(range(len(sweep.stops)))
    return tuple(sorted(range(len(times)), key=lambda i: (times[i], i)))


def _tells(one: Candidate, sweep: Survey) -> bool:
    """Whether it is one carrier, and of a kind that is as deep as the radio lets it be."""
    dial = [sweep.stops[i].dial_mhz for i in one.run.held]
    return max(dial) - min(dial) <= ALONE_MHZ and one.run.kind in ("programme", "bare")


def _middle_mhz(one: Candidate, sweep: Survey) -> float:
    """The middle of a carrier's stops."""
    dial = [sweep.stops[i].dial_mhz for i in (one.run.held[0], one.run.held[-1])]
    return sum(dial) / 2


@cache
def _pairs() -> Floats:
    """Catch and hold of every story but the first: shape (stories - 1, 2)."""
    drawn = [(c, h) for c in CATCH_KHZ for h in HOLD_KHZ if h >= BEHIND * c]
    return np.array([*((khz, khz) for khz in EVEN_KHZ), *drawn])


@cache
def _priors() -> Floats:
    """How likely each story is among its kind: those alike on both sides, and the drawn ones."""
    even, drawn = len(EVEN_KHZ), len(_pairs()) - len(EVEN_KHZ)
    return np.array([0.5, *[0.5 / even] * even, *[1 / drawn] * drawn])


def _explained(
    one: Candidate,
    runs: tuple[Run, ...],
    sweep: Survey,
    sounds: tuple[Sound, ...],
    order: tuple[int, ...],
) -> tuple[Floats, float]:
    """How well a carrier's stops are explained, and how well by chance.

    Shape (stories, PLACES_KHZ, basic half-widths); the first story is the plain one.
    """
    _, used = readings_of(one.run, runs, sweep, sounds)
    deep_db = deepest_db(one.run, sweep)
    used = [i for i in used if np.isfinite(sweep.quieting_db[i])]
    places_mhz = _middle_mhz(one, sweep) + PLACES_KHZ / 1e3
    states = [_state(float(sweep.quieting_db[i]), deep_db) for i in used]
    at_mhz = np.array([sweep.stops[i].dial_mhz for i in used])
    away_khz = 1e3 * np.abs(at_mhz[:, None] - places_mhz)
    log_plain = np.empty((len(used), PLACES_KHZ.size, WIDTHS_KHZ.size))
    for k, state in enumerate(states):  # stop by stop: a slow walk has many
        log_plain[k] = np.log(_plain_shares(away_khz[k, :, None] / WIDTHS_KHZ, deep_db)[state])
    held = np.log(np.array([1 - CHANCE, *[CHANCE / 3] * 3]))[states]
    inside = _inside(places_mhz, used, sweep, order)
    gained = (held[:, None, None] - log_plain).transpose(1, 0, 2)
    drawn = (inside.transpose(2, 0, 1) @ gained).transpose(1, 0, 2)
    like = np.exp(log_plain.sum(axis=0) + np.concatenate([0 * drawn[:1], drawn]))
    return like @ _widths_of(one, deep_db), float((1 / 4) ** len(used))


def _state(quieting_db: float, deep_db: float) -> int:
    """0 deep, 1 and 2 partial, 3 open."""
    if quieting_db < LOST_DB:
        return 3
    return 0 if quieting_db > DEEP * deep_db else 1 if quieting_db > MID * deep_db else 2


def _plain_shares(share: Floats, deep_db: float) -> Floats:
    """Probabilities of the four states at a share of the half-width, shape (4, ...)."""
    beyond = [np.ones_like(share)]
    for at, less, soft in PASSES:
        apart = np.clip((at - less * deep_db - share) / soft, -50, 50)
        beyond.append(np.minimum(1 / (1 + np.exp(apart)), beyond[-1]))
    beyond.append(np.zeros_like(share))
    shares = -np.diff(np.stack(beyond), axis=0)
    return np.asarray((1 - 4 * CHANCE / 3) * shares + CHANCE / 3)


def _inside(
    places_mhz: Floats, used: Sequence[int], sweep: Survey, order: tuple[int, ...]
) -> Floats:
    """Whether AFC holds a carrier at a place, for each stop: shape (pairs, used, places)."""
    catch_khz, hold_khz = _pairs().T[:, :, None]
    inside = np.zeros((len(_pairs()), len(used), places_mhz.size))
    row = {i: k for k, i in enumerate(used)}
    held = None
    for i in order:
        dial_mhz = sweep.stops[i].dial_mhz
        if not places_mhz[0] - FAR_MHZ < dial_mhz < places_mhz[-1] + FAR_MHZ:
            held = None
            continue
        off_khz = 1e3 * np.abs(dial_mhz - places_mhz)
        caught = off_khz < catch_khz
        held = caught if held is None else caught | (held & (off_khz < hold_khz))
        if i in row:
            inside[:, row[i]] = held
    return inside


def _widths_of(one: Candidate, deep_db: float) -> Floats:
    """Probability of each of WIDTHS_KHZ for each basic half-width: shape (widths, basics)."""
    station = one.run.side < 0
    return np.asarray(_laws(station) @ _strengths(deep_db, station))


@cache
def _laws(station: bool) -> Floats:
    """The same for each of STRENGTHS_DB: shape (widths, basics, strengths)."""
    law_khz = BASIC_KHZ[:, None] * np.exp(SLOPE * (STRENGTHS_DB - 25))
    law_khz = law_khz * (STATION if station else 1.0)
    apart = (WIDTHS_KHZ[:, None, None] - law_khz) / (WIDTH_SCATTER * law_khz)
    bell = np.exp(-0.5 * apart**2)
    return np.asarray(bell / (bell.sum(axis=0) + 1e-9))


def _strengths(quieting_db: float, station: bool) -> Floats:
    """Probability of each of STRENGTHS_DB; a station's programme hides how strong it is."""
    if not station:
        return strength_weights(quieting_db, False)
    usual = np.exp(-0.5 * ((STRENGTHS_DB - USUAL_DB) / USUAL_SPREAD_DB) ** 2)
    weight = usual * (quieting_db - QUIETS_DB - 2 * QUIETS_SPREAD_DB < STRENGTHS_DB)
    return np.asarray(weight / weight.sum())


def _where(one: Candidate, sweep: Survey, radio: Radio, errors_khz: Floats) -> Floats:
    """Probability of each of PLACES_KHZ for each raster and dial error: shape (both, places)."""
    rasters = _rasters_of(radio)
    even = np.full((len(rasters) * errors_khz.size, PLACES_KHZ.size), 1 / PLACES_KHZ.size)
    if one.run.side >= 0 or radio.dial == "analogue" or radio.raster_origin_mhz is None:
        return even
    places_mhz = _middle_mhz(one, sweep) + PLACES_KHZ / 1e3
    true_mhz = places_mhz - errors_khz[:, None] / 1e3
    off_khz = np.concatenate([off_raster_khz(true_mhz, *raster) for raster in rasters])
    bell = np.exp(-0.5 * (off_khz / RASTER_KHZ) ** 2) + 1e-9
    return np.asarray(ON_RASTER * bell / bell.sum(axis=1, keepdims=True) + (1 - ON_RASTER) * even)


def _rasters_of(radio: Radio) -> tuple[tuple[float, float], ...]:
    """The rasters, kHz, with a place on each, MHz: the radio's, and a sparser one that fits it.

    One alone, which is asked nothing, where it is not known where the radio's begins.
    """
    own = (radio.raster_khz, radio.raster_origin_mhz or 0.0)
    sparse = (200.0, 87.9)  # 47 CFR 73.201
    alone = radio.raster_origin_mhz is None or own[0] >= sparse[0]
    return (own,) if alone else (own, sparse)
