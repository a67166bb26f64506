"""The addresses about walks round a vehicle: the way in the time there is, walks begun and ended."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from fastapi import APIRouter, Request

from weldworth.web.api.bodies import WalkFor, WalkLink
from weldworth.web.api.routes import REFUSED, Caller
from weldworth.web.guard import TheDesk
from weldworth.web.walk_data import ground_of
from weldworth.workbench.ledger import entry_json
from weldworth.workbench.walking import begin_walk, end_walk, walk_in, walks_in

router = APIRouter(prefix="/api/v1", responses=REFUSED, tags=["Walk"])
WALKS = "/candidates/{id}/walks"


@router.get("/candidates/{id}/walk-plan")
def walk_plan(desk: TheDesk, person: Caller, id: str, source: str = "own-ground", minutes: int = 40) -> dict[str, Any]:
    """The walk that is worth most in so many minutes: stops with their zones, what it is worth, what is left out."""
    return asdict(desk.walk_plan(id, source, minutes, ground_of(desk.candidate(id).dossier.vehicle.body)))


@router.get(WALKS)
def walks(desk: TheDesk, person: Caller, id: str) -> list[dict[str, Any]]:
    """The walks of a candidate, the newest first. revision and ended : the entries that began and ended each."""
    return [asdict(walk) for walk in walks_in(desk.candidate(id))]


@router.post(WALKS, status_code=201)
def begin(desk: TheDesk, person: Caller, id: str, given: WalkFor) -> dict[str, str]:
    """Begin a walk; its id. It is walked on its page, /c/{id}/walk/{walk}."""
    ground = ground_of(desk.candidate(id).dossier.vehicle.body)
    return {"walk": begin_walk(desk, id, given.source, given.minutes, person.id, ground)}


@router.post(WALKS + "/{walk}/links", status_code=201)
def lend(desk: TheDesk, person: Caller, request: Request, id: str, walk: str, given: WalkLink) -> dict[str, Any]:
    """An address for a helper without an account; shown once. sees : whether belief and ceiling may be seen as they move."""
    walk_in(desk.candidate(id), walk)
    link, secret = desk.links.make_walk(
        id, walk, person.id, sees=given.sees, label=given.label, vehicle=given.vehicle, days=given.days
    )
    return {"link": link.id, "address": f"{request.url.scheme}://{request.url.netloc}/w/{secret}"}


@router.post(WALKS + "/{walk}/end", status_code=201)
def end(desk: TheDesk, person: Caller, id: str, walk: str) -> dict[str, Any]:
    """End a walk; ended again it stays as it ended first."""
    return entry_json(end_walk(desk, id, walk, person.id))
