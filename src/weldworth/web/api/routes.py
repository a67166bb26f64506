"""The addresses of the API. Each calls one method of the desk; errors have the shape of `errors.as_json`."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request, UploadFile
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer
from pydantic import BaseModel
from starlette.background import BackgroundTask
from starlette.responses import FileResponse, Response

from weldworth.core.errors import NotAllowed
from weldworth.report.promised import weighing_json
from weldworth.web.api.bodies import (
    Chosen,
    Correction,
    Invitation,
    Label,
    Opening,
    Recording,
    TableText,
    Terms,
    Text,
    WhatIfs,
)
from weldworth.web.arrivals import Arrived, arrive, pack_dossier, saved, take_dossier
from weldworth.web.errors import NotKnown
from weldworth.web.guard import SAFE, TheDesk
from weldworth.workbench.ledger import Entry, entry_json
from weldworth.workbench.lines import CandidateLine, CandidateView, Deadline, DiaryLine, Feed, JointWorth, Snapshot, WhatIf
from weldworth.workbench.ports import Person, TablesVersion, TermsVersion

DESCRIPTION = """Everything that the pages do, for programs.

Send `Authorization: Bearer TOKEN` with a token made under People. What a token may do is the lesser of its own role and of its
person's. Errors are `{"error": {"kind": ..., "problems": [{"where": ..., "text": ...}]}}`; kinds and statuses: bad-input 422,
not-known 401, not-allowed 403, not-found 404, conflict 409, too-large 413, fault 500. Where a `revision` is taken, sending the
one that you read makes a conflict of what somebody else changed since.
Money is in the shop's currency, chances are from 0 to 1."""


class Problems(BaseModel):
    """What went wrong."""

    class Inner(BaseModel):
        """kind : a word for programs. problems : where and what, one sentence each."""

        kind: str
        problems: list[dict[str, str]]

    error: Inner


_bearer = HTTPBearer(auto_error=False, description="A token made under People.")


def caller(request: Request, desk: TheDesk, given: Annotated[HTTPAuthorizationCredentials | None, Depends(_bearer)]) -> Person:
    """Whose token it is. Raises NotKnown, and NotAllowed where a token that may only look would record."""
    person = desk.people.token(given.credentials) if given is not None else None
    if person is None:
        raise NotKnown("Send a good token: Authorization: Bearer TOKEN. Tokens are made under People.")
    if request.method not in SAFE and person.role == "read-only" and not request.url.path.endswith(LOOKS):
        raise NotAllowed("This token may look and record nothing.")
    return person


LOOKS = ("/what-if", "/asks/message", "/asks/worth", "/adverts/read")
"""Posted to, and still only looking."""

Caller = Annotated[Person, Depends(caller)]
REFUSED: dict[int | str, dict[str, Any]] = {
    status: {"model": Problems, "description": words}
    for status, words in (
        (401, "No good token"),
        (403, "Not allowed"),
        (404, "Not found"),
        (409, "Changed since"),
        (413, "Too large"),
        (422, "Cannot be used"),
    )
}
router = APIRouter(prefix="/api/v1", responses=REFUSED)


def _owner(person: Person) -> None:
    if person.role != "owner":
        raise NotAllowed("Only an owner may do this.")


@router.get("/candidates", tags=["Bench"])
def candidates(
    desk: TheDesk,
    person: Caller,
    search: str = "",
    stage: str | None = None,
    archived: bool = False,
    order: Annotated[str, Query(description="closes, attention, name or changed")] = "closes",
) -> list[CandidateLine]:
    """The bench, with the figures as last weighed."""
    return desk.candidates(search=search, stage=stage, archived=archived, order=order)


@router.get("/deadlines", tags=["Bench"])
def deadlines(desk: TheDesk, person: Caller) -> list[Deadline]:
    """What closes when."""
    return desk.deadlines()


@router.get("/changes", tags=["Bench"])
def changes(desk: TheDesk, person: Caller, since: int = 0, most: Annotated[int, Query(ge=1, le=5000)] = 500) -> Feed:
    """What was recorded after the change number `since`."""
    return desk.changes(since, most)


@router.post("/candidates", tags=["Taking in"], status_code=201)
def open_candidate(desk: TheDesk, person: Caller, given: Opening) -> dict[str, str]:
    """A new candidate; its id."""
    return {"id": desk.open_candidate(given.name, given.body, person.id, **given.facts)}


@router.post("/adverts/read", tags=["Taking in"])
def read_advert(desk: TheDesk, person: Caller, given: Text) -> dict[str, Any]:
    """Facts, claims and warnings of an advertisement, each with the words it came from. Records nothing."""
    return asdict(desk.read_advert(given.text, given.body))


@router.post("/dossiers", tags=["Taking in"], status_code=201)
def import_dossier(desk: TheDesk, person: Caller, file: UploadFile) -> dict[str, str]:
    """A dossier folder, packed as a zip, as a new candidate; its id."""
    with saved([file]) as paths:
        return {"id": take_dossier(desk, paths[0], person.id)}


@router.post("/candidates/{id}/pictures", tags=["Taking in"], status_code=201)
def add_pictures(desk: TheDesk, person: Caller, id: str, files: list[UploadFile]) -> dict[str, Any]:
    """Pictures, videos or zips of them; what could not be taken is named under problems."""
    desk.candidate(id)
    arrived = arrive(desk, files)
    return shown(arrived, [desk.record_picture(id, one.sha256, one.name, person.id) for one in arrived.pictures])


def shown(arrived: Arrived, entries: Sequence[Entry] = ()) -> dict[str, Any]:
    """What arrived, as JSON values."""
    return {
        "pictures": [asdict(one) for one in arrived.pictures],
        "problems": [asdict(problem) for problem in arrived.problems],
        "entries": [entry_json(entry) for entry in entries],
    }


@router.get("/pictures/{sha256}", tags=["Taking in"], response_class=Response)
def picture(desk: TheDesk, person: Caller, sha256: str) -> Response:
    """An original, byte for byte."""
    headers = {"Content-Disposition": f'attachment; filename="{sha256[:12]}"'}
    return Response(desk.pictures.get(sha256), media_type="application/octet-stream", headers=headers)


@router.get("/candidates/{id}", tags=["Candidate"])
def candidate(desk: TheDesk, person: Caller, id: str, upto: int | None = None) -> dict[str, Any]:
    """Everything that stands, as in candidate.toml, or stood when `upto` was the last entry."""
    values = as_values(desk.candidate(id, upto))
    return {**values, "remarks": [*values["remarks"], *(asdict(remark) for remark in desk.alike_elsewhere(id))]}


def as_values(view: CandidateView) -> dict[str, Any]:
    """A candidate as JSON values."""
    return {
        "id": view.id,
        "revision": view.revision,
        "last": view.last,
        "stage": view.stage,
        "archived": view.archived,
        "data": dict(view.data),
        "pictures": [{**asdict(one), "facts": dict(one.facts)} for one in view.pictures],
        "sent": dict(view.sent),
        "remarks": [asdict(remark) for remark in view.remarks],
    }


@router.get("/candidates/{id}/entries", tags=["Candidate"])
def entries(desk: TheDesk, person: Caller, id: str) -> list[dict[str, Any]]:
    """Every entry with its hash, oldest first."""
    return [_line(line) for line in desk.diary(id)]


def _line(line: DiaryLine) -> dict[str, Any]:
    more = {"by_name": line.by_name, "about": line.about, "standing": line.standing}
    return {**entry_json(line.entry), **more, "replaced_by": line.replaced_by, "withdrawn_by": line.withdrawn_by}


@router.post("/candidates/{id}/entries", tags=["Candidate"], status_code=201)
def record(desk: TheDesk, person: Caller, id: str, given: Recording) -> dict[str, Any]:
    """Record one thing."""
    return entry_json(desk.record(id, given.kind, given.body, person.id, given.revision))


@router.post("/candidates/{id}/entries/{seq}/correct", tags=["Candidate"], status_code=201)
def correct(desk: TheDesk, person: Caller, id: str, seq: int, given: Correction) -> dict[str, Any]:
    """Replace what an entry says; the earlier one is kept and stands no longer."""
    return entry_json(desk.correct(id, seq, given.body, person.id, given.revision))


@router.post("/candidates/{id}/entries/{seq}/withdraw", tags=["Candidate"], status_code=201)
def withdraw(desk: TheDesk, person: Caller, id: str, seq: int) -> dict[str, Any]:
    """Take an entry back."""
    return entry_json(desk.withdraw(id, seq, person.id))


@router.post("/candidates/{id}/undo", tags=["Candidate"], status_code=201)
def undo(desk: TheDesk, person: Caller, id: str) -> dict[str, Any]:
    """Take back what one did last, all entries of it; the first of the entries that say so."""
    return entry_json(desk.undo_last(id, person.id)[0])


@router.get("/candidates/{id}/dossier.zip", tags=["Candidate"], response_class=Response)
def export_dossier(desk: TheDesk, person: Caller, id: str) -> Response:
    """The candidate as a dossier folder, packed as a zip, with its pictures and all entries."""
    desk.candidate(id)
    return send_dossier(desk, id)


def send_dossier(desk: TheDesk, id: str) -> Response:
    """The zip as a download; it is gone from here once it is sent."""
    folder = tempfile.TemporaryDirectory()
    path = pack_dossier(desk, id, Path(folder.name))
    return FileResponse(path, filename=path.name, media_type="application/zip", background=BackgroundTask(folder.cleanup))


@router.get("/candidates/{id}/weighing", tags=["Money"])
def weighing(desk: TheDesk, person: Caller, id: str, upto: int | None = None) -> dict[str, Any]:
    """Belief, bill, resale, ceiling and asks: what `weldworth weigh --json` prints."""
    return weighing_json(desk.weighing(id, upto, now=True))


@router.post("/candidates/{id}/what-if", tags=["Money"])
def what_if(desk: TheDesk, person: Caller, id: str, given: WhatIfs) -> list[WhatIf]:
    """The figures at other terms."""
    return desk.what_if(id, given.changes)


@router.get("/candidates/{id}/snapshots", tags=["Money"])
def snapshots(desk: TheDesk, person: Caller, id: str) -> list[Snapshot]:
    """What was known when."""
    return desk.snapshots(id)


@router.post("/candidates/{id}/snapshots", tags=["Money"], status_code=201)
def snapshot(desk: TheDesk, person: Caller, id: str, given: Label) -> dict[str, Any]:
    """Keep what is known now."""
    return entry_json(desk.snapshot(id, given.label, person.id))


@router.post("/candidates/{id}/asks/message", tags=["Asks"])
def ask_message(desk: TheDesk, person: Caller, id: str, given: Chosen) -> dict[str, str]:
    """The message to the seller for these asks."""
    return {"text": desk.ask_message(id, given.asks)}


@router.post("/candidates/{id}/asks/worth", tags=["Asks"])
def joint_worth(desk: TheDesk, person: Caller, id: str, given: Chosen) -> JointWorth:
    """What these asks are worth together."""
    return desk.joint_worth(id, given.asks)


@router.get("/shop/terms", tags=["Shop"])
def terms(desk: TheDesk, person: Caller) -> TermsVersion:
    """The shop's own terms as they hold now, over the tables."""
    return desk.shop.terms()


@router.get("/shop/terms/versions", tags=["Shop"])
def terms_versions(desk: TheDesk, person: Caller) -> list[TermsVersion]:
    """Every version of the terms, oldest first."""
    return desk.shop.terms_versions()


@router.put("/shop/terms", tags=["Shop"])
def change_terms(desk: TheDesk, person: Caller, given: Terms) -> TermsVersion:
    """A new version of the terms."""
    _owner(person)
    return desk.shop.change_terms(given.terms, person.id, note=given.note, version=given.version)


@router.get("/tables", tags=["Shop"])
def tables(desk: TheDesk, person: Caller) -> dict[str, Any]:
    """Names of all tables, and the version that holds."""
    return {"version": desk.tables().version, "names": desk.shop.table_names()}


@router.get("/tables/{name:path}", tags=["Shop"])
def table(desk: TheDesk, person: Caller, name: str) -> dict[str, str]:
    """The text of a table, basis and source of every row included."""
    return {"name": name, "text": desk.shop.table_text(name)}


@router.put("/tables/{name:path}", tags=["Shop"])
def change_table(desk: TheDesk, person: Caller, name: str, given: TableText) -> TablesVersion:
    """A new version of a table; it is tried out before it is kept."""
    _owner(person)
    return desk.shop.change_table(name, given.text, person.id, note=given.note, version=given.version)


@router.get("/people", tags=["People"])
def people(desk: TheDesk, person: Caller) -> list[dict[str, Any]]:
    """Everybody, without passwords."""
    return [
        {"id": one.id, "name": one.name, "role": one.role, "active": one.active, "created_at": one.created_at}
        for one in desk.people.all()
    ]


@router.post("/people/invitations", tags=["People"], status_code=201)
def invite(desk: TheDesk, person: Caller, given: Invitation) -> dict[str, str]:
    """The code of an invitation; shown once."""
    _owner(person)
    return {"code": desk.people.invite(given.name, given.role, person.id)}


@router.get("/verify", tags=["Shop"])
def verify(desk: TheDesk, person: Caller) -> dict[str, list[dict[str, str]]]:
    """Where the chain of somebody's entries is broken; empty where all hold."""
    return {id: [asdict(problem) for problem in problems] for id, problems in desk.verify().items()}
