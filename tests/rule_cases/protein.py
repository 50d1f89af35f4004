"""Cases of the rules about nutrition: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.rules import Rule
from optimiser.rules.protein import PlateProtein, ProteinDishes
from tests.rule_cases.base import (
    COURSES,
    DAYS,
    MEASURES_G,
    Case,
    on_days,
    plan,
)
from tests.rule_weeks import SAT, tiny_cafe

SOLVED: dict[str, list[Case]] = {
    "protein_dishes": [
        Case(
            ProteinDishes(dishes=1, protein_g=14),
            plan(*on_days("grain_bake")),
            plan(*on_days("tofu_bake", days=DAYS[:-1]), ("pumpkin_bake", SAT, (SAT,))),
            [1],
        )
    ],
    "plate_protein": [
        Case(  # leanest plate: kale 4 g + tofu 15 g; then beet 2 g + pumpkin 1 g
            PlateProtein(worst_g=19),
            plan(*on_days("lentil_salad", "kale_salad", "tofu_bake")),
            plan(
                *on_days("lentil_salad", "kale_salad", "tofu_bake", days=DAYS[:-1]),
                *on_days("lentil_salad", "beet_salad", "pumpkin_bake", days=(SAT,)),
            ),
            [16],
        ),
        Case(  # average plate: (10 + 4) / 2 + 15 = 22 g; then (10 + 2) / 2 + 1 = 7 g
            PlateProtein(average_g=22),
            plan(*on_days("lentil_salad", "kale_salad", "tofu_bake")),
            plan(*on_days("lentil_salad", "beet_salad", "pumpkin_bake")),
            [15] * 6,
        ),
        Case(  # two salads on the plate: the leaner two are 4 + 4 g, then 2 + 4 g
            PlateProtein(worst_g=8),
            plan(*on_days("lentil_salad", "kale_salad", "kale_slaw")),
            plan(*on_days("beet_salad", "kale_salad", "lentil_salad")),
            [2] * 6,
            tiny_cafe(plate={"salad": 2}),
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "protein_dishes": {
        "course": COURSES,
        "dishes": st.integers(1, 3),
        "protein_g": st.sampled_from([1.0, 4.0, 10.0, 14.5]),
    },
    "plate_protein": {"worst_g": MEASURES_G, "average_g": MEASURES_G},
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "protein_dishes", "dishes": 1, "protein_g": 5},
    {"kind": "plate_protein", "worst_g": 4.1, "average_g": 5},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (ProteinDishes(course="salat"), "did you mean 'salad'?"),
    (ProteinDishes(dishes=4), "there are 3 places"),
    (ProteinDishes(dishes=2, protein_g=14.5), "only 1 have as much"),
    (PlateProtein(), "give worst_g, average_g or both"),
)
