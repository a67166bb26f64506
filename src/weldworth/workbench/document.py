"""candidate.toml as values: [vehicle], [sale], [resale] and [shop]; history and records have modules of their own."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date

from weldworth.ceiling.fees import parse_fee
from weldworth.ceiling.terms import SALE_KINDS
from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import nearest
from weldworth.exposure.places import find_place
from weldworth.tables.load import Tables
from weldworth.vehicle.plan import Plan
from weldworth.vehicle.plans import load_plan, plan_options
from weldworth.vehicle.vehicle import Vehicle
from weldworth.workbench.deal import SHOP_KEYS, shop_terms
from weldworth.workbench.dossier import ResaleView, Sale
from weldworth.workbench.fields import LONGEST_WORD, Fields, listed, shown, spelled

VEHICLE_KEYS = (
    "name",
    "body",
    "model_year",
    "number",
    "odometer",
    "odometer_unit",
    "battery_side",
    "options",
    "built",
    "repairs",
)
SALE_KEYS = ("kind", "price", "price_low", "price_high", "closes", "buyer_fee", "seller_place", "bidders")
RESALE_KEYS = ("low", "likely", "high")
ONE_TABLE = ("vehicle", "sale", "resale", "shop")
MANY_ITEMS = ("history", "picture", "finding", "reading", "answer")
EARLIEST_MODEL_YEAR = 1900
MOST_BIDDERS = 1000
ABSURD = 1e15
UNKNOWN = "unknown"


@dataclass
class Document:
    """The parsed file, and every problem found in it so far."""

    file: str
    data: Mapping[str, object]
    today: date
    problems: list[Problem] = field(default_factory=list)

    def __post_init__(self) -> None:
        for key in self.data:
            if key in (*ONE_TABLE, *MANY_ITEMS):
                continue
            best = nearest(key, (*ONE_TABLE, *MANY_ITEMS)) if len(key) <= LONGEST_WORD else None
            own = [
                name for name, keys in (("vehicle", VEHICLE_KEYS), ("sale", SALE_KEYS), ("resale", RESALE_KEYS)) if key in keys
            ]
            remedy = f"put it below [{own[0]}]" if own else f"nearest: {best!r}" if best else listed((*ONE_TABLE, *MANY_ITEMS))
            self.refuse(f"{'key' if own else 'table'} {shown(key)} is not known here; {remedy}")

    def refuse(self, text: str) -> None:
        """Record a problem of the file as a whole."""
        self.problems.append(Problem(self.file, text))

    def table(self, name: str, keys: Iterable[str] | None = None) -> Fields | None:
        """The table [name], or None when it is absent or no table; `keys` None leaves its keys unchecked."""
        value = self.data.get(name)
        if value is None:
            return None
        if not isinstance(value, dict):
            self.refuse(f"{name} is {shown(value)}; write it as one table [{name}]")
            return None
        return Fields(value, f"{self.file}: {name}", value if keys is None else keys, self.problems, self.today)

    def items(self, name: str) -> list[tuple[int, Mapping[str, object]]]:
        """The items [[name]] with their numbers from 1."""
        value = self.data.get(name, [])
        if isinstance(value, list) and all(isinstance(item, dict) for item in value):
            return list(enumerate(value, start=1))
        self.refuse(f"{name} is {shown(value)}; write each item as [[{name}]] with double brackets")
        return []

    def checked(self, where: str, check: Callable[[], object]) -> None:
        """Run a check that raises BadInput and keep its problems."""
        try:
            check()
        except BadInput as error:
            self.problems += [Problem(problem.where or where, problem.text) for problem in error.problems]


def read_plans(document: Document, vehicle: Vehicle, tables: Tables) -> tuple[Plan | None, Plan | None]:
    """The body plan laid out for this vehicle, and the same with every option fitted; None where the body is not known."""
    if not vehicle.body:
        return None, None
    try:
        known = plan_options(vehicle.body, tables)
        where = f"{document.file}: vehicle"
        for option in vehicle.options:
            if option not in known:
                text = (
                    spelled("option", option, known) if known else f"option {shown(option)}: body {vehicle.body!r} has no options"
                )
                document.problems.append(Problem(where, text))
        fitted = [option for option in vehicle.options if option in known]
        plan = load_plan(vehicle.body, tables, battery_side=vehicle.battery_side, options=fitted)
        return plan, load_plan(vehicle.body, tables, battery_side=vehicle.battery_side, options=list(known))
    except BadInput as error:
        document.problems += error.problems
        return None, None


def read_vehicle(document: Document, tables: Tables) -> tuple[Vehicle, float | None, str]:
    """The vehicle, when it was built as a year with fraction, and the repair history believed; body is "" when not known."""
    fields = document.table("vehicle", VEHICLE_KEYS)
    if fields is None:
        if "vehicle" not in document.data:
            document.refuse("table [vehicle] is missing; write [vehicle] with at least name and body")
        return Vehicle("", ""), None, UNKNOWN
    odometer = fields.number("odometer", low=0)
    unit = fields.word("odometer_unit", ("mi", "km"), kind="unit")
    built = fields.day("built")
    histories = [row.text("history") for row in tables.rows("repair_history.csv", ("history", "name", "repaired", "well"))]
    repairs = fields.word("repairs", histories, kind="repair history")
    vehicle = Vehicle(
        name=fields.text("name", required=True, remedy="give the vehicle a name of your own") or "",
        body=fields.word("body", tables.plan_names(), required=True) or "",
        model_year=fields.whole("model_year", low=EARLIEST_MODEL_YEAR, high=document.today.year + 1),
        number=fields.text("number", remedy="give the vehicle's number as text in quotes"),
        odometer=odometer,
        odometer_unit=unit or "mi",
        battery_side=fields.word("battery_side", ("left", "right"), kind="side"),
        options=fields.words("options"),
    )
    return vehicle, None if built is None else year_of(built), repairs or UNKNOWN


def year_of(day: date) -> float:
    """A day as a year with fraction.

    >>> year_of(date(1974, 7, 2))
    1974.4986301369863
    """
    return day.year + (day.timetuple().tm_yday - 1) / date(day.year, 12, 31).timetuple().tm_yday


def read_sale(document: Document, tables: Tables) -> Sale | None:
    """How it is sold, or None where the file does not say."""
    fields = document.table("sale", SALE_KEYS)
    if fields is None:
        return None
    kind = fields.word("kind", SALE_KINDS, required=True, kind="kind of sale")
    low, high = _prices(fields)
    fee, place = fields.text("buyer_fee", remedy='write it in quotes, such as "5 % min 250"'), fields.text("seller_place")
    if fee is not None:
        document.checked(fields.where, lambda: parse_fee(fee, f"{fields.where}: buyer_fee"))
    if place is not None:
        document.checked(fields.where, lambda: find_place(place, tables, where=f"{fields.where}: seller_place"))
    closes, bidders = fields.moment("closes"), fields.whole("bidders", low=0, high=MOST_BIDDERS)
    return None if kind is None else Sale(kind, low, high, closes, fee, place, bidders)


def _prices(fields: Fields) -> tuple[float | None, float | None]:
    """Lowest and highest price: price alone, or price_low with price_high, or none."""
    price, low, high = fields.money("price"), fields.money("price_low"), fields.money("price_high")
    ends = [key for key in ("price_low", "price_high") if key in fields]
    if "price" in fields and ends:
        fields.refuse(f"price and {ends[0]} are both given; give price, or price_low with price_high")
        return None, None
    if len(ends) == 1:
        other = "price_high" if ends == ["price_low"] else "price_low"
        fields.refuse(f"{ends[0]} is given without {other}; give both, or price alone")
        return None, None
    if low is not None and high is not None and low > high:
        fields.refuse(f"price_low {low:g} is above price_high {high:g}; swap them")
    return (price, price) if "price" in fields else (low, high)


def read_resale(document: Document) -> ResaleView | None:
    """The trader's own view of the resale, or None where the file has none."""
    fields = document.table("resale", RESALE_KEYS)
    if fields is None:
        return None
    low, likely, high = (fields.money(key, required=True) for key in RESALE_KEYS)
    if low is None or likely is None or high is None:
        return None
    if not low <= likely <= high:
        fields.refuse(f"low {low:g}, likely {likely:g} and high {high:g} are out of order; give low <= likely <= high")
    return ResaleView(low, likely, high)


def read_shop(document: Document, tables: Tables) -> dict[str, object]:
    """The terms of the shop that this dossier overrides, by name."""
    fields = document.table("shop", SHOP_KEYS)
    if fields is None:
        return {}
    terms: dict[str, object] = {}
    for key in (key for key in fields.values if key in SHOP_KEYS):
        value = fields.values[key]
        if all(map(_plain, value)) if isinstance(value, list) else _plain(value):
            terms[key] = value
        else:
            fields.refuse(f"{key} is {shown(value)}; give a number or a word")
    document.checked(fields.where, lambda: shop_terms(terms, tables))
    return terms


def _plain(value: object) -> bool:
    """Text, or a number that is finite and not absurdly large."""
    return isinstance(value, str) or (isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < ABSURD)
