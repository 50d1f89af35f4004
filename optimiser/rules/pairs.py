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


class Together(Rule):
    """A dish is in the cabinet only with another: this curry wants that grain.

    For each open day t: shown[dish,t] − shown[needs,t] ≤ 0
    """

    kind: Literal["together"] = "together"
    title: ClassVar[str] = "Only with another dish"
    unit: ClassVar[str] = "day without the other"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "curry and rice on Monday, rice alone on Tuesday"
    broken: ClassVar[str] = "curry alone on Monday: broken by 1"

    dish: str = Field(description="id of the dish that wants company")
    needs: str = Field(description="id of the dish that has to be in the cabinet then")

    def describe(self, cafe: Cafe) -> str:
        one, other = cafe.name_of(self.dish), cafe.name_of(self.needs)
        return f"{one} is in the cabinet only on days when {other} is there too."

    def faults(self, cafe: Cafe) -> list[str]:
        if self.dish == self.needs:
            return [f"dish and needs are both {self.dish!r}; name two dishes"]
        found = [*sold_dish_faults(cafe, self.dish), *sold_dish_faults(cafe, self.needs)]
        if found:
            return found
        course = cafe.dishes[self.dish].course
        if course == cafe.dishes[self.needs].course and cafe.courses[course].slots < 2:
            return [
                f"{self.dish!r} and {self.needs!r} share the only place of course {course!r}; "
                "give it two places, or keep the dish out with a rule of kind bar"
            ]
        return []

    def add_to(self, model: Rows) -> None:
        for day in model.week.open_dates:
            if wanted := model.shown(self.dish, day):
                other = [(variable, -one) for variable, one in model.shown(self.needs, day)]
                model.at_most(self, row_key(self.dish, self.needs, day), [*wanted, *other], 0)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Looks at each day's board."""
        alone = f"{cafe.name_of(self.dish)} is shown without {cafe.name_of(self.needs)}"
        breaches = []
        for day in sorted({row.date for row in plan.shown}):
            board = plan.dishes_on(day)
            if self.dish in board and self.needs not in board:
                breaches.append(self.breach(f"{alone} on {on(day)}", 1, day, self.dish))
        return breaches

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        text = f"let {cafe.name_of(self.dish)} be shown without {cafe.name_of(self.needs)}"
        return [(text, b.day) for b in breaches]


RULES: tuple[type[Rule], ...] = (NotTogether, Together)
