"""Published answers to optimisation problems, from the real planner.

Sources
- H. M. Wagner, T. M. Whitin, "Dynamic version of the economic lot size model",
  Management Science 5 (1958), the example of 12 periods: 864. Also solved by
  stockpyl 1.0.2.
- stockpyl's own example of 4 periods: 1380, orders 210, 0, 150, 0 (run).
- Perishable lot sizing, life of 2 periods: 8630 (computed: an age-indexed program
  and a dynamic program agree; another dynamic program stands here).
- Newsvendor, discrete and normal: stockpyl's documentation examples.
- scipy: its own mixed-integer solver, as a second opinion on small weeks.
- Stigler's diet of 1939 as a linear program, 77 foods and 9 nutrients: google/or-tools,
  `stigler_diet.py` (Apache 2.0), kept in `tests/data/stigler_diet.csv`; 39.6617 a year.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.stats import norm

from optimiser import demand
from optimiser.cafe import Cover, Form, Ingredient, Supplier
from optimiser.lp import Lp
from optimiser.model import Model
from optimiser.solver import Limits, Solver
from optimiser.week import Week
from tests.outside.bench import DATA, Planned, table
from tests.outside.lots import (
    CENTS,
    best_week,
    day,
    lot_sizing,
    newsvendor_week,
    one_dish_week,
    one_offer,
    surely,
)

TOPIC, STOCKPYL = "optimum", "stockpyl 1.0.2"
DEMANDS = [69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56]
SET_UP = [85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114]


def test_wagner_and_whitin_1958(main_job):
    cost, found = lot_sizing(DEMANDS, SET_UP, 1)
    main_job(found.plan, TOPIC, "Wagner and Whitin 1958", "12 periods, least cost", 864, cost,
             within=0.05)  # fmt: skip


@cache
def four_periods() -> tuple[float, Planned]:
    return lot_sizing([90, 120, 80, 70], [500] * 4, 2)


def test_lot_sizing_of_four_periods(main_job):
    cost, found = four_periods()
    main_job(found.plan, TOPIC, STOCKPYL, "4 periods, least cost", 1380, cost, within=0.05)


def test_orders_of_four_periods(main_job):
    _, found = four_periods()
    packs = {r["deliver_on"]: r["packs"] for r in found.rows("order", line="goods")}
    ours = " ".join(str(packs.get(day(n), 0)) for n in range(4))
    main_job(found.plan, TOPIC, STOCKPYL, "4 periods, the order list", "210 0 150 0", ours)


PERISHABLE = (33, 21, 63, 32, 13, 17, 53, 15)
CASE, FEE, PRICE, COST = 12, 200, 75, 35


def perishable_by_dynamic_program() -> int:
    """Best profit: fresh units carried one day on, older ones lost, sales lost allowed.

    Old units are sold first; a day's state is the units delivered the day before and
    not yet sold.
    """

    @cache
    def best(t: int, old: int) -> int:
        if t == len(PERISHABLE):
            return 0
        rest = sum(PERISHABLE[t : t + 2])
        found = -(10**9)
        for cases in range(math.ceil(rest / CASE) + 1):
            spent = (FEE if cases else 0) + cases * CASE * COST
            for sold in range(min(PERISHABLE[t], old + cases * CASE) + 1):
                kept = cases * CASE - max(0, sold - old)
                found = max(found, PRICE * sold - spent + best(t + 1, kept))
        return found

    return best(0, 0)


@cache
def perishable() -> tuple[float, Planned]:
    herb = Ingredient(id="herb", name="herb", form=Form.LOOSE, keeps_days=2)
    farm = Supplier(
        id="farm", name="farm", delivers=frozenset(range(7)), delivery_fee_cents=FEE * CENTS
    )
    shops = {"suppliers": {"farm": farm}, "offers": (one_offer("herb", "farm", CASE, CASE * COST),)}
    return best_week(one_dish_week([surely(d) for d in PERISHABLE], PRICE, herb, shops, steps=70))


def test_perishable_lot_sizing(main_job):
    profit, found = perishable()
    assert perishable_by_dynamic_program() == 8630
    assert all(c.portions <= d for c, d in zip(found.plan.cooks, PERISHABLE, strict=True))
    source = "age-indexed program, and DP"
    main_job(found.plan, TOPIC, source, "life of 2 periods, best profit", 8630, profit, within=0.05)


CHANCES = ((0, 0.1), (1, 0.2), (2, 0.3), (3, 0.3), (4, 0.1))


@cache
def discrete() -> tuple[float, Planned]:
    """Too many costs 1, too few 4."""
    return best_week(newsvendor_week(Cover(expected=2, low=0, high=4, chances=CHANCES), 5, 1))


def test_discrete_newsvendor_portions(main_job):
    _, found = discrete()
    ours = sum(cook.portions for cook in found.plan.cooks)
    main_job(found.plan, TOPIC, STOCKPYL, "discrete newsvendor, quantity", 3, ours)


def test_discrete_newsvendor_cost(main_job):
    """Profit is 4 x mean demand less the expected cost, and mean demand is 2.1."""
    profit, found = discrete()
    figure = "discrete newsvendor, expected cost"
    main_job(found.plan, TOPIC, STOCKPYL, figure, 1.4, 4 * 2.1 - profit, within=0.02)


STEP = 0.02
OVER, UNDER, MEAN, SPREAD = 0.18, 0.70, 50, 8


def normal_cover() -> Cover:
    """N(50, 8) cut into steps, each with its probability, the tails at the ends."""
    steps = [MEAN + STEP * n for n in range(round(-6 * SPREAD / STEP), round(6 * SPREAD / STEP))]
    edges = [-math.inf, *(guests + STEP / 2 for guests in steps[:-1]), math.inf]
    below = norm.cdf(edges, MEAN, SPREAD)
    chances = tuple(zip(steps, (below[1:] - below[:-1]).tolist(), strict=True))
    return Cover(expected=50, low=2, high=98, chances=chances)


def test_normal_newsvendor_quantity(outside):
    ours = demand.quantile(demand.of_cover(normal_cover(), 1.0), UNDER / (UNDER + OVER))
    figure = "normal newsvendor, quantity"
    outside(TOPIC, STOCKPYL, figure, 56.60395592743389, ours, within=STEP)


def test_normal_newsvendor_cost(outside):
    wanted = demand.of_cover(normal_cover(), 1.0)
    order = demand.quantile(wanted, UNDER / (UNDER + OVER))
    sold = demand.expected_sold(wanted, order)
    ours = OVER * (order - sold) + UNDER * (MEAN - sold)
    figure = "normal newsvendor, expected cost"
    outside(TOPIC, STOCKPYL, figure, 1.9976051931766445, ours, within=0.001)


def normal_cost(q: int) -> float:
    """Expected cost of q portions, by scipy's own integral of the normal."""
    z = (q - MEAN) / SPREAD
    short = SPREAD * (norm.pdf(z) - z * norm.sf(z))
    return OVER * (q - MEAN + short) + UNDER * short


@cache
def whole_portions() -> tuple[float, Planned]:
    """Price .88, cost .18, in cents of the source, so that a cent of ours is small."""
    return best_week(newsvendor_week(normal_cover(), 88, 18))


def test_normal_newsvendor_in_whole_portions(main_job):
    _, found = whole_portions()
    theirs = min(range(40, 70), key=normal_cost)
    ours = sum(cook.portions for cook in found.plan.cooks)
    main_job(found.plan, TOPIC, "scipy.stats", "normal newsvendor, whole portions", theirs, ours)


def test_normal_newsvendor_cost_in_whole_portions(main_job):
    profit, found = whole_portions()
    theirs = min(map(normal_cost, range(40, 70)))
    ours = UNDER * MEAN - profit / CENTS
    figure = "the same, expected cost"
    main_job(found.plan, TOPIC, "scipy.stats", figure, theirs, ours, within=0.002)


def best_by_scipy(week: Week) -> float:
    """Best margin in the source's money: scipy's solver on the rows of the model."""
    lp = Model(week).lp
    grid = np.zeros((len(lp.rows), len(lp.names)))
    for at, row in enumerate(lp.rows):
        for column, coefficient in row.terms.items():
            grid[at, column] = coefficient
    low = [-np.inf if row.low is None else row.low for row in lp.rows]
    high = [np.inf if row.high is None else row.high for row in lp.rows]
    most = [np.inf if one is None else one for one in lp.high]
    found = milp(
        -np.array(lp.gain),
        constraints=LinearConstraint(grid, low, high),
        integrality=np.array(lp.integer, dtype=int),
        bounds=Bounds(lp.low, most),
        options={"mip_rel_gap": 0},
    )
    assert found.success
    return (lp.constant - found.fun) / CENTS


@pytest.mark.parametrize(
    ("figure", "solved"),
    [("4 periods, margin", four_periods), ("life of 2 periods, margin", perishable)],
)
def test_a_second_solver_finds_no_better_week(main_job, figure, solved):
    _, found = solved()
    margin, theirs = found.plan.objective_cents / CENTS, best_by_scipy(found.week)
    main_job(found.plan, TOPIC, "scipy.optimize.milp", figure, theirs, margin, within=0.05)


NUTRIENTS = {
    "energy_kcal_thousands": 3,
    "protein_g": 70,
    "calcium_g": 0.8,
    "iron_mg": 12,
    "vitamin_a_kiu": 5,
    "vitamin_b1_mg": 1.8,
    "vitamin_b2_mg": 2.7,
    "niacin_mg": 18,
    "vitamin_c_mg": 75,
}
"""Daily minimums; the table's nutrients are per dollar of food."""


def test_stiglers_diet_of_1939(outside):
    foods = table(DATA / "stigler_diet.csv")
    assert len(foods) == 77
    lp = Lp()
    dollars = [lp.column(f"food_{n}") for n in range(len(foods))]
    for name, least in NUTRIENTS.items():
        lp.row(name, [(j, float(f[name])) for j, f in zip(dollars, foods, strict=True)], low=least)
    lp.earn([(j, -365.0) for j in dollars])
    found = Solver(lp).solve(Limits())
    assert found.values is not None and found.margin is not None
    bought = {f["commodity"] for f, x in zip(foods, found.values, strict=True) if x > 1e-6}
    assert len(bought) == 5  # nine minimums, four of them with something to spare
    source = "or-tools stigler_diet.py"
    outside(TOPIC, source, "Stigler's diet, dollars a year", 39.6617, -found.margin, within=5e-5)
