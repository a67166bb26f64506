"""The page that a seller gets: no account, one ask at a time, and what the phone sends from it."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request

from weldworth.core.errors import NotFound
from weldworth.web.guard import TheDesk
from weldworth.web.sent import Letterbox
from weldworth.web.uploads import Inbox, add_upload_routes, uploads_of
from weldworth.workbench.ports import Link

router = APIRouter()
GONE = "This page is not open, or not any more. Ask whoever sent it to you for a new one."


def link_of(secret: str, desk: TheDesk) -> Link:
    """The link of the address. Raises NotFound, in the same words whether it is wrong, run out or ended."""
    link = desk.links.known(secret)
    if link is None:
        raise NotFound(GONE)
    return link


TheLink = Annotated[Link, Depends(link_of)]


def inbox_of(request: Request, link: TheLink, desk: TheDesk) -> Inbox:
    """Where the things of this link go."""
    return Letterbox(desk, link, uploads_of(request).parts).inbox()


add_upload_routes(router, "/s/{secret}/up", inbox_of)
