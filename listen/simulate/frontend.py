"""From the aerial to the intermediate frequency: what arrives there, and where.

For one dial position this answers which emissions land near the IF's centre: directly, as
an image, half an IF away, or as ghosts of two strong carriers that mixed.  It also says
where AFC leaves the set, and by how much a swamped front end raises its noise.

Offsets are in Hz from where the set is tuned, positive upward as heard directly.  With the
oscillator at L and the signal at f the IF is |L - f|; the image is 2 x 10.7 MHz from the
signal on the oscillator's side and comes out mirrored; half an IF away on that side both
double, with the deviation.  Source: arithmetic of mixing, any handbook of receivers.
"""

from dataclasses import dataclass
from itertools import permutations

from listen.simulate.air import Emission, Modulated
from listen.simulate.receiver import IF_MHZ, Receiver, attenuation_db

HALF_IF_REFERENCE_DB = 40.0
GHOST_SOURCES = 4  # only that many strongest carriers are let mix
FAINT_DB = -12.0  # what lies so far below the noise of 200 kHz is left out


@dataclass(frozen=True, slots=True)
class Arrival:
    """An emission as it stands in the IF: where, how strong, and whether mirrored."""

    offset_hz: float
    strength_db: float
    parts: tuple[tuple[Modulated, int], ...]

    @property
    def half_width_khz(self) -> float:
        """How far from its centre its power reaches, kHz."""
        return sum(abs(multiple) * part.half_width_khz for part, multiple in self.parts)


def arrivals(
    receiver: Receiver, tuned_mhz: float, emissions: tuple[Emission, ...], reach_khz: float
) -> tuple[Arrival, ...]:
    """All that lands within reach_khz of the passband's centre and is not lost in the noise."""
    side = 1 if receiver.oscillator == "above" else -1
    image_mhz = tuned_mhz + 2 * side * IF_MHZ
    half_if_mhz = tuned_mhz + side * IF_MHZ / 2
    found = []
    for e in (*emissions, *ghosts(receiver, emissions)):
        found.append(Arrival((e.mhz - tuned_mhz) * 1e6, e.strength_db, e.parts))
        image_db = e.strength_db - receiver.image_rejection_db
        found.append(Arrival((image_mhz - e.mhz) * 1e6, image_db, e.times(-1)))
        half_db = 2 * e.strength_db - HALF_IF_REFERENCE_DB - receiver.half_if_rejection_db
        found.append(Arrival(2 * (e.mhz - half_if_mhz) * 1e6, half_db, e.times(2)))
    found += straight_to_if(receiver, emissions)
    noise_db = blocking_noise_db(receiver, emissions)
    found = [Arrival(a.offset_hz, a.strength_db - noise_db, a.parts) for a in found]
    return tuple(a for a in found if _matters(receiver, a, reach_khz))


def _matters(receiver: Receiver, arrival: Arrival, reach_khz: float) -> bool:
    """Whether any of its power stands above FAINT_DB behind the passband."""
    centre_khz = receiver.misalignment_khz
    edge_khz = abs(arrival.offset_hz / 1e3 - centre_khz) - arrival.half_width_khz
    if edge_khz > reach_khz or arrival.strength_db < FAINT_DB:
        return False
    lost_db = attenuation_db(receiver, centre_khz + max(0.0, edge_khz))
    return arrival.strength_db - lost_db > FAINT_DB


def ghosts(receiver: Receiver, emissions: tuple[Emission, ...]) -> tuple[Emission, ...]:
    """Third-order products 2a - b of the strongest carriers, where the front end mixes."""
    if receiver.intercept_db is None:
        return ()
    made = []
    for a, b in permutations(_strongest(emissions), 2):
        level_db = 2 * a.strength_db + b.strength_db - 2 * receiver.intercept_db
        if level_db > FAINT_DB:
            parts = a.times(2) + b.times(-1)
            made.append(Emission(2 * a.mhz - b.mhz, level_db, parts))
    return tuple(made)


def straight_to_if(receiver: Receiver, emissions: tuple[Emission, ...]) -> list[Arrival]:
    """Pairs 10.7 MHz apart, which give an IF of their own all over the dial."""
    if receiver.intercept_db is None:
        return []
    made = []
    for a, b in permutations(_strongest(emissions), 2):
        level_db = a.strength_db + b.strength_db - receiver.intercept_db
        offset_hz = (a.mhz - b.mhz - IF_MHZ) * 1e6
        if level_db > FAINT_DB and abs(offset_hz) < 0.5e6:
            made.append(Arrival(offset_hz, level_db, a.parts + b.times(-1)))
    return made


def _strongest(emissions: tuple[Emission, ...]) -> list[Emission]:
    return sorted(emissions, key=lambda e: -e.strength_db)[:GHOST_SOURCES]


def blocking_noise_db(receiver: Receiver, emissions: tuple[Emission, ...]) -> float:
    """How far a swamped front end's noise rises over the carriers it still passes, dB."""
    if receiver.blocking_db is None:
        return 0.0
    strongest_db = max((e.strength_db for e in emissions), default=0.0)
    return max(0.0, strongest_db - receiver.blocking_db)


def tuned_mhz(
    receiver: Receiver,
    dial_mhz: float,
    emissions: tuple[Emission, ...],
    came_from_mhz: float | None = None,
) -> float:
    """Where the set really is when the dial shows dial_mhz, AFC and scale error included.

    came_from_mhz  the dial's position before, which AFC remembers; None: it was switched off
    """
    stands_mhz = dial_mhz + receiver.dial_error_khz(dial_mhz) / 1000
    if not receiver.afc:
        return stands_mhz
    held = None
    if came_from_mhz is not None:
        before_mhz = came_from_mhz + receiver.dial_error_khz(came_from_mhz) / 1000
        held = _seized(receiver, before_mhz, emissions)
        if held and abs(_off_khz(receiver, held, stands_mhz)) > receiver.afc_hold_khz:
            held = None
    held = held or _seized(receiver, stands_mhz, emissions)
    if held is None:
        return stands_mhz
    off_khz = _off_khz(receiver, held, stands_mhz)
    return stands_mhz + off_khz * receiver.afc_gain / (1 + receiver.afc_gain) / 1000


def _off_khz(receiver: Receiver, emission: Emission, stands_mhz: float) -> float:
    """A carrier's distance from the filter's centre, kHz."""
    return (emission.mhz - stands_mhz) * 1000 - receiver.misalignment_khz


def _seized(
    receiver: Receiver, stands_mhz: float, emissions: tuple[Emission, ...]
) -> Emission | None:
    """The carrier that AFC takes hold of from a standstill: the strongest within its pull."""
    near = [e for e in emissions if abs(_off_khz(receiver, e, stands_mhz)) < receiver.afc_pull_khz]
    near = [e for e in near if e.strength_db > 6]
    return max(near, key=lambda e: e.strength_db, default=None)
