"""A store copied into a new SQLite file, while others may be at work in it."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from sqlalchemy import Connection, delete, insert, select

from optimiser import store_schema as schema
from optimiser.folder_out import move_to_new
from optimiser.store_engine import Database
from optimiser.store_faults import StoreFault

_PARTS = (schema.head, schema.moves, schema.plans, schema.revisions)
"""In this order, rows added while we read cannot be referred to by rows read before."""


def write_backup(database: Database, path: Path, check: Callable[[Path], object]) -> None:
    """Copy a store to `path`, which must not exist. `check` looks at the copy first.

    Raises StoreFault."""
    if path.exists() or path.is_symlink():
        raise StoreFault(f"{path.name} is there already; name a file that is not")
    try:
        with tempfile.TemporaryDirectory(prefix=".backup-", dir=path.absolute().parent) as folder:
            copy = Path(folder) / path.name
            copy_store(database, copy)
            check(copy)
            move_to_new(copy, path)
    except FileExistsError as error:
        raise StoreFault(f"{path.name} is there already; name a file that is not") from error
    except OSError as error:
        raise StoreFault(f"{path.name} cannot be written: {error.strerror or error}") from error


def copy_store(database: Database, copy: Path) -> None:
    """Copy a store into the new file `copy`. Raises StoreFault."""
    if database.path is None:
        _copy_rows(database, copy)
        return
    with database.work() as connection, closing(sqlite3.connect(copy)) as target:
        source = connection.connection.driver_connection
        assert isinstance(source, sqlite3.Connection)
        try:
            source.backup(target)
        except sqlite3.Error as error:
            raise StoreFault(f"{database.name} cannot be copied: {error}") from error


def _copy_rows(database: Database, copy: Path) -> None:
    """All rows of another database into a new SQLite file of the present version."""
    target = Database(copy, create=True)
    try:
        with database.work() as source, target.work(writes=True) as connection:
            schema.bring_up(connection, None)
            rows = {table: source.execute(select(table)).mappings() for table in _PARTS[:-1]}
            kept = {table: [dict(row) for row in found] for table, found in rows.items()}
            _copy_revisions(source, connection)
            connection.execute(delete(schema.head))
            for table, found in kept.items():
                if found:
                    connection.execute(insert(table), found)
    finally:
        target.close()


def _copy_revisions(source: Connection, target: Connection) -> None:
    """One by one: there may be many, each as large as all the tables."""
    asked = select(schema.revisions.c.id).order_by(schema.revisions.c.id)
    for number in source.execute(asked).scalars().all():
        one = select(schema.revisions).where(schema.revisions.c.id == number)
        target.execute(insert(schema.revisions).values(**source.execute(one).mappings().one()))
