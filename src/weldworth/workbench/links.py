"""Links given to sellers: a page of asks behind a secret, what came back through it, and how all of that is erased."""

from __future__ import annotations

import hashlib
import secrets
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from hmac import compare_digest

from weldworth.core.errors import BadInput, NotFound, Problem
from weldworth.workbench.keeping import entries_in, keep
from weldworth.workbench.ledger import Json, seal, standing_entries
from weldworth.workbench.people import SELLER
from weldworth.workbench.phone import PhoneLimits, phone_limits
from weldworth.workbench.ports import Link, PictureFolder, Receipt
from weldworth.workbench.recorder import Recorder

KINDS = ("picture", "question", "reading")
"""Kinds of asks that a seller can answer from a page."""
LONGEST_LABEL = 80
WALK, SEES = "walk:", "sees:belief"
"""Keys of a link to a walk instead of asks: the walk, and that belief and ceiling may be seen."""
OPEN, RUN_OUT, ENDED = "open", "run out", "ended"


@dataclass(frozen=True)
class LinkLine:
    """A link as the desk lists it. state : open, run out or ended. receipts : what came and what was refused, oldest first."""

    link: Link
    state: str
    receipts: tuple[Receipt, ...]


class Links:
    """The use cases of links over one desk. Secrets are kept as hashes alone."""

    def __init__(self, recorder: Recorder, pictures: PictureFolder) -> None:
        self.recorder, self.pictures = recorder, pictures

    def limits(self) -> PhoneLimits:
        """What phones may send."""
        return phone_limits(self.recorder.tables())

    def make(
        self, candidate: str, asks: Sequence[str], by: str, *, label: str = "", vehicle: str = "", days: float | None = None
    ) -> tuple[Link, str]:
        """A new link for these asks ("kind:zone"), and its secret of 192 bits, which is shown once. The asks count as sent.

        label : for whom, seen by the shop alone. vehicle : what the page calls the vehicle. days : how long it is good.
        Raises BadInput for asks that a page cannot put, too many of them, or a number of days that is none.
        """
        problems = _problems(asks, (), self.limits())
        link, secret = self._made(candidate, tuple(dict.fromkeys(asks)), by, label, vehicle, days, problems)
        self.recorder.record(candidate, "ask-sent", {"asks": list(link.asks), "way": "link"}, by)
        with self.recorder.store.writing() as unit:
            unit.put_link(link)
        return link, secret

    def make_walk(
        self,
        candidate: str,
        walk: str,
        by: str,
        *,
        sees: bool = False,
        label: str = "",
        vehicle: str = "",
        days: float | None = None,
    ) -> tuple[Link, str]:
        """A new link to one walk, for whoever helps without an account, and its secret; otherwise as `make`.

        sees : whether the helper is told belief and ceiling as they move.
        """
        link, secret = self._made(candidate, (WALK + walk, *([SEES] if sees else [])), by, label, vehicle, days, [])
        with self.recorder.store.writing() as unit:
            unit.put_link(link)
        return link, secret

    def _made(
        self,
        candidate: str,
        keys: tuple[str, ...],
        by: str,
        label: str,
        vehicle: str,
        days: float | None,
        problems: list[Problem],
    ) -> tuple[Link, str]:
        """A link that is not kept yet, and its secret; raises BadInput with `problems` and what else is wrong."""
        days = self.limits().link_days if days is None else days
        if not 0 < days <= 365:
            problems.append(Problem("days", f"days is {days:g}; give 1 to 365"))
        for name, text in (("label", label), ("vehicle", vehicle)):
            if len(text) > LONGEST_LABEL:
                problems.append(Problem(name, f"{name} is {len(text)} characters long; {LONGEST_LABEL} are the most"))
        if problems:
            raise BadInput(problems)
        secret, now = secrets.token_urlsafe(24), self.recorder.clock.now()
        link = Link(
            uuid.uuid4().hex, _hash(secret), candidate, keys, label.strip(), vehicle.strip(), by, _iso(now),
            _iso(now + timedelta(days=days)),
        )  # fmt: skip
        return link, secret

    def add(self, id: str, asks: Sequence[str], by: str) -> Link:
        """Put more asks on a link that is open; they appear on the seller's page by themselves."""
        link = self.get(id)
        if self.state(link) != OPEN or walk_of(link) is not None:
            raise BadInput(
                [Problem("link", f"this link is {'to a walk' if walk_of(link) else self.state(link)}; make a new one")]
            )
        problems = _problems(asks, link.asks, self.limits())
        if problems:
            raise BadInput(problems)
        fresh = [key for key in dict.fromkeys(asks) if key not in link.asks]
        if not fresh:
            return link
        self.recorder.record(link.candidate, "ask-sent", {"asks": fresh, "way": "link"}, by)
        return self._change(id, asks=(*link.asks, *fresh), finished_at=None)

    def end(self, id: str) -> Link:
        """End a link: its page is gone at once. Ending it again changes nothing."""
        return self._change(id, ended_at=self.get(id).ended_at or self._stamp())

    def all(self, candidate: str, *, walks: bool = False) -> list[LinkLine]:
        """The links of a candidate to sellers, or to walks, newest first, with what came through each."""
        with self.recorder.store.reading() as unit:
            return [
                LinkLine(link, self.state(link), tuple(unit.receipts(owner_of(link))))
                for link in reversed(unit.links(candidate))
                if (walk_of(link) is not None) == walks
            ]

    def get(self, id: str) -> Link:
        """One link; raises NotFound."""
        with self.recorder.store.reading() as unit:
            found = next((link for link in unit.links() if link.id == id), None)
        if found is None:
            raise NotFound("there is no such link")
        return found

    def known(self, secret: str, *, walks: bool = False) -> Link | None:
        """The link of this secret, to a seller or to a walk, while it is open.

        What is wrong with any other is neither told nor to be told by the time.
        """
        hash = _hash(secret)
        with self.recorder.store.reading() as unit:
            found = unit.find_link(hash)
        link = found or Link("", "0" * 64, "", (), "", "", "", _iso(datetime.min), self._stamp())
        good = compare_digest(link.hash, hash) & (self.state(link) == OPEN) & ((walk_of(link) is not None) == walks)
        return found if good else None

    def state(self, link: Link) -> str:
        """open, run out or ended."""
        if link.ended_at is not None:
            return ENDED
        return RUN_OUT if datetime.fromisoformat(link.expires_at) <= self.recorder.clock.now() else OPEN

    def opened(self, link: Link) -> None:
        """Note that the page was fetched."""
        now = self._stamp()
        self._change(link.id, opened_at=link.opened_at or now, seen_at=now, opened=link.opened + 1)

    def receipts(self, link: Link) -> list[Receipt]:
        """What came through a link, oldest first."""
        return self.recorder.receipts(owner_of(link))

    def announce(self, link: Link, kind: str, ask: str, length: int, begun: int) -> None:
        """Raises BadInput for what will not be taken. begun : bytes of other uploads that have begun."""
        bounds, there = self.limits(), self.receipts(link)
        if ask and ask not in link.asks:
            raise BadInput([Problem("ask", "This is not asked for any more.")])
        if len(there) >= bounds.items:
            raise BadInput([Problem("too-many", f"{len(there)} answers came already; nothing more is taken on this link.")])
        if kind != "picture":
            return
        pictures = [one for one in there if one.kind == "picture" and one.state == "taken"]
        if len(pictures) >= bounds.link_pictures:
            raise BadInput([Problem("too-many", f"{len(pictures)} pictures came already; no more are taken on this link.")])
        if sum(one.length for one in pictures) + begun + length > bounds.link_bytes:
            raise BadInput([Problem("too-much", f"More than {bounds.link_bytes / 1e6:.0f} MB in all are not taken on one link.")])

    def take(self, link: Link, receipt: Receipt, items: Sequence[tuple[str, Json]]) -> Receipt:
        """Record what came, by the seller of this link; once. A picture taken after all takes a refusal of it back."""
        kept = self.recorder.record_once(receipt, items, owner_of(link))
        if any(kind == "ask-arrived" for kind, _ in items):
            self._take_back_refusals(link, kept.ask)
        return kept

    def _take_back_refusals(self, link: Link, key: str) -> None:
        with self.recorder.store.reading() as unit:
            entries = standing_entries(entries_in(unit, link.candidate))
        for entry in entries:
            about = f"{entry.body.get('kind')}:{entry.body.get('zone')}"
            if entry.kind == "ask-refused" and entry.by == owner_of(link) and about == key:
                self.recorder.withdraw(link.candidate, entry.seq, owner_of(link))

    def finish(self, link: Link, finished: bool = True) -> None:
        """The seller says that this was all, or goes on after all."""
        self._change(link.id, finished_at=self._stamp() if finished else None)

    def erase(self, id: str, by: str) -> Link:
        """Erase what a seller sent: pictures with all that was made of them, own words, name; the link is ended.

        An entry says so; findings and the chain of hashes stay. A picture that the shop has from elsewhere too is kept.
        """
        link, now = self.get(id), self.recorder.clock.now()
        with self.recorder.store.writing() as unit:
            entries, receipts = entries_in(unit, link.candidate), unit.receipts(owner_of(link))
            own = owner_of(link)
            others = {
                entry.body.get("sha256")
                for row in unit.candidates()
                for entry in unit.entries(row.id)
                if entry.kind == "picture" and entry.by != own
            }
            gone = sorted({one.sha256 for one in receipts if one.sha256} - others)
            entry = seal(link.candidate, "erased", {"link": id, "pictures": gone}, by, now, entries[-1])
            keep(unit, [*entries, entry], len(entries))
            for one in receipts:
                unit.put_receipt(replace(one, body={}, reply={}))
            erased = replace(link, label="", vehicle="", ended_at=link.ended_at or _iso(now), erased_at=_iso(now))
            unit.put_link(erased)
            for sha256 in gone:
                self.pictures.drop(sha256)
        return erased

    def _change(self, id: str, **changes: object) -> Link:
        with self.recorder.store.writing() as unit:
            found = next((link for link in unit.links() if link.id == id), None)
            if found is None:
                raise NotFound("there is no such link")
            changed = replace(found, **changes)  # type: ignore[arg-type]
            unit.put_link(changed)
            return changed

    def _stamp(self) -> str:
        return _iso(self.recorder.clock.now())


def walk_of(link: Link) -> str | None:
    """The walk that a link leads to, or None for one to a seller."""
    return next((key.removeprefix(WALK) for key in link.asks if key.startswith(WALK)), None)


def owner_of(link: Link) -> str:
    """How a link's seller is named in entries and receipts."""
    return SELLER + link.id


def answers_by_ask(receipts: Sequence[Receipt]) -> Mapping[str, tuple[Receipt, ...]]:
    """What was taken, by the ask that it is about, oldest first."""
    found: dict[str, tuple[Receipt, ...]] = {}
    for one in receipts:
        if one.state == "taken" and one.ask:
            found[one.ask] = (*found.get(one.ask, ()), one)
    return found


def _problems(asks: Sequence[str], there: Sequence[str], bounds: PhoneLimits) -> list[Problem]:
    odd = [key for key in asks if key.partition(":")[0] not in KINDS]
    problems = [Problem("ask", f"{key!r} cannot be put on a page; choose pictures, questions and readings") for key in odd]
    count = len({*asks, *there})
    if not asks:
        problems.append(Problem("ask", "nothing is chosen; choose at least one"))
    if count > bounds.link_asks:
        problems.append(Problem("ask", f"{count} are chosen; {bounds.link_asks:.0f} are the most on one link"))
    return problems


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def _iso(moment: datetime) -> str:
    return moment.isoformat(timespec="microseconds")
