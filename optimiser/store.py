"""A cafe's tables kept durably, with history: `Store`.

Every state of the tables is a revision; one of them is the head. Revisions are never
changed or dropped: undo and redo move the head, a save after an undo starts a branch.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from itertools import islice, takewhile
from pathlib import Path

from sqlalchemy import Connection, select

from optimiser import store_rows as rows
from optimiser import store_schema as schema
from optimiser.document import Document, read_document
from optimiser.document_changes import Change, changes
from optimiser.places import Held
from optimiser.plan import Plan
from optimiser.store_backup import copy_store, write_backup
from optimiser.store_engine import Database
from optimiser.store_faults import Revision, StaleSave, StoreFault
from optimiser.store_rows import KeptPlan, Move
from optimiser.tables import Reading

__all__ = ["KeptPlan", "Move", "Revision", "StaleSave", "Store", "StoreFault", "head_of_backup"]


class Store:
    """A store in an SQLite file or another database. Every method may raise StoreFault."""

    def __init__(self, database: Database) -> None:
        self.name = database.name
        self._database = database

    @classmethod
    def open(cls, place: str | Path, create: bool = False) -> Store:
        """Open a store by path or SQLAlchemy URL; tables of an earlier version are brought up.

        `create`: make it if it is not there.
        """
        database = Database(place, create)
        try:
            with database.work() as connection:
                version = schema.version_of(connection, database.name)
            if version is None and not create:
                mend = "make it with `store FILE take FOLDER`"
                raise StoreFault(f"{database.name} holds no store; {mend}")
            if version != schema.VERSION:
                with database.work(writes=True) as connection:
                    # Asked again: another process may have been faster.
                    found = schema.version_of(connection, database.name)
                    if found != schema.VERSION:
                        schema.bring_up(connection, found)
        except BaseException:
            database.close()
            raise
        return cls(database)

    def close(self) -> None:
        """Let go of the database."""
        self._database.close()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # -- reading

    def head(self) -> Revision | None:
        """The revision that counts; None before the first."""
        with self._database.work() as connection:
            return rows.head_of(connection)

    def held(self) -> Held:
        """The head's cafe and number. Raises TableFaults if this program no longer reads it."""
        with self._database.work() as connection:
            head = rows.head_of(connection)
            if head is None:
                raise StoreFault(f"{self.name} holds no tables yet; `store FILE take FOLDER`")
            document = rows.document(connection, head.id)
        return Held(read_document(document), head.id)

    def read(self) -> Reading:
        """The head's cafe, rules and notes. Raises TableFaults as `held` does."""
        return self.held().reading

    def document(self, revision: int) -> Document:
        """The tables of a revision, found to be as they were saved."""
        with self._database.work() as connection:
            return rows.document(connection, revision)

    def history(self) -> list[Revision]:
        """All revisions, oldest first."""
        asked = select(*rows.ALL_BUT_DOCUMENT).order_by(schema.revisions.c.id)
        with self._database.work() as connection:
            return [rows.revision_of(row) for row in connection.execute(asked)]

    def moves(self) -> list[Move]:
        """All moves of the head, oldest first."""
        asked = select(schema.moves).order_by(schema.moves.c.id)
        with self._database.work() as connection:
            return [rows.move_of(row) for row in connection.execute(asked)]

    def plans(self) -> list[KeptPlan]:
        """All plans kept, oldest first."""
        asked = select(schema.plans).order_by(schema.plans.c.id)
        with self._database.work() as connection:
            return [rows.plan_of(row) for row in connection.execute(asked)]

    def latest_plans(self, week: date, most: int) -> list[KeptPlan]:
        """The plans of the week from that day that were kept last, newest first."""
        asked = select(schema.plans).order_by(schema.plans.c.id.desc())
        with self._database.work() as connection:
            kept = (rows.plan_of(row) for row in connection.execute(asked))
            return list(islice((one for one in kept if one.plan.week == week), most))

    def next_redo(self) -> Revision | None:
        """The revision that `redo` would go forward to; None if there is none."""
        with self._database.work() as connection:
            return rows.redo_step(connection)

    def difference(self, a: int, b: int) -> list[Change]:
        """What changed from revision `a` to revision `b`, cell by cell."""
        with self._database.work() as connection:
            old, new = (rows.document(connection, number) for number in (a, b))
        return changes(old, new)

    # -- writing

    def save(self, document: Document, who: str, message: str, parent: int | None) -> Revision:
        """Keep `document`, made from revision `parent` (None: from nothing), as the new head.

        Raises TableFaults if it has a fault, StaleSave if the head is not `parent`.
        """
        read_document(document)
        try:
            with self._database.work(writes=True) as connection:
                if parent is not None:
                    rows.revision(connection, parent)
                made = rows.add_revision(connection, document, who, message, parent)
                rows.move_head(connection, "save", parent, made, None, who)
                return rows.revision(connection, made)
        except rows.Moved:
            raise self._stale(parent) from None

    def undo(self, who: str) -> Revision:
        """Go back to the revision that the head was made from; the new head."""
        with self._stepping() as connection:
            head, redo = rows.head_of(connection), rows.redo_of(connection)
            if head is None or head.parent is None:
                why = "there is no revision" if head is None else f"revision {head.id} is the first"
                raise StoreFault(f"There is nothing to undo: {why}.")
            rows.move_head(connection, "undo", head.id, head.parent, redo or head.id, who)
            return rows.revision(connection, head.parent)

    def redo(self, who: str) -> Revision:
        """Go forward again by one of the revisions that were undone; the new head."""
        with self._stepping() as connection:
            head, last = rows.head_of(connection), rows.redo_of(connection)
            following = rows.redo_step(connection)
            if head is None or following is None:
                raise StoreFault("There is nothing to redo: the last step was no undo.")
            rest = None if following.id == last else last
            rows.move_head(connection, "redo", head.id, following.id, rest, who)
            return following

    def add_plan(self, plan: Plan, revision: int, who: str = "") -> int:
        """Keep a verified plan that was made from a revision; its number."""
        if not plan.verified:
            raise StoreFault("Only plans that the verifier passed are kept.")
        with self._database.work(writes=True) as connection:
            return rows.add_plan(connection, plan, revision, who)

    def backup(self, path: Path) -> None:
        """Write all of the store to a new SQLite file, itself a store. Never overwrites."""
        write_backup(self._database, path, check=_refuse_unsound)

    def restore(self, path: Path, who: str) -> Revision:
        """Keep the head of a backup as the new head of this store; the backup stays as it is.

        Raises TableFaults and StaleSave as `save` does.
        """
        present = self.head()
        kept, document = head_of_backup(path)
        message = f"Restored from {path.name}, {kept}"[: schema.MAX_MESSAGE]
        return self.save(document, who, message, None if present is None else present.id)

    @contextmanager
    def _stepping(self) -> Iterator[Connection]:
        """A transaction that moves the head by one step."""
        try:
            with self._database.work(writes=True) as connection:
                yield connection
        except rows.Moved:
            raise StoreFault(f"{self.name} was changed at the same moment; try again") from None

    def _stale(self, parent: int | None) -> StaleSave:
        """What has happened since `parent` was the head."""
        with self._database.work() as connection:
            head = rows.head_of(connection)
            before = {one.id for one in rows.line_of(connection, parent)}
            line = rows.line_of(connection, None if head is None else head.id)
            meanwhile = list(takewhile(lambda one: one.id not in before, line))
            if parent is None or head is None:
                return StaleSave(parent, head, meanwhile, ())
            old, new = (rows.document(connection, number) for number in (parent, head.id))
        return StaleSave(parent, head, meanwhile, changes(old, new))


def head_of_backup(path: Path) -> tuple[Revision, Document]:
    """The head of the store in a file, read from a copy so that the file stays as it is.

    Raises StoreFault.
    """
    database = Database(path, create=False)
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / path.name
        try:
            copy_store(database, copy)
        finally:
            database.close()
        with Store.open(copy) as backup:
            kept = backup.head()
            if kept is None:
                raise StoreFault(f"{path.name} holds no tables; restore another backup")
            return kept, backup.document(kept.id)


def _refuse_unsound(copy: Path) -> None:
    """Raise StoreFault if the head of a fresh backup is not as it was saved."""
    with Store.open(copy) as backup:
        head = backup.head()
        if head is not None:
            backup.document(head.id)
