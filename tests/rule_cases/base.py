"""What the lists of cases share: a tiny cafe, plans in one line, kinds of parameters."""

from __future__ import annotations

from dataclasses import dataclass, field

from hypothesis import strategies as st

from optimiser.cafe import Cafe
from optimiser.plan import Buy, Plan, Use
from optimiser.rules import Rule
from tests.rule_weeks import BOOK, FRI, MON, SAT, THU, TUE, WED, tiny_cafe, week_plan

DAYS = (MON, TUE, WED, THU, FRI, SAT)
CAFE = tiny_cafe()

LENTILS_MON = ("lentil_salad", MON, (MON,))
LENTILS_TUE = ("lentil_salad", TUE, (TUE,))
LENTILS_WED = ("lentil_salad", WED, (WED,))
LENTILS_THU = ("lentil_salad", THU, (THU,))

SALADS = [row[0] for row in BOOK if row[1] == "salad"]
MAINS = [row[0] for row in BOOK if row[1] == "main"]
COURSES = st.sampled_from([None, "salad", "main"])
MEASURES_G = st.floats(0.5, 40)


@dataclass(frozen=True)
class Case:
    """A rule with a week that keeps it and one that breaks it by `amounts`."""

    rule: Rule
    kept: Plan
    broken: Plan
    amounts: list[float]
    cafe: Cafe = field(default=CAFE)


def on_days(*dishes: str, days: tuple = DAYS) -> list:
    """The same dishes cooked fresh on each of `days`."""
    return [(dish, day, (day,)) for day in days for dish in dishes]


def plan(*cooks, cafe: Cafe = CAFE, **fields) -> Plan:
    return week_plan(cafe, list(cooks), **fields)


def bought(packs: int, item: str = "lentil", cost_cents: int = 500) -> Buy:
    return Buy(
        deliver_on=MON,
        supplier="market",
        ingredient=item,
        packs=packs,
        pack_qty=1,
        pack_unit="kg",
        cost_cents=packs * cost_cents,
    )


def used(grams: float, item: str, source: str) -> Use:
    return Use(date=MON, dish="quinoa_salad", item=item, grams=grams, lot=source)
