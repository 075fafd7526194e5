"""What a sweep folder says of its radio, mains, plans and notes: sweep.toml, read and written.

What is not said is assumed, and the assumptions are told in one sentence.  What sweep.toml
says beats the radio profile that it names.

What it gives
-------------
SweepSettings   the settings as values; as_toml writes them
TO_FILL_IN      a sweep.toml that says nothing yet, for a person
read_settings   those of a folder, with sentences on what was ignored
read_profile, write_profile   a radio's own profile
assumed         one sentence on everything that nobody stated
"""

import json
import math
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, cast

from listen.channels import plan
from listen.errors import BadDial, BadFolder, UnknownChannel
from listen.folder.disk import one_line, replace_file, writing
from listen.folder.text import decode, find_file, listed, names_in, read_bytes
from listen.radio import DIAL_LIMITS_MHZ, Radio

FILE = "sweep.toml"
BOTH_MAINS_HZ = (50.0, 60.0)
_DIALS = {"digital": "digital", "analogue": "analogue", "analog": "analogue"}


@dataclass(frozen=True, slots=True)
class SweepSettings:
    """What is said of a sweep beside its stops.

    radio      the receiver; its `stated` names what was said of it
    mains_hz   the mains rates possible here, 50 or 60 Hz or both; empty: not stated
    plans      ids of the channel plans to look in; None: all
    notes      free text
    profile    path of the radio's own profile, relative to the folder; empty: none
    warnings   sentences on what was ignored
    """

    radio: Radio = field(default_factory=Radio)
    mains_hz: tuple[float, ...] = ()
    plans: tuple[str, ...] | None = None
    notes: str = ""
    profile: str = ""
    warnings: tuple[str, ...] = ()

    def as_toml(self) -> str:
        """The text of a sweep.toml that says the same: all that is stated or not the default."""
        lines = []
        if self.mains_hz:
            lines.append(f"mains_hz = {_toml(self.mains_hz)}")
        if self.plans is not None:
            lines.append(f"plans = {_toml(self.plans)}")
        if self.notes:
            lines.append(f"notes = {_toml(self.notes)}")
        lines.append("\n[radio]" if lines else "[radio]")
        if self.profile:
            lines.append(f"profile = {_toml(self.profile)}")
        lines += radio_lines(self.radio)
        return "\n".join(lines) + "\n"


def radio_lines(radio: Radio) -> list[str]:
    """A line of TOML for each thing that is stated of a radio or not the default."""
    usual = Radio()
    values = {key: getattr(radio, key) for key in _RADIO_KEYS}
    return [
        f"{key} = {_toml(value)}"
        for key, value in values.items()
        if value is not None and (key in radio.stated or value != getattr(usual, key))
    ]


def read_profile(path: Path) -> tuple[Radio, tuple[str, ...]]:
    """A radio as its profile describes it, and sentences on what was ignored.

    Raises BadFolder for a value of the wrong kind or text that is no TOML; CannotRead where the
    file cannot be opened.
    """
    warnings: list[str] = []
    fields = _profile_fields(path, warnings)
    return _radio(fields, path.name), tuple(warnings)


def write_profile(path: Path, radio: Radio, learned_from: str) -> None:
    """A radio's profile, at one stroke.

    learned_from  a line on what it was learned from

    Raises CannotWrite.
    """
    said = "".join(c if c.isprintable() else " " for c in learned_from)
    text = "\n".join([f"# {one_line(said)}", "[radio]", *radio_lines(radio)])
    with writing(path.parent, 0):
        replace_file(path, text + "\n")


TO_FILL_IN = """\
# What is known of the radio and the place.  What is not said is assumed; each key below shows how
# it is written: take out its # and put the truth there.
# mains_hz = 50
# plans = ["au-air"]

[radio]
# band_mhz = [87.5, 108]
# step_khz = 100
# raster_khz = 100
# dial = "digital"
# passband_khz = [150, 280]
# oscillator = "above"
# known_stations_mhz = [89.2, 101.9]
"""


def _toml(value: Any) -> str:
    if isinstance(value, tuple | list):
        return f"[{', '.join(_toml(part) for part in value)}]"
    if isinstance(value, str):  # a JSON string is a TOML one, but for the delete character
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
    return repr(float(value))


def read_settings(folder: Path) -> SweepSettings:
    """The settings of a folder; all defaults where it has no sweep.toml.

    Raises BadFolder for a value of the wrong kind, text that is no TOML, a profile that is
    not there; CannotRead where a file cannot be opened.
    """
    path = find_file(folder, FILE)
    if path is None:
        return SweepSettings(warnings=_near_misses(folder))
    warnings: list[str] = []
    said = _load(path, warnings)
    radio_said = _table(said, "radio", FILE)
    profile = _read("profile", radio_said, _text, FILE, "")
    fields: dict[str, Any] = {}
    if profile:
        fields = _profile(folder, profile, warnings)
    elif (folder / "radio.toml").exists():
        warnings.append(
            'radio.toml lies in the folder but is not used: write profile = "radio.toml" under '
            "[radio] in sweep.toml to use it."
        )
    fields |= _radio_fields(radio_said, FILE)
    unknown = [key for key in said if key not in ("mains_hz", "plans", "notes", "radio")]
    unknown += [f"radio.{key}" for key in radio_said if key not in (*_RADIO_KEYS, "profile")]
    if unknown:
        warnings.append(f"{FILE} says {listed(unknown)}, which this format does not know: ignored.")
    return SweepSettings(
        _radio(fields, FILE),
        _read("mains_hz", said, _mains_hz, FILE, ()),
        _read("plans", said, _plans, FILE, None),
        _read("notes", said, _text, FILE, ""),
        profile,
        tuple(warnings),
    )


def assumed(radio: Radio, mains_hz: tuple[float, ...], plans: tuple[str, ...] | None) -> str:
    """One sentence on all that nobody stated, or nothing."""
    low_mhz, high_mhz = radio.band_mhz
    narrow_khz, wide_khz = radio.passband_khz
    each = {
        "band_mhz": f"dial {low_mhz:g} to {high_mhz:g} MHz",
        "dial": "digital",
        "step_khz": "the stops' step",
        "passband_khz": f"passband {narrow_khz:g} to {wide_khz:g} kHz",
        "raster_khz": f"stations every {radio.raster_khz:g} kHz",
        "oscillator": "oscillator on either side",
    }
    words = [text for key, text in each.items() if key not in radio.stated]
    if not mains_hz:
        words.append("mains 50 or 60 Hz")
    if plans is None:
        words.append("all plans")
    return f"Not said in sweep.toml, so assumed: {', '.join(words)}." if words else ""


def _near_misses(folder: Path) -> tuple[str, ...]:
    like = [
        n for n in names_in(folder) if n.lower() in ("sweep.toml.txt", "sweep.txt", "sweep.tml")
    ]
    return tuple(f"{name} is not read: name it {FILE} if it is meant." for name in like)


def _load(path: Path, warnings: list[str]) -> dict[str, Any]:
    text, _, more = decode(read_bytes(path), path.name)
    warnings += more
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as why:
        raise BadFolder(f"{path.name} is not valid TOML: {why}") from why


def _profile(folder: Path, profile: str, warnings: list[str]) -> dict[str, Any]:
    """What a radio's own profile says of it: its keys at the top level or under [radio]."""
    path = folder / profile
    if not path.is_file():
        raise BadFolder(
            f"{FILE} names the radio profile {profile}, and {path} is not there: correct the "
            "path, which counts from the sweep folder, or take the line out"
        )
    return _profile_fields(path, warnings)


def _profile_fields(path: Path, warnings: list[str]) -> dict[str, Any]:
    said = _load(path, warnings)
    if "radio" in said:
        said = _table(said, "radio", path.name)
    unknown = [key for key in said if key not in _RADIO_KEYS]
    if unknown:
        warnings.append(
            f"{path.name} says {listed(unknown)}, which this format does not know: ignored."
        )
    fields = _radio_fields(said, path.name)
    _radio(fields, path.name)  # a profile wrong in itself is named as such
    return fields


def _radio_fields(said: Mapping[str, Any], name: str) -> dict[str, Any]:
    return {k: _read(k, said, check, name, None) for k, check in _RADIO_KEYS.items() if k in said}


def _radio(fields: dict[str, Any], name: str) -> Radio:
    try:
        return Radio(**fields, stated=frozenset(fields))
    except BadDial as why:
        raise BadFolder(f"{name}: {why}") from why


def _table(said: Mapping[str, Any], key: str, name: str) -> dict[str, Any]:
    table = said.get(key, {})
    if not isinstance(table, dict):
        raise BadFolder(f"{name} has {key} = {table!r}: write [{key}] as a heading, its keys below")
    return cast(dict[str, Any], table)


def _read(
    key: str, said: Mapping[str, Any], check: Callable[[Any], Any], name: str, missing: Any
) -> Any:
    """The value of a key, or what stands for one that is missing."""
    if key not in said:
        return missing
    try:
        return check(said[key])
    except ValueError as needed:
        raise BadFolder(f"{name} has {key} = {said[key]!r}: give {needed}") from needed


def _number(value: Any) -> float:
    try:
        number = math.nan if isinstance(value, bool | str) else float(value)
    except (TypeError, ValueError, OverflowError):  # a date, a table, a whole number too long
        number = math.nan
    if not math.isfinite(number):
        raise ValueError("a number, such as 100")
    return number


def _pair(value: Any, such_as: str) -> tuple[float, float]:
    try:
        low, high = (_number(part) for part in value)
    except (TypeError, ValueError):
        raise ValueError(f"two numbers in brackets, the lower first, such as {such_as}") from None
    return low, high


def _band_mhz(value: Any) -> tuple[float, float]:
    return _pair(value, "[87.5, 108]")


def _passband_khz(value: Any) -> tuple[float, float]:
    return _pair(value, "[150, 280]")


def _stations_mhz(value: Any) -> tuple[float, ...]:
    low_mhz, high_mhz = DIAL_LIMITS_MHZ
    try:
        stations_mhz = tuple(_number(part) for part in value)
    except (TypeError, ValueError):
        stations_mhz = (0.0,)
    if not all(low_mhz <= mhz <= high_mhz for mhz in stations_mhz):
        raise ValueError("station frequencies in MHz in brackets, such as [89.2, 101.9]")
    return stations_mhz


def _marks(value: Any) -> tuple[tuple[float, float, float], ...]:
    low_mhz, high_mhz = DIAL_LIMITS_MHZ
    needed = (
        "a place or two as [dial MHz, error in kHz, its spread in kHz], such as [[98, 12.5, 2]]; "
        "`listen radio` writes it"
    )
    try:
        marks = tuple(tuple(_number(part) for part in mark) for mark in value)
    except (TypeError, ValueError):
        raise ValueError(needed) from None
    if not all(len(mark) == 3 and low_mhz <= mark[0] <= high_mhz for mark in marks):
        raise ValueError(needed)
    if len(marks) > 2 or len({mark[0] for mark in marks}) < len(marks):
        raise ValueError(needed)
    return cast(tuple[tuple[float, float, float], ...], marks)


def _mains_hz(value: Any) -> tuple[float, ...]:
    rates_hz = value if isinstance(value, list) else [value]
    if not rates_hz or any(isinstance(r, bool) or r not in (50, 60) for r in rates_hz):
        raise ValueError("50, 60 or [50, 60]")
    return tuple(sorted({float(rate_hz) for rate_hz in rates_hz}))


def _plans(value: Any) -> tuple[str, ...]:
    plans = [value] if isinstance(value, str) else value
    if not isinstance(plans, list) or not plans or not all(isinstance(p, str) and p for p in plans):
        raise ValueError('plan names in brackets, such as ["us-air"]')
    try:
        return tuple(plan(name).name for name in plans)
    except UnknownChannel as why:
        raise ValueError(f"plans that there are ({why})") from why


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise ValueError("text in quotes")
    return value


def _dial(value: Any) -> str:
    if not isinstance(value, str) or value.lower() not in _DIALS:
        raise ValueError('"digital" or "analogue"')
    return _DIALS[value.lower()]


def _oscillator(value: Any) -> str:
    if not isinstance(value, str) or value.lower() not in ("above", "below"):
        raise ValueError('"above" or "below"')
    return value.lower()


_RADIO_KEYS: dict[str, Callable[[Any], Any]] = {
    "band_mhz": _band_mhz,
    "raster_khz": _number,
    "dial": _dial,
    "step_khz": _number,
    "oscillator": _oscillator,
    "passband_khz": _passband_khz,
    "known_stations_mhz": _stations_mhz,
    "dial_marks": _marks,
}
