"""What each swap of a cook would cost, looked for in the background."""

from __future__ import annotations

import threading
from collections.abc import Callable, Hashable
from datetime import date

from optimiser import jobs
from optimiser.jobs import Job, Told
from optimiser.plan import Plan
from optimiser.progress import Progress
from optimiser.swaps import SwapCost, swap_costs
from optimiser.week import Week

SwapJob = Job[Progress, list[SwapCost]]


def swap_key(place: str, revision: int, number: int, dish: str, cooked_on: date) -> Hashable:
    """The job for a cook of plan `number` under the tables of `revision`."""
    return (place, "swaps", revision, number, dish, cooked_on)


def start_swaps(key: Hashable, week: Week, plan: Plan, dish: str, cooked_on: date) -> SwapJob:
    """Look in the background; of one key once."""
    found = jobs.find(key)
    if found is not None and not found.stopping:
        return found

    def work(report: Callable[[Progress], None], stop: threading.Event) -> list[SwapCost]:
        try:
            return swap_costs(week, plan, dish, cooked_on, report, stop)
        except ValueError as error:
            raise Told(f"What a swap would cost cannot be said: {error}.") from error

    return jobs.start(key, work)


def leave(key: Hashable | None) -> None:
    """Nobody looks at it any more: stop it, drop what it came to."""
    job = None if key is None else jobs.find(key)
    if job is not None:
        job.stop()
        jobs.forget(key)
