"""What a modulator gives a dial: its carriers, their products and their ghosts, and where.

Conventions
-----------
Frequencies are true MHz: where a dial without error shows each.  A response's kind is what it
sounds like: a tone is the programme, a buzz the picture.

Images lie 21.4 MHz away: arithmetic of mixing with an intermediate frequency of 10.7 MHz.  Half of
that from the dial twice a carrier mixes with twice the oscillator, since 2 (10.7 - 5.35) = 10.7
(arithmetic likewise): a response of second order, which falls by 2 dB a dB of the carrier.

What it gives
-------------
responses          all that a modulator may be heard by
half_way_pictures  what a strong picture gives half an intermediate frequency away
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from listen.channels.lookup import IMAGE_OFFSET_MHZ
from listen.radio import Oscillator

Kind = Literal["tone", "buzz", "both"]
# Where the dial shows an image, minus where the carrier is.
SIDES: tuple[tuple[Oscillator, float], ...] = (
    ("above", -IMAGE_OFFSET_MHZ),
    ("below", IMAGE_OFFSET_MHZ),
)


@dataclass(frozen=True, slots=True)
class Response:
    """A carrier of a modulator where a true dial hears it.

    name, kind  which it is, and what it sounds like
    below       how many spacings it lies under the sound, as the dial shows them
    """

    name: str
    kind: Kind
    mhz: float
    below: int


def responses(
    sound_mhz: float, spacing_mhz: float, oscillator: Oscillator | None, image_mhz: float = 0.0
) -> Iterator[Response]:
    """All that a modulator gives a dial.

    oscillator  the radio's; None: either
    image_mhz   as Dial has it
    """
    picture_mhz = sound_mhz - spacing_mhz
    sent = (
        Response("sound", "tone", sound_mhz, 0),
        Response("picture", "buzz", picture_mhz, 1),
        Response("mirror", "tone", picture_mhz - spacing_mhz, 2),
    )
    yield from sent
    yield Response("twice the sound", "tone", 2 * sound_mhz, 0)
    yield Response("sound and picture", "both", sound_mhz + picture_mhz, 1)
    yield Response("twice the picture", "buzz", 2 * picture_mhz, 2)
    for side, shift_mhz in SIDES:
        if oscillator in (None, side):
            for one in sent:
                shown_mhz = one.mhz + shift_mhz - image_mhz
                yield replace(one, name=f"image {one.name}", mhz=shown_mhz)


def half_way_pictures(
    sound_mhz: float, spacing_mhz: float, oscillator: Oscillator | None
) -> Iterator[Response]:
    """A strong picture half an intermediate frequency away.

    It is the strongest of the modulator's carriers by some 10 dB, so the others are 20 dB weaker.
    """
    for side, shift_mhz in SIDES:
        if oscillator in (None, side):
            picture_mhz = sound_mhz - spacing_mhz
            yield Response("half-way picture", "buzz", picture_mhz + shift_mhz / 4, 1)
