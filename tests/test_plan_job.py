"""Planning as a job keeps its plan by itself; near an earlier plan, and where there is none."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from optimiser import plan_job
from optimiser.conflict_job import conflict_job
from optimiser.document import folder_document
from optimiser.document_edits import with_rules
from optimiser.plan_job import PlanOrder, start_plan
from optimiser.planner import Outcome
from optimiser.present import week_of
from optimiser.rules.pins import Bar, Pin
from optimiser.search import Effort
from optimiser.store import Store
from optimiser.verify import verify
from tests.cafe_folder import write_folder

TODAY = date(2026, 11, 25)


@pytest.fixture
def place(tmp_path: Path) -> str:
    with Store.open(tmp_path / "s.db", create=True) as store:
        store.save(folder_document(write_folder(tmp_path / "cafe")), "Ada", "", None)
    return str(tmp_path / "s.db")


def order(place: str, **changes) -> PlanOrder:
    with Store.open(place) as store:
        held = store.held()
    week = week_of(held.reading.cafe, held.reading.rules, TODAY)
    return PlanOrder(place, week, held.revision, "Ada", work=1, **changes)


def ended(asked: PlanOrder):
    job = start_plan(asked)
    assert job.wait(60) and job.error is None, job.error
    return job.result


def with_rule(place: str, *rules) -> None:
    with Store.open(place) as store:
        held = store.held()
        document = with_rules(store.document(held.revision), [*held.reading.rules, *rules])
        store.save(document, "Ada", "", held.revision)


def test_the_job_keeps_the_plan_with_its_revision_and_who_asked(place):
    asked = order(place)
    result = ended(asked)
    with Store.open(place) as store:
        (kept,) = store.plans()
    assert (kept.id, kept.revision, kept.who) == (result.number, asked.revision, "Ada")
    assert kept.plan == result.outcome.plan and verify(kept.plan, asked.week).passed
    assert result.bound == ""


def test_little_change_is_little_and_its_bound_is_not_kept_as_one_of_all_weeks(place):
    first = ended(order(place)).outcome.plan
    row = first.shown[0]
    with_rule(place, Bar(dish=row.dish, day=row.date))
    result = ended(order(place, earlier=first, little=True))
    with Store.open(place) as store:
        kept = store.plans()[-1]
    assert kept.plan.bound_cents is None and kept.plan.status == "feasible"
    assert "at most 2 of the earlier plan's cooks" in result.bound
    before = {(cook.dish, cook.date, cook.shown) for cook in first.cooks if cook.shown}
    after = {(cook.dish, cook.date, cook.shown) for cook in kept.plan.cooks}
    assert 1 <= len(before - after) <= 2


def test_where_little_change_is_not_enough_any_week_will_do(place, monkeypatch):
    monkeypatch.setattr(plan_job, "FEW", (0,))
    first = ended(order(place)).outcome.plan
    row = first.shown[0]
    with_rule(place, Bar(dish=row.dish, day=row.date))
    result = ended(order(place, earlier=first, little=True))
    assert result.number == 2 and result.bound == ""
    assert result.outcome.plan.bound_cents is not None


def test_rules_that_conflict_are_looked_for_in_a_job_after_it(place):
    with_rule(place, Pin(dish="soup", day=date(2026, 11, 30)))  # the bench bars the soup
    result = ended(order(place))
    assert result.outcome.infeasible and result.number is None
    looking = conflict_job(place)
    assert looking.wait(60) and {part.kind for part in looking.result.rules} == {"bar", "pin"}
    with Store.open(place) as store:
        assert store.plans() == []


def test_a_plan_that_cannot_be_kept_is_told_as_a_sentence(place):
    asked = order(place)
    Path(place).write_bytes(b"no store any more")
    job = start_plan(asked)
    assert job.wait(60) and job.result is None
    assert job.error.startswith("A week was planned, but it could not be kept: ")


def test_where_the_time_was_too_short_for_a_first_week_it_is_given_more(place, monkeypatch):
    given = []
    really = plan_job.plan_week

    def slow_at_first(week, effort, *rest):
        given.append(effort.seconds)
        return Outcome(None) if len(given) == 1 else really(week, Effort(work=1), *rest)

    monkeypatch.setattr(plan_job, "plan_week", slow_at_first)
    result = ended(replace(order(place), work=None, seconds=2.0))
    assert result.number == 1 and given == [2.0, 2.0 * plan_job.LONGER]
