"""Published lot sizing and newsvendor figures, from the real model of a one-dish cafe.

The cafe sells one dish made of one ingredient, one gram a portion, one slot, no
waste charge, no appeal. One unit of a source's money is 100 cents here.

Sources
- H. M. Wagner, T. M. Whitin, "Dynamic version of the economic lot size model",
  Management Science 5 (1958), the example of 12 periods: 864. Also solved by
  stockpyl 1.0.2.
- stockpyl's own example of 4 periods: 1380, orders 210, 0, 150, 0 (run).
- Perishable lot sizing, life of 2 periods: 8630 (computed: an age-indexed program
  and a dynamic program agree; another dynamic program stands here).
- Newsvendor, discrete and normal: stockpyl's documentation examples.
"""

from __future__ import annotations

import math
from datetime import date, timedelta
from functools import cache
from typing import Any

import pytest
from scipy.stats import norm

from optimiser import demand
from optimiser.cafe import (
    Cafe,
    Course,
    Cover,
    DatedPrice,
    Dish,
    Form,
    Ingredient,
    Line,
    Money,
    Offer,
    Supplier,
)
from optimiser.model import Model
from optimiser.plan import Plan
from optimiser.planner import finished
from optimiser.solver import Limits, Solver
from optimiser.verify import verify
from optimiser.week import Week

START = date(2026, 1, 5)
CENTS = 100
"""Cents per unit of the source's money."""


def day(n: int) -> date:
    """Period n, from 0."""
    return START + timedelta(days=n)


def one_dish_week(
    covers: list[Cover], price: int, item: Ingredient, shops: dict[str, Any], steps: int = 0
) -> Week:
    """A week of as many days as covers; one gram of `item` makes a portion.

    A portion sells at `price` (money of the source); `shops` are the suppliers and
    offers; `steps` is how far portions may differ from the par.
    """
    dish = Dish(
        id="dish",
        name="dish",
        course="main",
        portions=1,
        portion_g=1,
        max_portions=1000,
        method="boiled",
        lines=(Line(item=item.id, qty=1, unit="g", edible_g=1),),
    )
    cafe = Cafe(
        name="One dish",
        open_days=frozenset(range(7)),
        courses={"main": Course(slots=1, price_cents=price * CENTS, take_up=1, portion_g=1)},
        money=Money(
            waste_cost_pct=0,
            disposal_cents_per_kg=0,
            appeal_cents=0,
            left_loose_pct=0,
            left_dry_pct=0,
            extra_portion_steps=steps,
        ),
        ingredients={item.id: item},
        dishes={"dish": dish},
        covers={day(n): cover for n, cover in enumerate(covers)},
        **shops,
    )
    return Week(cafe, (), START, START - timedelta(days=7), len(covers))


def surely(guests: int) -> Cover:
    """That many guests, neither more nor fewer."""
    return Cover(expected=guests, low=guests, high=guests)


def best_plan(week: Week) -> tuple[float, Plan]:
    """Proven best margin in the source's money, and its verified plan."""
    model = Model(week)
    solved = Solver(model.lp).solve(Limits(gap_cents=0.01))
    assert solved.values is not None and solved.bound - solved.margin < 1
    plan = finished(model, solved.values, solved.bound)
    assert verify(plan, week).breaches == ()
    assert plan.objective_cents == pytest.approx(solved.margin, abs=4)
    return solved.margin / CENTS, plan


def lot_sizing(demands: list[int], set_up: list[int], hold: int) -> tuple[float, Plan]:
    """Least cost of ordering and holding, and the plan.

    The model has no holding cost, but the price may depend on the day. With n days,
    let a gram delivered on day s cost p + hold x (n - s). Used on day t it costs
        p + hold x (n - s) = [p + hold x (n - t)] + hold x (t - s):
    a constant that its day of use fixes, and the cost of holding it from s to t.
    """
    n, p = len(demands), 10
    rice = Ingredient(id="rice", name="rice", form=Form.DRY, keeps_days=365)
    suppliers, offers = {}, []
    for s, fee in enumerate(set_up):
        name = f"van_{s}"
        suppliers[name] = Supplier(
            id=name, name=name, delivers_on=frozenset({day(s)}), delivery_fee_cents=fee * CENTS
        )
        price = (p + hold * (n - s)) * CENTS
        offers.append(
            Offer(
                ingredient="rice",
                supplier=name,
                pack_qty=1,
                pack_unit="g",
                pack_g=1,
                prices=(DatedPrice(from_date=None, price_cents=price),),
            )
        )
    shops = {"suppliers": suppliers, "offers": tuple(offers)}
    week = one_dish_week([surely(d) for d in demands], 10 * n * p, rice, shops)
    margin, plan = best_plan(week)
    assert [cook.portions for cook in plan.cooks] == demands
    constant = sum(d * (p + hold * (n - t)) for t, d in enumerate(demands))
    takings = sum(demands) * 10 * n * p
    return takings - margin - constant, plan


def test_wagner_and_whitin_1958():
    demands = [69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56]
    set_up = [85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114]
    cost, _ = lot_sizing(demands, set_up, 1)
    assert cost == pytest.approx(864, abs=0.01)


def test_lot_sizing_of_four_periods():
    cost, plan = lot_sizing([90, 120, 80, 70], [500] * 4, 2)
    assert cost == pytest.approx(1380, abs=0.01)
    assert [(buy.deliver_on, buy.packs) for buy in plan.buys] == [(day(0), 210), (day(2), 150)]


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


def test_perishable_lot_sizing():
    herb = Ingredient(id="herb", name="herb", form=Form.LOOSE, keeps_days=2)
    shops = {
        "suppliers": {
            "farm": Supplier(
                id="farm",
                name="farm",
                delivers=frozenset(range(7)),
                delivery_fee_cents=FEE * CENTS,
            )
        },
        "offers": (
            Offer(
                ingredient="herb",
                supplier="farm",
                pack_qty=CASE,
                pack_unit="g",
                pack_g=CASE,
                prices=(DatedPrice(from_date=None, price_cents=CASE * COST * CENTS),),
            ),
        ),
    }
    week = one_dish_week([surely(d) for d in PERISHABLE], PRICE, herb, shops, steps=70)
    profit, plan = best_plan(week)
    assert perishable_by_dynamic_program() == 8630
    assert profit == pytest.approx(8630, abs=0.01)
    assert all(cook.portions <= d for cook, d in zip(plan.cooks, PERISHABLE, strict=True))


def newsvendor_week(cover: Cover, price: int, cost: int) -> Week:
    """One day; a portion too few loses price - cost, one too many its cost."""
    rice = Ingredient(id="rice", name="rice", form=Form.DRY, keeps_days=365)
    shops = {
        "suppliers": {"mill": Supplier(id="mill", name="mill", delivers=frozenset(range(7)))},
        "offers": (
            Offer(
                ingredient="rice",
                supplier="mill",
                pack_qty=1,
                pack_unit="g",
                pack_g=1,
                prices=(DatedPrice(from_date=None, price_cents=cost * CENTS),),
            ),
        ),
    }
    return one_dish_week([cover], price, rice, shops, steps=10)


def test_discrete_newsvendor():
    """Too many costs 1, too few 4: 3 portions, at an expected cost of 1.4.

    Profit is 4 x mean demand less that cost, and mean demand is 2.1.
    """
    table = ((0, 0.1), (1, 0.2), (2, 0.3), (3, 0.3), (4, 0.1))
    profit, plan = best_plan(newsvendor_week(Cover(expected=2, low=0, high=4, chances=table), 5, 1))
    assert [cook.portions for cook in plan.cooks] == [3]
    assert 4 * 2.1 - profit == pytest.approx(1.4, abs=1e-3)


STEP = 0.02
OVER, UNDER, MEAN, SPREAD = 0.18, 0.70, 50, 8
ORDER, EXPECTED_COST = 56.60395592743389, 1.9976051931766445


def normal_table() -> tuple[tuple[float, float], ...]:
    """N(50, 8) cut into steps, each with its probability, the tails at the ends."""
    steps = [MEAN + STEP * n for n in range(round(-6 * SPREAD / STEP), round(6 * SPREAD / STEP))]
    edges = [-math.inf, *(guests + STEP / 2 for guests in steps[:-1]), math.inf]
    below = norm.cdf(edges, MEAN, SPREAD)
    return tuple(zip(steps, (below[1:] - below[:-1]).tolist(), strict=True))


def test_normal_newsvendor_quantile():
    cover = Cover(expected=50, low=2, high=98, chances=normal_table())
    wanted = demand.of_cover(cover, 1.0)
    ratio = UNDER / (UNDER + OVER)
    order = demand.quantile(wanted, ratio)
    assert norm.ppf(ratio, MEAN, SPREAD) == pytest.approx(ORDER, abs=1e-9)
    assert order == pytest.approx(ORDER, abs=STEP)
    sold = demand.expected_sold(wanted, order)
    cost = OVER * (order - sold) + UNDER * (MEAN - sold)
    assert cost == pytest.approx(EXPECTED_COST, abs=0.001)


def test_normal_newsvendor_in_whole_portions():
    """Price .88, cost .18: the best whole number next to 56.6, by scipy's own integral."""
    cover = Cover(expected=50, low=2, high=98, chances=normal_table())
    week = newsvendor_week(cover, 88, 18)

    def cost(q: int) -> float:
        z = (q - MEAN) / SPREAD
        short = SPREAD * (norm.pdf(z) - z * norm.sf(z))
        return OVER * (q - MEAN + short) + UNDER * short

    cheapest = min(range(40, 70), key=cost)
    profit, plan = best_plan(week)
    assert [cook.portions for cook in plan.cooks] == [cheapest]
    assert UNDER * MEAN - profit / CENTS == pytest.approx(cost(cheapest), abs=0.002)
