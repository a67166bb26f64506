"""People: who may come in, as what, from where; invitations and tokens for other programs."""

from __future__ import annotations

from datetime import datetime

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.core.errors import BadInput, NotAllowed
from weldworth.web.forms import Posted, Problems, problems_for
from weldworth.web.guard import Known, TheDesk, settings_of
from weldworth.web.render import page
from weldworth.workbench.ports import ROLES, Person

router = APIRouter()
WORDS = {"owner": "does everything", "partner": "does everything about candidates", "read-only": "looks, and records nothing"}


def _owner(person: Person) -> None:
    if person.role != "owner":
        raise NotAllowed("Only an owner changes who may come in.")


def _show(request: Request, desk: TheDesk, person: Person, status: int = 200, **more: object) -> Response:
    people = desk.people.all()
    names = {one.id: one.name for one in people}
    mine = None if person.role == "owner" else person.id
    values: dict[str, object] = {
        "people": people,
        "names": names,
        "roles": [(role, role) for role in ROLES],
        "words": WORDS,
        "sessions": desk.people.passes("session", mine),
        "tokens": desk.people.passes("token", mine),
        "invitations": desk.people.passes("invitation") if person.role == "owner" else [],
        "open_door": settings_of(request).open_door,
        "secret": None,
        "values": {"name": "", "role": "partner", "label": "", "token_role": person.role},
        "drawn_from": f"{len(people)} people" if len(people) != 1 else "one person",
        "problems": Problems(()),
        "moment": lambda text: datetime.fromisoformat(text).astimezone(),
    }
    return page(request, "people.html", status, title="People", place="People", **(values | more))


@router.get("/people")
def people(request: Request, desk: TheDesk, person: Known) -> Response:
    """Everybody, and what is open."""
    return _show(request, desk, person)


@router.post("/people/invite")
def invite(request: Request, desk: TheDesk, person: Known) -> Response:
    """Make an invitation; its code is shown once."""
    _owner(person)
    form = Posted(request.state.form)
    values = {"name": form.text("name"), "role": form.text("role"), "label": "", "token_role": person.role}
    try:
        secret = desk.people.invite(str(values["name"]), str(values["role"]), person.id)
    except BadInput as error:
        return _show(request, desk, person, 422, values=values, problems=problems_for(error, ("name", "role")))
    address = f"{request.url.scheme}://{request.url.netloc}/welcome?code={secret}"
    shown = {"of": f"The invitation for {values['name'] or 'somebody'}", "text": address, "note": "Works once, for a week."}
    return _show(request, desk, person, secret=shown)


@router.post("/people/token")
def token(request: Request, desk: TheDesk, person: Known) -> Response:
    """Make a token for another program; it is shown once."""
    form = Posted(request.state.form)
    values = {"name": "", "role": "partner", "label": form.text("label"), "token_role": form.text("token_role")}
    try:
        secret = desk.people.give_token(person.id, str(values["label"]), role=str(values["token_role"]) or None)
    except BadInput as error:
        return _show(request, desk, person, 422, values=values, problems=problems_for(error, ("label", "token_role", "role")))
    shown = {"of": f"The token “{values['label']}”", "text": secret, "note": "Send it as Authorization: Bearer …"}
    return _show(request, desk, person, secret=shown)


@router.post("/people/end/{hash}")
def end(hash: str, desk: TheDesk, person: Known) -> Response:
    """End a session, token or invitation: one's own, or anybody's for an owner."""
    whose = {given.hash: given.person for kind in ("session", "token") for given in desk.people.passes(kind)}
    if whose.get(hash) != person.id:
        _owner(person)
    desk.people.end(hash)
    return RedirectResponse("/people", 303)


@router.post("/people/{id}")
def change(request: Request, id: str, desk: TheDesk, person: Known) -> Response:
    """Give somebody another role, keep them out, or let them in again."""
    _owner(person)
    form = Posted(request.state.form)
    try:
        if form.text("role"):
            desk.people.set_role(id, form.text("role"))
        if form.text("active"):
            desk.people.set_active(id, form.text("active") == "yes")
    except BadInput as error:
        return _show(request, desk, person, 422, problems=problems_for(error, ()))
    return RedirectResponse("/people", 303)
