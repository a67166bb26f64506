"""Who is asking, and whether what is posted was asked for by one of our own pages."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from typing import Annotated, cast
from urllib.parse import urlsplit

from fastapi import Depends, Request
from starlette.datastructures import FormData
from starlette.responses import Response

from weldworth.core.errors import NotAllowed
from weldworth.web.errors import FormStale, NotKnown, Refusal
from weldworth.web.settings import Settings
from weldworth.workbench.desk import Desk
from weldworth.workbench.ports import Person

SESSION, BROWSER = "weldworth_session", "weldworth_browser"
FIELD, HEADER = "form_token", "x-weldworth-form"
SAFE = ("GET", "HEAD", "OPTIONS")
LOOKS_ONLY = "You may look at everything here and record nothing; the owner can change that under People."
YEAR = 365 * 24 * 3600


def desk_of(request: Request) -> Desk:
    """The desk that the pages work on."""
    return cast(Desk, request.app.state.desk)


def settings_of(request: Request) -> Settings:
    """How the desk is served."""
    return cast(Settings, request.app.state.settings)


async def shut(request: Request) -> None:
    """Refuse what the shield found wrong before anything is read."""
    refused: Refusal | None = request.scope.get("state", {}).get("refused")
    if refused is not None:
        raise refused


async def own_form(request: Request) -> None:
    """For everything that is posted: that it comes from a page of ours in this browser. The form lies in `request.state.form`.

    A random cookie names the browser; the form carries a code made from it, which no other site can know. Raises FormStale.
    """
    request.state.browser = request.cookies.get(BROWSER) or secrets.token_urlsafe(24)
    request.state.form = FormData()
    if request.method in SAFE:
        return
    origin = request.headers.get("origin")
    if origin is not None and origin != "null" and urlsplit(origin).netloc != request.headers.get("host"):
        raise FormStale("This was sent from another site; nothing was changed.")
    given: object = request.headers.get(HEADER)
    kind = request.headers.get("content-type", "")
    if kind.startswith(("multipart/form-data", "application/x-www-form-urlencoded")):
        request.state.form = await request.form(max_files=2000, max_fields=5000)
        given = given or request.state.form.get(FIELD)
    wanted = form_token(request)
    if BROWSER not in request.cookies or not isinstance(given, str) or not hmac.compare_digest(given, wanted):
        raise FormStale(
            "This page is from an earlier visit, so nothing was changed. Go back, load the page anew and send it again."
        )


def form_token(request: Request) -> str:
    """The code that forms of this browser carry."""
    session = request.cookies.get(SESSION, "")
    return hmac.new(request.state.browser.encode(), session.encode(), hashlib.sha256).hexdigest()


def known(request: Request) -> Person:
    """The person who asks: the owner on the open door, else whose session it is. Raises NotKnown.

    Who may only look cannot post anything. Raises NotAllowed.
    """
    desk = desk_of(request)
    if settings_of(request).open_door:
        person = desk.people.owner()
    else:
        found = desk.people.session(request.cookies.get(SESSION, ""))
        if found is None:
            raise NotKnown("Log in to go on.")
        person = found
    request.state.person = person
    if request.method not in SAFE and person.role == "read-only" and not request.url.path.startswith("/me/"):
        raise NotAllowed(LOOKS_ONLY)
    return person


def remember_browser(request: Request, response: Response) -> None:
    """Leave the cookie that names the browser."""
    browser = getattr(request.state, "browser", None)
    if browser and request.cookies.get(BROWSER) != browser:
        response.set_cookie(BROWSER, browser, max_age=YEAR, httponly=True, samesite="lax", secure=settings_of(request).secure)


TheDesk = Annotated[Desk, Depends(desk_of)]
Known = Annotated[Person, Depends(known)]
