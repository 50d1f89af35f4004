"""Cases of the rules about variety: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.rules import Rule
from optimiser.rules.pairs import NotTogether, Together
from optimiser.rules.spacing import Spacing
from optimiser.rules.variety import HeroDaily, HeroWeekly, WeeklyCap
from tests.rule_cases.base import (
    COURSES,
    LENTILS_MON,
    LENTILS_THU,
    LENTILS_TUE,
    LENTILS_WED,
    MAINS,
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
    "hero_weekly": [
        Case(
            HeroWeekly(showings=3, course="salad"),
            plan(*on_days("kale_salad", days=(MON, TUE)), *on_days("kale_slaw", days=(FRI,))),
            # kale: three bowls, two slaws; the soup of kale is no salad
            plan(
                *on_days("kale_bowl", days=(MON, TUE, WED)),
                *on_days("kale_slaw", "soup", days=(TUE, FRI)),
            ),
            [2],
        ),
        Case(
            HeroWeekly(showings=2),
            plan(*on_days("kale_bowl", "beet_salad", days=(MON, WED))),
            # kale: slaw, soup, soup; quinoa: salad, bake, bake
            plan(
                *on_days("kale_slaw", "quinoa_salad", days=(MON,)),
                *on_days("soup", "grain_bake", days=(TUE, WED)),
            ),
            [1, 1],
        ),
    ],
    "not_together": [
        Case(
            NotTogether(a="lentil_salad", b="kale_salad"),
            plan(LENTILS_MON, ("kale_salad", TUE, (TUE,))),
            plan(LENTILS_MON, ("kale_salad", MON, (MON,))),
            [1],
        )
    ],
    "together": [
        Case(
            Together(dish="tofu_bake", needs="quinoa_salad"),
            plan(
                *on_days("tofu_bake", "quinoa_salad", days=(MON,)),
                *on_days("quinoa_salad", days=(TUE,)),
            ),
            plan(
                *on_days("tofu_bake", days=(MON, TUE, WED)), *on_days("quinoa_salad", days=(TUE,))
            ),
            [1, 1],
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
    "hero_weekly": {"course": COURSES, "showings": st.integers(1, 8)},
    "not_together": {"a": st.sampled_from(SALADS[:3]), "b": st.sampled_from(SALADS[3:])},
    "together": {"dish": st.sampled_from([*SALADS[:3], *MAINS]), "needs": st.sampled_from(SALADS)},
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "spacing", "gap_days": 2},
    {"kind": "spacing", "gap_days": 3, "one_cook_counts_once": True},
    {"kind": "spacing", "gap_days": 3, "course": "salad"},
    {"kind": "weekly_cap", "days": 1, "course": "salad"},
    {"kind": "weekly_cap", "days": 2},
    {"kind": "hero_daily", "dishes": 1},
    {"kind": "hero_weekly", "showings": 2},
    {"kind": "hero_weekly", "showings": 1, "course": "salad"},
    {"kind": "not_together", "a": "bake", "b": "kale_salad"},
    {"kind": "not_together", "a": "stew", "b": "rice_salad"},
    {"kind": "together", "dish": "stew", "needs": "rice_salad"},
    {"kind": "together", "dish": "squash_salad", "needs": "stew"},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (Spacing(course="salat"), "did you mean 'salad'?"),
    (WeeklyCap(course="salat"), "did you mean 'salad'?"),
    (HeroDaily(course="salat"), "did you mean 'salad'?"),
    (HeroWeekly(course="salat"), "did you mean 'salad'?"),
    (NotTogether(a="soup", b="soup"), "name two dishes"),
    (NotTogether(a="soup", b="soap"), "did you mean 'soup'?"),
    (Together(dish="soup", needs="soup"), "name two dishes"),
    (Together(dish="soup", needs="kale_salat"), "did you mean 'kale_salad'?"),
    (Together(dish="soup", needs="stock_base"), "never in the cabinet"),
    (Together(dish="soup", needs="tofu_bake"), "give it two places"),
)
