"""The frame around every page of a candidate: its header with the main figures, and the tabs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import wraps
from typing import Any, TypeVar, cast

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from weldworth.core.errors import BadInput
from weldworth.core.units import miles
from weldworth.report.deal import axis, price_range
from weldworth.report.numbers import money, span, top_price
from weldworth.web.guard import Known, TheDesk
from weldworth.web.render import local_now, page
from weldworth.web.times import Closing, closing
from weldworth.workbench.desk import Desk
from weldworth.workbench.lines import CandidateView
from weldworth.workbench.looking import unlooked_words
from weldworth.workbench.weigh import Weighing

router = APIRouter()
NO_RESALE = "No resale view yet. Give three prices, or add sales of your own."
TABS = ("Metal", "Pictures", "Asks", "Walk", "Money", "Diary")


Making = TypeVar("Making", bound=Callable[..., Response])


@dataclass(frozen=True)
class Header:
    """What stands above the tabs. ceiling, price, even : figures as read, "" where there is none."""

    name: str
    year: str
    about: tuple[str, ...]
    closing: Closing
    ceiling: str
    price: str
    price_word: str
    even: str


def read_once(make: Making) -> Making:
    """A page that reads what is recorded once, however often it is asked for on the way. make : takes request and desk first."""

    @wraps(make)
    def made(request: Request, desk: Desk, *given: Any, **values: Any) -> Response:
        with desk.store.reading_once():
            return make(request, desk, *given, **values)

    return cast(Making, made)


def weighed(desk: Desk, id: str, upto: int | None = None) -> tuple[Weighing | None, tuple[str, ...]]:
    """The weighing, or None with what is missing for it in words."""
    try:
        return desk.weighing(id, upto), ()
    except BadInput as error:
        return None, tuple(missing(problem.text) for problem in error.problems)


def missing(text: str) -> str:
    """What is missing for a weighing, in the words of a page instead of those of a file.

    >>> missing("says nothing of the resale; add [resale] with low, likely and high, or a comparables.csv")
    'No resale view yet. Give three prices, or add sales of your own.'
    """
    return NO_RESALE if "[resale]" in text else text[:1].upper() + text[1:]


@read_once
def candidate_page(
    request: Request,
    desk: Desk,
    id: str,
    tab: str,
    template: str,
    status: int = 200,
    *,
    view: CandidateView | None = None,
    weighing: Weighing | None = None,
    **values: object,
) -> HTMLResponse:
    """A page of one candidate. Templates extend candidate.html and also get: view, weighing (None where nothing can be weighed
    yet), wanted (why not), header, tab, tabs, feed, unlooked (which pictures the machine has still to look at). Raises NotFound.
    """
    view = view or desk.candidate(id)
    wanted: tuple[str, ...] = ()
    if weighing is None:
        weighing, wanted = weighed(desk, id, view.revision if view.revision != view.last else None)
    left = desk.to_look_at(id, view.revision if view.revision != view.last else None) if view.pictures else 0
    shared: dict[str, object] = {
        "title": tab,
        "place": "Bench",
        "view": view,
        "weighing": weighing,
        "wanted": wanted,
        "pending": weighing is not None and view.revision == view.last and desk.waits(id),
        "unlooked": unlooked_words(left) if left else "",
        "header": header_of(view, weighing, local_now(request)),
        "tab": tab,
        "tabs": [(name, f"/c/{id}/{name.lower()}") for name in TABS],
        "feed": desk.last_change(),
        "drawn_from": drawn_from(view, desk.people.names()),
        "again": f"tables {desk.tables().version}" if weighing is None else f"tables {weighing.tables}, seed {weighing.seed}",
    }
    return page(request, template, status, **(shared | values))


def header_of(view: CandidateView, weighing: Weighing | None, now: datetime) -> Header:
    """The header's figures."""
    vehicle, sale = view.dossier.vehicle, view.dossier.sale
    about = [weighing.plan.name if weighing else vehicle.body.replace("-", " ")]
    if sale is not None and sale.seller_place:
        km = weighing.distance_km if weighing else None
        about.append(sale.seller_place + (f", {money(miles(km))} miles" if km is not None else ""))
    about.append(view.stage)
    prices = price_range(weighing) if weighing else None
    if prices is None and sale is not None and sale.price_low is not None and sale.price_high is not None:
        prices = sale.price_low, sale.price_high
    price = "" if prices is None else money(prices[0]) if prices[0] == prices[1] else span(*prices)
    ceiling = even = ""
    if weighing is not None:
        ceiling = "nothing pays" if weighing.ceiling.because == "nothing pays" else top_price(weighing.ceiling.amount)
        even = next((spread.text for spread in axis(weighing).spreads if spread.label == "Breaks even"), "")
    return Header(
        name=vehicle.name,
        year=str(vehicle.model_year or ""),
        about=tuple(about),
        closing=closing(sale.closes if sale else None, now),
        ceiling=ceiling,
        price=price,
        price_word="expected" if sale is not None and sale.kind == "auction" else "asked",
        even=even,
    )


def drawn_from(view: CandidateView, names: dict[str, str]) -> str:
    """How many records, and the last of them."""
    last = view.entries[-1]
    moment = last.at.astimezone()
    count = "1 record" if len(view.entries) == 1 else f"{len(view.entries)} records"
    return f"{count}, the last {moment.day} {moment:%b %H:%M} by {names.get(last.by, 'somebody')}; {len(view.pictures)} pictures"


@router.get("/c/{id}")
def first(id: str, desk: TheDesk, person: Known) -> Response:
    """A candidate's first page."""
    desk.candidate(id)
    return RedirectResponse(f"/c/{id}/metal", 303)
