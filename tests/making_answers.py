"""Answers made by hand, for tests of whatever shows them: nothing is measured here."""

from listen.analysis.answer import CarrierFit, FittingChannel, Location, StopAnswer
from listen.channels import by_name


def stop(dial_mhz, heard="hiss", clarity=2.0, console="on"):
    shown = None if heard in ("muted", "spoiled") else clarity
    return StopAnswer(f"{dial_mhz:.2f}-{console}.flac", dial_mhz, console, heard, shown)


def fit_at(mhz, half_khz=20.0, stops=()):
    """A flat top 0.2 MHz wide with straight flanks."""
    dial = tuple(round(mhz + 0.05 * n, 4) for n in range(-10, 11))
    curve = tuple(max(0.0, min(98.0, 98 * (0.2 - abs(x - mhz)) / 0.1)) for x in dial)
    return CarrierFit(mhz, (mhz - half_khz / 1e3, mhz + half_khz / 1e3), dial, curve, stops)


def fitting(name, sound_mhz):
    channel = by_name(name)
    return FittingChannel(
        channel.plan,
        channel.label,
        channel.sound_mhz,
        channel.picture_mhz,
        1e3 * (sound_mhz - channel.sound_mhz),
    )


def found(stops, sound_mhz, *names, picture_mhz=None, half_khz=20.0, others=(), reason="Held."):
    fit = fit_at(sound_mhz, half_khz)
    return Location(
        found=True,
        probability=0.98,
        reason=reason,
        stops=tuple(stops),
        sound_carrier_mhz=sound_mhz,
        interval_95_mhz=fit.interval_95_mhz,
        heard_as="direct",
        picture_carrier_mhz=picture_mhz,
        picture_basis=None if picture_mhz is None else "implied",
        spacing_mhz=None if picture_mhz is None else sound_mhz - picture_mhz,
        spacing_basis=None if picture_mhz is None else "standard",
        channels=tuple(fitting(name, sound_mhz) for name in names),
        fit=fit,
        others=tuple(others),
    )


def not_found(stops, reason="All that was held is a station.", others=()):
    return Location(
        found=False, probability=0.1, reason=reason, stops=tuple(stops), others=tuple(others)
    )
