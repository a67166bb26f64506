"""Comparable sales drawn: the price against the day of sale, the miles or the model year, with the vehicle's own spread on it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from math import log10

import numpy as np

from weldworth.ceiling.columns import spoken
from weldworth.ceiling.compared import Compared, Comparison
from weldworth.ceiling.resale import Resale, Target, value_of
from weldworth.report.numbers import money, plainly, span, ticks

WIDE, TALL = 1000.0, 380.0
LEFT, RIGHT, TOP, FOOT = 76.0, 780.0, 24.0, 330.0
PLOTTED = ("sold_on", "mileage", "model_year")


@dataclass(frozen=True, slots=True)
class Dot:
    """One sale on the plot. y : its price; alike : its price if it were alike the vehicle. number : its line in the table.

    apart : drawn open, with its number beside it.
    """

    x: float
    y: float
    alike: float
    number: int
    apart: bool
    title: str


@dataclass(frozen=True)
class Plot:
    """The drawing. choices : (column, words, whether it is the one shown). line : path of what the sales say at each place, all
    else as the vehicle is. own : across of the vehicle; spread : its 10, 50 and 90 per cent points down the drawing.
    """

    choices: tuple[tuple[str, str, bool], ...]
    dots: tuple[Dot, ...]
    line: str
    own: float
    spread: tuple[float, float, float]
    spread_text: str
    middle_text: str
    across: tuple[tuple[float, str], ...]
    down: tuple[tuple[float, str], ...]
    about: str


@dataclass(frozen=True, slots=True)
class SaleRow:
    """One sale in the table. line : of the comparables file, for taking it out. words : why it lies apart, else ""."""

    number: int
    line: int
    name: str
    sold: str
    miles: str
    year: str
    state: str
    price: str
    alike: str
    counts: str
    words: str


def rows_of(found: Comparison) -> tuple[SaleRow, ...]:
    """The sales as a table, as they stand in the file."""
    return tuple(_row(number, one) for number, one in enumerate(found.sales, start=1))


def _row(number: int, one: Compared) -> SaleRow:
    sale = one.sale
    return SaleRow(
        number=number,
        line=int(sale.where.rpartition(" ")[2]),
        name=sale.name,
        sold=f"{sale.sold_on.day} {sale.sold_on:%b %Y}" if sale.sold_on else "",
        miles=plainly(sale.mileage, 0) if sale.mileage is not None else "",
        year=str(sale.model_year or ""),
        state=sale.state or "",
        price=money(sale.price),
        alike=money(one.alike),
        counts=plainly(one.weight, 1) if one.weight >= 0.05 else "hardly",
        words=_apart(one) if one.apart else "",
    )


def _apart(one: Compared) -> str:
    """Why a sale lies apart, and what to do about it."""
    share = abs(one.sale.price / one.usual - 1)
    way = "more" if one.sale.price > one.usual else "less"
    far = f"{100 * share:.0f} in 100 {way}" if share < 1 else f"{plainly(one.sale.price / one.usual)} times as much"
    counts = f"{plainly(one.weight)} of a sale" if one.weight >= 0.05 else "hardly at all"
    return (
        f"Lies apart: the other sales say about {money(one.usual)} for it, this is {far}. The further a sale lies from the "
        f"others the less it counts, here {counts}. See whether the price is right, the vehicle was "
        "finished and is the same model; where not, take it out."
    )


def plot(found: Comparison, resale: Resale, by: str, name: str) -> Plot:
    """The sales over one column: the one asked for, else the first in which they differ."""

    def at(one: Compared | Target, column: str) -> float | None:
        return value_of(one.sale if isinstance(one, Compared) else one, column, found.known)

    usable = [column for column in PLOTTED if len({at(one, column) for one in found.sales} - {None}) > 1]
    column = by if by in usable else usable[0] if usable else ""
    known = [(n, one) for n, one in enumerate(found.sales, start=1) if not column or at(one, column) is not None]
    values = [float(at(one, column) or 0.0) if column else float(n) for n, one in known]
    own_value = at(found.target, column) if column else None
    reach = [*values, *([own_value] if own_value is not None else [])]
    low, high = min(reach), max(reach)
    pad = (high - low) * 0.04 or 1.0
    low, high = low - pad, high + pad
    steps = ticks(max(*(max(one.sale.price, one.alike) for _, one in known), resale.p90))
    top = steps[-1]

    def across(value: float) -> float:
        return round(LEFT + (value - low) / (high - low) * (RIGHT - LEFT), 1)

    def down(price: float) -> float:
        return round(FOOT - min(price / top, 1.06) * (FOOT - TOP), 1)

    places = np.linspace(low, high, 40)
    says = found.along(column, [float(place) for place in places]) if column in found.columns else np.empty(0)
    path = "L".join(f"{across(float(x))} {down(float(y))}" for x, y in zip(places, says, strict=False))
    dots = tuple(
        Dot(across(value), down(one.sale.price), down(one.alike), n, one.apart, _title(n, one))
        for value, (n, one) in zip(values, known, strict=True)
    )
    return Plot(
        choices=tuple((one, spoken(one), one == column) for one in usable),
        dots=dots,
        line=f"M{path}" if path else "",
        own=across(own_value) if own_value is not None else RIGHT + 30,
        spread=(down(resale.p10), down(resale.p50), down(resale.p90)),
        spread_text=span(resale.p10, resale.p90),
        middle_text=money(resale.p50),
        across=_marks(column, low, high, across),
        down=tuple((down(step), money(step)) for step in steps),
        about=f"{len(dots)} sales from {money(min(one.sale.price for _, one in known))} to "
        f"{money(max(one.sale.price for _, one in known))}; {name} would bring {span(resale.p10, resale.p90)}, 8 times in 10",
    )


def _title(number: int, one: Compared) -> str:
    parts = [one.sale.name, money(one.sale.price), f"{one.sale.sold_on:%b %Y}" if one.sale.sold_on else ""]
    return f"{number}: " + ", ".join(part for part in parts if part)


def _marks(column: str, low: float, high: float, across: Callable[[float], float]) -> tuple[tuple[float, str], ...]:
    """Places along the foot with their words."""
    if column == "sold_on":
        first, last = date.fromordinal(round(low)), date.fromordinal(round(high))
        months = [date(year, month, 1) for year in range(first.year, last.year + 1) for month in (1, 4, 7, 10)]
        inside = [day for day in months if first <= day <= last]
        inside = [day for day in inside if day.month == 1] if len(inside) > 7 else inside
        every = max(1, len(inside) // 6)
        return tuple((across(day.toordinal()), f"{day:%b %Y}" if len(months) < 40 else f"{day.year}") for day in inside[::every])
    if not column:
        return ()
    size = 10.0 ** int(log10(max(high - low, 1.0)))
    step = next(k * size for k in (0.2, 0.5, 1, 2) if (high - low) / (k * size) <= 7)
    step = max(step, 1.0)
    values = np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step
    return tuple((across(float(v)), f"{v:.0f}" if column == "model_year" else plainly(float(v), 0)) for v in values)
