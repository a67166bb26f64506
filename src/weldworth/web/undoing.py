"""What somebody has just recorded, told in words, with the way to take it back at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import cast

from weldworth.vehicle.plan import Plan
from weldworth.workbench.desk import Desk
from weldworth.workbench.ledger import Entry, withdrawn
from weldworth.workbench.lines import CandidateView

MOST = 500
CHANGES = (
    ("dismissed", "what was suggested is put aside, or back"),
    ("regions", "where the zone is on it"),
    ("source", "how it came"),
    ("taken_on", "when it was taken"),
)
"""Keys of a picture -> the words for a change of them."""


@dataclass(frozen=True, slots=True)
class Done:
    """text : what was recorded. seqs : the entries, as a form sends them to have them taken back."""

    text: str
    seqs: str


def done_by(entries: Iterable[Entry]) -> str:
    """The query of the page that tells what was recorded."""
    return "done=" + "-".join(str(entry.seq) for entry in entries)


def seqs_of(text: str) -> tuple[int, ...]:
    """Numbers of entries as `done_by` writes them; what is none is left out."""
    return tuple(int(part) for part in text.split("-")[:MOST] if part.isdigit())


def done(view: CandidateView, plan: Plan, person: str, text: str) -> Done | None:
    """What the entries `text` say, where they are this person's own and stand; else None."""
    dead, by_seq = withdrawn(view.entries), {entry.seq: entry for entry in view.entries}
    mine = [by_seq[seq] for seq in seqs_of(text) if seq in by_seq and by_seq[seq].by == person and seq not in dead]
    if not mine:
        return None
    return Done(_words(mine, plan, by_seq), "-".join(str(entry.seq) for entry in mine))


def undo(desk: Desk, id: str, text: str, person: str) -> list[Entry]:
    """Take the entries back in one step, the newest first; those of others and those that are back already are left alone."""
    view = desk.candidate(id)
    dead, by_seq = withdrawn(view.entries), {entry.seq: entry for entry in view.entries}
    own = [seq for seq in seqs_of(text) if seq in by_seq and by_seq[seq].by == person and seq not in dead]
    return desk.withdraw_all(id, sorted(own, reverse=True), person) if own else []


def _words(entries: Sequence[Entry], plan: Plan, by_seq: dict[int, Entry]) -> str:
    first, count = entries[-1], len(entries)
    if first.kind == "withdrawn":
        return "Taken back." if count == 1 else f"{count} taken back."
    if {entry.kind for entry in entries} == {"finding", "picture"}:
        entries = [entry for entry in entries if entry.kind == "finding"]
        first, count = entries[-1], 1
    if first.kind == "finding":
        sign = str(first.body.get("sign", "")).replace("-", " ")
        return f"{'No ' + sign if first.body.get('absent') else sign.capitalize()} on {_label(first.body.get('zone'), plan)}."
    if first.kind == "picture":
        moved = _moved(first, plan, by_seq)
        return f"{moved[:1].upper()}{moved[1:]}." if count == 1 else f"{count} pictures: {moved}."
    if first.kind == "vehicle":
        return f"The vehicle’s number is {first.body.get('number')}." if "number" in first.body else "The vehicle was changed."
    return "The note is kept." if first.kind == "note" else "Recorded."


def _moved(entry: Entry, plan: Plan, by_seq: dict[int, Entry]) -> str:
    """What a correction of a picture changed."""
    now = set(cast(Sequence[object], entry.body.get("zones", ())))
    old = by_seq.get(entry.replaces or 0)
    then = set(cast(Sequence[object], old.body.get("zones", ()))) if old is not None else set()
    put, off = sorted(map(str, now - then)), sorted(map(str, then - now))
    parts = [f"put on {_label(zone, plan)}" for zone in put] + [f"taken off {_label(zone, plan)}" for zone in off]
    if not parts and old is not None:
        parts = [words for key, words in CHANGES if entry.body.get(key) != old.body.get(key)]
    return "; ".join(parts) or "as it was"


def _label(zone: object, plan: Plan) -> str:
    return plan.zone(zone).label if isinstance(zone, str) and zone in plan.index else str(zone)
