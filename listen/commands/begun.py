"""What a live sweep goes on with: the options typed now, or what its folder was begun with.

A folder that holds a sweep has its own radio, mains and plans, and everything in it is weighed
with those.  So they lead the walk too; options that say otherwise are refused.
"""

from pathlib import Path
from typing import NoReturn

from listen.channels import plan
from listen.errors import BadFolder
from listen.folder import FolderWriter, SweepSettings, read_settings
from listen.folder.settings import BOTH_MAINS_HZ

Plans = tuple[str, ...] | None


def settled(folder: Path, typed: SweepSettings) -> SweepSettings:
    """The settings of a sweep into this folder; nothing is made or changed.

    typed  what the options say; its radio's `stated` names what was typed of that

    Raises CannotWrite for a path that can hold no sweep, BadFolder where an option contradicts
    the sweep that is there, UnknownChannel for a plan that there is not.
    """
    typed_plans = _ids(typed.plans)
    if not FolderWriter.holds_sweep(folder):
        return typed
    there = read_settings(folder)
    was, now = there.radio, typed.radio
    if "band_mhz" in now.stated and now.band_mhz != was.band_mhz:
        _refuse(folder, f"a dial from {was.band_mhz[0]:g} to {was.band_mhz[1]:g} MHz", "--band")
    if "step_khz" in now.stated and now.step_khz != was.dial_step_khz:
        _refuse(folder, f"dial steps of {was.dial_step_khz:g} kHz", "--step-khz")
    for name in sorted(now.stated - {"band_mhz", "step_khz"}):  # of a radio's profile
        if getattr(now, name) != getattr(was, name):
            _refuse(folder, f"{name} = {getattr(was, name)}", "--radio")
    if typed_plans is not None and typed_plans != _ids(there.plans):
        plans = "all channel plans" if there.plans is None else f"plans {', '.join(there.plans)}"
        _refuse(folder, plans, "--plan")
    if typed.mains_hz and typed.mains_hz != there.mains_hz:
        rates = " or ".join(f"{hz:g}" for hz in there.mains_hz or BOTH_MAINS_HZ)
        _refuse(folder, f"mains of {rates} Hz", "--mains")
    return there


def _refuse(folder: Path, begun_with: str, option: str) -> NoReturn:
    raise BadFolder(
        f"{folder} was begun with {begun_with}, and {option} says otherwise: leave it out to go "
        "on there, or name a new folder"
    )


def _ids(plans: Plans) -> frozenset[str] | None:
    return None if plans is None else frozenset(plan(name).name for name in plans)
