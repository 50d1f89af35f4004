"""Menus of tiny cafes and what the whole model earns with each: what the blocks and the
neighbourhoods of a plan are held against.

HiGHS solves the whole model here with some columns held; nothing of `blocks` or `nearby` is
used. Boards that `nearby` should look at come from `brute_force`.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TypeVar

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.strategies import SearchStrategy

from optimiser.finish import finished
from optimiser.lp import Lp
from optimiser.model import Model
from optimiser.plan import Plan
from optimiser.solver import Limits, Solver, Values
from optimiser.verify import verify
from optimiser.week import Week
from tests.brute_force import BruteForce

Seen = TypeVar("Seen")
Held = Mapping[int, float]
"""Columns that are held, and at what."""

CENTS = 0.03
"""What two solves of one week may differ by."""

BOARD_ROWS = ("slots__", "once__", "one_cook__", "least__", "some__", "only_if__", "most__")


def each(
    strategy: SearchStrategy[Week], examples: int, check: Callable[[Week], Seen]
) -> list[Seen]:
    """What `check` says of each of so many weeks, the same ones every time."""
    seen: list[Seen] = []

    @settings(
        max_examples=examples,
        deadline=None,
        derandomize=True,
        database=None,
        phases=[Phase.generate],  # they are small as they are
        suppress_health_check=list(HealthCheck),
    )
    @given(week=strategy)
    def run(week: Week) -> None:
        seen.append(check(week))

    run()
    return seen


class Whole:
    """The whole model, asked again and again with other columns held."""

    def __init__(self, lp: Lp) -> None:
        self._lp, self._solver = lp, Solver(lp)
        self._free = {
            j: (low, math.inf if high is None else high)
            for j, (low, high) in enumerate(zip(lp.low, lp.high, strict=True))
        }

    def best(self, held: Held) -> tuple[float, Values] | None:
        """Cents and columns of the best week; None: proven that there is none."""
        if any(not _within(self._lp, j, value) for j, value in held.items()):
            return None
        self._solver.restrict(self._free | {j: (value, value) for j, value in held.items()})
        solved = self._solver.solve(Limits(gap_cents=0.005))
        if solved.values is None:
            assert solved.infeasible
            return None
        return self._lp.value(solved.values), solved.values


def whole(lp: Lp, held: Held) -> tuple[float, Values] | None:
    """The best of the whole model with columns held."""
    return Whole(lp).best(held)


def _within(lp: Lp, column: int, value: float) -> bool:
    high = lp.high[column]
    return lp.low[column] <= value and (high is None or value <= high)


def settled(model: Model) -> list[int]:
    """Columns of cooks, cooked parts and vans."""
    parts = [*model.extra.values(), *model.steps.values()]
    return [*model.run_column.values(), *parts, *model.purchases.orders.values()]


def random_board(model: Model, dice: random.Random) -> Held | None:
    """Places filled and parts cooked by the dice, whatever rules and larder say; vans by the
    dice too. None if the places cannot be filled."""
    rows = [row for row in model.lp.rows if row.name.startswith(BOARD_ROWS)]
    board = replace(odd(model.lp, dice), rows=rows)
    held = settled(model)
    free = [j for j in range(len(board.names)) if j not in held]
    found = whole(board, {j: board.low[j] for j in free})
    if found is None:
        return None
    vans = {j: float(dice.random() < 0.7) for j in model.purchases.orders.values()}
    return {j: float(round(found[1][j])) for j in held} | vans


def random_week(model: Model, dice: random.Random) -> Values | None:
    """Any week that keeps all rows: the best where columns are worth something else."""
    found = whole(odd(model.lp, dice), {})
    return None if found is None else found[1]


def random_plan(week: Week, dice: random.Random) -> Plan | None:
    """A plan of any week, verified."""
    model = Model(week)
    values = random_week(model, dice)
    if values is None:
        return None
    plan = finished(model, values)
    return plan.model_copy(update={"verified": True}) if verify(plan, week).passed else None


def odd(lp: Lp, dice: random.Random) -> Lp:
    """The same rows, other worths; nothing unbounded earns."""
    gain = [g + dice.uniform(-400, 400) for g in lp.gain]
    endless = [high is None for high in lp.high]
    return replace(lp, gain=[min(g, own) if no else g for g, own, no in
                             zip(gain, lp.gain, endless, strict=True)])  # fmt: skip


def all_menus(week: Week, model: Model) -> list[frozenset[int]]:
    """Every way to fill the places with runs of the model, by run numbers."""
    numbers = {(r.dish, r.cook_day, r.shown, r.portions): r.index for r in model.runs}
    menus = []
    for menu in BruteForce(week)._menus():
        runs = [numbers.get((b.dish, b.day, b.shown, b.sold)) for b in menu]
        if None not in runs:
            menus.append(frozenset(number for number in runs if number is not None))
    return menus
