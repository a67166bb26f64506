"""What a phone sends from a walk: where it goes, what is taken, what the phone is told."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import cast

from weldworth.core.errors import BadInput, Problem
from weldworth.core.words import unknown
from weldworth.picture.folder import PictureFolder
from weldworth.picture.intake import take_in
from weldworth.picture.limits import limits
from weldworth.picture.sound import ENDINGS, form_of, sound_of
from weldworth.web.sent import look_at, told
from weldworth.web.uploads import Announced, Inbox, Item, refusal_of
from weldworth.workbench.desk import Desk
from weldworth.workbench.phone import phone_limits
from weldworth.workbench.ports import Receipt
from weldworth.workbench.walking import KINDS, WITH_FILE, Thing, Walk, take_down

LONGEST_NOTE = 2000


@dataclass(frozen=True)
class WalkBox:
    """Where the things of one walk go. by : who sends them."""

    desk: Desk
    candidate: str
    walk: Walk
    by: str

    def inbox(self) -> Inbox:
        """The same as the upload protocol wants it."""
        return Inbox(
            owner=self.walk.owner,
            limits=phone_limits(self.desk.tables()),
            now=self.desk.clock.now,
            receipt=lambda id: self.desk.receipt(self.walk.owner, id),
            announce=self.announce,
            look=_look,
            take=self.take,
            refuse=self.refuse,
        )

    def announce(self, said: Announced) -> None:
        """Raises BadInput for what will not be taken."""
        if said.kind not in KINDS:
            raise BadInput([Problem("kind", unknown("kind", said.kind[:40], KINDS))])
        if (said.length > 0) != (said.kind in WITH_FILE):
            raise BadInput([Problem("length", "pictures and memos come with their file, and nothing else does")])
        most = phone_limits(self.desk.tables()).items
        if len(self.desk.receipts(self.walk.owner)) >= most:
            raise BadInput([Problem("too-many", f"{most:.0f} things came on this walk already; end it and begin another.")])
        if any(len(str(value)) > LONGEST_NOTE for value in said.body.values()):
            raise BadInput([Problem("text", f"is longer than the {LONGEST_NOTE} characters that are taken")])

    def take(self, item: Item, path: Path | None) -> Receipt:
        """Record what came. Raises BadInput where it cannot be used."""
        thing = Thing(item.id, item.kind, item.body, min(item.made_at, self.desk.clock.now()))
        words = ""
        if path is not None and item.kind == "picture":
            thing, words = self._picture(thing, path)
        elif path is not None:
            thing = self._memo(thing, path)
        return take_down(self.desk, self.candidate, self.walk.id, thing, self.by, words)

    def refuse(self, item: Item, error: BadInput) -> Receipt:
        """Keep that it could not be used, and why."""
        at = self.desk.clock.now().isoformat(timespec="microseconds")
        receipt = Receipt(self.walk.owner, item.id, self.candidate, item.kind, "", "refused", at, body=item.body)
        return self.desk.record_once(replace(receipt, reply=refusal_of(error)), [], self.by)

    def _picture(self, thing: Thing, path: Path) -> tuple[Thing, str]:
        """Taken in as all pictures are; the words say what would make it better, "" where it is good."""
        found = take_in([path], cast(PictureFolder, self.desk.pictures), tables=self.desk.tables(), workers=1)
        if found.problems:
            raise BadInput([Problem(problem.code or "not-a-picture", problem.text) for problem in found.problems])
        one = found.pictures[0]
        said = told(one.verdict)
        return replace(thing, sha256=one.sha256, name=f"walk-{one.sha256[:8]}.jpg"), "" if said["good"] else str(said["words"])

    def _memo(self, thing: Thing, path: Path) -> Thing:
        sound = sound_of(path, limits(self.desk.tables()))
        sha256 = self.desk.pictures.put(path.read_bytes())
        return replace(thing, sha256=sha256, name=f"memo-{sha256[:8]}{ENDINGS[sound.media]}", seconds=sound.seconds)


def _look(kind: str, head: bytes) -> None:
    """Raises BadInput as soon as the first bytes show that it is not what was announced."""
    if kind == "picture":
        look_at(kind, head)
    elif not form_of(head):
        raise BadInput([Problem("not-sound", "This is no sound recording; webm, ogg, m4a and wav are taken.")])
