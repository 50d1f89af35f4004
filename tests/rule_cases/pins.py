"""Cases of the rules about dishes on days: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from hypothesis import strategies as st

from optimiser.rules import Rule
from optimiser.rules.pins import Bar, KeepDay, Pin, Signature
from tests.rule_cases.base import (
    DAYS,
    LENTILS_MON,
    LENTILS_TUE,
    LENTILS_WED,
    SALADS,
    Case,
    on_days,
    plan,
)
from tests.rule_weeks import MON, SAT, TUE

NEXT_TUE = TUE + timedelta(days=7)

SOLVED: dict[str, list[Case]] = {
    "pin": [
        Case(Pin(dish="lentil_salad", day=MON), plan(LENTILS_MON), plan(LENTILS_TUE), [1]),
        Case(Pin(dish="lentil_salad", day="tue"), plan(LENTILS_TUE), plan(LENTILS_MON), [1]),
    ],
    "bar": [
        Case(Bar(dish="lentil_salad", day=MON), plan(LENTILS_TUE), plan(LENTILS_MON), [1]),
        Case(Bar(dish="lentil_salad"), plan(), plan(LENTILS_MON, LENTILS_TUE), [1, 1]),
    ],
    "signature": [
        Case(
            Signature(dish="lentil_salad", days=("mon", "wed")),
            plan(LENTILS_MON, LENTILS_TUE, LENTILS_WED),
            plan(LENTILS_TUE, LENTILS_WED),
            [1],
        ),
        Case(
            Signature(dish="lentil_salad", days=("tue",)),
            plan(LENTILS_TUE, ("lentil_salad", NEXT_TUE, (NEXT_TUE,)), days=14),
            plan(LENTILS_MON, days=14),
            [1, 1],
        ),
        # Shown on Tuesday from Monday's cook: what is asked for is the cabinet, not the cook.
        Case(
            Signature(dish="soup", days=("tue", "sat")),
            plan(("soup", MON, (MON, TUE)), ("soup", SAT, (SAT,))),
            plan(("soup", MON, (MON,))),
            [1, 1],
        ),
    ],
    "keep_day": [
        Case(
            KeepDay(day=TUE, dishes=("lentil_salad", "kale_slaw", "soup")),
            plan(*on_days("lentil_salad", "kale_slaw", "soup", days=(TUE,))),
            plan(*on_days("lentil_salad", "beet_salad", "tofu_bake", days=(TUE,)), LENTILS_MON),
            [1, 1],
        ),
        Case(
            KeepDay(day=NEXT_TUE, dishes=("soup",)),
            plan(LENTILS_TUE),  # a week without that day
            plan(*on_days("soup", days=(TUE,)), days=14),
            [1],
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "pin": {"dish": st.sampled_from(SALADS), "day": st.sampled_from([*DAYS, "mon", "sat"])},
    "bar": {"dish": st.sampled_from(SALADS), "day": st.sampled_from([None, *DAYS, "fri"])},
    "signature": {
        "dish": st.sampled_from(SALADS),
        "days": st.lists(st.sampled_from(["mon", "tue", "sat"]), min_size=1, unique=True),
    },
    "keep_day": {
        "day": st.sampled_from([*DAYS, SAT + timedelta(days=9)]),
        "dishes": st.lists(st.sampled_from(SALADS), min_size=1, max_size=2, unique=True),
    },
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "pin", "dish": "kale_salad", "day": "tue"},
    {"kind": "bar", "dish": "rice_salad", "day": MON},
    {"kind": "signature", "dish": "kale_salad", "days": ("mon", "wed")},
    {"kind": "signature", "dish": "stew", "days": ("tue",)},
    {"kind": "keep_day", "day": TUE, "dishes": ("bake", "rice_salad")},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (Pin(dish="lentil_salat", day=MON), "did you mean 'lentil_salad'?"),
    (Pin(dish="stock_base", day=MON), "never in the cabinet"),
    (Pin(dish="soup", day="sun"), "closed on sun"),
    (Bar(dish="zzz"), "known: lentil_salad"),
    (Bar(dish="soup", day=SAT + timedelta(days=1)), "closed on 2026-01-11"),
    (Signature(dish="soap", days=("mon",)), "did you mean 'soup'?"),
    (Signature(dish="soup", days=("mon", "sun")), "closed on sun"),
    (KeepDay(day=MON, dishes=("soup", "soap")), "did you mean 'soup'?"),
    (KeepDay(day=MON, dishes=("soup", "stock_base")), "never in the cabinet"),
    (KeepDay(day=MON, dishes=("soup", "tofu_bake")), "which has 1 places"),
    (KeepDay(day=SAT + timedelta(days=1), dishes=("soup",)), "closed on 2026-01-11"),
)
