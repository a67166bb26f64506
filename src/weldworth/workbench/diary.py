"""What was recorded, in words, and what stands of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from weldworth.core.errors import NotFound
from weldworth.tables.load import Tables
from weldworth.workbench.fold import dossier_of, gather
from weldworth.workbench.ledger import Entry, standing_entries, upto, withdrawn
from weldworth.workbench.lines import CandidateView, DiaryLine

LONGEST = 100


def view(entries: Sequence[Entry], until: int | None, tables: Tables, today: date) -> CandidateView:
    """Everything recorded up to the entry `until`; raises NotFound where there is none."""
    counted = upto(entries, until)
    if not counted:
        raise NotFound(f"there is no entry {until} in this candidate")
    found = gather(counted)
    return CandidateView(
        id=counted[0].candidate,
        dossier=dossier_of(found, tables, today=today),
        entries=tuple(counted),
        standing=tuple(standing_entries(counted)),
        revision=counted[-1].seq,
        last=entries[-1].seq,
        stage=found.stage,
        archived=found.archived,
        data=found.data,
        pictures=tuple(found.pictures),
        sent=found.sent,
    )


def lines(entries: Sequence[Entry], names: Mapping[str, str]) -> list[DiaryLine]:
    """Every entry as the diary shows it, oldest first."""
    dead = withdrawn(entries)
    alive = [entry for entry in entries if entry.seq not in dead]
    taken = {entry.body["seq"]: entry.seq for entry in alive if entry.kind == "withdrawn"}
    replaced = {entry.replaces: entry.seq for entry in alive if entry.replaces is not None}
    return [
        DiaryLine(
            entry=entry,
            by_name=names.get(entry.by, entry.by),
            about=about(entry),
            standing=entry.seq not in dead and entry.seq not in replaced,
            replaced_by=replaced.get(entry.seq),
            withdrawn_by=taken.get(entry.seq),
        )
        for entry in entries
    ]


def about(entry: Entry) -> str:
    """What an entry says, in one short line."""
    body, kind = entry.body, entry.kind
    if kind == "finding":
        said = f"{body.get('zone')}: {'no ' if body.get('absent') else ''}{body.get('sign')} ({body.get('source')})"
    elif kind == "reading":
        said = f"{body.get('zone')}: {body.get('kind')} {body.get('value')} {body.get('unit')}"
    elif kind == "answer":
        said = f"{body.get('question')}: {body.get('answer')}"
    elif kind == "residence":
        place = body.get("place") or ", ".join(str(body[key]) for key in ("lat", "lon") if key in body) or "place not known"
        said = f"{place}, {body.get('from')} to {body.get('to', 'now')}"
    elif kind in ("note", "advert", "comparables"):
        said = str(body.get("text", "")) or "taken away"
    elif kind in ("ask-arrived", "ask-refused"):
        said = f"{body.get('kind')}:{body.get('zone')}"
    elif kind == "withdrawn":
        said = f"entry {body.get('seq')}"
    elif kind == "picture":
        said = str(body.get("name"))
    elif kind in ("stage", "snapshot"):
        said = str(body.get("stage" if kind == "stage" else "label"))
    else:
        said = ", ".join(f"{key} {_short(value)}" for key, value in entry.facts.items())
    words = f"{kind} {' '.join(said.split())}".strip()
    return words if len(words) <= LONGEST else words[: LONGEST - 3] + "..."


def _short(value: object) -> str:
    return "taken away" if value is None else ", ".join(map(str, value)) if isinstance(value, list) else str(value)
