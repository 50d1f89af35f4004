"""House rules on weeks solved by hand: given these few rows, broken by so much."""

from __future__ import annotations

from datetime import timedelta

import pytest
from pydantic import ValidationError

from optimiser.cafe import Served
from optimiser.rules import Rule, default_rules, parse_rule
from optimiser.rules.kitchen import StationMinutes
from optimiser.rules.pins import Pin
from optimiser.rules.protein import PlateProtein
from optimiser.rules.spacing import Spacing
from optimiser.rules.variety import WeeklyCap
from tests.rule_cases import FAULTS, SOLVED
from tests.rule_cases.base import CAFE, LENTILS_MON, LENTILS_TUE, Case, on_days, plan
from tests.rule_weeks import (
    MON,
    TUE,
    WED,
    amounts,
    fake_rows,
    limited,
    tiny_cafe,
)

CASES = [
    pytest.param(case, id=f"{kind}-{n}") for kind in SOLVED for n, case in enumerate(SOLVED[kind])
]


@pytest.mark.parametrize("case", CASES)
def test_a_week_that_keeps_the_rule_has_no_breach(case: Case):
    assert amounts(case.rule, case.kept, case.cafe) == ([], [])


@pytest.mark.parametrize("case", CASES)
def test_a_week_that_breaks_the_rule_is_charged_the_amount_counted_by_hand(case: Case):
    assert amounts(case.rule, case.broken, case.cafe) == (case.amounts, case.amounts)


@pytest.mark.parametrize("case", CASES)
def test_the_rule_fits_its_cafe_and_says_so_in_one_sentence(case: Case):
    assert case.rule.faults(case.cafe) == []
    sentence = case.rule.describe(case.cafe)
    assert sentence[0].isupper() and sentence.endswith(".") and "_" not in sentence


@pytest.mark.parametrize("case", CASES)
def test_breaches_name_the_rule_and_say_what_is_wrong(case: Case):
    for breach in case.rule.check(case.broken, case.cafe):
        assert breach.rule == case.rule.title
        assert len(breach.text) > 15
        assert breach.item is None or breach.item in {*case.cafe.dishes, *case.cafe.ingredients}


@pytest.mark.parametrize("case", CASES)
def test_rules_survive_being_saved_and_read(case: Case):
    assert parse_rule(case.rule.model_dump()) == case.rule
    assert parse_rule(case.rule.model_dump(mode="json")) == case.rule


@pytest.mark.parametrize("case", CASES)
def test_rows_have_names_that_solvers_accept(case: Case):
    model = fake_rows(case.rule, case.broken, case.cafe)
    for row in [*model.rows, *model.definitions]:
        assert row.key and set(row.key) <= set("abcdefghijklmnopqrstuvwxyz0123456789_")


def test_an_unknown_kind_or_parameter_is_refused():
    with pytest.raises(ValidationError, match="spacing"):
        parse_rule({"kind": "spacign"})
    with pytest.raises(ValidationError, match="gap_hours"):
        parse_rule({"kind": "spacing", "gap_hours": 3})
    with pytest.raises(ValidationError):
        parse_rule({"kind": "spacing", "price_cents": 0})


@pytest.mark.parametrize(
    ("rule", "mend"), FAULTS, ids=lambda value: value.kind if isinstance(value, Rule) else None
)
def test_what_does_not_fit_the_cafe_is_named_with_its_mend(rule: Rule, mend: str):
    (fault,) = rule.faults(CAFE)
    assert mend in fault


def test_a_plate_larger_than_its_course_is_a_fault():
    cafe = tiny_cafe(plate={"salad": 3, "dessert": 1})
    faults = PlateProtein(worst_g=5).faults(cafe)
    assert "has 2 places" in faults[0] and "no course 'dessert'" in faults[1]
    assert "no [plate]" in PlateProtein(worst_g=5).faults(tiny_cafe(plate={}))[0]


def history(day, cooked=10, sold=8):
    return tiny_cafe(history=(Served(day=day, dish="lentil_salad", cooked=cooked, sold=sold),))


@pytest.mark.parametrize("one_cook", [False, True])
def test_a_dish_shown_just_before_the_week_must_rest_first(one_cook):
    rule = Spacing(gap_days=4, one_cook_counts_once=one_cook)
    friday = history(MON - timedelta(days=3))
    assert amounts(rule, plan(LENTILS_MON), friday) == ([1], [1])
    assert amounts(rule, plan(LENTILS_TUE), friday) == ([], [])


def test_history_counts_only_when_asked_and_when_the_dish_was_there():
    friday = MON - timedelta(days=3)
    rule = Spacing(gap_days=4)
    assert amounts(rule, plan(LENTILS_MON), history(friday, cooked=0, sold=0)) == ([], [])
    assert amounts(rule, plan(LENTILS_MON), history(friday, cooked=0, sold=5)) == ([1], [1])
    forgetful = Spacing(gap_days=4, from_history=False)
    assert amounts(forgetful, plan(LENTILS_MON), history(friday)) == ([], [])


def test_one_cook_over_two_days_is_two_showings_unless_it_counts_once():
    two_days = plan(("lentil_salad", MON, (MON, TUE)))
    assert amounts(Spacing(), two_days, CAFE) == ([1], [1])
    assert amounts(Spacing(one_cook_counts_once=True), two_days, CAFE) == ([], [])


def test_the_weekly_cap_counts_each_week_of_a_long_plan_by_itself():
    next_week = [day + timedelta(days=7) for day in (MON, WED)]
    cooks = [("lentil_salad", day, (day,)) for day in (MON, WED, *next_week)]
    assert amounts(WeeklyCap(), plan(*cooks, days=14), CAFE) == ([], [])
    third = ("lentil_salad", next_week[1] + timedelta(days=2), (next_week[1] + timedelta(days=2),))
    assert amounts(WeeklyCap(), plan(*cooks, third, days=14), CAFE) == ([1], [1])


def test_a_plate_rule_that_every_plate_of_the_book_keeps_adds_no_rows():
    model = fake_rows(PlateProtein(worst_g=3), plan(*on_days("beet_salad")), CAFE)
    assert model.rows == [] and model.definitions == []


def test_a_weekday_pin_holds_in_every_week_of_a_plan():
    assert amounts(Pin(dish="soup", day="tue"), plan(days=14), CAFE) == ([1, 1], [1, 1])


def test_a_pin_outside_the_week_waits():
    late = Pin(dish="soup", day=MON + timedelta(days=14))
    assert amounts(late, plan(), CAFE) == ([], [])


def test_a_station_without_a_limit_has_no_rows_and_says_so():
    rule = StationMinutes(station="hob")
    assert amounts(rule, plan(*on_days("soup")), CAFE) == ([], [])
    assert "no limit" in rule.describe(CAFE)


def test_stations_limited_by_the_kitchen_hold_without_a_rule():
    kitchen = limited(oven_min=120, hob_min=60)
    hob = StationMinutes(station="hob", price_cents=5)
    rules = default_rules(tiny_cafe(kitchen=kitchen), [Spacing(), hob])
    assert rules == (Spacing(), hob, StationMinutes(station="oven"))
    assert default_rules(CAFE, []) == ()
