"""Diary: everything recorded, by whom and when, with corrections; the belief as it stood; what was known when we bid; undo."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from weldworth.core.errors import BadInput, NotFound
from weldworth.report.compose import sheet
from weldworth.report.numbers import in_100, top_price
from weldworth.report.pdf import weighing_pdf
from weldworth.web.forms import Posted, problems_for
from weldworth.web.guard import Known, TheDesk
from weldworth.web.pages.candidate import candidate_page, read_once
from weldworth.web.times import day_and_time
from weldworth.web.undoing import seqs_of
from weldworth.workbench.desk import Desk
from weldworth.workbench.ledger import STAGES, Entry
from weldworth.workbench.lines import DiaryLine, Snapshot

router = APIRouter()
FIELDS = ("text", "stage")
MAY_UNDO = ("opened", "history", "withdrawn")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the page: an entry, or findings recorded in one go that say the same of many zones, newest first."""

    clock: str
    lines: tuple[DiaryLine, ...]

    @property
    def about(self) -> str:
        """What it says."""
        first = self.lines[0]
        return first.about if len(self.lines) == 1 else f"{len(self.lines)} zones: {first.seen}"

    @property
    def seqs(self) -> str:
        """The entries, as a form sends them."""
        return "-".join(str(line.entry.seq) for line in self.lines)


@dataclass(frozen=True, slots=True)
class Day:
    """The entries of one day, newest first."""

    name: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """A snapshot as a row. unlooked : how many pictures the machine had not looked at."""

    seq: int
    at_seq: int
    label: str
    when: str
    ceiling: str
    loss: str
    tables: str
    unlooked: int


def taken_words(entry: Entry) -> str:
    """When it was taken at the vehicle, where that is not when it was recorded."""
    text = entry.body.get("taken_at")
    if not isinstance(text, str):
        return ""
    moment, recorded = datetime.fromisoformat(text).astimezone(), entry.at.astimezone()
    if (recorded - moment) < timedelta(minutes=1):
        return ""
    return f"taken at {moment:%H:%M}" + ("" if moment.date() == recorded.date() else f" on {moment.day} {moment:%B}")


def days(lines: list[DiaryLine]) -> list[Day]:
    """The diary by day, the newest first."""
    groups = [tuple(alike) for _, alike in groupby(reversed(lines), key=_said_at_once)]
    rows = [Row(f"{group[0].entry.at.astimezone():%H:%M}", group) for group in groups]
    return [Day(name, tuple(found)) for name, found in groupby(rows, key=lambda row: _day(row.lines[0]))]


def _day(line: DiaryLine) -> str:
    moment = line.entry.at.astimezone()
    return f"{moment:%A} {moment.day} {moment:%B %Y}"


def _said_at_once(line: DiaryLine) -> object:
    """Equal for findings that say the same of several zones at one time; every other entry stands for itself."""
    entry = line.entry
    if not line.seen or line.replaced_by is not None:
        return entry.seq, line.elsewhere
    kept = tuple(sorted((key, str(value)) for key, value in entry.body.items() if key != "zone"))
    return kept, entry.by, f"{entry.at:%Y-%m-%d %H:%M}", line.standing, line.elsewhere


def kept_row(snapshot: Snapshot) -> Kept:
    """What was known, in figures."""
    body = snapshot.body
    pays = body.get("because") != "nothing pays"
    return Kept(
        seq=snapshot.seq,
        at_seq=snapshot.at_seq,
        label=snapshot.label,
        when=day_and_time(snapshot.at.astimezone()),
        ceiling=top_price(float(str(body["ceiling"]))) if pays else "nothing pays",
        loss=in_100(float(str(body["p_loss"]))) if pays else "",
        tables=snapshot.tables,
        unlooked=len(snapshot.unlooked),
    )


@read_once
def diary_page(request: Request, desk: Desk, id: str, status: int = 200, **values: object) -> Response:
    """The page."""
    shared: dict[str, object] = {
        "days": days(desk.diary(id)),
        "kept": [kept_row(one) for one in desk.snapshots(id)],
        "stages": [(stage, stage.capitalize()) for stage in STAGES],
        "fixed": MAY_UNDO,
        "taken": taken_words,
        "broken": [problem.text for problem in desk.verify(id).get(id, [])],
        "compared": None,
        "typed": "",
    }
    return candidate_page(request, desk, id, "Diary", "diary.html", status, **(shared | values))  # type: ignore[arg-type]


@router.get("/c/{id}/diary")
def shown(request: Request, id: str, desk: TheDesk, person: Known, again: int | None = None) -> Response:
    """The diary; ?again= works a snapshot out anew."""
    return diary_page(request, desk, id, compared=desk.recompute(id, again) if again is not None else None)


@router.get("/c/{id}/report.pdf")
def printed(id: str, desk: TheDesk, person: Known) -> Response:
    """The report to hand over."""
    found = desk.weighing(id)
    name = "".join(c if c.isalnum() else "-" for c in found.dossier.vehicle.name).strip("-").lower() or "candidate"
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return Response(weighing_pdf(sheet(found, desk.tables())), media_type="application/pdf", headers=headers)


@router.post("/c/{id}/diary/{what}")
def record(request: Request, id: str, what: str, desk: TheDesk, person: Known) -> Response:
    """Write a note, change the stage, take an entry back, undo the last of one's own."""
    posted = Posted(request.state.form)
    try:
        if what == "note":
            desk.record(id, "note", {"text": posted.text("text")}, person.id)
        elif what == "stage":
            desk.record(id, "stage", {"stage": posted.text("stage")}, person.id)
        elif what == "undo":
            desk.undo_last(id, person.id)
        elif what == "withdraw" and (seqs := seqs_of(posted.text("seq"))):
            desk.withdraw_all(id, sorted(seqs, reverse=True), person.id)
        else:
            raise NotFound(f"nothing is recorded at {what!r}")
    except BadInput as error:
        return diary_page(request, desk, id, 422, problems=problems_for(error, FIELDS), typed=posted.text("text"))
    return RedirectResponse(f"/c/{id}/diary", 303)
