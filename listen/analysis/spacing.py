"""Where the picture carrier is: measured where it or a mirror was heard, otherwise implied.

Conventions
-----------
Carriers are true MHz, spreads one standard deviation in kHz.  Spacing is sound minus
picture.  A digital dial's error cancels in a spacing, since the same dial read both carriers; a
scale's does in part.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from listen.analysis.answer import NINETY_FIVE, FittingChannel
from listen.analysis.curve import Posterior
from listen.analysis.dialerror import DialError
from listen.analysis.identify import WITHIN_KHZ, agreed_spacing_mhz
from listen.analysis.modulator import TRIM_KHZ, Way, spacings_mhz

TRIM_95_KHZ = 110.0  # 95 % of TRIM_KHZ lie within it: 0.3 · 2 · (1 - Φ(110 / 80)) = 0.05
TRIM_REACH_KHZ = 250.0
MEASURED_KHZ = 50.0  # known worse than this, a picture chooses among channels and no more


@dataclass(frozen=True, slots=True)
class Picture:
    """The picture carrier and the spacing, with what they rest on.

    mhz, spacing_mhz  None where neither heard nor agreed on by the channels
    basis             "measured", "implied" or None, as in the answer
    heard_mhz         where the picture was placed by ear, or None; spread_khz its spread
    by                "buzz", "mirror" or "both": what placed it
    """

    mhz: float | None = None
    spacing_mhz: float | None = None
    basis: Literal["measured", "implied"] | None = None
    heard_mhz: float | None = None
    spread_khz: float = 0.0
    by: Literal["buzz", "mirror", "both"] | None = None

    @property
    def spacing_basis(self) -> Literal["measured", "standard"] | None:
        """What the spacing rests on."""
        if self.basis is None:
            return None
        return "measured" if self.basis == "measured" else "standard"

    def fits(self, channel: FittingChannel) -> bool:
        """Whether a channel's picture carrier agrees with what was heard of it."""
        if self.heard_mhz is None:
            return True
        off_khz = 1e3 * abs(channel.picture_mhz - self.heard_mhz)
        return off_khz <= WITHIN_KHZ + 2 * self.spread_khz


def place_picture(
    way: Way,
    sound: Posterior,
    picture: Posterior | None,
    mirror: Posterior | None,
    error: DialError,
    joined: Posterior | None = None,
) -> Picture:
    """The picture as heard, its own buzz and the mirror weighed by how well each places it.

    Where no mirror tells it the sound's stops speak for the picture too (with_sound), though it
    is measured only where its own place it.

    way                     in which the sound was heard; of an image the picture is one too,
                            and of a harmonic nothing is placed
    sound, picture, mirror  on the dial's scale; None where not heard
    error                   of the dial
    joined                  the sound with what the picture's stops say of it, or None
    """
    if way.heard_as == "harmonic":
        return Picture()
    places = []
    sound_mhz = error.true_mhz((joined or sound).mean_mhz)
    poor = False
    if picture is not None and mirror is None and joined is not None:
        poor = picture.spread_khz > MEASURED_KHZ
        picture = with_sound(picture, sound, error)
    if picture is not None:
        places.append((error.true_mhz(picture.mean_mhz), picture.spread_khz))
    if mirror is not None and way.heard_as != "mirror" and not way.ghost_mhz:
        middle_mhz = (sound_mhz + error.true_mhz(mirror.mean_mhz)) / 2
        places.append((middle_mhz, float(np.hypot(sound.spread_khz, mirror.spread_khz)) / 2))
    if not places:
        return Picture()
    weight = np.array([1 / max(spread, 1.0) ** 2 for _, spread in places])
    mhz = float(np.array([mhz for mhz, _ in places]) @ weight / weight.sum())
    apart = error.between(sound.mean_mhz, error.dial_mhz(mhz))
    spread_khz = float(np.hypot(1 / np.sqrt(weight.sum()), apart.spread_khz))
    by: Literal["buzz", "mirror", "both"] = "both"
    if len(places) == 1:
        by = "mirror" if picture is None else "buzz"
    measured = spread_khz <= MEASURED_KHZ and not poor
    heard_mhz = mhz + (way.shift_mhz if way.heard_as == "image" else 0.0)
    return Picture(
        mhz=heard_mhz if measured else None,
        spacing_mhz=abs(sound_mhz - mhz) if measured else None,
        basis="measured" if measured else None,
        heard_mhz=heard_mhz,
        spread_khz=spread_khz,
        by=by,
    )


def place_sound(
    way: Way, heard_mhz: float, interval_mhz: tuple[float, float], picture: Picture
) -> tuple[float, tuple[float, float]]:
    """The true sound carrier and its 95 % interval, given where on a true dial it was heard.

    Of a mirror it lies as far above the picture as that lies above the mirror; where the
    picture was not placed, two spacings above the mirror, give or take what subcarriers are off.
    Of picture and sound together it lies half a spacing above half of that, and half as badly.
    """
    mhz = way.sound_mhz(heard_mhz)
    low_mhz, high_mhz = (way.sound_mhz(end_mhz) for end_mhz in interval_mhz)
    if way.heard_as != "mirror" and not way.below:
        return mhz, (low_mhz, high_mhz)
    mirror = way.heard_as != "harmonic"  # itself, or its image
    more_khz = 2 * TRIM_95_KHZ if mirror else TRIM_95_KHZ / 2
    if picture.mhz is not None and mirror:
        shown_mhz = heard_mhz + (way.shift_mhz if way.heard_as == "image" else 0.0)
        mhz, more_khz = 2 * picture.mhz - shown_mhz, 2 * NINETY_FIVE * picture.spread_khz
    half_mhz = float(np.hypot((high_mhz - low_mhz) / 2, more_khz / 1e3))
    return mhz, (mhz - half_mhz, mhz + half_mhz)


def left_open_khz(way: Way, picture: Picture) -> tuple[tuple[float, float], ...]:
    """What the true sound carrier hangs on beyond where it was heard, as place_sound puts it.

    Shares and spreads of normal errors, kHz; none where it is heard by itself or its image.
    """
    if way.heard_as == "harmonic":
        return tuple((share, khz / 2) for share, khz in TRIM_KHZ) if way.below else ()
    if way.heard_as != "mirror" and not way.below:
        return ()
    if picture.mhz is not None:
        return ((1.0, 2 * picture.spread_khz),)
    return tuple((share, 2 * khz) for share, khz in TRIM_KHZ)


def with_picture(sound: Posterior, picture: Posterior, error: DialError) -> Posterior:
    """The sound carrier's probabilities with what its picture's stops say of it.

    The picture stands one of the systems' spacings below, give or take what a subcarrier is
    off: some kHz mostly, much more after careless trimming (orders of magnitude, from memory).
    On a coarse dial the two carriers meet its steps at different places, so each tells what
    the other leaves open.

    error  of the dial that showed both; of a scale's it is not the same at both
    """
    return _with_other(sound, picture, error, spacings_mhz())


def with_sound(picture: Posterior, sound: Posterior, error: DialError) -> Posterior:
    """The picture carrier's likewise, with what the sound's stops say of it."""
    return _with_other(picture, sound, error, [-mhz for mhz in spacings_mhz()])


def _with_other(
    one: Posterior, other: Posterior, error: DialError, above_mhz: Sequence[float]
) -> Posterior:
    """One carrier with what another's stops say of it; it stands one of these above that."""
    apart = error.between(one.mean_mhz, other.mean_mhz)
    step_khz = 1e3 * float(other.carrier_mhz[1] - other.carrier_mhz[0])
    reach = np.arange(-TRIM_REACH_KHZ, TRIM_REACH_KHZ + step_khz, step_khz)
    trim = np.zeros(reach.size)
    for share, wide_khz in TRIM_KHZ:
        both_khz = float(np.hypot(wide_khz, apart.spread_khz))
        trim += share * np.exp(-0.5 * (reach / both_khz) ** 2) / both_khz
    spread = np.convolve(other.weight, trim / trim.sum())
    first_mhz = float(other.carrier_mhz[0]) - (TRIM_REACH_KHZ - apart.mean_khz) / 1e3
    at_mhz = first_mhz + np.arange(spread.size) * step_khz / 1e3
    told = np.zeros(one.carrier_mhz.size)
    for mhz in above_mhz:
        told += np.interp(one.carrier_mhz - mhz, at_mhz, spread, left=0.0, right=0.0)
    told = told + 1e-3 * told.max() if told.any() else np.ones_like(told)
    joint = one.joint * told
    joint /= joint.sum()
    return replace(one, weight=joint.sum(axis=0), joint=joint)


def implied(heard: Picture, sound_mhz: float, channels: tuple[FittingChannel, ...]) -> Picture:
    """The picture that the channels imply, where it was not measured and they agree."""
    spacing_mhz = agreed_spacing_mhz(channels)
    if heard.basis is not None or spacing_mhz is None:
        return heard
    return Picture(
        sound_mhz - spacing_mhz,
        spacing_mhz,
        "implied",
        heard.heard_mhz,
        heard.spread_khz,
        heard.by,
    )
