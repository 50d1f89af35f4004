"""The benchmark's own arithmetic, and that its invented cafes stay what they are."""

from __future__ import annotations

import pytest

from optimiser.model import Model
from tests.benchmarks.bench_plan import OURS, at, improve
from tests.benchmarks.generated_cafe import generated_week, ingredients_for
from tests.benchmarks.measure import changes, fingerprint, named_week


@pytest.fixture(scope="module")
def week():
    return generated_week(70)


def measured(value_cents: int, bound_cents: int, fingerprint: str = "a") -> dict:
    plan = {"verified": True, "objective_cents": value_cents, "bound_cents": bound_cents}
    return {OURS: {"plan": plan, "fingerprint": fingerprint}}


def test_an_invented_cafe_is_the_same_every_time_and_another_for_another_seed(week):
    assert fingerprint(generated_week(70)) == fingerprint(week)
    assert fingerprint(generated_week(70, seed=1)) != fingerprint(week)


def test_a_fingerprint_sees_a_rule_and_a_price(week):
    fewer = type(week)(week.cafe, week.rules[1:], week.start, week.planned_on)
    dearer = week.cafe.model_copy(update={"offers": week.cafe.offers[1:]})
    changed = type(week)(dearer, week.rules, week.start, week.planned_on)
    assert len({fingerprint(one) for one in (week, fewer, changed)}) == 3


@pytest.mark.parametrize("dishes", [70, 150, 300])
def test_an_invented_cafe_has_the_size_asked_for_and_rules_that_fit_it(dishes):
    cafe, rules = generated_week(dishes).cafe, generated_week(dishes).rules
    assert len(cafe.dishes) == dishes
    assert abs(len(cafe.ingredients) - ingredients_for(dishes)) <= 5
    assert len({one.form for one in cafe.ingredients.values()}) == 3
    assert not cafe.dishes.keys() & cafe.ingredients.keys()
    assert [fault for rule in rules for fault in rule.faults(cafe)] == []


def test_every_course_of_an_invented_cafe_can_fill_its_slots(week):
    model = Model(week)
    shown = {(run.course, day) for run in model.runs for day in run.shown}
    wanted = {(course, day) for course in week.cafe.courses for day in week.open_dates}
    assert shown == wanted


def test_the_sample_is_planned_as_the_command_line_plans_it(sample):
    week = named_week("sample")
    assert week.start == sample.cafe.week
    assert (week.start - week.planned_on).days == sample.cafe.plan_ahead_days


def test_what_was_known_at_a_moment_is_the_last_thing_learnt_before_it():
    trace = changes([(3.0, 50.0, 90.0), (1.0, None, 99.0), (2.0, None, 99.0), (4.0, 60.0, 90.0)])
    assert trace == [(1.0, None, 99.0), (3.0, 50.0, 90.0), (4.0, 60.0, 90.0)]
    assert at(trace, 0.5) == (None, None)
    assert at(trace, 2.9) == (None, 99.0)
    assert at(trace, 3.0) == (50.0, 90.0)
    assert at(trace, 100) == (60.0, 90.0)


def test_the_best_known_gives_way_only_to_something_better_of_the_same_cafe():
    known: dict = {}
    assert improve(known, "x", measured(100, 150), 5)
    assert not improve(known, "x", measured(90, 160), 5)
    assert (known["x"]["value_cents"], known["x"]["bound_cents"]) == (100, 150)
    assert improve(known, "x", measured(90, 140), 5)
    assert (known["x"]["value_cents"], known["x"]["bound_cents"]) == (100, 140)
    assert improve(known, "x", measured(110, 145), 5)
    assert (known["x"]["value_cents"], known["x"]["bound_cents"]) == (110, 140)
    assert improve(known, "x", measured(10, 20, fingerprint="b"), 5)
    assert (known["x"]["value_cents"], known["x"]["bound_cents"]) == (10, 20)


def test_a_plan_that_was_not_verified_is_never_the_best_known():
    known: dict = {}
    result = measured(100, 150)
    result[OURS]["plan"]["verified"] = False
    assert not improve(known, "x", result, 5) and known == {}
