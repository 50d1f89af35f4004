"""The cabinet as it will look: day by day, shelf by shelf, dishes in display order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from optimiser import nutrition
from optimiser.allergens import DIET_BREAKERS, DIET_WORDS
from optimiser.cafe import Cafe
from optimiser.plan import Plan
from optimiser.plan_diff import PlanDiff
from optimiser.report_base import Row
from optimiser.rules.base import Rule
from optimiser.week_report import Day, days, week_rows
from optimiser.wishes import is_kept, is_kept_day

UNREAD = "labels not read"
"""Said of a dish whose allergens are not known."""

SHORT = {"vegan": "not vegan", "gluten_free": "gluten", "nut_free": "nuts"}
"""What does not fit a diet, in a word, where there is no room for the label's own."""


@dataclass(frozen=True)
class Tag:
    """A word of caution, and the words of the label."""

    short: str
    full: str


@dataclass(frozen=True)
class Tray:
    """A dish on a day. `tags`: what its labels speak against it for, or that they are
    unread; `fresh`: not there in the plan before; `kept`: a wish holds it there."""

    day: date
    course: str
    dish: str
    name: str
    portions: int
    cooked_on: date
    colours: tuple[str, ...]
    tags: tuple[Tag, ...]
    protein_g: float
    protein_known: bool
    fresh: bool
    kept: bool


@dataclass(frozen=True)
class Shelf:
    """The dishes of one course on one day; `gone`: names of those the plan before had."""

    course: str
    trays: tuple[Tray, ...]
    gone: tuple[str, ...]


@dataclass(frozen=True)
class Front:
    """The cabinet of one day, and what the day comes to."""

    day: Day
    shelves: tuple[Shelf, ...]
    kept: bool


def fronts(
    plan: Plan, cafe: Cafe, rules: Sequence[Rule] = (), diff: PlanDiff | None = None
) -> list[Front]:
    """All open days of a plan. `diff`: from the plan before, to mark what is new."""
    trays = [_tray(row, cafe, rules, diff) for row in week_rows(plan, cafe)]
    return [
        Front(
            day,
            tuple(
                Shelf(
                    course,
                    tuple(t for t in trays if (t.day, t.course) == (day.date, course)),
                    _gone(cafe, diff, day.date, course),
                )
                for course in cafe.courses
            ),
            is_kept_day(rules, day.date),
        )
        for day in days(plan, cafe)
    ]


def _tray(row: Row, cafe: Cafe, rules: Sequence[Rule], diff: PlanDiff | None) -> Tray:
    day, dish = row["date"], str(row["dish"])
    portions, cooked_on, protein_g = row["portions"], row["cooked_on"], row["protein_g"]
    assert isinstance(day, date) and isinstance(cooked_on, date)
    assert isinstance(portions, int) and isinstance(protein_g, float)
    return Tray(
        day=day,
        course=str(row["course"]),
        dish=dish,
        name=str(row["name"]),
        portions=portions,
        cooked_on=cooked_on,
        colours=nutrition.colours(cafe, dish),
        tags=tags(cafe, dish),
        protein_g=protein_g,
        protein_known=not row["protein_unknown"],
        fresh=diff is not None and (day, dish) in diff.fresh,
        kept=is_kept(rules, dish, day),
    )


def tags(cafe: Cafe, dish: str) -> tuple[Tag, ...]:
    """What does not fit a diet; and whether a label is unread, so that more may not fit."""
    fits = {diet: nutrition.diet(cafe, dish, diet) for diet in DIET_BREAKERS}
    found = [Tag(SHORT[diet], DIET_WORDS[diet]["no"]) for diet in fits if fits[diet] == "no"]
    unread = "unknown" in fits.values()
    return (*found, Tag("label?", UNREAD)) if unread else tuple(found)


def _gone(cafe: Cafe, diff: PlanDiff | None, day: date, course: str) -> tuple[str, ...]:
    dishes = () if diff is None else diff.gone.get((day, course), ())
    return tuple(cafe.name_of(dish) if dish in cafe.dishes else dish for dish in dishes)
