"""Cases of the rules in `novelty`: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from hypothesis import strategies as st

from optimiser.cafe import Cafe, Served
from optimiser.rules import Rule
from optimiser.rules.novelty import NewDishesCap, UnseenShare, WeeksSince
from tests.rule_cases.base import (
    COURSES,
    LENTILS_MON,
    LENTILS_TUE,
    LENTILS_WED,
    Case,
    on_days,
    plan,
)
from tests.rule_weeks import MON, TUE, tiny_cafe


def served(**days_ago: int) -> Cafe:
    """The tiny cafe, each of these dishes sold so many days before Monday."""
    rows = (
        Served(day=MON - timedelta(days=days), dish=dish, cooked=10, sold=8)
        for dish, days in days_ago.items()
    )
    return tiny_cafe(history=tuple(rows))


FORTNIGHT = served(lentil_salad=13)  # on a Tuesday: two weeks end on Tuesday
LATELY = served(lentil_salad=3, kale_salad=20, tofu_bake=1)

SOLVED: dict[str, list[Case]] = {
    "weeks_since": [
        Case(
            WeeksSince(weeks=2),
            plan(LENTILS_WED, *on_days("kale_salad", days=(MON,))),
            plan(LENTILS_MON, LENTILS_TUE, LENTILS_WED),
            [1, 1],
            FORTNIGHT,
        ),
        Case(
            WeeksSince(weeks=1, course="salad"),
            plan(LENTILS_MON, *on_days("tofu_bake")),  # 13 days ago; the bake is no salad
            plan(*on_days("kale_slaw", days=(MON, TUE))),  # 7 days ago: Monday only
            [1],
            served(lentil_salad=13, kale_slaw=7, tofu_bake=1),
        ),
    ],
    "unseen_share": [
        # 6 days of 2 salads and 1 main: 18 showings, a quarter is 4.5, so 5
        Case(
            UnseenShare(weeks=2, share_pct=25),
            plan(*on_days("kale_salad", "beet_salad", days=(MON, TUE)), *on_days("soup")[:1]),
            plan(*on_days("lentil_salad", "tofu_bake"), *on_days("beet_salad", days=(MON, TUE))),
            [3],
            LATELY,
        ),
        # 12 salads, half is 6; the mains do not count
        Case(
            UnseenShare(weeks=3, share_pct=50, course="salad"),
            plan(*on_days("beet_salad", "kale_salad")),
            plan(*on_days("beet_salad", days=(MON,)), *on_days("kale_salad", "soup")),
            [5],
            LATELY,
        ),
    ],
    "new_dishes_cap": [
        Case(
            NewDishesCap(dishes=2),
            plan(*on_days("lentil_salad", "kale_slaw", "soup")),
            plan(*on_days("lentil_salad", "kale_slaw", "soup"), *on_days("beet_salad")[3:]),
            [1],
            LATELY,
        ),
        Case(
            NewDishesCap(dishes=0, course="salad"),
            plan(*on_days("lentil_salad", "kale_salad", "soup")),
            plan(*on_days("kale_slaw", "beet_salad"), *on_days("soup")),
            [2],
            LATELY,
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "weeks_since": {"course": COURSES, "weeks": st.integers(1, 2)},
    "unseen_share": {
        "course": COURSES,
        "weeks": st.integers(1, 2),
        "share_pct": st.integers(20, 100),
    },
    "new_dishes_cap": {"course": COURSES, "dishes": st.integers(0, 6)},
}

# Settings for the small weeks of `board_weeks`: only the kale salad was there before.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "weeks_since", "weeks": 1},
    {"kind": "weeks_since", "weeks": 2, "course": "salad"},
    {"kind": "unseen_share", "share_pct": 80},
    {"kind": "unseen_share", "share_pct": 50, "course": "salad", "weeks": 1},
    {"kind": "new_dishes_cap", "dishes": 2},
    {"kind": "new_dishes_cap", "dishes": 0, "course": "salad"},
    {"kind": "new_dishes_cap", "dishes": 1, "course": "main"},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (WeeksSince(course="salat"), "did you mean 'salad'?"),
    (UnseenShare(course="salat"), "did you mean 'salad'?"),
    (NewDishesCap(course="salat"), "did you mean 'salad'?"),
    (NewDishesCap(), "fill in history.csv or leave this rule out"),
)
