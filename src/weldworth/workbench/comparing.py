"""Pictures of one candidate against those of every other in the shop: made ready in quiet moments, remembered, remarked on."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from weldworth.core.errors import NotFound
from weldworth.core.remark import Remark
from weldworth.evidence.likenesses import Elsewhere, elsewhere_remarks
from weldworth.tables import Tables
from weldworth.workbench.held import Held
from weldworth.workbench.ledger import Entry
from weldworth.workbench.looking import Looker
from weldworth.workbench.machine_findings import MachineFindings
from weldworth.workbench.people import People
from weldworth.workbench.ports import Clock, PictureFolder, PictureReader, Store
from weldworth.workbench.shop import Shop

EVERY = 1_000_000
HELD_SHELVES, HELD_REMARKS = 1, 256
Place = tuple[str, str]
"""Candidate, and the picture's name there."""


@dataclass(frozen=True)
class AllPictures:
    """Every picture that any candidate was ever given. places : hash -> where it is or was."""

    places: Mapping[str, tuple[Place, ...]]


class Comparer(Looker):
    """The use cases about pictures of different candidates."""

    def __init__(
        self, store: Store, clock: Clock, people: People, shop: Shop, pictures: PictureFolder, eye: PictureReader | None
    ) -> None:
        super().__init__(store, clock, people, shop, pictures, eye)
        self._shelf: Held[AllPictures] = Held(HELD_SHELVES)
        self._told: Held[list[Remark]] = Held(HELD_REMARKS)
        self._last: Held[tuple[tuple[str, ...], list[Remark]]] = Held(HELD_REMARKS)
        self._overdue: set[str] = set()

    def alike_elsewhere(self, id: str) -> list[Remark]:
        """A remark for each picture of this candidate that another candidate has too, mirrored or in part, or whose place or
        object another one shows. Only of pictures that were made ready (`compare_ahead`). Raises NotFound."""
        view, tables = self.candidate(id), self.tables()
        if self.eye is None or not view.pictures:
            return []
        shelf, stamp = self._all_pictures()
        mine = {picture.name: picture.sha256 for picture in view.pictures}
        ready = self.eye.ready
        key = (id, tuple(mine.items()), stamp, ready, tables.version)
        return self._told.get(key, lambda: self._compared(id, mine, shelf, tables))

    def told_elsewhere(self, id: str, late: Callable[[str], bool]) -> list[Remark]:
        """The same as last worked out for these pictures, so that no page waits for what came to others: that is looked at in a
        quiet moment (`tell_overdue`). late : whether what came to this candidate may wait for that too."""
        mine = self._pictures_of(id)
        last = self._last.peek(id)
        if last is None or (last[0] != mine and not late(id)):
            return self.tell_again(id, self.alike_elsewhere)
        self._overdue.add(id)
        return last[1]

    def tell_again(self, id: str, alike: Callable[[str], list[Remark]]) -> list[Remark]:
        """Work out anew what is told of a candidate. alike : as `alike_elsewhere`."""
        mine, found = self._pictures_of(id), alike(id)
        self._last.put(id, (mine, found))
        return found

    def tell_overdue(self, alike: Callable[[str], list[Remark]]) -> None:
        """Work out anew what was told of candidates since the last quiet moment. alike : as `alike_elsewhere`."""
        while self._overdue:
            id = self._overdue.pop()
            with suppress(NotFound):
                self.tell_again(id, alike)

    def _pictures_of(self, id: str) -> tuple[str, ...]:
        return tuple(picture.sha256 for picture in self.candidate(id).pictures)

    def machine_findings(self, id: str, sha256: str) -> MachineFindings:
        """As `Looker.machine_findings`, with the remarks on where else the picture is."""
        found = super().machine_findings(id, sha256)
        elsewhere = tuple(remark.text for remark in self.alike_elsewhere(id) if remark.about == found.name)
        return replace(found, remarks=(*found.remarks, *elsewhere)) if elsewhere else found

    def _compared(self, id: str, mine: Mapping[str, str], shelf: AllPictures, tables: Tables) -> list[Remark]:
        assert self.eye is not None
        others = {sha256: [place for place in places if place[0] != id] for sha256, places in shelf.places.items()}
        files = {sha256: self.pictures.path(sha256) for sha256, places in others.items() if places}
        with self.store.reading() as unit:
            names = {row.id: row.name for row in unit.candidates()}
        remarks = []
        for name, sha256 in mine.items():
            alike = {**self.eye.elsewhere(sha256, self.pictures.path(sha256), files, tables)}
            alike |= {sha256: "file"} if sha256 in files else {}
            found = [
                Elsewhere(how, candidate, picture)
                for other, how in alike.items()
                for candidate, picture in others[other]
                if self._still_there(candidate, other)
            ]
            remarks += elsewhere_remarks(name, found, names)
        return remarks

    def _still_there(self, candidate: str, sha256: str) -> bool:
        """Whether the candidate has the picture still: it may have been taken back."""
        try:
            return any(picture.sha256 == sha256 for picture in self.candidate(candidate).pictures)
        except NotFound:
            return False

    def compare_ahead(self, most: int = 20) -> int:
        """Make up to `most` pictures of the shop ready to be compared; how many were not. For quiet moments."""
        if self.eye is None:
            return 0
        shelf, _ = self._all_pictures()
        return self.eye.prepare({sha256: self.pictures.path(sha256) for sha256 in shelf.places}, self.tables(), most)

    def _all_pictures(self) -> tuple[AllPictures, str]:
        """Every picture of the shop, and the hash of the newest entry about one."""
        with self.store.reading() as unit:
            newest = unit.latest("picture", 1)
        stamp = newest[0].hash if newest else ""

        def read() -> AllPictures:
            with self.store.reading() as unit:
                return _shelf_of(unit.latest("picture", EVERY))

        return self._shelf.get(stamp, read), stamp


def _shelf_of(entries: Sequence[Entry]) -> AllPictures:
    """Hash -> candidates with the name that the picture has there, by its newest entry."""
    places: dict[str, dict[str, str]] = {}
    for entry in reversed(entries):
        places.setdefault(str(entry.body["sha256"]), {})[entry.candidate] = str(entry.body["name"])
    return AllPictures({sha256: tuple(there.items()) for sha256, there in places.items()})
