"""What the database promises: kept whole or not at all, in order, by several at once."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.operations import Operations
from alembic.runtime.migration import MigrationContext

from weldworth.core.errors import BadInput, Conflict
from weldworth.store import database
from weldworth.store.migrations.versions import m0001_start
from weldworth.store.schema import SCHEMA, metadata
from weldworth.store.sqlite import SqliteStore
from weldworth.workbench.ledger import Entry, seal, verify
from weldworth.workbench.ports import CandidateRow, Pass, Person, Store, Summary, TablesVersion, TermsVersion

AT = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
ID, OTHER = "a" * 32, "b" * 32
Make = Callable[[], Store]


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    made = SqliteStore(tmp_path / "weldworth.sqlite")
    yield made
    made.close()


def add(store: Store, id: str, *texts: str) -> list[Entry]:
    with store.writing() as unit:
        entries = unit.entries(id)
        for text in texts:
            entry = seal(id, "note", {"text": text}, "ann", AT, entries[-1] if entries else None)
            entries.append(entry)
            unit.put_candidate(CandidateRow(id, text, "pickup", revision=entry.seq, head=entry.hash))
            unit.append(entry)
    return entries


def test_entries_come_back_as_they_were_put_in_and_their_chain_holds(store: Store) -> None:
    put = add(store, ID, "é", "two", "“three”")
    with store.reading() as unit:
        assert unit.entries(ID) == put
        assert verify(unit.entries(ID)) == []
        assert unit.entries(OTHER) == []


def test_a_number_that_is_taken_is_a_conflict_and_nothing_of_that_turn_is_kept(store: Store) -> None:
    first = add(store, ID, "one")[0]
    with pytest.raises(Conflict), store.writing() as unit:
        unit.put_person(Person("p", "Ann", "owner"))
        unit.append(first)
    with store.reading() as unit:
        assert (len(unit.entries(ID)), unit.people()) == (1, [])


def test_what_raises_leaves_nothing_behind(store: Store) -> None:
    with pytest.raises(RuntimeError), store.writing() as unit:
        unit.put_candidate(CandidateRow(ID, "n", "pickup"))
        unit.append(seal(ID, "note", {}, "ann", AT, None))
        raise RuntimeError
    with store.reading() as unit:
        assert (unit.entries(ID), unit.candidates(), unit.last_change()) == ([], [], 0)


def test_changes_are_told_in_order_over_all_candidates_and_from_where_one_left_off(store: Store) -> None:
    add(store, ID, "a1")
    add(store, OTHER, "b1", "b2")
    add(store, ID, "a2")
    with store.reading() as unit:
        told = unit.changes(0, 100)
        assert [(change.candidate, change.seq) for change in told] == [(ID, 1), (OTHER, 1), (OTHER, 2), (ID, 2)]
        assert unit.changes(told[1].number, 1) == [told[2]]
        assert unit.changes(unit.last_change(), 100) == []
        assert [change.number for change in told] == sorted({change.number for change in told})


def test_two_who_write_at_once_take_turns_and_lose_nothing(store: Store) -> None:
    add(store, ID, "first")
    threads = [threading.Thread(target=lambda: [add(store, ID, "more") for _ in range(25)]) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with store.reading() as unit:
        entries = unit.entries(ID)
        assert len(entries) == 101
        assert verify(entries) == []
        assert unit.last_change() == 101


def test_a_reader_sees_one_state_while_another_writes(store: Store) -> None:
    add(store, ID, "one")
    with store.reading() as unit:
        before = unit.entries(ID)
        done = threading.Thread(target=add, args=(store, ID, "two"))
        done.start()
        done.join(20)
        assert before == unit.entries(ID)
    with store.reading() as unit:
        assert len(unit.entries(ID)) == 2


def test_people_passes_terms_and_tables_come_back_as_put_and_the_last_put_holds(store: Store) -> None:
    ann, given = Person("p1", "Ann", "owner", "hash", True, "2026"), Pass("h", "session", "p1", "owner", "desk", "2026")
    with store.writing() as unit:
        unit.put_person(replace(ann, name="An"))
        unit.put_person(ann)
        unit.put_pass(given)
        unit.put_pass(replace(given, hash="h2", kind="token"))
        unit.put_terms(TermsVersion(1, {"labour_rate": [50, 60, 90]}, "p1", "2026"))
        unit.put_table(TablesVersion(1, "deal.csv", "text", "p1", "2026"))
        unit.put_candidate(CandidateRow(ID, "n", "pickup", price_low=1.5, archived=True))
        unit.put_summary(Summary(ID, "k", "2026-11-25", {"ceiling": 5.0}))
    with store.reading() as unit:
        assert unit.people() == [ann]
        assert unit.passes("session") == [given] == unit.passes("session", "p1")
        assert unit.passes("session", "nobody") == []
        assert unit.find_pass("h") == given
        assert unit.find_pass("x") is None
        assert unit.terms()[0].terms == {"labour_rate": [50, 60, 90]}
        assert unit.tables()[0].text == "text"
        assert unit.candidate(ID) == CandidateRow(ID, "n", "pickup", price_low=1.5, archived=True)
        assert (unit.summaries()[ID].body, unit.summary_key(ID), unit.summary_key(OTHER)) == ({"ceiling": 5.0}, "k", None)
    with pytest.raises(Conflict), store.writing() as unit:
        unit.put_terms(TermsVersion(1, {}, "p1", "2026"))
    with pytest.raises(Conflict), store.writing() as unit:
        unit.put_table(TablesVersion(1, "deal.csv", None, "p1", "2026"))


def test_what_is_written_is_there_after_the_program_was_closed_and_two_programs_may_share_a_file(tmp_path: Path) -> None:
    file = tmp_path / "weldworth.sqlite"
    one, two = SqliteStore(file), SqliteStore(file)
    add(one, ID, "from one")
    add(two, ID, "from two")
    one.close()
    two.close()
    with SqliteStore(file).reading() as unit:
        assert [entry.body["text"] for entry in unit.entries(ID)] == ["from one", "from two"]


def test_the_database_keeps_its_references_and_its_log_ahead_of_the_file(tmp_path: Path) -> None:
    store = SqliteStore(tmp_path / "weldworth.sqlite")
    with store.engine.connect() as connection:
        assert connection.exec_driver_sql("pragma foreign_keys").scalar() == 1
        assert connection.exec_driver_sql("pragma journal_mode").scalar() == "wal"
    with pytest.raises((Conflict, sa.exc.IntegrityError)), store.writing() as unit:
        unit.append(seal(ID, "note", {}, "ann", AT, None))


def test_the_migrations_end_at_the_tables_of_this_program(tmp_path: Path) -> None:
    # alembic's own comparison of a migrated database with the tables in code is the second method.
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext
    from alembic.script import ScriptDirectory

    store = SqliteStore(tmp_path / "weldworth.sqlite")
    with store.engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []
        assert database.version_of(connection) == SCHEMA
    assert ScriptDirectory(str(database.MIGRATIONS)).get_current_head() == SCHEMA


def test_a_database_of_a_newer_weldworth_is_refused_and_not_touched(tmp_path: Path) -> None:
    file = tmp_path / "weldworth.sqlite"
    SqliteStore(file).close()
    with sqlite3.connect(file) as raw:
        raw.execute("update alembic_version set version_num = '9999'")
    raw.close()
    with pytest.raises(BadInput, match=r"newer weldworth \(tables 9999, here " + SCHEMA):
        SqliteStore(file)
    assert not (tmp_path / "backups").exists()


def test_a_copy_is_kept_before_a_database_is_changed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "weldworth.sqlite"
    store = SqliteStore(file)
    add(store, ID, "kept")
    store.close()
    monkeypatch.setattr(database, "SCHEMA", "9998")
    database.open_database(file).dispose()
    copies = list((tmp_path / "backups").iterdir())
    assert [copy.name for copy in copies] == [f"weldworth-before-9998-was-{SCHEMA}.sqlite"]
    with sqlite3.connect(copies[0]) as raw:
        assert raw.execute("select count(*) from entries").fetchone() == (1,)
    raw.close()


def test_a_database_from_before_links_is_brought_up_to_date_with_nothing_lost(tmp_path: Path) -> None:
    file = tmp_path / "weldworth.sqlite"
    engine = database.engine_for(file)
    with engine.begin() as connection, Operations.context(MigrationContext.configure(connection)):
        m0001_start.upgrade()
        connection.execute(sa.text("create table alembic_version (version_num varchar(32) not null)"))
        connection.execute(sa.text("insert into alembic_version values ('0001')"))
    engine.dispose()
    store = SqliteStore(file)
    add(store, ID, "after")
    with store.reading() as unit:
        assert (unit.links(), unit.receipts("seller:x")) == ([], [])
    with store.engine.connect() as connection:
        assert {*sa.inspect(connection).get_table_names()} == {*metadata.tables, "alembic_version"}
    store.close()


@pytest.mark.parametrize("content", [b"this is a letter, not a database" * 40, b"SQLite format 3\0" + b"\xff" * 600])
def test_a_file_that_is_no_database_is_refused_and_left_as_it_is(content: bytes, tmp_path: Path) -> None:
    file = tmp_path / "weldworth.sqlite"
    file.write_bytes(content)
    with pytest.raises(BadInput, match="cannot be used as the shop's database"):
        SqliteStore(file)
    assert file.read_bytes() == content


def test_a_database_of_another_program_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "weldworth.sqlite"
    with sqlite3.connect(file) as raw:
        raw.execute("create table songs(title)")
    raw.close()
    with pytest.raises(BadInput, match="songs"):
        SqliteStore(file)


def test_a_home_that_is_a_file_is_refused_in_words(tmp_path: Path) -> None:
    (tmp_path / "home").write_text("")
    with pytest.raises(BadInput, match="--home"):
        SqliteStore(tmp_path / "home" / "weldworth.sqlite")
