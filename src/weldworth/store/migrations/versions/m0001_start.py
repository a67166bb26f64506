"""Candidates with their entries and weighings, people with what lets them in, the shop's terms and tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    op.create_table(
        "candidates",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("stage", sa.Text(), nullable=False),
        sa.Column("archived", sa.Boolean(), nullable=False),
        sa.Column("model_year", sa.Integer(), nullable=True),
        sa.Column("sale_kind", sa.Text(), nullable=True),
        sa.Column("price_low", sa.Float(), nullable=True),
        sa.Column("price_high", sa.Float(), nullable=True),
        sa.Column("closes", sa.Text(), nullable=True),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("head", sa.String(length=64), nullable=False),
        sa.Column("evidence", sa.String(length=64), nullable=False),
        sa.Column("opened_at", sa.String(length=32), nullable=False),
        sa.Column("changed_at", sa.String(length=32), nullable=False),
        sa.Column("changed_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_candidates")),
    )
    op.create_table(
        "passes",
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("expires_at", sa.String(length=32), nullable=True),
        sa.Column("ended_at", sa.String(length=32), nullable=True),
        sa.Column("seen_at", sa.String(length=32), nullable=True),
        sa.PrimaryKeyConstraint("hash", name=op.f("pk_passes")),
    )
    op.create_index(op.f("ix_passes_kind_person"), "passes", ["kind", "person"], unique=False)
    op.create_table(
        "people",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("password", sa.Text(), nullable=True),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_people")),
    )
    op.create_table(
        "shop_tables",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=True),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.String(length=32), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_shop_tables")),
    )
    op.create_table(
        "terms",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("terms", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.String(length=32), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_terms")),
    )
    op.create_table(
        "entries",
        sa.Column("number", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("candidate", sa.String(length=32), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.String(length=32), nullable=False),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.Column("before", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["candidate"], ["candidates.id"], name=op.f("fk_entries_candidate")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_entries")),
        sa.UniqueConstraint("candidate", "seq", name=op.f("uq_entries_candidate_seq")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "weighings",
        sa.Column("candidate", sa.String(length=32), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("weighed_on", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("wanted", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["candidate"], ["candidates.id"], name=op.f("fk_weighings_candidate")),
        sa.PrimaryKeyConstraint("candidate", name=op.f("pk_weighings")),
    )
