"""The log as it began: header, records, dips, blocks, head."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables. The triggers come from env.py, as after every revision.

    ``op.f``: the name is final; without it the naming convention would be applied to it once more.
    """
    op.create_table("log_head",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_log_head_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_log_head"))
    )
    op.create_table("meta",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_meta"))
    )
    op.create_table("record",
        sa.Column("seq", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("uid", sa.Text(), nullable=False),
        sa.Column("station", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("t_ms", sa.BigInteger(), nullable=False),
        sa.Column("learned_ms", sa.BigInteger(), nullable=False),
        sa.Column("offset_min", sa.Integer(), nullable=False),
        sa.Column("author", sa.Text(), nullable=False),
        sa.Column("supersedes", sa.Text(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("payload", sa.JSON(), nullable=False),
        sa.Column("payload_version", sa.Integer(), nullable=False),
        sa.Column("prev_hash", sa.String(length=64), nullable=False),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.CheckConstraint("seq > 0", name=op.f("ck_record_seq")),
        sa.ForeignKeyConstraint(["supersedes"], ["record.uid"], name=op.f("fk_record_supersedes_record")),
        sa.PrimaryKeyConstraint("seq", name=op.f("pk_record")),
        sa.UniqueConstraint("supersedes", name=op.f("uq_record_supersedes")),
        sa.UniqueConstraint("uid", name=op.f("uq_record_uid"))
    )
    op.create_index("ix_record_kind", "record", ["kind"], unique=False)
    op.create_index("ix_record_t_ms", "record", ["t_ms"], unique=False)
    op.create_table("block",
        sa.Column("source_seq", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("channel", sa.Text(), nullable=False),
        sa.Column("t0", sa.BigInteger(), nullable=False),
        sa.Column("t1", sa.BigInteger(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("t", sa.LargeBinary(), nullable=False),
        sa.Column("v", sa.LargeBinary(), nullable=False),
        sa.Column("codec", sa.Text(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.CheckConstraint("n > 0 AND t1 >= t0", name=op.f("ck_block_extent")),
        sa.ForeignKeyConstraint(["source_seq"], ["record.seq"], name=op.f("fk_block_source_seq_record")),
        sa.PrimaryKeyConstraint("source_seq", "place", name=op.f("pk_block"))
    )
    op.create_index("ix_block_channel_t0", "block", ["channel", "t0"], unique=False)
    op.create_table("dip",
        sa.Column("record_seq", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("tank", sa.Text(), nullable=False),
        sa.Column("t_ms", sa.BigInteger(), nullable=False),
        sa.Column("t_half_ms", sa.BigInteger(), nullable=False),
        sa.Column("as_typed", sa.Text(), nullable=False),
        sa.Column("level_m", sa.Double(), nullable=True),
        sa.Column("volume_m3", sa.Double(), nullable=True),
        sa.Column("resolution_m", sa.Double(), nullable=True),
        sa.Column("flag", sa.Text(), nullable=False),
        sa.Column("unchanged", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["record_seq"], ["record.seq"], name=op.f("fk_dip_record_seq_record")),
        sa.PrimaryKeyConstraint("record_seq", "place", name=op.f("pk_dip"))
    )
