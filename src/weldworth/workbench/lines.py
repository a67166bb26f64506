"""What the desk hands out: plain values, ready to be shown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from weldworth.belief.believe import Belief
from weldworth.core.remark import Remark
from weldworth.exposure.result import Exposure
from weldworth.vehicle.plan import Plan
from weldworth.workbench.dossier import Dossier
from weldworth.workbench.ledger import Entry, Json


@dataclass(frozen=True, slots=True)
class Spread:
    """Three quantiles of an amount, money."""

    p10: float
    p50: float
    p90: float


@dataclass(frozen=True, slots=True)
class CandidateLine:
    """One candidate on the bench.

    closes : day, or moment with a time; None where it is not known. price_low, price_high : asked or expected, equal when one is
    known. ceiling, expected_profit, p_loss : as last weighed, None while it cannot be weighed. even : the
    price that breaks even. bill, resale : spreads. best_ask, best_net : the ask that by itself is worth most after its cost; ""
    and 0 where none pays. together, together_net : how many asks are best put together, and their worth after cost. Both worths
    are None until they are reckoned.
    attention : what attention to it is worth now, money (docs/desk.md); attention_because : the words for it.
    fresh : whether the figures are of all that is recorded, today's tables and terms. wanted : what is missing for a weighing.
    """

    id: str
    name: str
    body: str
    model_year: int | None
    stage: str
    archived: bool
    sale_kind: str | None
    closes: date | datetime | None
    price_low: float | None
    price_high: float | None
    currency: str
    ceiling: float | None
    because: str
    expected_profit: float | None
    p_loss: float | None
    even: Spread | None
    bill: Spread | None
    resale: Spread | None
    best_ask: str
    best_net: float | None
    together: int
    together_net: float | None
    attention: float
    attention_because: str
    fresh: bool
    wanted: str
    weighed_on: str
    revision: int
    changed_at: str
    changed_by: str


@dataclass(frozen=True, slots=True)
class PictureLine:
    """One picture of a candidate, as its entry says. seq : of the entry, for correcting it."""

    seq: int
    sha256: str
    name: str
    zones: tuple[str, ...] = ()
    facts: Json = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class DiaryLine:
    """One entry as the diary shows it.

    standing : False where it was corrected or taken back. by_name : the person's name. about : what it is about in words.
    replaced_by, withdrawn_by : number of the entry that did so. elsewhere : recorded before the candidate came here.
    zone, seen : of a finding, its zone by label and what it says of it; "" of other entries.
    """

    entry: Entry
    by_name: str
    about: str
    standing: bool
    replaced_by: int | None = None
    withdrawn_by: int | None = None
    elsewhere: bool = False
    zone: str = ""
    seen: str = ""


@dataclass(frozen=True)
class CandidateView:
    """Everything recorded about a candidate, up to `revision`.

    entries : all of them, in order. standing : those that nothing later corrected or took back. data : the same as the tables of
    candidate.toml. last : the newest revision there is; greater than `revision` where an earlier moment is shown.
    sent : key of each ask ("kind:zone") -> "sent", "arrived" or "refused".
    """

    id: str
    dossier: Dossier
    entries: tuple[Entry, ...]
    standing: tuple[Entry, ...]
    revision: int
    last: int
    stage: str
    archived: bool
    data: Json
    pictures: tuple[PictureLine, ...]
    sent: Mapping[str, str]

    @property
    def remarks(self) -> tuple[Remark, ...]:
        """Doubts about what is recorded."""
        return self.dossier.remarks


@dataclass(frozen=True)
class Metal:
    """The metal alone: what can be said before there is any money to weigh."""

    plan: Plan
    exposure: Exposure
    belief: Belief


@dataclass(frozen=True, slots=True)
class WhatIf:
    """One set of terms tried out. changes : over the terms as they stand. body : figures by name, as in `summary_of`.

    problems : why it cannot be weighed so; then body is empty.
    """

    changes: Json
    body: Json
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Snapshot:
    """What was known at one moment, with what it rested on.

    seq : of the snapshot's own entry. at_seq, head : last entry that counted, and its hash. tables : their version, and
    table_number the last change of theirs that counted. terms : version of the shop's terms. body : figures by name.
    eye : version of the model that looked at the pictures. unlooked : hashes of those that it had not looked at yet.
    """

    seq: int
    label: str
    by: str
    at: datetime
    at_seq: int
    head: str
    tables: str
    table_number: int
    terms: int
    seed: int
    weighed_on: str
    body: Json
    eye: str = ""
    unlooked: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Compared:
    """A snapshot computed anew. same : every figure agrees. then, now : figures by name. differs : names of those that do not.

    because : why it cannot be computed anew or may differ (other tables, say), else "".
    """

    snapshot: Snapshot
    now: Json
    same: bool
    differs: tuple[str, ...]
    because: str


@dataclass(frozen=True, slots=True)
class JointWorth:
    """Some asks together. worth : joint, money, before cost. alone : sum of the single worths. missing : keys not to be had."""

    worth: float
    alone: float
    cost: float
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Deadline:
    """One line of the calendar. moment : a day, or a moment in its own time zone."""

    candidate: str
    name: str
    moment: date | datetime
    text: str
    changed_at: str


@dataclass(frozen=True, slots=True)
class Feed:
    """What changed. last : number to ask from next time."""

    changes: tuple[FeedLine, ...]
    last: int


@dataclass(frozen=True, slots=True)
class FeedLine:
    """One change, with the person's name."""

    number: int
    candidate: str
    seq: int
    kind: str
    by: str
    by_name: str
    at: str
