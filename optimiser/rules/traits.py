"""Cuisine, method and texture of dishes: what the rules in `mixes` share.

All three are words of the dish itself, not of the parts that go into it. A blank
one is unknown and counts for nothing: neither as alike nor as different.
"""

from __future__ import annotations

import re
from abc import abstractmethod
from collections import Counter
from typing import ClassVar, Literal

from pydantic import Field

from optimiser.cafe import Cafe, Dish
from optimiser.plan import Breach, Plan
from optimiser.rules.base import Phrase, Rows, Rule, sold_dishes
from optimiser.rules.colour import kinds_daily
from optimiser.rules.groups import cap_faults, places
from optimiser.rules.variety import cap_groups, grouped
from optimiser.rules.words import COURSE, counted, course_faults, dish_word, on
from optimiser.week import Week, open_dates

Trait = Literal["cuisine", "method", "texture"]


def spelt(word: str) -> str:
    """A word with spaces for - and _, in lower case: `stir-fried` is `stir fried`."""
    return re.sub("[-_ ]+", " ", word.lower()).strip()


def trait_of(dish: Dish, trait: Trait) -> str | None:
    """The cuisine, method or texture of a dish; None if nobody has entered it."""
    return spelt(getattr(dish, trait)) or None


def book(cafe: Cafe, course: str | None, trait: Trait) -> dict[str, str | None]:
    """Dish -> its trait, for all dishes that can be in the cabinet."""
    return {dish.id: trait_of(dish, trait) for dish in sold_dishes(cafe, course)}


class TraitCap(Rule):
    """What the caps on cuisines and on methods share: alike dishes on a day ≤ dishes."""

    trait: ClassVar[Trait]

    course: str | None = Field(default=None, description=COURSE)
    dishes: int = Field(default=2, ge=1, le=50, description="dishes a day that are alike, at most")

    def describe(self, cafe: Cafe) -> str:
        some = f"{self.dishes} {dish_word(self.course, self.dishes)}"
        return f"No {self.trait} has more than {some} a day; a blank {self.trait} counts as none."

    def faults(self, cafe: Cafe) -> list[str]:
        if found := course_faults(cafe, self.course):
            return found
        alike = self.alike(cafe)
        if not any(alike.values()):
            return [f"no dish has a {self.trait}, so this rule holds nothing; fill in that column"]
        return cap_faults(cafe, self.course, alike, self.dishes)

    def alike(self, cafe: Cafe) -> dict[str, str | None]:
        """Dish -> the group that is capped; None for a dish in none."""
        return book(cafe, self.course, self.trait)

    def add_to(self, model: Rows) -> None:
        cap_groups(model, self, self.alike(model.week.cafe), self.dishes)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            counts = Counter(
                trait_of(cafe.dishes[dish], self.trait) for dish in plan.dishes_on(day, self.course)
            )
            for word, count in counts.items():
                if word is not None and self.means(word) and (over := count - self.dishes) > 0:
                    text = f"{count} dishes of {self.trait} {word} on {on(day)}, {over} too many"
                    breaches.append(self.breach(text, over, day))
        return breaches

    def means(self, word: str) -> bool:
        """Whether the cap is about this cuisine or method."""
        return True

    def share(self, week: Week) -> float:
        return 1 / self.dishes

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        phrases: list[Phrase] = []
        for b in breaches:
            number = self.dishes + round(b.amount)
            some = f"{number} {dish_word(self.course, number)} of one {self.trait}"
            phrases.append((f"{some} instead of {self.dishes}", b.day))
        return phrases


class TraitsDaily(Rule):
    """What the rules on many cuisines and many methods share: different ones a day ≥ least."""

    trait: ClassVar[Trait]

    course: str | None = Field(default=None, description=COURSE)

    @abstractmethod
    def least(self) -> int:
        """How many different ones are asked for each day."""

    def describe(self, cafe: Cafe) -> str:
        what = f"The {dish_word(self.course, 2)} show" if self.course else "The cabinet shows"
        different = counted(self.least(), f"different {self.trait}")
        return f"{what} at least {different} each day; a blank {self.trait} counts as none."

    def faults(self, cafe: Cafe) -> list[str]:
        if found := course_faults(cafe, self.course):
            return found
        asked = f"{counted(self.least(), self.trait)} a day asked for"
        if self.least() > (room := places(cafe, self.course)):
            return [f"{asked}, but there are {counted(room, 'place')}; ask for {room} or fewer"]
        known = {word for word in book(cafe, self.course, self.trait).values() if word}
        if len(known) >= self.least():
            return []
        have = ", ".join(sorted(known)) or f"no {self.trait}"
        return [f"{asked}, but all dishes together have {have}; fill in the column {self.trait}"]

    def add_to(self, model: Rows) -> None:
        words = book(model.week.cafe, self.course, self.trait)
        dishes_of = grouped((word, dish) for dish, word in words.items())
        kinds_daily(model, self, dishes_of, f"{self.trait}s", self.least())

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            words = {
                trait_of(cafe.dishes[dish], self.trait) for dish in plan.dishes_on(day, self.course)
            } - {None}
            if (short := self.least() - len(words)) > 0:
                have = ", ".join(sorted(word for word in words if word)) or f"no {self.trait}"
                breaches.append(self.breach(f"{on(day)} shows {have}: {short} short", short, day))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / self.least()

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        phrases: list[Phrase] = []
        for b in breaches:
            have = counted(self.least() - round(b.amount), self.trait)
            phrases.append((f"{have} instead of {self.least()}", b.day))
        return phrases
