"""Links given to sellers, and receipts for what phones sent."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    op.create_table(
        "links",
        sa.Column("id", sa.String(length=32), nullable=False),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.Column("candidate", sa.String(length=32), nullable=False),
        sa.Column("asks", sa.Text(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("vehicle", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("created_at", sa.String(length=32), nullable=False),
        sa.Column("expires_at", sa.String(length=32), nullable=False),
        sa.Column("ended_at", sa.String(length=32), nullable=True),
        sa.Column("opened_at", sa.String(length=32), nullable=True),
        sa.Column("seen_at", sa.String(length=32), nullable=True),
        sa.Column("opened", sa.Integer(), nullable=False),
        sa.Column("finished_at", sa.String(length=32), nullable=True),
        sa.Column("erased_at", sa.String(length=32), nullable=True),
        sa.ForeignKeyConstraint(["candidate"], ["candidates.id"], name=op.f("fk_links_candidate")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_links")),
        sa.UniqueConstraint("hash", name=op.f("uq_links_hash")),
    )
    op.create_index(op.f("ix_links_candidate"), "links", ["candidate"], unique=False)
    op.create_table(
        "receipts",
        sa.Column("owner", sa.Text(), nullable=False),
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("candidate", sa.String(length=32), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("ask", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("at", sa.String(length=32), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=True),
        sa.Column("length", sa.Integer(), nullable=False),
        sa.Column("entry", sa.Integer(), nullable=True),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("reply", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["candidate"], ["candidates.id"], name=op.f("fk_receipts_candidate")),
        sa.PrimaryKeyConstraint("owner", "id", name=op.f("pk_receipts")),
    )
