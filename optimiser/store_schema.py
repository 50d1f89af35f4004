"""The tables of a store, and how a store made by an earlier version is brought up.

revisions  one valid document each; rows are only ever added
head       one row: the revision that counts, and the one that redo leads to
moves      who moved the head, when and how; rows are only ever added
plans      verified plans, each with the revision it was made from; rows are only ever added

Times are ISO 8601 texts in UTC, documents and plans are JSON texts: every database keeps
those alike.
"""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy import (
    CheckConstraint,
    Column,
    Connection,
    ForeignKey,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    insert,
    inspect,
    select,
    text,
    update,
)
from sqlalchemy.dialects.mysql import LONGTEXT

from optimiser.store_faults import StoreFault

VERSION = 2
MAX_WHO = 200
MAX_MESSAGE = 2000

_LONG = Text().with_variant(LONGTEXT(), "mysql", "mariadb")
"""Text without a limit that a cafe could reach."""

metadata = MetaData()

schema_version = Table("schema_version", metadata, Column("version", Integer, nullable=False))

revisions = Table(
    "revisions",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("parent_id", Integer, ForeignKey("revisions.id")),
    Column("who", String(MAX_WHO), nullable=False),
    Column("made_at", String(32), nullable=False),
    Column("message", Text, nullable=False),
    Column("document", _LONG, nullable=False),
    Column("sha256", String(64), nullable=False),
)

head = Table(
    "head",
    metadata,
    Column("id", Integer, CheckConstraint("id = 1"), primary_key=True, autoincrement=False),
    Column("revision_id", Integer, ForeignKey("revisions.id")),
    Column("redo_id", Integer, ForeignKey("revisions.id")),
)

plans = Table(
    "plans",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("revision_id", Integer, ForeignKey("revisions.id"), nullable=False),
    Column("made_at", String(32), nullable=False),
    Column("plan", _LONG, nullable=False),
    Column("who", String(MAX_WHO), nullable=False, server_default=""),
)

moves = Table(
    "moves",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("kind", String(16), nullable=False),
    Column("from_id", Integer, ForeignKey("revisions.id")),
    Column("to_id", Integer, ForeignKey("revisions.id"), nullable=False),
    Column("who", String(MAX_WHO), nullable=False),
    Column("made_at", String(32), nullable=False),
)


def version_of(connection: Connection, name: str) -> int | None:
    """The version of the tables that are there; None without tables. Raises StoreFault if
    they are somebody else's or of a later version."""
    there = set(inspect(connection).get_table_names())
    if not there:
        return None
    if not _tables_of(1) <= there:
        raise StoreFault(f"{name} holds tables of something else; give a store of this program")
    found = connection.execute(select(schema_version.c.version)).scalars().all()
    if len(found) != 1 or not isinstance(found[0], int) or found[0] < 1:
        raise StoreFault(f"{name} does not say which version it is; restore a backup of it")
    if found[0] > VERSION:
        raise StoreFault(
            f"{name} was written by a later version of this program (tables of version "
            f"{found[0]}, this one knows {VERSION}); update the program"
        )
    return found[0]


def bring_up(connection: Connection, found: int | None) -> None:
    """Create the tables, or change those of version `found` step by step; within the
    caller's transaction. (MySQL and MariaDB end a transaction at each change of a table.)
    """
    if found is None:
        metadata.create_all(connection)
        connection.execute(insert(schema_version).values(version=VERSION))
        connection.execute(insert(head).values(id=1))
        return
    for version in range(found, VERSION):
        MIGRATIONS[version](connection)
        connection.execute(update(schema_version).values(version=version + 1))


def _tables_of(version: int) -> set[str]:
    """Names of the tables that a version has."""
    later = {moves.name} if version < 2 else set()
    return set(metadata.tables) - later


def _from_1(connection: Connection) -> None:
    """Version 2 says who made a plan and keeps the moves of the head; unknown before."""
    connection.execute(
        text(f"ALTER TABLE plans ADD COLUMN who VARCHAR({MAX_WHO}) DEFAULT '' NOT NULL")
    )
    moves.create(connection)


MIGRATIONS: dict[int, Callable[[Connection], None]] = {1: _from_1}
"""From each version to the next."""
