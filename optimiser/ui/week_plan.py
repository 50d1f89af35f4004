"""Planning from the page: start, watch, stop, and what to say when there is no week."""

from __future__ import annotations

import streamlit as st

from optimiser import jobs
from optimiser.jobs import Job
from optimiser.plan_job import (
    PLAN,
    Ended,
    PlanOrder,
    plan_job,
    start_plan,
)
from optimiser.present import Present
from optimiser.progress import Progress
from optimiser.rule_draft import Draft
from optimiser.rule_loosen import Loosened
from optimiser.ui import rules_conflict
from optimiser.ui.desk import Desk, who
from optimiser.ui.rules_work import Work
from optimiser.ui.watch import watch
from optimiser.ui.week_head import reasons


def buttons(desk: Desk, present: Present | None) -> None:
    """What can be planned now; nothing while a search runs."""
    job = plan_job(desk.place)
    if job is not None and not job.done:
        return
    if present is None:
        _button("Plan the week", desk, None, False, "primary")
        return
    calls = "primary" if present.stale else "secondary"
    _button("Plan again, change little", desk, present, True, calls)
    _button("Look for a better week", desk, present, False, "secondary")


def _button(label: str, desk: Desk, present: Present | None, little: bool, kind: str) -> None:
    st.button(
        label,
        key=f"plan_{label}",
        type="primary" if kind == "primary" else "secondary",
        on_click=_start,
        args=(desk, present, little),
    )


def _start(desk: Desk, present: Present | None, little: bool) -> None:
    earlier = None if present is None else present.plan
    start_plan(PlanOrder(desk.place, desk.week, desk.revision, who(), earlier, little))


def progress_and_outcome(desk: Desk) -> None:
    """The running search, or why the last one of these tables brought no week."""
    job = plan_job(desk.place)
    if job is None:
        return
    if not job.done:
        watch(job, desk.cafe.currency)
        return
    order = job.about
    if not isinstance(order, PlanOrder) or order.revision != desk.revision:
        return  # the tables have changed since: what it came to no longer matters
    if job.error is not None:
        st.error(job.error)
    elif job.result is not None and job.result.number is None:
        _no_week(desk, job)


def _no_week(desk: Desk, job: Job[Progress, Ended]) -> None:
    assert job.result is not None
    outcome = job.result.outcome
    if outcome.infeasible:
        rules_conflict.answer(desk.place, desk.week, lambda changes: _adopt(desk, changes))
    elif outcome.rejected:
        texts = [f"{breach.rule}: {breach.text}" for breach in outcome.rejected]
        reasons("The week that was found did not pass the check, so it was not kept:", texts)
    elif job.stopping:
        st.info("Stopped before a first week was found. Nothing was changed.")
    else:
        st.info("No week was found in the time given. Plan again, or loosen a rule.")


def _adopt(desk: Desk, changes: tuple[Loosened, ...]) -> None:
    """Save the rules as a repair has them."""
    work = Work(desk, Draft.of(desk.reading.rules, desk.reading.rules_off))
    work.loosen(changes)
    work.save()


def bound_near(desk: Desk, present: Present) -> str:
    """How good the present plan is shown to be near the one before it, while that is known."""
    job = jobs.find((desk.place, PLAN))
    ended = job.result if job is not None and job.done else None
    known = isinstance(ended, Ended) and ended.number == present.number
    return ended.bound if known and ended is not None else ""
