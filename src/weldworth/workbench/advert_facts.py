"""The facts of an advertisement that are told by numbers and names: year, mileage, price, number, place, closing day, fee."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from weldworth.core.errors import BadInput
from weldworth.exposure.places import find_place
from weldworth.tables.load import Tables
from weldworth.workbench.document import EARLIEST_MODEL_YEAR

LONGEST_NAME = 80
YOUNGEST = 20
"""A number is taken for a model year where it lies at least so many years back: later ones are dates of the sale."""


@dataclass(frozen=True, slots=True)
class Said:
    """Words of the advertisement: text[start:end]."""

    words: str
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Fact:
    """One fact: `key` of the table [vehicle] or [sale] (`kind`), its value, and where it is said."""

    kind: str
    key: str
    value: object
    said: Said


def said_at(match: re.Match[str], group: int = 0) -> Said:
    """The words of a match, or of one group of it."""
    return Said(match[group], match.start(group), match.end(group))


_YEAR = re.compile(r"(?<![\d$,.])(1[89]\d\d|20\d\d)(?![\d,]|\.\d)")
_NOT_A_MODEL_YEAR = re.compile(
    r"(?:since|until|till|from|in|restored|painted|parked|bought|owned|before|after|to)\s*$|[-\u2013]\s*$", re.I
)
_MILES = re.compile(
    r"(?<![\w.,$])(\d{1,3}(?:,\d{3})+|\d+(?:\.\d+)?)\s*(k)?\s*(?:original\s+|actual\s+)?(miles|mi|kilometers|km)\b", re.I
)
_PRICE = re.compile(
    r"(?:(?:US)?\$|USD|(?:asking|price)\s*(?:is|:)?\s*\$?)\s*(\d{1,3}(?:,\d{3})+|\d{3,7}|\d{1,3}(?=\s*k\b))(?!\d|\s*(?:miles|mi|km)\b)(\s*k\b)?",
    re.I,
)
_TOWN = re.compile(r"\b((?:[A-Z][a-z.]+[ ]){0,2}[A-Z][a-z]+),\s*([A-Z]{2})\b")
_CODE = re.compile(r"\bzip(?:\s*code)?:?\s*(\d{5})\b", re.I)
_NUMBER = re.compile(
    r"\b(?:vin|serial(?:\s*(?:number|no\.?))?|chassis(?:\s*(?:number|no\.?))?)\s*[:#]?\s*([A-Z0-9][A-Z0-9-]{4,16})\b", re.I
)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_CLOSES = re.compile(
    r"\b(?:auction|bidding|sale|listing)?\s*(?:ends|closes|closing|ending)\s*(?:on|:)?\s*"
    r"(?:(\d{4}-\d\d-\d\d)|(" + "|".join(_MONTHS) + r")[a-z]*\.?\s+(\d{1,2})(?:st|nd|rd|th)?(?:,?\s+(\d{4}))?)",
    re.I,
)
_AUCTION = re.compile(r"\b(auction|bidding|current bid|no reserve|reserve not met)\b", re.I)
_FEE = re.compile(r"\b(?:buyer'?s?\s+(?:fee|premium))\s*(?:of|is|:)?\s*(\d{1,2}(?:\.\d+)?)\s*%", re.I)


def facts_of(text: str, tables: Tables, today: date) -> Iterator[Fact]:
    """Facts told by numbers and names. The first of each kind counts."""
    title = re.search(r"\S[^\n]*", text)
    if title and len(title[0].strip()) <= LONGEST_NAME:
        yield Fact(
            "vehicle", "name", title[0].strip(), Said(title[0].strip(), title.start(), title.start() + len(title[0].strip()))
        )
    for match in _YEAR.finditer(text):
        before = text[max(0, match.start() - 12) : match.start()]
        fit = EARLIEST_MODEL_YEAR <= int(match[1]) <= today.year - YOUNGEST
        if fit and not _NOT_A_MODEL_YEAR.search(before):
            yield Fact("vehicle", "model_year", int(match[1]), said_at(match))
            break
    miles = _MILES.search(text)
    if miles:
        value = float(miles[1].replace(",", "")) * (1000 if miles[2] else 1)
        yield Fact("vehicle", "odometer", int(value) if value.is_integer() else value, said_at(miles))
        yield Fact("vehicle", "odometer_unit", "km" if miles[3].lower().startswith("k") else "mi", said_at(miles, 3))
    number = next((m for m in _NUMBER.finditer(text) if any(c.isdigit() for c in m[1])), None)
    if number:
        yield Fact("vehicle", "number", number[1].upper(), said_at(number))
    price = _PRICE.search(text)
    if price:
        yield Fact("sale", "price", int(price[1].replace(",", "")) * (1000 if price[2] else 1), said_at(price))
    yield from _sale_facts(text, tables, today)


def _sale_facts(text: str, tables: Tables, today: date) -> Iterator[Fact]:
    auction, closes, fee = _AUCTION.search(text), _CLOSES.search(text), _FEE.search(text)
    if auction or closes:
        yield Fact("sale", "kind", "auction", said_at(auction or closes))  # type: ignore[arg-type]
    day = _day(closes, today) if closes else None
    if closes and day:
        yield Fact("sale", "closes", day.isoformat(), said_at(closes))
    if fee:
        yield Fact("sale", "buyer_fee", f"{fee[1]} %", said_at(fee))
    for match in [*_TOWN.finditer(text), *_CODE.finditer(text)]:
        place = f"{match[1]}, {match[2]}" if match.re is _TOWN else match[1]
        try:
            find_place(place, tables)
        except BadInput:
            continue
        yield Fact("sale", "seller_place", place, said_at(match))
        break


def _day(match: re.Match[str], today: date) -> date | None:
    """The day that a closing names; without a year the next such day."""
    try:
        if match[1]:
            return date.fromisoformat(match[1])
        month = _MONTHS.index(match[2].lower()) + 1
        if match[4]:
            return date(int(match[4]), month, int(match[3]))
        day = date(today.year, month, int(match[3]))
        return day if day >= today else date(today.year + 1, month, int(match[3]))
    except ValueError:
        return None
