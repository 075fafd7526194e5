"""How far a carrier moved between two sweeps: the same radio drew both curves.

Where one carrier sits is known less well than how far it went.  What a curve looks like (how
wide the radio holds a carrier, how steep its cliffs are, how their feet rise) is unknown in
each sweep, but it is the same unknown twice.  So the two sweeps are fitted together: for
every curve of the family, how well it explains the first sweep with the carrier here and the
second with the carrier there; the sum over all curves is the probability of each distance.

    p(d) = sum over s, s' of  prior(s) · alike(s' | s) · sum over f of  L1(s, f) · L2(s', f + d)

with s and s' the curves of the two sweeps.  With one radio, alike() keeps the curve, but for
what a change of strength does: a stronger carrier is held further down the same skirts
(width.py).  With two radios s and s' have nothing to do with each other.

Conventions
-----------
Distances are kHz on the dial, second minus first.  Likelihoods are up to a factor, so the
evidence of one radio and that of two may be compared with each other and with nothing else.
"""

from dataclasses import dataclass

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from listen.analysis.cliffs import GRID_KHZ, Drawn
from listen.analysis.curve import Floats, Posterior
from listen.analysis.width import SLOPE

ELSEWHERE, ELSEWHERE_KHZ = 0.1, 15.0  # how often no curve is the radio's, and what that spreads
SAME_SHAPE = 0.98  # how often steepness, lift and leak are the very same to the family
STRENGTHS = ((0.85, 0.8), (0.15, 3.0))  # how often the strength changed, and by how many dB
OWN_WIDTH = 0.008  # two half-widths of one carrier differ by so much of them in any case


@dataclass(frozen=True, slots=True, eq=False)
class Distance:
    """How far a carrier moved, as probabilities.

    khz       shape (n,), rising in even steps
    weight    shape (n,), adds up to 1
    evidence  natural logarithm of how well the two sweeps fit together
    """

    khz: Floats
    weight: Floats
    evidence: float = 0.0

    @property
    def mean_khz(self) -> float:
        """The mean."""
        return float(self.khz @ self.weight)

    def likelier_than(self, khz: float) -> float:
        """Probability of all the distances that are likelier than this one."""
        density = float(np.interp(khz, self.khz, self.weight, left=0.0, right=0.0))
        return float(self.weight[self.weight > density].sum() / self.weight.sum())

    @property
    def spread_khz(self) -> float:
        """Standard deviation."""
        return float(np.sqrt((self.khz - self.mean_khz) ** 2 @ self.weight))

    def interval_khz(self, share: float = 0.95) -> tuple[float, float]:
        """The central interval that holds this share."""
        step = float(self.khz[1] - self.khz[0])
        edges = np.append(self.khz - step / 2, self.khz[-1] + step / 2)
        below = np.concatenate([[0.0], np.cumsum(self.weight)])
        low, high = np.interp(((1 - share) / 2, (1 + share) / 2), below / below[-1], edges)
        return float(low), float(high)


def distance(first: Drawn, second: Drawn, *, same_radio: bool) -> Distance:
    """How far a carrier moved on the dial from the first sweep to the second.

    Both must have been made with the same family, fine or coarse.
    """
    one, other = first.likelihood, second.likelihood
    if same_radio:
        believed = np.sqrt(first.prior * second.prior)
        believed = believed / believed.sum()
        kept = _alike(first.half_width_khz) @ other.reshape(other.shape[0], -1)
        other = kept.reshape(other.shape)
        mean = np.einsum("s,wsf->wf", second.profiles.astype(np.float32), other)[:, None]
        other = np.float32(SAME_SHAPE) * other + np.float32(1 - SAME_SHAPE) * mean
        one = one * (believed[:, None, None] * first.profiles[None, :, None]).astype(np.float32)
    else:
        one = np.einsum("w,s,wsf->f", first.prior, first.profiles, one)[None, None]
        other = np.einsum("w,s,wsf->f", second.prior, second.profiles, other)[None, None]
    lags = _correlated(one, other)
    step_khz = 1e3 * float(first.carrier_mhz[1] - first.carrier_mhz[0])
    apart_khz = 1e3 * float(second.carrier_mhz[0] - first.carrier_mhz[0])
    steps = np.arange(lags.size, dtype=np.float64) - (first.carrier_mhz.size - 1)
    khz = apart_khz + step_khz * steps
    total = float(lags.sum())
    return Distance(khz, lags / total, float(np.log(total)))


def _correlated(one: NDArray[np.floating], other: NDArray[np.floating]) -> Floats:
    """Sum over all shapes and carriers of one(f) · other(f + lag), for every lag, rising."""
    before, after = one.shape[-1], other.shape[-1]
    size = scipy.fft.next_fast_len(before + after - 1, real=True)
    product = np.conj(scipy.fft.rfft(one, size)) * scipy.fft.rfft(other, size)
    whole = scipy.fft.irfft(product.sum(axis=(0, 1), dtype=np.complex128), size)
    lags = np.concatenate([whole[size - before + 1 :], whole[:after]])
    return np.asarray(np.maximum(lags, 0) + 1e-9 * float(lags.max()), dtype=np.float64)


def _alike(widths_khz: Floats) -> NDArray[np.float32]:
    """Probability of each half-width (columns) where the first sweep's was another (rows).

    widths_khz  rising in even steps of the logarithm
    """
    log_ratio = np.log(widths_khz[None, :] / widths_khz[:, None])
    alike = np.zeros(log_ratio.shape)
    for share, strength_db in STRENGTHS:
        wide = np.hypot(SLOPE * strength_db, OWN_WIDTH)
        alike += share * np.exp(-0.5 * (log_ratio / wide) ** 2) / wide
    return np.asarray(alike / alike.sum(axis=1, keepdims=True), dtype=np.float32)


def of_fits(first: Posterior, second: Posterior) -> Distance:
    """How far apart two carriers are that were fitted each for itself."""
    places = [
        Distance(1e3 * (fit.carrier_mhz - first.carrier_mhz[0]), fit.weight)
        for fit in (second, first)
    ]
    return moved_by(*places)


def moved_by(one: Distance, other: Distance) -> Distance:
    """The difference of two independent distances: one minus other."""
    step_khz = GRID_KHZ / 2
    fine = [_on_grid(d, step_khz) for d in (one, other)]
    weight = np.convolve(fine[0].weight, fine[1].weight[::-1])
    start_khz = float(fine[0].khz[0] - fine[1].khz[-1])
    khz = start_khz + step_khz * np.arange(weight.size, dtype=np.float64)
    return Distance(khz, weight / weight.sum())


def cautious(one: Distance) -> Distance:
    """The same, reckoning with a radio whose curve the family does not hold."""
    step_khz = float(one.khz[1] - one.khz[0])
    more = int(np.ceil(4 * ELSEWHERE_KHZ / step_khz))
    away_khz = step_khz * np.arange(-more, more + 1)
    blur = np.exp(-0.5 * (away_khz / ELSEWHERE_KHZ) ** 2)
    weight = ELSEWHERE * np.convolve(one.weight, blur / blur.sum())
    weight[more:-more] += (1 - ELSEWHERE) * one.weight
    khz = one.khz[0] + step_khz * np.arange(-more, one.khz.size + more, dtype=np.float64)
    return Distance(khz, weight, one.evidence)


def bell(mean_khz: float, spread_khz: float) -> Distance:
    """A distance known as a mean and a spread."""
    reach = max(6.0, 5 * spread_khz)
    khz = mean_khz + np.asarray(np.linspace(-reach, reach, 121), dtype=np.float64)
    weight = np.exp(-0.5 * ((khz - mean_khz) / max(spread_khz, 0.1)) ** 2)
    return Distance(khz, weight / weight.sum())


def mixed(parts: list[tuple[float, Distance]]) -> Distance:
    """Several possible distances, each with its probability."""
    step_khz = GRID_KHZ / 2
    low = min(float(d.khz[0]) for _, d in parts)
    high = max(float(d.khz[-1]) for _, d in parts)
    khz = np.asarray(np.arange(low - step_khz, high + 2 * step_khz, step_khz), dtype=np.float64)
    weight = np.zeros(khz.size)
    for share, one in parts:
        own = np.interp(khz, one.khz, one.weight, left=0.0, right=0.0)
        weight += share * own / own.sum()
    return Distance(khz, weight / weight.sum())


def _on_grid(one: Distance, step_khz: float) -> Distance:
    """The same in steps of step_khz."""
    khz = np.arange(one.khz[0], one.khz[-1] + step_khz / 2, step_khz)
    weight = np.interp(khz, one.khz, one.weight)
    return Distance(khz, weight / weight.sum(), one.evidence)
