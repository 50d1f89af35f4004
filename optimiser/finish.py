"""From values of the model to a plan, its rules judged and its bound told; not yet verified."""

from __future__ import annotations

import math

from optimiser.accounts import with_rules
from optimiser.extract import extract
from optimiser.model import Model
from optimiser.plan import Plan
from optimiser.solver import Values
from optimiser.verify import ask_rules

MOST_SLIP_CENTS = 2.0
"""What tolerances of the solver may put between the best week and its bound."""


def finished(model: Model, values: Values, bound: float = math.inf) -> Plan:
    """The plan of a solution, rules judged, not yet verified."""
    plan = extract(model, values)
    answers = ask_rules(plan, model.week)
    plan = with_rules(plan, answers.results, answers.price_cents)
    return with_bound(plan, model.lp.value(values), bound)


def with_bound(plan: Plan, margin: float, bound: float) -> Plan:
    """The plan, its exact margin in cents known, with what was proven of all weeks."""
    if math.isinf(bound) or bound < margin - MOST_SLIP_CENTS:
        return plan  # a bound below a week in hand is wrong
    proven = bound - margin <= 1.0
    return plan.model_copy(
        update={
            # The books forgive crumbs that the model charges: a cent may come on top.
            "bound_cents": max(math.floor(bound + 1e-3), plan.objective_cents),
            "status": "optimal" if proven else "feasible",
        }
    )
