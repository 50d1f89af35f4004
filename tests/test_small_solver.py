"""HiGHS finds the best of little larders, and proves it: every number of packs is tried.

Like a block of the larder: packs in endless numbers, stock lots with lives of their own, needs
that only some of the days can serve, and the rows of intervals that follow. Some versions of
HiGHS called worse answers best on models like these.
"""

from __future__ import annotations

import json
import math
import random
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from optimiser.lp import Lp, Terms
from optimiser.model import Model
from optimiser.small_solver import SmallRelaxed, SmallSolver
from optimiser.solver import Limits, Solver
from optimiser.week import Week
from tests.brute_lots import Gives, Need, kept_cents
from tests.generated_cafes import FEATURES, weeks
from tests.near_cafes import each, random_week

DAYS = [date(2026, 1, 5) + timedelta(days=n) for n in range(4)]
CENTS = 0.01
MOST_PACKS = 20.0
"""More than any larder here needs."""


@dataclass(frozen=True)
class Pack:
    """Comes on `day`, good so many days; as many as one likes."""

    day: int
    grams: float
    cents: float
    life: int


@dataclass(frozen=True)
class Larder:
    """One thing: how it comes, what is there, where it is needed, what a gram kept is worth.

    `budget_cents`: all packs together; `van_cents`: once, if any pack comes.
    """

    packs: tuple[Pack, ...]
    lots: tuple[Gives, ...]
    needs: tuple[tuple[Need, float], ...]
    worth: float
    budget_cents: float
    van_cents: float

    def gives(self, counts: tuple[int, ...]) -> list[Gives]:
        bought = [
            Gives(DAYS[p.day], DAYS[p.day] + timedelta(days=p.life - 1), n * p.grams, self.worth)
            for p, n in zip(self.packs, counts, strict=True)
        ]
        return [*self.lots, *bought]


def random_larder(dice: random.Random) -> Larder:
    life = dice.choice([1, 2, 3, 9])
    packs = tuple(
        Pack(dice.randrange(3), dice.choice([200.0, 400.0, 500.0, 1000.0]),
             float(dice.choice([99, 150, 200, 330, 420])), life)
        for _ in range(dice.randint(1, 3))
    )  # fmt: skip
    lots = tuple(
        Gives(DAYS[0], DAYS[dice.randrange(4)], float(dice.choice([150, 400, 700])), dice.choice(
            [0.0, 0.1, 0.3])) for _ in range(dice.randint(0, 2))
    )  # fmt: skip
    needs = []
    for _ in range(dice.randint(1, 3)):
        used = dice.randrange(4)
        until = dice.randrange(used, min(4, used + life))
        needs.append(((DAYS[used], DAYS[until]), float(dice.choice([125, 300, 475, 800, 1200]))))
    budget = dice.choice([math.inf, math.inf, 500.0, 1000.0])
    cheapest = min(p.cents / p.grams for p in packs)  # or endless packs would be bought to keep
    worth = cheapest * dice.choice([0.0, 0.3, 0.8])
    return Larder(packs, lots, tuple(needs), worth, budget, dice.choice([0.0, 250.0]))


def best_by_trying(larder: Larder) -> float | None:
    """Cents of the best numbers of packs, all of them tried; None if none will do."""
    total = sum(grams for _, grams in larder.needs)
    best: float | None = None
    for counts in product(*(range(math.ceil(total / p.grams) + 1) for p in larder.packs)):
        cents = sum(n * p.cents for n, p in zip(counts, larder.packs, strict=True))
        kept = kept_cents(larder.gives(counts), larder.needs)
        if kept is None or cents > larder.budget_cents:
            continue
        gain = kept - cents - (larder.van_cents if any(counts) else 0.0)
        best = gain if best is None else max(best, gain)
    return best


def as_model(larder: Larder) -> Lp:
    """Flows from lots and packs to needs; rows of intervals besides, as in the larder."""
    lp = Lp()
    counts = [lp.column(f"packs__{n}", 0, None, True) for n in range(len(larder.packs))]
    van = lp.column("van", 0, 1, True)
    lp.earn([(j, -p.cents) for j, p in zip(counts, larder.packs, strict=True)])
    lp.earn([(van, -larder.van_cents)])
    served: list[Terms] = [[] for _ in larder.needs]
    for n, lot in enumerate(larder.gives((1,) * len(larder.packs))):
        out: Terms = []
        for m, ((used, until), _) in enumerate(larder.needs):
            if lot.first <= used and until <= lot.last:
                flow = lp.column(f"from__{n}__{m}")
                out.append((flow, 1.0))
                served[m].append((flow, 1.0))
        lp.earn([(j, -c * lot.worth) for j, c in out])
        pack = n - len(larder.lots)
        if pack < 0:
            lp.row(f"lot__{n}", out, high=lot.grams)
            lp.earn([], lot.grams * lot.worth)
        else:
            lp.row(f"pack__{n}", [*out, (counts[pack], -lot.grams)], high=0.0)
            lp.earn([(counts[pack], lot.grams * lot.worth)])
            lp.row(f"van__{n}", [(counts[pack], 1.0), (van, -MOST_PACKS)], high=0.0)
    for m, (_, grams) in enumerate(larder.needs):
        lp.row(f"need__{m}", served[m], low=grams, high=grams)
    _add_intervals(lp, larder, counts)
    if not math.isinf(larder.budget_cents):
        spent = [(j, p.cents) for j, p in zip(counts, larder.packs, strict=True)]
        lp.row("budget", spent, high=larder.budget_cents)
    return lp


def _add_intervals(lp: Lp, larder: Larder, counts: list[int]) -> None:
    """What packs of the days from a to b and all lots must give: the needs that only they serve."""
    life = timedelta(days=larder.packs[0].life - 1)
    spare = sum(lot.grams for lot in larder.lots)
    for a in range(4):
        for b in range(a, 4):
            inside = sum(
                grams
                for (used, until), grams in larder.needs
                if DAYS[a] <= until - life and used <= DAYS[b]
            )
            came = [
                (j, p.grams) for j, p in zip(counts, larder.packs, strict=True) if a <= p.day <= b
            ]
            if came:
                lp.row(f"cover__{a}_{b}", came, low=inside - spare)


def small(lp: Lp) -> tuple[SmallSolver, np.ndarray, np.ndarray]:
    low = np.array([-math.inf if row.low is None else row.low for row in lp.rows])
    high = np.array([math.inf if row.high is None else row.high for row in lp.rows])
    rows = [row.terms for row in lp.rows]
    return SmallSolver(lp, list(range(len(lp.names))), rows), low, high


@pytest.mark.parametrize("seed", range(12))
def test_both_solvers_find_the_best_of_all_larders(seed: int) -> None:
    dice = random.Random(seed)
    without_packs = impossible = 0
    for _ in range(40):
        larder = random_larder(dice)
        best, lp = best_by_trying(larder), as_model(larder)
        solver, low, high = small(lp)
        assert solver.fits(low, high) == (best is not None)
        answer = solver.solve(low, high)
        solved = Solver(lp).solve(Limits(gap_cents=0.001))
        if best is None:
            assert answer is None and solved.infeasible
            impossible += 1
            continue
        assert answer is not None and solved.values is not None
        assert answer[0] + lp.constant == pytest.approx(best, abs=CENTS)
        assert lp.value(answer[1]) == pytest.approx(best, abs=CENTS)
        assert lp.worst_breach(answer[1]) <= 1e-5
        assert solved.margin == pytest.approx(best, abs=CENTS)
        assert solved.bound == pytest.approx(best, abs=CENTS)
        without_packs += all(round(answer[1][n]) == 0 for n in range(len(larder.packs)))
    assert 0 < impossible and 0 < without_packs and without_packs + impossible < 40


@pytest.mark.parametrize("seed", range(4))
def test_no_larder_is_better_than_in_fractions_and_slopes_bound_what_other_needs_bring(
    seed: int,
) -> None:
    dice = random.Random(seed)
    met = impossible = 0
    for _ in range(40):
        larder = random_larder(dice)
        lp = as_model(larder)
        _, low, high = small(lp)
        rows = [row.terms for row in lp.rows]
        relaxed = SmallRelaxed(lp, list(range(len(lp.names))), rows)
        most, best = relaxed.solve(low, high), best_by_trying(larder)
        assert most is not None or best is None
        impossible += most is None
        if most is None:
            continue
        factor = dice.choice([0.4, 0.5, 0.8])  # more could be above MOST_PACKS
        moved = replace(larder, needs=tuple((when, factor * g) for when, g in larder.needs))
        assert best is None or best <= most[0] + lp.constant + CENTS
        _, low_then, high_then = small(as_model(moved))
        less = np.where(np.isfinite(low), low, high) - np.where(
            np.isfinite(low_then), low_then, high_then
        )
        then = best_by_trying(moved)
        if then is not None:
            assert then <= most[0] + lp.constant + float(most[1] @ less) + CENTS
            met += 1
    assert met and impossible


def test_one_solver_answers_as_well_for_other_needs() -> None:
    """Limits come and go; what was asked before leads nowhere."""
    dice = random.Random(99)
    found = impossible = 0
    for _ in range(30):
        larder = random_larder(dice)
        solver, low, high = small(as_model(larder))
        first = solver.solve(low, high)
        for _ in range(4):
            grams = [float(dice.choice([125, 300, 650, 1100])) for _ in larder.needs]
            needs = tuple((need, g) for (need, _), g in zip(larder.needs, grams, strict=True))
            other = replace(larder, needs=needs)
            best, lp = best_by_trying(other), as_model(other)
            answer = solver.solve(*small(lp)[1:])
            assert (answer is None) == (best is None)
            impossible += best is None
            if answer is not None:
                assert answer[0] + lp.constant == pytest.approx(best, abs=CENTS)
                found += 1
        again = solver.solve(low, high)
        assert (again is None) == (first is None)
        assert again is None or first is None or again[0] == pytest.approx(first[0], abs=CENTS)
    assert found and impossible


@pytest.mark.parametrize("feature", FEATURES)
def test_a_start_does_not_change_what_is_best(feature: str) -> None:
    """HiGHS 1.16 valued some start solutions wrongly and stopped at them."""

    def check(week: Week) -> bool:
        model, dice = Model(week), random.Random(3)
        best = Solver(model.lp).solve(Limits(gap_cents=0.01))
        starts = [week for _ in range(2) if (week := random_week(model, dice)) is not None]
        for start in starts:
            solved = Solver(model.lp).solve(Limits(gap_cents=0.01), start=start)
            assert solved.margin == pytest.approx(best.margin, abs=0.05)
            assert solved.bound == pytest.approx(best.margin, abs=0.05)
        return bool(starts)

    assert any(each(weeks(feature), 5, check))


def stored_block(name: str) -> Lp:
    stored = json.loads((Path(__file__).parent / "data" / name).read_text())
    lp = Lp()
    for number, column in enumerate(stored["columns"]):
        lp.column(f"column__{number}", column["low"], column["high"], column["integer"])
        lp.earn([(number, column["gain"])])
    for number, row in enumerate(stored["rows"]):
        lp.row(f"row__{number}", row["terms"], row["low"], row["high"])
    return lp


def test_the_best_of_a_block_is_not_cut_off() -> None:
    """Squash for a part and a dish that give: with presolve on and probing off, HiGHS 1.15.1 adds
    twelve cuts, finds nothing left, and calls a loss of 930.05 the least; it is 339.50."""
    lp = stored_block("block_cut_off.json")
    solver, low, high = small(lp)
    answer = solver.solve(low, high)
    assert answer is not None and lp.worst_breach(answer[1]) <= 1e-6
    assert answer[0] == pytest.approx(-339.5, abs=0.01)


def test_the_best_of_tins_and_cases_is_found() -> None:
    """Nine tins are wanted, in cases of six for $95.54, or singly: a case, a carton of tins for
    $9.50 and five of those at $14.34 are enough. With presolve on and only probing and enumeration
    off, HiGHS 1.13 calls two cases for $14.34 more the best."""
    lp = stored_block("block_cases.json")
    known = [90.0, 0.0, 794.3588, 1.0, 1.0, 0.0, 0.0, 4.0, 0.0, 5.0, 0.0]
    assert lp.worst_breach(known) <= 1e-9
    solver, low, high = small(lp)
    answer, solved = solver.solve(low, high), Solver(lp).solve(Limits(gap_cents=0.001))
    assert answer is not None and solved.margin is not None
    assert lp.worst_breach(answer[1]) <= 1e-6
    assert answer[0] == pytest.approx(lp.value(known), abs=0.01)
    assert solved.margin == pytest.approx(lp.value(known), abs=0.01)
    assert solved.bound == pytest.approx(lp.value(known), abs=0.01)
