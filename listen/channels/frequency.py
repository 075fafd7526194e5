"""A frequency in MHz that a person gave or reads: checked, refused with the likely slip, shown.

mhz_from      "95.75", "95,75" or "95.75 MHz" to a number
band_from     "87.5-108" to its two ends
checked_mhz   a number, or BadDial where no channel and no dial could have it
mhz_text      a number as a dial shows it
"""

import math
import re

from listen.errors import BadDial

LIMITS_MHZ = (1.0, 1000.0)  # every channel and every FM dial lies inside
AERONAUTICAL_MHZ = (108.0, 137.0)  # radionavigation and air-ground speech: ITU Radio Regulations

_NUMBER = r"[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[-+]?\d+)?"
_MHZ = re.compile(rf"\s*({_NUMBER}|nan|[-+]?inf)\s*(?:mhz)?\s*", re.IGNORECASE)
_BAND = re.compile(rf"\s*({_NUMBER})\s*(?:mhz)?\s*[-–]\s*({_NUMBER})\s*(?:mhz)?\s*", re.IGNORECASE)
_SLIPS = ((1e-3, "kHz"), (1e-6, "Hz"), (1e3, "GHz"))


def checked_mhz(mhz: float, what: str = "frequency") -> float:
    """The same frequency, if a channel or an FM dial could have it.

    mhz    a frequency in MHz, 1 to 1000
    what   what it is, for the message

    Raises BadDial, with the frequency that was probably meant where the unit looks wrong.
    """
    low_mhz, high_mhz = LIMITS_MHZ
    if low_mhz <= mhz <= high_mhz:
        return float(mhz)
    came = f"a {what} of {mhz:.10g} MHz came"
    if not math.isfinite(mhz) or mhz <= 0:
        raise BadDial(f"{came}: give a number in MHz between 1 and 1000, such as 95.75")
    for factor, unit in _SLIPS:
        if 20 <= mhz * factor <= high_mhz:
            raise BadDial(f"{came}: that looks like {unit}, did you mean {mhz * factor:.10g} MHz?")
    raise BadDial(f"{came}: television and FM lie between 1 and 1000 MHz, so give it in MHz")


def mhz_from(text: str, what: str = "frequency") -> float:
    """The frequency in MHz that somebody typed; the decimal mark is a point or a comma.

    Raises BadDial for what is no number, and for what checked_mhz refuses.
    """
    typed = _MHZ.fullmatch(text)
    if not typed:
        raise BadDial(f"a {what} of '{text}' came: give one number in MHz, such as 95.75")
    return checked_mhz(float(typed[1].replace(",", ".")), what)


def band_from(text: str) -> tuple[float, float]:
    """The two ends, in MHz, of a band that somebody typed as LOW-HIGH.

    Raises BadDial for what is no band, and for ends that checked_mhz refuses.
    """
    typed = _BAND.fullmatch(text)
    if not typed:
        raise BadDial(f"a band of '{text}' came: give its two ends in MHz, such as 87.5-108")
    low_mhz, high_mhz = (float(end.replace(",", ".")) for end in typed.groups())
    return checked_band(low_mhz, high_mhz)


def checked_band(low_mhz: float, high_mhz: float) -> tuple[float, float]:
    """The same band, if its ends are frequencies in MHz with the low one first.

    Raises BadDial.
    """
    low_mhz, high_mhz = checked_mhz(low_mhz, "band edge"), checked_mhz(high_mhz, "band edge")
    if low_mhz >= high_mhz:
        raise BadDial(
            f"a band from {low_mhz:g} to {high_mhz:g} MHz came: give the low end first, "
            "such as 87.5-108"
        )
    return low_mhz, high_mhz


def mhz_text(mhz: float) -> str:
    """A frequency as a dial and a table show it: two decimals, more where it has them."""
    whole, _, decimals = f"{mhz:.4f}".partition(".")
    return f"{whole}.{decimals.rstrip('0').ljust(2, '0')}"


def in_aeronautical_band(mhz: float) -> bool:
    """Whether a frequency lies in 108 to 137 MHz, where aircraft navigate and speak."""
    low_mhz, high_mhz = AERONAUTICAL_MHZ
    return low_mhz <= checked_mhz(mhz) <= high_mhz
