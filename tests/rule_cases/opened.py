"""Cases of the rules in `opened` and `stretch`: by hand, random parameters, small weeks, faults."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from optimiser.cafe import Cafe
from optimiser.plan import Open, Stretch, Use
from optimiser.rules import Rule
from optimiser.rules.opened import FinishOpened, OpenedOverClosed
from optimiser.rules.stretch import RecipeStretch
from tests.rule_cases.base import DAYS, Case, plan
from tests.rule_weeks import MON, SAT, WED, lot, tiny_cafe


def flexible_cafe() -> Cafe:
    """The tiny cafe with every line flexible."""
    base = tiny_cafe()
    dishes = {
        dish.id: dish.model_copy(
            update={"lines": tuple(one.model_copy(update={"flexible": True}) for one in dish.lines)}
        )
        for dish in base.dishes.values()
    }
    return base.model_copy(update={"dishes": dishes})


FLEXIBLE = flexible_cafe()
HALF_TOFU = tiny_cafe(stock=(lot(1, "tofu", 200, WED, state="opened"),))


def cut(item: str, day, units: int = 1) -> Open:
    """Pieces cut of a lot bought on Monday."""
    return Open(date=day, ingredient=item, units=units, lot=f"bought-{MON}-market-{item}")


def eaten(item: str, day, grams: float, opened_on=None) -> Use:
    """Grams cooked from pieces opened on a day; blank: from opened stock."""
    source = f"opened-{opened_on}-bought-{MON}-market-{item}" if opened_on else "stock-1"
    return Use(date=day, dish="soup", item=item, grams=grams, lot=source)


def stretched(day, more_g: float, dish: str = "pumpkin_bake", item: str = "pumpkin") -> Stretch:
    return Stretch(date=day, dish=dish, item=item, more_g=more_g)


PUMPKIN_MON = ("pumpkin_bake", MON, (MON,))

SOLVED: dict[str, list[Case]] = {
    "finish_opened": [
        Case(  # a tofu block is 500 g: 460 used, 40 left over; then 300 used, 200 left over
            FinishOpened(),
            plan(opens=(cut("tofu", MON),), uses=(eaten("tofu", WED, 460, MON),)),
            plan(opens=(cut("tofu", MON),), uses=(eaten("tofu", WED, 300, MON),)),
            [150],
        ),
        Case(  # 200 g were open already, a pumpkin of 1 kg is cut besides
            FinishOpened(rest_g=0),
            plan(uses=(eaten("tofu", MON, 200),), cafe=HALF_TOFU),
            plan(
                opens=(cut("pumpkin", WED),),
                uses=(eaten("tofu", MON, 150), eaten("pumpkin", WED, 900, WED)),
                cafe=HALF_TOFU,
            ),
            [50, 100],
            HALF_TOFU,
        ),
    ],
    "opened_over_closed": [
        Case(  # Sunday is closed: on Saturday evening half a pumpkin waits, then tofu too
            OpenedOverClosed(things=1),
            plan(
                opens=(cut("pumpkin", SAT), cut("tofu", MON)),
                uses=(eaten("pumpkin", SAT, 500, SAT), eaten("tofu", WED, 500, MON)),
            ),
            plan(
                opens=(cut("pumpkin", SAT), cut("tofu", SAT)),
                uses=(eaten("pumpkin", SAT, 500, SAT), eaten("tofu", SAT, 300, SAT)),
            ),
            [1],
        ),
        Case(  # the open tofu of last week counts until it is eaten
            OpenedOverClosed(things=0),
            plan(uses=(eaten("tofu", SAT, 200),), cafe=HALF_TOFU),
            plan(cafe=HALF_TOFU),
            [1],
            HALF_TOFU,
        ),
    ],
    "recipe_stretch": [
        Case(  # 10 portions take 1000 g of pumpkin
            RecipeStretch(),
            plan(PUMPKIN_MON, cafe=FLEXIBLE, stretched=(stretched(MON, -100),)),
            plan(PUMPKIN_MON, cafe=FLEXIBLE, stretched=(stretched(MON, 120),)),
            [20],
            FLEXIBLE,
        ),
        Case(  # less counts like more; two days of pumpkin are 20 portions
            RecipeStretch(pct=5),
            plan(("pumpkin_bake", MON, (MON, WED)), cafe=FLEXIBLE, stretched=(stretched(MON, 99),)),
            plan(PUMPKIN_MON, cafe=FLEXIBLE, stretched=(stretched(MON, -90),)),
            [40],
            FLEXIBLE,
        ),
    ],
}

# Parameters that are often broken and often kept by weeks of the tiny cafe.
PARAMETERS: dict[str, dict[str, st.SearchStrategy]] = {
    "finish_opened": {"rest_g": st.floats(0, 3000)},
    "opened_over_closed": {"things": st.integers(0, 2)},
    "recipe_stretch": {"pct": st.floats(1, 50)},
}

# Settings for the small weeks of `board_weeks`.
BOARDS: tuple[dict[str, Any], ...] = (
    {"kind": "finish_opened", "rest_g": 0},
    {"kind": "finish_opened", "rest_g": 150},
    {"kind": "opened_over_closed", "things": 0},
    {"kind": "recipe_stretch", "pct": 10},
)

FAULTS: tuple[tuple[Rule, str], ...] = (
    (RecipeStretch(), "no line of recipe_lines.csv is marked flexible"),
)

assert DAYS[-1] == SAT, "these weeks end before a closed Sunday"
