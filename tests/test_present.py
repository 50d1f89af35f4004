"""The present plan: the latest kept of the week, judged by the tables as they are now."""

from __future__ import annotations

from datetime import date

import pytest

from optimiser.document import Document, folder_document
from optimiser.document_edits import rows_of, with_rows, with_rules, with_settings
from optimiser.planner import plan_week
from optimiser.present import present, week_of
from optimiser.rules.pins import Bar
from optimiser.search import Effort
from optimiser.store import Store
from tests.cafe_folder import write_folder

TODAY = date(2026, 11, 25)


@pytest.fixture
def store(tmp_path):
    with Store.open(tmp_path / "s.db", create=True) as store:
        store.save(folder_document(write_folder(tmp_path / "cafe")), "Ada", "", None)
        yield store


def week(store):
    reading = store.read()
    return week_of(reading.cafe, reading.rules, TODAY)


def planned(store):
    plan = plan_week(week(store), Effort(work=1)).plan
    assert plan is not None
    return store.add_plan(plan, store.held().revision, "Ada"), plan


def save(store, change) -> Document:
    held = store.held()
    document = change(store.document(held.revision), held.reading)
    store.save(document, "Ben", "", held.revision)


def test_the_week_is_planned_as_many_days_ahead_as_the_cafe_says(store):
    found = week(store)
    assert (found.start, found.planned_on) == (date(2026, 11, 30), date(2026, 11, 27))
    assert [rule.kind for rule in found.rules] == ["bar", "station_minutes", "station_minutes"]


def test_without_a_plan_of_this_week_there_is_none(store):
    assert present(store, week(store)) is None
    _, plan = planned(store)
    other = plan.model_copy(update={"week": date(2026, 12, 7)})
    store.add_plan(other, 1, "Ada")
    assert present(store, week(store)).plan == plan


def test_the_latest_counts_and_holds_on_the_tables_it_was_made_from(store):
    planned(store)
    number, plan = planned(store)
    found = present(store, week(store))
    assert (found.number, found.plan, found.stale, found.breaches) == (number, plan, False, ())
    assert found.holds


def test_a_kept_plan_that_no_longer_passes_the_check_does_not_hold(store):
    _, plan = planned(store)
    store.add_plan(plan.model_copy(update={"objective_cents": plan.objective_cents + 5}), 1, "")
    found = present(store, week(store))
    assert not found.stale and not found.holds
    assert {breach.rule for breach in found.breaches} == {"money"}


def test_a_change_makes_it_stale_and_broken_rules_are_named(store):
    _, plan = planned(store)
    save(store, lambda document, _: with_settings(document, {"plan_ahead_days": 2}))
    found = present(store, week(store))
    assert found.stale and found.holds
    dish = plan.shown[0].dish
    save(store, lambda document, read: with_rules(document, [*read.rules, Bar(dish=dish)]))
    found = present(store, week(store))
    assert found.stale and {breach.item for breach in found.breaches} == {dish}
    store.undo("Ben")
    store.undo("Ben")
    found = present(store, week(store))
    assert not found.stale and found.holds


def test_more_places_in_the_cabinet_leave_places_empty(store):
    planned(store)
    save(store, lambda document, _: with_settings(document, {"courses.main.slots": 2}))
    assert {breach.rule for breach in present(store, week(store)).breaches} == {"menu"}


def test_a_dish_that_is_gone_is_named(store):
    _, plan = planned(store)
    dish = plan.shown[0].dish

    def renamed(document, _):
        for file in ("dishes.csv", "recipe_lines.csv", "steps.csv", "history.csv"):
            rows = rows_of(document, file)
            for row in rows:
                row["dish"] = "another" if row["dish"] == dish else row["dish"]
            document = with_rows(document, file, rows)
        return with_rules(document, [])

    save(store, renamed)
    found = present(store, week(store))
    assert found.stale and not found.holds
    assert all(repr(dish) in breach.text for breach in found.breaches)
