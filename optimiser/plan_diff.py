"""What changed in the cabinet from one plan of a week to another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from optimiser.plan import Plan

Spot = tuple[date, str]
"""A day and a course."""


@dataclass(frozen=True)
class PlanDiff:
    """`fresh`: (day, dish) that were not there before. `gone`: by day and course, the
    dishes no longer there. `more_cents`: by how much the margin grew."""

    fresh: frozenset[tuple[date, str]]
    gone: Mapping[Spot, tuple[str, ...]]
    more_cents: int

    @property
    def count(self) -> int:
        """Places of the cabinet that hold another dish: those filled or those left empty,
        whichever are more."""
        return max(len(self.fresh), sum(len(dishes) for dishes in self.gone.values()))


def plan_diff(new: Plan, old: Plan) -> PlanDiff:
    """What `new` changed of `old`; which place in the row a dish has is no change."""
    before = {(row.date, row.dish): row.course for row in old.shown}
    after = {(row.date, row.dish) for row in new.shown}
    gone: dict[Spot, tuple[str, ...]] = {}
    for (day, dish), course in before.items():
        if (day, dish) not in after:
            gone[day, course] = (*gone.get((day, course), ()), dish)
    return PlanDiff(
        fresh=frozenset(after - before.keys()),
        gone=gone,
        more_cents=new.objective_cents - old.objective_cents,
    )
