"""Where money lies on the drawn axis."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from weldworth.web.lines import axis_for, money_line

AMOUNTS = st.floats(0, 200_000, allow_nan=False)


def test_the_axis_reaches_the_dearest_of_ordinary_candidates() -> None:
    axis = axis_for([11_700, 12_900, 23_100], 392)
    assert axis.top == 25_000
    assert [value for value, _ in axis.marks] == [0, 5_000, 10_000, 15_000, 20_000, 25_000]


def test_one_very_dear_vehicle_does_not_push_the_others_into_a_corner() -> None:
    axis = axis_for([10_000.0] * 20 + [150_000.0], 392)
    assert axis.top < 20_000
    line = money_line(axis, 90_000, 120_000, 150_000, 100_000, 95_000)
    assert "l7 5l-7 5" in line.dim, "an open end says that it goes on"


def test_an_empty_bench_still_has_an_axis() -> None:
    assert axis_for([], 392).top > 0


@given(AMOUNTS, AMOUNTS)
def test_more_money_never_lies_further_left(a: float, b: float) -> None:
    axis = axis_for([25_000], 392)
    assert axis.at(min(a, b)) <= axis.at(max(a, b))


@given(st.lists(AMOUNTS, min_size=5, max_size=5))
def test_marks_and_their_figures_stay_within_the_drawing(amounts: list[float]) -> None:
    low, middle, high = sorted(amounts[:3])
    axis = axis_for([25_000], 392)
    line = money_line(axis, low, middle, high, amounts[3], amounts[4])
    for text in (line.ceiling_text, line.price_text):
        assert text is not None
        width = 8 * len(text.text)
        left = text.x if text.anchor == "start" else text.x - width
        assert left >= 0
        assert left + width <= 392
    numbers = [float(n) for n in re.findall(r"[MH](-?[\d.]+)", line.dim)]
    assert all(-8 <= n <= 400 for n in numbers)
