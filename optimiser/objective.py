"""The week's margin in cents, as named money terms. Costs are negative."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optimiser.lp import Terms, scaled

if TYPE_CHECKING:
    from optimiser.model import Model


def money_terms(model: Model) -> dict[str, tuple[Terms, float]]:
    """Name -> (terms, constant). The names are those of `plan.TERMS`."""
    ledger = model.ledger
    runs = model.runs
    return {
        "takings": (model.run_terms((r, float(r.takings_cents)) for r in runs), 0.0),
        "purchases": (scaled(model.purchases.spend(), -1.0), 0.0),
        "delivery_fees": (scaled(model.purchases.fees(), -1.0), 0.0),
        "waste": (
            model.run_terms((r, -r.waste_cents) for r in runs) + scaled(ledger.waste, -1.0),
            -ledger.waste_constant,
        ),
        "left_value": (list(ledger.left), ledger.left_constant),
        "rule_breaches": (scaled(model.breach_cents, -1.0), 0.0),
        "appeal": (model.run_terms((r, r.appeal_cents) for r in runs), 0.0),
    }


def add_objective(model: Model) -> None:
    """Maximise the sum of the money terms."""
    for terms, constant in money_terms(model).values():
        model.lp.earn(terms, constant)
