"""The model's best week is the best of all weeks, on cafes small enough to try them all."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from optimiser.model import Model
from optimiser.planner import finished
from optimiser.solver import Limits, Solver
from optimiser.verify import verify
from optimiser.week import Week
from tests.brute_force import best_margin
from tests.generated_cafes import FEATURES, weeks

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
