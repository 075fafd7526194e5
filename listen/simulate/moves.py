"""How well confirm tells a move: many simulated moves, judged, in one table.

    python -m listen.simulate.moves
    python -m listen.simulate.moves --benches 30 --moves 0 25 far --seconds 2 --out moves

With --out each judged move is kept as it is done; the same command goes on where it was
stopped, and --report prints all that is there.  Moves judged by other code, or otherwise, are
never mixed with these.  With --heard what was heard is kept as well, as for trials.

Each row is one true move, with one radio or with two.  A bench is walked before and after its
trimmer was turned (trimming.py), and the two walks go through confirm as any two folders do.

Conventions
-----------
error      confirm's shift minus the true one, kHz, where the console was found twice
coverage   share of those whose 95 % interval holds the true shift
moved, not moved, cannot tell   what confirm said, of all
two radios share of those found twice in which it said that the radios differ
trimmer    with --pictures: share of those called moved in which the trimmer was named rightly
"""

import argparse
import sys
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from time import monotonic
from typing import Any

import numpy as np

from listen.analysis.confirm import confirm_measured
from listen.analysis.confirmation import Confirmation
from listen.analysis.measures import Measures
from listen.errors import ListenError
from listen.simulate.heard import NOTHING_KEPT, Store
from listen.simulate.kept import Kept
from listen.simulate.pool import each
from listen.simulate.trials import code_of
from listen.simulate.trimming import Move, Trimmer, hands_at, random_move

MOVES: dict[str, float | None] = {
    "0": 0.0,
    "10": 10.0,
    "25": 25.0,
    "50": 50.0,
    "100": 100.0,
    "far": None,
}
RADIOS = {False: "the same", True: "another"}
NONE = "–"
SAID_EVERY_S = 30.0


@dataclass(frozen=True, slots=True)
class Task:
    """One move to be judged; move is a name of MOVES."""

    move: str
    seed: int
    other_radio: bool = False
    trimmer: Trimmer = "oscillator"
    pictures: bool = False
    step_khz: float = 100.0
    dwell_s: float = 1.0


@dataclass(frozen=True, slots=True)
class Judged:
    """What confirm said of a move, and the truth."""

    task: Task
    true_khz: float
    moved: bool | None
    shift_khz: float | None
    interval_khz: tuple[float, float] | None
    two_radios: bool
    turned: str | None

    @property
    def condition(self) -> str:
        """The row of the table that it belongs to."""
        return row_of(self.task.move, self.task.other_radio)

    @property
    def seed(self) -> int:
        """Which bench."""
        return self.task.seed

    def as_dict(self) -> dict[str, Any]:
        """Its fields as plain values, for JSON."""
        return asdict(self)

    @classmethod
    def from_dict(cls, fields: dict[str, Any]) -> "Judged":
        """What as_dict made, fields that it does not have left out."""
        known = {name: fields[name] for name in cls.__slots__}
        known["task"] = Task(**known["task"])
        if known["interval_khz"] is not None:
            known["interval_khz"] = tuple(known["interval_khz"])
        return cls(**known)

    @property
    def error_khz(self) -> float | None:
        """Answer minus truth, or None where there is no answer."""
        return None if self.shift_khz is None else self.shift_khz - self.true_khz

    @property
    def covered(self) -> bool:
        """Whether the interval holds the truth."""
        low, high = self.interval_khz or (0.0, -1.0)
        return low <= self.true_khz <= high


def row_of(move: str, other_radio: bool) -> str:
    """The name of a row of the table."""
    return f"{move} kHz, {RADIOS[other_radio]} radio"


def judge(task: Task, store: Store = NOTHING_KEPT) -> Judged:
    """Make a move, walk its dial twice, and ask confirm.

    store  of what was heard before
    """
    move = random_move(
        task.seed,
        MOVES[task.move],
        other_radio=task.other_radio,
        trimmer=task.trimmer,
        pictures=task.pictures,
        step_khz=task.step_khz,
    )
    answer = confirmed(move, task.dwell_s, store)
    return Judged(
        task,
        move.shift_khz,
        answer.moved,
        answer.shift_khz,
        answer.shift_interval_95_khz,
        not answer.same_radio,
        answer.turned,
    )


def confirmed(move: Move, dwell_s: float, store: Store = NOTHING_KEPT) -> Confirmation:
    """What confirm says of a move, its stops recorded for dwell_s each."""
    before, after = (_walked(move, turned, dwell_s, store) for turned in (False, True))
    return confirm_measured(before, after)


def _walked(move: Move, after: bool, dwell_s: float, store: Store) -> tuple[Measures, ...]:
    hands = hands_at(move, after, dwell_s)
    ears = store.ears(hands)
    stops = []
    for dial_mhz in move.after_mhz if after else move.before_mhz:
        hands.tune(dial_mhz, "on")
        stops.append(ears.hear(dial_mhz, "on"))
    console = move.after.console if after else move.before.console
    if console is not None:  # a sweep ends with the switch, where the console was heard
        dial_mhz = min(
            (stop.dial_mhz for stop in stops), key=lambda mhz: abs(mhz - console.true_sound_mhz)
        )
        hands.tune(dial_mhz, "off")
        stops.append(ears.hear(dial_mhz, "off"))
    ears.keep()
    return tuple(stops)


HEADS = (
    *("move kHz", "radio", "moves", "found", "median kHz", "95 % kHz", "RMS kHz", "coverage"),
    *("width kHz", "moved", "not moved", "cannot tell", "two radios", "trimmer"),
)


def row(name: str, judged: Sequence[Judged]) -> tuple[str, ...]:
    """One line of the table."""
    found = [one for one in judged if one.error_khz is not None and one.interval_khz]
    errors = np.abs([one.error_khz or 0.0 for one in found])
    widths = [one.interval_khz[1] - one.interval_khz[0] for one in found if one.interval_khz]
    moved = [one for one in judged if one.moved]
    named = [one for one in moved if one.turned is not None]
    right = sum(one.turned == one.task.trimmer for one in named)
    return (
        name,
        RADIOS[judged[0].task.other_radio],
        str(len(judged)),
        str(len(found)),
        *(
            [
                f"{np.median(errors):.1f}",
                f"{np.quantile(errors, 0.95):.1f}",
                f"{np.sqrt(np.mean(errors**2)):.1f}",
                f"{100 * np.mean([one.covered for one in found]):.0f} %",
                f"{np.median(widths):.0f}",
            ]
            if found
            else [NONE] * 5
        ),
        _share(len(moved), len(judged)),
        _share(sum(one.moved is False for one in judged), len(judged)),
        _share(sum(one.moved is None for one in judged), len(judged)),
        _share(sum(one.two_radios for one in found), len(found)),
        f"{right} of {len(named)}" if named else NONE,
    )


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.0f} %" if whole else NONE


def table(rows: Iterable[Sequence[str]]) -> list[str]:
    """The rows under their heads, as Markdown."""
    lines = [" | ".join(HEADS), " | ".join(["---"] * len(HEADS))]
    lines += [" | ".join(cells) for cells in rows]
    return [f"| {line} |" for line in lines]


def _judge_all(todo: Sequence[Task], workers: int, kept: Kept[Judged], store: Store) -> None:
    began_s = said_s = monotonic()
    for number, one in enumerate(each(partial(judge, store=store), todo, workers), 1):
        kept.add([one])
        if monotonic() - said_s > SAID_EVERY_S:
            said_s = monotonic()
            minutes = (said_s - began_s) / 60
            print(f"{number} of {len(todo)}, {minutes:.1f} min", file=sys.stderr, flush=True)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m listen.simulate.moves", description="Judge confirm; prints one table."
    )
    add = parser.add_argument
    add("--moves", nargs="+", choices=list(MOVES), default=list(MOVES), help="true moves, kHz")
    add("--radio", choices=("same", "other", "both"), default="both", help="afterwards (both)")
    add("--trimmer", choices=("oscillator", "subcarrier"), default="oscillator", help="turned")
    add("--pictures", action="store_true", help="visit the stops round the picture too")
    add("--benches", type=int, default=20, metavar="N", help="of each row (20)")
    add("--first-seed", type=int, default=20_000, metavar="S", help="(20000)")
    add("--seconds", type=float, default=1.0, metavar="S", help="length of each recording (1)")
    add("--step", type=float, default=100.0, metavar="KHZ", help="of the dial (100)")
    add("--workers", type=int, default=2, metavar="N", help="processes (2)")
    add("--out", type=Path, metavar="DIR", help="keep each judged move there, and go on there")
    add("--heard", type=Path, metavar="DIR", help="keep what was heard there: judged again soon")
    add("--report", action="store_true", help="judge nothing: print what --out holds")
    add("--list", action="store_true", help="each move in words")
    return parser


def main(words: Sequence[str] | None = None) -> int:
    """Judge the moves that the command line asks for."""
    options = _parser().parse_args(words)
    others = {"same": (False,), "other": (True,), "both": (False, True)}[options.radio]
    kinds = [(name, other) for other in others for name in options.moves]
    try:
        if options.benches < 1 or options.workers < 1 or options.first_seed < 0:
            raise ListenError("--benches and --workers start at 1, --first-seed at 0")
        if options.report and options.out is None:
            raise ListenError("--report prints what a folder holds: name it with --out")
        kept = Kept(options.out, None if options.report else _how(options), Judged.from_dict)
        seeds = range(options.first_seed, options.first_seed + options.benches)
        if not options.report:
            _judge_all(
                tasks(options, kinds, seeds, kept.done()),
                options.workers,
                kept,
                Store(options.heard),
            )
    except ListenError as why:
        print(f"moves: {why}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("\nStopped.  With --out, the same command goes on.", file=sys.stderr)
        return 130
    done = [one for one in kept.records if options.report or one.seed in seeds]
    done.sort(key=lambda one: one.seed)
    groups = [
        (name, [o for o in done if o.condition == row_of(name, kind)]) for name, kind in kinds
    ]
    print("\n".join(table([row(name, group) for name, group in groups if group])))
    if done:
        print(f"\nSeeds {done[0].seed} to {done[-1].seed}; made by {kept.how}.")
    if options.list:
        for one in done:
            print(f"{one.seed} {one.condition}: {one}")
    return 0


def tasks(
    options: argparse.Namespace,
    kinds: Sequence[tuple[str, bool]],
    seeds: Iterable[int],
    done: Iterable[tuple[str, int]],
) -> list[Task]:
    """What is still to be judged, seed by seed; kinds are names of moves, and whether the radio
    is another one afterwards.
    """
    there = set(done)
    return [
        Task(
            *(name, seed, other, options.trimmer),
            *(options.pictures, options.step, options.seconds),
        )
        for seed in seeds
        for name, other in kinds
        if (row_of(name, other), seed) not in there
    ]


def _how(options: argparse.Namespace) -> str:
    """What decides the answers, in words."""
    pictures = ", with pictures" if options.pictures else ""
    return (
        f"code {code_of()}, stops of {options.seconds:g} s, a dial of {options.step:g} kHz, "
        f"{options.trimmer} turned{pictures}"
    )


if __name__ == "__main__":
    sys.exit(main())
