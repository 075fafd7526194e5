"""Radio: what is known or assumed of the FM radio that serves as the receiver.

Frequencies are in MHz, widths and errors in kHz.  Every default is an assumption that an
answer must name in its warnings where nobody stated it.
"""

from dataclasses import dataclass
from math import hypot
from typing import Literal

from listen.errors import BadDial

Dial = Literal["digital", "analogue"]
Oscillator = Literal["above", "below"]

USUAL_BAND_MHZ = (87.5, 108.0)
USUAL_BAND_KHZ = 20_500.0  # over which a chance carrier may lie anywhere
USUAL_RASTER_KHZ = 100.0
USUAL_STEP_KHZ = 100.0  # of a digital dial, where nobody stated it
READING_KHZ = 20.0  # a pointer is set and read to this, one standard deviation
MOST_ERROR_KHZ = 1000.0  # no dial is further off
MOST_SCALE_KHZ = 440.0  # nor is an analogue scale taken to be, at either of its ends
SURE = 3.0  # standard deviations: a scale whose marks leave no nearer end than that is beyond it
# The old eastern band, with the edge that is also quoted, and its stations' raster:
# listen/data/fm_bands.csv.  No other band ends so low.  Multiples of 30 kHz are quoted, but both
# its edges, 65.9 and 74, lie 20 kHz off one, so where that raster begins is left open.
EASTERN_MHZ, EASTERN_RASTER_KHZ = (65.8, 74.0), 30.0
DIAL_LIMITS_MHZ = (20.0, 300.0)  # no consumer FM dial shows anything outside these


def usual_raster_khz(band_mhz: tuple[float, float]) -> float:
    """How far apart the stations of a dial stand where nobody stated it."""
    eastern = EASTERN_MHZ[0] <= band_mhz[0] and band_mhz[1] <= EASTERN_MHZ[1]
    return EASTERN_RASTER_KHZ if eastern else USUAL_RASTER_KHZ


@dataclass(frozen=True, slots=True)
class Radio:
    """An FM receiver, as the analysis needs to know it.

    band_mhz             lowest and highest dial position, MHz
    raster_khz           spacing of the local broadcast stations, kHz; see usual_raster_khz
    dial                 "digital" (synthesised steps) or "analogue" (a scale and a pointer)
    step_khz             smallest step of the dial, kHz; None: read from the stops
    oscillator           "above" or "below" the received frequency; None: both are tried
    passband_khz         the range its passband is believed to lie in, kHz
    known_stations_mhz   true frequencies of stations known to be on the air here, MHz
    dial_marks           what was learned of the dial's error, a place each: dial MHz, dial minus
                         truth in kHz, one standard deviation of that in kHz; one place for a
                         digital dial, two for an analogue one
    stated               names of the fields that somebody stated; the rest are assumed

    Raises BadDial for a band or width that no radio has.
    """

    band_mhz: tuple[float, float] = USUAL_BAND_MHZ
    raster_khz: float = USUAL_RASTER_KHZ
    dial: Dial = "digital"
    step_khz: float | None = None
    oscillator: Oscillator | None = None
    passband_khz: tuple[float, float] = (150.0, 280.0)
    known_stations_mhz: tuple[float, ...] = ()
    dial_marks: tuple[tuple[float, float, float], ...] = ()
    stated: frozenset[str] = frozenset()

    @property
    def raster_origin_mhz(self) -> float | None:
        """One place of the raster: with 200 kHz stations keep to odd tenths (47 CFR 73.201).

        None with 30 kHz: where the eastern raster begins is not known, and nothing rests on it.
        """
        if self.raster_khz == EASTERN_RASTER_KHZ:
            return None
        return 0.1 if self.raster_khz == 200 else 0.0

    @property
    def dial_step_khz(self) -> float:
        """The dial's step, or the usual one where nobody stated it."""
        return self.step_khz or USUAL_STEP_KHZ

    @property
    def scatter_khz(self) -> float:
        """How far a stop is from what was read off the dial, one standard deviation, kHz."""
        return READING_KHZ if self.dial == "analogue" else 0.0

    def __post_init__(self) -> None:
        low_mhz, high_mhz = self.band_mhz
        if not DIAL_LIMITS_MHZ[0] <= low_mhz < high_mhz <= DIAL_LIMITS_MHZ[1]:
            raise BadDial(
                f"a band from {low_mhz:g} to {high_mhz:g} MHz came: give the low end first, "
                f"in MHz, between {DIAL_LIMITS_MHZ[0]:g} and {DIAL_LIMITS_MHZ[1]:g}"
            )
        narrow_khz, wide_khz = self.passband_khz
        if not 50 <= narrow_khz <= wide_khz <= 500:
            raise BadDial(
                f"a passband of {narrow_khz:g} to {wide_khz:g} kHz came: FM radios lie between "
                "50 and 500 kHz, the narrow end first"
            )
        if not 5 <= self.raster_khz <= 500:
            raise BadDial(
                f"a station raster of {self.raster_khz:g} kHz came: give it in kHz, 100 or 200 "
                "in most countries"
            )
        if self.step_khz is not None and not 1 <= self.step_khz <= 1000:
            raise BadDial(f"a dial step of {self.step_khz:g} kHz came: give it in kHz, 1 to 1000")
        for mark_mhz, error_khz, spread_khz in self.dial_marks:
            if not abs(error_khz) <= MOST_ERROR_KHZ or not 0 < spread_khz <= MOST_ERROR_KHZ:
                raise BadDial(
                    f"a dial mark of {error_khz:g} kHz, known to {spread_khz:g}, at "
                    f"{mark_mhz:g} MHz came: give the error in kHz, up to {MOST_ERROR_KHZ:g}, "
                    "and its spread, over 0"
                )


def refuse_odd_marks(radio: Radio) -> None:
    """Raises BadDial for dial marks that no dial of this kind and band has.

    Refused together, once the band is known: a scale's error at its ends follows from both.
    """
    marks = radio.dial_marks
    if radio.dial == "digital":
        if len(marks) > 1:
            raise BadDial(
                f"{len(marks)} dial marks came for a digital dial, which is off by the same "
                'everywhere: give one, or say dial = "analogue"'
            )
        return
    if len(marks) > 2 or len({mhz for mhz, _, _ in marks}) < len(marks):
        raise BadDial(f"{len(marks)} dial marks came for a scale: give one, or two at two places")
    ends = [(*_by_marks(marks, mhz), mhz) for mhz in radio.band_mhz if marks]
    beyond = [end for end in ends if abs(end[0]) - SURE * end[1] > MOST_SCALE_KHZ]
    if beyond:
        error_khz, _, end_mhz = max(beyond, key=lambda end: abs(end[0]))
        raise BadDial(
            f"dial marks came that put the scale off by {error_khz:+.0f} kHz at {end_mhz:g} MHz: "
            f"no scale is taken to be off by more than {MOST_SCALE_KHZ:g} at its ends, so correct "
            "them, or learn them anew with `listen radio`"
        )


def _by_marks(marks: tuple[tuple[float, float, float], ...], mhz: float) -> tuple[float, float]:
    """The error at a place and its standard deviation, kHz, by the line through the marks."""
    first_mhz, first_khz, first_spread = marks[0]
    last_mhz, last_khz, last_spread = marks[-1]
    if len(marks) == 1:
        return first_khz, first_spread
    along = (mhz - first_mhz) / (last_mhz - first_mhz)
    return (
        first_khz + along * (last_khz - first_khz),
        hypot((1 - along) * first_spread, along * last_spread),
    )
