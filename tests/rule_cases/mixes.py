"""Cases of the rules in `mixes`: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.rules import Rule
from optimiser.rules.mixes import CuisineCap, CuisinesDaily, MethodCap, MethodsDaily, TextureDaily
from tests.rule_cases.base import COURSES, Case, on_days, plan
from tests.rule_weeks import MON, TUE

SOLVED: dict[str, list[Case]] = {
    "cuisine_cap": [
        Case(
            CuisineCap(dishes=2),
            # coast: kale salad and slaw on Monday, tofu on Tuesday; grain bake has none
            plan(
                *on_days("kale_salad", "kale_slaw", "grain_bake", days=(MON,)),
                *on_days("tofu_bake", days=(TUE,)),
            ),
            plan(*on_days("kale_salad", "kale_slaw", "tofu_bake", days=(MON,))),
            [1],
        ),
        Case(
            CuisineCap(dishes=1, course="salad"),
            plan(*on_days("kale_salad", "lentil_salad", "soup")),
            plan(*on_days("kale_salad", "kale_slaw", days=(MON, TUE))),
            [1, 1],
        ),
    ],
    "cuisines_daily": [
        Case(
            CuisinesDaily(cuisines=2),
            plan(*on_days("kale_salad", "kale_slaw", "soup")),
            # coast only: the grain bake's cuisine is unknown
            plan(*on_days("kale_salad", "kale_slaw", "grain_bake")),
            [1] * 6,
        ),
        Case(
            CuisinesDaily(cuisines=2, course="salad"),
            plan(*on_days("kale_salad", "lentil_salad")),
            plan(*on_days("kale_salad", "kale_slaw", "soup")),
            [1] * 6,
        ),
    ],
    "method_cap": [
        Case(
            MethodCap(dishes=1),
            plan(*on_days("lentil_salad", "kale_slaw", "tofu_bake")),
            # boiled: three; roasted: one
            plan(
                *on_days("lentil_salad", "quinoa_salad", "soup", days=(MON,)),
                *on_days("lentil_salad", "kale_slaw", days=(TUE,)),
            ),
            [2],
        ),
        Case(
            MethodCap(dishes=1, method="roasted"),
            plan(*on_days("lentil_salad", "quinoa_salad", "tofu_bake")),
            plan(*on_days("beet_salad", "quinoa_salad", "tofu_bake", days=(MON, TUE))),
            [1, 1],
        ),
    ],
    "methods_daily": [
        Case(
            MethodsDaily(methods=3),
            plan(*on_days("kale_salad", "lentil_salad", "tofu_bake")),
            plan(*on_days("kale_salad", "kale_slaw", "tofu_bake")),
            [1] * 6,
        )
    ],
    "texture_daily": [
        Case(
            TextureDaily(texture="crunchy"),
            plan(*on_days("lentil_salad", "kale_slaw", "soup")),
            plan(*on_days("lentil_salad", "quinoa_salad", "soup")),
            [1] * 6,
        ),
        Case(
            TextureDaily(texture="Crunchy", dishes=2, course="salad"),
            plan(*on_days("beet_salad", "kale_slaw")),
            plan(*on_days("kale_slaw", "lentil_salad", "grain_bake")),
            [1] * 6,
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "cuisine_cap": {"course": COURSES, "dishes": st.integers(1, 2)},
    "cuisines_daily": {"course": COURSES, "cuisines": st.integers(1, 3)},
    "method_cap": {
        "course": COURSES,
        "dishes": st.integers(1, 2),
        "method": st.sampled_from([None, "boiled", "roasted", "steamed"]),
    },
    "methods_daily": {"course": COURSES, "methods": st.integers(1, 3)},
    "texture_daily": {
        "course": COURSES,
        "dishes": st.integers(1, 2),
        "texture": st.sampled_from(["soft", "crunchy", "crisp"]),
    },
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "cuisine_cap", "dishes": 1},
    {"kind": "cuisines_daily", "cuisines": 2},
    {"kind": "method_cap", "dishes": 1},
    {"kind": "method_cap", "dishes": 1, "method": "boiled"},
    {"kind": "methods_daily", "methods": 2},
    {"kind": "texture_daily", "texture": "crunchy"},
    {"kind": "texture_daily", "texture": "soft", "dishes": 2},
    {"kind": "texture_daily", "texture": "soft", "course": "salad"},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (CuisineCap(course="salat"), "did you mean 'salad'?"),
    (CuisinesDaily(course="salat"), "did you mean 'salad'?"),
    (CuisinesDaily(cuisines=4), "there are 3 places; ask for 3 or fewer"),
    (MethodCap(course="salat"), "did you mean 'salad'?"),
    (MethodCap(method="rosted"), "did you mean 'roasted'?"),
    (MethodsDaily(course="salat"), "did you mean 'salad'?"),
    (MethodsDaily(methods=3, course="salad"), "there are 2 places; ask for 2 or fewer"),
    (TextureDaily(texture="soft", course="salat"), "did you mean 'salad'?"),
    (TextureDaily(texture="crunch"), "did you mean 'crunchy'?"),
    (TextureDaily(texture="soft", course="main", dishes=2), "ask for 1"),
)
