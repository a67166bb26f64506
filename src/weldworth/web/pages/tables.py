"""One table of the shop: every row with basis and source, beside the shipped one; changed by row or as text, in versions."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.core.errors import BadInput, Conflict, NotAllowed, NotFound, Problem
from weldworth.tables.load import BASES
from weldworth.web.forms import Posted, Problems, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.render import local_now, page
from weldworth.web.times import day_and_time
from weldworth.workbench.desk import Desk
from weldworth.workbench.ports import Person
from weldworth.workbench.shop import files_of
from weldworth.workbench.table_changes import flat, paired, read_cells, told, with_row

router = APIRouter()
CELL = "cell."


@dataclass(frozen=True, slots=True)
class Shown:
    """One row as shown. number : its line; None where it is gone. cells : (text, what is shipped where that differs, else None).

    fate : "", "added" or "gone", against the shipped table.
    """

    number: int | None
    cells: tuple[tuple[str, str | None], ...]
    fate: str


@dataclass(frozen=True, slots=True)
class Version:
    """One version of the table. number : over all tables. shipped : it goes back to the shipped one."""

    number: int
    when: str
    who: str
    note: str
    what: tuple[str, ...]
    shipped: bool
    holds: bool


def rows_shown(name: str, text: str, shipped: str) -> tuple[list[str], list[Shown]]:
    """Headings and rows of a table beside the shipped one. A TOML table is shown as paths with their values."""
    if not name.endswith(".csv"):
        return ["where", "value"], _values_shown(flat(text), flat(shipped))
    new, old = read_cells(text), read_cells(shipped)
    found = []
    for pair in paired(old[1:], new[1:]):
        earlier = pair.was or pair.cells
        cells = tuple((now, then if now != then else None) for now, then in zip(pair.cells, earlier, strict=False))
        found.append(Shown(pair.number, cells, "gone" if pair.number is None else "added" if pair.was is None else ""))
    return new[0], found


def _values_shown(values: Mapping[str, str], shipped: Mapping[str, str]) -> list[Shown]:
    """The values of a TOML table as rows, those that are gone among them."""
    found = []
    for path in dict.fromkeys([*values, *shipped]):
        now, then = values.get(path), shipped.get(path)
        fate = "gone" if now is None else "added" if then is None else ""
        differs = None if fate or now == then else then
        found.append(Shown(None, ((path, None), (str(then if now is None else now), differs)), fate))
    return found


def versions(desk: Desk, name: str) -> list[Version]:
    """The versions of one table, the newest first."""
    names, shipped = desk.people.names(), desk.shop.shipped_text(name)
    before, found = shipped, []
    own = [version for version in desk.shop.versions_of_tables() if version.name == name]
    for version in own:
        text = shipped if version.text is None else version.text
        found.append(
            Version(
                version.number,
                day_and_time(datetime.fromisoformat(version.at).astimezone()),
                names.get(version.by, "somebody"),
                version.note,
                tuple(told(name, before, text)),
                version.text is None,
                version is own[-1],
            )
        )
        before = text
    return found[::-1]


def text_at(desk: Desk, name: str, number: int) -> str:
    """The text of a table after the change `number`; 0 for the shipped one. Raises NotFound."""
    own = [version.number for version in desk.shop.versions_of_tables() if version.name == name]
    if number not in (0, *own):
        raise NotFound(f"{name} has no version {number}")
    shipped = desk.shop.shipped_text(name)
    return files_of(desk.shop.versions_of_tables(), number).get(name, shipped) if number else shipped


def table_page(request: Request, desk: Desk, person: Person, name: str, status: int = 200, **values: object) -> Response:
    """The page. at : a version to look at instead of the one that holds. line : the row to change, "new" for one more.

    as_text : the whole table to be changed as text.
    """
    text, shipped, at = desk.shop.table_text(name), desk.shop.shipped_text(name), values.get("at")
    looked = text_at(desk, name, at) if isinstance(at, int) else text
    columns, rows = rows_shown(name, looked, shipped)
    last = desk.shop.table_number()
    shared: dict[str, object] = {
        "title": spoken(name),
        "place": "Shop",
        "name": name,
        "columns": columns,
        "rows": rows,
        "changed": sum(bool(row.fate) or any(was is not None for _, was in row.cells) for row in rows),
        "versions": versions(desk, name),
        "version": last,
        "bases": BASES,
        "may": person.role == "owner",
        "at": None,
        "line": None,
        "fields": {},
        "as_text": None,
        "note": "",
        "rowwise": name.endswith(".csv"),
        "drawn_from": f"{name}, {'the shop’s own' if text != shipped else 'as shipped'}",
        "feed": None,
    }
    return page(request, "table.html", status, **(shared | values))


def spoken(name: str) -> str:
    """A table's name in words.

    >>> spoken("repair_states.csv"), spoken("plans/pickup.toml")
    ('repair states', 'body plan pickup')
    """
    return name.rpartition(".")[0].replace("_", " ").replace("plans/", "body plan ")


@router.get("/shop/tables/{name:path}")
def shown(
    request: Request, name: str, desk: TheDesk, person: Known, line: str = "", text: str = "", at: int | None = None
) -> Response:
    """One table; ?line= one row to be changed, ?text=yes all of it, ?at= an earlier version."""
    more: dict[str, object] = {"at": at}
    if line:
        more = {"line": line, "fields": _fields(request, desk, name, line)}
    elif text == "file":
        headers = {"Content-Disposition": f'attachment; filename="{name.rpartition("/")[2]}"'}
        return Response(desk.shop.table_text(name), media_type="text/plain; charset=utf-8", headers=headers)
    elif text:
        more = {"as_text": desk.shop.table_text(name)}
    return table_page(request, desk, person, name, 200, **more)


def _fields(request: Request, desk: Desk, name: str, line: str) -> dict[str, str]:
    """The cells of the row to be changed, by column; a new one says when it is of."""
    rows = read_cells(desk.shop.table_text(name)) if name.endswith(".csv") else []
    if line == "new" and rows:
        return {column: f"{local_now(request):%Y-%m}" if column == "as_of" else "" for column in rows[0]}
    if not line.isdigit() or not 2 <= int(line) <= len(rows):
        raise NotFound(f"{name} has no row at line {line}")
    return dict(zip(rows[0], rows[int(line) - 1], strict=False))


@router.post("/shop/tables/{name:path}")
def change(request: Request, name: str, desk: TheDesk, person: Known) -> Response:
    """A new version: one row changed, added or taken out, the whole text, or back to an earlier version."""
    if person.role != "owner":
        raise NotAllowed("Only an owner changes the tables.")
    posted = Posted(request.state.form)
    what, line, note, number = (posted.text(key) for key in ("what", "line", "note", "version"))
    text = desk.shop.table_text(name)
    columns = read_cells(text)[0] if name.endswith(".csv") else []
    fields = {column: posted.text(CELL + column) for column in columns}
    back: dict[str, object] = {"line": line, "fields": fields} if what in ("row", "out") else {}
    try:
        if what == "row":
            at = len(read_cells(text)) + 1 if line == "new" else int(line) if line.isdigit() else 0
            new: str | None = with_row(text, at, list(fields.values()))
        elif what == "out" and line.isdigit():
            at, new = int(line), with_row(text, int(line), None)
        elif what == "text":
            at, new = 0, _sent_text(posted)
            back = {"as_text": new}
        elif what == "back" and posted.text("to").isdigit():
            at, to = 0, int(posted.text("to"))
            new = None if to == 0 else text_at(desk, name, to)
        else:
            raise NotFound(f"nothing is changed by {what!r}")
        desk.shop.change_table(name, new, person.id, note=note, version=int(number) if number.isdigit() else None)
    except BadInput as error:
        problems = _beside(error, name, at, columns) if what == "row" else problems_for(error, ())
        return table_page(request, desk, person, name, 422, problems=problems, note=note, **back)
    except Conflict as error:
        problems = problems_for(BadInput(str(error)), ())
        return table_page(request, desk, person, name, 409, problems=problems, note=note, **back)
    return RedirectResponse(f"/shop/tables/{name}{'#row-' + str(at) if what == 'row' else ''}", 303)


def _sent_text(posted: Posted) -> str:
    """The whole table as typed, or from a file."""
    files = posted.files("file")
    if files:
        try:
            return files[0].file.read().decode("utf-8-sig")
        except UnicodeDecodeError:
            raise BadInput([Problem("file", "is no text in UTF-8; save it so, with cells parted by commas")]) from None
    text = re.sub(r"\r\n?", "\n", str(posted.form.get("text", "")))
    return text if text.endswith("\n") else text + "\n"


def _beside(error: BadInput, name: str, line: int, columns: list[str]) -> Problems:
    """The problems of the row that was changed beside its cells; those of other rows above the form."""
    found = []
    for problem in error.problems:
        column = re.split(r"[\s,]+", problem.text, maxsplit=1)[0]
        own = problem.where == f"{name} line {line}" and column in columns
        found.append(Problem(CELL + column, _capital(problem.text, column)) if own else problem)
    return problems_for(BadInput(found), (CELL + column for column in columns))


def _capital(text: str, column: str) -> str:
    words = column.replace("_", " ")
    return words[:1].upper() + words[1:] + text.removeprefix(column)


def listed(desk: Desk) -> list[tuple[str, str, str]]:
    """Each table with its name in words, and on what basis how many of its rows stand."""
    tables = desk.tables()
    found = []
    for name in desk.shop.table_names():
        text = tables.path(name).read_text(encoding="utf-8")
        if name.endswith(".csv"):
            bases = [row.get("basis", "") for row in csv.DictReader(io.StringIO(text))]
        else:
            bases = [value for path, value in flat(text).items() if path.rpartition(".")[2] == "basis"]
        count = ((bases.count(basis), basis) for basis in BASES)
        found.append((name, spoken(name), ", ".join(f"{number} {basis}" for number, basis in count if number)))
    return found
