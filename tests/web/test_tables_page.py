"""Tables changed on the pages: row by row, as text, and back; each change a version, each refusal where it was typed."""

from __future__ import annotations

import csv
from html import unescape
from typing import Any

import pytest
from visiting import Visit, Visitor

from weldworth.web.settings import Settings
from weldworth.workbench.desk import Desk

PAGE = "/shop/tables/attention.csv"


def row_of(desk: Desk, name: str, first: str) -> tuple[int, dict[str, str]]:
    """Line and cells of the row that begins with `first`, as the form would send them."""
    lines = desk.shop.table_text(name).splitlines()
    number = next(i for i, line in enumerate(lines, start=1) if line.startswith(first + ","))
    rows = list(csv.reader(lines))
    return number, {f"cell.{column}": cell for column, cell in zip(rows[0], rows[number - 1], strict=True)}


def changed(visitor: Visitor, desk: Desk, first: str, name: str = "attention.csv", **cells: str) -> Any:
    number, fields = row_of(desk, name, first)
    fields |= {f"cell.{column}": text for column, text in cells.items()}
    given = {**fields, "line": str(number), "what": "row", "version": str(desk.shop.table_number()), "note": "slower here"}
    return visitor.submit(f"/shop/tables/{name}", given, of="/shop")


def test_a_changed_row_is_a_version_beside_the_shipped_one(visitor: Visitor, desk: Desk) -> None:
    answer = changed(visitor, desk, "half_days", value="5", basis="measured", source="own diary of a year")
    assert answer.status_code == 303, answer.text
    page = unescape(visitor.page(PAGE))
    assert "shipped 3" in page and "slower here" in page and "half_days: value 5, before 3" in page
    assert "1 not as shipped" in page
    assert "the shop’s own" in visitor.page("/shop")
    version = desk.shop.versions_of_tables()[-1]
    assert (version.name, version.note, version.by) == ("attention.csv", "slower here", desk.people.owner().id)


def test_a_changed_number_moves_what_rests_on_it(visitor: Visitor, desk: Desk) -> None:
    visitor.submit("/demo")
    id = desk.candidates()[0].id
    before = desk.weighing(id).bill.mean
    for first in ("frame.treat", "frame.plate", "frame.section"):
        number, fields = row_of(desk, "operations.csv", first)
        more = {f"cell.hours_{part}": str(4 * float(fields[f"cell.hours_{part}"])) for part in ("low", "likely", "high")}
        answer = visitor.submit(
            "/shop/tables/operations.csv", {**fields, **more, "line": str(number), "what": "row", "version": ""}, of="/shop"
        )
        assert answer.status_code == 303, answer.text
    assert desk.weighing(id).bill.mean > before
    assert desk.candidates()[0].fresh


@pytest.mark.parametrize(
    ("cells", "field", "words"),
    [
        ({"value": "soon"}, "value", "Value is 'soon'; give a number"),
        ({"value": ""}, "value", "Value is ''; give a number"),
        ({"basis": "hearsay"}, "basis", "Basis is 'hearsay'"),
        ({"source": ""}, "source", "Source is empty"),
    ],
)
def test_a_cell_that_cannot_be_is_refused_beside_it_and_kept_as_typed(
    visitor: Visitor, desk: Desk, cells: dict[str, str], field: str, words: str
) -> None:
    answer = changed(visitor, desk, "half_days", **cells)
    assert answer.status_code == 422
    text = unescape(answer.text)
    assert f'id="cell.{field}-wrong"' in text and words in text
    assert 'value="slower here"' in text, "the reason is kept too"
    assert desk.shop.versions_of_tables() == []


def test_what_breaks_a_rule_between_rows_is_told_and_nothing_is_kept(visitor: Visitor, desk: Desk) -> None:
    answer = changed(visitor, desk, "original-paint", "signs.csv", sound="1.4")
    assert answer.status_code == 422
    assert "signs.csv" in answer.text or "cell.sound-wrong" in answer.text
    assert desk.shop.versions_of_tables() == []


def test_rows_are_added_and_taken_out(visitor: Visitor, desk: Desk) -> None:
    given = {
        "cell.words": "Bought for",
        "cell.column": "price",
        "cell.basis": "quoted",
        "cell.source": "own book",
        "cell.as_of": "2026-11",
    }
    name = "/shop/tables/comparable_words.csv"
    answer = visitor.submit(name, {**given, "line": "new", "what": "row", "version": "0"}, of="/shop")
    assert answer.status_code == 303, answer.text
    number, _ = row_of(desk, "comparable_words.csv", "Bought for")
    assert "Bought for: added" in unescape(visitor.page(name))
    visitor.submit(name, {"line": str(number), "what": "out", "version": "1"}, of="/shop")
    assert desk.shop.table_text("comparable_words.csv") == desk.shop.shipped_text("comparable_words.csv")
    assert desk.shop.own_tables() == frozenset(), "the very text of the shipped table is the shipped table"


def test_a_table_goes_back_to_an_earlier_version_and_to_the_shipped_one(visitor: Visitor, desk: Desk) -> None:
    changed(visitor, desk, "half_days", value="5")
    changed(visitor, desk, "half_days", value="7")
    assert "shipped 3" in unescape(visitor.page(PAGE + "?at=1"))
    visitor.submit(PAGE, {"what": "back", "to": "1", "version": "2"}, of="/shop")
    assert "half_days,5" in desk.shop.table_text("attention.csv")
    visitor.submit(PAGE, {"what": "back", "to": "0", "version": "3"}, of="/shop")
    assert desk.shop.table_text("attention.csv") == desk.shop.shipped_text("attention.csv")
    assert [version.number for version in desk.shop.versions_of_tables()] == [1, 2, 3, 4], "nothing is lost"
    assert visitor.page(PAGE + "?at=9", 404)


def test_a_plan_is_changed_as_text_and_refused_by_its_place(visitor: Visitor, desk: Desk) -> None:
    name, text = "/shop/tables/plans/pickup.toml", desk.shop.table_text("plans/pickup.toml")
    good = text.replace("vulnerability = 1.6", "vulnerability = 1.7", 1)
    bad = text.replace("vulnerability = 1.6", "vulnerability = -1", 1)
    answer = visitor.submit(name, {"what": "text", "text": bad, "version": "0"}, of="/shop")
    assert answer.status_code == 422 and "vulnerability" in answer.text
    assert "vulnerability = -1" in unescape(answer.text), "what was typed is kept"
    answer = visitor.submit(name, {"what": "text", "text": good, "version": "0"}, of="/shop")
    assert answer.status_code == 303, answer.text
    assert "zone pu.frame.horn.vulnerability: 1.7, before 1.6" in unescape(visitor.page(name))


def test_a_table_taken_as_a_file_comes_back_from_a_file(visitor: Visitor, desk: Desk) -> None:
    text = visitor.get(PAGE + "?text=file").text
    assert text == desk.shop.table_text("attention.csv")
    mended = text.replace("half_days,3", "half_days,4").encode()
    visitor.submit(PAGE, {"what": "text", "version": "0"}, of="/shop", files={"file": ("attention.csv", mended)})
    assert "half_days,4" in desk.shop.table_text("attention.csv")
    answer = visitor.submit(PAGE, {"what": "text", "version": "1"}, of="/shop", files={"file": ("a.csv", b"\xff\xfe\x00")})
    assert answer.status_code == 422 and "UTF-8" in answer.text


def test_two_who_change_tables_at_once_are_told(visitor: Visitor, desk: Desk) -> None:
    number, fields = row_of(desk, "attention.csv", "half_days")
    sent = {**fields, "line": str(number), "what": "row", "version": "0"}
    visitor.submit(PAGE, {**sent, "cell.value": "5"}, of="/shop")
    answer = visitor.submit(PAGE, {**sent, "cell.value": "9"}, of="/shop")
    assert answer.status_code == 409 and 'value="9"' in answer.text
    assert "half_days,5" in desk.shop.table_text("attention.csv")


def test_only_an_owner_changes_a_table(visit: Visit, desk: Desk) -> None:
    desk.people.owner("R. Quillan")
    partner = desk.people.add("J. Osk", "partner", "$argon2id$kept")
    visitor = visit(Settings(open_door=False, hosts=frozenset()))
    visitor.cookies.set("weldworth_session", desk.people.begin_session(partner.id, "a phone"))
    page = visitor.page(PAGE)
    assert "Add a row" not in page and "?line=" not in page
    answer = visitor.submit(PAGE, {"what": "back", "to": "0", "version": "0"}, of="/shop")
    assert answer.status_code == 403
