"""The tables of the log. Nothing here knows which database holds them."""

from __future__ import annotations

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    Text,
)

FORMAT = "dipbook log 1"
"""First line of the header; anything else is not a log of ours."""

REVISIONS = ("0001",)
"""Every schema this version can read, oldest first. The same list as migrations/versions (a test
compares)."""

WATCH, DRILL = "watch", "drill"
ROLES = (WATCH, DRILL)
"""What a log is for; a drill's log is never opened as a watch's, nor the other way."""

metadata = MetaData(naming_convention={
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
})

meta = Table(
    "meta", metadata,
    Column("key", Text, primary_key=True, comment="format, role, uid, created_ms"),
    Column("value", Text, nullable=False, comment="as text; written once, when the log is made"),
    comment="The header of the log. The chain starts from its digest, so that a changed role shows.",
)

record = Table(
    "record", metadata,
    Column("seq", Integer, primary_key=True, autoincrement=False, comment="order of learning, no gaps"),
    Column("uid", Text, nullable=False, unique=True, comment="unique id, also across logs"),
    Column("station", Text, nullable=False, comment="which desk wrote it"),
    Column("kind", Text, nullable=False, index=True, comment="see dipbook.records"),
    Column("t_ms", BigInteger, nullable=False, index=True, comment="when it happened [UTC ms]"),
    Column("learned_ms", BigInteger, nullable=False, comment="the desk's clock when it was learned [UTC ms]"),
    Column("offset_min", Integer, nullable=False, comment="the rig's offset from UTC then [min]"),
    Column("author", Text, nullable=False, comment="who"),
    Column("supersedes", Text, ForeignKey("record.uid"), unique=True,
           comment="uid of the record this one replaces"),
    Column("reason", Text, nullable=False, comment="why, for a correction"),
    Column("payload", JSON, nullable=False, comment="what, SI, canonical JSON"),
    Column("payload_version", Integer, nullable=False, comment="version of the payload's meaning"),
    Column("prev_hash", String(64), nullable=False, comment="hash of record seq-1, or digest of the header"),
    Column("hash", String(64), nullable=False, comment="seal: see dipbook.store.chain"),
    CheckConstraint("seq > 0", name="seq"),
    comment="The log: appended, never altered.",
)

dip = Table(
    "dip", metadata,
    Column("record_seq", Integer, ForeignKey("record.seq"), nullable=False, comment="its round"),
    Column("place", Integer, nullable=False, comment="0, 1, 2: its place in the round"),
    Column("tank", Text, nullable=False, comment="the tank's name"),
    Column("t_ms", BigInteger, nullable=False, comment="when it was gauged [UTC ms]"),
    Column("t_half_ms", BigInteger, nullable=False, comment="half-width of the time's uncertainty [ms]"),
    Column("as_typed", Text, nullable=False, comment="what the person wrote"),
    Column("level_m", Double, comment="reading in the tank's own datum [m]"),
    Column("volume_m3", Double, comment="a volume given instead of a level [m3]"),
    Column("resolution_m", Double, comment="half-width of this dip's level error [m]; null: the tank's own"),
    Column("flag", Text, nullable=False, comment="empty, or a word of dipbook.tanks.gauging.FLAGS"),
    Column("unchanged", Boolean, nullable=False, comment="gauged and found the same"),
    PrimaryKeyConstraint("record_seq", "place"),
    comment="One gauging of one tank; a round is one record and its dips.",
)

block = Table(
    "block", metadata,
    Column("source_seq", Integer, ForeignKey("record.seq"), nullable=False, comment="its record"),
    Column("place", Integer, nullable=False, comment="0, 1, 2: its place in the record"),
    Column("channel", Text, nullable=False, comment="tank:NAME:level [m] or tank:NAME:volume [m3]"),
    Column("t0", BigInteger, nullable=False, comment="first sample [UTC ms]"),
    Column("t1", BigInteger, nullable=False, comment="last sample [UTC ms], within the same UTC hour"),
    Column("n", Integer, nullable=False, comment="number of samples"),
    Column("t", LargeBinary, nullable=False, comment="int64 little-endian steps from t0 [ms], see codec"),
    Column("v", LargeBinary, nullable=False, comment="float64 little-endian values, see codec"),
    Column("codec", Text, nullable=False, comment="how t and v are packed, see dipbook.store.blocks"),
    Column("sha256", String(64), nullable=False, comment="of channel, times and values, unpacked"),
    PrimaryKeyConstraint("source_seq", "place"),
    CheckConstraint("n > 0 AND t1 >= t0", name="extent"),
    Index(None, "channel", "t0"),
    comment="Samples of one channel, at most an hour; sealed, immutable.",
)

log_head = Table(
    "log_head", metadata,
    Column("id", Integer, primary_key=True, autoincrement=False, comment="always 1"),
    Column("seq", Integer, nullable=False, comment="the last number given; locking this row gives the next"),
    CheckConstraint("id = 1", name="one_row"),
    comment="The one row that changes.",
)

APPEND_ONLY = (record, dip, block, meta)
"""Tables that are only ever added to; the database itself refuses anything else."""

alembic_version = Table(
    "alembic_version", MetaData(),
    Column("version_num", String(32), nullable=False),
    PrimaryKeyConstraint("version_num", name="alembic_version_pkc"),
)
"""Alembic's own table, the one place of the schema's revision. Kept out of ``metadata``: alembic makes it
itself."""
