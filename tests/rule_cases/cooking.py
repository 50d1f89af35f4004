"""Cases of the rules in `cooking`: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.rules import Rule
from optimiser.rules.cooking import ClosedDayLife, CooksDaily, OvenSettings
from tests.rule_cases.base import CAFE, LENTILS_MON, Case, on_days, plan
from tests.rule_weeks import FRI, MON, SAT, THU, TUE, tiny_cafe


def with_dishes(**changes: dict[str, Any]) -> dict[str, Any]:
    """The dishes of the tiny cafe, some of them changed."""
    changed = {
        dish: CAFE.dishes[dish].model_copy(update=fields) for dish, fields in changes.items()
    }
    return {**CAFE.dishes, **changed}


# Tofu is baked at 220 and pumpkin at 180 degrees; the grain bake's temperature is unknown.
HOT = tiny_cafe(
    dishes=with_dishes(
        kale_salad={"oven_min": 15, "oven_c": 250.0}, stock_base={"oven_min": 40, "oven_c": 150.0}
    )
)
# A dish keeps 3 days, the lentil salad 5.
REST_WED = tiny_cafe(
    open_days=frozenset({0, 1, 3, 4, 5}), dishes=with_dishes(lentil_salad={"hold_days": 5})
)

SOLVED: dict[str, list[Case]] = {
    "oven_settings": [
        Case(  # 180 + 10 < 220 - 10
            OvenSettings(settings=1),
            plan(*on_days("tofu_bake", "grain_bake")),
            plan(*on_days("tofu_bake", "pumpkin_bake", "grain_bake", days=(MON, FRI))),
            [1, 1],
        ),
        Case(  # 200 serves both bakes, 250 is out of its reach
            OvenSettings(settings=1, within_c=20),
            plan(*on_days("tofu_bake", "pumpkin_bake")),
            plan(*on_days("kale_salad", "tofu_bake", "pumpkin_bake", days=(THU,))),
            [1],
            HOT,
        ),
        Case(  # the base is cooked for other dishes only; 150, 180, 220 and 250
            OvenSettings(settings=2, within_c=10),
            plan(("tofu_bake", MON, (MON,)), ("stock_base", MON, ())),
            plan(
                *on_days("tofu_bake", "pumpkin_bake", "kale_salad", days=(MON,)),
                ("stock_base", MON, ()),
            ),
            [2],
            HOT,
        ),
    ],
    "cooks_daily": [
        Case(
            CooksDaily(cooks=3),
            plan(*on_days("lentil_salad", "kale_salad", "soup")),
            plan(*on_days("lentil_salad", "kale_salad", "soup"), ("stock_base", MON, ())),
            [1],
        ),
        Case(  # portions for the cabinet and for other dishes are one cook
            CooksDaily(cooks=3),
            plan(*on_days("quinoa_salad", "lentil_salad", "grain_bake"), extra=5),
            plan(
                *on_days(
                    "quinoa_salad", "lentil_salad", "kale_salad", "tofu_bake", "soup", days=(TUE,)
                )
            ),
            [2],
        ),
    ],
    "closed_day_life": [
        Case(  # cooked on Tuesday, a dish of 3 days has none left on Thursday
            ClosedDayLife(spare_days=1),
            plan(("kale_salad", MON, (MON, TUE)), ("lentil_salad", TUE, (TUE, THU, FRI))),
            plan(LENTILS_MON, ("kale_salad", TUE, (TUE, THU)), ("soup", THU, (THU, FRI, SAT))),
            [1],
            REST_WED,
        ),
        Case(  # 5 days from Tuesday: 2 are left on Thursday, 1 on Friday
            ClosedDayLife(spare_days=2),
            plan(("lentil_salad", TUE, (TUE, THU)), ("kale_salad", THU, (THU, FRI, SAT))),
            plan(("lentil_salad", TUE, (TUE, THU, FRI))),
            [1, 1],
            REST_WED,
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "oven_settings": {"settings": st.integers(1, 2), "within_c": st.floats(0, 30)},
    "cooks_daily": {"cooks": st.integers(1, 4)},
    "closed_day_life": {"spare_days": st.integers(1, 3)},
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "oven_settings", "settings": 1},
    {"kind": "cooks_daily", "cooks": 2},
    {"kind": "closed_day_life", "spare_days": 1},
)

FAULTS: tuple[tuple[Rule, str], ...] = ((CooksDaily(cooks=2), "set cooks to 3 or more"),)
