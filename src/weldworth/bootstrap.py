"""The one place that picks the clock, the tables, the store and the picture folder for those who ask from outside."""

from __future__ import annotations

import os
from collections.abc import Mapping
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from weldworth.core.errors import BadInput, Problem
from weldworth.tables import Tables, load_tables

if TYPE_CHECKING:
    from weldworth.workbench.desk import Desk
    from weldworth.workbench.dossier import Dossier
    from weldworth.workbench.sights import Progress

TODAY = "WELDWORTH_TODAY"
HOME = "WELDWORTH_HOME"


def day(text: str | None = None, environment: Mapping[str, str] = os.environ) -> date:
    """The day to weigh on: as given, else from WELDWORTH_TODAY, else today. Raises BadInput for what is no day."""
    where, given = ("--today", text) if text is not None else (TODAY, environment.get(TODAY))
    if not given:
        return date.today()
    try:
        return date.fromisoformat(given)
    except ValueError:
        raise BadInput([Problem(where, f"{given!r} is not a day; give one such as 2026-11-25")]) from None


def home(given: Path | None = None, environment: Mapping[str, str] = os.environ) -> Path:
    """Where a shop's data is: as given, else WELDWORTH_HOME, else the folder weldworth in the user's own."""
    if given is not None:
        return given
    return Path(environment[HOME]) if environment.get(HOME) else Path.home() / "weldworth"


def shop_tables() -> Tables:
    """The tables to work with: those shipped."""
    return load_tables()


def looked_at(dossier: Dossier, tables: Tables, progress: Progress | None = None) -> Dossier:
    """The dossier with what the machine sees on its pictures, where it has any that were not looked at yet.

    progress : told pictures done and pictures in all.
    """
    if not dossier.files or dossier.seen:
        return dossier
    from weldworth.picture.eye import Eye
    from weldworth.workbench.sights import look_at

    return look_at(dossier, Eye(), tables, progress=progress)


DATABASE, PICTURES, TABLES = "weldworth.sqlite", "pictures", "tables"


class SystemClock:
    """The clock of this machine; the day may be set from outside (see `day`)."""

    def now(self) -> datetime:
        """The moment, in UTC."""
        return datetime.now(UTC)

    def today(self) -> date:
        """The day to weigh on."""
        return day()


def open_desk(home: Path) -> Desk:
    """The desk of the shop whose data lies in `home`; what is missing there is made.

    home holds weldworth.sqlite, pictures/ and tables/ (the shop's own tables as laid out for reading).
    Raises BadInput where the folder or the database in it cannot be used.
    """
    from weldworth.picture.eye import Eye
    from weldworth.picture.folder import PictureFolder
    from weldworth.store.folders import DossierFolders, TableShelf
    from weldworth.store.sqlite import SqliteStore
    from weldworth.workbench.desk import Desk

    store, pictures = SqliteStore(home / DATABASE), PictureFolder(home / PICTURES)
    shelf = TableShelf(home / TABLES)
    return Desk(store, shop_tables(), SystemClock(), pictures, shelf=shelf, folders=DossierFolders(), eye=Eye(pictures))
