"""Rows over intervals of days mean the same as explicit flows from supplies to needs."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import combinations, product
from random import Random

import numpy as np
import pytest
from scipy.optimize import linprog

from optimiser.cover_rows import Cover, Need, Source
from optimiser.lp import Lp
from optimiser.solver import Limits, Solver

MON = date(2026, 1, 5)


def day(n: int) -> date:
    """Day number n."""
    return MON + timedelta(days=n)


def every_need(days: int, beyond: int = 1) -> list[Need]:
    """All needs of a horizon, some of which must stay good after it."""
    return [(day(c), day(e)) for c in range(days) for e in range(c, days + beyond)]


def served(need: Need, first: date, last: date) -> bool:
    """What serving means: there on the day of use, good until the end."""
    return first <= need[0] and need[1] <= last


def rows_hold(
    life: int, needs: list[Need], supply_days: list[date], amounts: np.ndarray
) -> np.ndarray:
    """Whether the rows of `Cover` hold; amounts: one line per case, needs then supplies."""
    lp, cover = Lp(), Cover("squash", life)
    columns = [lp.column(f"x{n}") for n in range(len(needs) + len(supply_days))]
    for need, column in zip(needs, columns, strict=False):
        cover.need(need, [(column, 1.0)])
    for supply_day, column in zip(supply_days, columns[len(needs) :], strict=True):
        cover.supply(supply_day, [(column, 1.0)])
    cover.add_rows(lp)
    holds = np.ones(len(amounts), dtype=bool)
    for row in lp.rows:
        assert row.low is None and row.high is not None
        total = sum(c * amounts[:, j] for j, c in row.terms.items())
        holds &= total <= row.high + 1e-9
    return holds


def hall_holds(
    life: int, needs: list[Need], supply_days: list[date], amounts: np.ndarray
) -> np.ndarray:
    """Hall's condition for every set of needs, which is max-flow by min-cut."""
    holds = np.ones(len(amounts), dtype=bool)
    for chosen in product([0, 1], repeat=len(needs)):
        wanted = [n for n, one in enumerate(chosen) if one]
        reach = [
            len(needs) + s
            for s, born in enumerate(supply_days)
            if any(served(needs[n], born, born + timedelta(days=life - 1)) for n in wanted)
        ]
        holds &= amounts[:, wanted].sum(axis=1) <= amounts[:, reach].sum(axis=1)
    return holds


def small_cases(days: int, together: int) -> Iterator[tuple[int, list[Need]]]:
    """Every life up to 4 days with every choice of so many needs."""
    for life in range(1, 5):
        for needs in combinations(every_need(days), together):
            yield life, list(needs)


@pytest.mark.parametrize(
    ("days", "together", "most"), [(3, 3, 2), (4, 2, 2), (4, 3, 1), (5, 2, 2), (5, 3, 1)]
)
def test_all_small_integer_cases_agree_with_max_flow(days: int, together: int, most: int):
    supplies = list(product(range(most + 1), repeat=days))
    wanted = list(product(range(1, 3), repeat=together))
    amounts = np.array([(*w, *s) for w in wanted for s in supplies], dtype=float)
    supply_days = [day(n) for n in range(days)]
    yes = no = 0
    for life, needs in small_cases(days, together):
        by_rows = rows_hold(life, needs, supply_days, amounts)
        by_flow = hall_holds(life, needs, supply_days, amounts)
        assert (by_rows == by_flow).all(), (life, needs)
        yes, no = yes + by_flow.sum(), no + (~by_flow).sum()
    assert yes > 100 and no > 100


def test_supplies_on_some_days_only_agree_with_max_flow():
    amounts = np.array(list(product((1.0, 2.0), repeat=3)) * 9, dtype=float)
    supplies = np.repeat(np.array(list(product((0.0, 1.0, 3.0), repeat=2))), 8, axis=0)
    amounts = np.hstack([amounts, supplies])
    for life, needs in small_cases(4, 3):
        for days in ([day(0), day(3)], [day(1), day(2)]):
            by_rows = rows_hold(life, needs, days, amounts)
            assert (by_rows == hall_holds(life, needs, days, amounts)).all(), (life, needs, days)


Lot = tuple[date, date, float]
"""First day, last day, grams."""


def random_case(seed: int) -> tuple[int, dict[Need, float], dict[date, float], list[Lot]]:
    """Life, needs, supplies of that life, lots of their own lives."""
    draw = Random(seed)
    days = draw.randint(2, 6)
    needs = draw.sample(every_need(days, 2), draw.randint(1, min(6, days)))
    supply_days = draw.sample(range(days), draw.randint(0, days))
    lots = []
    for _ in range(draw.randint(0, 3)):
        first = draw.randrange(days)
        lots.append((day(first), day(draw.randint(first, days + 1)), draw.randint(0, 6) * 50.0))
    return (
        draw.randint(1, 5),
        {need: draw.randint(1, 5) * 50.0 for need in needs},
        {day(n): draw.randint(0, 6) * 50.0 for n in supply_days},
        lots,
    )


def flow_exists(life: int, needs: dict[Need, float], lots: list[Lot]) -> bool:
    """Explicit flows from every lot to every need it can serve, by scipy."""
    pairs = [
        (n, k)
        for n, need in enumerate(needs)
        for k, (first, last, _) in enumerate(lots)
        if served(need, first, last)
    ]
    into, out = np.zeros((len(needs), len(pairs))), np.zeros((len(lots), len(pairs)))
    for p, (n, k) in enumerate(pairs):
        into[n, p] = out[k, p] = 1.0
    if not pairs:
        return False
    grams = [lot[2] for lot in lots]
    result = linprog(
        np.zeros(len(pairs)), A_eq=into, b_eq=list(needs.values()), A_ub=out, b_ub=grams
    )
    return bool(result.status == 0)


def cover_of(
    lp: Lp, life: int, needs: dict[Need, float], supplies: dict[date, float], lots: list[Lot]
) -> Cover:
    """The case as a `Cover`, every number a fixed column or a constant by turns."""
    cover = Cover("squash", life)
    for n, (need, grams) in enumerate(needs.items()):
        cover.need(need, [(lp.column(f"need{n}", grams, grams), 1.0)])
    for n, (born, grams) in enumerate(supplies.items()):
        if n % 2:
            cover.supply(born, [], grams)
        else:
            cover.supply(born, [(lp.column(f"supply{n}", grams, grams), 1.0)])
    for n, (first, last, grams) in enumerate(lots):
        if n % 2:
            cover.sources.append(Source(f"lot{n}", first, last, grams))
        else:
            column = lp.column(f"lot{n}", grams, grams)
            cover.sources.append(Source(f"lot{n}", first, last, 0.0, [(column, 1.0)]))
    cover.add_rows(lp)
    return cover


def test_lots_of_own_lives_agree_with_explicit_flow():
    answers = []
    for seed in range(250):
        life, needs, supplies, lots = random_case(seed)
        lp = Lp()
        cover_of(lp, life, needs, supplies, lots)
        by_rows = not Solver(lp).solve(Limits()).infeasible
        every = [(born, born + timedelta(days=life - 1), g) for born, g in supplies.items()]
        assert by_rows == flow_exists(life, needs, every + lots), seed
        answers.append(by_rows)
    assert 40 < sum(answers) < 210, "both answers are common"


def test_what_a_lot_gives_is_its_flows():
    lp, cover = Lp(), Cover("squash", 2)
    cover.need((day(1), day(1)), [(lp.column("need", 400, 400), 1.0)])
    cover.supply(day(0), [], 300)
    cover.sources.append(Source("half", day(0), day(1), 250))
    cover.add_rows(lp)
    lp.earn(cover.drawn["half"], 0.0)
    assert Solver(lp).solve(Limits()).margin == pytest.approx(250)
    lp.gain = [-gain for gain in lp.gain]
    assert Solver(lp).solve(Limits()).margin == pytest.approx(-100)


def test_unequal_lives_break_the_interval_condition():
    """Why lots of their own lives need flows: nested lives leave a gap (see cover_rows).

    A lot good on Tuesday only sits inside one good from Monday to Wednesday. Needs of
    100 g on Monday and on Wednesday: together the lots hold 200 g, and every interval
    of days finds enough grams alive in it, yet the Tuesday lot serves neither.
    """
    needs = {(day(0), day(0)): 100.0, (day(2), day(2)): 100.0}
    lots = [(day(0), day(2), 100.0), (day(1), day(1), 100.0)]
    for a, b in [(0, 0), (2, 2), (0, 2)]:
        wanted = sum(g for (c, e), g in needs.items() if day(a) <= c and e <= day(b))
        assert wanted <= sum(g for first, last, g in lots if first <= day(b) and last >= day(a))
    assert not flow_exists(3, needs, lots)
    lp = Lp()
    cover_of(lp, 3, needs, {}, lots)
    assert Solver(lp).solve(Limits()).infeasible
