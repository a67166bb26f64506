"""The shop's own terms and tables: every change is a new version, none is ever lost."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from functools import partial
from pathlib import Path

from weldworth.ceiling.columns import heading_words
from weldworth.core.errors import BadInput, Conflict, NotFound, Problem
from weldworth.core.words import unknown
from weldworth.tables.load import SHIPPED, Tables
from weldworth.vehicle.plans import load_plan
from weldworth.vehicle.vehicle import Vehicle
from weldworth.workbench.advert import advert_rules
from weldworth.workbench.checks import by_field
from weldworth.workbench.deal import SHOP_KEYS, shop_terms
from weldworth.workbench.dossier import Dossier, ResaleView
from weldworth.workbench.ledger import Json
from weldworth.workbench.phone import phone_limits
from weldworth.workbench.ports import Clock, Store, TableShelf, TablesVersion, TermsVersion
from weldworth.workbench.summary import attention_terms
from weldworth.workbench.table_changes import check_cells
from weldworth.workbench.weigh import weigh

LARGEST_TABLE = 2_000_000


class Shop:
    """Terms and tables of one shop, with their versions."""

    def __init__(self, store: Store, base: Tables, clock: Clock, shelf: TableShelf | None) -> None:
        self.store, self.base, self.clock, self.shelf = store, base, clock, shelf
        self._laid: tuple[int, Tables] = (0, base)
        self._lock = threading.Lock()

    def terms(self) -> TermsVersion:
        """The terms that hold now: number 0 and none of the shop's own where nothing was changed yet."""
        with self.store.reading() as unit:
            versions = unit.terms()
        return versions[-1] if versions else TermsVersion(0, {}, "", "")

    def terms_at(self, number: int) -> TermsVersion:
        """The terms of that number; raises NotFound."""
        found = next((version for version in self.terms_versions() if version.number == number), None)
        if found is None and number != 0:
            raise NotFound(f"there is no version {number} of the shop's terms")
        return found or TermsVersion(0, {}, "", "")

    def terms_versions(self) -> list[TermsVersion]:
        """Every version, oldest first."""
        with self.store.reading() as unit:
            return unit.terms()

    def change_terms(self, terms: Json, by: str, *, note: str = "", version: int | None = None) -> TermsVersion:
        """New terms: all keys of [shop] that differ from the tables. version : the one the page was made from.

        Raises BadInput with the field of each problem, Conflict where another version came in between.
        """
        kept = {key: value for key, value in terms.items() if value not in (None, "", [])}
        self.check_terms(kept)
        with self.store.writing() as unit:
            versions = unit.terms()
            last = versions[-1].number if versions else 0
            _same(version, last, "the shop's terms")
            new = TermsVersion(last + 1, kept, by, self._stamp(), note)
            unit.put_terms(new)
        return new

    def check_terms(self, terms: Json) -> None:
        """Raise BadInput for terms that cannot be used, each problem's `where` the key."""
        try:
            shop_terms(terms, self.tables())
        except BadInput as error:
            raise BadInput(by_field(error.problems, SHOP_KEYS)) from None

    def tables(self) -> Tables:
        """The tables that hold now."""
        return self.tables_at(self.table_number())

    def table_number(self) -> int:
        """Number of the last change of a table, 0 for none."""
        with self.store.reading() as unit:
            versions = unit.tables()
        return versions[-1].number if versions else 0

    def tables_at(self, number: int) -> Tables:
        """The tables as they were after the change `number`; 0 for the shipped ones."""
        with self._lock:
            if self._laid[0] == number:
                return self._laid[1]
            with self.store.reading() as unit:
                files = files_of(unit.tables(), number)
            laid = self._lay(files) if files else self.base
            self._laid = (number, laid)
            return laid

    def versions_of_tables(self) -> list[TablesVersion]:
        """Every change of a table, oldest first."""
        with self.store.reading() as unit:
            return unit.tables()

    def table_names(self) -> list[str]:
        """Every table that there is: CSV and TOML, plans included."""
        return sorted(str(p.relative_to(SHIPPED).as_posix()) for kind in ("**/*.csv", "**/*.toml") for p in SHIPPED.glob(kind))

    def table_text(self, name: str) -> str:
        """The text of a table as it holds now; raises NotFound."""
        self._known(name)
        return self.tables().path(name).read_text(encoding="utf-8")

    def shipped_text(self, name: str) -> str:
        """The text of a table as it is shipped; raises NotFound."""
        self._known(name)
        return self.base.path(name).read_text(encoding="utf-8")

    def own_tables(self) -> frozenset[str]:
        """Names of the tables that are the shop's own now."""
        return frozenset(files_of(self.versions_of_tables(), None))

    def change_table(self, name: str, text: str | None, by: str, *, note: str = "", version: int | None = None) -> TablesVersion:
        """A new version of one table; None, or the very text, goes back to the shipped one. It is tried out before it is kept.

        version : number of the last change that the page knows of. Raises BadInput with file and line of every problem, Conflict
        where another change came in between.
        """
        shipped = self.shipped_text(name)
        text = None if text == shipped else text
        if text is not None and len(text) > LARGEST_TABLE:
            raise BadInput([Problem(name, f"is {len(text):,} characters long; {LARGEST_TABLE:,} are the most")])
        with self.store.reading() as unit:
            before = unit.tables()
        files = files_of(before, None)
        if files.pop(name, None) == text:
            raise BadInput([Problem("", f"nothing is changed in {name}")])
        problems = check_cells(name, text, shipped) if text is not None and name.endswith(".csv") else []
        if problems:
            raise BadInput(problems)
        bodies = [Path(name).stem] if name.startswith("plans/") else self.base.plan_names()[:1]
        try_tables(self._lay(files if text is None else {**files, name: text}), bodies, self.clock.today())
        with self.store.writing() as unit:
            versions = unit.tables()
            last = versions[-1].number if versions else 0
            _same(version if version is not None else (before[-1].number if before else 0), last, "the tables")
            new = TablesVersion(last + 1, name, text, by, self._stamp(), note)
            unit.put_table(new)
        return new

    def _known(self, name: str) -> None:
        if name not in self.table_names():
            raise NotFound(unknown("table", name, self.table_names()))

    def _lay(self, files: Mapping[str, str]) -> Tables:
        if self.shelf is None:
            raise BadInput([Problem("tables", "this desk keeps no tables of its own; start it with a home folder")])
        return self.shelf.lay(files)

    def _stamp(self) -> str:
        return self.clock.now().isoformat(timespec="microseconds")


def files_of(versions: list[TablesVersion], number: int | None) -> dict[str, str]:
    """The shop's own tables after the change `number`, or after all of them."""
    files: dict[str, str] = {}
    for version in versions:
        if number is not None and version.number > number:
            break
        if version.text is None:
            files.pop(version.name, None)
        else:
            files[version.name] = version.text
    return files


def try_tables(tables: Tables, bodies: Iterable[str], today: date) -> None:
    """Read every plan, and weigh a bare vehicle of each of `bodies`; raises BadInput with every problem found."""
    problems: list[Problem] = []
    tries: list[Callable[[], object]] = [
        partial(read, tables) for read in (attention_terms, advert_rules, heading_words, phone_limits)
    ]
    tries += [partial(load_plan, body, tables) for body in tables.plan_names()]
    for body in bodies:
        bare = Dossier("", Vehicle("bare", body), resale=ResaleView(1000.0, 2000.0, 3000.0))
        tries.append(partial(_weighed_whole, bare, tables, today))
    for read in tries:
        try:
            read()
        except BadInput as error:
            problems.extend(error.problems)
    if problems:
        raise BadInput(list(dict.fromkeys(problems)))


def _weighed_whole(bare: Dossier, tables: Tables, today: date) -> object:
    """Weigh it and judge its asks too, so that every table is used."""
    return weigh(bare, tables, today=today, asks=0).ranking


def _same(version: int | None, last: int, what: str) -> None:
    if version is not None and version != last:
        raise Conflict(f"{what} were changed since this page was made (version {last} now, {version} then); read them again")
