"""The page that a seller gets: no account, one ask at a time, and what the phone sends from it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from starlette.responses import HTMLResponse, JSONResponse, Response

from weldworth.core.errors import NotFound
from weldworth.vehicle.plans import load_plan
from weldworth.web import tongues
from weldworth.web.guard import TheDesk
from weldworth.web.render import environment
from weldworth.web.sayings import REASONS, SAYINGS
from weldworth.web.sent import Letterbox
from weldworth.web.steps import FAULTS, sayer, steps_of, too_dark
from weldworth.web.uploads import Inbox, add_upload_routes, uploads_of
from weldworth.workbench.ports import Link

router = APIRouter()
GONE = "This page is not open, or not any more. Ask whoever sent it to you for a new one."


def link_of(secret: str, desk: TheDesk) -> Link | None:
    """The link of the address while it is open."""
    return desk.links.known(secret)


TheLink = Annotated[Link | None, Depends(link_of)]


def inbox_of(request: Request, link: TheLink, desk: TheDesk) -> Inbox:
    """Where the things of this link go. Raises NotFound, in the same words whether it is wrong, run out or ended."""
    if link is None:
        raise NotFound(GONE)
    return Letterbox(desk, link, uploads_of(request).parts).inbox()


add_upload_routes(router, "/s/{secret}/up", inbox_of)


@router.get("/s/{secret}")
def shown(request: Request, secret: str, link: TheLink, desk: TheDesk, lang: str = "") -> Response:
    """The page, in the browser's language or in ?lang=. One plain page for every link that is not open."""
    language = tongues.chosen(lang or None, request.headers.get("accept-language"))
    catalogue = tongues.words(language)
    shared = {
        "_": catalogue.gettext,
        "language": language,
        "direction": tongues.direction(language),
        "languages": tongues.languages(),
        "address": f"/s/{secret}",
    }
    if link is None:
        return gone_page(request, lang)
    desk.links.opened(link)
    vehicle = desk.candidate(link.candidate).dossier.vehicle
    tables = desk.tables()
    plan = load_plan(vehicle.body, tables, battery_side=vehicle.battery_side, options=vehicle.options)
    say = sayer(catalogue.gettext, tongues.SOURCE, language)
    steps = steps_of(link.asks, plan, desk.links.receipts(link), tables, say)
    words = {key: catalogue.gettext(text) for key, text in SAYINGS.items()}
    words |= {f"{name}:{n}": catalogue.gettext(text) for name, texts in FAULTS.items() for n, text in enumerate(texts)}
    values = {
        "link": link,
        "buyer": desk.people.names().get(link.by, ""),
        "steps": steps,
        "words": words,
        "reasons": REASONS,
        "dark": too_dark(tables),
        "piece": int(desk.links.limits().piece_bytes),
        "longest": int(desk.links.limits().words),
    }
    response = HTMLResponse(environment.get_template("seller.html").render(shared | values))
    response.headers["Vary"] = "Accept-Language"
    return response


def gone_page(request: Request, lang: str = "") -> Response:
    """The plain page for an address that is wrong, run out or ended: the same for all three."""
    language = tongues.chosen(lang or None, request.headers.get("accept-language"))
    say = tongues.words(language).gettext
    values = {"_": say, "language": language, "direction": tongues.direction(language), "gone": say(GONE)}
    return HTMLResponse(environment.get_template("seller_gone.html").render(values), 404)


@router.get("/s/{secret}/now")
def asked(link: TheLink) -> Response:
    """The keys of the asks at this moment, for a page that is open."""
    if link is None:
        raise NotFound(GONE)
    return JSONResponse({"asks": list(link.asks)})
