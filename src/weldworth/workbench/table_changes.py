"""Tables as cells: one row changed, two versions beside each other, and what changed in words."""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from math import isfinite

from weldworth.core.errors import NotFound, Problem
from weldworth.tables.load import BASES

Cells = list[str]
MOST_TOLD = 12
_ORIGIN = ("basis", "source", "as_of")


@dataclass(frozen=True, slots=True)
class RowPair:
    """A row and the one it came from. number : its line in the table, 2 for the first row; None where it is gone. cells : as they
    are, or were where it is gone. was : the earlier cells, None where the row is new.
    """

    number: int | None
    cells: tuple[str, ...]
    was: tuple[str, ...] | None


def read_cells(text: str) -> list[Cells]:
    """The rows of a CSV table, headings first, lines without cells left out."""
    return [row for row in csv.reader(io.StringIO(text)) if row]


def with_row(text: str, number: int, cells: Sequence[str] | None) -> str:
    """The table with the row at line `number` changed, taken out (None), or added below where it is one past the last.

    All other lines stay byte for byte. Raises NotFound where there is no such row.
    """
    lines = text.splitlines(keepends=True)
    reader, spans, start = csv.reader(lines), [], 0
    for row in reader:
        if row:
            spans.append((start, reader.line_num))
        start = reader.line_num
    if not 2 <= number <= len(spans) + 1 or (cells is None and number > len(spans)):
        raise NotFound(f"there is no row at line {number}; load the table anew")
    first, last = spans[number - 1] if number <= len(spans) else (len(lines), len(lines))
    out = io.StringIO()
    if cells is not None:
        csv.writer(out, lineterminator="\n").writerow(cells)
    before = "".join(lines[:first])
    return before + ("" if before.endswith("\n") else "\n") + out.getvalue() + "".join(lines[last:])


def paired(before: Sequence[Sequence[str]], after: Sequence[Sequence[str]]) -> list[RowPair]:
    """The rows of `after` with those of `before` that they came from, and in their place the rows that are gone.

    Both without headings. Rows belong together by the fewest first cells that tell all rows of each apart, else by their order.
    """
    old, new = ([tuple(row) for row in rows] for rows in (before, after))
    width = _key_width(old, new)
    before_keys, after_keys = ([row[:width] for row in rows] for rows in (old, new))
    found: list[RowPair] = []
    for kind, a, b, c, d in SequenceMatcher(a=before_keys, b=after_keys, autojunk=False).get_opcodes():
        if kind == "equal":
            found += [RowPair(c + i + 2, new[c + i], old[a + i]) for i in range(b - a)]
        else:
            together = min(b - a, d - c) if width == 0 or kind == "replace" else 0
            found += [RowPair(c + i + 2, new[c + i], old[a + i]) for i in range(together)]
            found += [RowPair(None, row, row) for row in old[a + together : b]]
            found += [RowPair(c + i + 2, new[c + i], None) for i in range(together, d - c)]
    return found


def _key_width(*tables: Sequence[tuple[str, ...]]) -> int:
    widest = min((len(row) for rows in tables for row in rows), default=0)
    for width in range(1, widest + 1):
        if all(len({row[:width] for row in rows}) == len(rows) for rows in tables):
            return width
    return widest


def flat(text: str) -> dict[str, str]:
    """The values of a TOML table by their paths; items of a list by their id or name where they have one."""
    return dict(_flat("", tomllib.loads(text)))


def _flat(path: str, value: object) -> Iterator[tuple[str, str]]:
    if isinstance(value, dict):
        for key, item in value.items():
            yield from _flat(f"{path}.{key}" if path else key, item)
    elif isinstance(value, list) and value and all(isinstance(item, dict) for item in value):
        for number, item in enumerate(value, start=1):
            name = item.get("id") or item.get("name") or item.get("zone") or number
            yield from _flat(f"{path} {name}", item)
    else:
        yield path, ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def told(name: str, before: str, after: str) -> list[str]:
    """What changed from one text of a table to the next, in words, a dozen at the most."""
    found = list(_told_cells(before, after) if name.endswith(".csv") else _told_values(before, after))
    more = len(found) - MOST_TOLD
    return found[:MOST_TOLD] + ([f"and {more} more"] if more > 0 else [])


def _told_cells(before: str, after: str) -> Iterator[str]:
    old, new = read_cells(before), read_cells(after)
    columns = new[0] if new else []
    for pair in paired(old[1:], new[1:]):
        name = pair.cells[0] if pair.cells else ""
        if pair.number is None:
            yield f"{name}: taken out"
        elif pair.was is None:
            yield f"{name}: added"
        else:
            cells = zip(columns, pair.cells, pair.was, strict=False)
            yield from (
                f"{name}: {_words(column)} {now or 'empty'}, before {was or 'empty'}" for column, now, was in cells if now != was
            )


def _told_values(before: str, after: str) -> Iterator[str]:
    old, new = flat(before), flat(after)
    for path in dict.fromkeys([*new, *old]):
        if old.get(path) != new.get(path):
            yield f"{path}: {new.get(path, 'taken out')}, before {old.get(path, 'not there')}"


def _words(column: str) -> str:
    return column.replace("_", " ")


def check_cells(name: str, text: str, shipped: str) -> list[Problem]:
    """What is wrong with a CSV table whatever it is about: its columns, the number of cells, where rows come from, and cells that
    are no numbers in a column that holds numbers throughout as shipped. Problems say file and line, and begin with the column.
    """
    rows, known = read_cells(text), read_cells(shipped)
    if not rows or rows[0] != known[0]:
        return [Problem(f"{name} line 1", f"the columns must be {','.join(known[0])}, in this order")]
    columns, problems = rows[0], []
    numbers = [column for i, column in enumerate(columns) if len(known) > 1 and all(_is_number(row[i]) for row in known[1:])]
    for line, row in enumerate(rows[1:], start=2):
        where = f"{name} line {line}"
        if len(row) != len(columns):
            problems.append(
                Problem(where, f"has {len(row)} cells for {len(columns)} columns; put quotation marks round a cell with a comma")
            )
            continue
        cells = dict(zip(columns, row, strict=True))
        problems += [Problem(where, f"{c} is {cells[c]!r}; give a number") for c in numbers if not _is_number(cells[c])]
        if "basis" in cells and cells["basis"] not in BASES:
            problems.append(Problem(where, f"basis is {cells['basis']!r}; give one of {', '.join(BASES)}"))
        empty = [column for column in _ORIGIN[1:] if column in cells and not cells[column].strip()]
        problems += [Problem(where, f"{column} is empty; say where the row comes from and of when it is") for column in empty]
    return problems


def _is_number(text: str) -> bool:
    try:
        return isfinite(float(text))
    except ValueError:
        return False
