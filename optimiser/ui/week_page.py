"""The week: the cabinet as it will look, planning it, and what a person asks of it."""

from __future__ import annotations

from datetime import date

import streamlit as st

from optimiser.cabinet_view import fronts
from optimiser.plan_diff import PlanDiff, plan_diff
from optimiser.plan_job import plan_job
from optimiser.present import Present
from optimiser.ui import week_dialogs, week_head, week_path, week_plan
from optimiser.ui.cabinet import cabinet, empty_cabinet
from optimiser.ui.desk import Desk, desk, desk_at, judge, latest_plans, undo_bar, week
from optimiser.ui.look import empty
from optimiser.week_board import bound_sentence


def page() -> None:
    """Show the page."""
    here = desk()
    this_week = week(here)
    kept = latest_plans(here, 2)
    present = judge(here, kept[0]) if kept else None
    diff = plan_diff(kept[0].plan, kept[1].plan) if kept[1:] else None
    with st.container(horizontal=True, key="week_bar", vertical_alignment="center", gap="small"):
        week_head.title(this_week, here.cafe)
        week_plan.buttons(here, present)
        undo_bar(here)
    week_path.path(here, present)
    week_plan.progress_and_outcome(here)
    if present is None:
        _nothing_yet(here)
    elif present.breaches and not present.stale:
        texts = [f"{breach.rule}: {breach.text}" for breach in present.breaches]
        week_head.reasons("The kept week did not pass the check, so it is not shown:", texts)
    else:
        _show(here, present, diff)


def _nothing_yet(here: Desk) -> None:
    """What to do first, over the cabinet that is to be filled."""
    job = plan_job(here.place)
    if job is None or job.done:
        empty(
            "The cabinet is empty",
            "Press “Plan the week”: a first week comes in seconds, better ones after it.",
        )
    empty_cabinet(week(here))


def _show(here: Desk, present: Present, diff: PlanDiff | None) -> None:
    plan = present.plan
    planned_with = here if not present.stale else desk_at(present.revision)
    if planned_with is None:
        week_head.reasons("The tables this week was planned on can no longer be read.", [])
        return
    bound = week_plan.bound_near(here, present) or bound_sentence(plan)
    if present.stale:  # other rules or prices may allow more
        bound = f"When it was planned: {bound[0].lower()}{bound[1:]}"
    week_head.sums(plan, bound, diff, _state(present))
    if present.breaches:
        texts = [breach.text for breach in present.breaches]
        week_head.reasons("With the tables as they are now, this week no longer works:", texts)
    shown = fronts(plan, planned_with.cafe, here.reading.rules, diff)
    cabinet(shown, planned_with.cafe, date.today(), week_dialogs.pick)
    week_dialogs.open_picked(here, plan, present.number)


def _state(present: Present) -> tuple[str, str]:
    """A sign and words for how far the plan can be relied on."""
    if present.breaches:
        return "✗", "No longer valid: plan again."
    if present.stale:
        return "●", "Planned before your latest changes, and it still keeps every rule."
    return "✓", "Checked: it keeps every rule."
