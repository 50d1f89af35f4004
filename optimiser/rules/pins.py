"""Rules about single dishes on single days."""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import ClassVar, Literal

from pydantic import Field, field_validator

from optimiser.cafe import WEEKDAYS, Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule
from optimiser.rules.words import named, on, row_key, sold_dish_faults
from optimiser.week import Week, open_dates

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
FULL_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def _each_once(names: tuple[str, ...]) -> tuple[str, ...]:
    """Refuse a list that names one thing twice."""
    if twice := [name for name, times in Counter(names).items() if times > 1]:
        raise ValueError(f"{twice[0]!r} is named more than once")
    return names


class Pin(Rule):
    """A dish is in the cabinet on a day.

    For the dish r and each open day t meant: shown[r,t] ≥ 1
    """

    kind: Literal["pin"] = "pin"
    title: ClassVar[str] = "Dish pinned to a day"
    unit: ClassVar[str] = "missing showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "lentils pinned to Monday and shown then"
    broken: ClassVar[str] = "not shown then: broken by 1"

    dish: str = Field(description="id of the dish")
    day: date | Weekday = Field(
        description="date, or mon to sun for that day of every week; dates outside the week wait"
    )

    def describe(self, cafe: Cafe) -> str:
        return f"{cafe.name_of(self.dish)} is in the cabinet {_when(self.day)}."

    def faults(self, cafe: Cafe) -> list[str]:
        return [*sold_dish_faults(cafe, self.dish), *_closed(cafe, self.day)]

    def add_to(self, model: Rows) -> None:
        for day in model.week.open_dates:
            if _means(self.day, day):
                model.at_least(self, row_key(self.dish, day), model.shown(self.dish, day), 1)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        shown = {row.date for row in plan.shown if row.dish == self.dish}
        meant = {d for d in open_dates(cafe, plan.week, plan.days) if _means(self.day, d)}
        return [
            self.breach(f"{cafe.name_of(self.dish)} is missing on {on(day)}", 1, day, self.dish)
            for day in sorted(meant - shown)
        ]

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [(f"leave {named(cafe, b)} out", b.day) for b in breaches]


class Bar(Rule):
    """A dish stays out of the cabinet, on a day or altogether.

    For the dish r and each open day t meant: shown[r,t] ≤ 0
    """

    kind: Literal["bar"] = "bar"
    title: ClassVar[str] = "Dish kept out"
    unit: ClassVar[str] = "showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "lentils barred on Monday and shown on Tuesday"
    broken: ClassVar[str] = "shown on Monday: broken by 1"

    dish: str = Field(description="id of the dish")
    day: date | Weekday | None = Field(
        default=None, description="date, or mon to sun; blank = every day"
    )

    def describe(self, cafe: Cafe) -> str:
        when = "on any day" if self.day is None else _when(self.day)
        return f"{cafe.name_of(self.dish)} is not in the cabinet {when}."

    def faults(self, cafe: Cafe) -> list[str]:
        return [*sold_dish_faults(cafe, self.dish), *_closed(cafe, self.day)]

    def add_to(self, model: Rows) -> None:
        for day in model.week.open_dates:
            if _means(self.day, day):
                model.at_most(self, row_key(self.dish, day), model.shown(self.dish, day), 0)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        return [
            self.breach(
                f"{cafe.name_of(self.dish)} is shown on {on(row.date)}", 1, row.date, row.dish
            )
            for row in plan.shown
            if row.dish == self.dish and _means(self.day, row.date)
        ]

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [(f"let {named(cafe, b)} in", b.day) for b in breaches]


class Signature(Rule):
    """A signature dish is in the cabinet on fixed weekdays.

    For the dish r and each open day t that falls on one of the weekdays:
        shown[r,t] ≥ 1
    """

    kind: Literal["signature"] = "signature"
    title: ClassVar[str] = "Signature dish"
    unit: ClassVar[str] = "missing showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "soup every Monday and Thursday, and shown then"
    broken: ClassVar[str] = "shown on Monday only: broken by 1"

    dish: str = Field(description="id of the dish")
    days: tuple[Weekday, ...] = Field(
        min_length=1, max_length=7, description="weekdays of every week, mon to sun, each once"
    )

    _each_day_once = field_validator("days")(_each_once)

    def describe(self, cafe: Cafe) -> str:
        days = [FULL_NAMES[WEEKDAYS.index(day)] for day in self.days]
        return f"{cafe.name_of(self.dish)} is in the cabinet every {_listed(days)}."

    def faults(self, cafe: Cafe) -> list[str]:
        closed = (fault for day in self.days for fault in _closed(cafe, day))
        return [*sold_dish_faults(cafe, self.dish), *closed]

    def add_to(self, model: Rows) -> None:
        for day in model.week.open_dates:
            if WEEKDAYS[day.weekday()] in self.days:
                model.at_least(self, row_key(self.dish, day), model.shown(self.dish, day), 1)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Walks the calendar weekday by weekday and looks the dish up on the board."""
        open_days = open_dates(cafe, plan.week, plan.days)
        return [
            self.breach(f"{cafe.name_of(self.dish)} is missing on {on(day)}", 1, day, self.dish)
            for weekday in self.days
            for day in open_days
            if day.weekday() == WEEKDAYS.index(weekday) and self.dish not in plan.dishes_on(day)
        ]

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [(f"do without {named(cafe, b)}", b.day) for b in breaches]


class KeepDay(Rule):
    """The cabinet of one day is kept as it is.

    For the day t, if it is an open day of the week planned, and each dish r named:
        shown[r,t] ≥ 1
    """

    kind: Literal["keep_day"] = "keep_day"
    title: ClassVar[str] = "Day kept as it is"
    unit: ClassVar[str] = "missing showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "Monday's lentils and soup shown again on Monday"
    broken: ClassVar[str] = "the soup gone: broken by 1"

    day: date = Field(description="date of the day; outside the week planned the rule waits")
    dishes: tuple[str, ...] = Field(
        min_length=1, max_length=200, description="ids of the dishes shown that day, each once"
    )

    _each_dish_once = field_validator("dishes")(_each_once)

    def describe(self, cafe: Cafe) -> str:
        names = _listed([cafe.name_of(dish) for dish in self.dishes])
        return f"The cabinet on {on(self.day)} holds {names}."

    def faults(self, cafe: Cafe) -> list[str]:
        found = [fault for dish in self.dishes for fault in sold_dish_faults(cafe, dish)]
        if not found:
            asked = Counter(cafe.dishes[dish].course for dish in self.dishes)
            for course, number in asked.items():
                if number > (slots := cafe.courses[course].slots):
                    found.append(
                        f"{number} dishes of course {course!r} are to be kept, "
                        f"which has {slots} places"
                    )
        return [*found, *_closed(cafe, self.day)]

    def add_to(self, model: Rows) -> None:
        if self.day in model.week.open_dates:
            for dish in self.dishes:
                terms = model.shown(dish, self.day)
                model.at_least(self, row_key(dish, self.day), terms, 1)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        if self.day not in open_dates(cafe, plan.week, plan.days):
            return []
        gone = set(self.dishes) - set(plan.dishes_on(self.day))
        return [
            self.breach(f"{cafe.name_of(dish)} is gone from {on(self.day)}", 1, self.day, dish)
            for dish in sorted(gone)
        ]

    def share(self, week: Week) -> float:
        return 1 / len(self.dishes)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [(f"let another dish take the place of {named(cafe, b)}", b.day) for b in breaches]


def _means(day: date | str | None, this: date) -> bool:
    """Whether a rule's day is `this` one; None means every day."""
    return day is None or day == this or day == WEEKDAYS[this.weekday()]


def _when(day: date | str) -> str:
    if isinstance(day, date):
        return f"on {on(day)}"
    return f"every {FULL_NAMES[WEEKDAYS.index(day)]}"


def _listed(names: list[str]) -> str:
    """`Monday`, `Monday and Friday`, `Monday, Tuesday and Friday`."""
    return " and ".join([", ".join(names[:-1]), names[-1]] if names[1:] else names)


def _closed(cafe: Cafe, day: date | str | None) -> list[str]:
    if day is None:
        return []
    number = day.weekday() if isinstance(day, date) else WEEKDAYS.index(day)
    if number in cafe.open_days:
        return []
    open_days = ", ".join(WEEKDAYS[n] for n in sorted(cafe.open_days))
    return [f"the cafe is closed on {day}; open days are {open_days}"]


RULES: tuple[type[Rule], ...] = (Pin, Bar, Signature, KeepDay)
