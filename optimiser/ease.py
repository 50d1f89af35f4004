"""A first week under hard rules that only whole packs and pieces decide.

A menu chosen with packs in fractions may break such a rule (a budget, room in the
fridge, things opened) once its packs are whole, however good it is. Then the rule gets
a price so high that breaking it never pays, the menu its packs, and neighbourhoods are
freed until nothing is broken: a week of the model as it is.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import replace

from optimiser.model import Model
from optimiser.neighbourhoods import ROUND_NODES, ROUND_SECONDS, Neighbourhoods, held
from optimiser.solver import Limits, Solver, Values

RULE_CENTS = 200_000.0
"""What giving up a whole rule is charged meanwhile."""

UNBROKEN = 1e-5
LEAST_GAIN_CENTS = 2_000.0
"""Of a round: only rules kept again matter here, not good weeks."""
MOST_ROUNDS = 200


def week_of_menu(
    model: Model,
    menu: Values,
    seed: int,
    seconds_left: Callable[[], float],
    stop: Callable[[], bool],
) -> Values | None:
    """A week of `model` that starts from the cooks of `menu`; None if none was found.

    Without a limit of time (`seconds_left` infinite) nothing depends on the clock.
    """
    week = model.week
    if not any(rule.lumpy and rule.price_cents is None for rule in week.rules):
        return None
    rules = tuple(
        rule.model_copy(update={"price_cents": RULE_CENTS * rule.share(week)})
        if rule.lumpy and rule.price_cents is None
        else rule
        for rule in week.rules
    )
    eased = Model(replace(week, rules=rules))
    given = _prices(model, eased)
    solver = Solver(eased.lp, seed, presolve=True)
    solver.restrict(
        {j: (float(round(menu[model.run_column[n]])),) * 2 for n, j in eased.run_column.items()}
    )
    found = solver.solve(Limits(seconds_left(), ROUND_NODES, gap=0.01), stop=stop)
    around = Neighbourhoods(eased, random.Random(seed))
    for _ in range(MOST_ROUNDS):
        if found.values is None or found.margin is None:
            return None
        if sum(found.values[j] for j in given) < UNBROKEN:
            return _back(model, eased, found.values)
        if stop() or seconds_left() < 0.2:
            return None
        _, free = around.choose(found.values)
        solver.restrict(held(eased, found.values, free))
        limits = Limits(_round_seconds(seconds_left()), ROUND_NODES, LEAST_GAIN_CENTS)
        tried = solver.solve(limits, start=found.values, stop=stop)
        better = tried.margin is not None and tried.margin > found.margin + LEAST_GAIN_CENTS
        around.learn(better, tried.closed(LEAST_GAIN_CENTS))
        found = tried if better else found
    return None


def _round_seconds(left: float) -> float:
    return left if math.isinf(left) else min(ROUND_SECONDS, left)


def _prices(model: Model, eased: Model) -> list[int]:
    """Columns of breach that only the eased model has."""
    known = set(model.lp.names)
    return [j for j, name in enumerate(eased.lp.names) if name not in known]


def _back(model: Model, eased: Model, values: Values) -> Values:
    """The same week in the columns of the model as it is."""
    place = {name: j for j, name in enumerate(eased.lp.names)}
    return [values[place[name]] for name in model.lp.names]

