"""One bench judged: its dial walked by simulated hands, the answer held against the truth.

The truth is seen by nothing but this module beside the answer.  Conditions that share a scene
are judged by one walk: the answer after its list alone is that without the switch.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from listen.analysis.answer import Location
from listen.analysis.locate import locate_measured
from listen.analysis.measures import Measures
from listen.analysis.outlook import outlook
from listen.radio import Radio
from listen.simulate.bench import SWITCHED_ON, Bench
from listen.simulate.conditions import Condition, Scene
from listen.simulate.hands import Hands
from listen.simulate.heard import NOTHING_KEPT, Store
from listen.simulate.scenarios import Truth, dial_stops
from listen.simulate.scores import Record
from listen.sweep import Ask, ListPlanner, Planner, ThinkingPlanner, walk


def judge(
    conditions: Sequence[Condition], seed: int, store: Store = NOTHING_KEPT
) -> tuple[Record, ...]:
    """Walk one bench and hold the answers against the truth; the conditions share a scene.

    The answer after the list alone is that without the switch; the last one is as walked.
    """
    scene = conditions[0].scene
    bench, truth = scene.make(seed)
    switched = any(condition.off_checks for condition in conditions)
    walk_done = walked(scene, bench, scene.told(truth), switched, scene.plan(truth), store)
    words = _bench_words(bench, truth)
    gone_mhz = drifted_mhz(bench, walk_done.stops)
    records = []
    for condition in conditions:
        answer = walk_done.last if condition.off_checks else walk_done.first
        records.append(
            Record(
                condition=condition.name,
                seed=seed,
                truth_mhz=_plus(truth.sound_mhz, gone_mhz),
                truth_picture_mhz=_plus(truth.picture_mhz, gone_mhz),
                strength_db=truth.strength_db,
                found=answer.found,
                answer_mhz=answer.sound_carrier_mhz,
                interval_95_mhz=answer.interval_95_mhz,
                heard_as=answer.heard_as,
                picture_mhz=answer.picture_carrier_mhz,
                picture_basis=answer.picture_basis,
                spacing_mhz=answer.spacing_mhz,
                rejected_mhz=answer.rejected_mhz,
                probability=answer.probability,
                reason=answer.reason,
                off_checks_mhz=walk_done.checks_mhz if condition.off_checks else (),
                switch_at_mhz=answer.switch_at_mhz,
                bench=words,
                chosen_stops=len(walk_done.stops) if scene.walk == "thinking" else None,
            )
        )
    return tuple(records)


@dataclass(frozen=True, slots=True, eq=False)
class Walked:
    """A bench's whole walk.

    first, last  the answer of the list alone, and the last one
    checks_mhz   the stops heard with the console off
    stops        all that was measured
    """

    first: Location
    last: Location
    checks_mhz: tuple[float, ...]
    stops: tuple[Measures, ...]


def walked(
    scene: Scene,
    bench: Bench,
    radio: Radio,
    off_checks: bool,
    plan: str | None = None,
    store: Store = NOTHING_KEPT,
) -> Walked:
    """Walk a bench's dial.

    radio  what the analysis is told of the set
    plan   the channel plan that a thinking walk is told
    store  of what was heard at this bench before
    """
    hands = Hands(bench, scene.dwell_s)
    ears = store.ears(hands)
    measured: list[Measures] = []
    answers: list[tuple[int, Location]] = []

    def keep(ask: Ask, stop: Measures) -> None:
        measured.append(stop)

    def look() -> Location:
        if not answers or answers[-1][0] != len(measured):
            answers.append((len(measured), locate_measured(tuple(measured), radio)))
        return answers[-1][1]

    grid = dial_stops(scene.step_khz, scene.band_mhz)
    planner: Planner = ListPlanner(
        grid, lambda mhz: "", lambda: look().switch_at_mhz if off_checks else None
    )
    if scene.walk == "thinking":
        told = None if plan is None else [plan]
        planner = ThinkingPlanner(grid, lambda: outlook(tuple(measured), radio, plans=told), told)
    visits = walk(
        planner,
        lambda ask: (
            hands.tune(ask.dial_mhz, ask.console) if off_checks or ask.console == "on" else "skip"
        ),
        lambda ask: ears.hear(ask.dial_mhz, ask.console),
        keep,
    )
    ears.keep()
    last = look()
    checks = tuple(v.dial_mhz for v in visits if v.console == "off")
    return Walked(answers[0][1], last, checks, tuple(measured))


def _plus(mhz: float | None, more_mhz: float) -> float | None:
    return None if mhz is None else mhz + more_mhz


def drifted_mhz(bench: Bench, stops: Sequence[Measures]) -> float:
    """How far a console had drifted when the stop nearest to it was recorded, MHz."""
    console = bench.console
    if console is None or not console.drift_khz_per_min:
        return 0.0
    times = [
        (abs(stop.dial_mhz - console.true_sound_mhz), (stop.at - SWITCHED_ON).total_seconds())
        for stop in stops
        if stop.console == "on" and stop.at is not None
    ]
    return float(console.drift_hz(min(times)[1])) / 1e6


def _bench_words(bench: Bench, truth: Truth) -> str:
    """What stood on a bench, for whoever looks into its answer."""
    radio = bench.receiver
    parts = []
    console = bench.console
    if console is not None and truth.sound_mhz is not None:
        parts.append(
            f"console {truth.plan}:{truth.channel} at {truth.sound_mhz:.3f} MHz, "
            f"{console.strength_db:.0f} dB, {console.programme}, {console.deviation_khz:g} kHz x "
            f"{console.modulation:.2f}"
            + (f", mirror {console.mirror_db:.0f} dB" if console.mirror_db is not None else "")
        )
    stations = [
        f"{s.mhz:.1f} ({s.strength_db:.0f} dB {s.programme}{' stereo' if s.stereo else ''})"
        for s in bench.stations
    ]
    parts.append(f"stations {', '.join(stations)}" if stations else "no stations")
    parts.append(
        f"passband {radio.passband_khz:.0f} kHz {radio.misalignment_khz:+.1f} off, "
        f"order {radio.passband_order}, image {radio.image_rejection_db:.0f} dB "
        f"{radio.oscillator}"
    )
    return "; ".join(parts)
