"""Rules about two dishes."""

from __future__ import annotations

from datetime import date
from typing import ClassVar, Literal

from pydantic import Field

from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule
from optimiser.rules.words import on, row_key, sold_dish_faults


class NotTogether(Rule):
    """Two dishes are never in the cabinet on the same day.

    For each open day t: shown[a,t] + shown[b,t] ≤ 1
    """

    kind: Literal["not_together"] = "not_together"
    title: ClassVar[str] = "Never on the same day"
    unit: ClassVar[str] = "day together"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "a on Monday, b on Tuesday"
    broken: ClassVar[str] = "both on Monday: broken by 1"

    a: str = Field(description="id of the one dish")
    b: str = Field(description="id of the other dish")

    def describe(self, cafe: Cafe) -> str:
        one, other = cafe.name_of(self.a), cafe.name_of(self.b)
        return f"{one} and {other} are never in the cabinet on the same day."

    def faults(self, cafe: Cafe) -> list[str]:
        if self.a == self.b:
            return [f"a and b are both {self.a!r}; name two dishes"]
        return [*sold_dish_faults(cafe, self.a), *sold_dish_faults(cafe, self.b)]

    def add_to(self, model: Rows) -> None:
        for day in model.week.open_dates:
            terms = [*model.shown(self.a, day), *model.shown(self.b, day)]
            model.at_most(self, row_key(self.a, self.b, day), terms, 1)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        days_of: dict[str, set[date]] = {self.a: set(), self.b: set()}
        for row in plan.shown:
            if row.dish in days_of:
                days_of[row.dish].add(row.date)
        names = f"{cafe.name_of(self.a)} and {cafe.name_of(self.b)}"
        return [
            self.breach(f"{names} are both shown on {on(day)}", 1, day, self.a)
            for day in sorted(days_of[self.a] & days_of[self.b])
        ]

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        names = f"{cafe.name_of(self.a)} and {cafe.name_of(self.b)}"
        return [(f"let {names} be in the cabinet together", b.day) for b in breaches]


RULES: tuple[type[Rule], ...] = (NotTogether,)
