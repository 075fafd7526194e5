"""The published tables in listen/data, read once and kept as frozen values.

A table is a comma-separated file: lines that begin with # say what it is, then come a header
and one row a line.  A row that cannot be read is a BadTable naming file, line and row.
Every row has a `source`: keys of citations.csv separated by "; ", each with ": what it gave"
where it did not give the whole row.  `citations` writes them out.
"""

import csv
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from typing import Any, Literal, TypeVar

from listen.errors import BadTable, UnknownChannel

_Value = TypeVar("_Value")


@dataclass(frozen=True, slots=True)
class Channel:
    """One channel of one plan, carriers and edges nominal.

    plan, label                what `name` puts together, as in us-air:6
    region                     where the plan holds
    system                     the television system, as `system` takes it
    low_mhz, high_mhz          edges of the channel, MHz
    picture_mhz, sound_mhz     carriers, MHz
    source                     keys that `citations` writes out
    """

    plan: str
    region: str
    system: str
    label: str
    low_mhz: float
    high_mhz: float
    picture_mhz: float
    sound_mhz: float
    source: str

    @property
    def name(self) -> str:
        """The channel's full name, plan:label."""
        return f"{self.plan}:{self.label}"

    @property
    def spacing_mhz(self) -> float:
        """Sound minus picture, MHz, to the tables' 0.1 kHz; negative if the sound is below."""
        return round(self.sound_mhz - self.picture_mhz, 4)

    @property
    def sound(self) -> Literal["FM", "AM"]:
        """How its sound is modulated; an FM radio plays FM alone."""
        return system(self.system).sound

    def as_dict(self) -> dict[str, Any]:
        """The channel as plain values; docs/channels.md describes them."""
        return {
            "plan": self.plan,
            "channel": self.label,
            "region": self.region,
            "system": self.system,
            "low_mhz": self.low_mhz,
            "high_mhz": self.high_mhz,
            "picture_mhz": self.picture_mhz,
            "sound_mhz": self.sound_mhz,
            "spacing_mhz": self.spacing_mhz,
            "sound": self.sound,
            "source": self.source,
        }


@dataclass(frozen=True, slots=True)
class Plan:
    """A channel plan: its name, where it holds, its systems and how many channels it has."""

    name: str
    region: str
    systems: tuple[str, ...]
    channels: int

    def as_dict(self) -> dict[str, Any]:
        """The plan as plain values."""
        return {
            "plan": self.name,
            "region": self.region,
            "systems": list(self.systems),
            "channels": self.channels,
        }


@dataclass(frozen=True, slots=True)
class System:
    """A television system.

    spacing_mhz          sound minus picture, MHz; spacing_band_i_mhz the same below 68 MHz
                         where it differs there, else None
    width_mhz            nominal width of a channel, MHz
    lines                lines a frame
    field_rate_hz, line_rate_hz   with colour where both kinds exist
    polarity             of the picture's modulation
    sound                "FM" or "AM"
    deviation_khz        peak deviation of the sound at 100 %; None for AM
    preemphasis_us       time constant, microseconds; None for AM
    """

    name: str
    spacing_mhz: float
    spacing_band_i_mhz: float | None
    width_mhz: float
    lines: int
    field_rate_hz: float
    line_rate_hz: float
    polarity: Literal["negative", "positive"]
    sound: Literal["FM", "AM"]
    deviation_khz: float | None
    preemphasis_us: float | None
    source: str
    note: str


@dataclass(frozen=True, slots=True)
class FmBand:
    """An FM broadcast band.  None stands where it has none, or none is fixed.

    low_mhz, high_mhz    ends of the band, MHz
    raster_khz           the finest spacing on which its stations stand, kHz, and raster_rule
    radio_step_khz       the finest usual step of a digital radio there, kHz
    deviation_khz        peak deviation of a station, kHz
    preemphasis_us       time constant, microseconds
    pilot_hz             stereo pilot, Hz
    image_offset_mhz     twice the usual intermediate frequency, MHz
    """

    name: str
    region: str
    low_mhz: float
    high_mhz: float
    raster_khz: float | None
    raster_rule: str
    radio_step_khz: float
    deviation_khz: float | None
    preemphasis_us: float | None
    pilot_hz: float | None
    image_offset_mhz: float | None
    source: str
    note: str


def _or_none(cell: str) -> float | None:
    return float(cell) if cell else None


def _one_of(*words: str) -> Callable[[str], str]:
    def read(cell: str) -> str:
        if cell not in words:
            raise ValueError(f"'{cell}' is none of {', '.join(words)}")
        return cell

    return read


def _filled(cell: str) -> str:
    if not cell:
        raise ValueError("a cell is empty that must not be")
    return cell


_CHANNELS = (*(_filled,) * 4, *(float,) * 4, _filled)
_SYSTEMS = (
    *(_filled, float, _or_none, float, int, float, float),
    *(_one_of("negative", "positive"), _one_of("FM", "AM"), _or_none, _or_none),
    *(_filled, str),
)
_BANDS = (
    *(_filled, _filled, float, float, _or_none, _filled, float),
    *(_or_none,) * 4,
    *(_filled, str),
)


def rows_of(
    text: str, name: str, make: Callable[..., _Value], cells: Iterable[Callable[[str], Any]]
) -> tuple[_Value, ...]:
    """The rows of a table, each made from its cells.

    text    the whole file; name what to call it in a refusal
    make    takes a row's values; cells turn its cells into them, one a column

    Raises BadTable for a row with too many or too few cells, or one that cannot be read.
    """
    cells = tuple(cells)
    lines = [(n, line) for n, line in enumerate(text.splitlines(), 1) if line[:1] not in ("", "#")]
    found = []
    for number, line in lines[1:]:
        row = next(csv.reader([line]))
        try:
            found.append(make(*(cell(text) for cell, text in zip(cells, row, strict=True))))
        except (ValueError, TypeError) as why:
            raise BadTable(f"{name}:{number}: {why}, in the row: {line}") from why
    if not found:
        raise BadTable(f"{name} has no rows: it should have a header and one row a line")
    return tuple(found)


def _read(
    name: str, make: Callable[..., _Value], cells: Iterable[Callable[[str], Any]]
) -> tuple[_Value, ...]:
    text = files("listen").joinpath("data", name).read_text("utf-8")
    return rows_of(text, name, make, cells)


@cache
def _all_channels() -> tuple[Channel, ...]:
    def made(plan: str, region: str, system: str, label: str, *rest: Any) -> Channel:
        low_mhz, high_mhz, picture_mhz, sound_mhz, source = rest
        edges_and_carriers = (low_mhz, high_mhz, picture_mhz, sound_mhz)
        return Channel(plan, region, system, label, *edges_and_carriers, source)

    return _read("channels.csv", made, _CHANNELS)


@cache
def plans() -> tuple[Plan, ...]:
    """Every channel plan, in the table's order."""
    of: dict[str, list[Channel]] = {}
    for channel in _all_channels():
        of.setdefault(channel.plan, []).append(channel)
    return tuple(
        Plan(name, rows[0].region, tuple(dict.fromkeys(c.system for c in rows)), len(rows))
        for name, rows in of.items()
    )


def plan(name: str) -> Plan:
    """The plan of that name, upper and lower case alike.

    Raises UnknownChannel, with the plans whose name or region is near.
    """
    wanted = name.strip().lower()
    for one in plans():
        if one.name == wanted:
            return one
    before, colon, _ = wanted.partition(":")
    if colon and any(one.name == before for one in plans()):
        raise UnknownChannel(f"'{name}' is a channel; its plan is {before}: give that")
    raise UnknownChannel(f"no plan is called '{name}': {plans_near(wanted)}")


def plans_near(wanted: str) -> str:
    """The plans whose name or region is near some words, as a clause for a refusal."""
    names = [one.name for one in plans()]
    inside = [p.name for p in plans() if wanted and wanted in f"{p.name} {p.region.lower()}"]
    near = list(dict.fromkeys(inside + get_close_matches(wanted, names, 3, 0.5)))
    if not near:
        return "`listen channels` lists the plans that there are"
    *others, last = near[:5]
    either = f"{', '.join(others)} or {last}" if others else last
    return f"did you mean {either}? `listen channels` lists them all"


def channels(plans: str | Iterable[str] | None = None) -> tuple[Channel, ...]:
    """Every channel of the named plans in the table's order; None: of all plans.

    Raises UnknownChannel for a plan that is not there.
    """
    if plans is None:
        return _all_channels()
    wanted = {plan(name).name for name in ([plans] if isinstance(plans, str) else plans)}
    return tuple(channel for channel in _all_channels() if channel.plan in wanted)


@cache
def systems() -> tuple[System, ...]:
    """Every television system, in the table's order."""
    return _read("systems.csv", System, _SYSTEMS)


@cache
def system(name: str) -> System:
    """The television system of that name, upper and lower case alike.

    Raises UnknownChannel with the names that there are.
    """
    for one in systems():
        if one.name == name.strip().upper():
            return one
    there = ", ".join(one.name for one in systems())
    raise UnknownChannel(f"no television system is called '{name}': there are {there}")


@cache
def fm_bands() -> tuple[FmBand, ...]:
    """Every FM broadcast band, in the table's order."""
    return _read("fm_bands.csv", FmBand, _BANDS)


def fm_band(name: str) -> FmBand:
    """The FM band of that name, upper and lower case alike.

    Raises UnknownChannel with the names that there are.
    """
    for one in fm_bands():
        if one.name == name.strip().lower():
            return one
    there = ", ".join(one.name for one in fm_bands())
    raise UnknownChannel(f"no FM band is called '{name}': there are {there}")


@cache
def _all_citations() -> dict[str, str]:
    def made(key: str, _kind: str, written_out: str) -> tuple[str, str]:
        return key, written_out

    return dict(_read("citations.csv", made, (_filled, _filled, _filled)))


def citation(key: str) -> str:
    """What a key in a source stands for, written out.

    Raises UnknownChannel for a key that no citation has.
    """
    try:
        return _all_citations()[key]
    except KeyError:
        there = ", ".join(_all_citations())
        raise UnknownChannel(f"no source is called '{key}': there are {there}") from None


def citations(source: str) -> dict[str, str]:
    """The keys of a row's source, each with its citation, in the source's order."""
    return {key: citation(key) for key, _ in clauses(source)}


def clauses(source: str) -> tuple[tuple[str, str], ...]:
    """The keys of a row's source, each with what it gave; "" where it gave the whole row."""
    pairs = (clause.partition(": ") for clause in source.split("; "))
    return tuple((key, gave) for key, _, gave in pairs)
