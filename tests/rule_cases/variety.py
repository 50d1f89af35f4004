"""Cases of the rules about variety: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.rules import Rule
from optimiser.rules.pairs import NotTogether
from optimiser.rules.spacing import Spacing
from optimiser.rules.variety import HeroDaily, WeeklyCap
from tests.rule_cases.base import (
    COURSES,
    LENTILS_MON,
    LENTILS_THU,
    LENTILS_TUE,
    LENTILS_WED,
    SALADS,
    Case,
    on_days,
    plan,
)
from tests.rule_weeks import FRI, MON, TUE, WED

SOLVED: dict[str, list[Case]] = {
    "spacing": [
        Case(Spacing(), plan(LENTILS_MON, LENTILS_WED), plan(LENTILS_MON, LENTILS_TUE), [1]),
        Case(
            Spacing(gap_days=4),
            plan(LENTILS_MON, ("lentil_salad", FRI, (FRI,))),
            plan(LENTILS_MON, LENTILS_TUE, LENTILS_THU),  # mon-thu holds 3, tue-fri 2
            [1, 2],
        ),
        Case(
            Spacing(one_cook_counts_once=True),
            plan(("lentil_salad", MON, (MON, TUE, WED)), ("lentil_salad", FRI, (FRI,))),
            plan(("lentil_salad", MON, (MON, TUE, WED)), LENTILS_THU),
            [1],
        ),
    ],
    "weekly_cap": [
        Case(
            WeeklyCap(),
            plan(LENTILS_MON, LENTILS_WED),
            plan(LENTILS_MON, LENTILS_WED, ("lentil_salad", FRI, (FRI,))),
            [1],
        )
    ],
    "hero_daily": [
        Case(
            HeroDaily(course="salad"),
            plan(*on_days("kale_salad", "kale_slaw", days=(MON,)), ("kale_bowl", TUE, (TUE,))),
            plan(*on_days("kale_salad", "kale_slaw", "kale_bowl", days=(MON,))),
            [1],
        )
    ],
    "not_together": [
        Case(
            NotTogether(a="lentil_salad", b="kale_salad"),
            plan(LENTILS_MON, ("kale_salad", TUE, (TUE,))),
            plan(LENTILS_MON, ("kale_salad", MON, (MON,))),
            [1],
        )
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "spacing": {
        "course": COURSES,
        "gap_days": st.integers(2, 8),
        "one_cook_counts_once": st.booleans(),
        "from_history": st.booleans(),
    },
    "weekly_cap": {"course": COURSES, "days": st.integers(1, 4)},
    "hero_daily": {"course": COURSES, "dishes": st.integers(1, 2)},
    "not_together": {"a": st.sampled_from(SALADS[:3]), "b": st.sampled_from(SALADS[3:])},
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "spacing", "gap_days": 2},
    {"kind": "spacing", "gap_days": 3, "one_cook_counts_once": True},
    {"kind": "spacing", "gap_days": 3, "course": "salad"},
    {"kind": "weekly_cap", "days": 1, "course": "salad"},
    {"kind": "weekly_cap", "days": 2},
    {"kind": "hero_daily", "dishes": 1},
    {"kind": "not_together", "a": "bake", "b": "kale_salad"},
    {"kind": "not_together", "a": "stew", "b": "rice_salad"},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (Spacing(course="salat"), "did you mean 'salad'?"),
    (WeeklyCap(course="salat"), "did you mean 'salad'?"),
    (HeroDaily(course="salat"), "did you mean 'salad'?"),
    (NotTogether(a="soup", b="soup"), "name two dishes"),
    (NotTogether(a="soup", b="soap"), "did you mean 'soup'?"),
)
