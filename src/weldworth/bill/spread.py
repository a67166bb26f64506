"""Three figures of an estimate as a distribution: low, likely, high are read as its 10, 50 and 90 per cent points.

Guesses of repair hours lie about evenly on a log scale (3 / 6 / 10, 8 / 14 / 26), so each is a lognormal whose two
halves may differ in width: ln X = ln likely + s z with s = ln(likely / low) / 1.2816 below and ln(high / likely) /
1.2816 above, z standard normal. All three figures are met exactly, no value is negative, and the long tail is upward.
People's extremes are narrower than they think, so low and high are taken as 10 and 90 per cent points, not as bounds:
Keefer, D. L. and Bodily, S. E. (1983). Three-point approximations for continuous random variables. Management Science
29(5), 595-609. The two-piece form: Wallis, K. F. (2014). The two-piece normal, binormal, or double Gaussian
distribution. Statistical Science 29(1), 106-112.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import erf, exp, log, sqrt

import numpy as np
from numpy.typing import NDArray

Z90 = 1.2815515655446004
"""The standard normal deviate that one draw in ten exceeds."""
Z_CUT = 3.0
"""Deviates are cut here: beyond it (one draw in 370) a three-figure guess says nothing."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Triple:
    """A guess: one case in ten lies below `low`, half below `likely`, one in ten above `high`. All above 0 or all 0."""

    low: float
    likely: float
    high: float

    @property
    def widths(self) -> tuple[float, float]:
        """Log-scale widths below and above the likely figure, [-]."""
        if self.likely == 0:
            return 0.0, 0.0
        return log(self.likely / self.low) / Z90, log(self.high / self.likely) / Z90

    def at(self, z: Floats) -> Floats:
        """The value at standard normal deviates `z`, same unit as the figures; at 0 it is the likely one.

        >>> [round(float(x), 6) for x in Triple(3.0, 6.0, 10.0).at(np.array([-Z90, 0.0, Z90]))]
        [3.0, 6.0, 10.0]
        """
        below, above = self.widths
        return self.likely * np.exp(np.where(z < 0, below, above) * z)

    @property
    def mean(self) -> float:
        """The mean without the cut, likely * (exp(s1^2/2) Phi(-s1) + exp(s2^2/2) Phi(s2))."""
        below, above = self.widths
        return self.likely * (exp(below**2 / 2) * _phi(-below) + exp(above**2 / 2) * _phi(above))


def _phi(x: float) -> float:
    return 0.5 * (1 + erf(x / sqrt(2)))


@dataclass(frozen=True, slots=True)
class Chances:
    """What is left to chance in each draw, drawn once per vehicle and never from the conditions.

    Because nothing here depends on the conditions, two bills with the same seed and the same number of draws differ
    only by the metal. z : (keys, draws) deviates of the jobs, set-ups, paint, ... in that order; rate, overrun :
    (draws,) deviates of the labour rate and of the growth of the total; luck : (draws,) uniform, decides mishaps.
    """

    z: Floats
    rate: Floats
    overrun: Floats
    luck: Floats

    def only(self, draws: NDArray[np.intp]) -> Chances:
        """The same chances for these draws alone."""
        return Chances(self.z[:, draws], self.rate[draws], self.overrun[draws], self.luck[draws])


@lru_cache(maxsize=4)
def draw_chances(keys: int, draws: int, correlation: float, seed: int) -> Chances:
    """Deviates for `keys` estimates, any two correlated by `correlation` through one factor common to the vehicle.

    Kept for the next bill of the same size, so not to be written to.
    """
    rng = np.random.default_rng(seed)
    common, rate, overrun = (rng.standard_normal(draws) for _ in range(3))
    luck = rng.random(draws)
    z = rng.standard_normal((keys, draws))
    z *= sqrt(1 - correlation)
    z += sqrt(correlation) * common
    np.clip(z, -Z_CUT, Z_CUT, out=z)
    for kept in (z, rate, overrun, luck):
        kept.flags.writeable = False
    return Chances(z, rate, overrun, luck)


def no_chance(keys: int, draws: int) -> Chances:
    """Every estimate at its likely figure and no mishap."""
    return Chances(np.zeros((keys, draws)), np.zeros(draws), np.zeros(draws), np.ones(draws))


def growth(median: float, p90: float, z: Floats) -> Floats:
    """How many times the estimate the finished job costs: lognormal with this median and 90 per cent point, [-]."""
    return median * np.exp(log(p90 / median) / Z90 * z)
