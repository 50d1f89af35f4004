"""Cases of the rules about seasons: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.cafe import Line
from optimiser.rules import Rule
from optimiser.rules.season import InSeason
from tests.rule_cases.base import COURSES, Case, on_days, plan
from tests.rule_weeks import MON, TUE, tiny_cafe


def _two_out() -> dict[str, Any]:
    """Pumpkin in season only in June, and a soup of the kale part with a little pumpkin."""
    cafe = tiny_cafe()
    june = cafe.ingredients["pumpkin"].model_copy(update={"months": frozenset({6})})
    soup = cafe.dishes["soup"]
    lines = (*soup.lines, Line(item="pumpkin", qty=100, unit="g", edible_g=100))
    return {
        "ingredients": {**cafe.ingredients, "pumpkin": june},
        "dishes": {**cafe.dishes, "soup": soup.model_copy(update={"lines": lines})},
    }


MIXED = tiny_cafe(**_two_out())

# It is January: kale is out of season, beet and pumpkin are in, the others have no months.
SOLVED: dict[str, list[Case]] = {
    "in_season": [
        Case(
            InSeason(),
            plan(*on_days("beet_salad", "lentil_salad", "pumpkin_bake", days=(MON, TUE))),
            plan(*on_days("beet_salad", "kale_salad", "soup", days=(MON,))),
            [1, 1],
        ),
        Case(
            InSeason(course="salad"),
            plan(*on_days("quinoa_salad", "soup", days=(MON,))),
            plan(("kale_slaw", MON, (MON, TUE))),
            [1, 1],
        ),
        Case(  # kale and pumpkin are out
            InSeason(),
            plan(*on_days("beet_salad", "tofu_bake", days=(MON,))),
            plan(*on_days("beet_salad", "soup", days=(MON,))),
            [2],
            MIXED,
        ),
        Case(  # of the soup only kale, its main ingredient, counts
            InSeason(scope="main"),
            plan(*on_days("beet_salad", "tofu_bake", days=(MON,))),
            plan(*on_days("pumpkin_bake", days=(MON,)), *on_days("soup", days=(TUE,))),
            [1, 1],
            MIXED,
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "in_season": {"course": COURSES, "scope": st.sampled_from(["main", "any"])},
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "in_season"},
    {"kind": "in_season", "scope": "main", "course": "salad"},
)

FAULTS: tuple[tuple[Rule, str], ...] = ((InSeason(course="salat"), "did you mean 'salad'?"),)
