"""On what terms the vehicle is mended: who works, at what rate, how far, and with what paint."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

from weldworth.bill.spread import Triple
from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown
from weldworth.tables.load import Tables

PAINTS = ("full", "none")
REPAIRS = ("all", "needed", "structural", "none")
TERM_KEYS = ("labour_rate", "own_hours", "own_rate", "paint", "repair", "currency", "per_usd")
"""The keys that `terms_from` reads."""


@dataclass(frozen=True, slots=True)
class RepairTerms:
    """The shop's terms of repair.

    labour_rate : what an hour of labour costs, in `currency`. own_hours : hours that the owner works himself; the first
    so many hours of the whole job are charged at own_rate instead. paint : "full" refinishes repaired panels, blends
    the next and resprays the whole vehicle where that is cheaper; "none" sells it as it stands. repair : "all";
    "needed" (holes and covered metal everywhere, thinned metal where it carries load, film where it shows; the rest is
    left and disclosed); only "structural" zones (those marked yes in the plan); or "none". currency : of every amount in
    the bill. per_usd : units of `currency` that one US dollar buys, because the tables' materials are in US dollars.
    """

    labour_rate: Triple
    own_hours: float = 0.0
    own_rate: float = 0.0
    paint: str = "full"
    repair: str = "all"
    currency: str = "USD"
    per_usd: float = 1.0


def default_terms(tables: Tables) -> RepairTerms:
    """The terms of rates.csv: a restoration-capable body shop, everything mended and painted."""
    rates = {row.text("name"): row for row in tables.rows("rates.csv", ("name", "low", "likely", "high", "unit", "meaning"))}
    problems = [Problem("rates.csv", f"row {name!r} is missing") for name in ("labour_rate", "own_rate") if name not in rates]
    if problems:
        raise BadInput(problems)
    low, likely, high = (rates["labour_rate"].number(c, low=0.01) for c in ("low", "likely", "high"))
    if not low <= likely <= high:
        raise BadInput([Problem(rates["labour_rate"].where, f"labour_rate {low}, {likely}, {high} must not fall")])
    return RepairTerms(Triple(low, likely, high), own_rate=rates["own_rate"].number("likely", low=0))


def terms_from(mapping: Mapping[str, object], tables: Tables, *, where: str = "shop") -> RepairTerms:
    """Repair terms from a shop's settings, over the defaults of the tables.

    labour_rate may be one number (a firm rate) or three numbers low, likely, high. Raises BadInput with every problem
    found: unknown keys with the nearest known one, numbers below 0, a rate whose three figures fall.
    """
    base = default_terms(tables)
    problems = [Problem(where, unknown("key", key, TERM_KEYS)) for key in mapping if key not in TERM_KEYS]
    rate = _rate(mapping["labour_rate"], where, problems) if "labour_rate" in mapping else base.labour_rate
    currency = mapping.get("currency", base.currency)
    if not (isinstance(currency, str) and len(currency) == 3 and currency.isalpha() and currency.isupper()):
        problems.append(Problem(where, f"currency is {currency!r}; give three capital letters such as 'USD'"))
    elif currency != "USD":
        for key in ("labour_rate", "per_usd"):
            if key not in mapping:
                problems.append(Problem(where, f"{key} is missing; the tables are in USD, so give it for {currency}"))
    terms = RepairTerms(
        labour_rate=rate or base.labour_rate,
        own_hours=_amount(mapping, "own_hours", base.own_hours, where, problems),
        own_rate=_amount(mapping, "own_rate", base.own_rate, where, problems),
        paint=_word(mapping, "paint", base.paint, PAINTS, where, problems),
        repair=_word(mapping, "repair", base.repair, REPAIRS, where, problems),
        currency=str(currency),
        per_usd=_amount(mapping, "per_usd", base.per_usd, where, problems),
    )
    if "per_usd" in mapping and terms.per_usd == 0:
        problems.append(Problem(where, "per_usd is 0; give the units of the currency that one US dollar buys"))
    if problems:
        raise BadInput(problems)
    return terms


def _number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        return None
    return float(value)


def _amount(mapping: Mapping[str, object], key: str, default: float, where: str, problems: list[Problem]) -> float:
    if key not in mapping:
        return default
    value = _number(mapping[key])
    if value is None or value < 0:
        problems.append(Problem(where, f"{key} is {mapping[key]!r}; give a number of 0 or more"))
        return default
    return value


def _word(
    mapping: Mapping[str, object], key: str, default: str, known: tuple[str, ...], where: str, problems: list[Problem]
) -> str:
    value = mapping.get(key, default)
    if not isinstance(value, str) or value not in known:
        problems.append(Problem(where, unknown(f"{key} value", str(value), known)))
        return default
    return value


def _rate(value: object, where: str, problems: list[Problem]) -> Triple | None:
    figures = [_number(v) for v in value] if isinstance(value, list | tuple) else [_number(value)] * 3
    good = [f for f in figures if f is not None and f > 0]
    if len(figures) != 3 or len(good) != 3:
        problems.append(Problem(where, f"labour_rate is {value!r}; give one number above 0, or three: low, likely, high"))
        return None
    if not good[0] <= good[1] <= good[2]:
        problems.append(Problem(where, f"labour_rate is {value!r}; low, likely, high must not fall"))
        return None
    return Triple(*good)
