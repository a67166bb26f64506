"""What a seller's page sends, as entries of the candidate: pictures on the ask's zone, answers, readings, refusals."""

from __future__ import annotations

import errno
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import cast

from weldworth.core.errors import BadInput, Problem
from weldworth.evidence.questions import questions
from weldworth.picture.folder import PictureFolder
from weldworth.picture.intake import take_in
from weldworth.picture.kinds import PICTURES, VIDEO, kind_of
from weldworth.picture.quality import Verdict
from weldworth.store.parts import Parts
from weldworth.web.sayings import IN_WORDS
from weldworth.web.uploads import Announced, Inbox, Item, refusal_of
from weldworth.workbench.desk import Desk
from weldworth.workbench.ledger import Json
from weldworth.workbench.links import owner_of
from weldworth.workbench.ports import Link, Receipt

CANNOT = {
    "reach": "cannot get near it",
    "unsafe": "not safe there",
    "covered": "covered, and will not be uncovered",
    "rather-not": "would rather not",
}
"""Why a seller does not give what was asked for: word -> as the diary has it."""
UNKNOWN = "does not know"
OWN_WORDS = "in own words"
"""The answer of an entry whose text is kept with the link, where it can be erased."""
SOURCE = "asked-picture"
Items = list[tuple[str, Json]]


@dataclass(frozen=True, slots=True)
class Came:
    """What a thing amounts to: entries to record, what the phone is told, the hash of its picture."""

    items: Items
    reply: Json = field(default_factory=dict)
    sha256: str | None = None


@dataclass(frozen=True)
class Letterbox:
    """Where the things of one link go."""

    desk: Desk
    link: Link
    parts: Parts

    def inbox(self) -> Inbox:
        """The same as the upload protocol wants it."""
        owner = owner_of(self.link)
        return Inbox(
            owner=owner,
            limits=self.desk.links.limits(),
            now=self.desk.clock.now,
            receipt=lambda id: self.desk.receipt(owner, id),
            announce=self.announce,
            look=look_at,
            take=self.take,
            refuse=self.refuse,
        )

    def announce(self, said: Announced) -> None:
        """Raises BadInput for what will not be taken."""
        if said.kind not in TAKERS:
            raise BadInput([Problem("kind", f"{said.kind[:40]!r} is nothing that this page sends")])
        if (said.length > 0) != (said.kind == "picture"):
            raise BadInput([Problem("length", "a picture comes with its file, and nothing else does")])
        begun = sum(part.offset for part in self.parts.begun(owner_of(self.link)))
        self.desk.links.announce(self.link, said.kind, _word(said.body, "ask"), said.length, begun)
        most = int(self.desk.links.limits().words)
        if len(_word(said.body, "words")) > most:
            raise BadInput([Problem("words", f"is longer than the {most} characters that are taken")])

    def take(self, item: Item, path: Path | None) -> Receipt:
        """Record what came. Raises BadInput where it cannot be used."""
        came = TAKERS[item.kind](self, item, path)
        receipt = replace(self._receipt(item), sha256=came.sha256, reply=came.reply)
        return self.desk.links.take(self.link, receipt, came.items)

    def refuse(self, item: Item, error: BadInput) -> Receipt:
        """Keep that it could not be used, and why."""
        return self.desk.record_once(replace(self._receipt(item), state="refused", reply=refusal_of(error)), [], "")

    def _receipt(self, item: Item) -> Receipt:
        at = self.desk.clock.now().isoformat(timespec="microseconds")
        ask = _word(item.body, "ask")
        return Receipt(
            owner_of(self.link), item.id, self.link.candidate, item.kind, ask, "taken", at, item.sha256, item.length,
            body=item.body,
        )  # fmt: skip

    def picture(self, item: Item, path: Path | None) -> Came:
        """A picture of the zone that was asked for, taken in as all pictures are; what comes back is how good it is."""
        kind, zone = self._ask(item, "picture")
        assert path is not None
        folder = cast(PictureFolder, self.desk.pictures)
        found = take_in([path], folder, tables=self.desk.tables(), workers=1)
        if found.problems and self.parts.free() < self.desk.links.limits().reserve_bytes + item.length:
            raise OSError(errno.ENOSPC, "no room to take a picture in")
        if found.problems:
            raise BadInput([Problem(problem.code or "not-a-picture", problem.text) for problem in found.problems])
        one = found.pictures[0]
        items = self._on_zone(item, one.sha256, zone)
        if one.verdict.usable:
            items.append(("ask-arrived", {"kind": kind, "zone": zone, "pictures": [one.sha256]}))
        return Came(items, told(one.verdict), one.sha256)

    def _on_zone(self, item: Item, sha256: str, zone: str) -> Items:
        """The entry that puts a picture on its zone; the same picture again is put on both zones."""
        view = self.desk.candidate(self.link.candidate)
        known = next((one for one in view.pictures if one.sha256 == sha256), None)
        if known is not None:
            if zone not in known.zones:
                body = {**dict(known.facts), "zones": [*known.zones, zone]}
                self.desk.correct(self.link.candidate, known.seq, body, owner_of(self.link))
            return []
        day = min(item.made_at.astimezone().date(), self.desk.clock.today())
        body = {"sha256": sha256, "name": f"asked-{zone}-{sha256[:8]}.jpg", "zones": [zone], "source": SOURCE}
        return [("picture", {**body, "taken_on": day.isoformat()})]

    def keep(self, item: Item, path: Path | None) -> Came:
        """The seller leaves a picture as it is, whatever its faults."""
        kind, zone = self._ask(item, "picture")
        receipts = self.desk.links.receipts(self.link)
        sent = [r.sha256 for r in receipts if (r.kind, r.ask, r.state) == ("picture", f"{kind}:{zone}", "taken")]
        if not sent:
            raise BadInput([Problem("ask", "no picture of this has come yet")])
        return Came([("ask-arrived", {"kind": kind, "zone": zone, "pictures": sent})])

    def answer(self, item: Item, path: Path | None) -> Came:
        """One of the listed answers, that it is not known, or the seller's own words, which stay with the link."""
        kind, id = self._ask(item, "question")
        given, words = _word(item.body, "answer"), _word(item.body, "words")
        listed = questions(self.desk.tables())[id].answers
        if given not in listed and given not in ("", "unknown"):
            raise BadInput([Problem("answer", f"{given[:40]!r} is no answer to this question")])
        if not given and not words:
            raise BadInput([Problem("answer", "is empty")])
        said = given if given in listed else UNKNOWN if given else IN_WORDS.get(id, OWN_WORDS)
        day = self.desk.clock.today().isoformat()
        answer = {"question": id, "answer": said, "given_on": day}
        return Came([("answer", answer), ("ask-arrived", {"kind": kind, "zone": id})])

    def reading(self, item: Item, path: Path | None) -> Came:
        """A number measured by the seller."""
        kind, zone = self._ask(item, "reading")
        view = self.desk.metal(self.link.candidate)
        place = any(one.id == zone and one.kind == "door-gap" for one in view.plan.places)
        body = {
            "zone": zone,
            "kind": "door-gap" if place else _word(item.body, "measured"),
            "source": "seller-answer",
            "value": item.body.get("value"),
            "unit": _word(item.body, "unit"),
        }
        return Came([("reading", body), ("ask-arrived", {"kind": kind, "zone": zone})])

    def cannot(self, item: Item, path: Path | None) -> Came:
        """The seller does not give it, and why. Where something of it came already that stands."""
        kind, zone = self._ask(item)
        why = _word(item.body, "why")
        if why not in CANNOT:
            raise BadInput([Problem("why", f"{why[:40]!r} is no reason; give one of {', '.join(CANNOT)}")])
        came = self.desk.candidate(self.link.candidate).sent.get(f"{kind}:{zone}") == "arrived"
        return Came([] if came else [("ask-refused", {"kind": kind, "zone": zone, "note": CANNOT[why]})])

    def finish(self, item: Item, path: Path | None) -> Came:
        """The seller says that this was all."""
        self.desk.links.finish(self.link)
        return Came([])

    def _ask(self, item: Item, wanted: str = "") -> tuple[str, str]:
        kind, _, zone = _word(item.body, "ask").partition(":")
        if not zone or (wanted and kind != wanted):
            raise BadInput([Problem("ask", f"{kind[:40]!r} is not what this answers; give a {wanted or 'listed'} ask")])
        return kind, zone


TAKERS = {
    "picture": Letterbox.picture,
    "keep": Letterbox.keep,
    "answer": Letterbox.answer,
    "reading": Letterbox.reading,
    "cannot": Letterbox.cannot,
    "finish": Letterbox.finish,
}


def look_at(kind: str, head: bytes) -> None:
    """Raises BadInput as soon as the first bytes show that it is no picture, before the rest is sent."""
    found = kind_of(head)
    if found == VIDEO or "video" in found:
        raise BadInput([Problem("video", "This is a video; what is asked for is a picture.")])
    if found not in PICTURES:
        raise BadInput([Problem("not-a-picture", f"This is {found}; what is asked for is a picture.")])


def told(verdict: Verdict) -> dict[str, object]:
    """What the phone is told of a picture. good : nothing is wrong with it."""
    return {"usable": verdict.usable, "good": not verdict.faults, "faults": list(verdict.faults), "words": verdict.words}


def _word(body: Json, key: str) -> str:
    value = body.get(key, "")
    return value.strip() if isinstance(value, str) else ""
