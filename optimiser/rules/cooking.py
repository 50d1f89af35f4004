"""Rules about when and how the kitchen cooks."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from typing import TYPE_CHECKING, ClassVar, Literal

from pydantic import Field

from optimiser.cafe import Cafe, Dish
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule
from optimiser.rules.words import counted, dish_word, named, on, plain, row_key
from optimiser.week import Week, hold_days, open_dates

if TYPE_CHECKING:
    from optimiser.runs import Run

SAME_C = 1e-9
"""Temperatures closer than this are the same."""


class OvenSettings(Rule):
    """All oven work of a day fits on a few oven temperatures.

    The oven at k °C serves dish r if |k − oven_c[r]| ≤ within_c. With C the right ends
    oven_c[r] + within_c of all dishes that use the oven, and on[k,t] between 0 and 1,
    for each open day t:
        cooks[r,t] ≤ Σ_{k in C, |k − oven_c[r]| ≤ within_c} on[k,t]   (always hard)
        Σ_{k in C} on[k,t] ≤ settings
    Right ends are enough: a temperature moved up to the next right end of a dish it
    serves leaves no dish on the way, so it still serves all of them. Fractions of on[k,t]
    do not help: with C in order, each dish is served by a stretch of C without holes, so
    the matrix has consecutive ones and is totally unimodular, and for whole cooks the
    least Σ on[k,t] is a whole number, the fewest temperatures there are.
    Dishes whose oven_c is unknown are not counted.
    """

    kind: Literal["oven_settings"] = "oven_settings"
    title: ClassVar[str] = "Oven temperatures of a day"
    unit: ClassVar[str] = "temperature too many"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "bakes of 180 and 200 °C on one day, 1 setting within 10"
    broken: ClassVar[str] = "bakes of 180 and 220 °C: broken by 1"

    settings: int = Field(ge=1, le=6, description="oven temperatures of a day, at most")
    within_c: float = Field(
        default=10.0,
        ge=0.0,
        le=30.0,
        description="degrees Celsius that a dish may be cooked off its own temperature",
    )

    def describe(self, cafe: Cafe) -> str:
        uses_oven = sum(dish.oven_min > 0 for dish in cafe.dishes.values())
        unread = uses_oven - len(_oven_dishes(cafe))
        few = f"{unread} {dish_word(None, unread)}"
        said = f"; {few} of unknown temperature not counted" if unread else ""
        return (
            f"A day's oven work fits on {counted(self.settings, 'oven temperature')}, each dish "
            f"within {plain(self.within_c)} °C of its own{said}."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        if not _oven_dishes(cafe):
            return ["no dish has oven_min and oven_c: give oven_c in dishes.csv"]
        return []

    def add_to(self, model: Rows) -> None:
        dishes = _oven_dishes(model.week.cafe)
        if len(_temperatures(dishes, self.within_c)) <= self.settings:
            return  # all dishes of the book together need no more
        ends_c = sorted({_c(dish) + self.within_c for dish in dishes})
        for day in model.week.open_dates:
            names = (f"on__{row_key(str(number), day)}" for number, _ in enumerate(ends_c))
            at = {c: model.continuous(name, 0, 1) for c, name in zip(ends_c, names, strict=True)}
            for dish in dishes:
                serving = [(v, -1.0) for c, v in at.items() if self._serves(c, dish)]
                cooks = model.cooks_of(dish.id, day)
                if cooks:
                    model.define(self, row_key(dish.id, day), [*cooks, *serving], 0)
            total = [(variable, 1.0) for variable in at.values()]
            model.at_most(self, row_key("oven", day), total, self.settings)

    def _serves(self, oven_c: float, dish: Dish) -> bool:
        return abs(oven_c - _c(dish)) <= self.within_c + SAME_C

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Sets the oven as cool as the next dish bears, until every dish is served."""
        dishes = {dish.id: dish for dish in _oven_dishes(cafe)}
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            cooked = {c.dish for c in plan.cooks if c.date == day and c.dish in dishes}
            needed = _temperatures([dishes[dish] for dish in cooked], self.within_c)
            if len(needed) > self.settings:
                listed = ", ".join(plain(c) for c in needed)
                text = f"{on(day)} needs {len(needed)} oven temperatures ({listed} °C)"
                breaches.append(self.breach(text, len(needed) - self.settings, day))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / self.settings

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [
            (
                f"{self.settings + round(b.amount)} oven temperatures instead of {self.settings}",
                b.day,
            )
            for b in breaches
        ]


def _oven_dishes(cafe: Cafe) -> list[Dish]:
    """Dishes that use the oven at a known temperature."""
    return [d for d in cafe.dishes.values() if d.oven_min > 0 and d.oven_c is not None]


def _c(dish: Dish) -> float:
    return dish.oven_c or 0.0


def _temperatures(dishes: list[Dish], within_c: float) -> list[float]:
    """The fewest temperatures that serve all dishes: the coolest dish not yet served
    sets the oven as hot as it bears."""
    found: list[float] = []
    for oven_c in sorted(map(_c, dishes)):
        if not found or oven_c - within_c > found[-1] + SAME_C:
            found.append(oven_c + within_c)
    return found


class CooksDaily(Rule):
    """No day has too many cooks.

    For each open day t, over all dishes r, those cooked as parts of others included:
        Σ_r cooks[r,t] ≤ cooks
    """

    kind: Literal["cooks_daily"] = "cooks_daily"
    title: ClassVar[str] = "Dishes cooked a day"
    unit: ClassVar[str] = "cook too many"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "three dishes and a stock cooked on Monday, 4 cooks"
    broken: ClassVar[str] = "four dishes and a stock: broken by 1"

    cooks: int = Field(ge=1, le=100, description="dishes cooked on a day, at most; parts count")

    def describe(self, cafe: Cafe) -> str:
        number = "1 dish is" if self.cooks == 1 else f"{self.cooks} dishes are"
        return f"At most {number} cooked on a day, those that only go into others included."

    def faults(self, cafe: Cafe) -> list[str]:
        """On the first day, all that is in the cabinet is cooked that day."""
        places = sum(course.slots for course in cafe.courses.values())
        if self.price_cents is None and self.cooks < places:
            return [
                f"the first day's {places} places take {places} cooks: "
                f"set cooks to {places} or more, or give price_cents"
            ]
        return []

    def add_to(self, model: Rows) -> None:
        for day in model.week.open_dates:
            by_dish = [model.cooks_of(dish, day) for dish in model.week.cafe.dishes]
            if sum(map(bool, by_dish)) > self.cooks:
                terms = [term for terms in by_dish for term in terms]
                model.at_most(self, row_key("cooks", day), terms, self.cooks)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Counts the dishes of each day's prep sheet."""
        breaches = []
        for day in open_dates(cafe, plan.week, plan.days):
            cooked = {cook.dish for cook in plan.cooks if cook.date == day}
            if len(cooked) > self.cooks:
                text = f"{on(day)} has {len(cooked)} cooks, {self.cooks} are allowed"
                breaches.append(self.breach(text, len(cooked) - self.cooks, day))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / self.cooks

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [
            (f"{self.cooks + round(b.amount)} cooks instead of {self.cooks}", b.day)
            for b in breaches
        ]


class ClosedDayLife(Rule):
    """What is kept over a closed day still has days to live when it is last shown.

    For each dish r, H[r] its life, and each open day t, over the runs ρ of r that are
    shown on t, with a closed calendar day between cooking and t, and whose last day
    shown is later than cook day + H[r] − 1 − spare_days:
        Σ_ρ z[ρ] ≤ 0
    Food is never shown beyond its life, whatever this rule says.
    """

    kind: Literal["closed_day_life"] = "closed_day_life"
    title: ClassVar[str] = "Life left after a closed day"
    unit: ClassVar[str] = "showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "closed on Sunday, kept from Saturday to Monday, 4 days of life, 1 spare"
    broken: ClassVar[str] = "3 days of life: broken by 1"

    spare_days: int = Field(
        ge=1, le=10, description="days of life left on the last day shown, at least"
    )

    def describe(self, cafe: Cafe) -> str:
        return (
            "A dish kept over a closed day has at least "
            f"{counted(self.spare_days, 'day')} of life left when it is last shown."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        if len(cafe.open_days) == 7:
            return ["the cafe is never closed, so this rule holds nothing; take it out"]
        return []

    def add_to(self, model: Rows) -> None:
        """A stretch of calendar days without a closed one has as many open dates as days."""
        place = {day: n for n, day in enumerate(model.week.open_dates)}
        late: dict[tuple[str, date], list[tuple[Run, float]]] = defaultdict(list)
        for run in model.runs:
            life = timedelta(days=hold_days(model.week.cafe, run.dish) - 1 - self.spare_days)
            if run.shown[-1] <= run.cook_day + life:
                continue
            for day in run.shown:
                if (day - run.cook_day).days > place[day] - place[run.cook_day]:
                    late[run.dish, day].append((run, 1.0))
        for (dish, day), runs in late.items():
            model.at_most(self, row_key(dish, day), model.run_terms(runs), 0)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Follows each cook through the calendar, from the cabinet's rows."""
        left_days = _left_days(plan, cafe)
        breaches = []
        for row in plan.shown:
            left = left_days[row.dish, row.cooked_on]
            if left < self.spare_days and _rests(cafe, row.cooked_on, row.date):
                text = (
                    f"{cafe.name_of(row.dish)}, cooked on {on(row.cooked_on)}, is shown on "
                    f"{on(row.date)}; {counted(left, 'day')} of its life will be left at the end"
                )
                breaches.append(self.breach(text, 1, row.date, row.dish))
        return breaches

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        left_days = _left_days(plan, cafe)
        cooked_on = {(row.dish, row.date): row.cooked_on for row in plan.shown}
        phrases: list[Phrase] = []
        for breach in breaches:
            if breach.item and breach.day:
                left = left_days[breach.item, cooked_on[breach.item, breach.day]]
                text = f"{counted(left, 'day')} of life left for {named(cafe, breach)}"
                text += f" after the closed day instead of {self.spare_days}"
                phrases.append((text, breach.day))
        return phrases


def _left_days(plan: Plan, cafe: Cafe) -> dict[tuple[str, date], int]:
    """Dish and cook day -> days of life after the last day shown."""
    left: dict[tuple[str, date], int] = {}
    for row in plan.shown:
        aged = (row.date - row.cooked_on).days + 1
        cook = (row.dish, row.cooked_on)
        now = hold_days(cafe, row.dish) - aged
        left[cook] = min(now, left.get(cook, now))
    return left


def _rests(cafe: Cafe, cooked_on: date, shown_on: date) -> bool:
    """Whether the cafe is closed on a day between."""
    day = cooked_on
    while day < shown_on:
        day += timedelta(days=1)
        if day.weekday() not in cafe.open_days:
            return True
    return False


RULES: tuple[type[Rule], ...] = (OvenSettings, CooksDaily, ClosedDayLife)
