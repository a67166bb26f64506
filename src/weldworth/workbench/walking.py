"""A walk while it is walked: begun with its plan, what is found taken down thing by thing, ended, and what it changed.

Things come from a phone that may have had no reception: each carries a mark of its own and the moment at which it was taken, is
recorded once however often it is sent, and never overwrites what somebody else recorded meanwhile.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any, cast

from weldworth.core.errors import BadInput, Conflict, NotFound, Problem
from weldworth.core.words import unknown
from weldworth.workbench.diary_words import about, words_of
from weldworth.workbench.keeping import new_id
from weldworth.workbench.ledger import Entry, Json, standing_entries, withdrawn
from weldworth.workbench.lines import CandidateView
from weldworth.workbench.route import ANYWHERE, Ground
from weldworth.workbench.stamps import MARK, OFF, TAKEN, WALK, is_mark, moment_in
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
KINDS = ("finding", "reading", "note", "skip", "undo")
MOST_AT_ONCE = 200
OFF_FROM = timedelta(seconds=90)
"""A phone's clock that is further off than this is put right by ours."""


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


@dataclass(frozen=True, slots=True)
class Told:
    """What became of one thing sent.

    state : kept; beside (kept, and others recorded the same meanwhile); gone (taken back); refused.
    seq : of its entry, or None. words : what to tell, "" where there is nothing to tell.
    """

    mark: str
    state: str
    seq: int | None
    words: str


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
        MARK: new_id(),
    }
    desk.record_marked(id, "walk", body, by, 0)
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
    stops = [_stop(stop) for stop in cast(Sequence[Mapping[str, Any]], body.get("stops", ()))]
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
        stops=tuple(stops),
        ended=ended,
    )


def _stop(kept: Mapping[str, Any]) -> WalkStop:
    values: dict[str, Any] = {key: tuple(value) if isinstance(value, list) else value for key, value in kept.items()}
    return WalkStop(**values)


def taken_down(view: CandidateView, walk: str) -> list[Entry]:
    """What was recorded on a walk and stands, oldest first; its own beginning and end left out."""
    return [entry for entry in view.standing if entry.body.get(WALK) == walk and entry.kind != "walk"]


def end_walk(desk: Desk, id: str, walk: str, by: str) -> Entry:
    """End a walk; once ended it stays so."""
    found = walk_in(desk.candidate(id), walk)
    return desk.record_marked(id, "walk", {"state": "ended", WALK: walk, MARK: _end_mark(walk)}, by, found.revision)[0]


def _end_mark(walk: str) -> str:
    """The mark of a walk's end: the walk's id turned round, so that there is one end however often it is sent."""
    return walk[::-1]


def take_down(
    desk: Desk, id: str, walk: str, items: Sequence[Mapping[str, object]], by: str, sent_at: object = None
) -> list[Told]:
    """Record things found on a walk, in their order, each once; what became of each.

    items : each with kind (one of KINDS), mark, taken_at and the fields of its kind; source and day are the walk's own.
    reading: reading (what was measured), zone, value, unit; skip: zone, reason (see REASONS); undo: of (a mark). sent_at : the
    phone's clock as it sent them, by which a clock that is wrong is put right. One that cannot be recorded is refused alone;
    the others go on. Raises BadInput for what is no list.
    """
    found = walk_in(desk.candidate(id), walk)
    if not isinstance(items, Sequence) or isinstance(items, str) or not 1 <= len(items) <= MOST_AT_ONCE:
        raise BadInput([Problem("items", f"give a list of 1 to {MOST_AT_ONCE} things")])
    off = clock_off(sent_at, desk.clock.now())
    return [_take(desk, id, found, item, by, off) for item in items]


def _take(desk: Desk, id: str, walk: Walk, item: Mapping[str, object], by: str, off: timedelta) -> Told:
    mark = item.get(MARK) if isinstance(item, Mapping) else None
    if not is_mark(mark):
        return Told(str(mark)[:40], "refused", None, "It has no mark of its own; 32 hexadecimal digits are wanted.")
    try:
        if item.get("kind") == "undo":
            return _undo(desk, id, str(mark), str(item.get("of", "")), by)
        kind, body = _entry_of(item, walk, stamped(desk, walk.id, item, off))
        entry, beside = desk.record_marked(id, kind, body, by, walk.revision)
    except (BadInput, Conflict) as error:
        return Told(str(mark), "refused", None, str(error))
    if beside:
        return Told(str(mark), "beside", entry.seq, _beside(desk, id, beside))
    return Told(str(mark), "kept", entry.seq, "")


def stamped(desk: Desk, walk: str, item: Mapping[str, object], off: timedelta) -> dict[str, object]:
    """The stamp of a thing taken on a walk, a wrong clock put right; never later than now. Raises BadInput."""
    now = desk.clock.now()
    if not is_mark(item.get(MARK)):
        raise BadInput([Problem(MARK, "mark is missing; give 32 hexadecimal digits")])
    taken = moment_in(item.get(TAKEN))
    if taken is None:
        raise BadInput([Problem(TAKEN, f"taken_at {str(item.get(TAKEN))[:40]!r} is no moment with a zone")])
    stamp: dict[str, object] = {WALK: walk, MARK: item[MARK], TAKEN: min(taken - off, now).astimezone(UTC).isoformat()}
    return {**stamp, OFF: round(off.total_seconds())} if off else stamp


def clock_off(sent_at: object, now: datetime) -> timedelta:
    """How far the phone's clock is ahead of ours; nothing where it hardly is, or where it was not said."""
    sent = moment_in(sent_at)
    ahead = sent - now if sent is not None else timedelta()
    return ahead if abs(ahead) >= OFF_FROM else timedelta()


def _entry_of(item: Mapping[str, object], walk: Walk, stamp: Mapping[str, object]) -> tuple[str, dict[str, object]]:
    """Kind and body of the entry that a thing becomes."""
    kind = str(item.get("kind"))
    facts = {key: value for key, value in item.items() if key not in ("kind", MARK, TAKEN)}
    seen = {"source": walk.source, "seen_on": str(stamp[TAKEN])[:10]}
    if kind == "finding":
        return kind, {**facts, **seen, **stamp}
    if kind == "reading":
        measured = facts.pop("reading", None)
        return kind, {**facts, "kind": measured, **seen, **stamp}
    if kind == "note":
        return kind, {**facts, **stamp}
    if kind == "skip":
        reason, zone = str(facts.get("reason")), facts.get("zone")
        if reason not in REASONS:
            raise BadInput([Problem("reason", unknown("reason", reason, REASONS))])
        if reason == "not-wanted":
            return "finding", {"zone": zone, "sign": "not-shown", **seen, **stamp}
        return "note", {"zone": zone, "text": f"Not looked at: {REASONS[reason]}.", **stamp}
    raise BadInput([Problem("kind", unknown("kind", kind, KINDS))])


def _undo(desk: Desk, id: str, mark: str, of: str, by: str) -> Told:
    """Take back what carries the mark `of`; twice is once."""
    entries = desk.candidate(id).entries
    entry = next((one for one in entries if one.body.get(MARK) == of), None)
    if entry is None:
        raise BadInput([Problem("of", "what is to be taken back has not come yet; send it first")])
    if entry.seq in withdrawn(entries):
        return Told(mark, "gone", entry.seq, "")
    if entry not in standing_entries(entries):
        return Told(mark, "refused", entry.seq, "It was corrected at the desk meanwhile; the correction stands.")
    desk.withdraw(id, entry.seq, by)
    return Told(mark, "gone", entry.seq, "")


def take_picture(desk: Desk, id: str, walk: str, sha256: str, name: str, item: Mapping[str, object], by: str) -> Told:
    """Record a picture taken on a walk, whose original is kept already.

    item : mark, taken_at, sent_at, zone and, where one was made with it, note. Raises BadInput, NotFound.
    """
    view = desk.candidate(id)
    found = walk_in(view, walk)
    stamp = stamped(desk, walk, item, clock_off(item.get("sent_at"), desk.clock.now()))
    known = next((one for one in view.pictures if one.sha256 == sha256), None)
    if known is not None:
        return Told(str(item[MARK]), "kept", known.seq, "")
    body = {
        "sha256": sha256,
        "name": free_name(name, [picture.name for picture in view.pictures]),
        "zones": [zone for zone in (item.get("zone"),) if zone],
        "source": found.source,
        "taken_on": str(stamp[TAKEN])[:10],
        "note": item.get("note"),
        **stamp,
    }
    return Told(str(item[MARK]), "kept", desk.record_marked(id, "picture", body, by, found.revision)[0].seq, "")


def take_memo(
    desk: Desk, id: str, walk: str, sha256: str, name: str, seconds: float, item: Mapping[str, object], by: str
) -> Told:
    """Record a voice memo of a walk, whose original is kept already. item : as for `take_picture`. Raises BadInput, NotFound."""
    found = walk_in(desk.candidate(id), walk)
    stamp = stamped(desk, walk, item, clock_off(item.get("sent_at"), desk.clock.now()))
    body = {"sha256": sha256, "name": name, "seconds": round(seconds, 1), "zone": item.get("zone"), **stamp}
    return Told(str(item[MARK]), "kept", desk.record_marked(id, "memo", body, by, found.revision)[0].seq, "")


def _beside(desk: Desk, id: str, entries: Sequence[Entry]) -> str:
    """What others recorded about the same thing, in a sentence."""
    view, names = desk.candidate(id), desk.people.names()
    words, by_seq = words_of(view.dossier.vehicle.body, desk.tables()), {entry.seq: entry for entry in view.entries}
    told = [f"{about(e, words, by_seq)}, by {names.get(e.by, 'somebody')} at {e.at.astimezone():%H:%M}" for e in entries[-2:]]
    return f"Meanwhile also recorded: {'; '.join(told)}. Both are kept."


def json_of(told: Sequence[Told]) -> list[Json]:
    """What is sent back to the phone."""
    return [asdict(one) for one in told]
