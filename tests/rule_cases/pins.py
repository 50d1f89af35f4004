"""Cases of the rules about dishes on days: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from hypothesis import strategies as st

from optimiser.rules import Rule
from optimiser.rules.pins import Bar, Pin
from tests.rule_cases.base import (
    DAYS,
    LENTILS_MON,
    LENTILS_TUE,
    SALADS,
    Case,
    plan,
)
from tests.rule_weeks import MON, SAT

SOLVED: dict[str, list[Case]] = {
    "pin": [
        Case(Pin(dish="lentil_salad", day=MON), plan(LENTILS_MON), plan(LENTILS_TUE), [1]),
        Case(Pin(dish="lentil_salad", day="tue"), plan(LENTILS_TUE), plan(LENTILS_MON), [1]),
    ],
    "bar": [
        Case(Bar(dish="lentil_salad", day=MON), plan(LENTILS_TUE), plan(LENTILS_MON), [1]),
        Case(Bar(dish="lentil_salad"), plan(), plan(LENTILS_MON, LENTILS_TUE), [1, 1]),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "pin": {"dish": st.sampled_from(SALADS), "day": st.sampled_from([*DAYS, "mon", "sat"])},
    "bar": {"dish": st.sampled_from(SALADS), "day": st.sampled_from([None, *DAYS, "fri"])},
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "pin", "dish": "kale_salad", "day": "tue"},
    {"kind": "bar", "dish": "rice_salad", "day": MON},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (Pin(dish="lentil_salat", day=MON), "did you mean 'lentil_salad'?"),
    (Pin(dish="stock_base", day=MON), "never in the cabinet"),
    (Pin(dish="soup", day="sun"), "closed on sun"),
    (Bar(dish="zzz"), "known: lentil_salad"),
    (Bar(dish="soup", day=SAT + timedelta(days=1)), "closed on 2026-01-11"),
)
