"""Rules that keep the cabinet from repeating itself."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from datetime import timedelta
from typing import ClassVar, Literal

from pydantic import Field

from optimiser import nutrition
from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, sold_dishes
from optimiser.rules.groups import cap_faults, week_from, weeks_of
from optimiser.rules.words import (
    COURSE,
    counted,
    course_faults,
    dish_word,
    named,
    on,
    row_key,
)
from optimiser.week import Week, open_dates


class WeeklyCap(Rule):
    """A dish is in the cabinet on a few days of a week only.

    For each dish r and each seven days V counted from the first of the plan:
        Σ_{t ∈ V} shown[r,t] ≤ days
    """

    kind: Literal["weekly_cap"] = "weekly_cap"
    title: ClassVar[str] = "Days a week for one dish"
    unit: ClassVar[str] = "showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "lentils on two days, cap 2"
    broken: ClassVar[str] = "on three days: broken by 1"

    course: str | None = Field(default=None, description=COURSE)
    days: int = Field(
        default=2, ge=1, le=7, description="days a week on which one dish is shown, at most"
    )

    def describe(self, cafe: Cafe) -> str:
        often = counted(self.days, "day")
        return f"No {dish_word(self.course)} is in the cabinet on more than {often} of a week."

    def faults(self, cafe: Cafe) -> list[str]:
        return course_faults(cafe, self.course)

    def add_to(self, model: Rows) -> None:
        for days in weeks_of(model.week.start, model.week.open_dates):
            if len(days) <= self.days:
                continue
            for dish in sold_dishes(model.week.cafe, self.course):
                terms = [term for day in days for term in model.shown(dish.id, day)]
                model.at_most(self, row_key(dish.id, days[0]), terms, self.days)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        counts = Counter(
            (row.dish, (row.date - plan.week).days // 7)
            for row in plan.shown
            if self.course in (None, row.course)
        )
        return [
            self.breach(
                f"{cafe.name_of(dish)} is shown on {counted(count, 'day')} of the week from "
                f"{on(plan.week + timedelta(days=7 * number))}, {count - self.days} too many",
                count - self.days,
                plan.week + timedelta(days=7 * number),
                dish,
            )
            for (dish, number), count in counts.items()
            if count > self.days
        ]

    def share(self, week: Week) -> float:
        return 1 / self.days

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        phrases: list[Phrase] = []
        for breach in breaches:
            often = f"{self.days + round(breach.amount)} days of the week instead of {self.days}"
            week = week_from(plan, breach)
            phrases.append((f"let {named(cafe, breach)} be shown on {often}{week}", None))
        return phrases


class HeroDaily(Rule):
    """Dishes of one day are not all built on the same main ingredient.

    For each main ingredient h and open day t:
        Σ_{r with hero h} shown[r,t] ≤ dishes
    """

    kind: Literal["hero_daily"] = "hero_daily"
    title: ClassVar[str] = "Dishes a day with one main ingredient"
    unit: ClassVar[str] = "showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "two pumpkin dishes on Monday, cap 2"
    broken: ClassVar[str] = "three of them: broken by 1"

    course: str | None = Field(default=None, description=COURSE)
    dishes: int = Field(
        default=2, ge=1, le=50, description="dishes a day with the same main ingredient, at most"
    )

    def describe(self, cafe: Cafe) -> str:
        some = f"{self.dishes} {dish_word(self.course, self.dishes)}"
        return f"At most {some} a day share a main ingredient."

    def faults(self, cafe: Cafe) -> list[str]:
        return course_faults(cafe, self.course)

    def add_to(self, model: Rows) -> None:
        cafe = model.week.cafe
        heroes = {d.id: nutrition.hero(cafe, d.id) for d in sold_dishes(cafe, self.course)}
        cap_groups(model, self, heroes, self.dishes)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        return [
            self.breach(
                f"{cafe.name_of(hero)} is the main ingredient of {len(dishes)} dishes on "
                f"{on(day)} ({', '.join(dishes)}), {len(dishes) - self.dishes} too many",
                len(dishes) - self.dishes,
                day,
                hero,
            )
            for day in open_dates(cafe, plan.week, plan.days)
            for hero, dishes in grouped(
                (nutrition.hero(cafe, dish), cafe.name_of(dish))
                for dish in plan.dishes_on(day, self.course)
            ).items()
            if len(dishes) > self.dishes
        ]

    def share(self, week: Week) -> float:
        return 1 / self.dishes

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [
            (
                f"{self.dishes + round(b.amount)} dishes built on {named(cafe, b)} "
                f"instead of {self.dishes}",
                b.day,
            )
            for b in breaches
        ]


class HeroWeekly(Rule):
    """A week is not built on one main ingredient.

    For each main ingredient h and each seven days V counted from the first of the plan:
        Σ_{r with hero h} Σ_{t ∈ V} shown[r,t] ≤ showings
    Dishes without a main ingredient count for none.
    """

    kind: Literal["hero_weekly"] = "hero_weekly"
    title: ClassVar[str] = "Showings a week with one main ingredient"
    unit: ClassVar[str] = "showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "pumpkin dishes on Monday and Tuesday, cap 2"
    broken: ClassVar[str] = "another on Friday: broken by 1"

    course: str | None = Field(default=None, description=COURSE)
    showings: int = Field(
        default=6,
        ge=1,
        le=200,
        description="showings a week of dishes with the same main ingredient, at most; "
        "a dish on two days is two showings",
    )

    def describe(self, cafe: Cafe) -> str:
        often = counted(self.showings, "showing")
        return (
            f"No main ingredient carries more than {often} of {dish_word(self.course, 2)} a week."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        if found := course_faults(cafe, self.course):
            return found
        return cap_faults(cafe, self.course, self._heroes(cafe), self.showings)

    def _heroes(self, cafe: Cafe) -> dict[str, str | None]:
        return {d.id: nutrition.hero(cafe, d.id) for d in sold_dishes(cafe, self.course)}

    def add_to(self, model: Rows) -> None:
        week = model.week
        members = grouped((hero, dish) for dish, hero in self._heroes(week.cafe).items())
        for days in weeks_of(week.start, week.open_dates):
            for hero, dishes in members.items():
                if len(dishes) * len(days) <= self.showings:
                    continue
                terms = [t for dish in dishes for day in days for t in model.shown(dish, day)]
                model.at_most(self, row_key(hero, days[0]), terms, self.showings)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Walks the showings and counts each for its week and its dish's main ingredient."""
        counts: Counter[tuple[int, str]] = Counter()
        for row in plan.shown:
            hero = nutrition.hero(cafe, row.dish)
            if hero is not None and self.course in (None, row.course):
                counts[(row.date - plan.week).days // 7, hero] += 1
        breaches = []
        for (number, hero), count in sorted(counts.items()):
            if (over := count - self.showings) > 0:
                first = plan.week + timedelta(days=7 * number)
                text = f"{cafe.name_of(hero)} carries {count} showings in the week from {on(first)}"
                breaches.append(self.breach(f"{text}, {over} too many", over, first, hero))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / self.showings

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        phrases: list[Phrase] = []
        for b in breaches:
            often = f"{self.showings + round(b.amount)} showings a week instead of {self.showings}"
            phrases.append((f"let {named(cafe, b)} carry {often}{week_from(plan, b)}", None))
        return phrases


def cap_groups(model: Rows, rule: Rule, group_of: Mapping[str, str | None], most: int) -> None:
    """Row per group and day: dishes shown of the group ≤ most, where more are possible."""
    members = grouped((group, dish) for dish, group in group_of.items())
    for group, dishes in members.items():
        if len(dishes) <= most:
            continue
        for day in model.week.open_dates:
            terms = [term for dish in dishes for term in model.shown(dish, day)]
            model.at_most(rule, row_key(group, day), terms, most)


def grouped(pairs: Iterable[tuple[str | None, str]]) -> dict[str, list[str]]:
    """Second members by first, in order; those without a first are left out."""
    groups: dict[str, list[str]] = defaultdict(list)
    for group, member in pairs:
        if group is not None:
            groups[group].append(member)
    return groups


RULES: tuple[type[Rule], ...] = (WeeklyCap, HeroDaily, HeroWeekly)
