"""The money side of a candidate: what fetching costs, what the finished vehicle brings, what price there is to beat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal, cast

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from weldworth.bill.terms import TERM_KEYS, RepairTerms, terms_from
from weldworth.ceiling.comparables import Sale as Sold
from weldworth.ceiling.comparables import read_comparables
from weldworth.ceiling.compared import Comparison, compare
from weldworth.ceiling.fees import FeeSchedule, parse_fee
from weldworth.ceiling.resale import (
    Resale,
    ResaleTables,
    Target,
    combine,
    resale_from_comparables,
    resale_from_view,
    resale_tables,
)
from weldworth.ceiling.terms import DEAL_KEYS, DealTerms, SaleKind, deal_terms_from
from weldworth.ceiling.threepoint import ThreePoint
from weldworth.ceiling.transport import BY, road_km, transport_cost, transport_tables
from weldworth.core.errors import BadInput, Problem
from weldworth.core.remark import Remark
from weldworth.core.units import kilometres
from weldworth.core.words import unknown
from weldworth.exposure.places import find_place
from weldworth.tables import Tables
from weldworth.workbench.dossier import Dossier, Sale

FETCH_KEYS = ("place", "transport", "transport_by", "transport_adders")
SHOP_KEYS = tuple(dict.fromkeys((*DEAL_KEYS, *TERM_KEYS, *FETCH_KEYS)))
"""Every key that [shop] may hold."""

_SHOP = "candidate.toml: shop"


@dataclass(frozen=True)
class ShopTerms:
    """The shop's terms for one candidate.

    place : where the shop is, or None. transport : a quoted amount, or None to reckon it. by, adders : see `transport_cost`.
    """

    deal: DealTerms
    repair: RepairTerms
    place: str | None
    transport: float | None
    by: Literal["carrier", "own"]
    adders: tuple[str, ...]


def shop_terms(shop: Mapping[str, object], tables: Tables) -> ShopTerms:
    """The terms that [shop] gives over the tables; raises BadInput with every problem of every key."""
    problems = [Problem(_SHOP, unknown("key", key, SHOP_KEYS)) for key in shop if key not in SHOP_KEYS]
    deal = repair = None
    try:
        deal = deal_terms_from({key: value for key, value in shop.items() if key in DEAL_KEYS}, tables, _SHOP)
    except BadInput as error:
        problems += error.problems
    try:
        repair = terms_from({key: value for key, value in shop.items() if key in TERM_KEYS}, tables, where=_SHOP)
    except BadInput as error:
        problems += [problem for problem in error.problems if problem not in problems]
    by, adders = str(shop.get("transport_by", "carrier")), str(shop.get("transport_adders", ""))
    words = tuple(word.strip() for word in adders.split(",") if word.strip())
    if by not in BY:
        problems.append(Problem(_SHOP, unknown("transport_by", by, BY)))
    known = transport_tables(tables).adders
    problems += [Problem(_SHOP, unknown("transport adder", word, known)) for word in words if word not in known]
    quoted = shop.get("transport")
    if quoted is not None and (isinstance(quoted, bool) or not isinstance(quoted, int | float) or not quoted >= 0):
        problems.append(Problem(_SHOP, f"transport is {quoted!r}; give an amount of 0 or more"))
    place = str(shop["place"]) if "place" in shop else None
    if place is not None:
        try:
            find_place(place, tables, where=f"{_SHOP}: place")
        except BadInput as error:
            problems += error.problems
    if problems or deal is None or repair is None:
        raise BadInput(problems)
    transport = float(quoted) if isinstance(quoted, int | float) else None
    return ShopTerms(deal, repair, place, transport, cast(Literal["carrier", "own"], by), words)


def fetching(dossier: Dossier, terms: ShopTerms, tables: Tables) -> tuple[ThreePoint, float | None, list[Remark]]:
    """What fetching the vehicle costs, the distance by road in km where it is known, and doubts.

    A quoted amount stands; otherwise the distance between the seller's place and the shop's sets it; where one of the two is
    not known a middling distance stands in for it and a remark says so.
    """
    if terms.transport is not None:
        return ThreePoint(terms.transport, terms.transport, terms.transport), None, []
    known = transport_tables(tables)
    there = dossier.sale.seller_place if dossier.sale else None
    if there is not None and terms.place is not None:
        start, end = (find_place(place, tables, where="place") for place in (there, terms.place))
        km = road_km((start.lat, start.lon), (end.lat, end.lon), known)
        return transport_cost(km, known, adders=terms.adders, by=terms.by), km, []
    missing = "the seller's place" if there is None else "the shop's place"
    text = f"{missing} is not given; transport is reckoned for 500 miles. Give seller_place in [sale] and place in [shop]"
    return (
        transport_cost(kilometres(500, "mi"), known, adders=terms.adders, by=terms.by),
        None,
        [Remark("no-distance", "transport", text)],
    )


def sales_of(dossier: Dossier, text: str, known: ResaleTables, today: date) -> tuple[list[Sold], Target]:
    """The comparable sales in `text`, and the vehicle that they are compared with, sold today. Raises BadInput."""
    sales = read_comparables(text, "comparables.csv", states=known.states, on=today)
    miles = dossier.vehicle.odometer
    if miles is not None and dossier.vehicle.odometer_unit == "km":
        miles = miles / kilometres(1, "mi")
    return sales, Target(today, miles, dossier.vehicle.model_year)


def compared_sales(dossier: Dossier, tables: Tables, today: date) -> tuple[Comparison | None, Resale | None]:
    """The comparable sales beside each other and what the finished vehicle brings by them and the trader's own view; None for
    both where there are no sales, or none that today's tables can read.
    """
    if dossier.comparables is None:
        return None, None
    known = resale_tables(tables)
    return compare(*sales_of(dossier, dossier.comparables, known, today), known), resale_of(dossier, tables, today)


def resale_of(dossier: Dossier, tables: Tables, today: date) -> Resale:
    """What the finished vehicle brings, from the trader's own view, the comparables, or both.

    Raises BadInput when there is neither, or with every problem of either.
    """
    known = resale_tables(tables)
    view = sold = None
    if dossier.resale is not None:
        view = resale_from_view(dossier.resale.low, dossier.resale.likely, dossier.resale.high, known)
    if dossier.comparables is not None:
        sold = resale_from_comparables(*sales_of(dossier, dossier.comparables, known, today), known)
    if view is not None and sold is not None:
        return combine(view, sold)
    if view is None and sold is None:
        raise BadInput(
            [
                Problem(
                    "candidate.toml", "says nothing of the resale; add [resale] with low, likely and high, or a comparables.csv"
                )
            ]
        )
    return cast(Resale, view if view is not None else sold)


def fee_of(sale: Sale | None) -> FeeSchedule:
    """The buyer's fee as written in the dossier, or none."""
    return parse_fee(sale.buyer_fee if sale and sale.buyer_fee else "none", "candidate.toml: sale: buyer_fee")


def kind_of(sale: Sale | None) -> SaleKind:
    """Auction or asked price; an asked price where nothing is said."""
    return cast(SaleKind, sale.kind) if sale else "asked"


def prices_to_beat(sale: Sale | None, ceiling: float, tables: Tables) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Prices at which the vehicle may be had, (K,), and the chance of each, (K,).

    An asked price may come down somewhat; an auction's price lies around what is expected; where nothing is known, around the
    ceiling. The numbers are in decision.toml.
    """
    numbers = tables.toml("decision.toml")
    points = int(cast(dict[str, float], numbers["draws"])["prices"])
    beat = cast(dict[str, float], numbers["price_to_beat"])
    chance = (np.arange(points) + 0.5) / points
    low, high = (sale.price_low, sale.price_high) if sale else (None, None)
    if low is None or high is None:
        prices = max(ceiling, 500.0) * np.exp(beat["unknown_spread"] * ndtri(chance))
    elif kind_of(sale) == "asked":
        bottom = low if high > low else low * (1 - beat["asked_down"])
        prices = bottom + (high - bottom) * chance
    elif high > low:
        spread = np.log(high / low) / (2 * ndtri(0.9))
        prices = np.sqrt(low * high) * np.exp(spread * ndtri(chance))
    else:
        prices = low * beat["auction_above"] * np.exp(beat["auction_spread"] * ndtri(chance))
    return prices, np.full(points, 1 / points)
