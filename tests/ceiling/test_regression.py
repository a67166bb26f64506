"""The straight-line fit against certified values, a second program and published fits."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import scipy
from numpy.typing import NDArray

from weldworth.ceiling.regression import Prior, fit, flat_prior
from weldworth.core.errors import BadInput

NORRIS = Path(scipy.__file__).parent / "stats/tests/data/nist_linregress/Norris.dat"


def norris() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    if not NORRIS.is_file():
        pytest.skip(f"NIST Norris data are not in this scipy: {NORRIS}")
    lines = NORRIS.read_text(encoding="ascii").splitlines()[60:]
    rows = np.array([[float(cell) for cell in line.split()] for line in lines if line.strip()])
    assert rows.shape == (36, 2)
    return np.column_stack([np.ones(36), rows[:, 1]]), rows[:, 0]


def test_without_priors_and_with_normal_errors_it_is_least_squares_to_the_certified_digits() -> None:
    # NIST Statistical Reference Datasets, linear regression, Norris: certified estimates, standard errors and scale.
    x, y = norris()
    line = fit(x, y, flat_prior(2))
    errors = np.sqrt(np.diag(line.covariance))
    assert line.coefficients[0] == pytest.approx(-0.262323073774029, rel=1e-9)
    assert line.coefficients[1] == pytest.approx(1.00211681802045, rel=1e-12)
    assert errors[0] == pytest.approx(0.232818234301152, rel=1e-9)
    assert errors[1] == pytest.approx(0.429796848199937e-3, rel=1e-9)
    assert line.scale**2 * line.df == pytest.approx(26.6173985294224, rel=1e-9)
    assert line.df == pytest.approx(34.0)


def test_the_interval_of_one_more_observation_agrees_with_a_second_program() -> None:
    sm = pytest.importorskip("statsmodels.api")
    x, y = norris()
    line = fit(x, y, flat_prior(2))
    new = np.array([1.0, 412.0])
    theirs = sm.OLS(y, x).fit().get_prediction(new[None, :])
    assert float(new @ line.coefficients) == pytest.approx(float(theirs.predicted_mean[0]), rel=1e-11)
    assert line.predictive_scale(new) == pytest.approx(float(theirs.se_obs[0]), rel=1e-8)


def test_slopes_held_by_a_prior_are_least_squares_with_the_prior_as_one_more_row() -> None:
    # Theil, H. and Goldberger, A. S. (1961). On pure and mixed statistical estimation in economics. Int. Econ. Rev. 2, 65-78.
    rng = np.random.default_rng(8)
    x = np.column_stack([np.ones(12), rng.normal(size=12)])
    y = 2 + 0.5 * x[:, 1] + rng.normal(0, 0.3, 12)
    line = fit(x, y, Prior(np.array([0.0, -1.0]), np.array([np.inf, 0.2])))
    row = np.array([[0.0, 1.0]]) * line.scale / 0.2
    by_hand, *_ = np.linalg.lstsq(np.vstack([x, row]), np.append(y, -1.0 * line.scale / 0.2), rcond=None)
    assert line.coefficients == pytest.approx(by_hand, rel=1e-9)
    free = fit(x, y, flat_prior(2)).coefficients[1]
    assert -1.0 < line.coefficients[1] < free


def test_a_robust_line_agrees_with_the_maximum_of_the_student_likelihood_found_by_brute_force() -> None:
    from scipy.optimize import minimize
    from scipy.stats import t as student

    rng = np.random.default_rng(4)
    x = np.column_stack([np.ones(40), rng.uniform(0, 5, 40)])
    y = 1 + 2 * x[:, 1] + student.rvs(4, scale=0.5, size=40, random_state=rng)
    line = fit(x, y, flat_prior(2), tail=4)

    def loss(b: NDArray[np.float64]) -> float:
        return -float(student.logpdf(y - x @ b, 4, scale=line.scale).sum())

    found = minimize(loss, [0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-12, "maxiter": 5_000})
    assert line.coefficients == pytest.approx(found.x, abs=1e-6)


def test_one_wild_point_moves_the_robust_line_little_and_least_squares_much() -> None:
    x = np.column_stack([np.ones(9), np.arange(9.0)])
    y = 3 + 0.5 * x[:, 1] + 0.05 * np.array([1, -1, 1, -1, 1, -1, 1, -1, 1])
    wild = y.copy()
    wild[8] += 5.0
    robust, plain = fit(x, wild, flat_prior(2), tail=4), fit(x, wild, flat_prior(2))
    assert abs(robust.coefficients[1] - 0.5) < 0.02 < 0.3 < abs(plain.coefficients[1] - 0.5)
    assert robust.weights[8] < 0.05 and robust.weights[:8].min() > 0.5


def test_agreeing_points_do_not_give_a_scatter_below_the_floor() -> None:
    line = fit(np.ones((5, 1)), np.full(5, 3.0), flat_prior(1), scale_floor=0.07)
    assert line.scale == pytest.approx(0.07) and line.predictive_scale([1.0]) > 0.07


@pytest.mark.parametrize(
    ("x", "y", "named"),
    [
        (np.ones((3, 1)), np.ones(4), "do not fit together"),
        (np.ones((3, 1)), np.array([1.0, np.nan, 2.0]), "finite"),
        (np.ones((4, 2)), np.arange(4.0), "apart"),
        (np.array([[1.0, 1.0], [1.0, 2.0]]), np.arange(2.0), "too few"),
    ],
)
def test_rows_that_cannot_be_fitted_are_refused(x: NDArray[np.float64], y: NDArray[np.float64], named: str) -> None:
    with pytest.raises(BadInput, match=named):
        fit(x, y, flat_prior(x.shape[1]))
