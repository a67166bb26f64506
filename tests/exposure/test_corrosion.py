"""The formulas of ISO 9223 and ISO 9224 against their published tables."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldworth.core.errors import BadInput
from weldworth.exposure.corrosion import category, first_year_rate, joined_loss, loss, loss_straightened

T, RH, PD, SD = (st.floats(*bounds) for bounds in ((-17.1, 28.7), (34.0, 93.0), (0.7, 150.4), (0.4, 760.5)))
B = st.sampled_from([0.523, 0.575, 1.0])


@pytest.mark.parametrize(
    ("t", "rh", "pd", "sd", "um", "named"),
    [
        # ISO 9223:2012 equation 1 as printed in Institute-of-Surface-Science/CorWiz, worked by hand from it
        (10, 80, 10, 3, 33.244, "C3"),
        (10, 70, 1, 60, 26.586, "C3"),
        (12, 75, 5, 5, 21.755, "C2"),
        (0, 80, 5, 50, 20.679, "C2"),
        (20, 80, 4, 300, 119.747, "C5"),
        (9.2, 66, 76.51, 2.48, 58.346, "C4"),  # air of Shenyang, Ma, Li and Wang 2010, Table 2
        (24.7, 87, 6, 38.7, 58.233, "C4"),  # air of Wanning, same table
        (28.7, 93, 150.4, 760.5, 479.116, "CX"),  # upper corner of the ranges of ISO 9223 Table 3
        (-17.1, 34, 0.7, 0.4, 0.139, "C1"),  # lower corner
    ],
)
def test_first_year_rate_agrees_with_worked_rows(t: float, rh: float, pd: float, sd: float, um: float, named: str) -> None:
    assert first_year_rate(t, rh, pd, sd) == pytest.approx(um, abs=5e-4)
    assert category(first_year_rate(t, rh, pd, sd)) == named


@pytest.mark.parametrize(("um", "named"), [(1.3, "C1"), (25, "C2"), (50, "C3"), (80, "C4"), (200, "C5"), (700, "CX")])
def test_a_limit_belongs_to_its_category(um: float, named: str) -> None:
    # ISO 9223:2012 Table 2, carbon steel, um in the first year
    assert category(um) == named
    assert category(um * 1.001) != named or named == "CX"


@given(RH, PD, SD)
def test_the_rate_does_not_jump_at_ten_degrees_where_the_two_branches_meet(rh: float, pd: float, sd: float) -> None:
    at = first_year_rate(10.0, rh, pd, sd)
    assert first_year_rate(10.0 + 1e-9, rh, pd, sd) == pytest.approx(at, rel=1e-6)


@given(T, RH, PD, SD, st.sampled_from([1, 2, 3]))
def test_more_humidity_sulphur_or_salt_never_lowers_the_rate(t: float, rh: float, pd: float, sd: float, which: int) -> None:
    more = [
        t,
        min(93.0, rh + 3) if which == 1 else rh,
        min(150.4, pd * 1.2) if which == 2 else pd,
        min(760.5, sd * 1.2) if which == 3 else sd,
    ]
    assert first_year_rate(*more) >= first_year_rate(t, rh, pd, sd)


def test_what_sulphur_does_is_greatest_at_ten_degrees() -> None:
    # ISO 9223:2012 equation 1: f rises up to 10 degC and falls beyond; twice the sulphur shows that term alone
    t = np.linspace(-17, 28, 91)
    term = [first_year_rate(float(x), 70, 100, 1) - first_year_rate(float(x), 70, 50, 1) for x in t]
    assert t[int(np.argmax(term))] == 10.0


@pytest.mark.parametrize(
    ("values", "named"),
    [
        ((-18, 70, 5, 5), "temperature"),
        ((29, 70, 5, 5), "temperature"),
        ((10, 33, 5, 5), "humidity"),
        ((10, 94, 5, 5), "humidity"),
        ((10, 70, 0.6, 5), "SO2"),
        ((10, 70, 151, 5), "SO2"),
        ((10, 70, 5, 0.3), "chloride"),
        ((10, 70, 5, 761), "chloride"),
        ((10, float("nan"), 5, 5), "humidity"),
    ],
)
def test_air_outside_the_published_ranges_is_refused(values: tuple[float, float, float, float], named: str) -> None:
    with pytest.raises(BadInput, match=named):
        first_year_rate(*values)


def test_all_values_outside_their_ranges_are_named_at_once() -> None:
    with pytest.raises(BadInput) as caught:
        first_year_rate(60, 99, 0, 0)
    assert len(caught.value.problems) == 4


@pytest.mark.parametrize(
    ("b", "factors"),
    [
        # ISO 9224:2012 Table 3 (t**b), as printed in Institute-of-Surface-Science/CorWiz
        (0.523, (1.437, 1.776, 2.320, 3.334, 4.122, 4.791, 5.384, 7.737, 11.117)),
        (0.575, (1.490, 1.881, 2.523, 3.758, 4.745, 5.599, 6.365, 9.482, 14.125)),
    ],
)
def test_years_count_as_in_the_published_table(b: float, factors: tuple[float, ...]) -> None:
    for years, factor in zip((2, 3, 5, 10, 15, 20, 25, 50, 100), factors, strict=True):
        assert loss(1.0, years, b) == pytest.approx(factor, abs=6e-4)


@pytest.mark.parametrize(
    ("b", "factors"),
    [(0.523, (4.791, 5.418, 6.044, 7.297, 8.550, 14.814)), (0.575, (5.599, 6.404, 7.208, 8.818, 10.428, 18.476))],
)
def test_the_straight_form_after_twenty_years_gives_more(b: float, factors: tuple[float, ...]) -> None:
    # ISO 9224:2012, D = r (20**b + b 20**(b-1) (t - 20)), worked by hand at 20, 25, 30, 40, 50, 100 years
    for years, factor in zip((20, 25, 30, 40, 50, 100), factors, strict=True):
        assert loss_straightened(1.0, years, b) == pytest.approx(factor, abs=6e-4)
        assert loss_straightened(1.0, years, b) >= loss(1.0, years, b) - 1e-12


def test_open_air_alone_hardly_goes_through_body_sheet() -> None:
    # 20-gauge sheet is 0.912 mm (Manufacturers' Standard Gauge); 20 years at the top of C5 exceed it, of C4 not
    assert loss(200, 20, 0.523) > 912 > loss(80, 20, 0.523)


@given(st.lists(st.tuples(st.floats(0.5, 300), st.floats(0.1, 40)), min_size=1, max_size=6), B, st.randoms(use_true_random=False))
def test_the_order_of_places_does_not_change_the_loss(stretches: list[tuple[float, float]], b: float, chance: object) -> None:
    mixed = list(stretches)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert joined_loss(mixed, b) == pytest.approx(joined_loss(stretches, b), rel=1e-12)


@given(st.lists(st.tuples(st.floats(0.5, 300), st.floats(0.1, 40)), min_size=1, max_size=5), B)
def test_equivalent_time_gives_what_stepping_from_place_to_place_gives(stretches: list[tuple[float, float]], b: float) -> None:
    # second method: at every move, look up how long the new place would have taken for the loss so far, then go on from there
    lost = 0.0
    for rate, years in stretches:
        lost = loss(rate, (lost / rate) ** (1 / b) + years, b)
    assert joined_loss(stretches, b) == pytest.approx(lost, rel=1e-9)


def test_a_life_between_two_rates_loses_something_between() -> None:
    losses = [joined_loss([(30.0, 50.0 - years), (75.0, years)], 0.523) for years in (0.0, 10.0, 25.0, 50.0)]
    assert all(a < b for a, b in pairwise(losses))
    assert losses[0] == pytest.approx(loss(30.0, 50.0, 0.523)) and losses[-1] == pytest.approx(loss(75.0, 50.0, 0.523))


@pytest.mark.parametrize("um", [-1.0, float("nan"), float("inf")])
def test_a_rate_that_is_no_loss_is_refused(um: float) -> None:
    with pytest.raises(BadInput, match="not a loss"):
        category(um)
