"""Sales as a shop keeps them in a table of its own: its headings matched to the columns that are read here."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Final

from weldworth.ceiling.comparables import COLUMNS, read_comparables
from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown
from weldworth.tables.load import Tables

MOST_SALES: Final = 2000
MOST_COLUMNS: Final = 60
HEADINGS_WITHIN: Final = 10
ORDERS: Final = ("month-first", "day-first")
_FIGURES: Final = re.compile(r"(\d{1,4})[./-](\d{1,2})[./-](\d{2,4})")
_NAMED: Final = ("%d %b %Y", "%d %B %Y", "%b %d %Y", "%B %d %Y", "%b %Y", "%B %Y")
_UNIT: Final = re.compile(r"(?<=[\dk])\s*(?:miles|mi|kilometers|kilometres|km)\.?$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table as sent. name : of the file or of the leaf in it. headings : as written. rows : the cells below as text, each as
    long as headings. first : number of the first row below the headings, as the shop's program counts.
    """

    name: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    first: int = 2

    def values(self, column: int, most: int = 3) -> list[str]:
        """The first few different values of a column that are not empty."""
        return list(dict.fromkeys(row[column] for row in self.rows if row[column]))[:most]


@dataclass(frozen=True, slots=True)
class Matching:
    """What the shop's headings and words mean. columns : heading -> one of COLUMNS, or "" to leave it out.

    states : the shop's word -> a word of states.csv, or "" for not known. dates : one of ORDERS, for dates in figures.
    """

    columns: Mapping[str, str]
    states: Mapping[str, str] = field(default_factory=dict)
    dates: str = "month-first"


def sheet_of(name: str, cells: Sequence[Sequence[str]], words: Mapping[str, str]) -> Sheet:
    """The table in these rows of cells: of the first ten rows the one with the most headings known by name leads it, and where
    none is known the first with two cells. Raises BadInput where there is no table, or too much of one.
    """
    trimmed = [[" ".join(cell.split()) for cell in row] for row in cells]
    most = max((sum(map(bool, row)) for row in trimmed), default=0)
    filled = [number for number, row in enumerate(trimmed) if 0 < min(2, most) <= sum(map(bool, row))]
    if not filled:
        raise BadInput([Problem(name, "holds no table; give a line of headings and below it a line for each sale")])
    known = {number: sum(plain(cell) in words for cell in trimmed[number]) for number in filled if number < HEADINGS_WITHIN}
    head = max(known, key=lambda number: known[number], default=filled[0])
    width = max(len(row) for row in trimmed[head:])
    while width and not any(len(row) >= width and row[width - 1] for row in trimmed[head:]):
        width -= 1
    headings = _named([*trimmed[head], *[""] * width][:width])
    rows = [tuple([*row, *[""] * width][:width]) for row in trimmed[head + 1 :]]
    while rows and not any(rows[-1]):
        rows.pop()
    if width > MOST_COLUMNS or len(rows) > MOST_SALES:
        text = f"holds {len(rows):,} rows in {width} columns; {MOST_SALES:,} rows and {MOST_COLUMNS} columns are the most"
        raise BadInput([Problem(name, text)])
    if not rows:
        raise BadInput([Problem(name, "holds headings and no sale below them")])
    return Sheet(name, headings, tuple(rows), head + 2)


def _named(headings: Sequence[str]) -> tuple[str, ...]:
    """Each heading once: what has none is called by its letter, what is there twice gets a number."""
    found: list[str] = []
    for number, heading in enumerate(headings):
        name = heading or f"column {_letter(number)}"
        same = sum(one == name or one.startswith(f"{name} (") for one in found)
        found.append(f"{name} ({same + 1})" if same else name)
    return tuple(found)


def _letter(number: int) -> str:
    """The letters over a column in a spreadsheet; number counts from 0.

    >>> _letter(0), _letter(25), _letter(27)
    ('A', 'Z', 'AB')
    """
    return (_letter(number // 26 - 1) if number >= 26 else "") + chr(65 + number % 26)


def plain(heading: str) -> str:
    """A heading without case, signs and blanks.

    >>> plain("Sale Price ($)")
    'sale price'
    """
    return " ".join(re.findall(r"[a-z0-9]+", heading.casefold()))


def heading_words(tables: Tables) -> dict[str, str]:
    """Heading in plain letters -> column; raises BadInput for a row that names no column."""
    found: dict[str, str] = {plain(column): column for column in COLUMNS}
    problems = []
    for row in tables.rows("comparable_words.csv", ("words", "column")):
        if row.text("column") not in COLUMNS:
            problems.append(Problem(row.where, unknown("column", row.text("column"), COLUMNS)))
        found |= {plain(word): row.text("column") for word in row.text("words").split(";")}
    if problems:
        raise BadInput(problems)
    return found


def guess(sheet: Sheet, words: Mapping[str, str], before: Matching, states: Mapping[str, float]) -> Matching:
    """What the headings mean: as they were matched before, else by name; no column twice."""
    earlier = {plain(heading): column for heading, column in before.columns.items()}
    columns: dict[str, str] = {}
    for known in (earlier, words):
        for heading in sheet.headings:
            column = known.get(plain(re.sub(r" \(\d+\)$", "", heading)))
            if heading not in columns and column is not None and (not column or column not in columns.values()):
                columns[heading] = column
    chosen = {heading: columns.get(heading, "") for heading in sheet.headings}
    if "mileage" in chosen.values():
        chosen = {heading: "" if column == "kilometers" else column for heading, column in chosen.items()}
    order = _order([cell for heading, column in chosen.items() if column == "sold_on" for cell in _cells(sheet, heading)])
    told = {word: before.states.get(word, "") for word in strange_states(sheet, chosen, states)}
    return Matching(chosen, told, order or before.dates)


def _cells(sheet: Sheet, heading: str) -> list[str]:
    column = sheet.headings.index(heading)
    return [row[column] for row in sheet.rows]


def _order(cells: Sequence[str]) -> str:
    """How dates in figures are written where one of them tells, else ""."""
    for cell in cells:
        found = _FIGURES.fullmatch(cell)
        if found and len(found[1]) < 3 and max(int(found[1]), int(found[2])) > 12:
            return "day-first" if int(found[1]) > 12 else "month-first"
    return ""


def dates_in_figures(sheet: Sheet, columns: Mapping[str, str]) -> tuple[bool, bool]:
    """Whether days of sale are written in figures, such as 5/6/24, and whether one of them tells what comes first."""
    cells = [cell for heading, column in columns.items() if column == "sold_on" for cell in _cells(sheet, heading)]
    return any((found := _FIGURES.fullmatch(cell)) and len(found[1]) < 3 for cell in cells), bool(_order(cells))


def strange_states(sheet: Sheet, columns: Mapping[str, str], states: Mapping[str, float]) -> list[str]:
    """The words for the state that are none of states.csv, each once."""
    cells = [cell for heading, column in columns.items() if column == "state" for cell in _cells(sheet, heading)]
    return [word for word in dict.fromkeys(cells) if word and word.lower() not in states]


def taken(
    sheet: Sheet, matching: Matching, *, states: Mapping[str, float], on: date, leave_out: bool = False
) -> tuple[str, list[int]]:
    """The sales as the text of a comparables file, and the numbers of the rows left out.

    leave_out : rows that cannot be read are left out instead of refused. Raises BadInput with every problem, its `where` the row
    and the heading in the shop's own table.
    """
    used = {column: heading for heading, column in matching.columns.items() if column}
    problems = _matching_problems(sheet, matching)
    if problems:
        raise BadInput(problems)
    left: list[int] = []
    while True:
        text = _text(sheet, matching, used, on, left)
        try:
            read_comparables(text, sheet.name, states=states, on=on)
        except BadInput as error:
            wrong = sorted({row for problem in error.problems if (row := _row(problem, sheet)) is not None} - set(left))
            if not leave_out or not wrong:
                raise BadInput([_told(problem, sheet, used) for problem in error.problems]) from None
            left += wrong
            continue
        return text, left


def _matching_problems(sheet: Sheet, matching: Matching) -> list[Problem]:
    problems = []
    chosen = [column for column in matching.columns.values() if column]
    for heading, column in matching.columns.items():
        if heading not in sheet.headings:
            problems.append(Problem(heading, "is no heading of this table; send the table again"))
        elif column and column not in COLUMNS:
            problems.append(Problem(heading, unknown("column", column, COLUMNS)))
        elif column and chosen.count(column) > 1:
            problems.append(Problem(heading, f"{spoken(column)} is chosen twice; leave one of them out"))
    if "price" not in chosen:
        problems.append(Problem("price", "no heading is matched to the price; choose the one that holds it"))
    if {"mileage", "kilometers"} <= set(chosen):
        problems.append(Problem("mileage", "miles and kilometers are both chosen; keep one of them"))
    if matching.dates not in ORDERS:
        problems.append(Problem("dates", unknown("order", matching.dates, ORDERS)))
    return problems


def spoken(column: str) -> str:
    """A column in words.

    >>> spoken("sold_on"), spoken("model_year")
    ('day of sale', 'model year')
    """
    return {"sold_on": "day of sale", "mileage": "miles"}.get(column, column.replace("_", " "))


def _text(sheet: Sheet, matching: Matching, used: Mapping[str, str], on: date, left: Sequence[int]) -> str:
    """One line for each row of the sheet, empty where it is left out, so that the numbers of lines tell the rows."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(used)
    at = {column: sheet.headings.index(heading) for column, heading in used.items()}
    for number, row in enumerate(sheet.rows, start=sheet.first):
        cells = {column: row[place] for column, place in at.items()}
        if number in left or not any(cells.values()):
            out.write("\n")
            continue
        writer.writerow(_cell(column, cell, matching, on) for column, cell in cells.items())
    return out.getvalue()


def _cell(column: str, cell: str, matching: Matching, on: date) -> str:
    if column == "sold_on":
        return day_in(cell, matching.dates, on)
    if column in ("mileage", "kilometers"):
        return _UNIT.sub("", cell)
    if column == "state":
        return matching.states.get(cell, cell)
    return cell


def day_in(text: str, order: str, on: date) -> str:
    """A day as people write it, as 2024-05-31; what cannot be read stays as it is. on : no two-figure year lies after it.

    >>> day_in("5/31/24", "month-first", date(2026, 11, 25)), day_in("Mar 14, 2026", "day-first", date(2026, 11, 25))
    ('2024-05-31', '2026-03-14')
    """
    found = _FIGURES.fullmatch(text)
    if found:
        a, b, c = (int(part) for part in found.groups())
        if len(found[1]) > 2:
            year, month, day = a, b, c
        else:
            year = c if c > 99 else c + (2000 if c <= on.year - 2000 else 1900)
            month, day = (a, b) if order == "month-first" else (b, a)
        try:
            return date(year, month, day).isoformat()
        except ValueError:
            return text
    bare = re.sub(r"[,.]", " ", text)
    for form in _NAMED:
        try:
            return datetime.strptime(" ".join(bare.split()), form).date().isoformat()
        except ValueError:
            continue
    return text


def _row(problem: Problem, sheet: Sheet) -> int | None:
    """The row of the sheet that a problem of the text is about."""
    found = re.search(r" line (\d+)$", problem.where)
    return int(found[1]) - 2 + sheet.first if found and int(found[1]) > 1 else None


def _told(problem: Problem, sheet: Sheet, used: Mapping[str, str]) -> Problem:
    """The problem with the row and heading of the shop's own table."""
    row = _row(problem, sheet)
    if row is None:
        return problem
    column = re.split(r"[\s,]+", problem.text, maxsplit=1)[0]
    heading = used.get("kilometers" if column == "kilometers" else column)
    where = f"row {row}" + (f", {heading}" if heading else "")
    return Problem(where, problem.text.removeprefix(f"{column} ") if heading else problem.text)
