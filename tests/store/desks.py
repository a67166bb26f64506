"""Desks for the tests: a clock that is set by hand, invented people."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from weldworth.picture.eye import Eye
from weldworth.picture.folder import PictureFolder
from weldworth.store.folders import DossierFolders, TableShelf
from weldworth.tables import load_tables
from weldworth.workbench.desk import Desk
from weldworth.workbench.ports import Store

TABLES = load_tables()
DEMO = Path(__file__).resolve().parents[2] / "src/weldworth/demo"


class HandClock:
    """A clock that stands until it is set; each look moves it on by a second."""

    def __init__(self, start: datetime = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)) -> None:
        self.moment = start

    def now(self) -> datetime:
        self.moment += timedelta(seconds=1)
        return self.moment

    def today(self) -> date:
        return self.moment.date()


def desk_on(store: Store, folder: Path) -> Desk:
    """A desk over this store, its pictures and tables below `folder`."""
    shelf, pictures = TableShelf(folder / "tables"), PictureFolder(folder / "pictures")
    return Desk(store, TABLES, HandClock(), pictures, shelf=shelf, folders=DossierFolders(), eye=Eye(pictures))
