"""Opening the database: one file, several writers in turn, brought to the tables of this program before anything else.

Writers begin with BEGIN IMMEDIATE: with a plain BEGIN two writers that have both read first refuse each other at once.
"""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from weldworth.core.errors import BadInput, Problem
from weldworth.store.schema import SCHEMA

PRAGMAS = (
    "pragma journal_mode=wal",
    "pragma synchronous=normal",
    "pragma busy_timeout=10000",
    "pragma foreign_keys=on",
)
MIGRATIONS = Path(__file__).parent / "migrations"
_MIGRATING = threading.Lock()


def open_database(file: Path) -> sa.Engine:
    """The database in `file`, made or brought up to date where needed; a copy of it is kept before it is changed.

    Raises BadInput where the file is no database, cannot be written, or belongs to a newer weldworth.
    """
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        engine = engine_for(file)
        with engine.connect() as connection:
            found = version_of(connection)
        if found != SCHEMA:
            _migrate(engine, file, found)
        return engine
    except OSError as error:
        raise BadInput([Problem(str(file), f"cannot be used: {error.strerror}; give another folder with --home")]) from None
    except sa.exc.DBAPIError as error:
        text = f"cannot be used as the shop's database: {error.orig}; give another folder with --home, or restore a copy"
        raise BadInput([Problem(str(file), text)]) from None


def engine_for(file: Path) -> sa.Engine:
    """An engine whose writing transactions begin immediately and whose reading ones do not lock."""
    engine = sa.create_engine(sa.URL.create("sqlite", database=str(file)))

    @sa.event.listens_for(engine, "connect")
    def prepare(connection: Any, record: object) -> None:
        connection.isolation_level = None
        with closing(connection.cursor()) as cursor:
            for pragma in PRAGMAS:
                cursor.execute(pragma)

    @sa.event.listens_for(engine, "begin")
    def begin(connection: sa.Connection) -> None:
        reads = connection.get_execution_options().get("reads")
        connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")

    return engine


@contextmanager
def reading(engine: sa.Engine) -> Iterator[sa.Connection]:
    """A transaction that only reads, from one state of the database."""
    with engine.connect().execution_options(reads=True) as connection:
        yield connection


def version_of(connection: sa.Connection) -> str | None:
    """Name of the last migration that was run, None for an empty database. Raises BadInput where it is not ours."""
    tables = sa.inspect(connection).get_table_names()
    if "alembic_version" not in tables:
        if tables:
            text = f"holds other tables ({', '.join(tables[:3])}) and is not weldworth's; give another folder with --home"
            raise BadInput([Problem("weldworth.sqlite", text)])
        return None
    return str(connection.execute(sa.text("select version_num from alembic_version")).scalar())


def _migrate(engine: sa.Engine, file: Path, found: str | None) -> None:
    """Run the migrations that are missing, all in one transaction."""
    from alembic.migration import MigrationContext
    from alembic.operations import Operations
    from alembic.script import ScriptDirectory

    scripts = ScriptDirectory(str(MIGRATIONS))
    known = {script.revision for script in scripts.walk_revisions()}
    if found is not None and found not in known:
        text = f"was written by a newer weldworth (tables {found}, here {SCHEMA}); use that one, or another folder with --home"
        raise BadInput([Problem(str(file), text)])
    if found is not None:
        keep_copy(file, file.parent / "backups" / f"{file.stem}-before-{SCHEMA}-was-{found}{file.suffix}")
    with _MIGRATING, engine.begin() as connection:
        if version_of(connection) != SCHEMA:
            steps = {"fn": lambda revision, context: scripts._upgrade_revs("head", revision)}
            context = MigrationContext.configure(connection, opts=steps)
            with Operations.context(context):
                context.run_migrations()


def keep_copy(file: Path, target: Path) -> None:
    """A whole copy of the database as it is, written beside its place and renamed; also while it is in use."""
    target.parent.mkdir(parents=True, exist_ok=True)
    trial = target.with_name(f".{target.name}.part")
    with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(trial)) as copy:
        source.backup(copy)
    trial.replace(target)
