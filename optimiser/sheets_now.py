"""The sheets of the kept plan that is the week's present one, as far as it may be trusted.

A plan is shown with the tables it was made of: its amounts, lots and money belong to them.
What has been learned since counts all the same: labels read, lives found to be shorter.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from optimiser.cafe import Cafe, Dish, Ingredient
from optimiser.formats import written_as
from optimiser.plan import Breach, Plan
from optimiser.present import Present, same_days, week_of
from optimiser.report_base import Cell
from optimiser.reports import files
from optimiser.sheets import Contents, contents
from optimiser.tables import Reading
from optimiser.verify import ask_rules

MOST_BREACHES = 4
OLD = "old_"
"""Before the names of files of a plan that is not the present tables'."""


@dataclass(frozen=True)
class PlanSheets:
    """A plan with the cafe its sheets speak of. `stale`: the sentence that says so where
    it was made of other tables; `broken`: what speaks against it by now."""

    plan: Plan
    cafe: Cafe
    priced: tuple[Breach, ...]
    stale: str = ""
    broken: tuple[str, ...] = ()

    def contents(self) -> Contents:
        """What the sheets show, written as the cafe's locale has it."""
        with written_as(self.cafe.locale):
            return contents(self.plan, self.cafe, self.priced, stale=self.stale)

    def files(self) -> dict[str, str | bytes]:
        """File name -> text or bytes. Raises sheets.SheetFault."""
        made = files(self.plan, self.cafe, self.priced, stale=self.stale)
        return {(OLD if self.stale else "") + name: content for name, content in made.items()}


def plan_sheets(found: Present, now: Reading, then: Reading) -> PlanSheets | None:
    """The sheets of a plan; None if it fails under the very tables it was made of.

    `then`: the tables of its revision, `now`: the present ones.
    """
    if not found.stale and not found.holds:
        return None
    plan = found.plan
    week = same_days(plan, week_of(then.cafe, then.rules, plan.week))
    priced = tuple(ask_rules(plan, week).priced)
    if not found.stale:
        return PlanSheets(plan, now.cafe, priced)
    texts = dict.fromkeys(breach.text for breach in found.breaches)
    return PlanSheets(
        plan=plan,
        cafe=known_now(then.cafe, now.cafe),
        priced=priced,
        stale=_stale_sentence(found),
        broken=tuple(texts)[:MOST_BREACHES],
    )


def narrowed(shown: Contents, report: str, chosen: Mapping[str, Cell]) -> Contents:
    """The same with those rows of a report only that have the chosen cells; None: any."""
    wanted = {column: cell for column, cell in chosen.items() if cell is not None}
    table = shown.tables[report]
    rows = [row for row in table.rows if wanted.items() <= row.items()]
    return replace(shown, tables={**shown.tables, report: replace(table, rows=rows)})


def choices(shown: Contents, report: str, column: str) -> list[Cell]:
    """What a column of a report holds, each once, in the report's order."""
    cells = (row[column] for row in shown.tables[report].rows)
    return [cell for cell in dict.fromkeys(cells) if cell is not None]


def _stale_sentence(found: Present) -> str:
    """That a plan is out of date, in a sentence."""
    state = "" if found.holds else " and no longer holds"
    return (
        f"Out of date: this week was planned on revision {found.revision} of the tables, which "
        f"have changed since{state}. Plan the week again."
    )


def known_now(then: Cafe, now: Cafe) -> Cafe:
    """The tables of a plan with what has been learned since: what labels say today, and
    lives where they have become shorter. Nothing becomes longer."""
    ingredients = {
        id: _ingredient(item, now.ingredients.get(id, item))
        for id, item in then.ingredients.items()
    }
    dishes = {id: _dish(dish, now.dishes.get(id, dish)) for id, dish in then.dishes.items()}
    place = {"locale": now.locale, "regime": now.regime}
    return then.model_copy(update={"ingredients": ingredients, "dishes": dishes, **place})


def _ingredient(then: Ingredient, now: Ingredient) -> Ingredient:
    return then.model_copy(
        update={
            "allergens": now.allergens,
            "diets_excluded": now.diets_excluded,
            "keeps_days": min(then.keeps_days, now.keeps_days),
            "opened_keeps_days": min(then.opened_keeps_days, now.opened_keeps_days),
        }
    )


def _dish(then: Dish, now: Dish) -> Dish:
    return then.model_copy(update={"hold_days": min(then.hold_days, now.hold_days)})
