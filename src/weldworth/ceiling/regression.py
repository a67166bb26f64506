"""A straight-line fit that survives few points and a wild one: Student errors, slopes held near what is expected.

With normal errors, no expected slopes and no expected scatter it is ordinary least squares.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isinf

import numpy as np
from numpy.typing import ArrayLike, NDArray

from weldworth.core.errors import BadInput, Problem

FloatArray = NDArray[np.float64]
_STEPS = 500
_CLOSE = 1e-12


@dataclass(frozen=True, slots=True)
class Prior:
    """What is expected before the data.

    mean, sd : (columns,), each coefficient's expected value and how far it may lie from it; inf = nothing expected.
    scatter : expected scale of the errors, in the unit of y, worth `scatter_rows` observations (0 = nothing expected).
    """

    mean: FloatArray
    sd: FloatArray
    scatter: float = 1.0
    scatter_rows: float = 0.0


@dataclass(frozen=True, slots=True)
class Fit:
    """A fitted line.

    coefficients : (columns,).   covariance : (columns, columns), of the coefficients.   scale : of the errors.
    df : degrees of freedom for intervals.   residuals : (rows,), in units of y.   weights : (rows,), how much of a
    full observation each row counted for.
    """

    coefficients: FloatArray
    covariance: FloatArray
    scale: float
    df: float
    residuals: FloatArray
    weights: FloatArray

    def predictive_scale(self, row: ArrayLike) -> float:
        """Scale of one new observation at the regressors `row` (columns,): its own error and that of the line."""
        x = np.asarray(row, dtype=np.float64)
        return float(np.sqrt(self.scale**2 + x @ self.covariance @ x))


def flat_prior(columns: int) -> Prior:
    """Nothing expected of any of `columns` coefficients or of the scatter."""
    return Prior(np.zeros(columns), np.full(columns, inf))


def fit(design: ArrayLike, y: ArrayLike, prior: Prior, *, tail: float = inf, scale_floor: float = 0.0) -> Fit:
    """Coefficients of `design` by maximum posterior probability under Student errors of `tail` degrees of freedom.

    design : (rows, columns), a constant column included.   y : (rows,).   tail : inf for normal errors, that is
    least squares; about 4 is the published choice for small samples.   scale_floor : the least scale of the errors.
    Iteratively reweighted: row weight (tail + 1) / (tail + z^2), z the row's residual in scales. Scale^2 is
    (expected scatter^2 x its rows + weighted sum of squares) / (those rows + rows - effective coefficients); the
    covariance is the inverse of the expected information, which Student errors lower by (tail + 1) / (tail + 3).

    Lange, K. L., Little, R. J. A. and Taylor, J. M. G. (1989). Robust statistical modeling using the t distribution.
    J. Am. Stat. Assoc. 84(408), 881-896.
    Raises BadInput when shapes do not fit or the rows cannot tell the coefficients apart and nothing is expected.
    """
    x, target = np.asarray(design, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if x.ndim != 2 or target.shape != x.shape[:1] or prior.mean.shape != x.shape[1:] or prior.sd.shape != x.shape[1:]:
        raise BadInput([Problem("regression", f"shapes {x.shape}, {target.shape} and {prior.mean.shape} do not fit together")])
    if not (np.all(np.isfinite(x)) and np.all(np.isfinite(target))):
        raise BadInput([Problem("regression", "holds a value that is not a finite number")])
    pull = np.where(np.isinf(prior.sd), 0.0, 1.0 / np.maximum(prior.sd, 1e-12) ** 2)
    weights = np.ones_like(target)
    scale2 = _first_scale2(target, prior)
    for _ in range(_STEPS):
        beta = _solve(x, target, weights / scale2, pull, prior.mean)
        residuals = target - x @ beta
        effective = _effective(x, weights / scale2, pull)
        rows = prior.scatter_rows + target.size - effective
        if rows <= 0:
            raise BadInput([Problem("regression", f"{target.size} rows are too few for {x.shape[1]} coefficients")])
        squares = prior.scatter_rows * prior.scatter**2 + float(weights @ residuals**2)
        renewed2 = max(squares / rows, scale_floor**2, 1e-300)
        renewed = np.ones_like(target) if isinf(tail) else (tail + 1) / (tail + residuals**2 / renewed2)
        settled = abs(renewed2 - scale2) <= _CLOSE * renewed2 and np.allclose(renewed, weights, rtol=0, atol=_CLOSE)
        scale2, weights = renewed2, renewed
        if settled:
            break
    lowered = 1.0 if isinf(tail) else (tail + 1) / (tail + 3)
    information = lowered * (x.T * (weights / scale2)) @ x + np.diag(pull)
    return Fit(beta, np.linalg.inv(information), float(np.sqrt(scale2)), rows, residuals, weights)


def _first_scale2(target: FloatArray, prior: Prior) -> float:
    spread = float(np.median(np.abs(target - np.median(target)))) * 1.4826
    return max(spread**2, prior.scatter**2 if prior.scatter_rows > 0 else 0.0, 1e-12)


def _solve(x: FloatArray, target: FloatArray, precision: FloatArray, pull: FloatArray, expected: FloatArray) -> FloatArray:
    """Weighted least squares with pulled coefficients, by QR on the stacked rows for full accuracy."""
    root = np.sqrt(precision)
    held = pull > 0
    rows = np.vstack([x * root[:, None], np.diag(np.sqrt(pull))[held]])
    sides = np.concatenate([target * root, (np.sqrt(pull) * expected)[held]])
    q, r = np.linalg.qr(rows)
    size = np.abs(np.diag(r))
    if size.size < x.shape[1] or size.min() <= 1e-13 * size.max():
        raise BadInput([Problem("regression", f"{len(target)} rows cannot tell {x.shape[1]} coefficients apart")])
    return np.asarray(np.linalg.solve(r, q.T @ sides))


def _effective(x: FloatArray, precision: FloatArray, pull: FloatArray) -> float:
    """How many coefficients the data themselves settle: trace of the hat matrix."""
    data = (x.T * precision) @ x
    return float(np.trace(np.linalg.solve(data + np.diag(pull), data)))
