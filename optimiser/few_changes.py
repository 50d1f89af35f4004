"""The best menu with a few cooks changed, solved exactly among the cooks that may come in."""

from __future__ import annotations

import math
import threading
from dataclasses import replace
from typing import TYPE_CHECKING

from optimiser.lp import Lp, Row
from optimiser.near import Ask, Near, Watched
from optimiser.neighbourhoods import held
from optimiser.progress import Report
from optimiser.solver import PROVEN_CENTS, Limits, Solved, Solver, Values

if TYPE_CHECKING:
    from optimiser.nearby import Nearby


def solve_few(
    near: Nearby,
    ask: Ask,
    seconds: float,
    start: Near | None,
    report: Report | None,
    stop: threading.Event | None,
) -> Near | None:
    """See `Nearby.few_changes`."""
    solver = Solver(_asked(near, ask), presolve=True)
    origin = start or near.kept
    assert origin is not None, "asked about a menu that cannot be kept"
    solver.restrict(_bounds(near, origin.values, ask))
    watch = Watched(report, origin.margin_cents)
    solved = solver.solve(
        Limits(seconds),
        start=start.values if start else None,
        stop=stop.is_set if stop else None,
        watch=watch.solving,
    )
    return _near(near, solved, ask)


def _asked(near: Nearby, ask: Ask) -> Lp:
    """The model with the rows of a question."""
    column = near.model.run_column
    without = {run.index for run in ask.without}
    own = {column[run.index]: 1.0 for run in near.menu if run.index not in without}
    rows = [*near.lp.rows, Row("near", own, float(len(own) - ask.changes), None)]
    if ask.must:
        rows.append(Row("must", {column[run.index]: 1.0 for run in ask.must}, 1.0, None))
    return replace(near.lp, rows=rows)


def _bounds(near: Nearby, values: Values, ask: Ask) -> dict[int, tuple[float, float]]:
    """Bounds: runs that may change, packs and pieces of what they use, and parts are free."""
    coming = {run.index for run in (*ask.among, *ask.must)}
    free = coming | {run.index for run in near.menu}
    bounds = held(near.model, values, free)
    vans = near.model.purchases.orders.values()
    bounds |= {j: (float(round(values[j])),) * 2 for j in vans}
    return bounds | {near.model.run_column[run.index]: (0.0, 0.0) for run in ask.without}


def _near(near: Nearby, solved: Solved, ask: Ask) -> Near | None:
    if solved.values is None or solved.margin is None:
        return None
    chosen = {
        run.index
        for run in near.model.runs
        if round(solved.values[near.model.run_column[run.index]]) == 1
    }
    there = {run.index for run in near.menu}
    runs = near.model.runs
    found = Near(
        enters=tuple(runs[n] for n in sorted(chosen - there)),
        leaves=tuple(runs[n] for n in sorted(there - chosen)),
        margin_cents=solved.margin,
        bound_cents=solved.bound,
        values=solved.values,
        among=frozenset(run.dish for run in ask.among),
    )
    return _agreed(near, found)


def _agreed(near: Nearby, found: Near) -> Near:
    """Its packs chosen once more, block by block: a bound below what comes of that is wrong."""
    again = near.weigh_all(found.enters, found.leaves)
    if again is None or again.margin_cents <= found.margin_cents + PROVEN_CENTS:
        return found
    wrong = again.margin_cents > found.bound_cents + PROVEN_CENTS
    bound = math.inf if wrong else found.bound_cents
    return replace(found, margin_cents=again.margin_cents, bound_cents=bound, values=again.values)
