"""Planning as a job: what it plans is kept in the store by the job itself, so that no page
has to be open when it ends. Why a week is impossible is looked for in a job after it."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from optimiser import jobs
from optimiser.conflict_job import start_conflict
from optimiser.jobs import Job, Told
from optimiser.plan import Plan
from optimiser.planner import Outcome, plan_week
from optimiser.progress import Progress
from optimiser.search import Effort
from optimiser.store import Store, StoreFault
from optimiser.week import Week
from optimiser.week_board import bound_sentence

PLAN = "plan"
SECONDS = 30.0

LONGER = 4.0
"""So many times as long is searched again where a slow computer found no week in the time;
there is a Stop for whoever will not wait."""

FEW = (2, 5)
"""How many cooks may change when little should: the first number that is enough."""

FEW_SHARE = 0.3
"""Part of the time for each of these."""


@dataclass(frozen=True)
class PlanOrder:
    """What is to be planned. `earlier`: to start from; with `little` its week changes as
    little as the rules let it."""

    place: str
    week: Week
    revision: int
    who: str
    earlier: Plan | None = None
    little: bool = False
    seconds: float = SECONDS
    work: int | None = None


@dataclass(frozen=True)
class Ended:
    """What planning came to. `number`: of the plan kept, None if there is none.

    `bound`: how good the plan is shown to be, where that holds near the earlier plan only.
    """

    outcome: Outcome
    number: int | None = None
    bound: str = ""


Report = Callable[[Progress], None]


def start_plan(order: PlanOrder) -> Job[Progress, Ended]:
    """Plan in the background; one search of a store at a time."""

    def work(report: Report, stop: threading.Event) -> Ended:
        return _plan(order, report, stop)

    return jobs.start((order.place, PLAN), work, about=order)


def plan_job(place: str) -> Job[Progress, Ended] | None:
    """The latest search of a store."""
    return jobs.find((place, PLAN))


def _plan(order: PlanOrder, report: Report, stop: threading.Event) -> Ended:
    ended = _near(order, report, stop) if order.little and order.earlier else None
    ended = ended or _anywhere(order, report, stop)
    if ended.outcome.infeasible:
        start_conflict(order.place, order.week)
    return ended


def _anywhere(order: PlanOrder, report: Report, stop: threading.Event) -> Ended:
    """Any week. Where the time was too short for a first one, once more with more of it."""
    outcome = _search(order, order.seconds, report, stop)
    nothing = outcome.plan is None and not outcome.infeasible and not outcome.rejected
    if nothing and order.work is None and not stop.is_set():
        told = _later(report, order.seconds, "")
        outcome = _search(order, order.seconds * LONGER, told, stop)
    return _kept(order, outcome)


def _search(order: PlanOrder, seconds: float, report: Report, stop: threading.Event) -> Outcome:
    return plan_week(order.week, Effort(seconds, order.work), report, stop, order.earlier)


def _near(order: PlanOrder, report: Report, stop: threading.Event) -> Ended | None:
    """A week close to the earlier one; None if there is none or none was found in time."""
    started = time.monotonic()
    effort = Effort(order.seconds * FEW_SHARE, order.work)
    for few in FEW:
        told = _later(report, time.monotonic() - started, f"changing at most {few} cooks: ")
        outcome = plan_week(order.week, effort, told, stop, order.earlier, few)
        if outcome.plan is not None:
            bound = bound_sentence(outcome.plan, few)
            return _kept(order, replace(outcome, plan=_without_bound(outcome.plan)), bound)
        if outcome.rejected or stop.is_set():
            return Ended(replace(outcome, infeasible=False))
    return None


def _later(report: Report, seconds: float, before: str) -> Report:
    """Reports of a search that began so many seconds after the first."""
    return lambda one: report(replace(one, seconds=one.seconds + seconds, doing=before + one.doing))


def _without_bound(plan: Plan) -> Plan:
    """What was proven of weeks near another must not be read as proven of all weeks."""
    return plan.model_copy(update={"bound_cents": None, "status": "feasible"})


def _kept(order: PlanOrder, outcome: Outcome, bound: str = "") -> Ended:
    if outcome.plan is None:
        return Ended(outcome)
    try:
        with Store.open(order.place) as store:
            number = store.add_plan(outcome.plan, order.revision, order.who)
    except (StoreFault, OSError) as fault:
        raise Told(f"A week was planned, but it could not be kept: {fault}") from fault
    return Ended(outcome, number, bound)
