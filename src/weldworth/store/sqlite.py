"""The shop's database as the desk knows it: entries that are only added, and what is found quickly beside them."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from dataclasses import asdict
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar, cast

import sqlalchemy as sa

from weldworth.core.errors import Conflict
from weldworth.store.database import open_database, reading
from weldworth.store.schema import candidates, entries, links, passes, people, receipts, shop_tables, terms, weighings
from weldworth.workbench.ledger import Entry, canonical
from weldworth.workbench.ports import CandidateRow, Change, Link, Pass, Person, Receipt, Summary, TablesVersion, TermsVersion

Found = TypeVar("Found")


class SqlUnit:
    """One transaction on the database, begun by `connect` when something is first asked of it."""

    def __init__(self, connect: Callable[[], sa.Connection]) -> None:
        self._connect = connect

    @cached_property
    def _connection(self) -> sa.Connection:
        return self._connect()

    def _rows(self, query: sa.Select[Any]) -> list[dict[str, Any]]:
        return [dict(row) for row in self._connection.execute(query).mappings()]

    def _put(self, table: sa.Table, key: str, values: Mapping[str, object]) -> None:
        """Write over the row with this key, or add it."""
        change = table.update().where(table.c[key] == values[key]).values(**values)
        if self._connection.execute(change).rowcount == 0:
            self._connection.execute(table.insert().values(**values))

    def _add(self, table: sa.Table, values: Mapping[str, object], clash: str) -> None:
        try:
            self._connection.execute(table.insert().values(**values))
        except sa.exc.IntegrityError:
            raise Conflict(clash) from None

    def entries(self, candidate: str) -> list[Entry]:
        rows = self._rows(sa.select(entries).where(entries.c.candidate == candidate).order_by(entries.c.seq))
        return [_entry(row) for row in rows]

    def latest(self, kind: str, most: int) -> list[Entry]:
        """The last entries of a kind over all candidates, newest first."""
        query = sa.select(entries).where(entries.c.kind == kind).order_by(entries.c.number.desc()).limit(most)
        return [_entry(row) for row in self._rows(query)]

    def append(self, entry: Entry) -> None:
        values = {
            "candidate": entry.candidate,
            "seq": entry.seq,
            "kind": entry.kind,
            "body": canonical(entry.body),
            "by": entry.by,
            "at": entry.at.isoformat(timespec="microseconds"),
            "hash": entry.hash,
            "before": entry.before,
        }
        self._add(entries, values, f"entry {entry.seq} is there already; read the candidate again")

    def candidate(self, id: str) -> CandidateRow | None:
        found = self._rows(sa.select(candidates).where(candidates.c.id == id))
        return CandidateRow(**found[0]) if found else None

    def candidates(self) -> list[CandidateRow]:
        return [CandidateRow(**row) for row in self._rows(sa.select(candidates).order_by(candidates.c.opened_at))]

    def put_candidate(self, row: CandidateRow) -> None:
        self._put(candidates, "id", asdict(row))

    def summaries(self) -> dict[str, Summary]:
        rows = self._rows(sa.select(weighings))
        return {row["candidate"]: Summary(**{**row, "body": json.loads(row["body"])}) for row in rows}

    def summary_key(self, candidate: str) -> str | None:
        return self._connection.execute(sa.select(weighings.c.key).where(weighings.c.candidate == candidate)).scalar()

    def put_summary(self, summary: Summary) -> None:
        self._put(weighings, "candidate", {**asdict(summary), "body": canonical(summary.body)})

    def changes(self, since: int, most: int) -> list[Change]:
        columns = [entries.c[name] for name in ("number", "candidate", "seq", "kind", "by", "at")]
        query = sa.select(*columns).where(entries.c.number > since).order_by(entries.c.number).limit(most)
        return [Change(**row) for row in self._rows(query)]

    def last_change(self) -> int:
        return self._connection.execute(sa.select(sa.func.max(entries.c.number))).scalar() or 0

    def people(self) -> list[Person]:
        return [Person(**row) for row in self._rows(sa.select(people).order_by(people.c.created_at, people.c.id))]

    def put_person(self, person: Person) -> None:
        self._put(people, "id", asdict(person))

    def passes(self, kind: str | None = None, person: str | None = None) -> list[Pass]:
        query = sa.select(passes).order_by(passes.c.created_at)
        for column, wanted in ((passes.c.kind, kind), (passes.c.person, person)):
            query = query if wanted is None else query.where(column == wanted)
        return [Pass(**row) for row in self._rows(query)]

    def find_pass(self, hash: str) -> Pass | None:
        found = self._rows(sa.select(passes).where(passes.c.hash == hash))
        return Pass(**found[0]) if found else None

    def put_pass(self, given: Pass) -> None:
        self._put(passes, "hash", asdict(given))

    def links(self, candidate: str | None = None) -> list[Link]:
        query = sa.select(links).order_by(links.c.created_at)
        query = query if candidate is None else query.where(links.c.candidate == candidate)
        return [_link(row) for row in self._rows(query)]

    def find_link(self, hash: str) -> Link | None:
        found = self._rows(sa.select(links).where(links.c.hash == hash))
        return _link(found[0]) if found else None

    def put_link(self, link: Link) -> None:
        self._put(links, "id", {**asdict(link), "asks": canonical(list(link.asks))})

    def receipts(self, owner: str) -> list[Receipt]:
        rows = self._rows(sa.select(receipts).where(receipts.c.owner == owner).order_by(receipts.c.at))
        return [_receipt(row) for row in rows]

    def receipt(self, owner: str, id: str) -> Receipt | None:
        found = self._rows(sa.select(receipts).where(receipts.c.owner == owner, receipts.c.id == id))
        return _receipt(found[0]) if found else None

    def put_receipt(self, receipt: Receipt) -> None:
        values = {**asdict(receipt), "body": canonical(receipt.body), "reply": canonical(receipt.reply)}
        self._connection.execute(receipts.delete().where(receipts.c.owner == receipt.owner, receipts.c.id == receipt.id))
        self._connection.execute(receipts.insert().values(**values))

    def terms(self) -> list[TermsVersion]:
        rows = self._rows(sa.select(terms).order_by(terms.c.number))
        return [TermsVersion(**{**row, "terms": json.loads(row["terms"])}) for row in rows]

    def put_terms(self, version: TermsVersion) -> None:
        values = {**asdict(version), "terms": canonical(version.terms)}
        self._add(terms, values, f"version {version.number} of the terms is there already; read them again")

    def tables(self) -> list[TablesVersion]:
        return [TablesVersion(**row) for row in self._rows(sa.select(shop_tables).order_by(shop_tables.c.number))]

    def put_table(self, version: TablesVersion) -> None:
        clash = f"version {version.number} of the tables is there already; read them again"
        self._add(shop_tables, asdict(version), clash)


class KnowingUnit(SqlUnit):
    """A transaction that reads, and does not read anew what is in `known` already."""

    def __init__(self, connect: Callable[[], sa.Connection], known: dict[object, object]) -> None:
        super().__init__(connect)
        self._known = known

    def _once(self, what: object, read: Callable[[], list[Found]]) -> list[Found]:
        if what not in self._known:
            self._known[what] = read()
        return [*cast("list[Found]", self._known[what])]

    def entries(self, candidate: str) -> list[Entry]:
        return self._once(("entries", candidate), lambda: super(KnowingUnit, self).entries(candidate))

    def people(self) -> list[Person]:
        return self._once("people", super().people)

    def terms(self) -> list[TermsVersion]:
        return self._once("terms", super().terms)

    def tables(self) -> list[TablesVersion]:
        return self._once("tables", super().tables)


def _entry(row: Mapping[str, Any]) -> Entry:
    return Entry(
        candidate=row["candidate"],
        seq=row["seq"],
        kind=row["kind"],
        body=json.loads(row["body"]),
        by=row["by"],
        at=datetime.fromisoformat(row["at"]),
        hash=row["hash"],
        before=row["before"],
    )


def _link(row: Mapping[str, Any]) -> Link:
    return Link(**{**row, "asks": tuple(json.loads(row["asks"]))})


def _receipt(row: Mapping[str, Any]) -> Receipt:
    return Receipt(**{**row, "body": json.loads(row["body"]), "reply": json.loads(row["reply"])})


class SqliteStore:
    """The database in one file. Several threads and several programs may use it at once; writers take turns."""

    def __init__(self, file: Path) -> None:
        self.file, self.engine = file, open_database(file)
        self._here = threading.local()

    @contextmanager
    def reading(self) -> Iterator[SqlUnit]:
        known = getattr(self._here, "known", None)
        with ExitStack() as opened:

            def connect() -> sa.Connection:
                return opened.enter_context(reading(self.engine))

            yield SqlUnit(connect) if known is None else KnowingUnit(connect, known)

    @contextmanager
    def reading_once(self) -> Iterator[None]:
        """Within, this thread reads a candidate's entries, the people, terms and tables once: for making a page, which records
        nothing. No transaction is held meanwhile, so that nobody waits for one."""
        outer = getattr(self._here, "known", None)
        self._here.known = {} if outer is None else outer
        try:
            yield
        finally:
            self._here.known = outer

    @contextmanager
    def writing(self) -> Iterator[SqlUnit]:
        with self.engine.begin() as connection:
            yield SqlUnit(lambda: connection)

    def close(self) -> None:
        """Let go of the file."""
        self.engine.dispose()
