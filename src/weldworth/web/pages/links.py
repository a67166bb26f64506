"""Pages for sellers, from the desk: made of chosen asks, listed with what came, added to, ended, erased."""

from __future__ import annotations

from dataclasses import dataclass

import segno
from fastapi import APIRouter, Request
from markupsafe import Markup
from starlette.responses import RedirectResponse, Response

from weldworth.core.errors import BadInput, NotFound
from weldworth.web.forms import Posted, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.asks import asks_page
from weldworth.web.settings import is_loopback
from weldworth.web.uploads import uploads_of
from weldworth.workbench.desk import Desk
from weldworth.workbench.links import owner_of

router = APIRouter()
FIELDS = ("label", "vehicle", "days")


@dataclass(frozen=True, slots=True)
class Made:
    """A page just made. near : it can be reached from this machine alone."""

    address: str
    code: Markup
    near: bool


def made_of(request: Request, secret: str, path: str = "/s/") -> Made:
    """What is shown once of a new page: its address, as text and as a code for a camera."""
    address = f"{request.url.scheme}://{request.url.netloc}{path}{secret}"
    code = Markup(segno.make(address, error="m").svg_inline(border=2, svgclass="qr", lineclass=None, omitsize=True))
    return Made(address, code, is_loopback(request.url.hostname or ""))


@router.post("/c/{id}/links")
def make(request: Request, id: str, desk: TheDesk, person: Known) -> Response:
    """A new page for the chosen asks; its address is shown once."""
    posted = Posted(request.state.form)
    chosen = posted.texts("ask")
    try:
        days = posted.number("days")
        posted.check()
        _, secret = desk.links.make(id, chosen, person.id, label=posted.text("label"), vehicle=posted.text("vehicle"), days=days)
    except BadInput as error:
        return asks_page(request, desk, id, chosen, 422, problems=problems_for(error, FIELDS), given=posted.values(FIELDS))
    return asks_page(request, desk, id, chosen, made=made_of(request, secret))


@router.post("/c/{id}/links/{link}/{what}")
def change(request: Request, id: str, link: str, what: str, desk: TheDesk, person: Known) -> Response:
    """Put the chosen asks on a page, end it, or erase what came through it."""
    if desk.links.get(link).candidate != id or what not in ("more", "end", "erase"):
        raise NotFound(f"nothing is done to this page at {what!r}")
    posted = Posted(request.state.form)
    try:
        if what == "more":
            desk.links.add(link, posted.texts("ask"), person.id)
        elif what == "end":
            desk.links.end(link)
        else:
            erase(request, desk, link, person.id)
    except BadInput as error:
        return asks_page(request, desk, id, posted.texts("ask") or None, 422, problems=problems_for(error, FIELDS))
    return RedirectResponse(f"/c/{id}/asks#links", 303)


def erase(request: Request, desk: Desk, link: str, by: str) -> None:
    """Erase what a seller sent, and the beginnings of what was on its way."""
    uploads_of(request).parts.forget(owner_of(desk.links.get(link)))
    desk.links.erase(link, by)
