"""The price of a rule is the best of all weeks without it less the best with it; what is told
is never less than nothing and never leaves the true price out."""

from __future__ import annotations

import math
import random
import threading
from dataclasses import replace

import pytest

from optimiser.cafe import Form
from optimiser.finish import finished
from optimiser.model import Model
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.planner import plan_week
from optimiser.rule_prices import RulePrice, price_of_rule
from optimiser.rules import parse_rule
from optimiser.search import Effort
from optimiser.solver import Limits, Solver
from optimiser.verify import verify
from optimiser.week import Week
from tests.brute_force import best_margin
from tests.generated_cafes import FRI, MON, TUE, weeks
from tests.near_cafes import each, random_plan
from tests.rule_cases import PARAMETERS
from tests.ruled_cafes import ruled_weeks
from tests.small_cafe import ingredient, line
from tests.story_cafe import cafe, dish

CENTS = 1.1
"""Prices are told to the cent."""


def without(week: Week, number: int) -> Week:
    return replace(week, rules=(*week.rules[:number], *week.rules[number + 1 :]))


def best_plan(week: Week) -> tuple[Plan, float] | None:
    """A proven best week and its margin in the model."""
    model = Model(week)
    solved = Solver(model.lp).solve(Limits(gap_cents=0.01))
    if solved.values is None or solved.margin is None:
        return None
    plan = finished(model, solved.values, solved.bound)
    assert verify(plan, week).passed
    return plan, solved.margin


def told(price: RulePrice) -> None:
    """What holds of every answer."""
    assert 0 <= price.low_cents <= price.high_cents
    assert price.exact == (price.high_cents - price.low_cents <= 1)
    assert price.sentence.endswith(".") and price.title in price.sentence
    assert "inf" not in price.sentence and "nan" not in price.sentence


def test_the_price_is_that_of_all_weeks_tried() -> None:
    def check(week: Week) -> list[float]:
        found = best_plan(week)
        if found is None:
            return []
        kept, prices = best_margin(week), []
        for number in range(len(week.rules)):
            free = best_margin(without(week, number))
            assert kept is not None and free is not None
            price = price_of_rule(week, found[0], number)
            told(price)
            assert price.exact
            assert price.low_cents == pytest.approx(free - kept, abs=CENTS)
            assert price.high_cents == pytest.approx(free - kept, abs=CENTS)
            prices.append(free - kept)
        return prices

    prices = [one for several in each(weeks("rules"), 20, check) for one in several]
    assert any(price > CENTS for price in prices) and any(price < 0.01 for price in prices)


@pytest.mark.parametrize("kind", sorted(PARAMETERS))
def test_every_kind_has_a_price_that_is_never_negative(kind: str) -> None:
    def check(week: Week) -> None:
        found = best_plan(week)
        if found is None:
            return
        for number in range(len(week.rules)):
            price = price_of_rule(week, found[0], number)
            told(price)
            free = best_plan(without(week, number))
            true = free[1] - found[1] if free else 0.0  # less where a rule gives room
            assert price.low_cents - CENTS <= max(0.0, true) <= price.high_cents + CENTS
            assert price.exact

    each(ruled_weeks(kind), 2, check)


def test_from_any_plan_the_range_is_about_weeks_that_are_there() -> None:
    """Of a plan that is not the best, no more is promised than it can gain, and no less is
    possible than the rule costs."""

    def check(week: Week) -> bool:
        plan, kept = random_plan(week, random.Random(3)), best_margin(week)
        if plan is None or kept is None:
            return False
        near = Nearby(week, plan)
        assert near.kept is not None
        for number in range(len(week.rules)):
            free = best_margin(without(week, number))
            assert free is not None
            price = price_of_rule(week, plan, number, near=near)
            told(price)
            assert price.high_cents >= free - kept - CENTS
            assert price.low_cents <= free - near.kept.margin_cents + CENTS
        return near.kept.margin_cents < kept - CENTS

    assert any(each(weeks("rules"), 12, check))


def squash_or_rice(price_cents: float | None) -> tuple[Week, Plan]:
    """Soup at 10 a portion, stew at 8; the rule bars soup on Monday. Kale costs the same."""
    kale = ingredient("kale", Form.LOOSE, keeps_days=3)
    dishes = [
        dish("soup", line("kale", 400), price_cents=1000),
        dish("stew", line("kale", 400), price_cents=800),
    ]
    rule = {"kind": "bar", "dish": "soup", "day": MON, "price_cents": price_cents}
    other = {"kind": "bar", "dish": "stew", "day": TUE}
    rules = (parse_rule(rule), parse_rule(other))
    week = Week(cafe(dishes, [kale], [MON]), rules, MON, FRI, 1)
    plan = plan_week(week, Effort(work=1)).plan
    assert plan is not None and plan.status == "optimal"
    return week, plan


def test_a_price_worked_out_in_the_head() -> None:
    """Four portions of soup on Monday take 40.00, of stew 32.00: the bar costs 8.00."""
    price = price_of_rule(*squash_or_rice(None), 0)
    assert price.exact and price.low_cents == pytest.approx(800)
    assert price.sentence == f"Without “{price.title}” this week could earn $8.00 more."


def test_what_a_priced_rule_is_paid_is_gained_without_it() -> None:
    """At 3.00 a breach soup is served all the same: the rule costs 3.00."""
    price = price_of_rule(*squash_or_rice(300), 0)
    assert price.exact and price.low_cents == pytest.approx(300)


def test_a_rule_that_asks_nothing_says_so() -> None:
    """It bars a dish on a day outside the week."""
    price = price_of_rule(*squash_or_rice(None), 1)
    assert (price.low_cents, price.high_cents, price.exact) == (0, 0, True)
    assert "asks nothing" in price.sentence


def test_a_rule_that_is_kept_anyway_costs_nothing_and_that_is_proven() -> None:
    week, plan = squash_or_rice(None)
    bar = parse_rule({"kind": "bar", "dish": "stew", "day": MON})
    week = replace(week, rules=(bar,))
    plan = plan_week(week, Effort(work=1)).plan or plan
    price = price_of_rule(week, plan, 0)
    assert price.exact and price.high_cents <= 1
    assert "no week without it earns more" in price.sentence


def test_stopped_early_it_promises_nothing() -> None:
    week, plan = squash_or_rice(None)
    stop = threading.Event()
    stop.set()
    price = price_of_rule(week, plan, 0, stop=stop)
    told(price)
    assert price.low_cents <= 800 <= price.high_cents


def test_what_cannot_be_asked_is_said() -> None:
    week, plan = squash_or_rice(None)
    with pytest.raises(ValueError, match="no rule number 2"):
        price_of_rule(week, plan, 2)
    barred = replace(week, rules=(parse_rule({"kind": "bar", "dish": "stew", "day": MON}),))
    with pytest.raises(ValueError, match="cannot be kept"):
        price_of_rule(barred, plan, 0)


def test_a_range_is_told_with_both_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a solver that proves little: the ends are what was found and what was proven."""
    week, plan = squash_or_rice(None)
    honest, slacks = Solver.solve, [0.0]

    def proves_little(self: Solver, *args: object, **named: object) -> object:
        solved = honest(self, *args, **named)  # type: ignore[arg-type]
        return replace(solved, bound=solved.bound + slacks[0])

    monkeypatch.setattr(Solver, "solve", proves_little)
    for slack, words in (
        (450.0, "between $8.00 and $12.50 more"),
        (math.inf, "at least $8.00 more; how much at most is not proven"),
    ):
        slacks[0] = slack
        price = price_of_rule(week, plan, 0)
        assert not price.exact and words in price.sentence
