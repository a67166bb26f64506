"""Comparable sales beside each other, against a line fitted by an independent library and sums by hand."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
import statsmodels.api as sm

from weldworth.ceiling.comparables import Sale
from weldworth.ceiling.compared import compare
from weldworth.ceiling.resale import ResaleTables, Slope, Target, resale_tables
from weldworth.tables import load_tables

ON = date(2026, 11, 25)
KNOWN = resale_tables(load_tables())
FREE = ResaleTables(
    scatter=KNOWN.scatter,
    scatter_rows=1e-9,
    scatter_floor=1e-9,
    tail=1e9,
    outlier_scales=KNOWN.outlier_scales,
    own_floor=KNOWN.own_floor,
    slopes={name: Slope(slope.per, 0.0, 1e6) for name, slope in KNOWN.slopes.items()},
    states=KNOWN.states,
)
MILES = [61000, 88000, 42000, 102000, 70500, 95000]
PRICES = [41500, 36800, 47200, 33000, 39900, 29500]
SALES = [Sale(price, mileage=miles) for price, miles in zip(PRICES, MILES, strict=True)]


def test_with_nothing_expected_it_is_least_squares() -> None:
    """statsmodels' OLS of the log price on the miles from the vehicle's."""
    found = compare(SALES, Target(ON, 60000), FREE)
    reference = sm.OLS(np.log(PRICES), sm.add_constant((np.array(MILES) - 60000) / 10000)).fit()
    slope = reference.params[1]
    alike = np.array(PRICES) * np.exp(-slope * (np.array(MILES) - 60000) / 10000)
    assert [one.alike for one in found.sales] == pytest.approx(alike, rel=1e-6)
    assert [one.usual for one in found.sales] == pytest.approx(np.exp(reference.fittedvalues), rel=1e-6)
    there = np.exp(reference.params[0] + slope * (np.array([40000, 60000, 100000]) - 60000) / 10000)
    assert found.along("mileage", [40000, 60000, 100000]) == pytest.approx(there, rel=1e-6)


def test_a_sale_far_from_the_others_lies_apart_and_counts_for_little() -> None:
    wild = [*SALES, Sale(9000, mileage=65000)]
    found = compare(wild, Target(ON, 60000), KNOWN)
    assert [one.apart for one in found.sales] == [False] * 6 + [True]
    assert found.sales[-1].weight < 0.3 < min(one.weight for one in found.sales[:-1])
    assert found.sales[-1].usual > 3 * 9000


def test_alike_means_alike_in_what_both_are_known_for() -> None:
    found = compare(SALES, Target(ON), KNOWN)
    assert found.columns == ()
    assert [one.alike for one in found.sales] == PRICES, "the vehicle's miles are not known, so no price is moved"
    assert found.along("mileage", [1.0, 2.0])[0] == pytest.approx(float(np.exp(found.line.fit.coefficients[0])))
