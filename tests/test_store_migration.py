"""A store of an earlier version is brought up; one of a later version is refused.

tests/data/store_v1.db was written once by `write_v1` and is never written again:
`python -m tests.test_store_migration tests/data/store_v1.db` made it.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

import pytest

from optimiser import store_schema
from optimiser.store import Store, StoreFault
from tests.store_documents import dearer, document

V1 = Path(__file__).parent / "data" / "store_v1.db"

# Frozen: what version 1 was, whatever the program writes today.
V1_TABLES = """
CREATE TABLE schema_version (version INTEGER NOT NULL);
CREATE TABLE revisions (
    id INTEGER NOT NULL PRIMARY KEY, parent_id INTEGER REFERENCES revisions (id),
    who VARCHAR(200) NOT NULL, made_at VARCHAR(32) NOT NULL, message TEXT NOT NULL,
    document TEXT NOT NULL, sha256 VARCHAR(64) NOT NULL);
CREATE TABLE head (
    id INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
    revision_id INTEGER REFERENCES revisions (id), redo_id INTEGER REFERENCES revisions (id));
CREATE TABLE plans (
    id INTEGER NOT NULL PRIMARY KEY, revision_id INTEGER NOT NULL REFERENCES revisions (id),
    made_at VARCHAR(32) NOT NULL, plan TEXT NOT NULL);
INSERT INTO schema_version VALUES (1);
"""
V1_PLAN = {
    "schema": 1,
    "week": "2026-11-30",
    "planned_on": "2026-11-27",
    "currency": "AUD",
    "verified": True,
    "objective_cents": 0,
    "terms_cents": {},
    "cooks": [],
    "shown": [],
}


def write_v1(path: Path) -> None:
    """A store of version 1: two revisions, the second undone, and a plan."""
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.executescript(V1_TABLES)
        for number, tables in enumerate((document(), dearer("7.50")), 1):
            text = tables.to_text()
            values = (number, number - 1 or None, "anna", f"2026-11-0{number}T08:30:00+00:00")
            digest = hashlib.sha256(text.encode()).hexdigest()
            connection.execute(
                "INSERT INTO revisions VALUES (?, ?, ?, ?, ?, ?, ?)",
                (*values, f"message {number}", text, digest),
            )
        connection.execute("INSERT INTO head VALUES (1, 1, 2)")
        plan = (1, 1, "2026-11-01T09:00:00+00:00", json.dumps(V1_PLAN))
        connection.execute("INSERT INTO plans VALUES (?, ?, ?, ?)", plan)


def old_store(tmp_path: Path) -> Path:
    return Path(shutil.copy(V1, tmp_path / "old.db"))


def shape(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """Columns of every table: name, whether it may be null, key."""
    with closing(sqlite3.connect(path)) as connection:
        names = [row[0] for row in connection.execute("SELECT name FROM sqlite_master")]
        return {
            name: [
                (row[1], row[3], row[5])
                for row in connection.execute(f"SELECT * FROM pragma_table_info('{name}')")
            ]  # fmt: skip
            for name in sorted(names)
        }


def test_the_stored_file_is_of_version_1() -> None:
    with closing(sqlite3.connect(f"file:{V1}?mode=ro", uri=True)) as connection:
        assert connection.execute("SELECT version FROM schema_version").fetchall() == [(1,)]
        names = {row[1] for row in connection.execute("PRAGMA table_info(plans)")}
        assert "who" not in names


def test_an_old_store_keeps_all_it_had(tmp_path: Path) -> None:
    with Store.open(old_store(tmp_path)) as store:
        assert [(one.id, one.parent, one.who) for one in store.history()] == [
            (1, None, "anna"),
            (2, 1, "anna"),
        ]
        assert f"{store.history()[1].when:%Y-%m-%d %H:%M}" == "2026-11-02 08:30"
        head = store.head()
        assert head is not None and head.id == 1
        assert store.document(1) == document() and store.document(2) == dearer("7.50")
        plan = store.plans()[0]
        assert (plan.revision, plan.who, plan.plan.week.isoformat()) == (1, "", "2026-11-30")
        assert store.moves() == []


def test_an_old_store_can_do_what_a_new_one_can(tmp_path: Path) -> None:
    with Store.open(old_store(tmp_path)) as store:
        assert store.redo("ben").id == 2
        assert store.save(dearer("8.00"), "ben", "", 2).id == 3
        store.add_plan(store.plans()[0].plan, 3, "ben")
        assert [plan.who for plan in store.plans()] == ["", "ben"]
        assert [move.kind for move in store.moves()] == ["redo", "save"]


def test_brought_up_and_new_stores_have_the_same_columns(tmp_path: Path) -> None:
    Store.open(old_store(tmp_path)).close()
    Store.open(tmp_path / "new.db", create=True).close()
    assert shape(tmp_path / "old.db") == shape(tmp_path / "new.db")


def test_a_migration_that_fails_leaves_the_old_store(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = old_store(tmp_path)
    before = shape(place)

    def half(connection: object) -> None:
        store_schema._from_1(connection)  # type: ignore[arg-type]
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setitem(store_schema.MIGRATIONS, 1, half)
        with pytest.raises(KeyboardInterrupt):
            Store.open(place)
    assert shape(place) == before
    with Store.open(place) as store:
        assert len(store.history()) == 2


def test_a_store_of_a_later_version_is_refused_and_left_alone(tmp_path: Path) -> None:
    place = tmp_path / "future.db"
    Store.open(place, create=True).close()
    with closing(sqlite3.connect(place)) as connection, connection:
        connection.execute("UPDATE schema_version SET version = 7")
    content = place.read_bytes()
    with pytest.raises(StoreFault, match="later version.*version 7, this one knows 2.*update"):
        Store.open(place)
    assert place.read_bytes() == content


if __name__ == "__main__":
    write_v1(Path(sys.argv[1]))
