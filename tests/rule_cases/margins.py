"""Cases of the rules in `margins`: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.rules import Rule
from optimiser.rules.margins import DeliveryBudget, PlateCostCap, PortionMargin
from tests.rule_cases.base import COURSES, DAYS, Case, bought, on_days, plan, used
from tests.rule_weeks import MON, SAT, WED, tiny_cafe

QUINOA_USED = used(800, "quinoa", f"bought-{MON}-market-quinoa")

# A portion takes 100 g: lentils 50 cents, kale 90, beet 40, quinoa 100, pumpkin 30, tofu 120.
# Salads are sold at 600 cents, mains at 1500.
SOLVED: dict[str, list[Case]] = {
    "plate_cost_cap": [
        Case(  # (50 + 90) / 2 + 120 = 190, then (90 + 100) / 2 + 120 = 215
            PlateCostCap(most_cents=195),
            plan(*on_days("lentil_salad", "kale_salad", "tofu_bake")),
            plan(*on_days("kale_salad", "quinoa_salad", "tofu_bake")),
            [20] * 6,
        ),
        Case(  # 90 + 30 on five days, 100 + 120 on Saturday
            PlateCostCap(most_cents=200, plate="dearest"),
            plan(*on_days("lentil_salad", "kale_salad", "pumpkin_bake")),
            plan(
                *on_days("lentil_salad", "kale_salad", "pumpkin_bake", days=DAYS[:-1]),
                *on_days("lentil_salad", "quinoa_salad", "tofu_bake", days=(SAT,)),
            ),
            [20],
        ),
        Case(  # both salads are on the plate: 50 + 40, then 90 + 90
            PlateCostCap(most_cents=150, plate="dearest"),
            plan(*on_days("lentil_salad", "beet_salad")),
            plan(*on_days("kale_slaw", "kale_salad")),
            [30] * 6,
            tiny_cafe(plate={"salad": 2}),
        ),
    ],
    "portion_margin": [
        Case(  # 600 - 90 = 510 for kale, 600 - 100 = 500 for quinoa
            PortionMargin(least_cents=505),
            plan(*on_days("kale_salad", "lentil_salad", "tofu_bake")),
            plan(*on_days("kale_salad", "quinoa_salad", days=(SAT,))),
            [5],
        ),
        Case(  # 1500 - 100 = 1400 for the grain bake, 1500 - 120 = 1380 for tofu
            PortionMargin(course="main", least_cents=1400),
            plan(*on_days("quinoa_salad", "grain_bake")),
            plan(*on_days("quinoa_salad", "tofu_bake", days=(WED, SAT))),
            [20, 20],
        ),
    ],
    "delivery_budget": [
        Case(  # lentils are 500 a pack, and dry quinoa is left aside
            DeliveryBudget(budget_cents=3000),
            plan(buys=(bought(6), bought(6).model_copy(update={"deliver_on": WED}))),
            plan(buys=(bought(6), bought(1, "kale", 900), bought(5, "quinoa", 1000))),
            [900],
        ),
        Case(
            DeliveryBudget(budget_cents=2000, supplier="market"),
            plan(buys=(bought(4), bought(9, "quinoa", 1000)), uses=(QUINOA_USED,)),
            plan(buys=(bought(5), bought(7).model_copy(update={"deliver_on": WED}))),
            [500, 1500],
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "plate_cost_cap": {
        "most_cents": st.integers(50, 300),
        "plate": st.sampled_from(["average", "dearest"]),
    },
    "portion_margin": {"course": COURSES, "least_cents": st.integers(490, 560)},
    "delivery_budget": {
        "budget_cents": st.integers(0, 6000),
        "supplier": st.sampled_from([None, "market"]),
    },
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "plate_cost_cap", "most_cents": 55},
    {"kind": "plate_cost_cap", "most_cents": 45, "plate": "dearest"},
    {"kind": "portion_margin", "least_cents": 664},
    {"kind": "delivery_budget", "budget_cents": 199, "supplier": "farm"},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (PortionMargin(course="salat", least_cents=1), "did you mean 'salad'?"),
    (PortionMargin(course="salad", least_cents=601), "lower least_cents"),
    (PortionMargin(least_cents=601), "no salad dish is sold for more than AUD 6.00"),
    (DeliveryBudget(budget_cents=1, supplier="markt"), "did you mean 'market'?"),
)
