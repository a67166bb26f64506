"""Metal: the drawings toned by belief, the chosen zone in full, a finding in two taps, and the same as a list."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.asks.ask import Ask
from weldworth.asks.rank import UNDERNEATH
from weldworth.belief.believe import BAD, reasons
from weldworth.belief.sight import lexicon
from weldworth.core.errors import BadInput
from weldworth.drawings.shelf import bodies
from weldworth.report.metal import zone_row
from weldworth.report.numbers import hundred
from weldworth.report.sheet import ZoneRow
from weldworth.vehicle.plan import Zone
from weldworth.web.forms import Posted, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.candidate import candidate_page, read_once, weighed
from weldworth.web.plates import layer_with, layers_of, plates
from weldworth.web.render import page
from weldworth.web.times import day_and_time
from weldworth.workbench.coverage import seen_zones
from weldworth.workbench.desk import Desk
from weldworth.workbench.lines import CandidateView, Metal
from weldworth.workbench.weigh import Weighing

router = APIRouter()
FIELDS = ("zone", "sign", "source", "quality", "note")
LEAST_MOVE = 0.005
GLOSS = {
    "sound": "clean metal, paint on it",
    "surface": "rust that wipes to metal",
    "pitted": "thinner, still whole",
    "holed": "through",
    "mended": "cut out and welded properly",
    "masked": "covered over bad metal",
}
QUICK = (
    "original-paint",
    "surface-rust",
    "bubbling",
    "scale",
    "hole",
    "patch",
    "filler",
    "fresh-coating",
    "wet",
    "mud",
    "not-shown",
)
PROBES = ("rings", "dull", "dents", "goes-through", "magnet-slips", "box-clean", "box-scale")
SOURCES = (
    "asked-picture",
    "beauty-picture",
    "video",
    "live-video",
    "old-picture",
    "poor-picture",
    "seller-answer",
    "inspector-lift",
    "inspector-ground",
    "club-member",
    "own-ground",
    "own-lift",
    "stripped",
)


@dataclass(frozen=True, slots=True)
class Step:
    """One line of what moved a zone. before, after : chance of bad metal, 0..1. change : in hundredths, signed, "" for none."""

    text: str
    change: str
    after: str
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Memo:
    """A voice memo of a zone."""

    sha256: str
    words: str


@dataclass(frozen=True)
class Chosen:
    """The chosen zone. steps : from its kind and life to what is believed now. ask : the best of what to ask about it."""

    zone: Zone
    row: ZoneRow
    glosses: tuple[tuple[str, str, str], ...]
    steps: tuple[Step, ...]
    pictures: tuple[str, ...]
    memos: tuple[Memo, ...]
    ask: Ask | None
    caution: str


def chosen_zone(desk: Desk, view: CandidateView, metal: Metal, weighing: Weighing | None, id: str) -> Chosen:
    """Everything about one zone; raises BadInput for a zone that this body does not have."""
    belief, zone = metal.belief, metal.plan.zone(id)
    row = zone_row(zone, belief.zones[metal.plan.index[id]].tolist(), id in seen_zones(belief))
    named = [getattr(record, "picture", None) for record in view.dossier.records if getattr(record, "zone", None) == id]
    asks = weighing.asking.about(id) if weighing else []
    caution = f"{UNDERNEATH} " if zone.station == "underneath" else ""
    return Chosen(
        zone=zone,
        row=row,
        glosses=tuple((name, GLOSS[name], figure) for name, figure in zip(GLOSS, row.figures, strict=True)),
        steps=_steps(desk, metal, id, row),
        pictures=tuple(dict.fromkeys(name for name in named if name)),
        memos=_memos(view, id, desk.people.names()),
        ask=max(asks, key=lambda ask: ask.net, default=None),
        caution=caution + "Probe only with the owner's leave.",
    )


def _memos(view: CandidateView, zone: str, names: Mapping[str, str]) -> tuple[Memo, ...]:
    """What was spoken about a zone, oldest first."""
    found = [entry for entry in view.standing if entry.kind == "memo" and entry.body.get("zone") == zone]
    who = [f"{day_and_time(entry.at.astimezone())}, {names.get(entry.by, 'somebody')}" for entry in found]
    return tuple(
        Memo(str(entry.body["sha256"]), f"{float(str(entry.body['seconds'])):.0f} s, {words}")
        for entry, words in zip(found, who, strict=True)
    )


def _steps(desk: Desk, metal: Metal, id: str, row: ZoneRow) -> tuple[Step, ...]:
    """The records that moved the zone, strongest first, each as a move of the chance; the last line brings the rest."""
    prior = float(metal.belief.prior[metal.plan.index[id], list(BAD)].sum())
    steps = [Step("Any zone of this kind, with this life", "", hundred(prior), prior, prior)]
    at = prior
    for reason in reasons(metal.belief, id, desk.tables())[:6]:
        odds = at / (1 - at) * exp(reason.moved)
        then = odds / (1 + odds)
        if abs(then - at) < LEAST_MOVE:
            continue
        steps.append(Step(reason.text, _signed(then - at), hundred(then), at, then))
        at = then
    if abs(row.bad - at) >= LEAST_MOVE:
        steps.append(Step("All of it together, and what else was seen", _signed(row.bad - at), hundred(row.bad), at, row.bad))
    return tuple(steps)


def _signed(change: float) -> str:
    points = round(100 * change)
    return "0" if points == 0 else f"+{points}" if points > 0 else f"\u2212{-points}"


@read_once
def metal_page(
    request: Request,
    desk: Desk,
    id: str,
    zone: str | None,
    layer: str | None,
    status: int = 200,
    *,
    at: int | None = None,
    **values: object,
) -> Response:
    """The page with one zone chosen; the worst where none is named. at : the record that was the last, None for now."""
    view, metal = desk.candidate(id, at), desk.metal(id, at)
    weighing, _ = weighed(desk, id, at)
    seen = seen_zones(metal.belief)
    rows = {
        one.id: zone_row(one, chances, one.id in seen)
        for one, chances in zip(metal.plan.zones, metal.belief.zones.tolist(), strict=True)
    }
    worst = sorted(rows.values(), key=lambda row: (-row.bad, row.id))
    picked = zone or worst[0].id
    chosen = chosen_zone(desk, view, metal, weighing, picked)
    switches = layers_of(metal.plan.body)
    shown = layer or (layer_with(metal.plan.body, picked) if zone else None) or (switches[0].id if switches else "")
    switch = next((one for one in switches if one.id == shown), switches[0] if switches else None)
    return candidate_page(
        request,
        desk,
        id,
        "Metal",
        "metal.html",
        status,
        view=view,
        weighing=weighing,
        chosen=chosen,
        rows=worst,
        switches=switches,
        switch=switch,
        plates=plates(metal.plan.body, switch, rows, picked) if switch else (),
        drawn=metal.plan.body in bodies(),
        **(_forms(desk) | values),
    )


def _forms(desk: Desk) -> dict[str, object]:
    lex = lexicon(desk.tables())
    return {
        "quick": [(sign, lex.signs[sign].meaning) for sign in QUICK],
        "probes": [(sign, lex.signs[sign].meaning) for sign in PROBES],
        "sources": [(source, lex.sources[source].name) for source in SOURCES],
        "typed": dict.fromkeys(FIELDS, ""),
    }


@router.get("/c/{id}/metal")
def metal(
    request: Request,
    id: str,
    desk: TheDesk,
    person: Known,
    zone: str | None = None,
    layer: str | None = None,
    at: int | None = None,
) -> Response:
    """The metal of a candidate; ?at= as it stood when that record was the last."""
    return metal_page(request, desk, id, zone, layer, at=at)


@router.get("/c/{id}/metal/{zone}")
def one_zone(request: Request, id: str, zone: str, desk: TheDesk, person: Known, at: int | None = None) -> Response:
    """The chosen zone alone, to be put beside the drawing; ?at= as for the page."""
    view, found = desk.candidate(id, at), desk.metal(id, at)
    weighing, _ = weighed(desk, id, at)
    chosen = chosen_zone(desk, view, found, weighing, zone)
    return page(request, "metal_zone.html", 200, view=view, chosen=chosen, **_forms(desk))


@router.post("/c/{id}/metal")
def record(request: Request, id: str, desk: TheDesk, person: Known) -> Response:
    """Record a finding at a zone, or that a sign was looked for and is not there."""
    posted = Posted(request.state.form)
    zone = posted.text("zone")
    body: dict[str, object] = {"zone": zone, "sign": posted.text("sign"), "source": posted.text("source")}
    if posted.ticked("absent"):
        body["absent"] = True
    quality = posted.number("quality")
    if quality is not None:
        body["quality"] = quality
    if posted.text("note"):
        body["note"] = posted.text("note")
    try:
        posted.check()
        revision = posted.text("revision")
        desk.record(id, "finding", body, person.id, int(revision) if revision.isdigit() else None)
    except BadInput as error:
        known = zone if zone in desk.metal(id).plan.index else None
        return metal_page(request, desk, id, known, None, 422, problems=problems_for(error, FIELDS), typed=posted.values(FIELDS))
    return RedirectResponse(f"/c/{id}/metal?zone={zone}", 303)
