"""Rules about seasons."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from optimiser import nutrition
from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, sold_dishes
from optimiser.rules.words import COURSE, counted, course_faults, dish_word, named, on, row_key


class InSeason(Rule):
    """Dishes are shown in months in which their ingredients are in season.

    For each dish r and open day t, with out[r,t] its ingredients (main: the main
    ingredient) whose months are known and do not hold the month of t:
        out[r,t] · shown[r,t] ≤ 0
    Ingredients without months are in season all year, or nobody knows better: they
    never count. Ingredients of cooked parts count.
    """

    kind: Literal["in_season"] = "in_season"
    title: ClassVar[str] = "Ingredients in season"
    unit: ClassVar[str] = "ingredient out of season, per showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "a beet salad in January, beet months 1 and 2"
    broken: ClassVar[str] = "a kale salad, kale months 5 to 9: broken by 1"

    course: str | None = Field(default=None, description=COURSE)
    scope: Literal["main", "any"] = Field(
        default="any",
        description="any: every ingredient counts; main: only the main ingredient of a dish",
    )

    def describe(self, cafe: Cafe) -> str:
        what = "its main ingredient is" if self.scope == "main" else "all its ingredients are"
        return (
            f"A {dish_word(self.course)} is shown only in months when {what} in season; "
            "an ingredient without months never counts as out of season."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        if found := course_faults(cafe, self.course):
            return found
        if any(one.months for one in cafe.ingredients.values()):
            return []
        return ["no ingredient has months, so this rule holds nothing; fill in that column"]

    def add_to(self, model: Rows) -> None:
        cafe = model.week.cafe
        for dish in sold_dishes(cafe, self.course):
            for day in model.week.open_dates:
                out = sum(_out(cafe, item, day.month) for item in self._counted(cafe, dish.id))
                if out:
                    terms = [(v, one * out) for v, one in model.shown(dish.id, day)]
                    model.at_most(self, row_key(dish.id, day), terms, 0)

    def _counted(self, cafe: Cafe, dish: str) -> tuple[str, ...]:
        """The ingredients of a dish that the rule looks at."""
        if self.scope == "any":
            return tuple(nutrition.parts(cafe, dish))
        main = nutrition.hero(cafe, dish)
        return () if main is None else (main,)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Reads down the recipe of each dish shown, cooked parts and all."""
        breaches = []
        for row in plan.shown:
            if self.course not in (None, row.course):
                continue
            out = _recipe(cafe, row.dish) - _growing(cafe, row.date.month)
            if self.scope == "main":
                out &= {nutrition.hero(cafe, row.dish) or ""}
            if out:
                names = ", ".join(sorted(cafe.name_of(item) for item in out))
                text = f"{cafe.name_of(row.dish)} on {on(row.date)} takes out of season: {names}"
                breaches.append(self.breach(text, len(out), row.date, row.dish))
        return breaches

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        phrases: list[Phrase] = []
        for breach in breaches:
            out = counted(round(breach.amount), "ingredient")
            what = "its main ingredient" if self.scope == "main" else out
            phrases.append((f"let {named(cafe, breach)} in with {what} out of season", breach.day))
        return phrases


def _out(cafe: Cafe, item: str, month: int) -> bool:
    """Whether an ingredient is known to be out of season in a month (1 to 12)."""
    months = cafe.ingredients[item].months
    return bool(months) and month not in months


def _growing(cafe: Cafe, month: int) -> set[str]:
    """All ingredients that may be used in a month (1 to 12)."""
    return {one.id for one in cafe.ingredients.values() if month in (one.months or {month})}


def _recipe(cafe: Cafe, dish: str) -> set[str]:
    """The ingredients on a dish's lines and on those of its cooked parts."""
    items = {line.item for line in cafe.dishes[dish].lines}
    cooked = items & cafe.dishes.keys()
    return (items - cooked).union(*(_recipe(cafe, part) for part in cooked))


RULES: tuple[type[Rule], ...] = (InSeason,)
