"""Numbers as people type them, and problems beside the field that they are about."""

from __future__ import annotations

import pytest

from weldworth.core.errors import Problem
from weldworth.web.forms import Problems, number_in


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("4700", 4700),
        ("4,700", 4700),
        ("$4,700.50", 4700.5),
        ("1 250", 1250),
        ("20 %", 0.2),
        ("0.2", 0.2),
        ("−300", -300),
        (".5", 0.5),
    ],
)
def test_a_number_is_read_as_people_write_it(text: str, value: float) -> None:
    assert number_in(text) == pytest.approx(value)


@pytest.mark.parametrize("text", ["", "ten", "4,70", "1.2.3", "12e5", "nan", "inf", "--4", "4700 or so"])
def test_what_is_no_number_is_not_guessed_at(text: str) -> None:
    assert number_in(text) is None


def test_a_problem_stands_beside_its_field() -> None:
    problems = Problems(
        (
            Problem("candidate.toml: vehicle", "model_year 19644 is not a year"),
            Problem("name", "is empty"),
            Problem("candidate.toml: sale", "price is given with price_low"),
        ),
        frozenset({"model_year", "name"}),
    )
    assert [p.text for p in problems.at("model_year")] == ["Model year 19644 is not a year"]
    assert [p.text for p in problems.at("name")] == ["is empty"]
    assert [p.text for p in problems.loose] == ["price is given with price_low"]
