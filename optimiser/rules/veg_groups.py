"""Rules about the vegetable groups of a published table."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar, Literal

from pydantic import Field

from optimiser import nutrition
from optimiser.cafe import VEG_GROUPS, Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.base import Phrase, Rows, Rule, sold_dishes
from optimiser.rules.colour import kinds_daily
from optimiser.rules.variety import grouped
from optimiser.rules.words import COURSE, counted, course_faults, dish_word, on
from optimiser.week import Week, open_dates


class VegGroupsDaily(Rule):
    """The cabinet shows several vegetable groups, another measure of its colours.

    For each open day t, with seen[g,t] between 0 and 1 for each group g:
        seen[g,t] ≤ Σ_{r that shows g} shown[r,t]   (always hard: what seen means)
        Σ_g seen[g,t] ≥ groups

    The groups: dark green (broccoli, kale, spinach), orange (butternut, carrot, pumpkin,
    sweet potato), pulses with tofu, starchy, and other (beetroot, cabbage, red pepper,
    tomato). Other lists of the United States put red pepper and tomato with the orange
    ones, as red and orange. An ingredient without a group counts as none. A dish shows a
    group as it shows a colour: from 8 percent of what is visible and has a group.
    """

    kind: Literal["veg_groups_daily"] = "veg_groups_daily"
    title: ClassVar[str] = "Vegetable groups a day"
    unit: ClassVar[str] = "missing vegetable group"
    source: ClassVar[str] = "National Academies, record 12959, Table H-1 (p. 236)"
    kept: ClassVar[str] = "kale, pumpkin and lentils on Monday, 3 groups"
    broken: ClassVar[str] = "kale and pumpkin: broken by 1"

    course: str | None = Field(default=None, description=COURSE)
    groups: int = Field(
        default=4,
        ge=1,
        le=len(VEG_GROUPS),
        description="different vegetable groups in the cabinet each day, at least",
    )

    def describe(self, cafe: Cafe) -> str:
        some = f"{self.groups} of the {len(VEG_GROUPS)} vegetable groups"
        if self.course is None:
            return f"The cabinet shows at least {some} each day."
        return f"The {dish_word(self.course, 2)} show at least {some} each day."

    def faults(self, cafe: Cafe) -> list[str]:
        if found := course_faults(cafe, self.course):
            return found
        book = self._showing(cafe)
        if len(book) >= self.groups:
            return []
        return [
            f"{counted(self.groups, 'vegetable group')} asked for, but all dishes together show "
            f"{_words(book)}; see the column veg_group of the ingredients"
        ]

    def _showing(self, cafe: Cafe) -> dict[str, list[str]]:
        """Dishes by the group they show."""
        return grouped(
            (group, dish.id)
            for dish in sold_dishes(cafe, self.course)
            for group in nutrition.veg_groups(cafe, dish.id)
        )

    def add_to(self, model: Rows) -> None:
        kinds_daily(model, self, self._showing(model.week.cafe), "groups", self.groups)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            seen: set[str] = set()
            for dish in plan.dishes_on(day, self.course):
                seen.update(nutrition.veg_groups(cafe, dish))
            if (short := self.groups - len(seen)) > 0:
                text = f"vegetable groups on {on(day)}: {_words(seen)}, {short} short"
                breaches.append(self.breach(text, short, day))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / self.groups

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [
            (
                f"{counted(self.groups - round(b.amount), 'vegetable group')} "
                f"instead of {self.groups}",
                b.day,
            )
            for b in breaches
        ]


def _words(groups: Iterable[str]) -> str:
    """The groups in words, in the order of the table."""
    found = set(groups)
    return ", ".join(g.replace("_", " ") for g in VEG_GROUPS if g in found) or "none"


RULES: tuple[type[Rule], ...] = (VegGroupsDaily,)
