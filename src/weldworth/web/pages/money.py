"""Money: what it may be worth to buy, the price slid along it, the bill line by line, what binds, and other terms beside it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from math import ceil, floor

import numpy as np
from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.ceiling.ceiling import break_even
from weldworth.core.errors import BadInput, NotFound
from weldworth.report.compose import sheet
from weldworth.report.deal import named_ceiling, price_range
from weldworth.report.numbers import in_100, money, span, ticks, top_price
from weldworth.report.sheet import BillSheet, Sheet
from weldworth.report.work import bill_sheet
from weldworth.web.forms import Posted, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.candidate import candidate_page, read_once, weighed
from weldworth.web.picture_lines import sentence
from weldworth.workbench.desk import Desk
from weldworth.workbench.summary import money_figures
from weldworth.workbench.weigh import Weighing

router = APIRouter()
WIDE, FOOT = 1000, 260
BINS = 60
STEP = 50
WHAT_IF = (
    ("as it stands", {"repair": "none", "paint": "none"}),
    ("without the paint", {"paint": "none"}),
    ("only what carries load", {"repair": "structural"}),
    ("what is needed", {"repair": "needed"}),
    ("everything", {"repair": "all"}),
)
PRICES = ("price", "price_low", "price_high")
FIELDS = ("price_low", "price_high", "low", "likely", "high")


@dataclass(frozen=True)
class Hill:
    """How likely each break-even price is, drawn. x of a price is (price - low) / (high - low) of the width."""

    path: str
    low: float
    high: float
    spread: tuple[float, float, float]
    spread_text: tuple[str, str, str]
    ceiling: float | None
    ceiling_text: str
    marks: tuple[tuple[float, str], ...]
    price: float
    step: int
    least: int
    data: str


@dataclass(frozen=True, slots=True)
class Tried:
    """The figures on other terms, one row."""

    label: str
    ceiling: str
    profit: str
    loss: str
    bill: str
    note: str


def hill(found: Weighing) -> Hill:
    """The break-even price of every draw, as a smoothed histogram, with what the slider needs."""
    even = break_even(found.net.draws, found.fee, found.terms.deal)
    low, high = (float(q) for q in np.percentile(even, (0.5, 99.5)))
    low = min(low, 0.0)
    asked = price_range(found)
    high = max(high, found.ceiling.amount * 1.1, (asked[1] if asked else 0.0) * 1.1, low + 1000.0)
    count, edges = np.histogram(even, bins=BINS, range=(low, high))
    bell = np.exp(-0.5 * (np.arange(-6, 7) / 2.2) ** 2)
    smooth = np.convolve(count, bell / bell.sum(), mode="same")
    tops = FOOT - smooth / max(float(smooth.max()), 1.0) * (FOOT - 50)
    xs = ((edges[:-1] + edges[1:]) / 2 - low) / (high - low) * WIDE
    path = f"M0 {FOOT}" + "".join(f"L{x:.1f} {y:.1f}" for x, y in zip(xs, tops, strict=True)) + f"L{WIDE} {FOOT}"
    p10, p50, p90 = (float(q) for q in np.percentile(even, (10, 50, 90)))

    def at(value: float) -> float:
        return (value - low) / (high - low) * WIDE

    pays = found.ceiling.because != "nothing pays"
    curve = found.curve
    step = ticks(high - low)[1]
    shown = [step * i for i in range(ceil(low / step), floor(high / step) + 1)]
    return Hill(
        path=path,
        low=low,
        high=high,
        spread=(at(p10), at(p50), at(p90)),
        spread_text=(money(p10), money(p50), money(p90)),
        ceiling=at(found.ceiling.amount) if pays else None,
        ceiling_text=top_price(found.ceiling.amount),
        marks=tuple((at(value), money(value)) for value in shown),
        price=asked[0] if asked else found.ceiling.amount,
        step=STEP,
        least=floor(low / STEP) * STEP,
        data=json.dumps(
            {
                "prices": [round(float(p), 2) for p in curve.prices],
                "profit": [round(float(p), 2) for p in curve.expected_profit],
                "loss": [round(float(p), 4) for p in curve.p_loss],
                "ceiling": named_ceiling(found) if pays else 0,
                "limit": found.terms.deal.chance_of_loss,
                "low": low,
                "high": high,
            }
        ),
    )


def tried(desk: Desk, id: str, found: Weighing) -> tuple[Tried, ...]:
    """The usual other terms beside the present ones."""
    rows = [_row("on today's terms", money_figures(found))]
    for (label, _), one in zip(WHAT_IF, desk.what_if(id, [changes for _, changes in WHAT_IF]), strict=True):
        rows.append(_row(label, dict(one.body)) if one.body else Tried(label, "", "", "", "", "; ".join(one.problems)))
    return tuple(rows)


def _row(label: str, body: dict[str, object]) -> Tried:
    low, _, high = (float(x) for x in body["bill"])  # type: ignore[attr-defined]
    pays = body["because"] != "nothing pays"
    return Tried(
        label=label,
        ceiling=top_price(float(str(body["ceiling"]))) if pays else "nothing pays",
        profit=money(float(str(body["expected_profit"]))) if pays else "",
        loss=in_100(float(str(body["p_loss"]))) if pays else "",
        bill=f"{money(float(str(body['bill_mean'])))}; {span(low, high)}",
        note="",
    )


def doubts(found: Weighing, report: Sheet) -> tuple[tuple[str, str], ...]:
    """What the weighing remarks on: what it is about, in the zone's own words where it is one, and the sentence."""
    labels = {zone.id: zone.label for zone in found.plan.zones}
    named = ((labels.get(item.label, item.label), item.note) for item in report.remarks)
    return tuple((about.capitalize() if about.isalpha() else about, sentence(words)) for about, words in named)


def bill_alone(desk: Desk, id: str) -> BillSheet | None:
    """The bill while there is no ceiling yet; None where the metal cannot be weighed either."""
    try:
        plan, bill = desk.bill(id)
    except BadInput:
        return None
    return bill_sheet(bill, plan)


@read_once
def money_page(request: Request, desk: Desk, id: str, status: int = 200, **values: object) -> Response:
    """The page; what is missing where nothing can be weighed yet."""
    view = desk.candidate(id)
    found, _ = weighed(desk, id)
    report = sheet(found, desk.tables()) if found is not None else None
    drawn = hill(found) if found is not None else None
    others = tried(desk, id, found) if found is not None else ()
    sale, resale = view.dossier.sale, view.dossier.resale
    typed = {
        "price_low": sale.price_low if sale and sale.price_low is not None else "",
        "price_high": sale.price_high if sale and sale.price_high is not None and sale.price_high != sale.price_low else "",
        "low": resale.low if resale else "",
        "likely": resale.likely if resale else "",
        "high": resale.high if resale else "",
    }
    shared: dict[str, object] = {
        "typed": typed,
        "view": view,
        "weighing": found,
        "report": report,
        "bill": report.bill if report is not None else bill_alone(desk, id),
        "hill": drawn,
        "tried": others,
        "doubts": doubts(found, report) if found is not None and report is not None else (),
    }
    return candidate_page(request, desk, id, "Money", "money.html", status, **(shared | values))  # type: ignore[arg-type]


def sale_with(sale: dict[str, object], prices: dict[str, float]) -> dict[str, object]:
    """The sale with new prices in place of those before: a range, or one price where no upper end is given.

    >>> sale_with({"kind": "asked", "price": 18500}, {"price_low": 17000.0, "price_high": 19000.0})
    {'kind': 'asked', 'price_low': 17000.0, 'price_high': 19000.0}
    >>> sale_with({"kind": "asked", "price_low": 17000, "price_high": 19000}, {"price_low": 16000.0})
    {'kind': 'asked', 'price': 16000.0}
    """
    kept = {key: value for key, value in sale.items() if key not in PRICES}
    if "price_low" in prices and "price_high" not in prices:
        return {**kept, "price": prices["price_low"]}
    return {**kept, **prices}


@router.get("/c/{id}/money")
def shown(request: Request, id: str, desk: TheDesk, person: Known) -> Response:
    """The money of a candidate."""
    return money_page(request, desk, id)


@router.post("/c/{id}/money/{what}")
def record(request: Request, id: str, what: str, desk: TheDesk, person: Known) -> Response:
    """Record the trader's own view of the resale or the price asked, or keep a snapshot."""
    posted = Posted(request.state.form)
    if what not in ("resale", "price", "snapshot"):
        raise NotFound(f"nothing is recorded at {what!r}")
    try:
        if what == "snapshot":
            desk.snapshot(id, posted.text("label") or "What we knew", person.id)
            return RedirectResponse(f"/c/{id}/diary", 303)
        body = {name: value for name in FIELDS if (value := posted.number(name)) is not None}
        posted.check()
        if what == "resale":
            desk.record(id, "resale", body, person.id)
        else:
            desk.record(id, "sale", sale_with(dict(desk.candidate(id).data.get("sale", {})), body), person.id)  # type: ignore[call-overload]
    except BadInput as error:
        return money_page(request, desk, id, 422, problems=problems_for(error, FIELDS), typed=posted.values(FIELDS))
    return RedirectResponse(f"/c/{id}/money", 303)
