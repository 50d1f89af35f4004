"""A first menu: one day's cooks at a time, everything later still in fractions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from optimiser.lp import Handed
from optimiser.model import Model
from optimiser.solver import Limits, Solver, Values


@dataclass(frozen=True)
class Care:
    """How closely a first menu is chosen: runs that take part, relative gaps, nodes."""

    runs: int
    menu_gap: float
    packs_gap: float
    packs_nodes: int
    menu_nodes: int = 30


QUICK = Care(runs=300, menu_gap=0.02, packs_gap=0.03, packs_nodes=1)
CAREFUL = Care(runs=1500, menu_gap=0.003, packs_gap=0.009, packs_nodes=30)

LimitsFor = Callable[[int | None, float], Limits]
"""Limits of one solve from its nodes and relative gap."""


def day_by_day(
    model: Model,
    seed: int,
    care: Care,
    limits: LimitsFor,
    stop: Callable[[], bool],
    handed: Handed | None = None,
) -> Values | None:
    """Choose one day's cooks at a time; later days, packs and vans in fractions.

    Only runs that look promising in the model relaxed throughout take part. A day that
    cannot be filled after the days before it is chosen again with the day before, then
    with two days before, and so on. None if that does not help, or if stopped. `handed`: the
    model, if it was handed over before.
    """
    whole = [j for j, integer in enumerate(model.lp.integer) if integer]
    solver = Solver(model.lp, seed, relax=whole, presolve=True, handed=handed)
    relaxed = solver.solve(limits(None, 0.0), stop=stop)
    if relaxed.values is None:
        return None
    shut = _unpromising(model, relaxed.values, solver.reduced_costs(), care.runs)
    solver.restrict(shut)
    parts = [*model.extra.items(), *model.steps.items()]
    chosen: Values | None = None
    cooks: list[list[int]] = []
    for day in model.week.open_dates:
        cooks.append([model.run_column[r.index] for r in model.runs if r.cook_day == day])
        solver.make_whole([*cooks[-1], *(column for (_, d), column in parts if d == day)])
        chosen = solver.solve(limits(care.menu_nodes, care.menu_gap), stop=stop).values
        for earlier in reversed(cooks[:-1]):
            if chosen is not None or stop():
                break
            solver.restrict({j: shut.get(j, (0.0, model.lp.high[j] or 0.0)) for j in earlier})
            chosen = solver.solve(limits(care.menu_nodes, care.menu_gap), stop=stop).values
        if chosen is None:
            return None
        held = [j for runs in cooks for j in runs]
        solver.restrict({j: (float(round(chosen[j])),) * 2 for j in held})
    return chosen


def _unpromising(
    model: Model, relaxed: Values, costs: Values, most: int
) -> dict[int, tuple[float, float]]:
    """Bounds that shut out all runs but those in use or with the least reduced cost."""
    live = [j for j in model.run_column.values() if model.lp.high[j] != 0]
    live.sort(key=lambda j: (relaxed[j] < 1e-7, costs[j], j))
    return {j: (0.0, 0.0) for j in live[most:]}
