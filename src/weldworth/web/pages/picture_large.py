"""One picture large: what its file tells, the zones it shows, what is marked on it, and another one beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.core.errors import BadInput, NotFound
from weldworth.evidence.pictures import dismissal
from weldworth.vehicle.plan import Plan
from weldworth.web.forms import Posted, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.candidate import candidate_page, read_once
from weldworth.web.pages.picture_machine import machine_words
from weldworth.web.pages.picture_marks import FIELDS, MARKING, body_of, came_words, empty_form, form_of, mark_words, marks_on
from weldworth.web.pages.picture_measure import scale_choices
from weldworth.web.picture_filter import Filter, back_to, zone_words
from weldworth.web.picture_lines import Shown, picture_of, shown_pictures
from weldworth.web.undoing import done
from weldworth.workbench.desk import Desk
from weldworth.workbench.ports import Person

router = APIRouter()
MOST_BESIDE = 6


@dataclass(frozen=True, slots=True)
class Beside:
    """A picture that may well stand beside the large one. why : in what it is like it."""

    one: Shown
    why: str


@read_once
def picture_page(
    request: Request, desk: Desk, id: str, sha256: str, person: Person, status: int = 200, **values: object
) -> Response:
    """One picture large. Raises NotFound for one that is not of this candidate."""
    view, plan = desk.candidate(id), desk.metal(id).plan
    picture_of(view, sha256)
    all_of = shown_pictures(desk, view, plan)
    at = next(place for place, one in enumerate(all_of) if one.line.sha256 == sha256)
    one, asked = all_of[at], request.query_params
    wanted = Filter(asked.get("show", ""), asked.get("zone", ""))
    marks = marks_on(view, plan, one.line.name, desk)
    change = next((mark for mark in marks if str(mark.seq) == asked.get("change")), None)
    words = zone_words(view, plan, person)
    shared: dict[str, object] = {
        "view": view,
        "one": one,
        "beside": next((other for other in all_of if other.line.sha256 == asked.get("beside")), None),
        "likely": likely_beside(one, all_of, plan),
        "others": [other for other in all_of if other is not one],
        "before": next((other for other in reversed(all_of[:at]) if wanted.takes(other)), None),
        "after": next((other for other in all_of[at + 1 :] if wanted.takes(other)), None),
        "counted": f"{at + 1} of {len(all_of)}",
        "wanted": wanted,
        "day_words": day_words,
        "marks": marks,
        "change": change,
        "typed": form_of(change) if change else empty_form(one, words["last"], desk),
        "placed": [(plan.zone(zone).label, box) for zone, box in _places(one).items() if zone in plan.index],
        "notes": [entry for entry in view.standing if entry.kind == "note" and entry.body.get("picture") == one.line.name],
        "came_words": came_words(one, desk),
        "scale_choices": scale_choices(desk),
        "machine_here": bool(asked.get("machine")) and not one.trouble,
        "done": done(view, plan, person.id, asked.get("done", "")),
        **mark_words(desk),
        **words,
    }
    if shared["machine_here"]:
        shared |= machine_words(desk, id, sha256)
    return candidate_page(request, desk, id, "Pictures", "picture.html", status, **(shared | values))  # type: ignore[arg-type]


def _places(one: Shown) -> Mapping[str, Sequence[int]]:
    """Zone -> where on the picture it was said to be."""
    return cast(Mapping[str, Sequence[int]], one.line.facts.get("regions") or {})


def likely_beside(one: Shown, all_of: Sequence[Shown], plan: Plan) -> list[Beside]:
    """Pictures to hold against this one: of the same zone, the oldest first, then of its twin on the other side."""
    others = [other for other in all_of if other is not one and not other.trouble]
    mine = [zone for zone, _ in one.zones]
    same = [other for other in others if set(mine) & dict(other.zones).keys()]
    same.sort(key=lambda other: (other.taken_on is None, other.taken_on))
    twins = {twin for zone in mine if (twin := plan.twin(zone)) is not None} - set(mine)
    across = [other for other in others if twins & dict(other.zones).keys() and other not in same]
    found = [Beside(other, f"the same place, {day_words(other)}") for other in same]
    found += [Beside(other, f"the other side, {day_words(other)}") for other in across]
    return found[:MOST_BESIDE]


def day_words(one: Shown) -> str:
    """When it was taken, such as "20 May 1974"; without a date it says so."""
    day = one.taken_on
    return f"{day.day} {day:%b %Y}" if day is not None else "day not known"


@router.get("/c/{id}/pictures/{sha256}")
def shown(request: Request, id: str, sha256: str, desk: TheDesk, person: Known) -> Response:
    """The picture; ?beside= another next to it, ?change= the number of a finding to correct."""
    return picture_page(request, desk, id, sha256, person)


@router.post("/c/{id}/pictures/{sha256}/finding")
def mark(request: Request, id: str, sha256: str, desk: TheDesk, person: Known) -> Response:
    """Put a sign on a part of the picture, or correct (`seq`) one that is there; `instead` of what the machine suggested."""
    posted = Posted(request.state.form)
    view = desk.candidate(id)
    one = next(one for one in shown_pictures(desk, view, desk.metal(id).plan) if one.line is picture_of(view, sha256))
    revision, seq = posted.text("revision"), posted.text("seq")
    known = int(revision) if revision.isdigit() else None
    try:
        body = body_of(posted, one)
        if seq.isdigit():
            entries = [desk.correct(id, int(seq), body, person.id, known)]
        else:
            entries = [desk.record(id, "finding", body, person.id, known)]
        if posted.text("instead"):
            sign, zone = dismissal(posted.text("instead"))
            entries.append(desk.dismiss(id, sha256, zone, sign, person.id))
    except BadInput as error:
        again = {"typed": posted.values(MARKING) | {"absent": posted.text("absent")}, "problems": problems_for(error, FIELDS)}
        return picture_page(request, desk, id, sha256, person, 422, **again)
    return RedirectResponse(back_to(id, posted, entries), 303)


@router.post("/c/{id}/pictures/{sha256}/withdraw")
def take_back(request: Request, id: str, sha256: str, desk: TheDesk, person: Known) -> Response:
    """Take a finding or a note on this picture back."""
    posted = Posted(request.state.form)
    line = picture_of(desk.candidate(id), sha256)
    seqs = {entry.seq for entry in desk.candidate(id).standing if entry.body.get("picture") == line.name}
    if not posted.text("seq").isdigit() or int(posted.text("seq")) not in seqs:
        raise NotFound(f"there is no record {posted.text('seq')!r} on this picture any more")
    return RedirectResponse(back_to(id, posted, [desk.withdraw(id, int(posted.text("seq")), person.id)]), 303)
