"""Sales from a table of the shop's own: what its headings mean, and what of it is refused, by row and heading."""

from __future__ import annotations

from datetime import date

import pytest

from weldworth.ceiling.columns import Matching, Sheet, guess, heading_words, sheet_of, taken
from weldworth.ceiling.comparables import COLUMNS, read_comparables
from weldworth.ceiling.resale import resale_tables
from weldworth.core.errors import BadInput
from weldworth.tables import load_tables

TABLES = load_tables()
WORDS, STATES, TODAY = heading_words(TABLES), resale_tables(TABLES).states, date(2026, 11, 25)
BOOK = [
    ["My book of sales", "", ""],
    ["", "", ""],
    ["Vehicle", "Date sold", "Odo", "Hammer price ($)", "Finish", "Colour"],
    ["Ostrel 60", "5/31/24", "61,000 mi", "$14,500", "driver", "red"],
    ["Ostrel 60", "Mar 14, 2026", "88k", "12800", "tidy", ""],
    ["Ostrel 61", "2025-08-30", "", "16200", "", "blue"],
    ["Ostrel 60", "6/2/25", "40000", "15000", "driver", "blue"],
]


def a_sheet(rows: list[list[str]] | None = None) -> Sheet:
    return sheet_of("book.xlsx", rows or BOOK, WORDS)


def a_matching(sheet: Sheet, before: Matching | None = None) -> Matching:
    return guess(sheet, WORDS, before or Matching({}), STATES)


def test_headings_are_known_by_name_below_a_title() -> None:
    sheet = a_sheet()
    assert sheet.first == 4, "the first sale stands in row 4 of the shop's own table"
    assert a_matching(sheet).columns == {
        "Vehicle": "name",
        "Date sold": "sold_on",
        "Odo": "mileage",
        "Hammer price ($)": "price",
        "Finish": "state",
        "Colour": "",
    }


def test_every_word_for_a_heading_means_one_column() -> None:
    listed = [word for row in TABLES.rows("comparable_words.csv", ("words", "column")) for word in row.text("words").split(";")]
    assert len(listed) == len(set(listed))
    assert set(WORDS.values()) == set(COLUMNS), "each column has words of its own"


def test_sales_come_out_as_they_went_in() -> None:
    sheet = a_sheet()
    matching = Matching(a_matching(sheet).columns, {"driver": "worn"}, "month-first")
    text, left = taken(sheet, matching, states=STATES, on=TODAY)
    sales = read_comparables(text, "comparables.csv", states=STATES, on=TODAY)
    assert left == []
    assert [sale.price for sale in sales] == [14500, 12800, 16200, 15000]
    assert [sale.sold_on for sale in sales] == [date(2024, 5, 31), date(2026, 3, 14), date(2025, 8, 30), date(2025, 6, 2)]
    assert [sale.mileage for sale in sales] == [61000, 88000, None, 40000]
    assert [sale.state for sale in sales] == ["worn", "tidy", None, "worn"]


def test_one_day_that_can_be_no_month_tells_how_all_dates_are_written() -> None:
    sheet = a_sheet([["Price", "Date"], ["100", "31/5/24"], ["200", "6/5/24"], ["300", "1/2/24"]])
    matching = a_matching(sheet)
    assert matching.dates == "day-first"
    text, _ = taken(sheet, matching, states=STATES, on=TODAY)
    assert "2024-05-06" in text


def test_what_was_matched_before_goes_before_the_name() -> None:
    sheet = a_sheet([["Price", "Paid at last", "Date"], ["100", "90", "2024-01-01"], ["1", "1", ""]])
    before = Matching({"paid at last": "price", "Price": "", "Date": "sold_on"})
    assert a_matching(sheet, before).columns == {"Price": "", "Paid at last": "price", "Date": "sold_on"}


def test_refusals_name_row_and_heading_of_the_shops_own_table() -> None:
    rows = [*BOOK[:4], ["Ostrel 62", "31 of May", "abt 60", "a lot", "driver", ""], *BOOK[4:]]
    sheet = a_sheet(rows)
    with pytest.raises(BadInput) as refused:
        taken(sheet, Matching(a_matching(sheet).columns, {"driver": ""}), states=STATES, on=TODAY)
    told = {problem.where: problem.text for problem in refused.value.problems}
    assert set(told) == {"row 5, Hammer price ($)", "row 5, Odo", "row 5, Date sold"}
    assert "'a lot'" in told["row 5, Hammer price ($)"] and "write it like" in told["row 5, Hammer price ($)"]


def test_rows_that_cannot_be_read_are_left_out_only_when_asked() -> None:
    rows = [*BOOK[:5], ["total", "", "", "", "", ""], *BOOK[5:]]
    sheet = a_sheet(rows)
    matching = Matching(a_matching(sheet).columns, {"driver": ""})
    text, left = taken(sheet, matching, states=STATES, on=TODAY, leave_out=True)
    assert left == [6]
    assert len(read_comparables(text, "comparables.csv", states=STATES, on=TODAY)) == 4


def test_leaving_rows_out_never_leaves_fewer_sales_than_a_line_needs() -> None:
    sheet = a_sheet([["Price"], ["100"], ["200"], ["nothing"]])
    with pytest.raises(BadInput, match="too few"):
        taken(sheet, Matching({"Price": "price"}), states=STATES, on=TODAY, leave_out=True)


@pytest.mark.parametrize(
    ("columns", "words"),
    [
        ({"Price": "", "Odo": ""}, "no heading is matched to the price"),
        ({"Price": "price", "Odo": "price"}, "chosen twice"),
        ({"Price": "price", "Odo": "milage"}, "nearest: 'mileage'"),
    ],
)
def test_a_matching_that_says_nothing_or_too_much_is_refused(columns: dict[str, str], words: str) -> None:
    sheet = a_sheet([["Price", "Odo"], ["100", "5"], ["200", "6"], ["300", "7"]])
    with pytest.raises(BadInput, match=words):
        taken(sheet, Matching(columns), states=STATES, on=TODAY)


def test_headings_without_a_name_or_with_the_same_one_are_told_apart() -> None:
    sheet = a_sheet([["Price", "", "Price"], ["100", "x", "5"], ["200", "y", "6"]])
    assert sheet.headings == ("Price", "column B", "Price (2)")
    assert list(a_matching(sheet).columns.values()).count("price") == 1


@pytest.mark.parametrize(
    ("rows", "words"),
    [([[""]], "holds no table"), ([["Price", "Date"]], "no sale below"), ([["Price", "b"], *[["1", "2"]] * 2001], "2,001 rows")],
)
def test_what_is_no_table_of_sales_is_refused(rows: list[list[str]], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        a_sheet(rows)
