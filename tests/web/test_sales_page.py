"""Comparable sales on the pages: a spreadsheet taken in with its headings matched, shown, and changed."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import date
from html import unescape

import openpyxl
import pytest
from visiting import Visitor

from weldworth.core.errors import BadInput
from weldworth.web.sheets import leaves_of
from weldworth.workbench.desk import Desk

HEADINGS = ["Vehicle", "Date sold", "Odo", "Finish", "Hammer price"]
MANIFEST = """<?xml version="1.0"?>
<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.3">
<manifest:file-entry manifest:full-path="/" manifest:media-type="application/vnd.oasis.opendocument.spreadsheet"/>
<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>"""
BOOK: list[list[object]] = [
    HEADINGS,
    ["Corrow Nine", date(2026, 3, 14), 61000, "driver", 14500.0],
    ["Corrow Nine", date(2025, 11, 2), 88000.0, "tidy", 12800],
    ["Corrow Nine", date(2026, 6, 21), 42000, "driver", 16200],
    ["Corrow Nine", date(2025, 8, 30), None, "", 15100],
]


def workbook(rows: list[list[object]], more: list[list[object]] | None = None) -> bytes:
    """A workbook as openpyxl writes it."""
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    if more is not None:
        leaf = book.create_sheet("Other")
        for row in more:
            leaf.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def open_document(rows: list[list[object]]) -> bytes:
    """The least that is a spreadsheet by OASIS OpenDocument 1.3, parts 2 (packages) and 3 (schema)."""
    out = io.BytesIO()
    names = " ".join(f'xmlns:{p}="urn:oasis:names:tc:opendocument:xmlns:{p}:1.0"' for p in ("office", "table", "text"))

    def cell(value: object) -> str:
        if isinstance(value, date):
            return f'<table:table-cell office:value-type="date" office:date-value="{value}"/>'
        if isinstance(value, int | float):
            return f'<table:table-cell office:value-type="float" office:value="{value}"/>'
        return f'<table:table-cell office:value-type="string"><text:p>{value or ""}</text:p></table:table-cell>'

    body = "".join(f"<table:table-row>{''.join(map(cell, row))}</table:table-row>" for row in rows)
    content = (
        f'<?xml version="1.0"?><office:document-content {names} office:version="1.3"><office:body><office:spreadsheet>'
        f'<table:table table:name="Sold">{body}</table:table></office:spreadsheet></office:body></office:document-content>'
    )
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        packed.writestr("content.xml", content)
        packed.writestr("META-INF/manifest.xml", MANIFEST)
    return out.getvalue()


@pytest.fixture
def id(desk: Desk) -> str:
    owner = desk.people.owner().id
    return desk.open_candidate("Corrow Nine", "coupe", owner, model_year=1968, odometer=60000, odometer_unit="mi")


def form_of(page: str) -> dict[str, str]:
    """What the matching form holds as it comes."""
    form = page.partition('id="match"')[2]
    found = {}
    for name, options in re.findall(r'<select id="[^"]*" name="([^"]*)">(.*?)</select>', form):
        chosen = re.search(r'<option value="([^"]*)" selected', options)
        found[name] = chosen[1] if chosen else ""
    for name, value in re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', form):
        found[name] = unescape(value)
    for name, text in re.findall(r'<textarea name="([^"]*)" hidden>\n(.*?)</textarea>', form, re.DOTALL):
        found[name] = unescape(text)
    return found


def sent(visitor: Visitor, id: str, name: str, content: bytes) -> str:
    answer = visitor.submit(f"/c/{id}/money/sales/upload", files={"file": (name, content)})
    return str(answer.text)


@pytest.mark.parametrize("kind", ["xlsx", "ods", "csv"])
def test_a_book_of_sales_is_read_whatever_program_wrote_it(visitor: Visitor, desk: Desk, id: str, kind: str) -> None:
    lines = "\n".join(";".join("" if cell is None else str(cell) for cell in row) for row in BOOK)
    content = {"xlsx": workbook(BOOK), "ods": open_document(BOOK), "csv": lines.encode("utf-16")}[kind]
    fields = form_of(sent(visitor, id, f"sold.{kind}", content))
    assert [fields[f"column.{n}"] for n in range(5)] == ["name", "sold_on", "mileage", "state", "price"]
    assert "state.0" in fields, "'driver' is no word for a state here"
    assert desk.candidate(id).dossier.comparables is None, "nothing is recorded before it is looked over"
    answer = visitor.submit(f"/c/{id}/money/sales/match", {**fields, "state.0": "tidy"})
    assert answer.status_code == 303, answer.text
    page = visitor.page(answer.headers["location"])
    for words in ("Corrow Nine", "14 Mar 2026", "14,500", "61,000", "30 Aug 2025"):
        assert words in page
    entry = desk.candidate(id).entries[-1]
    assert (entry.body["file"], entry.body["columns"]["Odo"]) == (f"sold.{kind}", "mileage")


def test_the_next_book_with_the_same_headings_is_matched_as_the_last_one_was(visitor: Visitor, desk: Desk, id: str) -> None:
    rows = [["Car", "Final"], ["Corrow", 100], ["Corrow", 200], ["Corrow", 300]]
    fields = form_of(sent(visitor, id, "a.xlsx", workbook(rows)))
    assert fields["column.1"] == ""
    visitor.submit(f"/c/{id}/money/sales/match", {**fields, "column.1": "price", "column.0": "note"})
    other = desk.open_candidate("Tarrick", "van", desk.people.owner().id)
    again = form_of(sent(visitor, other, "b.xlsx", workbook(rows)))
    assert (again["column.0"], again["column.1"]) == ("note", "price")


def test_what_cannot_be_read_is_named_by_row_and_heading_and_may_be_left_out(visitor: Visitor, desk: Desk, id: str) -> None:
    rows = [*BOOK, ["Corrow Nine", "some day", "abt 60", "tidy", 9000]]
    fields = form_of(sent(visitor, id, "sold.xlsx", workbook(rows)))
    answer = visitor.submit(f"/c/{id}/money/sales/match", {**fields, "state.0": "tidy"})
    assert answer.status_code == 422
    assert "row 6, Odo" in answer.text and "row 6, Date sold" in answer.text
    assert form_of(answer.text)["state.0"] == "tidy", "what was chosen is kept"
    visitor.submit(f"/c/{id}/money/sales/match", {**fields, "state.0": "tidy", "leave": "rows"})
    entry = desk.candidate(id).entries[-1]
    assert (entry.kind, entry.body["note"]) == ("comparables", "rows 6 left out")


def test_another_leaf_of_a_workbook_can_be_read_instead(visitor: Visitor, id: str) -> None:
    page = sent(visitor, id, "two.xlsx", workbook([["Price", "Odo"], [1, 2]], BOOK))
    assert "two.xlsx, Other" in page, "the leaf with the most headings known goes first"
    answer = visitor.submit(f"/c/{id}/money/sales/upload", {**form_of(page), "turn": "Sheet"})
    assert "two.xlsx, Sheet" in answer.text


def test_a_sale_lying_apart_is_explained_and_can_be_taken_out_and_added(visitor: Visitor, desk: Desk, id: str) -> None:
    prices = [14500, 14000, 15000, 14700, 14300, 2000]
    text = "price,name\n" + "".join(f"{price},Corrow {n}\n" for n, price in enumerate(prices))
    desk.record(id, "comparables", {"text": text}, desk.people.owner().id)
    page = visitor.page(f"/c/{id}/money/sales")
    assert page.count("Lies apart") == 1 and "take it out" in page
    answer = visitor.submit(f"/c/{id}/money/sales/out", {"line": "7"})
    assert answer.status_code == 303
    assert "Lies apart" not in visitor.page(f"/c/{id}/money/sales")
    visitor.submit(f"/c/{id}/money/sales/add", {"price": "14,900", "mileage": "61000", "sold_on": "2026-10-01"})
    assert "14,900" in visitor.page(f"/c/{id}/money/sales")
    refused = visitor.submit(f"/c/{id}/money/sales/add", {"price": "much"})
    assert refused.status_code == 422 and 'id="price-wrong"' in refused.text and 'value="much"' in refused.text


def test_sales_that_somebody_changed_meanwhile_are_not_written_over(visitor: Visitor, desk: Desk, id: str) -> None:
    before = desk.candidate(id).revision
    text = "price\n100\n200\n300\n"
    desk.record(id, "comparables", {"text": text}, desk.people.owner().id)
    answer = visitor.submit(f"/c/{id}/money/sales/none", {"revision": str(before)})
    assert answer.status_code == 409
    assert desk.candidate(id).dossier.comparables == text.strip()


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.xlsx", b"", "is empty"),
        ("a.xlsx", b"not a workbook", "cannot be read"),
        ("a.ods", workbook(BOOK)[:900], "cannot be read"),
        ("a.pdf", b"%PDF-1.7", "of a kind that is not read here"),
        ("a.csv", b"\n\n", "holds no table"),
        ("a.csv", b"x" * 10_000_001, "10 MB are the most"),
    ],
)
def test_a_file_that_is_no_book_of_sales_is_refused(visitor: Visitor, id: str, name: str, content: bytes, words: str) -> None:
    answer = visitor.submit(f"/c/{id}/money/sales/upload", files={"file": (name, content)})
    assert answer.status_code == 422
    assert words in unescape(answer.text) and 'id="table-wrong"' in answer.text


def test_a_workbook_that_unpacks_to_far_more_is_refused_before_it_is_read() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * 101_000_000)
    with pytest.raises(BadInput, match="unpacks to 101 MB"):
        leaves_of("bomb.xlsx", out.getvalue())


def test_nothing_sent_says_so(visitor: Visitor, id: str) -> None:
    answer = visitor.submit(f"/c/{id}/money/sales/upload", {"pasted": "  "})
    assert answer.status_code == 422 and "choose a file" in answer.text
