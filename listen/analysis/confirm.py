"""Whether a console's sound carrier moved between two sweeps, how far, and whether it arrived.

Both sweeps are located as any sweep is.  The move itself is known better than either place,
since the same radio drew both curves (shift.py) and its dial's error cancels (dials.py).  A
carrier heard in another way afterwards, say by its image, shares neither; then the two
locations' own intervals are all there is.

moved      True where moves likelier than none at all hold SURE or more of the probability, or
           nought lies outside the 95 % interval; else False where that stays within STILL_KHZ
           of nought; None where it is wider, or where the carrier was not found twice
on_target  True where the 95 % interval of the second place lies within the limit, False where
           it lies outside, None where it straddles
turned     which trimmer: the picture oscillator moves both carriers, the sound subcarrier
           the spacing alone.  Told where the picture or the mirror was heard in both sweeps
           (trimmers.py)
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from listen.analysis.answer import NINETY_FIVE, Location
from listen.analysis.confirmation import Confirmation, Interval, Turned
from listen.analysis.confirmwords import (
    EXCHANGED,
    next_words,
    of_both,
    put_back_words,
    reason_words,
    two_radios_words,
)
from listen.analysis.dials import Dials, compare_dials, drawn_from
from listen.analysis.evidence import Candidate
from listen.analysis.locate import located
from listen.analysis.measures import Measures, measured
from listen.analysis.shift import Distance, bell, cautious, distance, mixed, moved_by, of_fits
from listen.analysis.trimmers import together
from listen.analysis.weigh import Weighed
from listen.channels import Channel, by_name
from listen.clip import Clip
from listen.errors import BadDial
from listen.radio import Radio

WITHIN_KHZ = 100.0
SURE = 0.9  # how often what stands still is then called moved: docs/confirmation.md
WITHIN_LIMITS_KHZ = (1.0, 1000.0)
STILL_KHZ = 30.0  # an interval about nought that reaches further tells neither way


def confirm(
    before: Iterable[Clip],
    after: Iterable[Clip],
    radio: Radio | None = None,
    *,
    radio_after: Radio | None = None,
    to: str | Channel | None = None,
    within_khz: float = WITHIN_KHZ,
    plans: Sequence[str] | None = None,
    mains_hz: Sequence[float] = (50.0, 60.0),
    warnings: Sequence[str] = (),
) -> Confirmation:
    """Whether the console's sound carrier moved, how far, and whether it is on target.

    before, after  the clips of two sweeps, one a dial stop, in any order
    radio          what is known of the radio; None: the defaults of Radio
    radio_after    the same of the second sweep's, where it may be another; None: radio
    to             the channel it should be on now, as au-air:4; None: no target
    within_khz     how near the channel's sound carrier counts as on it
    plans          ids of the channel plans to consider; None: all
    mains_hz       the mains rates that may be on this bench
    warnings       sentences to pass on, such as those of the folders' reader

    Raises BadClip if a sweep has no clips, UnknownChannel for a target that no plan has,
    BadDial for a limit that is none.
    """
    target = checked_target(to, within_khz)
    first, said = measured(before, warnings)
    second, said = measured(after, said)
    return confirm_measured(
        first,
        second,
        radio,
        radio_after=radio_after,
        to=target,
        within_khz=within_khz,
        plans=plans,
        mains_hz=mains_hz,
        warnings=said,
    )


def checked_target(to: str | Channel | None, within_khz: float) -> Channel | None:
    """The target as a channel.

    Raises UnknownChannel for one that no plan has, BadDial for a limit outside
    WITHIN_LIMITS_KHZ.
    """
    low_khz, high_khz = WITHIN_LIMITS_KHZ
    if not low_khz <= within_khz <= high_khz:
        raise BadDial(
            f"a limit of {within_khz:g} kHz came: give how near counts as on target, "
            f"{low_khz:g} to {high_khz:g} kHz"
        )
    return by_name(to) if isinstance(to, str) else to


def confirm_measured(
    before: tuple[Measures, ...],
    after: tuple[Measures, ...],
    radio: Radio | None = None,
    *,
    radio_after: Radio | None = None,
    to: str | Channel | None = None,
    within_khz: float = WITHIN_KHZ,
    plans: Sequence[str] | None = None,
    mains_hz: Sequence[float] = (50.0, 60.0),
    warnings: Sequence[str] = (),
) -> Confirmation:
    """The same from stops that were measured before; it raises the same."""
    target = checked_target(to, within_khz)
    radios = (radio or Radio(), radio_after or radio or Radio())
    sides = [
        located(stops, its_radio, plans=plans, mains_hz=mains_hz)
        for stops, its_radio in zip((before, after), radios, strict=True)
    ]
    for one, other, stops, its_radio in ((0, 1, after, radios[1]), (1, 0, before, radios[0])):
        if sides[one][1].found and not sides[other][1].found:  # it is the same console
            heard_by = sides[one][0].ways[0]
            sides[other] = located(
                stops, its_radio, plans=plans, mains_hz=mains_hz, heard_by=heard_by
            )
    (first, first_at), (second, second_at) = sides
    said = [*warnings, *of_both(first_at.warnings, second_at.warnings)]
    if _are_exchanged(before, after):
        said.insert(0, EXCHANGED)
    on_target, left_khz, left_interval = _left(second_at, target, within_khz)
    move = None
    if first_at.found and second_at.found:
        move = _move(first, second, first_at, second_at, radios)
        if move.dials.two_radios:
            said.append(two_radios_words(move.dials))
    moved = None if move is None else _moved(move.sound)
    shift_khz = None if move is None else move.sound.mean_khz
    interval_khz = None if move is None else move.interval_khz
    picture, spacing = (None, None) if move is None else (move.picture, move.spacing)
    return Confirmation(
        moved=moved,
        before=first_at,
        after=second_at,
        reason=reason_words(first_at, second_at, moved, shift_khz, interval_khz),
        shift_khz=shift_khz,
        shift_interval_95_khz=interval_khz,
        picture_shift_khz=None if picture is None else picture.mean_khz,
        picture_shift_interval_95_khz=None if picture is None else picture.interval_khz(),
        spacing_shift_khz=None if spacing is None else spacing.mean_khz,
        spacing_shift_interval_95_khz=None if spacing is None else spacing.interval_khz(),
        turned=move.told if move is not None and moved else None,
        same_radio=move is None or not move.dials.two_radios,
        target=target,
        within_khz=within_khz,
        on_target=on_target,
        left_khz=left_khz,
        left_interval_95_khz=left_interval,
        put_back=put_back_words(first_at, shift_khz, interval_khz, move.told)
        if moved and move
        else None,
        next=next_words(
            *(first_at, second_at, moved, interval_khz, target, within_khz, on_target, left_khz)
        ),
        warnings=tuple(said),
    )


def _are_exchanged(before: Iterable[Measures], after: Iterable[Measures]) -> bool:
    """Whether all that was recorded after was recorded before, by the times of both sweeps."""
    first, second = ([stop.at for stop in sweep if stop.at] for sweep in (before, after))
    if len({at.utcoffset() is None for at in (*first, *second)}) != 1:
        return False  # no times, or such as cannot be compared
    return bool(first and second) and max(second) < min(first)


@dataclass(frozen=True, slots=True, eq=False)
class _Move:
    """A carrier found twice: how far it went, and its picture with it.

    sound     by all that was heard
    alone     by the sound carrier's own stops
    """

    sound: Distance
    dials: Dials
    alone: Distance
    picture: Distance | None = None
    told: Turned | None = None

    @property
    def interval_khz(self) -> Interval:
        return cautious(self.sound).interval_khz()

    @property
    def spacing(self) -> Distance | None:
        """How far the spacing changed, each carrier by its own stops."""
        return None if self.picture is None else moved_by(self.alone, self.picture)


def _moved(move: Distance) -> bool | None:
    """Whether something moved; None: it cannot be told."""
    low_khz, high_khz = cautious(move).interval_khz()
    if move.likelier_than(0.0) >= SURE or low_khz > 0 or high_khz < 0:
        return True
    return False if max(-low_khz, high_khz) <= STILL_KHZ else None


def _left(
    place: Location, target: Channel | None, within_khz: float
) -> tuple[bool | None, float | None, Interval | None]:
    """Whether a place is on target, and what is left to it."""
    if target is None or place.sound_carrier_mhz is None or place.interval_95_mhz is None:
        return None, None, None
    left_khz = 1e3 * (target.sound_mhz - place.sound_carrier_mhz)
    low_mhz, high_mhz = place.interval_95_mhz
    low_khz, high_khz = 1e3 * (target.sound_mhz - high_mhz), 1e3 * (target.sound_mhz - low_mhz)
    inside = -within_khz <= low_khz and high_khz <= within_khz
    outside = low_khz > within_khz or high_khz < -within_khz
    return (True if inside else False if outside else None), left_khz, (low_khz, high_khz)


def _move(
    before: Weighed,
    after: Weighed,
    before_at: Location,
    after_at: Location,
    radios: tuple[Radio, Radio],
) -> _Move:
    """How far a carrier went that was found in both sweeps."""
    one, other = before.candidates[0], after.candidates[0]
    places = (one.fit.mean_mhz, other.fit.mean_mhz)
    dials = compare_dials(before, after, radios, places)
    # Two dials' errors show in an image with the other sign: only its places hold them rightly.
    two_images = dials.two_radios and before.ways[0].heard_as == "image"
    if two_images or not _same_way(before, after):
        between = _between(before_at, after_at)
        return _Move(between, dials, between)
    sound = _scaled(_apart((one, before), (other, after), dials), before)
    picture, mirror = (
        None
        if first is None or second is None
        else _apart((first, before), (second, after), dials, by_fits=is_picture)
        for first, second, is_picture in (
            (before.picture, after.picture, True),
            (before.mirror, after.mirror, False),
        )
    )
    if before.ways[0].scale != 1.0:
        return _Move(sound, dials, sound)
    if dials.two_radios:  # their common error is that of every carrier: one look, not three
        return _Move(sound, dials, sound, picture, together(sound, picture, mirror).turned)
    whole = together(sound, picture, mirror)
    return _Move(whole.sound, dials, sound, picture, whole.turned)


def _same_way(before: Weighed, after: Weighed) -> bool:
    """Whether both carriers were heard in one way, so that the dial's error cancels."""
    one, other = before.ways[0], after.ways[0]  # both are finds
    if "mirror" in (one.heard_as, other.heard_as) or one.ghost_mhz:
        return False
    return one.is_like(other)


def _scaled(one: Distance, sweep: Weighed) -> Distance:
    """A distance on the dial as one of the sound carrier: a harmonic moves twice as far."""
    scale = sweep.ways[0].scale
    return one if scale == 1.0 else Distance(one.khz * scale, one.weight, one.evidence)


def _between(before: Location, after: Location) -> Distance:
    """The distance between two places that share nothing."""
    places, halves = [], []
    for one in (before, after):
        assert one.sound_carrier_mhz is not None  # both were found
        assert one.interval_95_mhz is not None
        places.append(one.sound_carrier_mhz)
        halves.append((one.interval_95_mhz[1] - one.interval_95_mhz[0]) / 2)
    spread_khz = 1e3 * float(np.hypot(halves[0], halves[1])) / NINETY_FIVE
    return bell(1e3 * (places[1] - places[0]), spread_khz)


def _apart(
    before: tuple[Candidate, Weighed],
    after: tuple[Candidate, Weighed],
    dials: Dials,
    by_fits: bool = False,
) -> Distance:
    """How far one carrier truly moved, over one radio and two.

    by_fits  each sweep's own fit of it tells, no curve in common: so it is with a picture, whose
             curve is a box (picture_fit.py), and with a pointer, whose readings scatter
    """
    if by_fits or not before[1].error.same_everywhere:
        alone = of_fits(before[0].fit, after[0].fit)
        return mixed(
            [
                (1 - dials.other, moved_by(alone, dials.if_same)),
                (dials.other, moved_by(alone, dials.if_other)),
            ]
        )
    both = []
    for one, weighed in (before, after):
        both.append(drawn_from(one, weighed, one.fit.mean_mhz, one.fit.spread_khz))
    return mixed(
        [
            (1 - dials.other, moved_by(distance(*both, same_radio=True), dials.if_same)),
            (dials.other, moved_by(distance(*both, same_radio=False), dials.if_other)),
        ]
    )
