"""Cases of the rules about money: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.cafe import Cover
from optimiser.rules import Rule
from optimiser.rules.money import FoodCostPct, PortionCostCap, PurchaseBudget
from tests.rule_cases.base import (
    COURSES,
    LENTILS_MON,
    Case,
    bought,
    on_days,
    plan,
    used,
)
from tests.rule_weeks import MON, TUE, WED, tiny_cafe

# Guests enough to take all that the plans below cook.
BUSY = tiny_cafe(covers={day: Cover(expected=200, low=200, high=200) for day in range(6)})

SOLVED: dict[str, list[Case]] = {
    "portion_cost_cap": [
        Case(  # a portion is 100 g: kale 90 cents, tofu 120 cents
            PortionCostCap(cap_cents=90),
            plan(*on_days("kale_salad", "lentil_salad", "pumpkin_bake")),
            plan(*on_days("kale_salad", "tofu_bake", days=(MON, TUE))),
            [30, 30],
        )
    ],
    "food_cost_pct": [
        Case(  # 10 portions of lentils: 500 cents of food for 6000 of takings
            FoodCostPct(pct=8.5),
            plan(LENTILS_MON),
            plan(LENTILS_MON, ("kale_salad", MON, (MON,))),  # 1400 of food, 8.5 % of 12000
            [380],
        ),
        Case(  # by day: kale for two days costs 1800, 8.5 % of 12000 is 1020
            FoodCostPct(pct=8.5, by="day"),
            plan(("lentil_salad", MON, (MON, TUE)), ("pumpkin_bake", TUE, (TUE,))),
            plan(LENTILS_MON, ("kale_salad", TUE, (TUE, WED))),
            [780],
            BUSY,
        ),
        Case(  # 900 of food for takings of 12000 each day; then 1400, and 900 for 6000
            FoodCostPct(pct=8.75, by="day"),
            plan(*on_days("lentil_salad", "beet_salad", days=(MON, TUE))),
            plan(*on_days("lentil_salad", "kale_salad", days=(MON,)), ("kale_slaw", TUE, (TUE,))),
            [350, 375],
            BUSY,
        ),
    ],
    "purchase_budget": [
        Case(
            PurchaseBudget(budget_cents=3000),
            plan(buys=(bought(6),)),
            plan(buys=(bought(7),)),
            [500],
        ),
        Case(  # 2 kg of quinoa for 2000 cents: 600 g used is 600 cents of spending
            PurchaseBudget(budget_cents=3000),
            plan(
                buys=(bought(4), bought(2, "quinoa", 1000)),
                uses=(used(600, "quinoa", f"bought-{MON}-market-quinoa"),),
            ),
            plan(
                buys=(bought(6), bought(2, "quinoa", 1000)),
                uses=(used(600, "quinoa", f"bought-{MON}-market-quinoa"),),
            ),
            [600],
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "portion_cost_cap": {"course": COURSES, "cap_cents": st.integers(20, 130)},
    # By day, takings need guests: see test_money_kitchen_rules.
    "food_cost_pct": {"pct": st.floats(3, 15), "by": st.just("week")},
    "purchase_budget": {"budget_cents": st.integers(0, 9000)},
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "portion_cost_cap", "cap_cents": 30},
    {"kind": "food_cost_pct", "pct": 2.5},
    {"kind": "food_cost_pct", "pct": 3.2, "by": "day"},
    {"kind": "purchase_budget", "budget_cents": 300},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (PortionCostCap(course="salat", cap_cents=1), "did you mean 'salad'?"),
)
