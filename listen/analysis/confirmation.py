"""What `confirm` answers with: two locations, and what changed between them.

Frequencies are true MHz, distances kHz, after minus before.  `Confirmation.as_dict` is the
stable form that `listen confirm --json` prints; docs/confirmation.md describes it.
"""

from dataclasses import dataclass
from typing import Any, Literal

from listen.analysis.answer import Location
from listen.channels import Channel

SCHEMA = "listen.confirmation/1"

Turned = Literal["oscillator", "subcarrier", "both"]
Interval = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Confirmation:
    """Whether a console's sound carrier moved, and what that rests on.

    moved        of the sound carrier; None: cannot tell
    shift_khz, shift_interval_95_khz  how far; None unless found in both
    picture_shift_khz  how far the picture carrier moved; None unless heard in both
    spacing_shift_khz  how far sound less picture changed; None likewise
    picture_shift_interval_95_khz, spacing_shift_interval_95_khz  of those
    turned       which trimmer that tells of: the picture oscillator, the sound subcarrier, both
    same_radio   False where the two sweeps were made with two radios
    target, within_khz  the channel it should be on, and how near counts as on it
    on_target    None: no target, not found, or its interval straddles the limit
    left_khz, left_interval_95_khz    target minus measured
    put_back     what to turn to undo the move, a sentence; None where nothing moved
    """

    moved: bool | None
    before: Location
    after: Location
    reason: str
    shift_khz: float | None = None
    shift_interval_95_khz: Interval | None = None
    picture_shift_khz: float | None = None
    picture_shift_interval_95_khz: Interval | None = None
    spacing_shift_khz: float | None = None
    spacing_shift_interval_95_khz: Interval | None = None
    turned: Turned | None = None
    same_radio: bool = True
    target: Channel | None = None
    within_khz: float = 100.0
    on_target: bool | None = None
    left_khz: float | None = None
    left_interval_95_khz: Interval | None = None
    put_back: str | None = None
    next: str | None = None
    warnings: tuple[str, ...] = ()

    @property
    def yes(self) -> bool:
        """On target where there is a target; moved where there is none."""
        return bool(self.moved if self.target is None else self.on_target)

    def as_dict(self) -> dict[str, Any]:
        """The answer as plain values, in the order docs/confirmation.md gives them."""
        target = self.target
        return {
            "schema": SCHEMA,
            "moved": self.moved,
            "shift_khz": _khz(self.shift_khz),
            "shift_interval_95_khz": _pair(self.shift_interval_95_khz),
            "picture_shift_khz": _khz(self.picture_shift_khz),
            "picture_shift_interval_95_khz": _pair(self.picture_shift_interval_95_khz),
            "spacing_shift_khz": _khz(self.spacing_shift_khz),
            "spacing_shift_interval_95_khz": _pair(self.spacing_shift_interval_95_khz),
            "turned": self.turned,
            "same_radio": self.same_radio,
            "before": self.before.as_dict(),
            "after": self.after.as_dict(),
            "target": None
            if target is None
            else {"plan": target.plan, "channel": target.label, "sound_mhz": target.sound_mhz},
            "on_target": self.on_target,
            "left_khz": _khz(self.left_khz),
            "left_interval_95_khz": _pair(self.left_interval_95_khz),
            "reason": self.reason,
            "put_back": self.put_back,
            "next": self.next,
            "warnings": list(self.warnings),
        }


def _khz(value: float | None) -> float | None:
    return None if value is None else round(value, 1)


def _pair(value: Interval | None) -> list[float] | None:
    return None if value is None else [round(end, 1) for end in value]
