"""The addresses about pages given to sellers."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field

from weldworth.web.api.routes import REFUSED, Caller
from weldworth.web.guard import TheDesk
from weldworth.web.uploads import uploads_of
from weldworth.workbench.links import LinkLine, owner_of
from weldworth.workbench.ports import Link

router = APIRouter(prefix="/api/v1", responses=REFUSED, tags=["Pages for sellers"])


class NewLink(BaseModel):
    """asks : keys "kind:zone". label : for whom, for the shop alone. vehicle : what the page calls it. days : it lasts."""

    asks: list[str]
    label: str = ""
    vehicle: str = ""
    days: float | None = Field(default=None)


class MoreAsks(BaseModel):
    """asks : keys "kind:zone" to put on the page."""

    asks: list[str]


@router.get("/candidates/{id}/links")
def links(desk: TheDesk, person: Caller, id: str) -> list[dict[str, Any]]:
    """The pages of a candidate, newest first, with what came through each."""
    desk.candidate(id)
    return [line_json(line) for line in desk.links.all(id)]


@router.post("/candidates/{id}/links", status_code=201)
def make_link(desk: TheDesk, person: Caller, request: Request, id: str, given: NewLink) -> dict[str, Any]:
    """A new page; its address with the secret is told this once."""
    link, secret = desk.links.make(id, given.asks, person.id, label=given.label, vehicle=given.vehicle, days=given.days)
    return {**link_json(link), "address": f"{request.url.scheme}://{request.url.netloc}/s/{secret}"}


@router.post("/links/{link}/asks")
def more_asks(desk: TheDesk, person: Caller, link: str, given: MoreAsks) -> dict[str, Any]:
    """Put more asks on a page that is open."""
    return link_json(desk.links.add(link, given.asks, person.id))


@router.post("/links/{link}/end")
def end_link(desk: TheDesk, person: Caller, link: str) -> dict[str, Any]:
    """End a page."""
    return link_json(desk.links.end(link))


@router.post("/links/{link}/erase")
def erase_link(desk: TheDesk, person: Caller, request: Request, link: str) -> dict[str, Any]:
    """Erase what a seller sent: pictures, own words, name. Findings stay, and the chain of hashes holds."""
    uploads_of(request).parts.forget(owner_of(desk.links.get(link)))
    return link_json(desk.links.erase(link, person.id))


def link_json(link: Link) -> dict[str, Any]:
    """A link without the hash of its secret."""
    return {key: value for key, value in asdict(link).items() if key != "hash"}


def line_json(line: LinkLine) -> dict[str, Any]:
    """A link with its state and what came."""
    keys = ("id", "kind", "ask", "state", "at", "sha256", "length", "entry", "body", "reply")
    came = [{key: asdict(one)[key] for key in keys} for one in line.receipts]
    return {**link_json(line.link), "state": line.state, "came": came}
