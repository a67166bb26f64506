"""The form of Taking in: its fields, what they become as entries, and the problems of each beside it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime

from weldworth.core.errors import BadInput, Problem
from weldworth.tables import Tables
from weldworth.web.forms import Posted, number_in
from weldworth.workbench.advert import AdvertReading
from weldworth.workbench.checks import check
from weldworth.workbench.fold import Gathered, gather
from weldworth.workbench.taking import free_name

VEHICLE = ("name", "body", "model_year", "number", "odometer", "odometer_unit", "repairs")
SALE = ("kind", "price", "price_high", "closes", "buyer_fee", "seller_place")
RESALE = ("low", "likely", "high")
HISTORY = ("place", "from", "to", "storage", "ground", "salted_winters", "papers")
NUMBERS = frozenset({"model_year", "odometer", "price", "price_high", "low", "likely", "high", "salted_winters"})
MOST_ROWS = 40
Items = list[tuple[str, dict[str, object]]]


@dataclass(frozen=True)
class Typed:
    """What stands in the form. values : field -> text. rows : history, row by row. pictures : (sha256, name).

    claims : entries that the advertisement gave and that are to be kept, as JSON texts.
    """

    values: Mapping[str, str]
    rows: tuple[Mapping[str, str], ...] = ()
    advert: str = ""
    claims: tuple[str, ...] = ()
    pictures: tuple[tuple[str, str], ...] = ()
    was: Mapping[str, str] = field(default_factory=dict)

    @property
    def fields(self) -> frozenset[str]:
        """Every field's name."""
        rows = {f"history.{n}.{key}" for n in range(len(self.rows)) for key in HISTORY}
        return frozenset({*names(), *rows, "advert"})


def names() -> list[str]:
    """Names of the fields but the history's."""
    return [*VEHICLE, *(f"sale.{key}" for key in SALE), *(f"resale.{key}" for key in RESALE)]


def empty_values() -> dict[str, str]:
    """A form that nobody has filled in."""
    return dict.fromkeys(names(), "") | {"odometer_unit": "mi", "sale.kind": "asked"}


def from_advert(reading: AdvertReading) -> Typed:
    """The form as an advertisement fills it, each field with the words that it was read from."""
    values, was = empty_values(), {}
    for table, prefix in ((reading.vehicle, ""), (reading.sale, "sale.")):
        for key, value in table.items():
            if f"{prefix}{key}" in values:
                values[f"{prefix}{key}"] = _shown(key, value)
    for fact in reversed(reading.facts):
        was[fact.key if fact.kind == "vehicle" else f"sale.{fact.key}"] = " ".join(fact.said.words.split())
    claims = tuple(json.dumps([kind, body]) for kind, body in reading.items if kind in ("finding", "answer", "note"))
    return Typed(values, (), reading.text, claims, was=was)


def _shown(key: str, value: object) -> str:
    if key == "closes" and isinstance(value, str) and len(value) == 10:
        return f"{value}T23:59"
    if isinstance(value, int | float) and key in NUMBERS - {"model_year"}:
        return f"{value:,}"
    return str(value)


def from_form(form: Posted) -> Typed:
    """The form as it was sent."""
    counted = [row for row in range(MOST_ROWS) if any(form.text(f"history.{row}.{key}") for key in HISTORY)]
    rows = tuple({key: form.text(f"history.{row}.{key}") for key in HISTORY} for row in counted)
    pictures = [text.partition(" ") for text in form.texts("picture")]
    advert = form.form.get("advert")
    return Typed(
        values=form.values(names()),
        rows=rows,
        advert=advert if isinstance(advert, str) else "",
        claims=tuple(form.texts("claim")),
        pictures=tuple(dict.fromkeys((sha256, name) for sha256, _, name in pictures)),
    )


def entries_of(typed: Typed, tables: Tables, today: date) -> tuple[dict[str, object], Items]:
    """The opening, and the entries to follow it. Raises BadInput with every problem, each named by its field."""
    problems: list[Problem] = []
    opening = {key: _value(key, typed.values[key]) for key in VEHICLE if typed.values[key]}
    if "odometer" not in opening:
        opening.pop("odometer_unit", None)
    blank = gather([])
    kept = _checked("opened", opening, blank, "", problems, tables, today)
    problems = [problem for problem in problems if problem.where or opening]
    gathered = Gathered(vehicle=kept or opening)
    items: Items = []
    for number, row in enumerate(typed.rows):
        body = {key: _value(key, text) for key, text in row.items() if text}
        if "papers" in body:
            body["papers"] = True
        _add(items, "residence", body, f"history.{number}.", problems, gathered, tables, today)
    sale = _sale(typed.values)
    if sale:
        _add(items, "sale", sale, "sale.", problems, gathered, tables, today)
    resale = {key: _value(key, typed.values[f"resale.{key}"]) for key in RESALE if typed.values[f"resale.{key}"]}
    if resale:
        _add(items, "resale", resale, "resale.", problems, gathered, tables, today)
    if typed.advert.strip():
        _add(items, "advert", {"text": typed.advert}, "advert.", problems, gathered, tables, today)
    for kind, body in _claims(typed.claims, problems):
        _add(items, kind, body, "claim.", problems, gathered, tables, today)
    if problems:
        raise BadInput(problems)
    return kept or opening, items


def picture_items(pictures: Iterable[tuple[str, str]]) -> Items:
    """The entries for pictures (hash, name) that have arrived, each under a name that is free."""
    names: list[str] = []
    found: Items = []
    for sha256, name in pictures:
        names.append(free_name(name, names))
        found.append(("picture", {"sha256": sha256, "name": names[-1]}))
    return found


def _add(
    items: Items,
    kind: str,
    body: dict[str, object],
    prefix: str,
    problems: list[Problem],
    gathered: Gathered,
    tables: Tables,
    today: date,
) -> None:
    kept = _checked(kind, body, gathered, prefix, problems, tables, today)
    if kept is not None:
        items.append((kind, kept))


def _checked(
    kind: str, body: dict[str, object], gathered: Gathered, prefix: str, problems: list[Problem], tables: Tables, today: date
) -> dict[str, object] | None:
    try:
        return check(kind, body, gathered, tables, today)
    except BadInput as error:
        problems += [Problem(f"{prefix}{p.where}" if p.where else prefix.rstrip("."), p.text) for p in error.problems]
        return None


def _value(key: str, text: str) -> object:
    """A field's text as a value; what is no number stays text, to be refused in the desk's words."""
    if key in NUMBERS:
        number = number_in(text)
        return text if number is None else int(number) if number.is_integer() else number
    if key in ("from", "to") and text.isdigit():
        return int(text)
    return text


def _sale(values: Mapping[str, str]) -> dict[str, object]:
    """The sale as the desk takes it: one price, or two; the closing time with this machine's zone."""
    found = {key: _value(key, values[f"sale.{key}"]) for key in SALE if values[f"sale.{key}"]}
    if set(found) <= {"kind"}:
        return {}
    if "price" in found and "price_high" in found:
        found["price_low"] = found.pop("price")
    if isinstance(found.get("closes"), str):
        with suppress(ValueError):
            found["closes"] = datetime.fromisoformat(str(found["closes"])).astimezone().isoformat()
    return found


def _claims(texts: Sequence[str], problems: list[Problem]) -> Items:
    found: Items = []
    for text in texts:
        try:
            kind, body = json.loads(text)
            if kind not in ("finding", "answer", "note") or not isinstance(body, dict):
                raise ValueError
            found.append((kind, body))
        except (ValueError, TypeError):
            problems.append(Problem("claim", "a claim came back changed; read the advertisement again"))
    return found
