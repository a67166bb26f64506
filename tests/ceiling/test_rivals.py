"""The winner's curse against published constants, by quadrature and by simulation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from weldworth.ceiling.rivals import chances_when_winning, highest_of, winners_curse

# McAfee, R. P., Introduction to Economic Analysis, 20.5: the correction in standard errors for n bidders.
MCAFEE = {2: 0.5642, 3: 0.8463, 4: 1.0294, 5: 1.1630, 10: 1.5388, 15: 1.7359, 20: 1.8675, 25: 1.9653, 50: 2.2491, 100: 2.5076}


@pytest.mark.parametrize(("bidders", "errors"), MCAFEE.items())
def test_the_highest_of_n_normal_estimates_is_too_high_by_the_tabled_number_of_errors(bidders: int, errors: float) -> None:
    assert highest_of(bidders) == pytest.approx(errors, abs=5e-5)
    assert winners_curse(2_000.0, bidders - 1) == pytest.approx(2_000 * errors, abs=0.1)


def test_for_two_and_three_bidders_the_constant_is_the_closed_form() -> None:
    # 1 / sqrt(pi) and 3 / (2 sqrt(pi)); David, H. A., Order Statistics (from memory).
    assert highest_of(2) == pytest.approx(1 / np.sqrt(np.pi), abs=1e-9)
    assert highest_of(3) == pytest.approx(1.5 / np.sqrt(np.pi), abs=1e-9)


def uniform_12(chance: float) -> float:
    return 24.0 * chance - 12.0


@pytest.mark.parametrize(("bidders", "too_high", "left"), [(4, 7.2, 4.8), (7, 9.0, 3.0)])
def test_with_uniform_errors_of_12_the_highest_signal_is_too_high_by_12_times_n_less_1_over_n_plus_1(
    bidders: int, too_high: float, left: float
) -> None:
    # Kagel and Levin (1986), formula from memory: E[value | own signal highest] = signal - e (n - 1) / (n + 1).
    assert winners_curse(1.0, bidders - 1, quantile=uniform_12) == pytest.approx(too_high, abs=1e-8)
    rng = np.random.default_rng(1986)
    value = rng.uniform(100, 200, 400_000)
    highest = value + rng.uniform(-12, 12, (bidders, value.size)).max(axis=0)
    inside = (highest > 125) & (highest < 175)  # away from the ends, where the signal says all there is to know
    errors = (highest - value)[inside]
    standard_error = errors.std(ddof=1) / np.sqrt(errors.size)
    assert abs(errors.mean() - too_high) < 4 * standard_error
    assert abs((12 - errors).mean() - left) < 4 * standard_error  # profit of bidding signal - 12


def test_the_highest_of_five_normal_estimates_is_too_high_97_times_in_100() -> None:
    # McAfee, as above: 97 of 100 for 5 bidders, 99.9 for 10; 1 - 2^-n.
    rng = np.random.default_rng(5)
    assert (rng.standard_normal((200_000, 5)).max(axis=1) > 0).mean() == pytest.approx(0.96875, abs=4 * 0.0004)


def test_knowing_that_one_won_lowers_a_normal_value_by_the_curse_of_the_resolved_share() -> None:
    # Second method: value = mean + a + b, rivals read a with errors alike; conditional mean by simulation.
    sigma, weight, rivals = 5_000.0, 0.6, 4
    rng = np.random.default_rng(17)
    own_error = rng.normal(0, weight * sigma, 400_000)
    others = rng.normal(0, weight * sigma, (rivals, own_error.size))
    won = own_error > others.max(axis=0)
    overshoot = own_error[won]
    expected = winners_curse(sigma, rivals, weight)
    assert abs(overshoot.mean() - expected) < 4 * overshoot.std(ddof=1) / np.sqrt(overshoot.size)
    values = norm.ppf((np.arange(20_000) + 0.5) / 20_000, 30_000, sigma)
    shifted = float(values @ chances_when_winning(values.size, rivals, weight))
    assert 30_000 - shifted == pytest.approx(expected, rel=2e-3)


def test_without_others_or_where_they_resolve_nothing_there_is_no_curse() -> None:
    assert winners_curse(5_000.0, 0) == 0.0
    assert winners_curse(5_000.0, 5, 0.0) == 0.0
    assert chances_when_winning(100, 0, 0.6) == pytest.approx(np.full(100, 0.01), abs=1e-15)


def test_the_curse_grows_with_error_with_rivals_and_with_what_they_resolve() -> None:
    assert winners_curse(1, 1) < winners_curse(1, 2) < winners_curse(1, 9) < winners_curse(2, 9)
    assert winners_curse(1, 3, 0.15) < winners_curse(1, 3, 0.3) < winners_curse(1, 3, 0.6)


@pytest.mark.parametrize(("sigma", "rivals", "weight"), [(-1, 2, 0.5), (1, -2, 0.5), (1, 2, 1.5), (float("nan"), 2, 0.5)])
def test_a_curse_of_impossible_numbers_is_refused(sigma: float, rivals: int, weight: float) -> None:
    with pytest.raises(ValueError, match="0 or more"):
        winners_curse(sigma, rivals, weight)


def test_a_highest_of_nobody_is_refused() -> None:
    with pytest.raises(ValueError, match="1 or more"):
        highest_of(0)
