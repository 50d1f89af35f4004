"""The model's best week is the best of all weeks, on cafes small enough to try them all."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from optimiser.cafe import Cafe, Course, Cover, Dish, Form, Money, Supplier
from optimiser.finish import finished
from optimiser.model import Model
from optimiser.rules.money import PurchaseBudget
from optimiser.solver import Limits, Solver
from optimiser.verify import verify
from optimiser.week import Week
from tests.brute_force import best_margin
from tests.generated_cafes import FEATURES, FRI, MON, weeks
from tests.near_cafes import each
from tests.small_cafe import ingredient, line, offer

ROUNDING_CENTS = 4
"""Left, waste, appeal and breaches are each rounded against the plan, by less than 1."""

CRUMBS_CENTS = 1
"""Less than half a gram of a dish, expected to stay unsold, is not charged in the books."""


def compare(week: Week) -> None:
    """One week: model, brute force, plan, verifier."""
    model = Model(week)
    solved = Solver(model.lp).solve(Limits(gap_cents=0.01))
    best = best_margin(week)
    if best is None:
        assert solved.infeasible
        return
    assert solved.values is not None and solved.margin is not None
    assert solved.margin == pytest.approx(best, abs=0.02)
    assert solved.bound == pytest.approx(best, abs=0.02)
    plan = finished(model, solved.values, solved.bound)
    assert verify(plan, week).breaches == ()
    assert best - ROUNDING_CENTS <= plan.objective_cents <= best + CRUMBS_CENTS
    assert plan.bound_cents is not None and plan.objective_cents <= plan.bound_cents


@pytest.mark.parametrize("feature", FEATURES)
@settings(
    max_examples=25,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(data=st.data())
def test_the_best_week_is_the_best_of_all_weeks(feature: str, data: st.DataObject):
    compare(data.draw(weeks(feature)))


@st.composite
def newsvendor_weeks(draw: st.DrawFn) -> Week:
    """One dish of rice by the gram, shown one or two days, from one cook or two."""
    days = draw(st.integers(1, 2))
    low, middle, high = sorted(draw(st.tuples(*[st.integers(0, 20)] * 3)))
    table = draw(st.sampled_from([(), ((low, 0.2), (middle, 0.5), (high + 1, 0.3))]))
    rice = ingredient("rice", Form.DRY, keeps_days=365)
    step = draw(st.integers(1, 7))
    only = Dish(
        id="dish", name="dish", course="main", portions=1, portion_g=100, step_portions=step,
        min_portions=draw(st.integers(1, 5)), max_portions=draw(st.integers(7, 20)),
        hold_days=draw(st.integers(1, 2)), lines=(line("rice", 100),),
    )  # fmt: skip
    cafe = Cafe(
        name="Newsvendor",
        courses={"main": Course(slots=1, price_cents=400, take_up=0.5, portion_g=100)},
        money=Money(waste_cost_pct=draw(st.integers(0, 200))),
        ingredients={"rice": rice},
        suppliers={"mill": Supplier(id="mill", name="mill", delivers=frozenset(range(7)))},
        offers=(offer("rice", "mill", draw(st.integers(100, 3900))),),
        dishes={"dish": only},
        covers={day: Cover(expected=middle, low=low, high=high, chances=table) for day in range(2)},
    )
    return Week(cafe, (), MON, FRI, days)


@settings(max_examples=100, deadline=None, derandomize=True, database=None)
@given(week=newsvendor_weeks())
def test_the_step_below_or_above_the_par_is_the_best_of_all_portions(week: Week):
    """By itself, without whole packs, a dish earns most next to its newsvendor quantile."""
    best = best_margin(week)
    solved = Solver(Model(week).lp).solve(Limits(gap_cents=0.01))
    assert (best is None) == solved.infeasible
    assert best is None or solved.margin == pytest.approx(best, abs=0.02 + len(week.open_dates))


def test_a_budget_that_nobody_can_spend_changes_nothing() -> None:
    """The largest that may be written: it must neither be refused nor move the best week."""

    def check(week: Week) -> bool:
        free = Solver(Model(week).lp).solve(Limits(gap_cents=0.01))
        rich = replace(week, rules=(PurchaseBudget(budget_cents=10**9),))
        held = Solver(Model(rich).lp).solve(Limits(gap_cents=0.01))
        assert held.infeasible == free.infeasible
        if free.margin is None:
            return False
        assert held.margin == pytest.approx(free.margin, abs=0.02)
        assert held.bound == pytest.approx(free.bound, abs=0.02)
        return True

    assert any(each(weeks("two_packs"), 4, check))
