"""Files dropped on Taking in: kept before there is a candidate for them, sent in pieces; a dossier opens one at once."""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from pathlib import Path

from fastapi import APIRouter, Request

from weldworth.core.errors import BadInput
from weldworth.store.parts import Parts
from weldworth.web.arrivals import holds_dossier, take_dossier, taken
from weldworth.web.guard import Known, TheDesk, settings_of
from weldworth.web.pages.picture_arrivals import inbox_of_files, under_its_name
from weldworth.web.uploads import Inbox, Item, add_upload_routes, refusal_of, uploads_of
from weldworth.workbench.desk import Desk
from weldworth.workbench.ports import Person, Receipt

router = APIRouter()


@dataclass(frozen=True)
class Tray:
    """Where the files go that one person drops before there is a candidate. largest : bytes of one file.

    A picture that came leaves no receipt: it lies in the picture folder under its hash, and the same again is the same picture.
    """

    desk: Desk
    person: Person
    parts: Parts
    largest: int

    @property
    def owner(self) -> str:
        """How the person is named in receipts."""
        return f"tray:{self.person.id}"

    def inbox(self) -> Inbox:
        """The same as the upload protocol wants it."""
        return inbox_of_files(self.desk, self.owner, self.largest, self.take, self.refuse)

    def take(self, item: Item, path: Path | None) -> Receipt:
        """Keep the pictures in it, or open a candidate from the dossier in it. Raises BadInput where it is neither."""
        assert path is not None, "announce takes nothing that is empty"
        with under_its_name(item, path) as file:
            if holds_dossier(file):
                id = take_dossier(self.desk, file, self.person.id, self._receipt(item))
                return replace(self._receipt(item), reply={"candidate": id})
            found = taken(self.desk, [file])
        if found.problems and not found.pictures:
            raise BadInput(found.problems)
        odd = [f"{problem.where}: {problem.text}" for problem in found.problems]
        kept = [asdict(one) for one in found.pictures]
        return replace(self._receipt(item), reply={"pictures": len(kept), "new": len(kept), "problems": odd, "kept": kept})

    def refuse(self, item: Item, error: BadInput) -> Receipt:
        """That it could not be used, and why."""
        return replace(self._receipt(item), state="refused", reply=refusal_of(error))

    def _receipt(self, item: Item) -> Receipt:
        at = self.desk.clock.now().isoformat(timespec="microseconds")
        return Receipt(self.owner, item.id, "", item.kind, "", "taken", at, item.sha256, item.length)


def inbox_of(request: Request, person: Known, desk: TheDesk) -> Inbox:
    """Where this person's files go while nothing is on the bench for them yet."""
    return Tray(desk, person, uploads_of(request).parts, settings_of(request).largest_upload).inbox()


add_upload_routes(router, "/new/up", inbox_of)
