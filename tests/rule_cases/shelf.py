"""Cases of the rules in `shelf`: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from hypothesis import strategies as st

from optimiser.plan import Left, Open, Use
from optimiser.rules import Rule
from optimiser.rules.shelf import FridgeLitres, ParLevel
from tests.rule_cases.base import Case, bought, plan
from tests.rule_weeks import MON, TUE, WED, lot, tiny_cafe

NEXT_WEEK = MON + timedelta(days=10)
KALE = tiny_cafe(stock=(lot(1, "kale", 4000, WED),))


def left(item: str, grams: float, source: str = "stock-1") -> Left:
    return Left(item=item, grams=grams, use_by=NEXT_WEEK, value_cents=1, lot=source)


def kale(day, grams: float) -> Use:
    return Use(date=day, dish="kale_salad", item="kale", grams=grams, lot="stock-1")


SOLVED: dict[str, list[Case]] = {
    "par_level": [
        Case(
            ParLevel(item="quinoa", par_g=2000),
            plan(left=(left("quinoa", 1500), left("quinoa", 500, "stock-2"))),
            plan(left=(left("quinoa", 1200), left("lentil", 900))),
            [800],
        ),
        Case(  # an uncut pumpkin weighs 1000 g; half of another does not count
            ParLevel(item="pumpkin", par_pieces=2),
            plan(left=(left("pumpkin", 2000),)),
            plan(
                left=(left("pumpkin", 1000), left("pumpkin", 500, f"opened-{MON}-stock-1")),
                opens=(Open(date=MON, ingredient="pumpkin", units=1, lot="stock-1"),),
            ),
            [1000],
        ),
    ],
    "fridge_litres": [
        Case(  # kale takes 5 l a kilo: 4 kg less 2 kg on Monday, 1 kg on Tuesday
            FridgeLitres(litres=10),
            plan(uses=(kale(MON, 2000), kale(TUE, 1000)), cafe=KALE),
            plan(uses=(kale(MON, 1000), kale(TUE, 1000)), cafe=KALE),
            [5],
            KALE,
        ),
        Case(  # 3 kg of kale arrive on Monday: 15 l every evening; lentils take no room
            FridgeLitres(litres=15),
            plan(buys=(bought(3, "kale", 900), bought(9))),
            plan(buys=(bought(3, "kale", 900), bought(1, "beet", 400))),
            [2] * 6,
        ),
        Case(  # cooked for three days, 10 portions of 100 g a day: 2 kg, then 1 kg wait
            FridgeLitres(litres=2, l_per_kg=2),
            plan(("lentil_salad", MON, (MON, TUE))),
            plan(("lentil_salad", MON, (MON, TUE, WED))),
            [2],
        ),
        Case(  # half a pumpkin is kept cold once it is cut: 0.4 kg at 2 l
            FridgeLitres(litres=1, l_per_kg=2),
            plan(
                opens=(Open(date=MON, ingredient="pumpkin", units=1, lot="stock-9"),),
                uses=(
                    Use(date=MON, dish="soup", item="pumpkin", grams=600, lot=f"opened-{MON}-x"),
                ),
            ),
            plan(
                opens=(Open(date=MON, ingredient="pumpkin", units=1, lot="stock-9"),),
                uses=(
                    Use(date=TUE, dish="soup", item="pumpkin", grams=600, lot=f"opened-{MON}-x"),
                ),
            ),
            [1],
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "par_level": {
        "item": st.sampled_from(["lentil", "quinoa", "pumpkin"]),
        "par_g": st.floats(10, 2000),
    },
    "fridge_litres": {"litres": st.floats(1, 40), "l_per_kg": st.floats(0.5, 4)},
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "par_level", "item": "squash", "par_pieces": 1},
    {"kind": "par_level", "item": "rice", "par_g": 900},
    {"kind": "fridge_litres", "litres": 1.5},
    {"kind": "fridge_litres", "litres": 2.5, "l_per_kg": 3},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (ParLevel(item="quinoaa", par_g=1), "did you mean 'quinoa'?"),
    (ParLevel(item="quinoa"), "give par_g or par_pieces"),
    (ParLevel(item="quinoa", par_pieces=1), "give par_g"),
)
