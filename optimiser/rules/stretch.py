"""The rule that recipes give a little."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import Field

from optimiser.cafe import MOST_STRETCH_PCT, Cafe, Dish
from optimiser.plan import Breach, Plan, Stretch
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule
from optimiser.rules.words import (
    LEAST_G,
    MEASURE_TOLERANCE,
    PCT_UP_TO,
    counted,
    on,
    plain,
    row_key,
    up_to,
)
from optimiser.week import Week


class RecipeStretch(Rule):
    """Flexible lines of a recipe may be a little more or less, to finish a whole piece.

    For each dish r, item i and cook day t, with G grams of i in the flexible lines of the
    cooks of that day, and up, down the grams more and less than written:
        up ≤ pct/100 · G  and  down ≤ pct/100 · G
    Never by more than half, whatever the price. Cost and nutrition rules count the recipe
    as written.
    """

    kind: Literal["recipe_stretch"] = "recipe_stretch"
    title: ClassVar[str] = "Recipes that give a little"
    unit: ClassVar[str] = "gram beyond it"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "a flexible line of 950 g cooked with a squash of 1000 g, pct 10"
    broken: ClassVar[str] = "a flexible line of 800 g cooked with that squash: broken by 120"
    stretches: ClassVar[bool] = True

    pct: float = Field(
        default=10.0,
        gt=0.0,
        le=MOST_STRETCH_PCT,
        description="percent that the lines marked flexible may be off the recipe, at most",
    )

    def describe(self, cafe: Cafe) -> str:
        number = sum(line.flexible for dish in cafe.dishes.values() for line in dish.lines)
        return (
            f"The {counted(number, 'recipe line')} marked flexible may be up to "
            f"{plain(self.pct)} % more or less, so that opened things are finished; cost and "
            "nutrition are counted as written."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        if any(line.flexible for dish in cafe.dishes.values() for line in dish.lines):
            return []
        return ["no line of recipe_lines.csv is marked flexible; write yes in that column"]

    def add_to(self, model: Rows) -> None:
        cafe = model.week.cafe
        for dish in cafe.dishes.values():
            for item in sorted({line.item for line in dish.lines if line.flexible}):
                grams = _written_g(dish, item, cafe)
                for day in model.week.open_dates:
                    cooks = model.run_terms(
                        (run, -grams * run.portions * self.pct / 100)
                        for run in model.runs
                        if (run.dish, run.cook_day) == (dish.id, day)
                    )
                    cooks += model.batches(dish.id, day, 0.0, -grams * self.pct / 100)
                    more, less = model.stretched(dish.id, item, day)
                    key = f"{dish.id}__{item}"
                    model.at_most(self, row_key(f"{key}__more", day), more + cooks, 0)
                    model.at_most(self, row_key(f"{key}__less", day), less + cooks, 0)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Compares each stretched amount with the lines as written, scaled to the cook."""
        breaches = []
        for row, written_g in self._against_recipe(plan, cafe):
            over = abs(row.more_g) - written_g * self.pct / 100
            if over > MEASURE_TOLERANCE:
                text = (
                    f"{cafe.name_of(row.dish)} on {on(row.date)} takes {row.more_g:+.0f} g of "
                    f"{cafe.name_of(row.item)} against the recipe's {plain(written_g)} g"
                )
                breaches.append(self.breach(text, over, row.date, row.dish))
        return breaches

    def _against_recipe(self, plan: Plan, cafe: Cafe) -> list[tuple[Stretch, float]]:
        """Each stretched amount with the grams that its flexible lines say for that cook."""
        portions = {(cook.dish, cook.date): cook.portions for cook in plan.cooks}
        return [
            (
                row,
                _written_g(cafe.dishes[row.dish], row.item, cafe) * portions[row.dish, row.date],
            )
            for row in plan.stretched
        ]

    def share(self, week: Week) -> float:
        return 1 / LEAST_G

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        pairs = self._against_recipe(plan, cafe)
        off_pct = [100 * abs(row.more_g) / recipe_g for row, recipe_g in pairs if recipe_g]
        most_pct = min(max(off_pct, default=MOST_STRETCH_PCT), MOST_STRETCH_PCT)
        pct = plain(up_to(most_pct, PCT_UP_TO))
        return [(f"let flexible lines be {pct} % off instead of {plain(self.pct)} %", None)]


def _written_g(dish: Dish, item: str, cafe: Cafe) -> float:
    """Grams of an item's flexible lines in one portion, by the recipe."""
    total_g = 0.0
    for line in dish.lines:
        if line.flexible and line.item == item:
            total_g += line.edible_g if item in cafe.dishes else line.purchased_g
    return total_g / dish.portions


RULES: tuple[type[Rule], ...] = (RecipeStretch,)
