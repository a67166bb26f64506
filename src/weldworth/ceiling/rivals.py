"""Winning against others is news: they saw less value. What that takes off the shop's own estimate.

N bidders each hold an estimate of one common value, with errors alike and independent. The highest of them is too
high on average by sigma x E[largest of N standard errors]: McAfee, R. P., Introduction to Economic Analysis, 20.5.
Uniform errors: Kagel, J. H. and Levin, D. (1986). The winner's curse and public information in common value
auctions. American Economic Review 76(5), 894-920.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import quad
from scipy.stats import norm

FloatArray = NDArray[np.float64]
Quantile = Callable[[float], float]


def _standard_normal(chance: float) -> float:
    return float(norm.ppf(chance))


@lru_cache(maxsize=256)
def highest_of(bidders: int, quantile: Quantile = _standard_normal) -> float:
    """E[largest of `bidders` independent errors], by quadrature; `quantile` maps (0, 1) to the error.

    >>> [round(highest_of(n), 4) for n in (2, 3, 5)]
    [0.5642, 0.8463, 1.163]

    Raises ValueError when `bidders` is below 1.
    """
    if bidders < 1:
        raise ValueError(f"bidders is {bidders}; give 1 or more")
    value, _ = quad(lambda u: quantile(u) * bidders * u ** (bidders - 1), 0.0, 1.0, epsabs=1e-11, epsrel=1e-10, limit=400)
    return float(value)


def winners_curse(sigma: float, rivals: int, weight: float = 1.0, quantile: Quantile = _standard_normal) -> float:
    """What to take off one's own estimate before bidding against `rivals` others, in the unit of `sigma`.

    sigma : standard error of an estimate (or the scale that `quantile` is in).   rivals : others, 0 or more.
    weight : share of `sigma` that is each bidder's own reading of the vehicle, 0 to 1; what nobody can see is no
    reason to have lost to, so it carries no curse.
    Returns weight x sigma x E[largest of rivals + 1 errors]: 0 without rivals, rising in all three.

    >>> round(winners_curse(1000, 3), 1)
    1029.4
    """
    if not (sigma >= 0 and 0 <= weight <= 1 and rivals >= 0):
        raise ValueError(f"sigma {sigma}, rivals {rivals} and weight {weight} must be 0 or more, weight at most 1")
    return 0.0 if rivals == 0 else weight * sigma * highest_of(rivals + 1, quantile)


@lru_cache(maxsize=64)
def chances_when_winning(draws: int, rivals: int, weight: float) -> FloatArray:
    """Chances of the sorted draws of a value, lowest first, once one knows that one has won; (draws,), sum 1, read-only.

    The chance below the k-th draw becomes Phi(Phi^-1(k / draws) + c) with c = winners_curse(1, rivals, weight). For
    normal draws that is exactly their mean lowered by winners_curse(sigma, rivals, weight) and their spread kept,
    which errs towards bidding less (knowing that one won narrows the spread a little). For other shapes the bad
    tail gains the most. Because it works on ranks, lowering any draw can never raise the mean or lower the chance
    of loss. Wang, S. S. (2000). A class of distortion operators for pricing financial and insurance risks. Journal
    of Risk and Insurance 67(1), 15-36.
    """
    shift = winners_curse(1.0, rivals, weight)
    below = np.arange(draws + 1) / draws
    chances = np.diff(below if shift == 0.0 else norm.cdf(norm.ppf(below) + shift))
    chances.flags.writeable = False
    return chances


def losing_share(values: ArrayLike, chances: FloatArray, cost: ArrayLike) -> FloatArray:
    """Chance that a sorted value falls more than half a cent short of `cost`; shape of `cost`.

    values : (n,), sorted.   chances : (n,), as from `chances_when_winning`.
    """
    below = np.concatenate(([0.0], np.cumsum(chances)))
    return np.asarray(np.minimum(below[np.searchsorted(np.asarray(values), np.asarray(cost) - 0.005, side="left")], 1.0))
