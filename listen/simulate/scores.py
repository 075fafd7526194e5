"""What many judged benches come to: one row a condition, as text or as Markdown.

Conventions
-----------
right       found within RIGHT_KHZ of the truth
false       found where there is no console, or further from it than that
not found   the rest; right where there is no console
errors      answer minus truth, over the benches that are right, kHz
coverage    share of all finds, on benches with a console, whose 95 % interval holds the truth
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from itertools import pairwise
from typing import Any

import numpy as np

RIGHT_KHZ = 150.0
NONE = "–"
HEADS = (
    ("condition", ""),
    ("benches", "benches"),
    ("found", "found"),
    ("right", "right"),
    ("false", "false_finds"),
    ("not found", "not_found"),
    ("median kHz", "median_khz"),
    ("95 % kHz", "p95_khz"),
    ("RMS kHz", "rms_khz"),
    ("bias kHz", "bias_khz"),
    ("coverage", "coverage"),
    ("width kHz", "width_khz"),
    ("picture kHz", "picture_khz"),
    ("spacing kHz", "spacing_khz"),
)
STOP_HEADS = (  # beside them where a walk chose its stops
    ("stops", "stops"),
    ("95 % stops", "p95_stops"),
    ("≤ 14", "within_14"),
    ("≤ 75", "within_75"),
)
STRENGTHS_DB = (
    (20.0, 99.0, "20 dB or more"),
    (12.0, 20.0, "12 to 20 dB"),
    (9.0, 12.0, "9 to 12 dB"),
)
CHANCES = (0.0, 0.01, 0.05, 0.2, 0.5, 0.8, 0.95, 0.99, 1.0)


@dataclass(frozen=True, slots=True)
class Record:
    """One bench under one condition: the truth, the answer, and what to look into.

    condition, seed   which bench
    truth_mhz         the console's sound carrier; None: there is no console
    found, answer_mhz, interval_95_mhz, probability, reason  what locate said
    off_checks_mhz    the stops heard with the console off, in order
    switch_at_mhz     the stop where the switch would still settle something
    bench             what stood on it, in words
    strength_db, truth_picture_mhz  the console's sound over noise in 200 kHz, and its picture
    heard_as, picture_mhz, picture_basis, spacing_mhz  what locate said beyond the sound
    rejected_mhz      the true sound of the likeliest carrier by its way, where nothing was found
    chosen_stops      how many stops a walk took that chose them, off checks counted; else None
    """

    condition: str
    seed: int
    truth_mhz: float | None
    found: bool
    answer_mhz: float | None = None
    interval_95_mhz: tuple[float, float] | None = None
    probability: float = 0.0
    reason: str = ""
    off_checks_mhz: tuple[float, ...] = ()
    switch_at_mhz: float | None = None
    bench: str = ""
    strength_db: float | None = None
    truth_picture_mhz: float | None = None
    heard_as: str | None = None
    picture_mhz: float | None = None
    picture_basis: str | None = None
    spacing_mhz: float | None = None
    rejected_mhz: float | None = None
    chosen_stops: int | None = None

    @property
    def error_khz(self) -> float | None:
        """Answer minus truth, kHz; None where there are not both."""
        if self.truth_mhz is None or self.answer_mhz is None:
            return None
        return 1e3 * (self.answer_mhz - self.truth_mhz)

    @property
    def picture_error_khz(self) -> float | None:
        """Of a measured picture carrier, kHz; None where none was measured."""
        if self.picture_basis != "measured" or self.truth_picture_mhz is None:
            return None
        return (
            None if self.picture_mhz is None else 1e3 * (self.picture_mhz - self.truth_picture_mhz)
        )

    @property
    def spacing_error_khz(self) -> float | None:
        """Of a measured spacing, kHz; None where none was measured."""
        if self.picture_basis != "measured" or self.truth_picture_mhz is None:
            return None
        if self.spacing_mhz is None or self.truth_mhz is None:
            return None
        return 1e3 * (self.spacing_mhz - (self.truth_mhz - self.truth_picture_mhz))

    @property
    def named_is_right(self) -> bool:
        """Whether a console's sound stands near the carrier that `probability` speaks of."""
        named_mhz = self.answer_mhz if self.found else self.rejected_mhz
        if named_mhz is None or self.truth_mhz is None:
            return False
        return 1e3 * abs(named_mhz - self.truth_mhz) <= RIGHT_KHZ

    @property
    def verdict(self) -> str:
        """right, false or not found."""
        if not self.found:
            return "not found"
        error_khz = self.error_khz
        return "right" if error_khz is not None and abs(error_khz) <= RIGHT_KHZ else "false"

    @property
    def covered(self) -> bool | None:
        """Whether the interval holds the truth; None where nothing was found or is there."""
        if self.truth_mhz is None or self.interval_95_mhz is None:
            return None
        return self.interval_95_mhz[0] <= self.truth_mhz <= self.interval_95_mhz[1]

    def as_dict(self) -> dict[str, Any]:
        """Its fields as plain values, for JSON."""
        return asdict(self)

    @classmethod
    def from_dict(cls, fields: dict[str, Any]) -> "Record":
        """The record that as_dict made, fields that it does not have left out."""
        known = {name: fields[name] for name in cls.__slots__ if name in fields}
        for name in ("interval_95_mhz", "off_checks_mhz"):
            if known.get(name) is not None:
                known[name] = tuple(known[name])
        return cls(**known)


@dataclass(frozen=True, slots=True)
class Score:
    """A condition's benches counted; errors and widths in kHz, None where there are none.

    right, coverage  None where no bench has a console, or none was found
    picture_khz, spacing_khz  median error of those that were measured
    stops, p95_stops       median and 95th percentile of the stops that walks chose
    within_14, within_75   share of the benches that took no more
    """

    benches: int
    found: int
    right: int | None
    false_finds: int
    not_found: int
    median_khz: float | None
    p95_khz: float | None
    rms_khz: float | None
    bias_khz: float | None
    coverage: float | None
    width_khz: float | None
    picture_khz: float | None
    spacing_khz: float | None
    stops: float | None = None
    p95_stops: float | None = None
    within_14: float | None = None
    within_75: float | None = None


def score(records: Sequence[Record]) -> Score:
    """Count the benches of one condition."""
    verdicts = [record.verdict for record in records]
    errors = np.array([r.error_khz for r in records if r.verdict == "right"], dtype=float)
    covered = [r.covered for r in records if r.covered is not None]
    widths = [
        1e3 * (r.interval_95_mhz[1] - r.interval_95_mhz[0])
        for r in records
        if r.verdict == "right" and r.interval_95_mhz is not None
    ]
    any_console = any(record.truth_mhz is not None for record in records)
    some = errors.size > 0
    stops = np.array([r.chosen_stops for r in records if r.chosen_stops is not None])
    return Score(
        benches=len(records),
        found=len(records) - verdicts.count("not found"),
        right=verdicts.count("right") if any_console else None,
        false_finds=verdicts.count("false"),
        not_found=verdicts.count("not found"),
        median_khz=float(np.median(np.abs(errors))) if some else None,
        p95_khz=float(np.percentile(np.abs(errors), 95)) if some else None,
        rms_khz=float(np.sqrt(np.mean(errors**2))) if some else None,
        bias_khz=float(np.mean(errors)) if some else None,
        coverage=sum(covered) / len(covered) if covered else None,
        width_khz=float(np.mean(widths)) if widths else None,
        picture_khz=_median([r.picture_error_khz for r in records if r.verdict == "right"]),
        spacing_khz=_median([r.spacing_error_khz for r in records if r.verdict == "right"]),
        stops=float(np.median(stops)) if stops.size else None,
        p95_stops=float(np.percentile(stops, 95)) if stops.size else None,
        within_14=float(np.mean(stops <= 14)) if stops.size else None,
        within_75=float(np.mean(stops <= 75)) if stops.size else None,
    )


def _median(errors_khz: Sequence[float | None]) -> float | None:
    """Of the absolute errors that there are."""
    there = [abs(khz) for khz in errors_khz if khz is not None]
    return float(np.median(there)) if there else None


def by_strength(records: Sequence[Record]) -> list[tuple[str, Score]]:
    """The records again, a row for each class of the console's strength that has any."""
    rows = []
    for low_db, high_db, words in STRENGTHS_DB:
        mine = [r for r in records if r.strength_db and low_db <= r.strength_db < high_db]
        if mine:
            rows.append((f"console of {words}", score(mine)))
    return rows


def reliability(records: Sequence[Record], markdown: bool = False) -> list[str]:
    """How often a stated probability came true: a line for each class of it.

    Every answer counts, two of a bench that was judged with the switch and without it.  Where
    there is no console's sound carrier none comes true; how many those are is a column.
    """
    lines = [
        "| probability | answers | no console | stated | came true |",
        "|---|---:|---:|---:|---:|",
    ]
    if not markdown:
        lines = [
            f"{'probability':<16}{'answers':>8}{'no console':>12}{'stated':>9}{'came true':>11}"
        ]
    for low, high in pairwise(CHANCES):
        mine = [r for r in records if low <= r.probability < high or (high == r.probability == 1)]
        if not mine:
            continue
        stated = float(np.mean([r.probability for r in mine]))
        true = float(np.mean([r.named_is_right for r in mine]))
        without = sum(r.truth_mhz is None for r in mine)
        words = f"{low:g} to {high:g}"
        if markdown:
            lines.append(f"| {words} | {len(mine)} | {without} | {stated:.3f} | {true:.3f} |")
        else:
            lines.append(f"{words:<16}{len(mine):>8}{without:>12}{stated:>9.3f}{true:>11.3f}")
    return lines


def table(rows: Sequence[tuple[str, Score]], markdown: bool = False) -> list[str]:
    """The lines of a table, a row a condition.

    rows  what each condition is, and its score
    """
    chosen = any(line.stops is not None for _, line in rows)
    heads = HEADS + (STOP_HEADS if chosen else ())
    cells = [[head for head, _ in heads]]
    cells += [
        [sentence, *(_shown(name, getattr(line, name)) for _, name in heads[1:])]
        for sentence, line in rows
    ]
    if markdown:
        rule = "|---|" + "---:|" * (len(heads) - 1)
        lines = ["| " + " | ".join(row) + " |" for row in cells]
        return [lines[0], rule, *lines[1:]]
    widths = [max(len(row[column]) for row in cells) for column in range(len(heads))]
    return [
        "  ".join(
            cell.rjust(width) if column else cell.ljust(width)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in cells
    ]


def details(records: Sequence[Record]) -> list[str]:
    """A few lines a bench: what stood there, what was said of it."""
    lines = []
    for record in records:
        error_khz = record.error_khz
        said = record.verdict
        if record.answer_mhz is not None:
            said += f" at {record.answer_mhz:.3f} MHz"
        if error_khz is not None:
            said += f", off by {error_khz:+.1f} kHz"
        if record.interval_95_mhz is not None:
            low_mhz, high_mhz = record.interval_95_mhz
            said += f", interval {low_mhz:.3f} to {high_mhz:.3f}"
        if record.covered is False:
            said += " (misses the truth)"
        if record.chosen_stops is not None:
            said += f", {record.chosen_stops} stops"
        checks = ", ".join(f"{mhz:g}" for mhz in record.off_checks_mhz) or "none"
        wish = "" if record.switch_at_mhz is None else f"; next would be {record.switch_at_mhz:g}"
        lines += [
            f"{record.condition} {record.seed}: {said}; p = {record.probability:.3f}",
            f"    bench: {record.bench}",
            f"    off checks: {checks}{wish}",
            f"    {record.reason}",
        ]
    return lines


def _shown(name: str, value: float | None) -> str:
    if value is None:
        return NONE
    if name in ("coverage", "within_14", "within_75"):
        return f"{100 * value:.0f} %"
    if name == "bias_khz":
        return f"{value:+.1f}"
    return f"{value:.1f}" if name.endswith(("_khz", "stops")) else str(value)
