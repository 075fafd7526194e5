"""One thing changed on a bench: the effects that the locator must live with, each alone.

An effect takes a bench with its truth and a source of chance of its own, and gives both as
they are with it.  Orders of magnitude are those of ordinary sets, cards and benches
(common practice) unless a source is named.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from listen.simulate.air import Spur, Station
from listen.simulate.bench import Bench
from listen.simulate.scenarios import Truth

Made = tuple[Bench, Truth]
Effect = Callable[[Made, np.random.Generator], Made]


def made_with(make: Callable[[int], Made], *effects: Effect) -> Callable[[int], Made]:
    """A maker whose benches are those of another, with these effects one after the other."""

    def changed(seed: int) -> Made:
        made = make(seed)
        for number, effect in enumerate(effects):
            made = effect(made, np.random.default_rng([seed, 2, number]))
        return made

    return changed


def radio_with(**settings: Any) -> Effect:
    """Settings of the receiver; a pair of numbers is drawn between."""
    return lambda made, rng: (
        replace(made[0], receiver=replace(made[0].receiver, **_drawn(settings, rng))),
        made[1],
    )


def line_in_with(**settings: Any) -> Effect:
    """Settings of the line-in; a pair of numbers is drawn between."""
    return lambda made, rng: (
        replace(made[0], line_in=replace(made[0].line_in, **_drawn(settings, rng))),
        made[1],
    )


def console_with(**settings: Any) -> Effect:
    """Settings of the console, none of which moves its carriers; a pair is drawn between."""

    def changed(made: Made, rng: np.random.Generator) -> Made:
        bench, truth = made
        if bench.console is None:
            return made
        return replace(bench, console=replace(bench.console, **_drawn(settings, rng))), truth

    return changed


def misaligned(most_khz: float) -> Effect:
    """The passband up to so far off the dial, either way."""

    def changed(made: Made, rng: np.random.Generator) -> Made:
        bench, truth = made
        off_khz = float(rng.uniform(-most_khz, most_khz))
        receiver = replace(bench.receiver, misalignment_khz=off_khz)
        return replace(bench, receiver=receiver), replace(truth, misalignment_khz=off_khz)

    return changed


def neighbour(nearest_khz: float, furthest_khz: float, db: tuple[float, float]) -> Effect:
    """A further station on the raster, so far from the console's sound."""

    def changed(made: Made, rng: np.random.Generator) -> Made:
        bench, truth = made
        if truth.sound_mhz is None or not bench.stations:
            return made
        first_mhz, step_mhz = (87.9, 0.2) if bench.line_in.mains_hz == 60 else (87.6, 0.1)
        raster_mhz = np.arange(first_mhz, 108.0, step_mhz)
        away_khz = 1e3 * np.abs(raster_mhz - truth.sound_mhz)
        near = raster_mhz[(away_khz >= nearest_khz) & (away_khz <= furthest_khz)]
        if not near.size:
            return made
        mhz = float(rng.choice(near))
        kept = tuple(s for s in bench.stations if abs(s.mhz - mhz) > 0.29)
        one = Station(
            mhz=round(mhz, 4) + float(rng.uniform(-2, 2)) / 1000,
            strength_db=float(rng.uniform(*db)),
            programme="music" if rng.random() < 0.7 else "speech",
            seed=int(rng.integers(1 << 30)),
            preemphasis_us=bench.receiver.deemphasis_us,
        )
        stations = tuple(sorted((*kept, one), key=lambda s: s.mhz))
        told = replace(truth, stations_mhz=tuple(s.mhz for s in stations))
        return replace(bench, stations=stations), told

    return changed


def spurs(most: int, db: tuple[float, float]) -> Effect:
    """Bare carriers of other things in the house, anywhere on the dial."""

    def changed(made: Made, rng: np.random.Generator) -> Made:
        bench, truth = made
        found = tuple(
            Spur(float(rng.uniform(87.7, 107.8)), float(rng.uniform(*db)))
            for _ in range(int(rng.integers(1, most + 1)))
        )
        return replace(bench, spurs=found), truth

    return changed


def analogue(most_khz: float, scatter_khz: float = 20.0) -> Effect:
    """A scale that is off by up to so much anywhere on it, and read with a scatter."""

    def changed(made: Made, rng: np.random.Generator) -> Made:
        bench, truth = made
        low_khz, high_khz = rng.uniform(-most_khz, most_khz, 2)
        slope = float(high_khz - low_khz) / 20.5
        receiver = replace(
            bench.receiver,
            dial_offset_khz=float(low_khz) + slope * (98.0 - 87.5),
            dial_slope_khz_per_mhz=slope,
            dial_scatter_khz=scatter_khz,
        )
        return replace(bench, receiver=receiver), truth

    return changed


def volume_touched(most_db: float, walk_s: float) -> Effect:
    """The knob turned once, up or down by half to all of that, somewhere in a walk."""

    def changed(made: Made, rng: np.random.Generator) -> Made:
        bench, truth = made
        step_db = float(rng.uniform(0.5, 1.0) * most_db * rng.choice([-1, 1]))
        step = (60.0 + float(rng.uniform(0.2, 0.8)) * walk_s, step_db)
        return replace(bench, line_in=replace(bench.line_in, volume_steps=(step,))), truth

    return changed


def volume_touched_twice(most_db: float, walk_s: float) -> Effect:
    """The knob turned in the first half of a walk and again in the second, back or further."""

    def changed(made: Made, rng: np.random.Generator) -> Made:
        bench, truth = made
        first_db = float(rng.uniform(0.5, 1.0) * most_db * rng.choice([-1, 1]))
        again_db = float(rng.choice([-1, 1])) * first_db
        first_s, again_s = rng.uniform((0.15, 0.55), (0.45, 0.85)) * walk_s
        steps = ((60.0 + float(first_s), first_db), (60.0 + float(again_s), again_db))
        return replace(bench, line_in=replace(bench.line_in, volume_steps=steps)), truth

    return changed


def drifting(most_khz_per_min: float) -> Effect:
    """A console that drifts while it is swept."""

    def changed(made: Made, rng: np.random.Generator) -> Made:
        bench, truth = made
        if bench.console is None:
            return made
        rate = float(rng.uniform(0.3, 1.0) * most_khz_per_min * rng.choice([-1, 1]))
        return replace(bench, console=replace(bench.console, drift_khz_per_min=rate)), truth

    return changed


def _drawn(settings: dict[str, Any], rng: np.random.Generator) -> dict[str, Any]:
    return {
        name: float(rng.uniform(*value)) if isinstance(value, tuple) else value
        for name, value in settings.items()
    }
