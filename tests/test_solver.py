"""What a solver that is asked again and again promises each time."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest

from optimiser.lp import FAR, Lp
from optimiser.small_solver import SmallSolver
from optimiser.solver import Limits, Solver

LIMIT_SECONDS = 0.5


def knapsack() -> Lp:
    """Three columns of one row: 10 a + 6 b + 4 c with 5 a + 4 b + 3 c ≤ 8, whole."""
    lp = Lp()
    columns = [lp.column(name, 0, 1, integer=True) for name in "abc"]
    lp.row("room", list(zip(columns, (5.0, 4.0, 3.0), strict=True)), high=8.0)
    lp.earn(list(zip(columns, (10.0, 6.0, 4.0), strict=True)))
    return lp


def test_every_solve_has_the_whole_of_its_time() -> None:
    """HiGHS counts a linear model's time over all solves of one object; nobody may notice."""
    solver = Solver(knapsack(), relax=[0, 1, 2])
    started, solves = time.monotonic(), 0
    while time.monotonic() - started < 3 * LIMIT_SECONDS:
        solved = solver.solve(Limits(LIMIT_SECONDS))
        assert solved.margin == 14.5 and solved.bound == 14.5
        solves += 1
    assert solves > 3


def test_made_whole_again_it_answers_as_if_never_relaxed() -> None:
    relaxed = Solver(knapsack(), relax=[0, 1, 2])
    assert relaxed.solve(Limits()).margin == 14.5
    relaxed.make_whole([0, 1, 2])
    assert relaxed.solve(Limits()).margin == Solver(knapsack()).solve(Limits()).margin == 14.0


def test_nothing_is_proven_where_more_is_always_better() -> None:
    """Columns without an upper bound get one for HiGHS; values that reach it prove nothing."""
    lp = knapsack()
    endless = lp.column("endless")
    lp.earn([(endless, 1.0)])
    solved = Solver(lp).solve(Limits())
    assert math.isinf(solved.bound) and not solved.proven
    lp.high[endless] = 5.0
    assert Solver(lp).solve(Limits()).bound == pytest.approx(14.0 + 5.0)


def test_a_block_where_more_is_always_better_has_no_answer() -> None:
    lp = Lp()
    lp.earn([(lp.column("packs", integer=True), 1.0)])
    solver = SmallSolver(lp, [0], [{0: -1.0}])
    with pytest.raises(RuntimeError, match="no answer"):
        solver.solve(np.array([-math.inf]), np.array([0.0]))


def test_money_of_small_units_is_not_held_by_the_bound() -> None:
    """A pack for a hundred million cents, and a hundred wanted: the overspend is far over `FAR`."""
    lp = Lp()
    packs, over = lp.column("packs", 0, None, True), lp.column("over")
    lp.row("need", [(packs, 1.0)], low=100.0)
    lp.row("budget", [(packs, 1e8), (over, -1.0)], high=5.0)
    lp.earn([(packs, -1e8), (over, -1.0)])
    solved = Solver(lp).solve(Limits())
    assert solved.values is not None and solved.values[over] == pytest.approx(1e10 - 5)
    assert solved.proven
    alone = SmallSolver(lp, [packs, over], [row.terms for row in lp.rows])
    answer = alone.solve(np.array([100.0, -math.inf]), np.array([math.inf, 5.0]))
    assert answer is not None and answer[1] == pytest.approx([100.0, 1e10 - 5])


def test_a_need_beyond_the_bound_is_met() -> None:
    lp = Lp()
    grams = lp.column("grams")
    lp.row("need", [(grams, 1.0)], low=5 * FAR)
    lp.earn([(grams, -1.0)])
    assert Solver(lp).solve(Limits()).margin == pytest.approx(-5 * FAR)
