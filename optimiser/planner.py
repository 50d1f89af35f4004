"""From a week to a plan that the verifier has passed."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field
from datetime import date

from optimiser.finish import finished
from optimiser.model import Model
from optimiser.plan import Breach, Plan
from optimiser.polish import polished
from optimiser.progress import Report
from optimiser.report_base import cook_portions_sold
from optimiser.runs import Run
from optimiser.search import Effort, Found, Search
from optimiser.solver import Values
from optimiser.verify import verify
from optimiser.week import Week


@dataclass(frozen=True)
class Outcome:
    """What planning came to.

    `plan` is verified or None. `infeasible`: proven that no week keeps the hard
    rules. `rejected` holds the verifier's reasons if it turned the result down.
    """

    plan: Plan | None
    infeasible: bool = False
    rejected: tuple[Breach, ...] = ()
    found: Found = field(default_factory=Found)


def plan_week(
    week: Week,
    effort: Effort,
    report: Report | None = None,
    stop: threading.Event | None = None,
    earlier: Plan | None = None,
    change_at_most: int | None = None,
) -> Outcome:
    """Plan a week; start from an `earlier` plan, and stay within `change_at_most`
    of its cooks if given (portions may change freely)."""
    model = Model(week)
    if earlier is not None and change_at_most is not None:
        stay_close(model, earlier, change_at_most)
        search = Search(model, effort, report, stop)
    else:
        search = Search(model, effort, report, stop, polished)
    found = search.run(start_from(model, earlier) if earlier is not None else None)
    if found.values is None:
        return Outcome(None, infeasible=found.infeasible, found=found)
    plan = finished(model, found.values, found.bound)
    verdict = verify(plan, week)
    if not verdict.passed:
        return Outcome(None, rejected=verdict.breaches, found=found)
    return Outcome(plan.model_copy(update={"verified": True}), found=found)


def start_from(model: Model, earlier: Plan) -> Values:
    """Column values that choose the runs of an earlier plan, as far as they still exist."""
    values = list(model.lp.low)
    for cook in earlier.cooks:
        same = _runs_like(model, cook.dish, cook.date, cook.shown)
        if same:
            sold = cook_portions_sold(earlier, cook.dish, cook.date)  # not those for other dishes
            nearest = min(same, key=lambda run: abs(run.portions - sold))
            values[model.run_column[nearest.index]] = 1.0
    return values


def stay_close(model: Model, earlier: Plan, change_at_most: int) -> None:
    """At most so many of the earlier plan's cooks for sale may go or move.

    Row: sum over earlier cooks of (1 - the runs like it) <= change_at_most.
    """
    kept = []
    for cook in earlier.cooks:
        if cook.shown:
            runs = _runs_like(model, cook.dish, cook.date, cook.shown)
            kept += model.run_terms((run, 1.0) for run in runs)
    cooks = sum(1 for cook in earlier.cooks if cook.shown)
    model.lp.row("stay_close", kept, low=float(cooks - change_at_most))


def _runs_like(model: Model, dish: str, day: date, shown: tuple[date, ...]) -> list[Run]:
    return [
        run
        for run in model.runs
        if (run.dish, run.cook_day) == (dish, day) and run.shown == shown
    ]
