"""What the desk needs from the outside: a store, a clock, folders. Values that cross, and the shapes of both sides."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from typing import Protocol

from weldworth.core.remark import Remark
from weldworth.evidence.pictures import Region
from weldworth.tables import Tables
from weldworth.workbench.ledger import Entry, Json

ROLES = ("owner", "partner", "read-only")
"""owner: everything. partner: everything about candidates. read-only: looks, records nothing."""


@dataclass(frozen=True, slots=True)
class CandidateRow:
    """What the bench knows of a candidate without reading its entries: rewritten with each entry.

    revision : number of its last entry. head : hash of that entry. evidence : hash of the last entry that the weighing rests
    on. closes : ISO day or moment as recorded, or None.
    """

    id: str
    name: str
    body: str
    stage: str = "watched"
    archived: bool = False
    model_year: int | None = None
    sale_kind: str | None = None
    price_low: float | None = None
    price_high: float | None = None
    closes: str | None = None
    revision: int = 0
    head: str = ""
    evidence: str = ""
    opened_at: str = ""
    changed_at: str = ""
    changed_by: str = ""


@dataclass(frozen=True, slots=True)
class Summary:
    """The short result of one weighing, as it is kept for the bench and in snapshots.

    key : see `Basis.key`. wanted : what is missing when it cannot be weighed yet, else "". body : figures by name, JSON; those of
    the asks come later than those of the money (`summary.ask_figures`, `summary.set_figures`).
    """

    candidate: str
    key: str
    weighed_on: str
    body: Json = field(default_factory=dict)
    wanted: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """One entry as the feed tells it. number : over the whole shop, rising."""

    number: int
    candidate: str
    seq: int
    kind: str
    by: str
    at: str


@dataclass(frozen=True, slots=True)
class Person:
    """Who may come in. password : the hash as the web keeps it, or None while the person has none."""

    id: str
    name: str
    role: str
    password: str | None = None
    active: bool = True
    created_at: str = ""


@dataclass(frozen=True, slots=True)
class Pass:
    """A session, an API token or an invitation: known by the SHA-256 of its secret, which is shown once and not kept.

    kind : "session", "token", "invitation". person : whose it is; for an invitation who gave it. role : the most that it lets
    do; for an invitation the role that it brings. label : device, name of the token, or name of the invited.
    """

    hash: str
    kind: str
    person: str
    role: str
    label: str
    created_at: str
    expires_at: str | None = None
    ended_at: str | None = None
    seen_at: str | None = None


@dataclass(frozen=True, slots=True)
class Link:
    """What a seller was given: a page of asks, known by the SHA-256 of its secret, which is shown once and not kept.

    asks : keys "kind:zone" in their order. label : for whom, for the shop alone. vehicle : what the page calls the vehicle.
    by : person who gave it. opened : times the page was fetched, from opened_at to seen_at. finished_at : the seller said that
    this was all. erased_at : what the seller sent was erased at his request.
    """

    id: str
    hash: str
    candidate: str
    asks: tuple[str, ...]
    label: str
    vehicle: str
    by: str
    created_at: str
    expires_at: str
    ended_at: str | None = None
    opened_at: str | None = None
    seen_at: str | None = None
    opened: int = 0
    finished_at: str | None = None
    erased_at: str | None = None


@dataclass(frozen=True, slots=True)
class Receipt:
    """One thing that a phone sent, kept so that the same again is known again.

    owner : whose phone, such as "seller:<link>" or "walk:<person>". id : made by the phone. ask : key of the ask that it is
    about, or "". state : "taken" or "refused". sha256, length : of the file that came with it. entry : number of the first entry
    recorded for it. body : what was sent beside the file; reply : what the phone was told. Both may be erased.
    """

    owner: str
    id: str
    candidate: str
    kind: str
    ask: str
    state: str
    at: str
    sha256: str | None = None
    length: int = 0
    entry: int | None = None
    body: Json = field(default_factory=dict)
    reply: Json = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class TermsVersion:
    """The shop's terms as they were from `at` on: the keys of [shop], over the tables. number : 1, 2, ..."""

    number: int
    terms: Json
    by: str
    at: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class TablesVersion:
    """The shop's own text of one table from `at` on; text None goes back to the shipped one. number : 1, 2, ..."""

    number: int
    name: str
    text: str | None
    by: str
    at: str
    note: str = ""


class Unit(Protocol):
    """One transaction. In a writing one nobody else writes until it ends; it is kept whole or not at all."""

    def entries(self, candidate: str) -> list[Entry]: ...
    def append(self, entry: Entry) -> None: ...
    def latest(self, kind: str, most: int) -> list[Entry]: ...
    def candidate(self, id: str) -> CandidateRow | None: ...
    def candidates(self) -> list[CandidateRow]: ...
    def put_candidate(self, row: CandidateRow) -> None: ...
    def summaries(self) -> dict[str, Summary]: ...
    def summary_key(self, candidate: str) -> str | None: ...
    def put_summary(self, summary: Summary) -> None: ...
    def changes(self, since: int, most: int) -> list[Change]: ...
    def last_change(self) -> int: ...
    def people(self) -> list[Person]: ...
    def put_person(self, person: Person) -> None: ...
    def passes(self, kind: str | None = None, person: str | None = None) -> list[Pass]: ...
    def find_pass(self, hash: str) -> Pass | None: ...
    def put_pass(self, given: Pass) -> None: ...
    def links(self, candidate: str | None = None) -> list[Link]: ...
    def find_link(self, hash: str) -> Link | None: ...
    def put_link(self, link: Link) -> None: ...
    def receipts(self, owner: str) -> list[Receipt]: ...
    def receipt(self, owner: str, id: str) -> Receipt | None: ...
    def put_receipt(self, receipt: Receipt) -> None: ...
    def terms(self) -> list[TermsVersion]: ...
    def put_terms(self, version: TermsVersion) -> None: ...
    def tables(self) -> list[TablesVersion]: ...
    def put_table(self, version: TablesVersion) -> None: ...


class Store(Protocol):
    """Where everything is kept."""

    def reading(self) -> AbstractContextManager[Unit]: ...
    def writing(self) -> AbstractContextManager[Unit]: ...
    def reading_once(self) -> AbstractContextManager[None]:
        """Within, a thread that makes a page reads a candidate's entries, the people, terms and tables once. Record nothing."""
        ...

    def close(self) -> None: ...


class Clock(Protocol):
    """The time, as the edge tells it."""

    def now(self) -> datetime:
        """The moment, in UTC."""
        ...

    def today(self) -> date:
        """The day to weigh on."""
        ...


class PictureFolder(Protocol):
    """Originals byte for byte under their SHA-256."""

    def put(self, data: bytes, sha256: str | None = None) -> str: ...
    def get(self, sha256: str, kind: str = "originals") -> bytes: ...
    def exists(self, sha256: str, kind: str = "originals") -> bool: ...
    def path(self, sha256: str, kind: str = "originals") -> Path: ...
    def drop(self, sha256: str) -> None: ...


@dataclass(frozen=True, slots=True)
class Sight:
    """What the machine makes of one picture (region None) or of a region of it.

    q : how well it could have shown what is there, 0..1. faults, words : what is wrong with it and what to do about it.
    area_percent : share of it that is rust. ri : ISO 4628-3, 0..5 in half steps. d610 : ASTM D610, 10..0. chance : that there
    is rust at all. signs : (sign, probability) of every sign likely enough to suggest, likeliest first.
    """

    region: Region | None
    q: float
    usable: bool
    faults: tuple[str, ...]
    words: str
    area_percent: float
    ri: float
    d610: int
    chance: float
    signs: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Seen:
    """What the machine makes of one picture.

    width, height : upright, in pixels. taken_on : the day by the camera's clock. edited : remarks on programs that changed the
    file. whole : the picture as a whole. parts : the regions that were asked for. problem : why nothing can be seen in it, one
    sentence; then whole is None. repeats : likelier original among the candidate's pictures -> how
    this one repeats it ("same", "mirrored", "part").
    """

    sha256: str
    width: int = 0
    height: int = 0
    taken_on: date | None = None
    camera: str = ""
    edited: tuple[str, ...] = ()
    whole: Sight | None = None
    parts: Mapping[Region, Sight] = field(default_factory=dict)
    problem: str = ""
    repeats: Mapping[str, str] = field(default_factory=dict)

    def at(self, region: Region | None) -> Sight | None:
        """The sight of a region, or of the whole where it is None."""
        return self.whole if region is None else self.parts.get(region)


class PictureReader(Protocol):
    """What looks at pictures."""

    @property
    def version(self) -> str:
        """Names the model: what it said may differ where this does."""
        ...

    def see(self, file: Path, regions: Sequence[Region], tables: Tables) -> Seen:
        """Look at one picture and at regions of it; what cannot be seen becomes the `problem`, nothing is raised."""
        ...

    def knows(self, file: Path, tables: Tables) -> bool:
        """Whether a picture was looked at already; what cannot be opened takes no looking."""
        ...

    def frames(self, file: Path, name: str, tables: Tables) -> list[tuple[str, bytes]]:
        """The frames of a video as pictures with their names; empty for what is no video."""
        ...

    def repeats(self, files: Mapping[str, Path], tables: Tables) -> Mapping[str, Mapping[str, str]]:
        """Name -> earlier names of `files` that it repeats -> how (same, mirrored, part); only names that repeat one."""
        ...

    @property
    def ready(self) -> int:
        """How many pictures were made ready to be compared."""
        ...

    def prepare(self, files: Mapping[str, Path], tables: Tables, most: int | None = None) -> int:
        """Make ready to compare these pictures (hash -> file), at most so many; how many were not ready yet."""
        ...

    def elsewhere(self, sha256: str, file: Path, others: Mapping[str, Path], tables: Tables) -> Mapping[str, str]:
        """Of other pictures (hash -> file) that were made ready: those that it is like -> how (same, mirrored, part, place)."""
        ...


class TableShelf(Protocol):
    """The shop's own tables laid over the shipped ones."""

    def lay(self, files: Mapping[str, str]) -> Tables: ...


@dataclass(frozen=True)
class Taken:
    """A dossier folder as read and checked. data : candidate.toml as parsed. pictures, memos : name -> file.

    ledger : what an export wrote beside it, as text, not checked yet.
    """

    name: str
    data: Json
    comparables: str | None
    advert: str | None
    pictures: Mapping[str, Path]
    remarks: Sequence[Remark] = ()
    ledger: str | None = None
    memos: Mapping[str, Path] = field(default_factory=dict)


class DossierFolders(Protocol):
    """Dossier folders on the disk."""

    def take(self, folder: Path, tables: Tables, today: date) -> Taken: ...
    def write(self, folder: Path, files: Iterable[tuple[str, bytes | Path]]) -> None: ...
