"""Rules about what regulars have not seen lately, judged by the history before the plan."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from datetime import date, timedelta
from typing import Any, ClassVar, Literal

from pydantic import Field

from optimiser.cafe import Cafe, Served
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, sold_dishes
from optimiser.rules.groups import places, week_from, weeks_of
from optimiser.rules.words import COURSE, counted, course_faults, dish_word, named, on, row_key
from optimiser.week import Week, open_dates

WEEKS = "weeks of history to look back, of seven calendar days each"


class WeeksSince(Rule):
    """A dish rests for some weeks after it was last in the cabinet.

    For each dish r last shown on day h before the plan, and each open day t:
        shown[r,t] ≤ 0   where t − h ≤ 7 · weeks
    so it may come back on day h + 7 · weeks + 1. Showings within the plan do not
    count here: that is what days between showings are for.
    """

    kind: Literal["weeks_since"] = "weeks_since"
    title: ClassVar[str] = "Weeks since last shown"
    unit: ClassVar[str] = "showing too soon"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "lentils last shown 15 days before Monday, 2 weeks"
    broken: ClassVar[str] = "14 days before Monday: broken by 1"

    course: str | None = Field(default=None, description=COURSE)
    weeks: int = Field(default=2, ge=1, le=26, description=WEEKS)

    def describe(self, cafe: Cafe) -> str:
        span = "week" if self.weeks == 1 else f"{self.weeks} weeks"
        return (
            f"No {dish_word(self.course)} is in the cabinet if it was there in the {span} "
            "before that day; only showings before the plan count."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        return course_faults(cafe, self.course)

    def add_to(self, model: Rows) -> None:
        last = _last_shown(model.week.cafe, model.week.start)
        for dish in sold_dishes(model.week.cafe, self.course):
            if dish.id not in last:
                continue
            until = last[dish.id] + timedelta(weeks=self.weeks)
            for day in model.week.open_dates:
                if day <= until:
                    model.at_most(self, row_key(dish.id, day), model.shown(dish.id, day), 0)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Looks back from each showing, day by day, to the first one found."""
        served: dict[str, set[date]] = defaultdict(set)
        for row in cafe.history:
            if _was_shown(row) and row.day < plan.week:
                served[row.dish].add(row.day)
        breaches = []
        for shown in plan.shown:
            if self.course not in (None, shown.course):
                continue
            for back in range(1, 7 * self.weeks + 1):
                if (past := shown.date - timedelta(days=back)) in served[shown.dish]:
                    text = f"{cafe.name_of(shown.dish)} on {on(shown.date)} was shown on {on(past)}"
                    breaches.append(self.breach(text, 1, shown.date, shown.dish))
                    break
        return breaches

    def share(self, week: Week) -> float:
        """One showing too soon is half a rule, as it is for days between showings."""
        return 0.5

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        last = _last_shown(cafe, plan.week)
        phrases: list[Phrase] = []
        for b in breaches:
            if b.day is not None and b.item is not None:
                rest = counted((b.day - last[b.item]).days, "day")
                text = f"let {named(cafe, b)} come back after {rest} instead of more than "
                phrases.append((f"{text}{7 * self.weeks}", b.day))
        return phrases


class UnseenShare(Rule):
    """A part of what a week shows has not been there lately.

    For each seven days V counted from the first of the plan, U the dishes that were not
    shown on the 7 · weeks calendar days before the plan, N = Σ_c slots[c] · open days of V:
        Σ_{r ∈ U} Σ_{t ∈ V} shown[r,t] ≥ ⌈share_pct/100 · N⌉
    A dish of U counts each time it is shown, the first time and later.
    """

    kind: Literal["unseen_share"] = "unseen_share"
    title: ClassVar[str] = "Share of dishes not seen lately"
    unit: ClassVar[str] = "missing showing"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "3 of 12 showings not seen for 2 weeks, 25 %"
    broken: ClassVar[str] = "2 of 12: broken by 1"

    course: str | None = Field(default=None, description=COURSE)
    weeks: int = Field(default=2, ge=1, le=26, description=WEEKS)
    share_pct: int = Field(
        default=20, ge=1, le=100, description="percent of the week's showings, at least"
    )

    def describe(self, cafe: Cafe) -> str:
        what = f"the showings of {dish_word(self.course, 2)}" if self.course else "all showings"
        span = "week" if self.weeks == 1 else f"{self.weeks} weeks"
        return (
            f"At least {self.share_pct} % of {what} in a week are of dishes "
            f"that were not in the cabinet in the {span} before the plan."
        )

    def faults(self, cafe: Cafe) -> list[str]:
        return course_faults(cafe, self.course)

    def _least(self, cafe: Cafe, days: tuple[date, ...]) -> int:
        """Showings asked for in a week with these open days."""
        # in whole numbers: a float just above one would ask for one showing more
        return math.ceil(self.share_pct * places(cafe, self.course) * len(days) / 100)

    def add_to(self, model: Rows) -> None:
        week, cafe = model.week, model.week.cafe
        last = _last_shown(cafe, week.start)
        since = week.start - timedelta(weeks=self.weeks)
        unseen = [
            dish.id
            for dish in sold_dishes(cafe, self.course)
            if last.get(dish.id, date.min) < since
        ]
        for days in weeks_of(week.start, week.open_dates):
            terms = [term for dish in unseen for day in days for term in model.shown(dish, day)]
            model.at_least(self, row_key("unseen", days[0]), terms, self._least(cafe, days))

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Collects what was shown lately, then counts the showings of anything else."""
        seen = {
            row.dish
            for row in cafe.history
            if _was_shown(row) and 0 < (plan.week - row.day).days <= 7 * self.weeks
        }
        counts = Counter(
            (row.date - plan.week).days // 7
            for row in plan.shown
            if row.dish not in seen and self.course in (None, row.course)
        )
        breaches = []
        for days in weeks_of(plan.week, open_dates(cafe, plan.week, plan.days)):
            number = (days[0] - plan.week).days // 7
            least = self._least(cafe, days)
            if (short := least - counts[number]) > 0:
                first = plan.week + timedelta(days=7 * number)
                text = f"the week from {on(first)} has {counted(counts[number], 'showing')} of "
                text += f"dishes not seen lately, {short} short of {least}"
                breaches.append(self.breach(text, short, first))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / max(1, self._least(week.cafe, weeks_of(week.start, week.open_dates)[0]))

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        """The percentage rounded down, so that the week keeps the rule with it."""
        phrases: list[Phrase] = []
        for days in weeks_of(plan.week, open_dates(cafe, plan.week, plan.days)):
            total = places(cafe, self.course) * len(days)
            for b in breaches:
                if b.day is not None and 0 <= (days[0] - b.day).days < 7:
                    have = self._least(cafe, days) - round(b.amount)
                    some = f"{100 * have // total} % of" if 100 * have >= total else "no"
                    text = f"{some} showings of dishes not seen lately"
                    text += f" instead of {self.share_pct} %"
                    phrases.append((text + week_from(plan, b), None))
        return phrases


class NewDishesCap(Rule):
    """A kitchen does not learn too many new dishes in one week.

    New: never shown before the plan. For each seven days V counted from the first of
    the plan, with tried[r,V] between 0 and 1 for each new dish r:
        shown[r,t] ≤ Σ_{W up to V} tried[r,W]   for t in V
        tried[r,V] ≤ Σ_{t ∈ V} shown[r,t]       (plans of several weeks; both always hard)
        Σ_r tried[r,V] ≤ dishes
    In whole menus tried[r,V] is 1 in the week in which r is first shown: until then the
    second row keeps it at 0, so the first row asks for 1, and afterwards for nothing.
    """

    kind: Literal["new_dishes_cap"] = "new_dishes_cap"
    title: ClassVar[str] = "New dishes a week"
    unit: ClassVar[str] = "new dish"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "two dishes shown for the first time ever, cap 2"
    broken: ClassVar[str] = "three of them: broken by 1"

    course: str | None = Field(default=None, description=COURSE)
    dishes: int = Field(
        default=2,
        ge=0,
        le=50,
        description="different dishes a week that are not in the history, at most",
    )

    def describe(self, cafe: Cafe) -> str:
        some = f"{self.dishes} {dish_word(self.course, self.dishes)}"
        return f"At most {some} a week may be new, that is, never served before."

    def faults(self, cafe: Cafe) -> list[str]:
        if found := course_faults(cafe, self.course):
            return found
        known = {row.dish for row in cafe.history if _was_shown(row)}
        if not known:
            return ["no history, so every dish is new; fill in history.csv or leave this rule out"]
        courses = cafe.courses if self.course is None else [self.course]
        least = 0
        for course in courses:
            book = {dish.id for dish in sold_dishes(cafe, course)}
            least += max(0, min(cafe.courses[course].slots, len(book)) - len(book & known))
        if least <= self.dishes:
            return []
        return [f"too few dishes are in the history to fill the places; allow {least} new ones"]

    def add_to(self, model: Rows) -> None:
        week = model.week
        known = _last_shown(week.cafe, week.start)
        new = [d.id for d in sold_dishes(week.cafe, self.course) if d.id not in known]
        if len(new) <= self.dishes:
            return
        tried: dict[str, list[Any]] = defaultdict(list)
        for days in weeks_of(week.start, week.open_dates):
            for dish in new:
                tried[dish].append(model.continuous(f"tried__{row_key(dish, days[0])}", 0, 1))
                by_now = [(one, -1.0) for one in tried[dish]]
                for day in days:
                    model.define(self, row_key(dish, day), [*model.shown(dish, day), *by_now], 0)
                if week.days > 7:
                    shown = [(v, -k) for day in days for v, k in model.shown(dish, day)]
                    key = row_key("only_if_shown", dish, days[0])
                    model.define(self, key, [(tried[dish][-1], 1.0), *shown], 0)
            total = [(tried[dish][-1], 1.0) for dish in new]
            model.at_most(self, row_key("new", days[0]), total, self.dishes)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Walks the showings in order of days and notes each dish met for the first time."""
        met = {row.dish for row in cafe.history if row.day < plan.week and _was_shown(row)}
        firsts: dict[int, list[str]] = defaultdict(list)
        for row in sorted(plan.shown, key=lambda row: row.date):
            if row.dish not in met and self.course in (None, row.course):
                met.add(row.dish)
                firsts[(row.date - plan.week).days // 7].append(cafe.name_of(row.dish))
        breaches = []
        for number, names in firsts.items():
            if (over := len(names) - self.dishes) > 0:
                first = plan.week + timedelta(days=7 * number)
                text = f"{', '.join(names)} are new in the week from {on(first)}, {over} too many"
                breaches.append(self.breach(text, over, first))
        return breaches

    def share(self, week: Week) -> float:
        return 1 / max(1, self.dishes)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        phrases: list[Phrase] = []
        for b in breaches:
            number = self.dishes + round(b.amount)
            some = f"{number} new {dish_word(self.course, number)} a week"
            phrases.append((f"{some} instead of {self.dishes}{week_from(plan, b)}", None))
        return phrases


def _was_shown(row: Served) -> bool:
    """Whether the dish was in the cabinet on that day of the history."""
    return row.cooked > 0 or row.sold > 0


def _last_shown(cafe: Cafe, start: date) -> dict[str, date]:
    """Dish -> the last day before `start` on which it was in the cabinet."""
    last: dict[str, date] = {}
    for row in cafe.history:
        if row.day < start and _was_shown(row):
            last[row.dish] = max(row.day, last.get(row.dish, row.day))
    return last


RULES: tuple[type[Rule], ...] = (WeeksSince, UnseenShare, NewDishesCap)
