"""Comparable sales of a candidate: plotted, in a table, and taken in from a spreadsheet of the shop with its headings matched."""

from __future__ import annotations

import csv
import io
from dataclasses import asdict
from pathlib import PurePosixPath

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.ceiling.columns import (
    ORDERS,
    Matching,
    Sheet,
    dates_in_figures,
    guess,
    heading_words,
    plain,
    sheet_of,
    spoken,
    strange_states,
    taken,
)
from weldworth.ceiling.comparables import COLUMNS
from weldworth.ceiling.resale import resale_tables
from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.web.forms import Posted, Problems, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.candidate import candidate_page
from weldworth.web.pages.sales_plot import plot, rows_of
from weldworth.web.sheets import leaves_of, text_cells
from weldworth.workbench.deal import compared_sales
from weldworth.workbench.desk import Desk

router = APIRouter()
MOST_LEAVES = 6
ADDED = ("price", "sold_on", "mileage", "model_year", "state", "name")
DATES = {"month-first": "month first: 5/31/2024", "day-first": "day first: 31/5/2024"}
FILE = "comparables.csv"


def sales_page(request: Request, desk: Desk, id: str, by: str = "", status: int = 200, **values: object) -> Response:
    """The sales as they stand: plot, table, and the ways to change them."""
    view, tables, today = desk.candidate(id), desk.tables(), desk.clock.today()
    found, resale = compared_sales(view.dossier, tables, today)
    shared: dict[str, object] = {
        "view": view,
        "plot": plot(found, resale, by, view.dossier.vehicle.name) if found and resale else None,
        "rows": rows_of(found) if found else (),
        "resale": resale,
        "states": [(state, state.capitalize()) for state in resale_tables(tables).states],
        "typed": dict.fromkeys(ADDED, ""),
        "pasted": "",
    }
    return candidate_page(request, desk, id, "Money", "sales.html", status, **(shared | values))  # type: ignore[arg-type]


def match_page(
    request: Request,
    desk: Desk,
    id: str,
    sheet: Sheet,
    matching: Matching,
    source: str,
    cells: str,
    others: list[tuple[str, str]],
    problems: Problems | None = None,
) -> Response:
    """What the headings of a sent table mean, to be looked over before anything is recorded."""
    states = resale_tables(desk.tables()).states
    figures, told = dates_in_figures(sheet, matching.columns)
    return candidate_page(
        request,
        desk,
        id,
        "Money",
        "sales_match.html",
        422 if problems and problems.all else 200,
        view=desk.candidate(id),
        sheet=sheet,
        matching=matching,
        headings=[
            (number, heading, matching.columns[heading], sheet.values(number)) for number, heading in enumerate(sheet.headings)
        ],
        columns=[(column, spoken(column).capitalize()) for column in COLUMNS],
        strange=[(n, word, matching.states.get(word, "")) for n, word in enumerate(_strange(sheet, matching, states))],
        states=[(state, state.capitalize()) for state in states],
        dates=list(DATES.items()),
        figures=figures,
        ask_dates=not told,
        source=source,
        cells=cells,
        others=others,
        count=sum(any(row) for row in sheet.rows),
        may_leave=bool(problems and any(problem.where.startswith("row ") for problem in problems.all)),
        problems=problems or Problems(()),
    )


def _strange(sheet: Sheet, matching: Matching, states: object) -> list[str]:
    return strange_states(sheet, matching.columns, states)[:20]  # type: ignore[arg-type]


@router.get("/c/{id}/money/sales")
def shown(request: Request, id: str, desk: TheDesk, person: Known, by: str = "") -> Response:
    """The comparable sales; ?by= chooses what the price is plotted against."""
    return sales_page(request, desk, id, by)


@router.post("/c/{id}/money/sales/upload")
def sent(request: Request, id: str, desk: TheDesk, person: Known) -> Response:
    """A table sent as a file or pasted, or another leaf of it: what its headings mean is guessed, nothing is recorded yet."""
    desk.candidate(id)
    posted = Posted(request.state.form)
    try:
        source, leaves = _leaves(posted)
        words = heading_words(desk.tables())
        sheets = _sheets(leaves, words)
        turn = posted.text("turn")
        name = turn if turn in sheets else max(sheets, key=lambda leaf: _known(sheets[leaf], words))
    except BadInput as error:
        problems = problems_for(BadInput([Problem("table", str(p)) for p in error.problems]), ("table",))
        return sales_page(request, desk, id, status=422, problems=problems, pasted=posted.text("pasted"))
    matching = guess(sheets[name], words, desk.matched_before(), resale_tables(desk.tables()).states)
    others = [(leaf, _as_text(leaves[leaf])) for leaf in sheets if leaf != name]
    return match_page(request, desk, id, sheets[name], matching, source, _as_text(leaves[name]), others)


@router.post("/c/{id}/money/sales/match")
def matched(request: Request, id: str, desk: TheDesk, person: Known) -> Response:
    """Take the sales in as matched, or say what is wrong by row and heading."""
    posted = Posted(request.state.form)
    source, name = posted.text("source") or "a table", posted.text("name")
    cells = str(request.state.form.get("cells", ""))
    others = [
        (leaf, str(request.state.form.get(f"other.{n}.cells", ""))) for n, leaf in enumerate(posted.texts("other")[:MOST_LEAVES])
    ]
    states = resale_tables(desk.tables()).states
    sheet = sheet_of(name or source, text_cells(cells), heading_words(desk.tables()))
    columns = {heading: posted.text(f"column.{n}") for n, heading in enumerate(sheet.headings)}
    matching = Matching(columns, dates=posted.text("dates") or ORDERS[0])
    told = {word: posted.text(f"state.{n}") for n, word in enumerate(_strange(sheet, matching, states))}
    asked = any(f"state.{n}" in request.state.form for n in range(len(told)))
    matching = Matching(columns, told if asked else {}, matching.dates)
    try:
        text, left = taken(sheet, matching, states=states, on=desk.clock.today(), leave_out=posted.text("leave") == "rows")
        number = posted.text("revision")
        note = f"rows {', '.join(map(str, left))} left out" if left else ""
        body = {"text": text, "file": source, "note": note, **asdict(matching)}
        desk.record(id, "comparables", body, person.id, int(number) if number.isdigit() else None)
    except BadInput as error:
        problems = problems_for(error, ("dates", *(f"column.{n}" for n in range(len(columns)))))
        if not asked:
            matching = Matching(columns, desk.matched_before().states, matching.dates)
        return match_page(request, desk, id, sheet, matching, source, cells, others, problems)
    return RedirectResponse(f"/c/{id}/money/sales", 303)


@router.post("/c/{id}/money/sales/{what}")
def changed(request: Request, id: str, what: str, desk: TheDesk, person: Known) -> Response:
    """Add one sale, take one out, or take them all away."""
    posted = Posted(request.state.form)
    text = desk.candidate(id).dossier.comparables or ""
    number = posted.text("revision")
    try:
        if what == "add":
            changed_to = _with(text, posted)
        elif what == "out" and posted.text("line").isdigit():
            changed_to = _without(text, int(posted.text("line")))
        elif what == "none":
            changed_to = ""
        else:
            raise NotFound(f"nothing is recorded at {what!r}")
        desk.record(id, "comparables", {"text": changed_to}, person.id, int(number) if number.isdigit() else None)
    except BadInput as error:
        named = [Problem(next((f for f in ADDED if f" {f} " in f" {p.text} "), ""), _after(p.text)) for p in error.problems]
        problems = problems_for(BadInput(named), ADDED)
        return sales_page(request, desk, id, status=422, problems=problems, typed=posted.values(ADDED))
    return RedirectResponse(f"/c/{id}/money/sales", 303)


def _after(text: str) -> str:
    """A problem without the file and line that nobody typed."""
    return text.partition(": ")[2] if text.startswith(FILE) else text


def _with(text: str, posted: Posted) -> str:
    """The sales and one more, with the columns that it needs."""
    rows = list(csv.reader(io.StringIO(text))) or [["price"]]
    given = {name: posted.text(name) for name in ADDED if posted.text(name)}
    head = [*rows[0], *(name for name in given if name not in rows[0])]
    if "kilometers" in head and "mileage" in given:
        raise BadInput([Problem("mileage", "mileage cannot be added: the other sales are in kilometers; leave it empty")])
    body = [row for row in rows[1:] if any(row)]
    return _as_text([head, *([*row, *[""] * (len(head) - len(row))] for row in body), [given.get(name, "") for name in head]])


def _without(text: str, line: int) -> str:
    rows = list(csv.reader(io.StringIO(text)))
    if not 2 <= line <= len(rows):
        raise NotFound(f"there is no sale at line {line}; load the page anew")
    return _as_text([row for number, row in enumerate(rows, start=1) if number != line and any(row)])


def _leaves(posted: Posted) -> tuple[str, dict[str, list[list[str]]]]:
    """What was sent and its leaves by name."""
    again = posted.texts("other")
    if again:
        name, form = posted.text("name"), posted.form
        read = {leaf: text_cells(str(form.get(f"other.{n}.cells", ""))) for n, leaf in enumerate(again[:MOST_LEAVES])}
        return posted.text("source"), {name: text_cells(str(form.get("cells", ""))), **read}
    files = posted.files("file")
    if files:
        name = PurePosixPath((files[0].filename or "table").replace("\\", "/")).name
        leaves = leaves_of(name, files[0].file.read())
        return name, dict(list(leaves.items())[:MOST_LEAVES])
    pasted = str(posted.form.get("pasted", ""))
    if not pasted.strip():
        raise BadInput("Nothing was sent: choose a file, or paste the cells with their headings")
    return "pasted cells", {"pasted cells": text_cells(pasted)}


def _sheets(leaves: dict[str, list[list[str]]], words: dict[str, str]) -> dict[str, Sheet]:
    """The leaves that hold a table; raises BadInput where none does."""
    found: dict[str, Sheet] = {}
    problems: list[Problem] = []
    for name, cells in leaves.items():
        try:
            found[name] = sheet_of(name, cells, words)
        except BadInput as error:
            problems += error.problems
    if not found:
        raise BadInput(problems)
    return found


def _known(sheet: Sheet, words: dict[str, str]) -> int:
    """How many columns the headings of a leaf name."""
    return len({words.get(plain(heading)) for heading in sheet.headings} - {None})


def _as_text(cells: list[list[str]]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(cells)
    return out.getvalue()
