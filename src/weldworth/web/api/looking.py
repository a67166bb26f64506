"""The addresses about what the machine sees on a candidate's pictures."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from fastapi import APIRouter

from weldworth.web.api.bodies import Described, Judged
from weldworth.web.api.routes import REFUSED, Caller
from weldworth.web.guard import TheDesk
from weldworth.workbench.ledger import entry_json

router = APIRouter(prefix="/api/v1", responses=REFUSED, tags=["Pictures"])
PICTURE = "/candidates/{id}/pictures/{sha256}"


@router.get(PICTURE + "/findings")
def machine_findings(desk: TheDesk, person: Caller, id: str, sha256: str) -> dict[str, Any]:
    """What the machine makes of a picture: for the whole and for each zone its quality, share of rust with ISO 4628-3 and ASTM
    D610 grades, and the signs that it suggests, each with what became of it."""
    return asdict(desk.machine_findings(id, sha256))


@router.post(PICTURE + "/describe", status_code=201)
def describe_picture(desk: TheDesk, person: Caller, id: str, sha256: str, given: Described) -> dict[str, Any]:
    """Say what a picture shows; what is left out stays as it is, null takes it away."""
    return entry_json(desk.describe_picture(id, sha256, given.said, person.id, given.revision))


@router.post(PICTURE + "/accept", status_code=201)
def accept(desk: TheDesk, person: Caller, id: str, sha256: str, given: Judged) -> dict[str, Any]:
    """Make a suggestion a person's finding."""
    outline, revision = given.outline, given.revision
    return entry_json(
        desk.accept(id, sha256, given.zone, given.sign, person.id, outline=outline, note=given.note, revision=revision)
    )


@router.post(PICTURE + "/dismiss", status_code=201)
def dismiss(desk: TheDesk, person: Caller, id: str, sha256: str, given: Judged) -> dict[str, Any]:
    """Put a suggestion aside: it counts no more."""
    return entry_json(desk.dismiss(id, sha256, given.zone, given.sign, person.id, revision=given.revision))


@router.post(PICTURE + "/restore", status_code=201)
def restore(desk: TheDesk, person: Caller, id: str, sha256: str, given: Judged) -> dict[str, Any]:
    """Let a dismissed suggestion count again."""
    return entry_json(desk.restore(id, sha256, given.zone, given.sign, person.id, revision=given.revision))
