"""Pictures put on zones, many at once, and taken off them; what was just recorded taken back."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.core.errors import BadInput, Problem
from weldworth.web.forms import Posted, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.picture_large import picture_page
from weldworth.web.pages.pictures import pictures_page
from weldworth.web.picture_filter import Filter, back_to
from weldworth.web.picture_lines import picture_of
from weldworth.web.undoing import undo
from weldworth.workbench.desk import Desk
from weldworth.workbench.ledger import Entry
from weldworth.workbench.looking import described

router = APIRouter()
FIELDS = ("zones", "picture")


@router.post("/c/{id}/pictures/zones")
def put_on_zones(request: Request, id: str, desk: TheDesk, person: Known) -> Response:
    """Put the ticked pictures on zones beside those that they show already, or take them off (`off`)."""
    posted = Posted(request.state.form)
    wanted, ticked = Filter(posted.text("from_show"), posted.text("from_zone")), posted.texts("picture")
    try:
        entries = put_on(desk, id, ticked, [zone for zone in posted.texts("zones") if zone], posted.ticked("off"), person.id)
    except BadInput as error:
        problems = problems_for(error, FIELDS)
        if posted.text("large"):
            return picture_page(request, desk, id, posted.text("large"), person, 422, problems=problems_for(error, FIELDS))
        return pictures_page(request, desk, id, person, wanted, 422, problems=problems, ticked=frozenset(ticked))
    return RedirectResponse(back_to(id, posted, entries), 303)


def put_on(desk: Desk, id: str, pictures: list[str], zones: list[str], off: bool, person: str) -> list[Entry]:
    """Record that pictures show zones, or show them no more; all or none. Raises BadInput where either is not chosen."""
    problems = [Problem("picture", "nothing is ticked; tick the pictures first")] if not pictures else []
    problems += [Problem("zones", "no zone is chosen; choose one")] if not zones else []
    if problems:
        raise BadInput(problems)
    view, corrections = desk.candidate(id), []
    for sha256 in dict.fromkeys(pictures):
        one = picture_of(view, sha256)
        kept = [zone for zone in one.zones if zone not in zones]
        shows = kept if off else [*kept, *dict.fromkeys(zones)]
        if set(shows) != set(one.zones):
            corrections.append((one.seq, described(one, {"zones": shows})))
    return desk.correct_all(id, corrections, person) if corrections else []


@router.post("/c/{id}/pictures/undo")
def take_back(request: Request, id: str, desk: TheDesk, person: Known) -> Response:
    """Take back what was just recorded."""
    posted = Posted(request.state.form)
    return RedirectResponse(back_to(id, posted, undo(desk, id, posted.text("seqs"), person.id)), 303)
