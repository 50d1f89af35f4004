"""Stores for tests in a browser: with tables, or with a verified plan of their week besides."""

from __future__ import annotations

import threading
from datetime import date
from pathlib import Path

from optimiser.document import folder_document, read_document
from optimiser.planner import plan_week
from optimiser.present import week_of
from optimiser.progress import Progress
from optimiser.search import Effort
from optimiser.store import Store

SAMPLE = Path(__file__).resolve().parents[2] / "sample_data"
MOST_S = 120.0


def keep_tables(place: Path, folder: Path) -> None:
    """Make a store of a cafe's folder."""
    with Store.open(place, create=True) as store:
        store.save(folder_document(folder), "anna", "The first tables", None)


def keep_planned(place: Path, folder: Path, seconds: float | None = None) -> None:
    """The same with a plan, searched for so long; by default until there is a first one."""
    stop = threading.Event()

    def first(progress: Progress) -> None:
        if seconds is None and progress.best_cents is not None:
            stop.set()

    keep_tables(place, folder)
    with Store.open(place) as store:
        reading = read_document(store.document(1))
        week = week_of(reading.cafe, reading.rules, date.today())
        plan = plan_week(week, Effort(seconds or MOST_S), first, stop).plan
        assert plan is not None and plan.verified
        store.add_plan(plan, 1, "anna")
