"""Rules about single dishes on single days."""

from __future__ import annotations

from datetime import date
from typing import ClassVar, Literal

from pydantic import Field

from optimiser.cafe import WEEKDAYS, Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule
from optimiser.rules.words import (
    named,
    on,
    row_key,
    sold_dish_faults,
)
from optimiser.week import open_dates

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
FULL_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


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


def _means(day: date | str | None, this: date) -> bool:
    """Whether a rule's day is `this` one; None means every day."""
    return day is None or day == this or day == WEEKDAYS[this.weekday()]


def _when(day: date | str) -> str:
    if isinstance(day, date):
        return f"on {on(day)}"
    return f"every {FULL_NAMES[WEEKDAYS.index(day)]}"


def _closed(cafe: Cafe, day: date | str | None) -> list[str]:
    if day is None:
        return []
    number = day.weekday() if isinstance(day, date) else WEEKDAYS.index(day)
    if number in cafe.open_days:
        return []
    open_days = ", ".join(WEEKDAYS[n] for n in sorted(cafe.open_days))
    return [f"the cafe is closed on {day}; open days are {open_days}"]


RULES: tuple[type[Rule], ...] = (Pin, Bar)
