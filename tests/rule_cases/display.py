"""Cases of the rules in `display`: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.cafe import Cafe, Course
from optimiser.rules import Rule
from optimiser.rules.display import Neighbours
from tests.rule_cases.base import COURSES, Case, on_days, plan
from tests.rule_weeks import MON, TUE, tiny_cafe


def wide(salads: int) -> Cafe:
    """The tiny cafe with a longer row of salads: three are green, the others each unlike."""
    rows = {"salad": salads, "main": 1}
    return tiny_cafe(
        courses={
            name: Course(slots=slots, price_cents=600, take_up=0.5, portion_g=100)
            for name, slots in rows.items()
        }
    )


THREE, FOUR = wide(3), wide(4)
GREEN = ("kale_salad", "kale_slaw", "kale_bowl")

SOLVED: dict[str, list[Case]] = {
    "neighbours": [
        Case(
            Neighbours(),
            plan(*on_days("kale_salad", "beet_salad", "soup")),
            plan(*on_days("kale_salad", "kale_slaw", "soup")),
            [1] * 6,
        ),
        # Four places: two green ones stand apart, three cannot.
        Case(
            Neighbours(course="salad"),
            plan(*on_days("kale_salad", "kale_slaw", "beet_salad", "lentil_salad"), cafe=FOUR),
            plan(
                *on_days("kale_salad", "kale_slaw", "beet_salad", "lentil_salad", days=(MON,)),
                *on_days(*GREEN, "beet_salad", days=(TUE,)),
                cafe=FOUR,
            ),
            [1],
            FOUR,
        ),
        # Three places: green, red, green; three green ones are two pairs.
        Case(
            Neighbours(course="salad"),
            plan(*on_days("kale_salad", "kale_slaw", "beet_salad"), cafe=THREE),
            plan(*on_days(*GREEN, days=(MON,)), cafe=THREE),
            [2],
            THREE,
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {"neighbours": {"course": COURSES}}

# Settings for the small weeks of `board_weeks`: a row of one dish, which is always kept.
# `test_display_order` has the longer rows.
BOARDS: tuple[dict[str, Any], ...] = ({"kind": "neighbours"},)

FAULTS: tuple[tuple[Rule, str], ...] = ((Neighbours(course="salat"), "did you mean 'salad'?"),)
