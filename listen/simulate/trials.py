"""Many fresh benches judged: `python -m listen.simulate.trials` prints one table.

Each bench is made by its seed, its dial is walked by the planner of `listen sweep` with
simulated hands, every stop is measured as it is heard, and the answer of `locate` is held
against the truth, which nothing but this module sees beside the answer.

    python -m listen.simulate.trials --benches 24 --first-seed 20000 --out trials
    python -m listen.simulate.trials --conditions dial-100 dial-200 --list

With --out each judged bench is kept as it is done; the same command goes on where it was
stopped, and --report prints all that is there.  Benches judged by other code are never mixed
with these.
"""

import argparse
import hashlib
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from time import monotonic

from listen.analysis.answer import Location
from listen.analysis.locate import locate_measured
from listen.analysis.measures import Measures, measure
from listen.analysis.outlook import outlook
from listen.channels import band_from
from listen.clip import Clip
from listen.errors import ListenError
from listen.radio import Radio
from listen.simulate.bench import SWITCHED_ON, Bench
from listen.simulate.conditions import CONDITIONS, Condition, Scene
from listen.simulate.hands import Hands
from listen.simulate.kept import Kept
from listen.simulate.pool import each
from listen.simulate.scenarios import Truth, dial_stops
from listen.simulate.scores import Record, by_strength, details, reliability, score, table
from listen.sweep import Ask, ListPlanner, Planner, ThinkingPlanner, walk

HOME = Path(__file__).parent.parent  # the package
SAID_EVERY_S = 30.0


def judge(conditions: Sequence[Condition], seed: int) -> tuple[Record, ...]:
    """Walk one bench and hold the answers against the truth; the conditions share a scene.

    The answer after the list alone is that without the switch; the last one is as walked.
    """
    scene = conditions[0].scene
    bench, truth = scene.make(seed)
    switched = any(condition.off_checks for condition in conditions)
    walk_done = walked(scene, bench, scene.told(truth), switched, scene.plan(truth))
    words = _bench_words(bench, truth)
    drifted_mhz = _drifted_mhz(bench, walk_done.stops)
    records = []
    for condition in conditions:
        answer = walk_done.last if condition.off_checks else walk_done.first
        records.append(
            Record(
                condition=condition.name,
                seed=seed,
                truth_mhz=_plus(truth.sound_mhz, drifted_mhz),
                truth_picture_mhz=_plus(truth.picture_mhz, drifted_mhz),
                strength_db=truth.strength_db,
                found=answer.found,
                answer_mhz=answer.sound_carrier_mhz,
                interval_95_mhz=answer.interval_95_mhz,
                heard_as=answer.heard_as,
                picture_mhz=answer.picture_carrier_mhz,
                picture_basis=answer.picture_basis,
                spacing_mhz=answer.spacing_mhz,
                rejected_mhz=_rejected_mhz(answer),
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
    scene: Scene, bench: Bench, radio: Radio, off_checks: bool, plan: str | None = None
) -> Walked:
    """Walk a bench's dial.

    radio  what the analysis is told of the set
    plan   the channel plan that a thinking walk is told
    """
    hands = Hands(bench, scene.dwell_s)
    measured: list[Measures] = []
    answers: list[tuple[int, Location]] = []

    def keep(ask: Ask, clip: Clip) -> None:
        measured.append(measure(clip))

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
        lambda ask: hands.hear(ask.dial_mhz, ask.console),
        keep,
    )
    last = look()
    checks = tuple(v.dial_mhz for v in visits if v.console == "off")
    return Walked(answers[0][1], last, checks, tuple(measured))


def _plus(mhz: float | None, more_mhz: float) -> float | None:
    return None if mhz is None else mhz + more_mhz


def _rejected_mhz(answer: Location) -> float | None:
    """The carrier that came nearest to a find, where nothing was found."""
    return None if answer.found or not answer.others else answer.others[0].centre_mhz


def _drifted_mhz(bench: Bench, stops: Sequence[Measures]) -> float:
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


@dataclass(frozen=True, slots=True)
class Task:
    """One bench to be judged.

    names     of conditions that share a scene
    seed      which bench
    dwell_s   length of each recording; None: the scene's
    band_mhz  the part of the dial that is walked; None: the scene's
    """

    names: tuple[str, ...]
    seed: int
    dwell_s: float | None = None
    band_mhz: tuple[float, float] | None = None

    def conditions(self) -> list[Condition]:
        """Its conditions, all with the one scene that it asks for."""
        found = chosen(self.names)
        scene = found[0].scene
        dwell_s, band_mhz = self.dwell_s or scene.dwell_s, self.band_mhz or scene.band_mhz
        scene = replace(scene, dwell_s=dwell_s, band_mhz=band_mhz)
        return [replace(condition, scene=scene) for condition in found]


def tasks(
    conditions: Sequence[Condition],
    seeds: Iterable[int],
    done: Iterable[tuple[str, int]],
    dwell_s: float | None = None,
    band_mhz: tuple[float, float] | None = None,
) -> list[Task]:
    """What is still to be judged, seed by seed, the conditions of one scene together."""
    there = set(done)
    scenes: dict[int, list[Condition]] = {}
    for condition in conditions:
        scenes.setdefault(id(condition.scene), []).append(condition)
    found = []
    for seed in seeds:
        for group in scenes.values():
            names = tuple(c.name for c in group if (c.name, seed) not in there)
            if names:
                found.append(Task(names, seed, dwell_s, band_mhz))
    return found


def chosen(names: Sequence[str]) -> list[Condition]:
    """The conditions of these names, in the table's order; none named: all.

    Raises ListenError for a name that no condition has.
    """
    known = [condition.name for condition in CONDITIONS]
    wrong = [name for name in names if name not in known]
    if wrong:
        raise ListenError(f"no condition is named {wrong[0]}: there are {', '.join(known)}")
    return [c for c in CONDITIONS if c.name in names or not names]


def _do(task: Task) -> tuple[Record, ...]:
    return judge(task.conditions(), task.seed)


def code_of(home: Path = HOME) -> str:
    """A short fingerprint of all that decides an answer or makes a bench."""
    whole = hashlib.sha256()
    for part in ("analysis", "channels", "data", "simulate", "sweep", "clip.py", "radio.py"):
        files = [home / part] if part.endswith(".py") else sorted((home / part).rglob("*.*"))
        for path in files:
            if path.suffix in (".py", ".csv"):
                whole.update(path.relative_to(home).as_posix().encode() + path.read_bytes())
    return whole.hexdigest()[:12]


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m listen.simulate.trials",
        description="Judge locate on many fresh simulated benches; prints one table.",
        epilog="Conditions: " + "; ".join(f"{c.name} ({c.sentence})" for c in CONDITIONS),
    )
    add = parser.add_argument
    add("--conditions", nargs="+", default=[], metavar="NAME", help="default: all")
    add("--benches", type=int, default=24, metavar="N", help="of each condition (24)")
    add("--first-seed", type=int, default=20_000, metavar="S", help="(20000)")
    add("--workers", type=int, default=2, metavar="N", help="processes (2)")
    add("--seconds", type=float, metavar="S", help="length of each recording (2)")
    add("--band", metavar="LOW-HIGH", help="walk this part of the dial only, MHz")
    add("--out", type=Path, metavar="DIR", help="keep each judged bench there, and go on there")
    add("--report", action="store_true", help="judge nothing: print what --out holds")
    add("--markdown", action="store_true", help="the table as Markdown")
    add("--list", action="store_true", help="each bench that is not right and covered, in words")
    add("--list-all", action="store_true", help="each bench in words")
    return parser


def main(words: Sequence[str] | None = None) -> int:
    """Run the trials that the command line asks for."""
    options = _parser().parse_args(words)
    try:
        if options.benches < 1 or options.workers < 1 or options.first_seed < 0:
            raise ListenError("--benches and --workers start at 1, --first-seed at 0")
        if options.seconds is not None and not 0.2 <= options.seconds <= 120:
            raise ListenError(f"--seconds {options.seconds:g} came: give 0.2 to 120")
        band_mhz = None if options.band is None else band_from(options.band)
        conditions = chosen(options.conditions)
        if options.report and options.out is None:
            raise ListenError("--report prints what a folder holds: name it with --out")
        kept = Kept(
            options.out,
            None if options.report else _how(options.seconds, band_mhz),
            Record.from_dict,
        )
        seeds = range(options.first_seed, options.first_seed + options.benches)
        if not options.report:
            todo = tasks(conditions, seeds, kept.done(), options.seconds, band_mhz)
            _judge_all(todo, options.workers, kept)
    except ListenError as why:
        print(f"trials: {why}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("\nStopped.  With --out, the same command goes on.", file=sys.stderr)
        return 130
    _print(conditions, [r for r in kept.records if options.report or r.seed in seeds], options)
    print(f"\nMade by {kept.how}.")
    return 0


def _how(dwell_s: float | None, band_mhz: tuple[float, float] | None) -> str:
    """What decides the answers, in words."""
    parts = [f"code {code_of()}"]
    if dwell_s is not None:
        parts.append(f"stops of {dwell_s:g} s")
    if band_mhz is not None:
        parts.append(f"{band_mhz[0]:g} to {band_mhz[1]:g} MHz alone")
    return ", ".join(parts)


def _judge_all(todo: Sequence[Task], workers: int, kept: Kept[Record]) -> None:
    began_s = said_s = monotonic()
    for number, records in enumerate(each(_do, todo, workers), 1):
        kept.add(records)
        if monotonic() - said_s > SAID_EVERY_S or number == len(todo):
            said_s = monotonic()
            print(
                f"{number} of {len(todo)} benches, {(said_s - began_s) / 60:.1f} min",
                file=sys.stderr,
                flush=True,
            )


def _print(
    conditions: Sequence[Condition], records: Sequence[Record], options: argparse.Namespace
) -> None:
    """The table, its seeds, and the benches in words where they are asked for."""
    rows = []
    shown: list[Record] = []
    for condition in conditions:
        mine = sorted((r for r in records if r.condition == condition.name), key=lambda r: r.seed)
        if mine:
            rows.append((condition.sentence, mine))
            shown += [r for r in mine if options.list_all or not is_as_hoped(r)]
    print("\n".join(table([(words, score(mine)) for words, mine in rows], options.markdown)))
    for switch, words in ((True, "as walked"), (False, "without the switch")):
        mixed = {c.name for c in conditions if c.in_mix and c.off_checks == switch}
        mine = [r for r in records if r.condition in mixed]
        if mine:
            print(f"\nAll of these that the goals speak of, {words}:")
            print("\n".join(table(by_strength(mine), options.markdown)))
    print("\nHow often a stated probability came true:")
    print("\n".join(reliability(records, options.markdown)))
    print("\nSeeds:")
    for words, mine in rows:
        print(f"  {words}: {mine[0].seed} to {mine[-1].seed}")
    if options.list or options.list_all:
        print("\n" + "\n".join(details(shown)))


def is_as_hoped(record: Record) -> bool:
    """Right with an interval that holds the truth; not found where there is no console."""
    if record.truth_mhz is None:
        return not record.found
    return record.verdict == "right" and record.covered is True


if __name__ == "__main__":
    sys.exit(main())
