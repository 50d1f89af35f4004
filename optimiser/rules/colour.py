"""Rules about how the cabinet looks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Literal

from pydantic import Field

from optimiser import nutrition
from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, charge_showings, sold_dishes
from optimiser.rules.variety import cap_groups, grouped
from optimiser.rules.words import COURSE, counted, course_faults, dish_word, named, on, row_key
from optimiser.week import Week, open_dates


class ColoursDaily(Rule):
    """The cabinet shows many colours.

    For each open day t, with seen[c,t] between 0 and 1 for each colour c:
        seen[c,t] ≤ Σ_{r that shows c} shown[r,t]   (always hard: what seen means)
        Σ_c seen[c,t] ≥ colours
    """

    kind: Literal["colours_daily"] = "colours_daily"
    title: ClassVar[str] = "Colours a day"
    unit: ClassVar[str] = "missing colour"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "red, green and white on Monday, 3 colours"
    broken: ClassVar[str] = "red and green: broken by 1"

    course: str | None = Field(default=None, description=COURSE)
    colours: int = Field(
        default=5, ge=1, le=20, description="different colours in the cabinet each day, at least"
    )

    def describe(self, cafe: Cafe) -> str:
        colours = counted(self.colours, "different colour")
        if self.course is None:
            return f"The cabinet shows at least {colours} each day."
        return f"The {dish_word(self.course, 2)} show at least {colours} each day."

    def faults(self, cafe: Cafe) -> list[str]:
        if found := course_faults(cafe, self.course):
            return found
        book = {
            colour
            for dish in sold_dishes(cafe, self.course)
            for colour in nutrition.colours(cafe, dish.id)
        }
        if len(book) >= self.colours:
            return []
        have = ", ".join(sorted(book)) or "no colour"
        return [f"{self.colours} colours are asked for, but all dishes together show {have}"]

    def add_to(self, model: Rows) -> None:
        cafe = model.week.cafe
        showing = grouped(
            (colour, dish.id)
            for dish in sold_dishes(cafe, self.course)
            for colour in nutrition.colours(cafe, dish.id)
        )
        kinds_daily(model, self, showing, "colours", self.colours)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            seen: set[str] = set()
            for dish in plan.dishes_on(day, self.course):
                seen.update(nutrition.colours(cafe, dish))
            if (short := self.colours - len(seen)) > 0:
                have = ", ".join(sorted(seen)) or "no colour"
                breaches.append(self.breach(f"{on(day)} shows {have}: {short} short", short, day))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / self.colours

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [
            (
                f"{counted(self.colours - round(b.amount), 'colour')} instead of {self.colours}",
                b.day,
            )
            for b in breaches
        ]


class MainColourCap(Rule):
    """Dishes of one course do not all look alike.

    For each main colour c and open day t:
        Σ_{r of the course with main colour c} shown[r,t] ≤ dishes
    """

    kind: Literal["main_colour_cap"] = "main_colour_cap"
    title: ClassVar[str] = "Dishes a day with one main colour"
    unit: ClassVar[str] = "showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "two green salads on Monday, cap 2"
    broken: ClassVar[str] = "three green salads: broken by 1"

    course: str | None = Field(default="salad", description=COURSE)
    dishes: int = Field(
        default=2, ge=1, le=50, description="dishes a day with the same main colour, at most"
    )

    def describe(self, cafe: Cafe) -> str:
        some = f"{self.dishes} {dish_word(self.course, self.dishes)}"
        return f"At most {some} a day have the same main colour."

    def faults(self, cafe: Cafe) -> list[str]:
        if found := course_faults(cafe, self.course):
            return found
        return colourless(cafe, self.course)

    def add_to(self, model: Rows) -> None:
        cafe = model.week.cafe
        mains = {d.id: nutrition.main_colour(cafe, d.id) for d in sold_dishes(cafe, self.course)}
        cap_groups(model, self, mains, self.dishes)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            counts: dict[str, int] = {}
            for dish in plan.dishes_on(day, self.course):
                main = nutrition.main_colour(cafe, dish)
                if main is not None:
                    counts[main] = counts.get(main, 0) + 1
            for colour, count in counts.items():
                if (over := count - self.dishes) > 0:
                    text = f"{count} dishes are mainly {colour} on {on(day)}, {over} too many"
                    breaches.append(self.breach(text, over, day))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / self.dishes

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        dishes = dish_word(self.course, 2)
        return [
            (
                f"{self.dishes + round(b.amount)} {dishes} of one main colour "
                f"instead of {self.dishes}",
                b.day,
            )
            for b in breaches
        ]


class DishColours(Rule):
    """Every dish of a course is colourful.

    For each dish r of the course that shows fewer colours, and open day t:
        (colours - colours of r) · shown[r,t] ≤ 0
    """

    kind: Literal["dish_colours"] = "dish_colours"
    title: ClassVar[str] = "Colours of a dish"
    unit: ClassVar[str] = "missing colour, per showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "a salad of kale, carrot and beetroot, 3 colours"
    broken: ClassVar[str] = "a salad of kale and carrot on one day: broken by 1"

    course: str | None = Field(default="salad", description=COURSE)
    colours: int = Field(
        default=3, ge=2, le=8, description="different colours that each dish shows, at least"
    )

    def describe(self, cafe: Cafe) -> str:
        return f"Every {dish_word(self.course)} shows at least {self.colours} different colours."

    def faults(self, cafe: Cafe) -> list[str]:
        if found := course_faults(cafe, self.course):
            return found
        return [
            f"{name} needs {facts.slots} dishes a day, but only {able} show {self.colours} "
            f"colours; ask for fewer colours or enter such dishes"
            for name, facts in cafe.courses.items()
            if self.course in (None, name)
            and (able := len(sold_dishes(cafe, name)) - len(self._missing(cafe, name)))
            < facts.slots
        ]

    def _missing(self, cafe: Cafe, course: str | None) -> dict[str, int]:
        """Dishes with too few colours, and how many they miss."""
        have = {d.id: len(nutrition.colours(cafe, d.id)) for d in sold_dishes(cafe, course)}
        return {dish: self.colours - n for dish, n in have.items() if n < self.colours}

    def add_to(self, model: Rows) -> None:
        charge_showings(model, self, self._missing(model.week.cafe, self.course))

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        breaches = []
        for row in plan.shown:
            if self.course not in (None, row.course):
                continue
            seen = nutrition.colours(cafe, row.dish)
            if (short := self.colours - len(seen)) > 0:
                have = ", ".join(seen) or "no colour"
                text = f"{cafe.name_of(row.dish)} on {on(row.date)} shows {have}, {short} short"
                breaches.append(self.breach(text, short, row.date, row.dish))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / self.colours

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [
            (
                f"show {named(cafe, b)} with {counted(self.colours - round(b.amount), 'colour')} "
                f"instead of {self.colours}",
                b.day,
            )
            for b in breaches
        ]


def colourless(cafe: Cafe, course: str | None) -> list[str]:
    """A fault if no dish has a main colour, so that none can be too many."""
    if any(nutrition.main_colour(cafe, dish.id) for dish in sold_dishes(cafe, course)):
        return []
    return ["no dish has a colour, so this rule holds nothing; see the column colour"]


def kinds_daily(
    model: Rows, rule: Rule, showing: Mapping[str, list[str]], word: str, least: int
) -> None:
    """Row per day: of the kinds that dishes show, at least so many are seen."""
    for day in model.week.open_dates:
        total = []
        for kind, dishes in showing.items():
            key = row_key(kind, day)
            seen = model.continuous(f"seen__{key}", 0, 1)
            shown = [(v, -k) for dish in dishes for v, k in model.shown(dish, day)]
            model.define(rule, key, [(seen, 1), *shown], 0)
            total.append((seen, 1.0))
        model.at_least(rule, row_key(word, day), total, least)


RULES: tuple[type[Rule], ...] = (ColoursDaily, MainColourCap, DishColours)
