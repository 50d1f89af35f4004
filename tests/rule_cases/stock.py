"""Cases of the rules about stock: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from hypothesis import strategies as st

from optimiser.plan import Open
from optimiser.rules import Rule
from optimiser.rules.stock import UseUp
from tests.rule_cases.base import (
    DAYS,
    Case,
    plan,
    used,
)
from tests.rule_weeks import MON, THU, TUE, WED, lot, tiny_cafe

SHELF = tiny_cafe(stock=(lot(1, "lentil", 500, WED),))

SOLVED: dict[str, list[Case]] = {
    "use_up": [
        Case(
            UseUp(item="lentil"),
            plan(uses=(used(200, "lentil", "stock-1"), used(300, "lentil", "stock-1"))),
            plan(uses=(used(300, "lentil", "stock-1"),)),
            [200],
            SHELF,
        ),
        Case(  # a whole pumpkin counts as used once it is cut
            UseUp(item="*", within_days=3, share_pct=50),
            plan(opens=(Open(date=TUE, ingredient="pumpkin", units=1, lot="stock-2"),)),
            plan(),
            [1000],
            tiny_cafe(
                stock=(
                    lot(1, "lentil", 500, THU),
                    lot(2, "pumpkin", 2000, WED, units=2),
                    lot(3, "quinoa", 900, None),
                    lot(4, "kale", 900, MON - timedelta(days=1)),
                )
            ),
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "use_up": {
        "item": st.sampled_from(["*", "lentil", "pumpkin", "stock_base"]),
        "share_pct": st.floats(10, 100),
        "use_by": st.sampled_from([None, *DAYS]),
        "within_days": st.sampled_from([None, 1, 3, 5]),
    },
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "use_up", "item": "kale"},
    {"kind": "use_up", "item": "squash", "share_pct": 60},
    {"kind": "use_up", "item": "rice", "share_pct": 90},
    {"kind": "use_up", "item": "pot"},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (UseUp(item="lentils"), "did you mean 'lentil'?"),
    (UseUp(item="*"), "needs use_by, within_days or lot"),
)
