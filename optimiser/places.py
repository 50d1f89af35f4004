"""Where a cafe's tables are: a folder, the file of a store, or the URL of a database."""

from __future__ import annotations

import getpass
import os
from dataclasses import dataclass
from pathlib import Path

import platformdirs

from optimiser.plan import Plan
from optimiser.tables import Reading, read_folder

SQLITE_MAGIC = b"SQLite format 3\x00"
STORE_SUFFIX = ".db"
PLACE_VARIABLE = "CABINET_STORE"
"""Environment variable: the store that the page opens."""

DATA_FOLDER, OWN_FILE = "cabinet-week", "cabinet.db"


@dataclass(frozen=True)
class Held:
    """A cafe as read; `revision`: of the store it came from, None for a folder."""

    reading: Reading
    revision: int | None = None


def is_url(place: str) -> bool:
    """Whether this is the URL of a database."""
    return "://" in place


def is_store(place: str) -> bool:
    """Whether this names a store: a URL, a file that is SQLite, or a name ending in .db."""
    if is_url(place):
        return True
    path = Path(place)
    if path.is_dir():
        return False
    return path.suffix.lower() == STORE_SUFFIX or _is_sqlite(path)


def _is_sqlite(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(len(SQLITE_MAGIC)) == SQLITE_MAGIC
    except (OSError, ValueError):
        return False


def read_place(place: str) -> Held:
    """Read a cafe. Raises TableFaults or StoreFault."""
    if not is_store(place):
        return Held(read_folder(Path(place)))
    from optimiser.store import Store  # loads SQLAlchemy: not for a folder

    with Store.open(place) as store:
        return store.held()


def keep_plan(place: str, plan: Plan, revision: int) -> int:
    """Add a verified plan to a store's table of plans; its number. Raises StoreFault."""
    from optimiser.store import Store

    with Store.open(place) as store:
        return store.add_plan(plan, revision, somebody())


def page_store() -> str:
    """The store that the page opens: as the environment says, else one's own."""
    return os.environ.get(PLACE_VARIABLE) or own_store()


def own_store() -> str:
    """The file of one's own store, in the user's data folder, which is made."""
    folder = platformdirs.user_data_path(DATA_FOLDER, appauthor=False)
    folder.mkdir(parents=True, exist_ok=True)
    return str(folder / OWN_FILE)


def somebody() -> str:
    """The name of whoever uses this computer."""
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "unknown"
