"""Figures and lines as they are read: rounding, words for chances, and characters that stand where the value is."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from weldworth.report.numbers import hundred, in_100, money, of_area, shares_of, ticks
from weldworth.report.strokes import DRAWN, PLAIN, condition_bar, dimension_line, place, strokes_for

CHANCES = st.lists(st.floats(0.001, 1), min_size=6, max_size=6).map(lambda x: [v / sum(x) for v in x])


@given(CHANCES, st.integers(1, 60))
def test_a_bar_of_six_is_as_long_as_asked_and_no_share_is_off_by_more_than_one(chances: list[float], width: int) -> None:
    counts = shares_of(chances, width)
    assert sum(counts) == width == len(condition_bar(chances, PLAIN, width))
    assert all(abs(count - chance * width) < 1 for count, chance in zip(counts, chances, strict=True))


@given(st.floats(0, 1))
@example(0.005)
@example(0.995)
def test_no_chance_is_shown_as_none_or_as_certain_unless_it_is(chance: float) -> None:
    if 0 < chance < 1:
        assert hundred(chance) not in ("0", "100")
    assert in_100(chance).endswith(" in 100")


@given(st.floats(0, 100))
@example(0.049)
@example(5e-324)
def test_a_little_rust_is_never_shown_as_none(percent: float) -> None:
    assert (of_area(percent) in ("0 %", "0.0 %")) == (percent == 0)


@given(st.floats(1, 1e7))
def test_an_axis_reaches_its_highest_value_in_a_few_round_steps(high: float) -> None:
    marks = ticks(high)
    assert marks[0] == 0 and marks[-1] >= high * (1 - 1e-9) and 2 <= len(marks) <= 7
    assert marks[-2] < high


@given(st.floats(-1e6, 1e6))
def test_money_is_rounded_to_ten_and_carries_a_true_minus(amount: float) -> None:
    text = money(amount)
    assert "-" not in text and abs(float(text.replace(",", "").replace("\u2212", "-")) - amount) <= 5


@given(st.floats(0, 100), st.floats(0, 100), st.floats(0, 100))
def test_a_dimension_line_ends_at_its_limits(a: float, b: float, c: float) -> None:
    low, middle, high = sorted((a, b, c))
    line = dimension_line(low, middle, high, 100.0, PLAIN, 50)
    assert len(line) == 50 and line[place(low, 100.0, 50)] == line[place(high, 100.0, 50)] == PLAIN.end
    assert len(line.strip()) == place(high, 100.0, 50) - place(low, 100.0, 50) + 1


@pytest.mark.parametrize(
    ("encoding", "drawn"), [("utf-8", True), ("ascii", False), ("latin-1", False), (None, False), ("no-such", False)]
)
def test_drawn_characters_are_used_only_where_the_encoding_has_them(encoding: str | None, drawn: bool) -> None:
    assert strokes_for(encoding) is (DRAWN if drawn else PLAIN)
