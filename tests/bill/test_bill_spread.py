"""Three-figure guesses as distributions, and what is left to chance."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from weldworth.bill.spread import Z90, Triple, draw_chances, growth


@given(st.floats(0.1, 50), st.floats(1, 4), st.floats(1, 4))
def test_the_three_figures_are_the_10_50_and_90_per_cent_points(likely: float, down: float, up: float) -> None:
    guess = Triple(likely / down, likely, likely * up)
    z = np.asarray(stats.norm.ppf([0.1, 0.5, 0.9]))
    assert guess.at(z) == pytest.approx([guess.low, guess.likely, guess.high], rel=1e-9)


def test_a_symmetric_guess_is_the_textbook_lognormal() -> None:
    guess = Triple(3.0, 6.0, 12.0)
    sigma = np.log(2) / stats.norm.ppf(0.9)
    assert guess.mean == pytest.approx(stats.lognorm(sigma, scale=6.0).mean(), rel=1e-12)


def test_the_mean_of_a_lopsided_guess_agrees_with_numerical_integration() -> None:
    guess = Triple(8.0, 14.0, 26.0)

    def weighted(z: float) -> float:
        return float(guess.at(np.array([z]))[0] * stats.norm.pdf(z))

    area = sum(integrate.quad(weighted, a, b)[0] for a, b in ((-12, 0), (0, 12)))
    assert guess.mean == pytest.approx(area, rel=1e-6)
    assert guess.mean > guess.likely


def test_estimates_of_one_vehicle_are_correlated_as_the_table_says() -> None:
    z = draw_chances(20, 40_000, 0.5, seed=3).z
    between = np.asarray(np.corrcoef(z))[np.triu_indices(20, 1)]
    assert between.mean() == pytest.approx(0.5, abs=0.02)
    assert z.std() == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize(("median", "p90"), [(1.15, 1.6), (1.08, 1.35), (1.03, 1.15)])
def test_growth_has_the_median_and_the_90_per_cent_point_asked_for(median: float, p90: float) -> None:
    # Common practice, no source: growth between estimate and finished job after pictures, own probe, strip.
    exact = stats.lognorm(np.log(p90 / median) / stats.norm.ppf(0.9), scale=median)
    z = np.array([0.0, Z90])
    assert growth(median, p90, z) == pytest.approx([exact.median(), exact.ppf(0.9)], rel=1e-9)
