"""The terms of the shop as a form: what each is called, how it is typed, and where its shipped number comes from."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from weldworth.bill.terms import PAINTS, REPAIRS
from weldworth.ceiling.terms import OTHERS_SEE
from weldworth.ceiling.transport import BY
from weldworth.report.numbers import plainly
from weldworth.tables import Tables
from weldworth.web.forms import Posted, number_in
from weldworth.workbench.ledger import Json


@dataclass(frozen=True, slots=True)
class Term:
    """One term. kind : share, money, number, whole, rate, text, or words (then `words` lists them as (value, label))."""

    key: str
    label: str
    note: str
    kind: str
    words: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Shipped:
    """The tables' number for a term, as typed, with basis and source; `value` "" where the tables have none."""

    value: str
    basis: str
    source: str
    as_of: str


def _words(values: tuple[str, ...], labels: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    return tuple((value, labels.get(value, value)) for value in values)


SECTIONS: tuple[tuple[str, tuple[Term, ...]], ...] = (
    (
        "What a deal has to bring",
        (
            Term("chance_of_loss", "Highest chance of a loss", "of 100 vehicles bought at the ceiling", "share"),
            Term("margin", "Profit wanted, as a share", "of all money put in", "share"),
            Term("margin_least", "Profit wanted, at the least", "the greater of the two holds", "money"),
            Term("bidders_auction", "Others who bid at an auction", "seriously, beside us", "whole"),
            Term("bidders_asked", "Others at an asked price", "seriously, beside us", "whole"),
            Term(
                "others_see",
                "What the others see",
                "against what we see of the vehicle",
                "words",
                _words(OTHERS_SEE, {"less": "less", "same": "the same", "more": "more"}),
            ),
        ),
    ),
    (
        "Selling and holding",
        (
            Term("selling_cost", "Selling takes", "of the resale price", "share"),
            Term("holding_months", "Months held", "from buying to being paid", "number"),
            Term("holding_per_month", "A month costs", "storage, insurance, money", "money"),
            Term("mechanical_reserve", "Set aside for what is not metal", "on every vehicle", "money"),
            Term("tax", "Tax on buying", "on price and buyer’s fee", "share"),
            Term("title_cost", "Title and papers", "on every vehicle", "money"),
            Term("currency", "Currency", "three letters", "text"),
            Term("per_usd", "One US dollar buys", "of that currency; the tables are in dollars", "number"),
        ),
    ),
    (
        "Repair",
        (
            Term("labour_rate", "An hour of labor", "one figure, or lowest, likely, highest", "rate"),
            Term("own_hours", "Hours of one’s own", "on each vehicle", "number"),
            Term("own_rate", "charged at", "an hour", "money"),
            Term("paint", "Paint", "of mended panels", "words", _words(PAINTS, {"full": "painted", "none": "sold without"})),
            Term(
                "repair",
                "What is mended",
                "the rest is left and disclosed",
                "words",
                _words(
                    REPAIRS, {"all": "everything", "needed": "what it needs", "structural": "what carries", "none": "nothing"}
                ),
            ),
        ),
    ),
    (
        "Fetching",
        (
            Term("place", "Where the shop is", "postal code, or Town, ST", "text"),
            Term("transport_by", "Fetched", "", "words", _words(BY, {"carrier": "by a carrier", "own": "on our own trailer"})),
            Term("transport", "Fetching always costs", "leave empty to reckon it by the distance", "money"),
            Term("transport_adders", "Beside it", "parted by commas", "text"),
        ),
    ),
)
TERMS = tuple(term for _, terms in SECTIONS for term in terms)


def shipped(tables: Tables) -> dict[str, Shipped]:
    """The tables' numbers of the terms, by key."""
    found = {}
    kinds = {term.key: term.kind for term in TERMS}
    for row in tables.rows("deal.csv", ("name", "value", "meaning")):
        key = row.text("name")
        text = typed(_plain(row.text("value")), kinds.get(key, "text"))
        found[key] = Shipped(text, row.text("basis"), row.text("source"), row.text("as_of"))
    for row in tables.rows("rates.csv", ("name", "low", "likely", "high", "unit", "meaning")):
        figures = [row.number(name) for name in ("low", "likely", "high")]
        text = plainly(figures[1]) if len(set(figures)) == 1 else ", ".join(plainly(figure) for figure in figures)
        found[row.text("name")] = Shipped(text, row.text("basis"), row.text("source"), row.text("as_of"))
    return found


def _plain(text: str) -> object:
    try:
        return float(text)
    except ValueError:
        return text


def typed(value: object, kind: str) -> str:
    """A term as one would type it.

    >>> typed(0.075, "share"), typed(2500.0, "money"), typed([75, 100, 140], "rate")
    ('7.5 %', '2,500', '75, 100, 140')
    """
    if value is None:
        return ""
    if isinstance(value, list | tuple):
        return ", ".join(plainly(float(one)) for one in value)
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{plainly(100 * value, 2)} %" if kind == "share" else plainly(float(value), 2)
    return str(value)


def read_terms(form: Posted) -> dict[str, object]:
    """The terms as typed; what cannot be read stays text, for the desk to refuse with its reasons."""
    return {term.key: _read(form.text(term.key), term.kind) for term in TERMS if form.text(term.key)}


def _read(text: str, kind: str) -> object:
    if kind in ("text", "words"):
        return text
    if kind == "rate":
        parts = [number_in(part) for part in re.split(r"(?:\s*;\s*|\s*,\s+|\s+to\s+|\s+)", text) if part]
        figures = [part for part in parts if part is not None]
        if len(figures) != len(parts):
            return text
        return figures[0] if len(figures) == 1 else figures
    value = number_in(text)
    if value is None:
        return text
    if kind == "share" and "%" not in text and value > 1:
        return value / 100
    return int(value) if kind == "whole" and value.is_integer() else value


def changes(before: Json, after: Json) -> list[str]:
    """What one version changed against the one before, in words."""
    kinds = {term.key: term for term in TERMS}
    told = []
    for key in [*dict.fromkeys([*before, *after])]:
        if before.get(key) != after.get(key):
            term = kinds.get(key, Term(key, key, "", "text"))
            old, new = typed(before.get(key), term.kind), typed(after.get(key), term.kind)
            told.append(f"{term.label}: {new or 'as the tables'}, before {old or 'as the tables'}")
    return told
