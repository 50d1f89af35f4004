"""A store with the sample cafe and a verified plan of its week."""

from __future__ import annotations

import threading
from pathlib import Path

from optimiser.document import folder_document
from optimiser.planner import plan_week
from optimiser.search import Effort, Progress
from optimiser.store import Store
from tests.benchmarks.measure import SAMPLE, named_week

MOST_S = 120.0


def keep_planned_sample(place: Path, seconds: float | None = None) -> None:
    """Make the store; plan for so long, by default until there is a first plan."""
    stop = threading.Event()

    def first(progress: Progress) -> None:
        if seconds is None and progress.best_cents is not None:
            stop.set()

    outcome = plan_week(named_week("sample"), Effort(seconds or MOST_S), first, stop)
    assert outcome.plan is not None and outcome.plan.verified
    with Store.open(place, create=True) as store:
        revision = store.save(folder_document(SAMPLE), "anna", "The sample cafe", None)
        store.add_plan(outcome.plan, revision.id, "anna")
