"""Cases of the rules about colour: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.cafe import Cafe, Line
from optimiser.rules import Rule
from optimiser.rules.colour import ColoursDaily, DishColours, MainColourCap
from optimiser.rules.veg_groups import VegGroupsDaily
from tests.rule_cases.base import (
    COURSES,
    DAYS,
    Case,
    on_days,
    plan,
)
from tests.rule_weeks import MON, SAT, TUE, tiny_cafe


def mixed_cafe(salads: int) -> Cafe:
    """The tiny cafe with so many salads a day, and beetroot and lentils in kale dishes.

    5 g in 100 g are no colour of a dish, 8 g are: the bowl has 5 g of lentils, 8 of beetroot.
    """
    mixes = {
        "kale_salad": {"kale": 400, "beet": 300, "lentil": 300},
        "kale_slaw": {"kale": 800, "beet": 200},
        "kale_bowl": {"kale": 870, "beet": 80, "lentil": 50},
    }
    dishes = dict(tiny_cafe().dishes)
    for dish, grams in mixes.items():
        lines = tuple(Line(item=i, qty=g, unit="g", edible_g=g) for i, g in grams.items())
        dishes[dish] = dishes[dish].model_copy(update={"lines": lines})
    courses = dict(tiny_cafe().courses)
    courses["salad"] = courses["salad"].model_copy(update={"slots": salads})
    return tiny_cafe(dishes=dishes, courses=courses)


ONE_SALAD, MIXED = mixed_cafe(1), mixed_cafe(2)

SOLVED: dict[str, list[Case]] = {
    "colours_daily": [
        Case(
            ColoursDaily(colours=3),
            plan(*on_days("kale_salad", "beet_salad", "tofu_bake")),
            plan(
                *on_days("kale_salad", "beet_salad", "tofu_bake", days=DAYS[:-1]),
                *on_days("kale_salad", "kale_slaw", "tofu_bake", days=(SAT,)),
            ),
            [1],
        ),
        Case(
            ColoursDaily(colours=4, course="salad"),
            plan(*on_days("kale_salad", "beet_salad", "lentil_salad", "quinoa_salad")),
            plan(*on_days("kale_salad", "beet_salad", "tofu_bake")),
            [2] * 6,
        ),
    ],
    "main_colour_cap": [
        Case(
            MainColourCap(),
            plan(*on_days("kale_salad", "kale_slaw", "soup", days=(MON,))),
            plan(*on_days("kale_salad", "kale_slaw", "kale_bowl", days=(MON,))),
            [1],
        )
    ],
    "dish_colours": [
        # Mains are not asked; the bowl shows green and red, beetroot salad is red only.
        Case(
            DishColours(colours=2),
            plan(*on_days("kale_salad", "kale_slaw", "soup"), *on_days("kale_bowl", days=(MON,))),
            plan(*on_days("kale_salad", "soup"), *on_days("beet_salad", days=(MON, TUE))),
            [1, 1],
            MIXED,
        ),
        Case(
            DishColours(),
            plan(*on_days("kale_salad", "soup")),
            plan(*on_days("kale_bowl", days=(MON,)), *on_days("quinoa_salad", days=(TUE,))),
            [1, 2],
            ONE_SALAD,
        ),
    ],
    "veg_groups_daily": [
        # Dark green, pulses (tofu); quinoa has no group, beetroot is among the others.
        Case(
            VegGroupsDaily(groups=3),
            plan(*on_days("kale_salad", "beet_salad", "tofu_bake")),
            plan(
                *on_days("kale_salad", "beet_salad", "tofu_bake", days=DAYS[:-1]),
                *on_days("kale_salad", "quinoa_salad", "tofu_bake", days=(SAT,)),
            ),
            [1],
        ),
        # Of one bowl: dark green and other, but 5 g of lentils are no pulses.
        Case(
            VegGroupsDaily(groups=3, course="salad"),
            plan(*on_days("kale_salad")),
            plan(
                *on_days("kale_bowl", "soup", days=DAYS[:-1]),
                *on_days("quinoa_salad", "tofu_bake", days=(SAT,)),
            ),
            [1] * 5 + [3],
            MIXED,
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "colours_daily": {"course": COURSES, "colours": st.integers(1, 4)},
    "main_colour_cap": {"course": COURSES, "dishes": st.integers(1, 2)},
    # Dishes of the tiny cafe have one colour each, so this rule is always broken in it;
    # `test_colour_rules` has dishes of one to four colours.
    "dish_colours": {"course": COURSES, "colours": st.integers(2, 8)},
    "veg_groups_daily": {"course": COURSES, "groups": st.integers(1, 4)},
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "colours_daily", "colours": 2},
    {"kind": "main_colour_cap", "course": None, "dishes": 1},
    {"kind": "dish_colours", "colours": 2},
    {"kind": "veg_groups_daily", "groups": 2},
    {"kind": "veg_groups_daily", "course": "salad", "groups": 1},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (ColoursDaily(course="salat"), "did you mean 'salad'?"),
    (ColoursDaily(colours=9), "all dishes together show brown, green, orange, red, white"),
    (MainColourCap(course="salat"), "did you mean 'salad'?"),
    (DishColours(course="salat"), "did you mean 'salad'?"),
    (DishColours(colours=2), "only 0 show 2 colours"),
    (VegGroupsDaily(course="salat"), "did you mean 'salad'?"),
    (VegGroupsDaily(groups=5), "all dishes together show dark green, orange, pulses, other"),
)
