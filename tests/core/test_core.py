"""Money, units and the nearest word."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weldworth.core.errors import BadInput, Conflict, NotFound, Problem, WeldworthError
from weldworth.core.money import round_down
from weldworth.core.units import kilometres, millimetres
from weldworth.core.words import nearest, unknown


@given(st.floats(-1e6, 1e6))
def test_rounding_never_spends_money(amount):
    money = round_down(amount, "USD")
    assert 0 <= money.amount <= max(amount, 0)
    assert amount - money.amount < 50 or amount < 0
    assert money.cents % 5000 == 0


@pytest.mark.parametrize("amount", [float("nan"), float("inf")])
def test_what_is_no_number_cannot_be_money(amount):
    with pytest.raises(ValueError, match="not a finite number"):
        round_down(amount, "USD")


@pytest.mark.parametrize(
    ("value", "unit", "mm"), [(1, "in", 25.4), (1, "mil", 0.0254), (100, "µm", 0.1), (2, "Inches", 50.8), (3, "mm", 3)]
)
def test_lengths_by_the_international_inch_of_1959(value, unit, mm):
    assert millimetres(value, unit) == pytest.approx(mm)


def test_a_mile_is_1609_344_meters_by_the_international_yard_of_1959():
    assert kilometres(1, "mi") == 1.609344


@pytest.mark.parametrize(("convert", "unit", "near"), [(millimetres, "mills", "mil"), (kilometres, "kms", "km")])
def test_a_unit_that_is_not_known_is_refused_with_the_nearest(convert, unit, near):
    with pytest.raises(ValueError, match=f"nearest: '{near}'"):
        convert(1.0, unit)


def test_a_word_nobody_would_mistake_lists_the_choices():
    assert nearest("zzzz", ["hole", "scale"]) is None
    assert unknown("sign", "zzzz", ["hole", "scale"]) == "sign 'zzzz' is not known here; use one of: hole, scale"


def test_bad_input_carries_every_problem_and_its_place():
    error = BadInput([Problem("a.toml: finding 3", "quality is 7"), "and more"])
    assert str(error) == "a.toml: finding 3: quality is 7\nand more"
    assert [problem.where for problem in error.problems] == ["a.toml: finding 3", ""]
    assert all(issubclass(kind, WeldworthError) for kind in (BadInput, NotFound, Conflict))
