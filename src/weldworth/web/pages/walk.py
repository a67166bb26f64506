"""Walk: choose the minutes, see the way round, go round stop by stop with a phone, and see what it changed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import cast

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.web.forms import Posted, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.inlined import Inlined, inlined
from weldworth.web.pages.candidate import candidate_page, read_once, weighed
from weldworth.web.pages.links import made_of
from weldworth.web.pages.moments import MOST_MOVED, figures_beside, moved
from weldworth.web.render import page
from weldworth.web.shield import HEADERS
from weldworth.web.times import day_and_time
from weldworth.web.uploads import Inbox, add_upload_routes
from weldworth.web.walk_box import WalkBox
from weldworth.web.walk_data import ceiling_words, ground_of, running, walk_data
from weldworth.workbench.coverage import seen_zones
from weldworth.workbench.desk import Desk
from weldworth.workbench.lines import CandidateView
from weldworth.workbench.links import SEES
from weldworth.workbench.route import Ground
from weldworth.workbench.walk import MINUTES, WalkStop, stops_of, walkers
from weldworth.workbench.walking import (
    Walk,
    begin_walk,
    end_walk,
    taken_down,
    walk_in,
    walks_in,
)

router = APIRouter()
FIELDS = ("minutes", "source")
LINK_FIELDS = ("label", "vehicle", "days")
STYLES = ("tokens.css", "walk_on.css")
USUAL = ("own-ground", 40)
MOST_ASKS = 5


@dataclass(frozen=True, slots=True)
class Point:
    """A stop on the map of the way. x, y : mm on the sheet, the nose to the left."""

    number: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Line:
    """A walk in the list of walks."""

    walk: Walk
    when: str
    who: str
    records: int


def map_of(stops: tuple[WalkStop, ...], ground: Ground, desk: Desk) -> tuple[Point, ...]:
    """Where the stops lie round the drawing from above; several at one place stand beside each other."""
    at = {stop.id: stop.at for stop in stops_of(desk.tables(), ground)}
    points: list[Point] = []
    for number, stop in enumerate(stops, start=1):
        x, y = at[stop.id]
        half_x, half_y = ground.length / 2, ground.width / 2
        x = ground.length / 2 + (x + (-480 if x <= -half_x else 480 if x >= half_x else 0))
        y = ground.width / 2 + (y + (-420 if y <= -half_y else 420 if y >= half_y else 0))
        while any(abs(one.x - x) < 520 and abs(one.y - y) < 520 for one in points):
            x, y = (x + 560, y) if 0 < x < ground.length else (x, y + 560)
        points.append(Point(number, round(x), round(y)))
    return tuple(points)


@read_once
def walk_page(request: Request, desk: Desk, id: str, source: str, minutes: int, status: int = 200, **values: object) -> Response:
    """The page on which a walk is chosen, with the way as it would be."""
    view = desk.candidate(id)
    known, ground = walkers(desk.tables()), ground_of(view.dossier.vehicle.body)
    chosen = source if source in known else USUAL[0]
    plan = desk.walk_plan(id, chosen, min(max(minutes, MINUTES[0]), MINUTES[-1]), ground)
    body_plan, names = desk.metal(id).plan, desk.people.names()
    labels = {zone.id: zone.label for zone in body_plan.zones} | {place.id: place.name for place in body_plan.places}
    walks = [
        Line(walk, day_and_time(walk.at.astimezone()), names.get(walk.by, "somebody"), len(taken_down(view, walk.id)))
        for walk in walks_in(view)
    ]
    shared: dict[str, object] = {
        "view": view,
        "plan": plan,
        "labels": labels,
        "points": map_of(plan.stops, ground, desk),
        "ground": ground,
        "minutes": plan.minutes,
        "source": chosen,
        "sources": [(one.id, one.name[:1].upper() + one.name[1:]) for one in known.values()],
        "choices": [(str(n), f"{n} minutes") for n in MINUTES],
        "walks": walks,
        "drawn": bool(ground.stands),
        "links": desk.links.all(id, walks=True),
        "sees": SEES,
        "given": dict.fromkeys(LINK_FIELDS, ""),
        "made": None,
        "lent": next((one.walk.id for one in walks if one.walk.ended is None), ""),
    }
    return candidate_page(request, desk, id, "Walk", "walk.html", status, **(shared | values))  # type: ignore[arg-type]


@router.get("/c/{id}/walk")
def shown(request: Request, id: str, desk: TheDesk, person: Known, source: str = USUAL[0], minutes: int = USUAL[1]) -> Response:
    """Choose who walks and for how long."""
    return walk_page(request, desk, id, source, minutes)


@router.post("/c/{id}/walk")
def begin(request: Request, id: str, desk: TheDesk, person: Known) -> Response:
    """Begin a walk."""
    posted = Posted(request.state.form)
    minutes, source = posted.text("minutes"), posted.text("source")
    try:
        if not minutes.isdigit():
            raise BadInput([Problem("minutes", f"minutes is {minutes[:20]!r}; choose {', '.join(map(str, MINUTES))}")])
        ground = ground_of(desk.candidate(id).dossier.vehicle.body)
        walk = begin_walk(desk, id, source, int(minutes), person.id, ground)
    except BadInput as error:
        return walk_page(request, desk, id, *USUAL, 422, problems=problems_for(error, FIELDS))
    return RedirectResponse(f"/c/{id}/walk/{walk}", 303)


@router.get("/c/{id}/walk/{walk}")
def on_it(request: Request, id: str, walk: str, desk: TheDesk, person: Known) -> Response:
    """The walk itself, for the phone: everything that is needed without reception comes with it."""
    view = desk.candidate(id)
    found = walk_in(view, walk)
    data = walk_data(desk, view, found, base=f"/c/{id}/walk/{walk}", sees=True)
    inside = on_the_phone()
    response = page(request, "walk_on.html", 200, view=view, walk=found, data=data, title="Walk", inlined=inside)
    response.headers["Content-Security-Policy"] = inside.policy
    return with_microphone(response)


def on_the_phone() -> Inlined:
    """Style and script of the walk on the phone."""
    return inlined(STYLES, "walk.js")


def with_microphone(response: Response) -> Response:
    """The page with leave to ask for the microphone, which no other page has."""
    response.headers["Permissions-Policy"] = HEADERS["Permissions-Policy"].replace("microphone=()", "microphone=(self)")
    return response


def box_of(id: str, walk: str, desk: TheDesk, person: Known) -> Inbox:
    """Where the things of a walk go."""
    return WalkBox(desk, id, walk_in(desk.candidate(id), walk), person.id).inbox()


add_upload_routes(router, "/c/{id}/walk/{walk}/up", box_of)


@router.get("/c/{id}/walk/{walk}/running")
def running_now(id: str, walk: str, desk: TheDesk, person: Known, zone: str = "") -> Response:
    """What is believed of the zones by now, and the ceiling: asked for after a finding is kept, never before."""
    walk_in(desk.candidate(id), walk)
    return running_of(desk, id, zone)


def running_of(desk: Desk, id: str, zones: str) -> Response:
    """What is believed of zones (with commas) by now, and the ceiling."""
    weighing, _ = weighed(desk, id)
    metal = desk.metal(id)
    wanted = [one for one in zones.split(",") if one][:40]
    return JSONResponse(running(metal, weighing, wanted, seen_zones(metal.belief)))


@router.post("/c/{id}/walk/{walk}/links")
def link(request: Request, id: str, walk: str, desk: TheDesk, person: Known) -> Response:
    """A link to this walk for a helper without an account; its address is shown once."""
    posted = Posted(request.state.form)
    found = walk_in(desk.candidate(id), walk)
    try:
        days = posted.number("days")
        posted.check()
        given = {"label": posted.text("label"), "vehicle": posted.text("vehicle"), "days": days}
        _, secret = desk.links.make_walk(id, walk, person.id, sees=posted.ticked("sees"), **given)  # type: ignore[arg-type]
    except BadInput as error:
        problems = problems_for(error, LINK_FIELDS)
        return walk_page(request, desk, id, found.source, found.minutes, 422, problems=problems, given=posted.values(LINK_FIELDS))
    return walk_page(request, desk, id, found.source, found.minutes, made=made_of(request, secret, "/w/"))


@router.post("/c/{id}/walk-links/{link}/end")
def end_link(id: str, link: str, desk: TheDesk, person: Known) -> Response:
    """End a helper's link: its page is gone at once."""
    if desk.links.get(link).candidate != id:
        raise NotFound("there is no such link of this candidate")
    desk.links.end(link)
    return RedirectResponse(f"/c/{id}/walk", 303)


@router.post("/c/{id}/walk/{walk}/end")
def end(request: Request, id: str, walk: str, desk: TheDesk, person: Known) -> Response:
    """End the walk and go on to what it changed."""
    end_walk(desk, id, walk, person.id)
    return RedirectResponse(f"/c/{id}/walk/{walk}/changed", 303)


@router.get("/c/{id}/walk/{walk}/changed")
def changed(request: Request, id: str, walk: str, desk: TheDesk, person: Known) -> Response:
    """What the walk changed: figures before and after, zones that moved, what was passed by, what is still worth asking."""
    view = desk.candidate(id)
    found = walk_in(view, walk)
    before, _ = weighed(desk, id, found.revision)
    after, wanted = weighed(desk, id)
    rows = moved(desk.metal(id, found.revision), desk.metal(id))
    paying = [ask for ask in after.ranking.asks if ask.net > 0 and ask.kind != "visit"][:MOST_ASKS] if after else []
    return candidate_page(
        request,
        desk,
        id,
        "Walk",
        "walk_changed.html",
        view=view,
        walk=found,
        when=day_and_time(found.at.astimezone()),
        before=ceiling_words(before),
        after=ceiling_words(after),
        lacking=wanted,
        figures=figures_beside(before, after),
        moved=rows[:MOST_MOVED],
        asks=paying,
        unlooked=unlooked(view, found, desk),
        records=[line for line in desk.diary(id) if line.entry.body.get("walk") == walk and line.entry.kind != "walk"],
    )


def unlooked(view: CandidateView, walk: Walk, desk: Desk) -> list[str]:
    """The zones of the walk about which nothing was recorded on it."""
    done = {str(entry.body.get("zone")) for entry in taken_down(view, walk.id)}
    done |= {str(zone) for entry in taken_down(view, walk.id) for zone in cast(list[object], entry.body.get("zones") or [])}
    plan = desk.metal(view.id).plan
    return [plan.zone(id).label for stop in walk.stops for id in stop.zones if id not in done and id in plan.index]
