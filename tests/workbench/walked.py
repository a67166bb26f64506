"""A walk for the tests: a desk on a real store, an invented pickup, and things as a phone sends them."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from candidates import TABLES

from weldworth.picture.folder import PictureFolder
from weldworth.store.sqlite import SqliteStore
from weldworth.workbench.desk import Desk
from weldworth.workbench.walking import Thing, begin_walk

SENT = datetime(2026, 11, 25, 15, 28, tzinfo=UTC)


@dataclass(frozen=True)
class Stopped:
    """A clock that stands."""

    at: datetime = SENT

    def now(self) -> datetime:
        return self.at

    def today(self) -> date:
        return self.at.date()


def walk_of(place: Path) -> tuple[Desk, str, str, str]:
    """A desk, an invented pickup on it, a walk of fifteen minutes, and the owner who walks."""
    desk = Desk(SqliteStore(place / "weldworth.sqlite"), TABLES, Stopped(), PictureFolder(place / "pictures"))
    by = desk.people.owner("O. Wren").id
    id = desk.open_candidate("Ostrel 60", "pickup", by, model_year=1964)
    return desk, id, begin_walk(desk, id, "own-ground", 15, by), by


def thing(kind: str, **body: object) -> Thing:
    """One thing as a phone sends it, with an id of its own."""
    return Thing(uuid.uuid4().hex, kind, body, SENT)
