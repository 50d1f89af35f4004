"""Rules for guests who avoid something.

Only labels that have been read count, and no sentence says that food is free of anything:
what comes off shared boards, fryers and air is not known here.
"""

from __future__ import annotations

from datetime import date
from typing import ClassVar, Literal

from pydantic import Field

from optimiser import nutrition
from optimiser.allergens import (
    ALL_ALLERGENS,
    DIET_BREAKERS,
    DIET_WORDS,
    TRACES,
    TREE_NUTS,
    fits,
    label_of,
    need_not_name,
)
from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, sold_dishes
from optimiser.rules.plates import plate_faults, plate_words
from optimiser.rules.words import COURSE, counted, course_faults, dish_word, on, row_key, unknown
from optimiser.week import Week, open_dates

GROUPS = {"tree_nuts": TREE_NUTS}
"""Names for several allergens of the lists, beside those that are on a list themselves."""

ONLY_READ = f"only labels that have been read count, and {TRACES} are not known here"


class FreeOf(Rule):
    """Each day offers dishes made without an allergen.

    For each course c meant and open day t, over the dishes r of which every label has been
    read and rules the allergen out:
        Σ_{r of course c without it} shown[r,t] ≥ dishes
    """

    kind: Literal["free_of"] = "free_of"
    title: ClassVar[str] = "Dishes without an allergen"
    unit: ClassVar[str] = "missing dish"
    source: ClassVar[str] = (
        "allergens of EU Regulation 1169/2011, Annex II, and of the Australia New Zealand Food "
        "Standards Code, Schedule 9"
    )
    kept: ClassVar[str] = "a salad with no soy on Monday, every label of it read, 1 dish"
    broken: ClassVar[str] = "its dressing's label not read: broken by 1"

    allergen: str = Field(
        description="name of an allergen as on a label, `gluten` for its cereals, "
        "`tree_nuts` for all nuts but peanuts"
    )
    dishes: int = Field(
        default=1, ge=1, le=50, description="dishes of each course a day without it, at least"
    )
    course: str | None = Field(default=None, description=COURSE)

    def describe(self, cafe: Cafe) -> str:
        verb = "has" if self.dishes == 1 else "have"
        some = f"{self.dishes} {dish_word(self.course, self.dishes)}"
        each = "" if self.course else " of each course"
        return (
            f"Each day at least {some}{each} {verb} {self._words()}; {ONLY_READ}"
            f"{need_not_name(self._names())}."
        )

    def _words(self) -> str:
        return f"no {self.allergen.replace('_', ' ').removesuffix('s')} ingredients"

    def _names(self) -> frozenset[str]:
        """The allergens of the lists that are meant."""
        return GROUPS.get(self.allergen, frozenset({self.allergen}))

    def _courses(self, cafe: Cafe) -> list[str]:
        """The courses meant, each with places and so with rows of its own."""
        named = cafe.courses if self.course is None else (self.course,)
        return [course for course in named if cafe.courses[course].slots]

    def _without(self, cafe: Cafe, course: str) -> list[str]:
        """Dishes of the book that are known to be made without it."""
        return [
            dish.id
            for dish in sold_dishes(cafe, course)
            if all(
                nutrition.allergens(cafe, dish.id).free_of(name) == "yes" for name in self._names()
            )
        ]

    def faults(self, cafe: Cafe) -> list[str]:
        if not self._names() <= ALL_ALLERGENS:
            return [unknown("allergen", self.allergen, sorted({*ALL_ALLERGENS, *GROUPS}))]
        if found := course_faults(cafe, self.course):
            return found
        return [
            fault
            for course in self._courses(cafe)
            for fault in _too_few(
                cafe, course, self.dishes, len(self._without(cafe, course)), self._words()
            )
        ]

    def add_to(self, model: Rows) -> None:
        for course in self._courses(model.week.cafe):
            without = self._without(model.week.cafe, course)
            for day in model.week.open_dates:
                terms = [term for dish in without for term in model.shown(dish, day)]
                model.at_least(self, row_key(course, day), terms, self.dishes)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        breaches = []
        for day, course, short in self._short(plan, cafe):
            some = _counted_dishes(short, course)
            text = f"{on(day)} is {some} with {self._words()} short, by the labels read"
            breaches.append(self.breach(text, short, day))
        return breaches

    def _short(self, plan: Plan, cafe: Cafe) -> list[tuple[date, str, int]]:
        """Day, course and missing dishes, asking every ingredient shown by itself."""
        found = []
        for day in open_dates(cafe, plan.week, plan.days):
            for course in self._courses(cafe):
                have = sum(
                    all(
                        label_of([cafe.ingredients[item]]).free_of(name) == "yes"
                        for item in nutrition.parts(cafe, dish)
                        for name in self._names()
                    )
                    for dish in plan.dishes_on(day, course)
                )
                if have < self.dishes:
                    found.append((day, course, self.dishes - have))
        return found

    def share(self, week: Week) -> float:
        return 1 / self.dishes

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [
            (
                f"{_counted_dishes(self.dishes - short, course)} with {self._words()} "
                f"instead of {self.dishes}",
                day,
            )
            for day, course, short in self._short(plan, cafe)
        ]


class DietPlate(Rule):
    """Each day a guest on each diet finds a whole plate.

    A plate takes k[c] different dishes of each course c. For each diet, each course c on
    the plate and open day t, over the dishes r that are known to fit:
        Σ_{r in c that fits the diet} shown[r,t] ≥ k[c]
    """

    kind: Literal["diet_plate"] = "diet_plate"
    title: ClassVar[str] = "A plate for each diet"
    unit: ClassVar[str] = "missing dish"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "plate of 1 salad and 1 main, one of each fits each diet on Monday"
    broken: ClassVar[str] = "no main with vegan ingredients on Monday: broken by 1"

    diets: tuple[str, ...] = Field(
        default=tuple(DIET_BREAKERS),
        min_length=1,
        max_length=20,
        description="diets, each with a plate of its own; what is known of a dish decides",
    )

    def describe(self, cafe: Cafe) -> str:
        diets = ", or ".join(f"with {_diet_words(diet)}" for diet in self._each())
        avoided = frozenset().union(*(DIET_BREAKERS.get(d, frozenset()) for d in self._each()))
        return (
            f"Each day a guest can pick a plate of {plate_words(cafe)} {diets}; {ONLY_READ}"
            f"{need_not_name(avoided)}."
        )

    def _each(self) -> tuple[str, ...]:
        """The diets, each once."""
        return tuple(dict.fromkeys(self.diets))

    def _fitting(self, cafe: Cafe, diet: str, course: str) -> list[str]:
        """Dishes of the book that are known to fit."""
        dishes = (dish.id for dish in sold_dishes(cafe, course))
        return [dish for dish in dishes if nutrition.diet(cafe, dish, diet) == "yes"]

    def faults(self, cafe: Cafe) -> list[str]:
        if found := plate_faults(cafe):
            return found
        excluded = {diet for one in cafe.ingredients.values() for diet in one.diets_excluded}
        for diet in self._each():
            if diet not in {*DIET_BREAKERS, *excluded}:
                found.append(unknown("diet", diet, [*DIET_BREAKERS, *sorted(excluded)]))
            elif diet not in DIET_BREAKERS:
                found.append(
                    f"no dish is known to fit {diet!r}: the tables only say what breaks it; "
                    f"diets that labels can confirm are {', '.join(DIET_BREAKERS)}"
                )
            else:
                for course, picked in _picked(cafe):
                    fitting = len(self._fitting(cafe, diet, course))
                    found += _too_few(cafe, course, picked, fitting, _diet_words(diet))
        return found

    def add_to(self, model: Rows) -> None:
        cafe = model.week.cafe
        for diet in self._each():
            for course, picked in _picked(cafe):
                fitting = self._fitting(cafe, diet, course)
                for day in model.week.open_dates:
                    terms = [term for dish in fitting for term in model.shown(dish, day)]
                    model.at_least(self, row_key(diet, course, day), terms, picked)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        breaches = []
        for diet, day, course, short in self._short(plan, cafe):
            some = _counted_dishes(short, course)
            text = f"{on(day)} is {some} with {_diet_words(diet)} short, by the labels read"
            breaches.append(self.breach(text, short, day))
        return breaches

    def _short(self, plan: Plan, cafe: Cafe) -> list[tuple[str, date, str, int]]:
        """Diet, day, course and missing dishes, asking every ingredient shown by itself."""
        found = []
        for day in open_dates(cafe, plan.week, plan.days):
            for course, picked in _picked(cafe):
                missing = dict.fromkeys(self._each(), picked)
                for dish in plan.dishes_on(day, course):
                    shown = [cafe.ingredients[item] for item in nutrition.parts(cafe, dish)]
                    for diet in missing:
                        missing[diet] -= all(fits(diet, [one]) == "yes" for one in shown)
                found += [(diet, day, course, n) for diet, n in missing.items() if n > 0]
        return found

    def parts(self) -> tuple[DietPlate, ...]:
        """Each diet gives apart."""
        return tuple(self.model_copy(update={"diets": (diet,)}) for diet in self._each())

    def share(self, week: Week) -> float:
        return 1 / max(sum(week.cafe.plate.values()), 1)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [
            (f"let the plate with {_diet_words(diet)} lack {_counted_dishes(short, course)}", day)
            for diet, day, course, short in self._short(plan, cafe)
        ]


def _counted_dishes(number: int, course: str) -> str:
    """`1 salad dish`, `no salad dish`."""
    return f"{number or 'no'} {dish_word(course, max(number, 1))}"


def _diet_words(diet: str) -> str:
    """What is used in food of a diet, as a label says it."""
    return DIET_WORDS[diet]["yes"] if diet in DIET_WORDS else f"{diet.replace('_', ' ')} food"


def _picked(cafe: Cafe) -> list[tuple[str, int]]:
    """Courses on the plate, and how many dishes of each."""
    return [(course, picked) for course, picked in cafe.plate.items() if picked]


def _too_few(cafe: Cafe, course: str, asked: int, qualify: int, words: str) -> list[str]:
    """Faults of asking for more dishes than there are places or than are known to qualify."""
    if asked > (slots := cafe.courses[course].slots):
        return [f"{asked} dishes are asked for, but course {course!r} has {slots} places"]
    if asked <= qualify:
        return []
    unread = {
        item
        for dish in sold_dishes(cafe, course)
        for item in nutrition.allergens(cafe, dish.id).unknown_from
    }
    labels = counted(len(unread), "label")
    mend = f"; {labels} of these dishes not read yet" if unread else ""
    known = _counted_dishes(qualify, course)
    verb = "is" if qualify <= 1 else "are"
    return [f"{asked} asked for, but {known} {verb} known to have {words}{mend}"]


RULES: tuple[type[Rule], ...] = (FreeOf, DietPlate)
