"""The tables of the database. A change here goes with a migration in store/migrations/versions and a new SCHEMA."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, Float, ForeignKey, Index, Integer, MetaData, String, Table, Text, UniqueConstraint

SCHEMA = "0002"
"""Name of the migration that this program's tables are at."""

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)
ID, MOMENT, HASH = String(32), String(32), String(64)

candidates = Table(
    "candidates",
    metadata,
    Column("id", ID, primary_key=True),
    Column("name", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("stage", Text, nullable=False),
    Column("archived", Boolean, nullable=False),
    Column("model_year", Integer),
    Column("sale_kind", Text),
    Column("price_low", Float),
    Column("price_high", Float),
    Column("closes", Text),
    Column("revision", Integer, nullable=False),
    Column("head", HASH, nullable=False),
    Column("evidence", HASH, nullable=False),
    Column("opened_at", MOMENT, nullable=False),
    Column("changed_at", MOMENT, nullable=False),
    Column("changed_by", Text, nullable=False),
)
entries = Table(
    "entries",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=True),
    Column("candidate", ID, ForeignKey("candidates.id"), nullable=False),
    Column("seq", Integer, nullable=False),
    Column("kind", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", MOMENT, nullable=False),
    Column("hash", HASH, nullable=False),
    Column("before", HASH, nullable=False),
    UniqueConstraint("candidate", "seq"),
    sqlite_autoincrement=True,
)
weighings = Table(
    "weighings",
    metadata,
    Column("candidate", ID, ForeignKey("candidates.id"), primary_key=True),
    Column("key", Text, nullable=False),
    Column("weighed_on", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("wanted", Text, nullable=False),
)
people = Table(
    "people",
    metadata,
    Column("id", ID, primary_key=True),
    Column("name", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("password", Text),
    Column("active", Boolean, nullable=False),
    Column("created_at", MOMENT, nullable=False),
)
passes = Table(
    "passes",
    metadata,
    Column("hash", HASH, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("person", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("label", Text, nullable=False),
    Column("created_at", MOMENT, nullable=False),
    Column("expires_at", MOMENT),
    Column("ended_at", MOMENT),
    Column("seen_at", MOMENT),
    Index(None, "kind", "person"),
)
links = Table(
    "links",
    metadata,
    Column("id", ID, primary_key=True),
    Column("hash", HASH, nullable=False, unique=True),
    Column("candidate", ID, ForeignKey("candidates.id"), nullable=False),
    Column("asks", Text, nullable=False),
    Column("label", Text, nullable=False),
    Column("vehicle", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("created_at", MOMENT, nullable=False),
    Column("expires_at", MOMENT, nullable=False),
    Column("ended_at", MOMENT),
    Column("opened_at", MOMENT),
    Column("seen_at", MOMENT),
    Column("opened", Integer, nullable=False),
    Column("finished_at", MOMENT),
    Column("erased_at", MOMENT),
    Index(None, "candidate"),
)
receipts = Table(
    "receipts",
    metadata,
    Column("owner", Text, primary_key=True),
    Column("id", Text, primary_key=True),
    Column("candidate", ID, ForeignKey("candidates.id"), nullable=False),
    Column("kind", Text, nullable=False),
    Column("ask", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("at", MOMENT, nullable=False),
    Column("sha256", HASH),
    Column("length", Integer, nullable=False),
    Column("entry", Integer),
    Column("body", Text, nullable=False),
    Column("reply", Text, nullable=False),
)
terms = Table(
    "terms",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("terms", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", MOMENT, nullable=False),
    Column("note", Text, nullable=False),
)
shop_tables = Table(
    "shop_tables",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("name", Text, nullable=False),
    Column("text", Text),
    Column("by", Text, nullable=False),
    Column("at", MOMENT, nullable=False),
    Column("note", Text, nullable=False),
)
