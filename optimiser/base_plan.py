"""The plan that is asked about: one handed in, the newest kept in the store, or a new one."""

from __future__ import annotations

import sys
import threading
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

from optimiser.asking import Asking
from optimiser.nearby import Nearby
from optimiser.places import Held, is_store
from optimiser.plan import Plan
from optimiser.plan_command import BadInput, PlanRequest, read_earlier, week_asked
from optimiser.planner import Outcome, plan_week
from optimiser.present import same_days
from optimiser.progress import Progress, Report
from optimiser.report_base import day_text, money_text
from optimiser.search import Effort
from optimiser.store import Store
from optimiser.watched import Said, watched
from optimiser.week import Week
from optimiser.week_board import bound_sentence


@dataclass(frozen=True)
class Base:
    """A verified plan and its week; `near` is built around it, `told` says where it is from."""

    near: Nearby
    origin: Literal["file", "store", "planned"]
    told: str

    @property
    def week(self) -> Week:
        """The week that the plan is of."""
        return self.near.week

    @property
    def plan(self) -> Plan:
        """The plan."""
        return self.near.plan


def head(verb: str, week: Week, base: Base | None) -> dict[str, Any]:
    """What JSON says before the answers."""
    plan = None
    if base is not None:
        plan = {
            "from": base.origin,
            "objective_cents": base.plan.objective_cents,
            "bound_cents": base.plan.bound_cents,
        }
    return {
        "verb": verb,
        "cafe": week.cafe.name,
        "week": week.start.isoformat(),
        "days": week.days,
        "planned_on": week.planned_on.isoformat(),
        "currency": week.cafe.currency,
        "plan": plan,
    }


def handed_in(asking: Asking) -> Plan | None:
    """The plan of --from. Raises BadInput."""
    return None if asking.earlier is None else read_earlier(asking.earlier)


def asked_week(asking: Asking, held: Held, earlier: Plan | None) -> Week:
    """The week asked about. Raises BadInput."""
    request = PlanRequest(
        folder=asking.folder,
        out=Path(),
        week=asking.week,
        today=asking.today or (earlier.planned_on if earlier else None),
        at=asking.at,
        earlier=asking.earlier,
    )
    return week_asked(request, held.reading, earlier)


def known_plan(asking: Asking, held: Held, week: Week, earlier: Plan | None) -> Base | None:
    """The plan handed in, or the newest one kept that can still be cooked; None if there is none.

    Raises BadInput if the plan handed in cannot be cooked.
    """
    if earlier is not None:
        near = Nearby(week, earlier)
        if near.kept is None:
            raise BadInput(
                f"--from {asking.earlier}: this plan cannot be cooked as the tables are now: "
                f"{near.why_not_kept()}; plan the week again"
            )
        return Base(near, "file", f"Asked of {asking.earlier}: {_earns(earlier)}")
    if held.revision is None or not is_store(asking.folder):
        return None
    with Store.open(asking.folder) as store:
        kept = store.latest_plans(week.start, 1)
    if not kept:
        return None
    then = same_days(kept[0].plan, week)
    if asking.today is not None:
        then = replace(then, planned_on=asking.today)
    near = Nearby(then, kept[0].plan)
    if near.kept is None:
        why = near.why_not_kept()
        print(f"Plan {kept[0].id} of the store cannot be cooked any more: {why}.", file=sys.stderr)
        return None
    return Base(near, "store", f"Asked of plan {kept[0].id} of the store: {_earns(kept[0].plan)}")


def new_plan(asking: Asking, week: Week, stop: threading.Event) -> Base | Outcome:
    """The week planned afresh; what planning came to if there is no plan, or it was stopped."""
    days = f"{day_text(week.open_dates[0])} to {day_text(week.last)}"
    said = Said(
        f"There is no plan yet: planning {days}, orders from {day_text(week.planned_on)}.",
        "Stopping. Ctrl-C again gives up.",
    )

    def work(report: Report) -> Outcome | Base:
        outcome = plan_week(week, Effort(asking.seconds), report, stop)
        if outcome.plan is None or stop.is_set():
            return outcome
        told = f"Asked of a new plan: {_earns(outcome.plan)} {bound_sentence(outcome.plan)}"
        return Base(Nearby(week, outcome.plan), "planned", told)

    return watched(work, stop, week.cafe.currency, said)


def can_hold(asking: Asking, week: Week, stop: threading.Event) -> bool | None:
    """Whether a week keeps all hard rules: the first one found, verified, is enough; None if that
    was not found out in time. `stop` is set as soon as it is known."""

    def work(report: Report) -> Outcome:
        def first(progress: Progress) -> None:
            report(progress)
            if progress.best_cents is not None:
                stop.set()

        return plan_week(week, Effort(asking.seconds), first, stop)

    said = Said("Looking for a week that keeps all rules ...", "")
    outcome = watched(work, stop, week.cafe.currency, said)
    if outcome.plan is not None:
        return True
    return False if outcome.infeasible else None


def _earns(plan: Plan) -> str:
    """Without the bound: that of an older plan may be of other tables, or of few changes only."""
    earns = money_text(plan.objective_cents, plan.currency)
    return f"the week from {day_text(plan.week)}, planned to earn {earns}."
