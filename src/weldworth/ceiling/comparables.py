"""The shop's own comparable sales, from a CSV file as people keep it."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from weldworth.ceiling.amounts import currency_signs, parse_amount
from weldworth.core.errors import BadInput, Problem
from weldworth.core.units import KILOMETRES
from weldworth.core.words import unknown

COLUMNS: Final = ("price", "sold_on", "mileage", "kilometers", "model_year", "state", "name", "note", "place", "link")
LEAST_SALES: Final = 3
REMEDY: Final = "give three prices (low, likely, high) or at least three sales"


@dataclass(frozen=True, slots=True)
class Sale:
    """One comparable sale: price in the shop's currency, and what is known of the vehicle; None = not written down.

    mileage : miles as read.   state : a word of states.csv.   where : file and line, for messages.
    """

    price: float
    sold_on: date | None = None
    mileage: float | None = None
    model_year: int | None = None
    state: str | None = None
    name: str = ""
    where: str = ""


def read_comparables(text: str, name: str, *, states: Mapping[str, float], on: date) -> list[Sale]:
    """The sales in the CSV `text` of the file `name`; only the column price must be there, COLUMNS lists the rest.

    states : known words for the state of a vehicle.   on : today; a sale later than that is refused.
    Cells may be parted by commas, semicolons or tabs. Currency signs and commas in prices and miles are dropped.
    Blank lines are passed over.
    Raises BadInput with every problem found, naming file and line: unknown columns with the nearest known one, a
    price that is no number or not above 0, two currencies, impossible dates, unknown states, fewer than three sales.
    """
    plain = text.lstrip("\ufeff")
    first = plain.split("\n", 1)[0]
    reader = csv.reader(io.StringIO(plain), delimiter=max(",;\t", key=first.count))
    header = [cell.strip().lower() for cell in next(reader, [])]
    problems = _header_problems(header, name)
    if problems:
        raise BadInput(problems)
    sales: list[Sale] = []
    signs: set[str] = set()
    for cells in reader:
        where = f"{name} line {reader.line_num}"
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) > len(header):
            problems.append(
                Problem(
                    where, f"has {len(cells)} cells for {len(header)} columns; put quotation marks round a price with a comma"
                )
            )
            continue
        row = {column: cell.strip() for column, cell in zip(header, cells, strict=False)}
        signs |= currency_signs(row.get("price", ""))
        sale, found = _sale(row, where, states, on)
        problems += found
        if sale is not None:
            sales.append(sale)
    if len(signs) > 1:
        problems.append(Problem(name, f"prices are in {' and '.join(sorted(signs))}; give all in one currency"))
    if not problems and len(sales) < LEAST_SALES:
        count = {0: "no sale", 1: "a single sale"}.get(len(sales), f"{len(sales)} sales")
        problems.append(Problem(name, f"holds {count}, too few to fit; {REMEDY}"))
    if problems:
        raise BadInput(problems)
    return sales


def _header_problems(header: list[str], name: str) -> list[Problem]:
    if not any(header):
        return [Problem(name, f"is empty; {REMEDY}")]
    where = f"{name} line 1"
    problems = [Problem(where, unknown("column", column, COLUMNS)) for column in header if column not in COLUMNS]
    problems += [Problem(where, f"column {c!r} is there twice; remove one") for c in COLUMNS if header.count(c) > 1]
    if "price" not in header and not problems:
        problems.append(Problem(where, "column 'price' is missing; add it"))
    if "mileage" in header and "kilometers" in header:
        problems.append(Problem(where, "has both 'mileage' and 'kilometers'; keep one of them"))
    return problems


def _sale(row: Mapping[str, str], where: str, states: Mapping[str, float], on: date) -> tuple[Sale | None, list[Problem]]:
    """The sale in one row, or None and what is wrong with it."""
    problems: list[Problem] = []
    price = _number(row.get("price", ""), "price", where, problems)
    if price is None and not row.get("price"):
        problems.append(Problem(where, "price is empty; give it or remove the line"))
    if price is not None and price <= 0:
        problems.append(Problem(where, f"price is {row['price']!r}; give an amount above 0"))
    miles = _number(row.get("mileage", ""), "mileage", where, problems)
    kilometers = _number(row.get("kilometers", ""), "kilometers", where, problems)
    if kilometers is not None:
        miles = kilometers / KILOMETRES["mi"]
    state = row.get("state", "").lower() or None
    if state is not None and state not in states:
        problems.append(Problem(where, unknown("state", state, states)))
    sold_on = _date(row.get("sold_on", ""), where, on, problems)
    year = _year(row.get("model_year", ""), where, on, problems)
    if problems or price is None:
        return None, problems
    return Sale(price, sold_on, miles, year, state, row.get("name", ""), where), []


def _number(text: str, column: str, where: str, problems: list[Problem]) -> float | None:
    if not text:
        return None
    try:
        return parse_amount(text)
    except ValueError as error:
        problems.append(Problem(where, f"{column} {error}"))
        return None


def _date(text: str, where: str, on: date, problems: list[Problem]) -> date | None:
    if not text:
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        problems.append(Problem(where, f"sold_on is {text!r}; write the date like 2024-05-31"))
        return None
    if day > on:
        problems.append(Problem(where, f"sold_on is {text}, after {on.isoformat()}; correct the date"))
    return day


def _year(text: str, where: str, on: date, problems: list[Problem]) -> int | None:
    if not text:
        return None
    if not text.isdecimal() or not 1885 <= int(text) <= on.year + 1:
        problems.append(Problem(where, f"model_year is {text!r}; give a year from 1885 to {on.year + 1}"))
        return None
    return int(text)
