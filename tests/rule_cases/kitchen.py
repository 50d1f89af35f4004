"""Cases of the rules about the kitchen: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.rules import Rule
from optimiser.rules.kitchen import EvenLoad, StationMinutes
from tests.rule_cases.base import (
    CAFE,
    LENTILS_MON,
    Case,
    on_days,
    plan,
)
from tests.rule_weeks import MON, TUE, limited, tiny_cafe

OVEN = tiny_cafe(kitchen=limited(oven_min=120))

SOLVED: dict[str, list[Case]] = {
    "station_minutes": [
        Case(
            StationMinutes(station="oven"),
            plan(*on_days("tofu_bake", "pumpkin_bake", days=(MON, TUE))),
            plan(*on_days("tofu_bake", "pumpkin_bake", "grain_bake", days=(MON,))),
            [60],
            OVEN,
        ),
        Case(  # a cook of 10 portions takes 20 + 10 minutes; the base has no extra fixed part
            StationMinutes(station="hands_on", share_pct=50),
            plan(LENTILS_MON, cafe=CAFE),
            plan(LENTILS_MON, ("stock_base", MON, ())),
            [10],
            tiny_cafe(kitchen=limited(hands_on_min=100)),
        ),
        Case(  # 10 portions for the cabinet and 5 for other dishes are one cook: 20 + 15
            StationMinutes(station="hands_on"),
            plan(LENTILS_MON),
            plan(("quinoa_salad", MON, (MON,)), extra=5),
            [5],
            tiny_cafe(kitchen=limited(hands_on_min=30)),
        ),
    ],
    "even_load": [
        Case(  # a bake is 60 oven minutes: one a day, then two on Monday
            EvenLoad(station="oven", most_min=60),
            plan(*on_days("tofu_bake")),
            plan(*on_days("tofu_bake", days=(MON, TUE)), ("pumpkin_bake", MON, (MON,))),
            [60],
        ),
        Case(  # any minute of the heaviest day is charged
            EvenLoad(station="oven", price_cents=2),
            plan(*on_days("lentil_salad")),
            plan(*on_days("tofu_bake"), ("pumpkin_bake", TUE, (TUE,))),
            [120],
        ),
        Case(  # 20 + 10 minutes for a salad, the same for a base that goes into other dishes
            EvenLoad(station="hands_on", most_min=45),
            plan(LENTILS_MON, ("stock_base", TUE, ())),
            plan(LENTILS_MON, ("stock_base", MON, ())),
            [15],
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "station_minutes": {
        "station": st.sampled_from(["hands_on", "oven", "hob", "processor"]),
        "share_pct": st.floats(10, 150),
    },
    "even_load": {
        "station": st.sampled_from(["hands_on", "oven", "hob", "processor"]),
        "most_min": st.floats(1, 160),
    },
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "station_minutes", "station": "oven"},
    {"kind": "station_minutes", "station": "hands_on", "share_pct": 70},
    {"kind": "even_load", "station": "oven", "most_min": 45},
    {"kind": "even_load", "station": "hands_on", "most_min": 60},
)

FAULTS: tuple[tuple[Rule, str], ...] = ((EvenLoad(station="oven"), "give price_cents"),)
