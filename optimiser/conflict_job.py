"""Looking for rules that conflict as a job of the server: one of a store at a time."""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable

from optimiser import jobs
from optimiser.explain import Conflict, conflict
from optimiser.jobs import Job
from optimiser.progress import Progress
from optimiser.week import Week

SECONDS = 45.0
"""On the sample cafe with two cores 20 are often too few for more than one repair."""

Report = Callable[[Progress], None]


def conflict_key(place: str) -> Hashable:
    """The job's key."""
    return (place, "conflict")


def start_conflict(place: str, week: Week, seconds: float = SECONDS) -> None:
    """Look in the background; `about` the job are the week's rules."""

    def work(report: Report, stop: threading.Event) -> Conflict:
        return conflict(week, seconds, report, stop)

    jobs.start(conflict_key(place), work, about=week.rules)


def conflict_job(place: str) -> Job[Progress, Conflict] | None:
    """The latest look."""
    return jobs.find(conflict_key(place))
