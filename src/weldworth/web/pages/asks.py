"""Asks: what is worth asking for, the chosen ones together, the message to send, and what came back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.asks.ask import Ask
from weldworth.core.errors import BadInput, NotFound
from weldworth.report.numbers import decides, money
from weldworth.web.forms import Posted, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.candidate import candidate_page, read_once, weighed
from weldworth.workbench.desk import Desk
from weldworth.workbench.lines import CandidateView, JointWorth
from weldworth.workbench.links import LinkLine
from weldworth.workbench.ports import Link
from weldworth.workbench.summary import key_of_ask

router = APIRouter()
SHOWN = 24
FIELDS = ("asks", "text")


@dataclass(frozen=True, slots=True)
class Row:
    """One ask. share, hollow : length of its bar and of the part that its cost takes, 0..1 of the longest.

    pays : by itself or, `together`, only with the others of the best few.
    """

    key: str
    kind: str
    label: str
    why: str
    worth: str
    cost: str
    decides: str
    share: float
    hollow: float
    pays: bool
    together: bool
    visit: bool
    state: str
    chosen: bool
    caution: str


def rows_of(asks: tuple[Ask, ...], chosen: set[str], best: set[str], sent: dict[str, str]) -> list[Row]:
    """The asks best first: those that pay, those chosen or sent, then the first few that do not pay."""
    longest = max((ask.worth for ask in asks), default=1.0) or 1.0
    found: list[Row] = []
    for ask in asks:
        key = key_of_ask(ask.kind, ask.zone)
        if ask.net <= 0 and key not in chosen | best and key not in sent and len(found) >= SHOWN:
            continue
        found.append(
            Row(
                key=key,
                kind=ask.kind,
                label=ask.label,
                why=ask.text,
                worth=money(ask.worth) if ask.worth >= 1 else "0",
                cost=money(ask.cost, 1),
                decides=decides(ask.changes).removeprefix("decides "),
                share=max(ask.worth, 0.0) / longest,
                hollow=min(ask.cost, max(ask.worth, 0.0)) / longest,
                pays=ask.net > 0 or key in best,
                together=ask.net <= 0 and key in best,
                visit=ask.kind == "visit",
                state=sent.get(key, ""),
                chosen=key in chosen,
                caution=ask.caution,
            )
        )
    return found


@read_once
def asks_page(request: Request, desk: Desk, id: str, chosen: list[str] | None, status: int = 200, **values: object) -> Response:
    """The page; without a choice the best few together are chosen."""
    view = desk.candidate(id)
    found, _ = weighed(desk, id)
    rows: list[Row] = []
    joint, message = JointWorth(0.0, 0.0, 0.0), ""
    if found is not None:
        known = {key_of_ask(ask.kind, ask.zone) for ask in found.ranking.asks}
        best = [key_of_ask(ask.kind, ask.zone) for ask in desk.best_asks(id).asks]
        chosen = best if chosen is None else chosen
        chosen = [key for key in dict.fromkeys(chosen) if key in known]
        rows = rows_of(found.ranking.asks, set(chosen), set(best), dict(view.sent))
        if chosen:
            try:
                joint = desk.joint_worth(id, chosen)
                message = desk.ask_message(id, chosen)
            except BadInput as error:
                values.setdefault("problems", problems_for(error, FIELDS))
    shared: dict[str, object] = {
        "view": view,
        "weighing": found,
        "rows": rows,
        "chosen": chosen or [],
        "joint": joint,
        "beyond": joint.worth - joint.alone,
        "message": message,
        "cautions": list(dict.fromkeys(row.caution for row in rows if row.chosen and row.caution)),
        "sent": [row for row in rows if row.state],
        "links": [link_line(line) for line in desk.links.all(id)],
        "made": None,
        "moment": lambda text: datetime.fromisoformat(text).astimezone(),
        "given": {"label": "", "vehicle": vehicle_of(view), "days": f"{desk.links.limits().link_days:g}"},
    }
    return candidate_page(request, desk, id, "Asks", "asks.html", status, **(shared | values))  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class LinkRow:
    """A page given to a seller, as the list shows it. came : what arrived, in words. problems : what was refused, and why.

    words : what the seller wrote himself.
    """

    link: Link
    state: str
    came: str
    problems: tuple[str, ...]
    words: tuple[str, ...]


def link_line(line: LinkLine) -> LinkRow:
    """The row of a link."""
    taken = [one for one in line.receipts if one.state == "taken"]
    counts = {
        "picture": sum(one.kind == "picture" for one in taken),
        "answer": sum(one.kind in ("answer", "reading") for one in taken),
        "refusal": sum(one.kind == "cannot" for one in taken),
    }
    came = ", ".join(f"{count} {name}{'s' if count != 1 else ''}" for name, count in counts.items() if count)
    refused = [one.reply["problems"] for one in line.receipts if one.state == "refused" and "problems" in one.reply]
    texts = [str(problem["text"]) for problems in refused for problem in cast(Sequence[Mapping[str, object]], problems)]
    words = [str(one.body["words"]) for one in taken if one.body.get("words")]
    return LinkRow(line.link, line.state, came, tuple(texts), tuple(words))


def vehicle_of(view: CandidateView) -> str:
    """What a seller's page calls the vehicle unless told otherwise."""
    vehicle = view.dossier.vehicle
    return f"{vehicle.model_year or ''} {vehicle.name}".strip()


@router.get("/c/{id}/asks")
def shown(request: Request, id: str, desk: TheDesk, person: Known) -> Response:
    """The asks of a candidate; ?ask=kind:zone chooses, ?add= adds one to the best few."""
    chosen = request.query_params.getlist("ask")
    added = request.query_params.get("add")
    if added:
        chosen = [*(key_of_ask(ask.kind, ask.zone) for ask in desk.best_asks(id).asks), added]
    return asks_page(
        request, desk, id, chosen if chosen or "ask" in request.query_params or "none" in request.query_params else None
    )


@router.post("/c/{id}/asks/{what}")
def record(request: Request, id: str, what: str, desk: TheDesk, person: Known) -> Response:
    """Note that asks were sent, that one arrived, or that it was refused."""
    if what not in ("sent", "arrived", "refused"):
        raise NotFound(f"nothing is recorded at {what!r}")
    posted = Posted(request.state.form)
    chosen = posted.texts("ask")
    try:
        if what == "sent":
            desk.record(id, "ask-sent", {"asks": chosen, "text": posted.text("text")}, person.id)
        else:
            kind, _, zone = posted.text("ask").partition(":")
            desk.record(id, f"ask-{what}", {"kind": kind, "zone": zone}, person.id)
    except BadInput as error:
        return asks_page(request, desk, id, chosen, 422, problems=problems_for(error, FIELDS))
    return RedirectResponse(f"/c/{id}/asks", 303)
