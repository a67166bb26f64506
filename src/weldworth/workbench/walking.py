"""A walk while it is walked: begun with its plan, what is found taken down thing by thing, ended, and what it changed.

Things come from a phone that may have had no reception: each has an id of its own and the moment at which it was made, is
recorded once however often it is sent (see `Recorder.record_once`), and never overwrites what somebody else recorded meanwhile.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, cast

from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.core.words import unknown
from weldworth.workbench.diary_words import about, words_of
from weldworth.workbench.keeping import new_id
from weldworth.workbench.ledger import Entry, Json, rivals, seal, standing_entries, withdrawn
from weldworth.workbench.lines import CandidateView
from weldworth.workbench.ports import Receipt
from weldworth.workbench.route import ANYWHERE, Ground
from weldworth.workbench.stamps import MARK, TAKEN, WALK
from weldworth.workbench.taking import free_name
from weldworth.workbench.walk import WalkStop

if TYPE_CHECKING:
    from weldworth.workbench.desk import Desk

REASONS = {
    "not-reachable": "cannot be reached",
    "not-safe": "not safe here",
    "not-wanted": "the owner would rather not",
    "no-time": "no time left",
}
"""Why a zone was passed by. What the owner would rather not show is evidence; the rest is a note."""
KINDS = ("finding", "reading", "note", "skip", "picture", "memo", "undo")
WITH_FILE = ("picture", "memo")
Items = list[tuple[str, Json]]


@dataclass(frozen=True)
class Walk:
    """A walk of a candidate. revision : the entry that began it. ended : the entry that ended it, or None. worth : as planned."""

    id: str
    revision: int
    by: str
    at: datetime
    source: str
    minutes: int
    seconds: int
    worth: float | None
    share: float
    currency: str
    stops: tuple[WalkStop, ...]
    ended: int | None

    @property
    def owner(self) -> str:
        """Whose its receipts are."""
        return f"walk:{self.id}"


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing that a phone sent from a walk.

    kind : one of KINDS. finding: zone, sign, absent; reading: zone, reading (what was measured), value, unit; note: zone, text;
    skip: zone, reason (see REASONS); picture: zone, note; memo: zone; undo: of (id of a thing). made_at : by our clock.
    sha256, name, seconds : of the file that came with it, whose original is kept already; seconds of a memo.
    """

    id: str
    kind: str
    body: Json
    made_at: datetime
    sha256: str = ""
    name: str = ""
    seconds: float = 0.0


def begin_walk(desk: Desk, id: str, source: str, minutes: int, by: str, ground: Ground = ANYWHERE) -> str:
    """Plan a walk and begin it; its id. Raises as `Desk.walk_plan` does, and where there is nothing to walk to."""
    plan = desk.walk_plan(id, source, minutes, ground)
    if not plan.stops:
        raise BadInput([Problem("minutes", f"nothing can be looked at in {minutes} minutes; take more time")])
    walk = new_id()
    body = {
        "state": "begun",
        "source": source,
        "minutes": minutes,
        "seconds": plan.seconds,
        "worth": plan.worth,
        "share": plan.share,
        "currency": plan.currency,
        "stops": [asdict(stop) for stop in plan.stops],
        WALK: walk,
    }
    desk.record_once(_receipt(desk, id, walk, "begun", "walk"), [("walk", body)], by)
    return walk


def walks_in(view: CandidateView) -> list[Walk]:
    """The walks of a candidate that stand, the newest first."""
    begun = [entry for entry in view.standing if entry.kind == "walk" and entry.body.get("state") == "begun"]
    ended = {entry.body.get(WALK): entry.seq for entry in view.standing if entry.kind == "walk" and entry not in begun}
    return [_walk(entry, ended.get(entry.body.get(WALK))) for entry in reversed(begun)]


def walk_in(view: CandidateView, walk: str) -> Walk:
    """One walk; raises NotFound."""
    found = next((one for one in walks_in(view) if one.id == walk), None)
    if found is None:
        raise NotFound("there is no such walk of this candidate")
    return found


def _walk(entry: Entry, ended: int | None) -> Walk:
    body = entry.body
    worth = body.get("worth")
    return Walk(
        id=str(body[WALK]),
        revision=entry.seq,
        by=entry.by,
        at=entry.at,
        source=str(body["source"]),
        minutes=int(cast(int, body["minutes"])),
        seconds=int(cast(int, body["seconds"])),
        worth=float(cast(float, worth)) if worth is not None else None,
        share=float(cast(float, body.get("share", 0.0))),
        currency=str(body.get("currency", "")),
        stops=tuple(_stop(stop) for stop in cast(Sequence[Mapping[str, Any]], body.get("stops", ()))),
        ended=ended,
    )


def _stop(kept: Mapping[str, Any]) -> WalkStop:
    values: dict[str, Any] = {key: tuple(value) if isinstance(value, list) else value for key, value in kept.items()}
    return WalkStop(**values)


def taken_down(view: CandidateView, walk: str) -> list[Entry]:
    """What was recorded on a walk and stands, oldest first; its own beginning and end left out."""
    return [entry for entry in view.standing if entry.body.get(WALK) == walk and entry.kind != "walk"]


def end_walk(desk: Desk, id: str, walk: str, by: str) -> Entry:
    """End a walk; once ended it stays so. Raises NotFound."""
    walk_in(desk.candidate(id), walk)
    desk.record_once(_receipt(desk, id, walk, "ended", "walk"), [("walk", {"state": "ended", WALK: walk})], by)
    view = desk.candidate(id)
    return next(entry for entry in view.entries if entry.seq == walk_in(view, walk).ended)


def _receipt(desk: Desk, id: str, walk: str, mark: str, kind: str) -> Receipt:
    at = desk.clock.now().isoformat(timespec="microseconds")
    return Receipt(f"walk:{walk}", mark, id, kind, "", "taken", at)


def take_down(desk: Desk, id: str, walk: str, thing: Thing, by: str, words: str = "") -> Receipt:
    """Record one thing found on a walk, once. The reply of its receipt is what the phone is told: words, "" for nothing.

    words : to be told in any case. What others recorded about the same thing since the walk began stands beside it, and is told.
    Raises BadInput with the field of each problem, and NotFound.
    """
    view = desk.candidate(id)
    found = walk_in(view, walk)
    known = desk.receipt(found.owner, thing.id)
    if known is not None:
        return known
    receipt = replace(
        _receipt(desk, id, walk, thing.id, thing.kind), body=thing.body, sha256=thing.sha256 or None, reply={"words": words}
    )
    if thing.kind == "undo":
        _undo(desk, view, found, thing, by)
        return desk.record_once(receipt, [], by)
    items = _entries_of(desk, thing, found, view)
    beside = [one for kind, body in items for one in _beside(desk, view, found, kind, body, by)]
    if beside:
        receipt = replace(receipt, reply={"words": f"{words} {_words_of(desk, view, beside)}".strip()})
    return desk.record_once(receipt, items, by)


def _entries_of(desk: Desk, thing: Thing, walk: Walk, view: CandidateView) -> Items:
    """The entries that a thing becomes; none for a picture that the candidate has already.

    At a place where only something is measured, such as a door gap, there is no metal that a picture or a refusal could speak
    of: the picture goes on no zone and says where it was taken, and the refusal is a note.
    """
    taken = thing.made_at.astimezone(UTC).isoformat(timespec="seconds")
    stamp = {WALK: walk.id, MARK: thing.id, TAKEN: taken}
    seen = {"source": walk.source, "seen_on": taken[:10]}
    body = {key: value for key, value in thing.body.items() if key not in (*seen, *stamp)}
    at_place = any(body.get("zone") in stop.places for stop in walk.stops)
    if thing.kind == "finding":
        return [("finding", {**body, **seen, **stamp})]
    if thing.kind == "reading":
        measured = body.pop("reading", None)
        return [("reading", {**body, "kind": measured, **seen, **stamp})]
    if thing.kind == "note":
        return [("note", {**body, **stamp})]
    if thing.kind == "skip":
        return [_skipped(body, seen, stamp, metal=not at_place)]
    if thing.kind == "memo":
        about = {"sha256": thing.sha256, "name": thing.name, "seconds": round(thing.seconds, 1), "zone": body.get("zone")}
        return [("memo", {**about, **stamp})]
    if thing.kind == "picture":
        if any(one.sha256 == thing.sha256 for one in view.pictures):
            return []
        name = free_name(thing.name, [picture.name for picture in view.pictures])
        zones = [body["zone"]] if body.get("zone") and not at_place else []
        shows = {"zones": zones, "source": walk.source, "taken_on": taken[:10]}
        note = body.get("note")
        if at_place and not note:
            note = words_of(view.dossier.vehicle.body, desk.tables()).zone(body["zone"])
        return [("picture", {"sha256": thing.sha256, "name": name, **shows, "note": note, **stamp})]
    raise BadInput([Problem("kind", unknown("kind", thing.kind, KINDS))])


def _skipped(body: Json, seen: Json, stamp: Json, *, metal: bool) -> tuple[str, Json]:
    reason, zone = str(body.get("reason")), body.get("zone")
    if reason not in REASONS:
        raise BadInput([Problem("reason", unknown("reason", reason, REASONS))])
    if reason == "not-wanted" and metal:
        return "finding", {"zone": zone, "sign": "not-shown", **seen, **stamp}
    return "note", {"zone": zone, "text": f"Not looked at: {REASONS[reason]}.", **stamp}


def _undo(desk: Desk, view: CandidateView, walk: Walk, thing: Thing, by: str) -> None:
    """Take back the thing that `of` names; twice is once. Raises BadInput where it has not come or was corrected since."""
    of = desk.receipt(walk.owner, str(thing.body.get("of", "")))
    if of is None:
        raise BadInput([Problem("of", "what is to be taken back has not come; send it first")])
    entry = next((one for one in view.entries if one.seq == of.entry), None)
    if entry is None or entry.seq in withdrawn(view.entries):
        return
    if entry not in standing_entries(view.entries):
        raise BadInput([Problem("of", "it was corrected at the desk meanwhile; the correction stands")])
    desk.withdraw(view.id, entry.seq, by)


def _beside(desk: Desk, view: CandidateView, walk: Walk, kind: str, body: Json, by: str) -> list[Entry]:
    """What others recorded about the same thing since the walk began."""
    entry = seal(view.id, kind, body, by, desk.clock.now(), view.entries[-1])
    return [one for one in rivals(entry, view.entries, walk.revision) if one.body.get(WALK) != walk.id]


def _words_of(desk: Desk, view: CandidateView, entries: Sequence[Entry]) -> str:
    names, words = desk.people.names(), words_of(view.dossier.vehicle.body, desk.tables())
    by_seq = {entry.seq: entry for entry in view.entries}
    told = [f"{about(e, words, by_seq)}, by {names.get(e.by, 'somebody')} at {e.at.astimezone():%H:%M}" for e in entries[-2:]]
    return f"Meanwhile also recorded: {'; '.join(told)}. Both are kept."
