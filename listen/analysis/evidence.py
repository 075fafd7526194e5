"""What speaks for a run of stops being the console: its sound, the raster, the switch.

Each piece is a natural logarithm of odds, console against station; their sum and a prior
give the probability.  A find needs more than that sum: one piece that a station on the
raster cannot explain.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import erf, sqrt

import numpy as np

from listen.analysis.curve import Floats, Posterior, fit_carrier
from listen.analysis.dialerror import DialError, without_error
from listen.analysis.heard import OPEN_DB, Sound
from listen.analysis.nearest import nearest_to_own
from listen.analysis.picture_fit import fit_picture
from listen.analysis.raster import STATION_KHZ, off_raster_khz
from listen.analysis.readings import deepest_db, readings_of
from listen.analysis.runs import BESIDE_MHZ, OWN_DB, Run, has_its_own
from listen.analysis.survey import Survey
from listen.analysis.switch import in_doubt, switch_told
from listen.analysis.volume import STEP_DB
from listen.analysis.width import HALF_WIDTHS_KHZ, half_width_weights
from listen.analysis.window_fit import fit_window
from listen.radio import Radio

CLOSE_MHZ = 0.055  # a stop this near another may stand in for it
PRIOR = -2.0  # a carrier on the dial is seven times likelier to be a station
SOUND_AGREES = 1.5  # several stops of one carrier say more than one, but not independently
SOUND_MOST = 6.5  # however many stops agree, it is one programme
RASTER_MOST = 4.0
# Of a find: where the switch spoke, only its place is in doubt; where the sound alone speaks, and
# the raster does not, a station that plays softly would do.
SURE, SURE_SWITCHED, SURE_BY_SOUND = 0.9, 0.85, 0.95
WITHIN_MHZ = 0.15  # that `probability` speaks of
PAIR_FINDS = 1.5  # odds of a modulator's other carriers below which they are no reason for a find
MIRRORED_DB = 8.0  # two slopes of one carrier, as far from it, differ by less in two moments
SLOPE_DB = 25.0  # two slopes of one carrier, 20 kHz apart on their way down, differ by less
SLOPE_PILOT_DB = 31.0  # 19 kHz on a station's slope: half-way from none to a whole pilot
SOUND_FINDS = 1.5  # odds of the sound alone below which it is no reason for a find


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A run with its fit and all that speaks for or against it.

    fit     where it sits on the dial's own scale
    quieting_db  its deepest
    sound, raster, switch   odds of each, natural logarithm
    switch_stop  the off stop that decided, or None
    way     odds of the likeliest way in which a modulator would be heard there
    pair    of which for other carriers of that modulator
    sure    share of all ways that put the sound carrier where the likeliest does
    joined  its place with what its picture's stops say of it; None where none was heard
    near    probability that the sound carrier stands within WITHIN_MHZ of where it is put, the
            dial's error included; None: by the fit alone
    """

    run: Run
    fit: Posterior
    sound: float
    raster: float = 0.0
    switch: float = 0.0
    switch_stop: int | None = None
    quieting_db: float = 0.0
    way: float = 0.0
    pair: float = 0.0
    sure: float = 1.0
    joined: Posterior | None = None
    near: float | None = None

    @property
    def odds(self) -> float:
        """All pieces and the prior together."""
        return PRIOR + self.sound + self.raster + self.switch + self.way

    @property
    def console(self) -> float:
        """Probability that this is a console's, heard in whatever way."""
        return float(1 / (1 + np.exp(-self.odds)))

    @property
    def probability(self) -> float:
        """That a console's sound carrier stands within 150 kHz of where it is put."""
        return self.console * self.sure * self.placed

    @property
    def placed(self) -> float:
        """Probability that the sound carrier stands within 150 kHz of where it is put."""
        return near_of(self.joined or self.fit) if self.near is None else self.near

    @property
    def is_likely(self) -> bool:
        """Probable, and for a reason: the switch, its sound or other carriers of its modulator."""
        heard = self.sound >= SOUND_FINDS or self.pair >= PAIR_FINDS
        reason = self.switch > 0 or (heard and self.switch == 0)
        if self.run.kind == "buzz":  # a picture's buzz may come and go with the switch too
            return False
        return reason and self.probability >= (SURE if self.switch <= 0 else SURE_SWITCHED)

    @property
    def is_find(self) -> bool:
        """Likely, and surer where a station that plays softly on the raster would do."""
        alone = self.switch <= 0 and self.pair < PAIR_FINDS and self.raster <= 0
        return self.is_likely and (not alone or self.probability >= SURE_BY_SOUND)


def candidate(
    run: Run,
    runs: tuple[Run, ...],
    sweep: Survey,
    sounds: tuple[Sound, ...],
    radio: Floats,
    coarse: bool,
    scatter_khz: float = 0.0,
) -> Candidate:
    """A run, fitted, with the odds of its sound and of the switch.

    radio  how wide this radio holds a carrier, as width.radio_weights gives it
    coarse  by hiss alone, and not to the kilohertz
    scatter_khz  of the dial's readings
    """
    fit = fitted(run, runs, sweep, sounds, radio, coarse, scatter_khz, loud=not coarse)
    if run.side > 0:
        stations = [sweep.stops[i].dial_mhz for i in _of_stations(run, runs, sweep, sounds)]
        fit = nearest_to_own(fit, [sweep.stops[i].dial_mhz for i in run.held], stations)
    odds = [sounds[i].odds for i in run.held if sounds[i].kind == "programme"]
    sound = SOUND_AGREES * float(np.mean(odds)) if odds else 0.0
    sound = float(np.clip(sound, -SOUND_MOST, SOUND_MOST))
    if run.kind != "programme":
        sound = min(sound, 0.0)
    elif run.side > 0 and len(run.held) == 1 and _may_be_slope(run, runs, sweep, sounds):
        sound = min(sound, SOUND_FINDS - 0.1)
    switch, stop = switch_told(run, sweep, sounds, scatter_khz)
    if not switch and in_doubt(run, sweep, sounds, scatter_khz):
        sound = min(sound, SOUND_FINDS - 0.1)
    if not switch and all(sweep.roar.doubt(i) >= STEP_DB for i in run.held):
        sound = min(sound, SOUND_FINDS - 0.1)  # nor how loud it is nor how deep it is held is known
    return Candidate(run, fit, sound, 0.0, switch, stop, deepest_db(run, sweep))


def _of_stations(
    run: Run, runs: tuple[Run, ...], sweep: Survey, sounds: tuple[Sound, ...]
) -> set[int]:
    """The stops that stations hold instead of a run's carrier, those on their slopes by a pilot.

    What plays nothing there may be the console at rest.
    """
    held = {i for other in runs if other.side < 0 for i in other.held if sounds[i].kind != "bare"}
    piloted = {
        i
        for i, stop in enumerate(sweep.stops)
        if stop.console == "on"
        and sounds[i].kind == "edge"
        and stop.programme is not None
        and (stop.programme.pilot_db or 0.0) > SLOPE_PILOT_DB
    }
    both = held | (piloted - set(run.held))
    return {i for i in both if sweep.quieting_db[i] > OWN_DB}  # where two clash it is less


def fitted(
    run: Run,
    runs: tuple[Run, ...],
    sweep: Survey,
    sounds: tuple[Sound, ...],
    radio: Floats,
    coarse: bool,
    scatter_khz: float,
    *,
    loud: bool,
) -> Posterior:
    """A run's carrier: a picture's has a curve of its own, a hard mute a window instead.

    A soft mute may close before the carrier is lost, so that half of the law of widths is left.

    radio, coarse, scatter_khz  as of candidate
    loud  whether its loudness tells too
    """
    readings, _ = readings_of(run, runs, sweep, sounds)
    if not loud:
        readings = [replace(reading, loud_db=None) for reading in readings]
    around_mhz = sum(sweep.stops[i].dial_mhz for i in (run.held[0], run.held[-1])) / 2
    if run.kind == "buzz":
        return fit_picture(readings, around_mhz, radio, scatter_khz=scatter_khz)
    if sweep.roar.muting == "hard":
        return fit_window(readings, around_mhz, scatter_khz=scatter_khz)
    widths = half_width_weights(deepest_db(run, sweep), radio)
    if sweep.roar.muting == "soft":
        widths = (widths + 1 / HALF_WIDTHS_KHZ.size) / 2
    return fit_carrier(
        *(readings, around_mhz),
        half_width_weights=widths,
        coarse=coarse,
        scatter_khz=scatter_khz,
    )


def _may_be_slope(
    run: Run, runs: tuple[Run, ...], sweep: Survey, sounds: tuple[Sound, ...]
) -> bool:
    """Whether a lone stop may be the slope of a strong station near it.

    Slopes are alike on both sides: where the dial as far beyond the station is open while
    this stop is held deep, it is no slope.
    """
    here = sweep.stops[run.held[0]]
    depth_db = deepest_db(run, sweep)
    own = has_its_own(sweep, sounds, run.held[0])
    rough_db = MIRRORED_DB + 2 * sweep.rough_db(run.held[0])
    for station in (other for other in runs if other.side < 0):
        dial_mhz = [sweep.stops[i].dial_mhz for i in station.held]
        if min(abs(here.dial_mhz - mhz) for mhz in dial_mhz) >= BESIDE_MHZ:
            continue
        beyond_mhz = min(dial_mhz) + max(dial_mhz) - here.dial_mhz
        opposite_db = [
            sweep.quieting_db[i]
            for i, stop in enumerate(sweep.stops)
            if stop.console == "on"
            and np.isfinite(sweep.quieting_db[i])
            and abs(stop.dial_mhz - beyond_mhz) <= CLOSE_MHZ
        ]
        if opposite_db and max(opposite_db) > depth_db - rough_db:
            return True  # the station's other slope is as deep, whatever is missing on this one
        open_beyond = opposite_db and max(opposite_db) < OPEN_DB - 1
        if not own and not (depth_db >= SLOPE_DB and open_beyond):
            return True
    return False


def with_raster(one: Candidate, error: DialError, radio: Radio) -> Candidate:
    """The candidate with what its place against the raster says.

    A station sits on the raster, a console's carrier anywhere: the odds are the ratio of the
    two densities at the fitted place, each blurred by what is not known of it.  A raster that
    begins nobody knows where says nothing.
    """
    near = near_of(one.fit, error)
    if radio.raster_origin_mhz is None:
        return replace(one, raster=0.0, near=near)
    local = error.at(one.fit.mean_mhz)
    blur = float(np.hypot(local.spread_khz, STATION_KHZ))
    off = off_raster_khz(
        one.fit.carrier_mhz - local.mean_khz / 1e3, radio.raster_khz, radio.raster_origin_mhz
    )
    on_raster = np.exp(-0.5 * (off / blur) ** 2) / (blur * np.sqrt(2 * np.pi))
    density = float(on_raster @ one.fit.weight)
    odds = -np.log(0.97 * density * radio.raster_khz + 0.03)
    odds = float(np.clip(odds, -RASTER_MOST, RASTER_MOST))
    return replace(one, raster=odds, near=near)


def near_of(
    fit: Posterior,
    error: DialError | None = None,
    scale: float = 1.0,
    open_khz: Sequence[tuple[float, float]] = (),
) -> float:
    """Probability that a carrier stands within 150 kHz of where it is put.

    error     the dial's, by which more is open; None: by the fit alone
    scale     how far the carrier lies for each kHz of where it was heard: half of a harmonic
    open_khz  what else it hangs on: shares and spreads of normal errors; none: nothing
    """
    weight: Floats = fit.weight
    away_mhz: Floats = fit.carrier_mhz - fit.mean_mhz
    if error is not None:
        step_mhz = float(fit.carrier_mhz[1] - fit.carrier_mhz[0])
        kernel = error.at(fit.mean_mhz).kernel
        weight, first_mhz = without_error(fit.weight, float(fit.carrier_mhz[0]), step_mhz, kernel)
        place_mhz = first_mhz + step_mhz * np.arange(weight.size, dtype=np.float64)
        away_mhz = place_mhz - error.true_mhz(fit.mean_mhz)
    away_khz, within_khz = 1e3 * scale * away_mhz, 1e3 * WITHIN_MHZ
    inside: Floats = (np.abs(away_khz) <= within_khz).astype(np.float64)
    if open_khz:
        inside = np.array([_share_within(float(khz), within_khz, open_khz) for khz in away_khz])
    return float(weight @ inside / weight.sum())


def _share_within(
    away_khz: float, within_khz: float, open_khz: Sequence[tuple[float, float]]
) -> float:
    """How much of a sum of normal densities about a place lies within so much of 0."""
    return sum(
        share
        * (erf((within_khz - away_khz) / wide_khz) + erf((within_khz + away_khz) / wide_khz))
        / 2
        for share, wide_khz in ((share, sqrt(2) * max(khz, 1e-3)) for share, khz in open_khz)
    )
