"""The rows of a store, read and written within a transaction of the caller's."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, Table, insert, select, update

from optimiser import store_schema as schema
from optimiser.document import Document, checksum
from optimiser.plan import SCHEMA, Plan
from optimiser.store_faults import Revision, StoreFault
from optimiser.table_cells import CONTROL


class Moved(Exception):
    """The head is not where it should be; undoes the transaction it is raised in."""


@dataclass(frozen=True)
class Move:
    """How the head came from one revision to another: save, undo or redo."""

    kind: str
    before: int | None
    after: int
    who: str
    when: datetime


@dataclass(frozen=True)
class KeptPlan:
    """A verified plan and the revision it was made from. `who` is blank if unknown."""

    id: int
    revision: int
    who: str
    when: datetime
    plan: Plan


ALL_BUT_DOCUMENT = [column for column in schema.revisions.c if column.name != "document"]


def head_of(connection: Connection) -> Revision | None:
    """The head; None before the first revision."""
    found = connection.execute(select(schema.head.c.revision_id)).scalar_one_or_none()
    return None if found is None else revision(connection, found)


def redo_of(connection: Connection) -> int | None:
    """The revision that redo leads to, perhaps in several steps."""
    return connection.execute(select(schema.head.c.redo_id)).scalar_one_or_none()


def redo_step(connection: Connection) -> Revision | None:
    """The undone revision that was made from the head."""
    head = head_of(connection)
    undone = line_of(connection, redo_of(connection))
    return next((one for one in undone if head and one.parent == head.id), None)


def revision(connection: Connection, number: int) -> Revision:
    """One revision. Raises StoreFault if there is none of that number."""
    asked = select(*ALL_BUT_DOCUMENT).where(schema.revisions.c.id == number)
    row = connection.execute(asked).one_or_none()
    if row is None:
        raise StoreFault(f"There is no revision {number}; see the history.")
    return revision_of(row)


def revision_of(row: Row[Any]) -> Revision:
    """A row of the table as a revision."""
    when = _time(row.made_at)
    return Revision(row.id, row.parent_id, row.who, when, row.message, row.sha256)


def line_of(connection: Connection, number: int | None) -> Iterator[Revision]:
    """A revision, then what it was made from, back to the first."""
    while number is not None:
        found = revision(connection, number)
        yield found
        # A revision is always made from an older one: so this ends whatever a file holds.
        number = found.parent if found.parent is not None and found.parent < number else None


def document(connection: Connection, number: int) -> Document:
    """The tables of a revision. Raises StoreFault if they are not as they were saved."""
    table = schema.revisions.c
    asked = select(table.document, table.sha256).where(table.id == number)
    row = connection.execute(asked).one_or_none()
    if row is None:
        raise StoreFault(f"There is no revision {number}; see the history.")
    try:
        if checksum(row.document) == row.sha256:
            return Document.from_text(row.document)
    except (ValueError, TypeError, RecursionError, AttributeError):
        pass  # no text, or none of ours: told below
    raise StoreFault(f"Revision {number} is not as it was saved; restore a backup.")


def add_revision(
    connection: Connection, tables: Document, who: str, message: str, parent: int | None
) -> int:
    """A new revision; its number. The head stays."""
    text = tables.to_text()
    return _add(
        connection,
        schema.revisions,
        parent_id=parent,
        who=name_of(who),
        made_at=_now(),
        message=_text(message, schema.MAX_MESSAGE, "The message"),
        document=text,
        sha256=checksum(text),
    )


def move_head(
    connection: Connection, kind: str, old: int | None, new: int, redo: int | None, who: str
) -> None:
    """Compare with `old` and swap for `new`; the move is noted. Raises Moved."""
    is_old = schema.head.c.revision_id == old  # None becomes IS NULL
    swap = update(schema.head).where(schema.head.c.id == 1, is_old)
    if connection.execute(swap.values(revision_id=new, redo_id=redo)).rowcount != 1:
        raise Moved
    _add(
        connection,
        schema.moves,
        kind=kind,
        from_id=old,
        to_id=new,
        who=name_of(who),
        made_at=_now(),
    )


def add_plan(connection: Connection, plan: Plan, number: int, who: str) -> int:
    """A plan made from a revision; its number."""
    name = name_of(who) if who else ""
    return _add(
        connection,
        schema.plans,
        revision_id=revision(connection, number).id,
        made_at=_now(),
        plan=plan.to_json(),
        who=name,
    )


def move_of(row: Row[Any]) -> Move:
    """A row of the table as a move."""
    return Move(row.kind, row.from_id, row.to_id, row.who, _time(row.made_at))


def plan_of(row: Row[Any]) -> KeptPlan:
    """A row of the table as a plan. Raises StoreFault if this program cannot read it."""
    try:
        body = json.loads(row.plan)
        if body.pop("schema") != SCHEMA:
            raise ValueError(f"not of schema {SCHEMA}")
        body.pop("gap_cents", None)
        plan = Plan.model_validate(body)
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise StoreFault(f"Plan {row.id} of the store cannot be read; make it again.") from error
    return KeptPlan(row.id, row.revision_id, row.who, _time(row.made_at), plan)


def _add(connection: Connection, table: Table, **values: Any) -> int:
    """A new row; its number."""
    made = connection.execute(insert(table).values(**values)).inserted_primary_key
    assert made is not None  # all our tables have one
    return int(made[0])


def name_of(who: str) -> str:
    """A person's name. Raises StoreFault."""
    name = _text(who.strip(), schema.MAX_WHO, "The name of who it was")
    if not name or "\n" in name:
        raise StoreFault("The name of who it was must be one line that is not blank.")
    return name


def _text(text: str, longest: int, what: str) -> str:
    if len(text) > longest:
        raise StoreFault(f"{what} is longer than {longest} characters; shorten it.")
    if CONTROL.search(text) or not text.isascii() and not _is_text(text):
        raise StoreFault(f"{what} holds a control character; type it again.")
    return text


def _is_text(text: str) -> bool:
    """Whether it is whole characters: what a terminal hands over need not be."""
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def _time(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text)
    except (ValueError, TypeError) as error:
        raise StoreFault("The store holds a time that is none; restore a backup.") from error
