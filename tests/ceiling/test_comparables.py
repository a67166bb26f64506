"""The file of comparable sales as people keep it, and its refusals."""

from __future__ import annotations

from datetime import date

import pytest

from weldworth.ceiling.comparables import COLUMNS, REMEDY, read_comparables
from weldworth.core.errors import BadInput

TODAY = date(2026, 6, 1)
STATES = {"worn": -0.25, "tidy": 0.0, "outstanding": 0.35}

KEPT = """price,sold_on,mileage,model_year,state,note
"$18,500",2024-05-31,"92,000",1971,tidy,local
21000,2025-02-10,,1972,Outstanding,

$17.5k,2025-08-03,61000,1970,worn,no papers
"""


def read(text: str) -> list[object]:
    return list(read_comparables(text, "comparables.csv", states=STATES, on=TODAY))


def problems(text: str) -> list[str]:
    with pytest.raises(BadInput) as refusal:
        read(text)
    return [str(problem) for problem in refusal.value.problems]


def test_a_kept_list_is_read_with_signs_commas_and_gaps() -> None:
    sales = read_comparables(KEPT, "comparables.csv", states=STATES, on=TODAY)
    assert [sale.price for sale in sales] == [18_500, 21_000, 17_500]
    assert [sale.mileage for sale in sales] == [92_000, None, 61_000]
    assert [sale.state for sale in sales] == ["tidy", "outstanding", "worn"]
    assert sales[0].sold_on == date(2024, 5, 31) and sales[2].model_year == 1970
    assert [sale.where for sale in sales] == ["comparables.csv line 2", "comparables.csv line 3", "comparables.csv line 5"]


def test_kilometers_become_miles() -> None:
    # International mile: 1.609344 km exactly.
    sales = read_comparables("price,kilometers\n1,160934.4\n2,0\n3,1.609344\n", "c.csv", states=STATES, on=TODAY)
    assert [sale.mileage for sale in sales] == pytest.approx([100_000, 0, 1])


@pytest.mark.parametrize("parting", [";", "\t"])
def test_a_sheet_saved_with_other_separators_is_read_too(parting: str) -> None:
    text = "\ufeffprice,model_year\n18500,1971\n21000,1972\n17500,1970\n".replace(",", parting)
    assert [sale.price for sale in read_comparables(text, "c.csv", states=STATES, on=TODAY)] == [18_500, 21_000, 17_500]


def test_an_unknown_column_is_named_with_the_nearest() -> None:
    assert problems("prise,milage\n1,2\n") == [
        "comparables.csv line 1: column 'prise' is not known here; nearest: 'price'",
        "comparables.csv line 1: column 'milage' is not known here; nearest: 'mileage'",
    ]


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("", "is empty"),
        ("mileage\n1\n", "column 'price' is missing"),
        ("price,price\n1,1\n", "there twice"),
        ("price,mileage,kilometers\n1,2,3\n", "keep one of them"),
    ],
)
def test_a_heading_that_cannot_be_used_is_refused(text: str, named: str) -> None:
    assert any(named in problem for problem in problems(text))


@pytest.mark.parametrize("count", [1, 2])
def test_a_sale_or_two_are_refused_with_the_remedy(count: int) -> None:
    (problem,) = problems("price\n" + "18500\n" * count)
    assert REMEDY in problem and ("a single sale" in problem) == (count == 1)
    assert "no sale" in problems("price\n")[0]


def test_every_bad_line_is_named_with_its_number_in_one_go() -> None:
    found = problems(
        "price,sold_on,mileage,model_year,state\n"
        "cheap,2024-05-31,1,1971,tidy\n"
        "-500,,,,\n"
        ",,,,\n"
        "0,,,,\n"
        "18500,31.5.2024,many,71,tidyy\n"
        "18500,2027-01-01,,2050,\n"
        "18,500,2024-01-01,1,1971,tidy\n"
        ",2024-01-01,,,\n"
    )
    for line, named in [
        (2, "'cheap' is not an amount"),
        (3, "'-500' is not an amount"),
        (5, "give an amount above 0"),
        (6, "write the date like"),
        (6, "'many' is not an amount"),
        (6, "model_year is '71'"),
        (6, "nearest: 'tidy'"),
        (7, "after 2026-06-01"),
        (7, "model_year is '2050'"),
        (8, "quotation marks"),
        (9, "price is empty"),
    ]:
        assert any(problem.startswith(f"comparables.csv line {line}:") and named in problem for problem in found), (line, named)
    assert len(found) == 11


def test_two_currencies_in_one_list_are_refused() -> None:
    assert "one currency" in problems("price\n$18500\n€21000\n17500\n")[0]


def test_the_columns_that_the_docs_promise_are_all_read() -> None:
    line = {"price": "1", "sold_on": "2024-01-01", "mileage": "1", "model_year": "1970", "state": "tidy"}
    header = [column for column in COLUMNS if column != "kilometers"]
    row = ",".join(line.get(column, "x") for column in header)
    assert len(read(",".join(header) + f"\n{row}\n{row}\n{row}\n")) == 3
