"""Cases of the rules about colour: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.rules import Rule
from optimiser.rules.colour import ColoursDaily, MainColourCap
from tests.rule_cases.base import (
    COURSES,
    DAYS,
    Case,
    on_days,
    plan,
)
from tests.rule_weeks import MON, SAT

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
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "colours_daily": {"course": COURSES, "colours": st.integers(1, 4)},
    "main_colour_cap": {"course": COURSES, "dishes": st.integers(1, 2)},
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "colours_daily", "colours": 2},
    {"kind": "main_colour_cap", "course": None, "dishes": 1},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (ColoursDaily(course="salat"), "did you mean 'salad'?"),
    (ColoursDaily(colours=9), "all dishes together show brown, green, orange, red, white"),
    (MainColourCap(course="salat"), "did you mean 'salad'?"),
)
