"""Rules about dishes side by side in the cabinet."""

from __future__ import annotations

from collections import Counter
from datetime import date
from itertools import pairwise
from typing import ClassVar, Literal

from pydantic import Field

from optimiser import nutrition
from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, sold_dishes
from optimiser.rules.colour import colourless
from optimiser.rules.variety import grouped
from optimiser.rules.words import COURSE, counted, course_faults, dish_word, on, row_key
from optimiser.week import Week, open_dates


class Neighbours(Rule):
    """No two dishes side by side in the row of a course have the same main colour.

    For each course with `slots` places, main colour c and open day t:
        2 Σ_{r of the course with main colour c} shown[r,t] - (slots + 1) ≤ 0

    What is left over is the number of pairs of neighbours too many, exactly: every place
    is filled, the planner puts the dishes in an order with as few pairs alike as can be
    (`display_order`), and with m dishes of one colour in n places these are
    max(0, 2m - n - 1). Only a colour of more than half of the places has any. `check`
    walks along the places of the plan, so an order changed by hand is judged as it is.
    """

    kind: Literal["neighbours"] = "neighbours"
    title: ClassVar[str] = "Neighbours of one main colour"
    unit: ClassVar[str] = "pair of neighbours"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "a row of green, red, green and white"
    broken: ClassVar[str] = "three green salads in four places, so two side by side: broken by 1"

    course: str | None = Field(default=None, description=COURSE)

    def describe(self, cafe: Cafe) -> str:
        if self.course is None:
            return "No two dishes side by side in a row of the cabinet have the same main colour."
        return f"No two {dish_word(self.course, 2)} side by side have the same main colour."

    def faults(self, cafe: Cafe) -> list[str]:
        if found := course_faults(cafe, self.course):
            return found
        found = colourless(cafe, self.course)
        for course, colour, dishes in _looks(cafe, self.course):
            slots, book = cafe.courses[course].slots, len(sold_dishes(cafe, course))
            others = book - len(dishes)
            if slots <= book and _pairs(slots - others, slots) > 0:
                found.append(
                    f"{len(dishes)} of {book} {dish_word(course, 2)} are mainly {colour}, so some "
                    f"always stand side by side in a row of {slots}; enter dishes of other "
                    f"colours or give the course fewer slots"
                )
        return found

    def add_to(self, model: Rows) -> None:
        cafe = model.week.cafe
        for course, colour, dishes in _looks(cafe, self.course):
            slots = cafe.courses[course].slots
            if _pairs(min(slots, len(dishes)), slots) == 0:
                continue
            for day in model.week.open_dates:
                terms = [(v, 2 * k) for dish in dishes for v, k in model.shown(dish, day)]
                model.at_most(self, row_key(course, colour, day), terms, slots + 1)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        courses = cafe.courses if self.course is None else [self.course]
        return [
            breach
            for day in open_dates(cafe, plan.week, plan.days)
            for course in courses
            for breach in self._along(plan, cafe, day, course)
        ]

    def _along(self, plan: Plan, cafe: Cafe, day: date, course: str) -> list[Breach]:
        row = [row for row in plan.shown if (row.date, row.course) == (day, course)]
        row.sort(key=lambda shown: shown.place)
        looks = [nutrition.main_colour(cafe, shown.dish) for shown in row]
        alike = Counter(left for left, right in pairwise(looks) if left and left == right)
        return [
            self.breach(
                f"{looks.count(colour)} of {len(row)} {dish_word(course, 2)} are mainly {colour} "
                f"on {on(day)}, {counted(pairs, 'pair')} side by side",
                pairs,
                day,
            )
            for colour, pairs in alike.items()
        ]

    def share(self, week: Week) -> float:
        courses = week.cafe.courses
        rows = courses.values() if self.course is None else [courses[self.course]]
        return 1 / max(1, max(course.slots for course in rows) - 1)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        dishes = dish_word(self.course, 2)
        return [
            (f"let {counted(round(b.amount), 'pair')} of {dishes} side by side look alike", b.day)
            for b in breaches
        ]


def _looks(cafe: Cafe, course: str | None) -> list[tuple[str, str, list[str]]]:
    """Course, main colour, and the dishes of the course with that main colour."""
    return [
        (name, colour, dishes)
        for name in (cafe.courses if course is None else [course])
        for colour, dishes in grouped(
            (nutrition.main_colour(cafe, dish.id), dish.id) for dish in sold_dishes(cafe, name)
        ).items()
    ]


def _pairs(dishes: int, places: int) -> int:
    """The fewest pairs side by side among `dishes` of one colour in a row of `places`."""
    return max(0, 2 * dishes - places - 1)


RULES: tuple[type[Rule], ...] = (Neighbours,)
