"""Cases of the rules in `diets`: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.allergens import DIET_BREAKERS
from optimiser.cafe import Cafe
from optimiser.rules import Rule
from optimiser.rules.diets import DietPlate, FreeOf
from tests.rule_cases.base import CAFE, COURSES, DAYS, Case, on_days, plan
from tests.rule_weeks import SAT, tiny_cafe


def breaded(**changes: Any) -> Cafe:
    """The tiny cafe, its tofu in breadcrumbs."""
    tofu = CAFE.ingredients["tofu"].model_copy(update={"allergens": frozenset({"soy", "wheat"})})
    return tiny_cafe(ingredients={**CAFE.ingredients, "tofu": tofu}, **changes)


READ = on_days("lentil_salad", "kale_salad", "pumpkin_bake")
"""Dishes of which every label has been read and names nothing."""

SOLVED: dict[str, list[Case]] = {
    "free_of": [
        Case(  # nobody has read quinoa's label
            FreeOf(allergen="soy", dishes=2, course="salad"),
            plan(*READ),
            plan(*on_days("lentil_salad", "quinoa_salad", "pumpkin_bake")),
            [1] * 6,
        ),
        Case(  # on Saturday tofu is soy and both salads will do
            FreeOf(allergen="soy"),
            plan(*on_days("lentil_salad", "quinoa_salad", "soup")),
            plan(
                *on_days("lentil_salad", "quinoa_salad", "soup", days=DAYS[:-1]),
                *on_days("lentil_salad", "kale_salad", "tofu_bake", days=(SAT,)),
            ),
            [1],
        ),
        Case(  # wheat is a cereal with gluten; the part inside the grain bake is unread
            FreeOf(allergen="gluten", course="main"),
            plan(*READ),
            plan(
                *on_days("lentil_salad", "kale_salad", "tofu_bake", days=DAYS[:3]),
                *on_days("lentil_salad", "kale_salad", "grain_bake", days=DAYS[3:]),
            ),
            [1] * 6,
            breaded(),
        ),
        Case(FreeOf(allergen="tree_nuts"), plan(*READ), plan(*on_days("grain_bake")), [1] * 12),
    ],
    "diet_plate": [
        Case(  # the grain bake is unread: no main for any of three diets on Saturday
            DietPlate(),
            plan(*on_days("lentil_salad", "quinoa_salad", "tofu_bake")),
            plan(
                *on_days("lentil_salad", "quinoa_salad", "tofu_bake", days=DAYS[:-1]),
                *on_days("lentil_salad", "kale_salad", "grain_bake", days=(SAT,)),
            ),
            [1, 1, 1],
        ),
        Case(  # breadcrumbs break one of the two diets
            DietPlate(diets=("vegan", "gluten_free")),
            plan(*READ),
            plan(*on_days("lentil_salad", "kale_salad", "tofu_bake")),
            [1] * 6,
            breaded(),
        ),
        Case(  # two salads on the plate and one that will do
            DietPlate(diets=("nut_free",)),
            plan(*READ),
            plan(*on_days("lentil_salad", "quinoa_salad", "pumpkin_bake")),
            [1] * 6,
            tiny_cafe(plate={"salad": 2}),
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "free_of": {
        "allergen": st.sampled_from(["soy", "celery", "gluten", "tree_nuts"]),
        "dishes": st.integers(1, 2),
        "course": COURSES,
    },
    "diet_plate": {
        "diets": st.lists(st.sampled_from(sorted(DIET_BREAKERS)), min_size=1, max_size=3)
    },
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "free_of", "allergen": "soy", "course": "salad"},
    {"kind": "free_of", "allergen": "soy", "course": "main"},
    {"kind": "diet_plate", "diets": ["nut_free"]},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (FreeOf(allergen="glutan"), "did you mean 'gluten'?"),
    (FreeOf(allergen="soy", course="salat"), "did you mean 'salad'?"),
    (FreeOf(allergen="soy", dishes=2), "course 'main' has 1 places"),
    (DietPlate(diets=("vegann",)), "did you mean 'vegan'?"),
    (DietPlate(diets=("paleo",)), "no dish is known to fit 'paleo'"),
)
