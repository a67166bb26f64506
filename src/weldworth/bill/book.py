"""The price book of one body: operations, set-ups, paint panels and replacements, read from the tables and checked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import lru_cache

from weldworth.bill.spread import Triple
from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown
from weldworth.tables.load import Row, Tables

MENDED_CONDITIONS = ("surface", "pitted", "holed")
"""The conditions that repairs.csv prices; masked is holed and rework, sound and mended cost nothing."""
HOURS = ("hours_low", "hours_likely", "hours_high")
MATERIAL = ("material_low", "material_likely", "material_high")
Shares = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Operation:
    """One piece of work. hours, material : per unit, h and USD; for "rework" the factors on another operation's.

    setups : share of each set-up it needs. finish : operations that follow once per vehicle. teardown : share of the
    strip-and-look set-up that it asks for.
    """

    code: str
    name: str
    unit: str
    hours: Triple
    material: Triple
    setups: Shares
    finish: tuple[str, ...]
    teardown: float


@dataclass(frozen=True, slots=True)
class Setup:
    """Work that several operations share, charged once. one_side : share of it when one side alone needs it.

    includes : a smaller set-up that comes free with it. mishap, mishap_cost : chance of breakage [-] and its cost, USD.
    """

    code: str
    name: str
    hours: Triple
    material: Triple
    one_side: float
    includes: str
    mishap: float
    mishap_cost: float


@dataclass(frozen=True, slots=True)
class Repair:
    """What one zone kind in one condition needs at one job: an operation, so many units of it, and what comes with it.

    alternative : an operation that does the job as well, taken where cheaper.
    """

    job: str
    operation: str
    quantity: float
    alternative: str
    panels: tuple[str, ...]
    setups: Shares


@dataclass(frozen=True, slots=True)
class Panel:
    """An outer panel for paint. size : against one ordinary panel. session : share of the paint set-up it needs."""

    id: str
    name: str
    sides: tuple[str, ...]
    size: float
    session: float
    blends: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Replacement:
    """A whole part in exchange for the repairs of the zone kinds that it covers, with the set-ups it includes."""

    part: str
    name: str
    covers: tuple[str, ...]
    price: Triple
    hours: Triple
    setups: tuple[str, ...]
    panels: tuple[str, ...]
    caution: str

    def takes(self, kind: str) -> bool:
        """Whether the zone kind comes with the part."""
        return any(fnmatchcase(kind, pattern) for pattern in self.covers)


@dataclass(frozen=True, slots=True, eq=False)
class Book:
    """Every number that the bill of one body rests on. Kept for a version of the tables, so a book is equal to itself alone.

    repairs : zone kind to condition to what it needs. jobs : job to (name, work group). edges : jobs that adjoin.
    consumables : rows of (shop hours, low, likely, high) in USD. overrun : what was seen to (median, P90).
    """

    body: str
    operations: Mapping[str, Operation]
    setups: Mapping[str, Setup]
    repairs: Mapping[str, Mapping[str, tuple[Repair, ...]]]
    jobs: Mapping[str, tuple[str, str]]
    edges: tuple[tuple[str, str], ...]
    panels: Mapping[str, Panel]
    replacements: tuple[Replacement, ...]
    consumables: tuple[tuple[float, Triple], ...]
    overrun: Mapping[str, tuple[float, float]]
    correlation: float
    second_operation: float
    offer_from: float


def load_book(body: str, tables: Tables) -> Book:
    """The price book of `body`; raises BadInput with every problem found in the tables. Kept per table version."""
    return _load(body, tables, tables.version)


@lru_cache(maxsize=32)
def _load(body: str, tables: Tables, version: str) -> Book:
    problems: list[Problem] = []
    setups = _setups(body, tables, problems)
    operations = _operations(tables, setups, problems)
    jobs = {row.text("job"): (row.text("name"), row.text("group")) for row in tables.rows("jobs.csv", ("job", "name", "group"))}
    panels = _panels(body, tables, problems)
    repairs = _repairs(tables, operations, setups, jobs, problems)
    edges = [(row, row.text("job"), row.text("next_job")) for row in tables.rows("edges.csv", ("job", "next_job"))]
    for row, *pair in edges:
        _known(row, "job", pair, jobs, problems)
    replacements = _replacements(body, tables, setups, panels, problems)
    constants = {row.text("name"): row for row in tables.rows("bill.csv", ("name", "value", "meaning"))}
    for name in ("correlation", "second_operation", "offer_from"):
        if name not in constants:
            problems.append(Problem("bill.csv", f"row {name!r} is missing"))
    consumables = tuple(
        (row.number("shop_hours", low=0), _triple(row, ("low", "likely", "high"), problems))
        for row in tables.rows("consumables.csv", ("shop_hours", "low", "likely", "high"))
    )
    overrun = {
        row.text("seen"): (row.number("median", low=0.5), row.number("p90", low=0.5))
        for row in tables.rows("overrun.csv", ("seen", "median", "p90", "meaning"))
    }
    if problems:
        raise BadInput(problems)
    return Book(
        body=body,
        operations=operations,
        setups=setups,
        repairs=repairs,
        jobs=jobs,
        edges=tuple((a, b) for _, a, b in edges),
        panels=panels,
        replacements=replacements,
        consumables=consumables,
        overrun=overrun,
        correlation=constants["correlation"].number("value", low=0, high=1),
        second_operation=constants["second_operation"].number("value", low=0, high=1),
        offer_from=constants["offer_from"].number("value", low=0),
    )


def _known(row: Row, kind: str, words: Iterable[str], known: Iterable[str], problems: list[Problem]) -> None:
    choices = set(known)
    problems += [Problem(row.where, unknown(kind, word, choices)) for word in words if word not in choices]


def _triple(row: Row, columns: tuple[str, str, str], problems: list[Problem]) -> Triple:
    low, likely, high = (row.number(column, low=0) for column in columns)
    if not (low <= likely <= high and (low > 0 or high == 0)):
        text = f"{', '.join(columns)} are {low}, {likely}, {high}; they must be above 0 (or all 0) and must not fall"
        problems.append(Problem(row.where, text))
        return Triple(1.0, 1.0, 1.0)
    return Triple(low, likely, high)


def _shares(row: Row, column: str, known: Iterable[str], problems: list[Problem]) -> dict[str, float]:
    """A cell such as "U.clean:0.3 U.int": set-ups with the share of each that is needed, 1 where none is given."""
    shares: dict[str, float] = {}
    for word in row.text(column).split():
        code, _, share = word.partition(":")
        try:
            shares[code] = float(share or 1)
        except ValueError:
            problems.append(Problem(row.where, f"share of {code} is {share!r}; give a number from 0 to 1"))
    _known(row, "set-up", shares, known, problems)
    return shares


def _setups(body: str, tables: Tables, problems: list[Problem]) -> dict[str, Setup]:
    columns = ("code", "body", "name", *HOURS, *MATERIAL, "one_side", "includes", "mishap", "mishap_cost")
    found: dict[str, Setup] = {}
    for row in sorted(tables.rows("setups.csv", columns), key=lambda row: row.text("body") == body):
        if row.text("body") not in ("", body):
            continue
        found[row.text("code")] = Setup(
            code=row.text("code"),
            name=row.text("name"),
            hours=_triple(row, HOURS, problems),
            material=_triple(row, MATERIAL, problems),
            one_side=row.number("one_side", low=0, high=1),
            includes=row.text("includes"),
            mishap=row.number("mishap", low=0, high=1),
            mishap_cost=row.number("mishap_cost", low=0),
        )
    return dict(sorted(found.items()))


def _operations(tables: Tables, setups: Mapping[str, Setup], problems: list[Problem]) -> dict[str, Operation]:
    columns = ("code", "name", "scope", "unit", *HOURS, *MATERIAL, "setups", "finish", "teardown")
    rows = tables.rows("operations.csv", columns)
    codes = [row.text("code") for row in rows]
    for row in rows:
        _known(row, "operation", row.text("finish").split(), codes, problems)
    return {
        row.text("code"): Operation(
            code=row.text("code"),
            name=row.text("name"),
            unit=row.text("unit"),
            hours=_triple(row, HOURS, problems),
            material=_triple(row, MATERIAL, problems),
            setups=_shares(row, "setups", setups, problems),
            finish=tuple(row.text("finish").split()),
            teardown=row.number("teardown", low=0, high=1),
        )
        for row in rows
    }


def _repairs(
    tables: Tables,
    operations: Mapping[str, Operation],
    setups: Mapping[str, Setup],
    jobs: Mapping[str, tuple[str, str]],
    problems: list[Problem],
) -> dict[str, dict[str, tuple[Repair, ...]]]:
    columns = ("zone", "condition", "job", "operation", "quantity", "alternative", "panels", "setups")
    found: dict[str, dict[str, tuple[Repair, ...]]] = {}
    for row in tables.rows("repairs.csv", columns):
        zone, condition, operation = row.text("zone"), row.text("condition"), row.text("operation")
        alternative = row.text("alternative")
        _known(row, "condition", [condition], MENDED_CONDITIONS, problems)
        _known(row, "job", [row.text("job")], jobs, problems)
        _known(row, "operation", [alternative] if alternative else [], operations, problems)
        zone_rows = found.setdefault(zone, {})
        if operation == "none":
            zone_rows.setdefault(condition, ())
            continue
        _known(row, "operation", [operation], operations, problems)
        own = operations[operation].setups if operation in operations else {}
        repair = Repair(
            job=row.text("job"),
            operation=operation,
            quantity=row.number("quantity", low=0.01),
            alternative=alternative,
            panels=tuple(row.text("panels").split()),
            setups={} if row.text("setups") == "-" else _shares(row, "setups", setups, problems) or own,
        )
        zone_rows[condition] = (*zone_rows.get(condition, ()), repair)
    for zone, conditions in found.items():
        for condition in MENDED_CONDITIONS:
            if condition not in conditions:
                problems.append(Problem("repairs.csv", f"zone {zone} has no row for {condition}; add one, or operation none"))
    return found


def _words(row: Row, column: str) -> tuple[str, ...]:
    return tuple(row.text(column).split())


def _sides(text: str) -> tuple[str, ...]:
    return ("l", "r") if text == "L+R" else ("",)


def _panels(body: str, tables: Tables, problems: list[Problem]) -> dict[str, Panel]:
    rows = [
        row
        for row in tables.rows("panels.csv", ("body", "panel", "name", "sides", "size", "session", "blends"))
        if row.text("body") == body
    ]
    known = {row.text("panel") for row in rows}
    for row in rows:
        _known(row, "panel", [word.removesuffix(".r").removesuffix(".l") for word in row.text("blends").split()], known, problems)
    return {
        row.text("panel"): Panel(
            id=row.text("panel"),
            name=row.text("name"),
            sides=_sides(row.text("sides")),
            size=row.number("size", low=0.01),
            session=row.number("session", low=0, high=1),
            blends=tuple(row.text("blends").split()),
        )
        for row in rows
    }


def _replacements(
    body: str, tables: Tables, setups: Mapping[str, Setup], panels: Mapping[str, Panel], problems: list[Problem]
) -> tuple[Replacement, ...]:
    columns = ("body", "part", "name", "operation", "covers", "price_low", "price_likely", "price_high", *HOURS)
    found = []
    for row in tables.rows("replacements.csv", (*columns, "setups", "panels", "caution")):
        if row.text("body") != body:
            continue
        _known(row, "set-up", _words(row, "setups"), setups, problems)
        _known(row, "panel", _words(row, "panels"), panels, problems)
        found.append(
            Replacement(
                part=row.text("part"),
                name=row.text("name"),
                covers=_words(row, "covers"),
                price=_triple(row, ("price_low", "price_likely", "price_high"), problems),
                hours=_triple(row, HOURS, problems),
                setups=_words(row, "setups"),
                panels=_words(row, "panels"),
                caution=row.text("caution"),
            )
        )
    return tuple(found)
