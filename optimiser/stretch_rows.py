"""Recipes that give a little, so that a whole squash or tin is finished.

For each item of a recipe's flexible lines, cook day c and end e of the need (c, e), with
G = Σ grams of those lines over the cooks that may take place, two columns:
    stretch_up   0 ≤ up  ≤ MOST_STRETCH_PCT/100 · G
    stretch_down 0 ≤ down ≤ MOST_STRETCH_PCT/100 · G
and the need is G's recipe + up − down. How much of that is used is for the rule
`recipe_stretch` to say; without that rule there are no such columns.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from typing import TYPE_CHECKING

from optimiser.cafe import MOST_STRETCH_PCT
from optimiser.lp import Terms, scaled
from optimiser.runs import flexible_per_portion
from optimiser.week import hold_days

if TYPE_CHECKING:
    from optimiser.model import Model

Key = tuple[str, str, date]
"""Dish, item, day of the cook."""


class Stretches:
    """The columns of all flexible lines, by dish, item and day of the cook."""

    def __init__(self, model: Model) -> None:
        self.up: dict[Key, Terms] = {}
        self.down: dict[Key, Terms] = {}
        self.items: set[str] = set()
        if not any(rule.stretches for rule in model.week.rules):
            return
        for (dish, item, day, until), flexible in _flexible(model).items():
            self._add(model, (dish, item, day), until, flexible)

    def _add(self, model: Model, key: Key, until: date, flexible: Terms) -> None:
        dish, item, day = key
        tag = f"{dish}__{item}__{day:%m%d}_{until:%m%d}"
        need = model.needs[item][model.need(dish, item, day, until)]
        for name, sign, columns in (("up", 1.0, self.up), ("down", -1.0, self.down)):
            column = model.lp.column(f"stretch_{name}__{tag}")
            limit = scaled(flexible, -MOST_STRETCH_PCT / 100)
            model.lp.row(f"stretch_{name}__{tag}", [(column, 1.0), *limit], high=0.0)
            need.append((column, sign))
            columns.setdefault(key, []).append((column, 1.0))
        self.items.add(item)


def _flexible(model: Model) -> dict[tuple[str, str, date, date], Terms]:
    """Grams of flexible lines by dish, item, day of the cook and end of the need."""
    per_portion = {
        dish.id: flexible_per_portion(dish, model.cafe) for dish in model.cafe.dishes.values()
    }
    found: dict[tuple[str, str, date, date], Terms] = defaultdict(list)
    for run in model.runs:
        for item, grams in per_portion[run.dish].items():
            key = (run.dish, item, run.cook_day, model.good_until(run))
            found[key].append((model.run_column[run.index], grams * run.portions))
    for (dish, day), steps in model.steps.items():
        life = timedelta(days=hold_days(model.cafe, dish) - 1)
        for item, grams in per_portion[dish].items():
            term = (steps, grams * model.cafe.dishes[dish].step_portions)
            found[dish, item, day, day + life].append(term)
    return found
