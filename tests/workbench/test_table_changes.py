"""Tables as cells: what stays as it is, what belongs together, what is refused."""

from __future__ import annotations

import pytest

from weldworth.core.errors import NotFound
from weldworth.tables import load_tables
from weldworth.tables.load import SHIPPED
from weldworth.workbench.table_changes import check_cells, flat, paired, read_cells, told, with_row

TEXT = 'name,value,basis,source,as_of\nfirst,1,guess,"common practice, no source",2026-11\nsecond,2,guess,none,2026-11\n'
NAMES = sorted(str(path.relative_to(SHIPPED)) for path in SHIPPED.glob("*.csv"))


@pytest.mark.parametrize("name", NAMES)
def test_a_shipped_table_passes_its_own_check_and_a_row_put_back_changes_nothing(name: str) -> None:
    text = load_tables().path(name).read_text(encoding="utf-8")
    assert check_cells(name, text, text) == []
    rows = read_cells(text)
    same = with_row(text, len(rows), rows[-1])
    assert read_cells(same) == rows
    assert same.splitlines()[:-1] == text.splitlines()[:-1], "all other lines stay byte for byte"
    assert told(name, text, same) == []


def test_a_row_is_changed_added_and_taken_out_and_no_other_with_it() -> None:
    changed = with_row(TEXT, 3, ["second", "5", "measured", "own book", "2026-12"])
    assert changed.splitlines()[1] == TEXT.splitlines()[1]
    assert told("x.csv", TEXT, changed) == [
        "second: value 5, before 2",
        "second: basis measured, before guess",
        "second: source own book, before none",
        "second: as of 2026-12, before 2026-11",
    ]
    longer = with_row(changed, 4, ["third", "3", "guess", "a, b", "2026-12"])
    assert read_cells(longer)[3][3] == "a, b"
    assert told("x.csv", changed, longer) == ["third: added"]
    assert told("x.csv", longer, with_row(longer, 2, None)) == ["first: taken out"]
    with pytest.raises(NotFound):
        with_row(TEXT, 9, None)


def test_rows_belong_together_by_what_tells_them_apart() -> None:
    old = [["a", "1", "x"], ["a", "2", "y"], ["b", "1", "z"]]
    new = [["a", "1", "x"], ["b", "1", "w"], ["b", "2", "v"]]
    found = [(pair.number, pair.cells, pair.was) for pair in paired(old, new)]
    assert found == [
        (2, ("a", "1", "x"), ("a", "1", "x")),
        (None, ("a", "2", "y"), ("a", "2", "y")),
        (3, ("b", "1", "w"), ("b", "1", "z")),
        (4, ("b", "2", "v"), None),
    ]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("second,two,guess,none,2026-11", "value is 'two'; give a number"),
        ("second,inf,guess,none,2026-11", "value is 'inf'; give a number"),
        ("second,2,hearsay,none,2026-11", "basis is 'hearsay'; give one of measured"),
        ("second,2,guess,,2026-11", "source is empty"),
        ("second,2,guess,none,", "as_of is empty"),
        ("second,2,guess,none,2026-11,more", "has 6 cells for 5 columns"),
    ],
)
def test_a_row_that_cannot_be_is_refused_by_line_and_column(line: str, words: str) -> None:
    changed = TEXT.splitlines()[0] + "\n" + TEXT.splitlines()[1] + "\n" + line + "\n"
    problems = check_cells("x.csv", changed, TEXT)
    assert [(problem.where, words in problem.text) for problem in problems] == [("x.csv line 3", True)]


def test_other_columns_are_refused() -> None:
    assert "must be name,value" in check_cells("x.csv", TEXT.replace("value", "worth"), TEXT)[0].text


def test_values_of_a_plan_are_told_by_their_place() -> None:
    text = load_tables().path("plans/pickup.toml").read_text(encoding="utf-8")
    changed = text.replace("vulnerability = 1.6", "vulnerability = 1.7", 1)
    assert told("plans/pickup.toml", text, changed) == ["zone pu.frame.horn.vulnerability: 1.7, before 1.6"]
    assert flat(text)["zone pu.frame.horn.thickness_mm"] == "3.0, 4.5"
