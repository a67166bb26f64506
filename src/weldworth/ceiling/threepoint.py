"""A spread given by three points: low (1 in 10 below), likely (as often above as below), high (1 in 10 above)."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri
from scipy.stats import norm

from weldworth.core.errors import BadInput, Problem

FloatArray = NDArray[np.float64]
TENTH: Final = float(norm.ppf(0.9))
_OUTER: Final = 0.005


@dataclass(frozen=True, slots=True)
class ThreePoint:
    """Amounts of money, 0 < low <= likely <= high, read as the 10th, 50th and 90th percentile.

    Between and beyond them the logarithm is normal on each side of `likely`, with a spread of its own on each side.
    """

    low: float
    likely: float
    high: float

    def quantile(self, chance: ArrayLike) -> FloatArray:
        """The amount that is undercut with `chance`; shape of `chance`, each in (0, 1).

        >>> ThreePoint(800.0, 1000.0, 1500.0).quantile([0.1, 0.5, 0.9]).round(6).tolist()
        [800.0, 1000.0, 1500.0]
        """
        z = np.asarray(ndtri(np.asarray(chance, dtype=np.float64)))
        below, above = np.log(self.likely / self.low) / TENTH, np.log(self.high / self.likely) / TENTH
        return np.asarray(self.likely * np.exp(np.where(z < 0, below, above) * z))

    def draws(self, n: int, seed: int) -> FloatArray:
        """n draws by seed; (n,). Held within the 1-in-200 limits on both sides."""
        return self.quantile(inner_chances(n, seed))


def inner_chances(n: int, seed: int) -> FloatArray:
    """n uniform chances by seed, held within 0.005 and 0.995; (n,)."""
    return np.clip(np.random.default_rng(seed).random(n), _OUTER, 1 - _OUTER)


def three_point(low: float, likely: float, high: float, where: str) -> ThreePoint:
    """The three points once checked; raises BadInput with every problem: not positive, not in order."""
    given = {"low": low, "likely": likely, "high": high}
    problems = [
        Problem(where, f"{name} is {value!r}; give an amount above 0")
        for name, value in given.items()
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not isfinite(value) or value <= 0
    ]
    if not problems and not low <= likely <= high:
        problems.append(
            Problem(
                where, f"low {low:,.0f}, likely {likely:,.0f}, high {high:,.0f} are not in rising order; swap or correct them"
            )
        )
    if problems:
        raise BadInput(problems)
    return ThreePoint(float(low), float(likely), float(high))
