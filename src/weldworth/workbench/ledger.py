"""Everything recorded about one candidate: entries that are only ever added, each carrying the hash of the one before.

What was wrong is corrected by a later entry that names the one it replaces; what should not be there is taken back by a later
entry too. So what was known at any moment can be shown, and a change made behind the program's back shows.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import cast

from weldworth.core.errors import BadInput, Conflict, Problem
from weldworth.core.words import unknown

Json = Mapping[str, object]
"""A body: what JSON can hold."""

KINDS = (
    "opened",
    "history",
    "vehicle",
    "residence",
    "finding",
    "reading",
    "answer",
    "sale",
    "resale",
    "shop",
    "comparables",
    "advert",
    "picture",
    "note",
    "memo",
    "walk",
    "ask-sent",
    "ask-arrived",
    "ask-refused",
    "stage",
    "snapshot",
    "withdrawn",
    "archived",
    "erased",
)
WEIGHED = frozenset(
    {
        *("opened", "vehicle", "residence", "finding", "reading", "answer", "sale", "resale", "shop", "comparables"),
        *("advert", "picture", "ask-refused", "withdrawn", "erased"),
    }
)
"""Kinds that may change the dossier, and with it the weighing."""
STAGES = ("watched", "asked", "bid", "bought", "passed", "lost", "arrived", "mending", "offered", "sold")
REPLACES = "replaces"


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing recorded.

    candidate : uuid as 32 hexadecimal digits. seq : 1, 2, ... within the candidate. by : person's id. at : in UTC.
    hash : SHA-256 over everything else here. before : hash of the entry before, "" for the first.
    """

    candidate: str
    seq: int
    kind: str
    body: Json
    by: str
    at: datetime
    hash: str
    before: str

    @property
    def replaces(self) -> int | None:
        """The number of the entry that this one corrects."""
        found = self.body.get(REPLACES)
        return found if isinstance(found, int) else None

    @property
    def facts(self) -> dict[str, object]:
        """The body without the number of what it corrects."""
        return {key: value for key, value in self.body.items() if key != REPLACES}


class Changed(Conflict):
    """The same thing was changed since the page was made. entries : what the others recorded about it."""

    def __init__(self, text: str, entries: Sequence[Entry]) -> None:
        super().__init__(text)
        self.entries = tuple(entries)


def seal(candidate: str, kind: str, body: Json, by: str, at: datetime, last: Entry | None) -> Entry:
    """The entry that follows `last`, with its hash. Raises BadInput where the kind is not known or the body is not JSON."""
    if kind not in KINDS:
        raise BadInput([Problem("kind", unknown("kind", kind, KINDS))])
    seq, before = (last.seq + 1, last.hash) if last else (1, "")
    moment = at.astimezone(UTC)
    try:
        plain = json.loads(canonical(body))
        json.dumps(plain, ensure_ascii=False).encode()
    except (TypeError, ValueError) as error:
        raise BadInput([Problem("body", f"cannot be kept as JSON: {error}; give text, numbers, true, false and lists")]) from None
    return Entry(candidate, seq, kind, plain, by, moment, digest(candidate, seq, kind, plain, by, moment, before), before)


def canonical(value: object) -> str:
    """JSON with one spelling: keys sorted, no blanks, plain characters, no infinities."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)


def digest(candidate: str, seq: int, kind: str, body: Json, by: str, at: datetime, before: str) -> str:
    """SHA-256 of an entry as 64 hexadecimal digits."""
    moment = at.astimezone(UTC).isoformat(timespec="microseconds")
    rest = {"candidate": candidate, "seq": seq, "kind": kind, "body": body, "by": by, "at": moment, "before": before}
    return hashlib.sha256(canonical(rest).encode()).hexdigest()


def verify(entries: Iterable[Entry]) -> list[Problem]:
    """Where the chain of one candidate's entries is broken; empty where it holds."""
    problems, before = [], ""
    for number, entry in enumerate(entries, start=1):
        where = f"entry {entry.seq}"
        if entry.seq != number:
            problems.append(Problem(where, f"stands at place {number}; an entry is missing or was put in"))
        if entry.before != before:
            problems.append(Problem(where, "does not follow the entry before it; one of the two was changed or taken out"))
        if digest(entry.candidate, entry.seq, entry.kind, entry.body, entry.by, entry.at, entry.before) != entry.hash:
            problems.append(Problem(where, "is not what was recorded; its content was changed afterwards"))
        before = entry.hash
    return problems


def upto(entries: Sequence[Entry], seq: int | None) -> list[Entry]:
    """The entries as they were when `seq` was the last; all of them where it is None."""
    return [entry for entry in entries if seq is None or entry.seq <= seq]


def withdrawn(entries: Sequence[Entry]) -> frozenset[int]:
    """Numbers of the entries that are taken back; taking back a taking back lets the first stand again."""
    dead: set[int] = set()
    for entry in reversed(entries):
        if entry.kind == "withdrawn" and entry.seq not in dead:
            dead.add(cast(int, entry.body["seq"]))
    return frozenset(dead)


def standing_entries(entries: Sequence[Entry]) -> list[Entry]:
    """The entries that nothing later has taken back or corrected, takings back themselves left out, in order."""
    dead = withdrawn(entries)
    alive = [entry for entry in entries if entry.seq not in dead]
    replaced = {entry.replaces for entry in alive}
    return [entry for entry in alive if entry.seq not in replaced and entry.kind != "withdrawn"]


def root_of(entry: Entry, by_seq: Mapping[int, Entry]) -> int:
    """The number of the entry that a chain of corrections began with."""
    while entry.replaces is not None and entry.replaces in by_seq:
        entry = by_seq[entry.replaces]
    return entry.seq


def touches(entry: Entry, by_seq: Mapping[int, Entry]) -> frozenset[str]:
    """The things that an entry is about: two entries about the same thing cannot both be made from the same page."""
    body = entry.body
    about: set[str] = set()
    if entry.kind == "withdrawn":
        taken = by_seq.get(cast(int, body["seq"]))
        return touches(taken, by_seq) if taken else frozenset()
    if entry.kind == "finding":
        about.add(f"finding/{body.get('zone')}/{body.get('sign')}")
    elif entry.kind == "answer":
        about.add(f"answer/{body.get('question')}")
    elif entry.kind in ("ask-arrived", "ask-refused"):
        about.add(f"ask/{body.get('kind')}/{body.get('zone')}")
    elif entry.kind == "vehicle":
        about |= {f"vehicle/{key}" for key in entry.facts}
    elif entry.kind in ("picture", "memo"):
        about.add(f"{entry.kind}/{body.get('sha256')}")
    elif entry.kind in ("sale", "resale", "shop", "comparables", "advert", "stage", "archived"):
        about.add(entry.kind)
    if entry.replaces is not None or entry.kind in ("residence", "reading", "note"):
        about.add(f"entry/{root_of(entry, by_seq)}")
    if entry.replaces is not None and entry.replaces in by_seq:
        about |= touches(by_seq[entry.replaces], by_seq)
    return frozenset(about)


def rivals(new: Entry, entries: Sequence[Entry], revision: int) -> list[Entry]:
    """What was recorded after `revision` about the same thing as `new`."""
    by_seq = {entry.seq: entry for entry in (*entries, new)}
    about = touches(new, by_seq)
    return [entry for entry in entries if entry.seq > revision and touches(entry, by_seq) & about]


def entry_json(entry: Entry) -> dict[str, object]:
    """The entry as plain JSON values, for files and other programs."""
    return {
        "candidate": entry.candidate,
        "seq": entry.seq,
        "kind": entry.kind,
        "body": dict(entry.body),
        "by": entry.by,
        "at": entry.at.astimezone(UTC).isoformat(timespec="microseconds"),
        "hash": entry.hash,
        "before": entry.before,
    }


def entry_of(value: Json) -> Entry:
    """The entry that `entry_json` wrote; its hash is kept as it stands, for `verify` to judge."""
    return Entry(
        candidate=str(value["candidate"]),
        seq=int(cast(int, value["seq"])),
        kind=str(value["kind"]),
        body=cast(Json, value["body"]),
        by=str(value["by"]),
        at=datetime.fromisoformat(str(value["at"])).astimezone(UTC),
        hash=str(value["hash"]),
        before=str(value["before"]),
    )
