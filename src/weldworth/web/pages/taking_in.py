"""Taking in: an advertisement read, pictures dropped, a dossier unpacked, or all of it typed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.core.errors import BadInput, Problem
from weldworth.drawings.shelf import bodies
from weldworth.evidence.questions import questions
from weldworth.exposure.cues import known_words, read_cues
from weldworth.tables import Tables
from weldworth.vehicle.plans import load_plan
from weldworth.web.api.routes import send_dossier
from weldworth.web.arrivals import holds_dossier, saved, take_dossier, taken
from weldworth.web.forms import Posted, Problems, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.taking_form import HISTORY, Typed, empty_values, entries_of, from_advert, from_form, picture_items
from weldworth.web.render import local_now, page
from weldworth.workbench.advert import AdvertReading
from weldworth.workbench.desk import Desk

router = APIRouter()
BLANK_ROWS = 1
REPAIRS = "repair_history.csv"


@dataclass(frozen=True)
class Claimed:
    """One claim, answer or warning as it is shown. quote : the advertisement's words. entries : what would be recorded.

    weighed : whether it moves anything.
    """

    what: str
    quote: str
    note: str
    entries: tuple[str, ...]
    weighed: bool


def claimed(reading: AdvertReading, tables: Tables, body: str) -> list[Claimed]:
    """What the advertisement says of the metal and the life, each with its words."""
    plan = load_plan(body, tables) if body else None
    found = []
    for claim in reading.claims:
        sign = claim.sign.replace("-", " ")
        what = f"No {sign}" if claim.absent else sign.capitalize()
        labels = [plan.zone(zone).label for zone in claim.zones] if plan else []
        where = "; ".join(labels[:4]) + (f"; {len(labels) - 4} more" if len(labels) > 4 else "")
        note = where or ("names no zone" if body else "goes to zones once a body plan is chosen")
        entries = tuple(json.dumps(["finding", dict(item)]) for item in claim.items)
        found.append(Claimed(what, _one_line(claim.said.words), note, entries, bool(entries)))
    known = questions(tables)
    answers = {(str(body["question"]), str(body["answer"])): body for kind, body in reading.items if kind == "answer"}
    for told in reading.answers:
        question = known[told.question]
        entry = json.dumps(["answer", answers[(told.question, told.answer)]])
        words = question.answers.get(told.answer, told.answer)
        found.append(Claimed(words.capitalize(), _one_line(told.said.words), question.text, (entry,), True))
    return found


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _body_choices(tables: Tables) -> list[tuple[str, str, bool]]:
    """(body, its name, whether it is drawn)."""
    drawn = bodies()
    return [(body, load_plan(body, tables).name, body in drawn) for body in tables.plan_names()]


def _show(
    request: Request,
    desk: Desk,
    typed: Typed,
    status: int = 200,
    *,
    reading: AdvertReading | None = None,
    problems: Problems | None = None,
    answered: bool = False,
) -> Response:
    tables = desk.tables()
    words: Mapping[str, object] = known_words(read_cues(tables))
    columns = ("history", "name", "repaired", "well")
    rows = [*typed.rows, *(dict.fromkeys(HISTORY, "") for _ in range(BLANK_ROWS))]
    return page(
        request,
        "take.html",
        status,
        title="Taking in",
        place="Take in",
        typed=typed,
        values=typed.values,
        rows=rows,
        bodies=_body_choices(tables),
        repairs=[(row.text("history"), row.text("name")) for row in tables.rows(REPAIRS, columns)],
        words=words,
        reading=reading,
        claims=claimed(reading, tables, typed.values["body"]) if reading else [],
        year_now=local_now(request).year,
        problems=problems or Problems(()),
        answered=answered,
        drawn_from="what is typed here",
    )


@router.get("/new")
def new(request: Request, person: Known) -> Response:
    """Three ways to begin."""
    return page(request, "new.html", title="Taking in", place="Take in", advert="", drawn_from="nothing yet")


@router.get("/new/typed")
def type_it(request: Request, desk: TheDesk, person: Known) -> Response:
    """An empty form."""
    return _show(request, desk, Typed(empty_values()))


@router.post("/new/with-pictures")
def with_pictures(request: Request, desk: TheDesk, person: Known) -> Response:
    """The form for pictures that have arrived."""
    pictures = from_form(Posted(request.state.form)).pictures
    return _show(request, desk, Typed(empty_values(), pictures=pictures), answered=True)


@router.post("/new/read")
def read(request: Request, desk: TheDesk, person: Known) -> Response:
    """Read an advertisement, or read it again with another body, and show what was understood; nothing is recorded yet."""
    form = Posted(request.state.form)
    text = request.state.form.get("advert")
    try:
        reading = desk.read_advert(text if isinstance(text, str) else "", form.text("body") or None)
    except BadInput as error:
        problems = problems_for(BadInput([Problem("advert", p.text) for p in error.problems]), ("advert",))
        return page(
            request,
            "new.html",
            422,
            title="Taking in",
            place="Take in",
            advert=text or "",
            problems=problems,
            drawn_from="nothing yet",
        )
    typed = from_advert(reading)
    if "name" in form.form:
        before = from_form(form)
        values = {key: value or typed.values[key] for key, value in before.values.items()}
        typed = replace(typed, values=values, rows=before.rows, pictures=before.pictures)
    return _show(request, desk, typed, reading=reading, answered=True)


@router.post("/new")
def confirm(request: Request, desk: TheDesk, person: Known) -> Response:
    """Open the candidate with everything that the form holds, or say what is wrong beside each field."""
    form = Posted(request.state.form)
    typed = from_form(form)
    try:
        opening, items = entries_of(typed, desk.tables(), desk.clock.today())
        gone = [name for sha256, name in typed.pictures if not desk.pictures.exists(sha256)]
        if gone:
            raise BadInput([Problem("picture", f"{name!r} is not here any more; choose it again") for name in gone])
        id = desk.take_in(opening, [*items, *picture_items(typed.pictures)], person.id)
    except BadInput as error:
        reading = None
        if typed.advert.strip():
            reading = desk.read_advert(typed.advert, _plan_or_none(typed.values["body"], desk.tables()))
            typed = replace(typed, was=from_advert(reading).was)
        problems = problems_for(error, typed.fields)
        return _show(request, desk, typed, 422, reading=reading, problems=problems, answered=True)
    return RedirectResponse(f"/c/{id}/{'pictures' if typed.pictures else 'money'}", 303)


def _plan_or_none(body: str, tables: Tables) -> str | None:
    return body if body in tables.plan_names() else None


@router.post("/new/upload")
def upload(request: Request, desk: TheDesk, person: Known) -> Response:
    """The same as the script sends in pieces, from a browser without scripts."""
    with saved(Posted(request.state.form).files("files")) as files:
        if len(files) == 1 and holds_dossier(files[0]):
            return RedirectResponse(f"/c/{take_dossier(desk, files[0], person.id)}/metal", 303)
        arrived = taken(desk, files)
    typed = Typed(empty_values(), pictures=tuple((one.sha256, one.name) for one in arrived.pictures))
    return _show(request, desk, typed, problems=Problems(arrived.problems), answered=True)


@router.get("/c/{id}/dossier.zip")
def dossier(id: str, desk: TheDesk, person: Known) -> Response:
    """The candidate as a dossier folder."""
    desk.candidate(id)
    return send_dossier(desk, id)
