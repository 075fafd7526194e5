"""Many fresh benches judged: `python -m listen.simulate.trials` prints one table.

Each bench is made by its seed, its dial is walked by the planner of `listen sweep` with
simulated hands, every stop is measured as it is heard, and the answer of `locate` is held
against the truth, which nothing but this module sees beside the answer.

    python -m listen.simulate.trials --benches 24 --first-seed 20000 --out trials
    python -m listen.simulate.trials --conditions dial-100 dial-200 --list

With --out each judged bench is kept as it is done; the same command goes on where it was
stopped, and --report prints all that is there; --beside names folders whose answers are counted
too where it says how often a stated probability came true.  Benches judged by other code are
never mixed with these.  With --heard what was heard is kept as well (heard.py): benches that
other code shall judge are not made again.
"""

import argparse
import hashlib
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from time import monotonic

from listen.channels import band_from
from listen.errors import ListenError
from listen.simulate.conditions import CONDITIONS, Condition
from listen.simulate.heard import NOTHING_KEPT, Store
from listen.simulate.judge import judge
from listen.simulate.kept import RECORDS, Kept
from listen.simulate.pool import each
from listen.simulate.scores import Record, by_strength, details, reliability, score, table

HOME = Path(__file__).parent.parent  # the package
SAID_EVERY_S = 30.0


@dataclass(frozen=True, slots=True)
class Task:
    """One bench to be judged.

    names     of conditions that share a scene
    seed      which bench
    dwell_s   length of each recording; None: the scene's
    band_mhz  the part of the dial that is walked; None: the scene's
    store     of what was heard before
    """

    names: tuple[str, ...]
    seed: int
    dwell_s: float | None = None
    band_mhz: tuple[float, float] | None = None
    store: Store = NOTHING_KEPT

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
    store: Store = NOTHING_KEPT,
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
                found.append(Task(names, seed, dwell_s, band_mhz, store))
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
    return judge(task.conditions(), task.seed, task.store)


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
    add("--seconds", type=float, metavar="S", help="length of each recording (the condition's own)")
    add("--band", metavar="LOW-HIGH", help="walk this part of the dial only, MHz")
    add("--out", type=Path, metavar="DIR", help="keep each judged bench there, and go on there")
    add("--heard", type=Path, metavar="DIR", help="keep what was heard there: judged again soon")
    add("--report", action="store_true", help="judge nothing: print what --out holds")
    add(
        "--beside",
        nargs="+",
        default=[],
        type=Path,
        metavar="DIR",
        help="with --report: count the answers there too where probabilities are held to the truth",
    )
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
        if options.beside and not options.report:
            raise ListenError("--beside adds folders to a report: give it with --report")
        kept = Kept(
            options.out,
            None if options.report else _how(options.seconds, band_mhz),
            Record.from_dict,
        )
        others = [r for path in options.beside for r in _beside(path, kept)]
        seeds = range(options.first_seed, options.first_seed + options.benches)
        if not options.report:
            store = Store(options.heard)
            todo = tasks(conditions, seeds, kept.done(), options.seconds, band_mhz, store)
            _judge_all(todo, options.workers, kept)
    except ListenError as why:
        print(f"trials: {why}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("\nStopped.  With --out, the same command goes on.", file=sys.stderr)
        return 130
    mine = [r for r in kept.records if options.report or r.seed in seeds]
    _print(conditions, mine, others, options)
    print(f"\nMade by {kept.how}.")
    return 0


def _beside(folder: Path, kept: Kept[Record]) -> list[Record]:
    """The records of another folder, judged by the same code, that are not kept here."""
    if not (folder / RECORDS).is_file():
        raise ListenError(f"{folder} holds no judged benches: --beside takes what --out made")
    other = Kept(folder, None, Record.from_dict)
    if other.how != kept.how:
        raise ListenError(
            f"{folder} was judged by {other.how}, the rest by {kept.how}: judge one of them anew"
        )
    return [r for r in other.records if (r.condition, r.seed) not in kept.done()]


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
    conditions: Sequence[Condition],
    records: Sequence[Record],
    others: Sequence[Record],
    options: argparse.Namespace,
) -> None:
    """The table, its seeds, and the benches in words where they are asked for.

    others  of other folders, counted where probabilities are held against the truth
    """
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
    answers = [r for c in conditions for r in (*records, *others) if r.condition == c.name]
    print(f"\nHow often a stated probability came true, {_which(answers, conditions)}:")
    print("\n".join(reliability(answers, options.markdown)))
    print("\nSeeds:")
    for words, mine in rows:
        print(f"  {words}: {mine[0].seed} to {mine[-1].seed}")
    if options.list or options.list_all:
        print("\n" + "\n".join(details(shown)))


def _which(answers: Sequence[Record], conditions: Sequence[Condition]) -> str:
    """Which answers there are, in words."""
    asked = {c.name: c.off_checks for c in conditions}
    chose = [r for r in answers if r.chosen_stops is not None]
    rest = [r for r in answers if r.chosen_stops is None]
    parts = {
        "as walked": sum(asked[r.condition] for r in rest),
        "without the switch": sum(not asked[r.condition] for r in rest),
        "of walks that chose their stops": len(chose),
    }
    counted = ", ".join(f"{number} {words}" for words, number in parts.items() if number)
    without = sum(r.truth_mhz is None for r in answers)
    none = f"; on {without} of them no console's sound carrier" if without else ""
    return f"{len(answers)} answers ({counted}{none})"


def is_as_hoped(record: Record) -> bool:
    """Right with an interval that holds the truth; not found where there is no console."""
    if record.truth_mhz is None:
        return not record.found
    return record.verdict == "right" and record.covered is True


if __name__ == "__main__":
    sys.exit(main())
