"""Pictures, videos and zips sent to a candidate in pieces: broken off and gone on with, each file taken once."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from math import inf
from pathlib import Path, PurePosixPath

from fastapi import APIRouter, Request

from weldworth.core.errors import BadInput, Problem
from weldworth.picture.intake import take_in
from weldworth.picture.kinds import PICTURES, VIDEO, ZIP, kind_of
from weldworth.store.parts import Parts
from weldworth.web.arrivals import named
from weldworth.web.guard import Known, TheDesk, settings_of
from weldworth.web.picture_lines import folder_of
from weldworth.web.uploads import Announced, Inbox, Item, add_upload_routes, refusal_of, uploads_of
from weldworth.workbench.desk import Desk
from weldworth.workbench.phone import phone_limits
from weldworth.workbench.ports import Person, Receipt
from weldworth.workbench.taking import free_name

router = APIRouter()
KIND = "pictures"
ASK = "give JPEG, PNG, WebP, TIFF, HEIC or AVIF pictures, mp4 or mov videos, or a zip of them"


@dataclass(frozen=True)
class Delivery:
    """Where the files that one person drops on a candidate's pictures go. largest : bytes of one file."""

    desk: Desk
    candidate: str
    person: Person
    parts: Parts
    largest: int

    @property
    def owner(self) -> str:
        """How the person is named in receipts."""
        return f"desk:{self.person.id}"

    def inbox(self) -> Inbox:
        """The same as the upload protocol wants it."""
        return inbox_of_files(self.desk, self.owner, self.largest, self.take, self.refuse)

    def take(self, item: Item, path: Path | None) -> Receipt:
        """Take the file in and record its pictures. Raises BadInput where there is none in it."""
        if path is None:
            raise BadInput([Problem("length", "the file is empty (0 bytes); copy or send it again from the phone")])
        with under_its_name(item, path) as file:
            found = take_in([file], folder_of(self.desk), tables=self.desk.tables())
        if found.problems and not found.pictures:
            raise BadInput(found.problems)
        for one in found.pictures:
            self._look_at(one.sha256)
        view = self.desk.candidate(self.candidate)
        there, names, items = {one.sha256 for one in view.pictures}, [one.name for one in view.pictures], []
        for one in found.pictures:
            if one.sha256 not in there:
                names.append(free_name(named(one.name), names))
                items.append(("picture", {"sha256": one.sha256, "name": names[-1]}))
        odd = [f"{problem.where}: {problem.text}" for problem in found.problems]
        reply = {"pictures": len(found.pictures), "new": len(items), "problems": odd}
        receipt = replace(self._receipt(item), state="taken", reply=reply)
        return self.desk.record_once(receipt, items, self.person.id)

    def _look_at(self, sha256: str) -> None:
        """Let the machine look while the file is still on its way, so that the pages need not wait for it."""
        if self.desk.eye is not None:
            self.desk.eye.see(self.desk.pictures.path(sha256), (), self.desk.tables())

    def refuse(self, item: Item, error: BadInput) -> Receipt:
        """Keep that it could not be used, and why."""
        return self.desk.record_once(replace(self._receipt(item), state="refused", reply=refusal_of(error)), [], "")

    def _receipt(self, item: Item) -> Receipt:
        at = self.desk.clock.now().isoformat(timespec="microseconds")
        return Receipt(self.owner, item.id, self.candidate, item.kind, "", "taken", at, item.sha256, item.length)


def inbox_of_files(
    desk: Desk,
    owner: str,
    largest: int,
    take: Callable[[Item, Path | None], Receipt],
    refuse: Callable[[Item, BadInput], Receipt],
) -> Inbox:
    """Where files from the desk's own people go: up to `largest` bytes each, and not held to a stranger's pace."""
    return Inbox(
        owner=owner,
        limits=replace(phone_limits(desk.tables()), item_bytes=largest, per_minute=inf),
        now=desk.clock.now,
        receipt=lambda id: desk.receipt(owner, id),
        announce=announce,
        look=look,
        take=take,
        refuse=refuse,
    )


@contextmanager
def under_its_name(item: Item, path: Path) -> Iterator[Path]:
    """What has come, under its own name, as long as the block runs."""
    with tempfile.TemporaryDirectory() as place:
        file = Path(place) / (PurePosixPath(item.name.replace("\\", "/")).name.lstrip(".") or "picture")
        shutil.copyfile(path, file)
        yield file


def announce(said: Announced) -> None:
    """Raises BadInput for what is no file."""
    if said.kind != KIND:
        raise BadInput([Problem("kind", f"{said.kind[:40]!r} is not taken here; send {KIND}")])
    if said.length == 0:
        raise BadInput([Problem("length", f"{said.name[:80] or 'the file'} is empty (0 bytes); copy or send it again")])


def look(kind: str, head: bytes) -> None:
    """Raises BadInput as soon as the first bytes show that it is neither picture, video nor zip."""
    found = kind_of(head)
    if found not in (*PICTURES, VIDEO, ZIP):
        raise BadInput([Problem("file", f"is {found}; {ASK}")])


def inbox_of(request: Request, id: str, person: Known, desk: TheDesk) -> Inbox:
    """Where this person's files for this candidate go. Raises NotFound."""
    desk.candidate(id)
    return Delivery(desk, id, person, uploads_of(request).parts, settings_of(request).largest_upload).inbox()


add_upload_routes(router, "/c/{id}/pictures/up", inbox_of)
