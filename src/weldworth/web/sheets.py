"""Tables that people keep in files: spreadsheets and text with cells parted by commas, semicolons or tabs, as rows of text."""

from __future__ import annotations

import csv
import io
import zipfile
from datetime import date, datetime

from python_calamine import CalamineError, CalamineSheet, load_workbook

from weldworth.core.errors import BadInput, Problem

SPREADSHEETS = (".xlsx", ".xlsm", ".ods", ".xls")
TEXTS = (".csv", ".tsv", ".txt")
LARGEST_FILE = 10_000_000
LARGEST_UNPACKED = 100_000_000
MOST_ROWS = 20_000
REMEDY = "give a spreadsheet (.xlsx, .ods, .xls) or a text file (.csv, .tsv)"
Cells = list[list[str]]


def leaves_of(name: str, content: bytes) -> dict[str, Cells]:
    """The leaves of a file that hold anything, by name, each as rows of text cells; a text file is one leaf.

    Raises BadInput where the file is empty, too large, protected, broken or of another kind.
    """
    if not content:
        raise BadInput([Problem(name, f"is empty; {REMEDY}")])
    if len(content) > LARGEST_FILE:
        text = f"has {len(content) / 1e6:.0f} MB; {LARGEST_FILE // 1_000_000} MB are the most"
        raise BadInput([Problem(name, f"{text}: keep the sales in a file of their own")])
    ending = f".{name.rpartition('.')[2].lower()}"
    if ending in TEXTS:
        return {name: text_cells(_decoded(content))}
    if ending not in SPREADSHEETS:
        raise BadInput([Problem(name, f"is of a kind that is not read here; {REMEDY}")])
    leaves = _spreadsheet(name, content)
    if not leaves:
        raise BadInput([Problem(name, f"holds nothing; {REMEDY}")])
    return leaves


def text_cells(text: str) -> Cells:
    """Rows of cells of a text, parted by whatever of comma, semicolon and tab its first line has most of."""
    plain = text.lstrip("\ufeff")
    first = next((line for line in plain.splitlines() if line.strip()), "")
    return [list(row) for row in csv.reader(io.StringIO(plain), delimiter=max(",;\t", key=first.count))]


def _decoded(content: bytes) -> str:
    """The text of a file: UTF-8 or UTF-16 where it says so, else the usual letters of western desktops."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", errors="replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def _spreadsheet(name: str, content: bytes) -> dict[str, Cells]:
    _fits(name, content)
    try:
        with load_workbook(io.BytesIO(content)) as book:
            read = {leaf: _rows(name, book.get_sheet_by_name(leaf)) for leaf in book.sheet_names}
    except CalamineError:
        text = f"cannot be read: it is broken, protected by a password, or no spreadsheet; {REMEDY}"
        raise BadInput([Problem(name, text)]) from None
    return {leaf: rows for leaf, rows in read.items() if any(any(row) for row in rows)}


def _rows(name: str, leaf: CalamineSheet) -> Cells:
    if leaf.total_height > MOST_ROWS:
        raise BadInput([Problem(name, f"holds more than {MOST_ROWS:,} rows in {leaf.name!r}; keep the sales alone in it")])
    return [[_cell(value) for value in row] for row in leaf.to_python(skip_empty_area=False)]


def _fits(name: str, content: bytes) -> None:
    """Raise BadInput for a packed file that would unpack to far more than anybody's sales."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            size = sum(part.file_size for part in packed.infolist())
    except zipfile.BadZipFile:
        return
    if size > LARGEST_UNPACKED:
        raise BadInput([Problem(name, f"unpacks to {size / 1e6:,.0f} MB; {LARGEST_UNPACKED // 1_000_000} MB are the most")])


def _cell(value: object) -> str:
    """A cell as one would type it: whole numbers without decimals, days as 2024-05-31."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.2f}".rstrip("0").rstrip(".")
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    return str(value)
