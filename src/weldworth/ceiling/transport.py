"""What it costs to get a vehicle home: by a carrier or collected by oneself.

Carriers: three published pages of rates per mile (transport.csv). At any distance the lowest, middle and highest of
the three make low, likely and high. Each page's rates become total prices at its distances, joined by straight
lines, so that a longer way never costs less; before the first point and beyond the last one the page's rate there
holds. Low, likely and high of several costs are added up as they are, as if all were cheap or dear together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from geographiclib.geodesic import Geodesic
from numpy.typing import ArrayLike, NDArray

from weldworth.ceiling.threepoint import ThreePoint
from weldworth.core.errors import BadInput, Problem
from weldworth.core.units import KILOMETRES
from weldworth.core.words import unknown
from weldworth.tables.load import Row, Tables

FloatArray = NDArray[np.float64]
By = Literal["carrier", "own"]
BY: Final = ("carrier", "own")
_POINTS: Final = ("low", "likely", "high")
_TERMS: Final = ("circuity", "least_charge", "farthest_miles", "own_per_mile", "trailer_per_day", "miles_per_day", "night")


@dataclass(frozen=True, slots=True)
class TransportTables:
    """The numbers of transport.csv, transport_adders.csv and transport_terms.csv.

    pages : per page (miles, total price), both rising.   adders : per adder (kind, low/likely/high).
    terms : per name low/likely/high.
    """

    pages: tuple[tuple[FloatArray, FloatArray], ...]
    adders: dict[str, tuple[str, FloatArray]]
    terms: dict[str, FloatArray]


def transport_tables(tables: Tables) -> TransportTables:
    """The transport tables, checked; raises BadInput naming file and line: a page whose total price falls too."""
    problems: list[Problem] = []
    by_page: dict[str, list[Row]] = {}
    for row in tables.rows("transport.csv", ("page", "miles", "rate_per_mile")):
        by_page.setdefault(row.text("page"), []).append(row)
    pages = []
    for page, rows in by_page.items():
        miles = np.array([row.number("miles", low=1) for row in rows])
        totals = miles * np.array([row.number("rate_per_mile", low=0.01) for row in rows])
        if np.any(np.diff(miles) <= 0) or np.any(np.diff(totals) < 0):
            problems.append(Problem(rows[0].where, f"page {page!r}: miles and miles x rate must rise from row to row"))
        pages.append((miles, totals))
    adders = {}
    for row in tables.rows("transport_adders.csv", ("adder", "kind", *_POINTS, "meaning")):
        if row.text("kind") not in ("amount", "share"):
            problems.append(Problem(row.where, f"kind {row.text('kind')!r} is not 'amount' or 'share'"))
        adders[row.text("adder")] = (row.text("kind"), _three(row))
    terms = {row.text("name"): _three(row) for row in tables.rows("transport_terms.csv", ("name", *_POINTS, "meaning"))}
    problems += [Problem("transport_terms.csv", f"there is no row {name!r}") for name in _TERMS if name not in terms]
    problems += [Problem("transport_terms.csv", unknown("name", name, _TERMS)) for name in terms if name not in _TERMS]
    if problems:
        raise BadInput(problems)
    return TransportTables(tuple(pages), adders, terms)


def _three(row: Row) -> FloatArray:
    return np.array([row.number(point, low=0) for point in _POINTS])


def geodesic_km(start: tuple[float, float], end: tuple[float, float], earth: Geodesic = Geodesic.WGS84) -> float:
    """Shortest distance over the ellipsoid `earth` between two (latitude, longitude) in degrees; km.

    Karney, C. F. F. (2013). Algorithms for geodesics. J. Geodesy 87, 43-55.
    Raises BadInput for a latitude beyond 90 or a longitude beyond 180 degrees.
    """
    problems = [
        Problem(name, f"latitude {latitude}, longitude {longitude}; give degrees within -90..90 and -180..180")
        for name, (latitude, longitude) in (("start", start), ("end", end))
        if not (-90 <= latitude <= 90 and -180 <= longitude <= 180)
    ]
    if problems:
        raise BadInput(problems)
    return float(earth.Inverse(*start, *end, Geodesic.DISTANCE)["s12"]) / 1000


def road_km(start: tuple[float, float], end: tuple[float, float], known: TransportTables) -> float:
    """Distance by road as the geodesic times the published circuity; km. Blind to water and mountains between."""
    return geodesic_km(start, end) * float(known.terms["circuity"][1])


def transport_cost(
    distance_km: float, known: TransportTables, *, adders: Sequence[str] = (), by: By = "carrier", where: str = "transport"
) -> ThreePoint:
    """Low, likely and high cost of bringing the vehicle home over `distance_km` by road; money.

    adders : words of transport_adders.csv; amounts are added, shares taken of the rate. They are a carrier's and
    cost nothing when collecting. Raises BadInput with every problem: distance, adder or `by` that is not known.
    """
    low, likely, high = (float(cost) for cost in transport_costs(distance_km, known, adders=adders, by=by, where=where))
    return ThreePoint(low, likely, high)


def transport_costs(
    distance_km: ArrayLike, known: TransportTables, *, adders: Sequence[str] = (), by: By = "carrier", where: str = "transport"
) -> FloatArray:
    """As `transport_cost` for many distances at once; (3, ...) with the shape of `distance_km` behind."""
    miles = np.asarray(distance_km, dtype=np.float64) / KILOMETRES["mi"]
    farthest = float(known.terms["farthest_miles"][1])
    problems = [Problem(where, unknown("adder", adder, known.adders)) for adder in adders if adder not in known.adders]
    problems += [Problem(where, f"adder {adder!r} is given twice") for adder in sorted(set(adders)) if adders.count(adder) > 1]
    if by not in BY:
        problems.append(Problem(where, unknown("way of transport", str(by), BY)))
    if not np.all((miles >= 0) & (miles <= farthest)):
        limit = farthest * KILOMETRES["mi"]
        problems.append(Problem(where, f"distance {distance_km!r} km is outside 0..{limit:,.0f}; give a quoted price instead"))
    if problems:
        raise BadInput(problems)
    return _collected(miles, known) if by == "own" else _carried(miles, known, adders)


def _carried(miles: FloatArray, known: TransportTables, adders: Sequence[str]) -> FloatArray:
    each = []
    for at, totals in known.pages:
        inner = np.interp(miles, at, totals)
        beyond = miles * totals[-1] / at[-1]
        each.append(np.where(miles < at[0], miles * totals[0] / at[0], np.where(miles > at[-1], beyond, inner)))
    pages = np.sort(np.stack(each), axis=0)
    lengthwise = (3,) + (1,) * miles.ndim
    carried = np.stack([pages[0], np.median(pages, axis=0), pages[-1]])
    carried = np.maximum(carried, known.terms["least_charge"].reshape(lengthwise))
    share = sum((known.adders[a][1] for a in adders if known.adders[a][0] == "share"), np.zeros(3)).reshape(lengthwise)
    amount = sum((known.adders[a][1] for a in adders if known.adders[a][0] == "amount"), np.zeros(3)).reshape(lengthwise)
    return np.asarray(carried * (1 + share) + amount)


def _collected(miles: FloatArray, known: TransportTables) -> FloatArray:
    """There and back with a rented trailer: miles, days of trailer, nights away."""
    both_ways = 2 * miles
    costs = []
    for point in range(3):
        days = np.maximum(np.ceil(both_ways / known.terms["miles_per_day"][point]), 1)
        on_the_road = both_ways * known.terms["own_per_mile"][point] + days * known.terms["trailer_per_day"][point]
        costs.append(on_the_road + (days - 1) * known.terms["night"][point])
    return np.stack(costs)
