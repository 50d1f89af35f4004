"""The rule that a dish rests between two showings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date, timedelta
from typing import TYPE_CHECKING, ClassVar, Literal

from pydantic import Field

from optimiser.cafe import Cafe
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, Terms, sold_dishes
from optimiser.rules.words import COURSE, counted, course_faults, dish_word, on, row_key
from optimiser.week import Week, open_dates

if TYPE_CHECKING:
    from optimiser.runs import Run


class Spacing(Rule):
    """A dish rests between two showings.

    For each dish r and each window W of gap_days calendar days
    (only windows whose open days are not all inside another window's):
        Σ_{t ∈ W} shown[r,t] ≤ 1
    or, when one cook counts once,
        Σ_{ρ of r shown on some t ∈ W} z[ρ] ≤ 1.
    After a showing h in the history, with P the open days before h + gap_days:
        Σ_{t ∈ P} shown[r,t] ≤ 0   (or the runs of r shown in P ≤ 0).
    """

    kind: Literal["spacing"] = "spacing"
    title: ClassVar[str] = "Days between showings"
    unit: ClassVar[str] = "showing too soon"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "lentils on Monday and Wednesday, gap 2"
    broken: ClassVar[str] = "Monday and Tuesday: broken by 1"

    course: str | None = Field(default=None, description=COURSE)
    gap_days: int = Field(
        default=2,
        ge=2,
        le=28,
        description="days from one showing to the next, at least; 2 = never two days running",
    )
    one_cook_counts_once: bool = Field(
        default=False,
        description="yes: one cook may be shown on consecutive days, and the rest follows it",
    )
    from_history: bool = Field(
        default=True, description="yes: showings before the week count as well"
    )

    def describe(self, cafe: Cafe) -> str:
        gap = (
            f"No {dish_word(self.course)} comes back sooner than "
            f"{counted(self.gap_days, 'day')} after it was last shown"
        )
        cook = "; the days of one cook count as one showing" if self.one_cook_counts_once else ""
        past = "" if self.from_history else "; earlier weeks do not count"
        return f"{gap}{cook}{past}."

    def faults(self, cafe: Cafe) -> list[str]:
        return course_faults(cafe, self.course)

    def add_to(self, model: Rows) -> None:
        week = model.week
        spans = windows(week.open_dates, self.gap_days)
        rests = self._rests(week.cafe, week.start)
        runs_of: dict[str, list[Run]] = defaultdict(list)
        for run in model.runs:
            runs_of[run.dish].append(run)

        def showings(dish: str, span: tuple[date, ...]) -> Terms:
            if not self.one_cook_counts_once:
                return [term for day in span for term in model.shown(dish, day)]
            hits = (run for run in runs_of[dish] if any(day in span for day in run.shown))
            return model.run_terms((run, 1.0) for run in hits)

        for dish in sold_dishes(week.cafe, self.course):
            for span in spans:
                model.at_most(self, row_key(dish.id, span[0]), showings(dish.id, span), 1)
            last = rests.get(dish.id, date.min)
            resting = tuple(day for day in week.open_dates if day <= last)
            if resting:
                model.at_most(self, row_key(dish.id, "past"), showings(dish.id, resting), 0)

    def _rests(self, cafe: Cafe, start: date) -> dict[str, date]:
        """Dish -> the last day it must rest because of showings before `start`."""
        rests: dict[str, date] = {}
        for served in cafe.history if self.from_history else ():
            if served.day < start and (served.cooked > 0 or served.sold > 0):
                until = served.day + timedelta(days=self.gap_days - 1)
                rests[served.dish] = max(until, rests.get(served.dish, until))
        return rests

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Counts backwards from the end of each window, over the days really shown."""
        days = open_dates(cafe, plan.week, plan.days)
        gap = timedelta(days=self.gap_days)
        rests = self._rests(cafe, plan.week)
        cooked_on: dict[str, dict[date, date]] = defaultdict(dict)
        for row in plan.shown:
            if self.course in (None, row.course):
                cooked_on[row.dish][row.date] = row.cooked_on
        breaches = []
        for dish, cooks in cooked_on.items():
            for at, end in enumerate(days):
                first = next(day for day in days if day > end - gap)
                if at + 1 < len(days) and first > days[at + 1] - gap:
                    continue  # the window that ends on the next open day holds this one
                recent = [day for day in sorted(cooks) if first <= day <= end]
                if (over := self._count(recent, cooks) - 1) > 0:
                    names = " and ".join(on(day) for day in recent)
                    breaches.append(self._too_soon(cafe, dish, names, over, recent[-1]))
            early = [day for day in sorted(cooks) if day <= rests.get(dish, date.min)]
            if early:
                names = f"{on(early[0])}, after a showing before the week,"
                over = self._count(early, cooks)
                breaches.append(self._too_soon(cafe, dish, names, over, early[0]))
        return breaches

    def _count(self, shown: list[date], cooks: Mapping[date, date]) -> int:
        return len({cooks[day] for day in shown} if self.one_cook_counts_once else shown)

    def _too_soon(self, cafe: Cafe, dish: str, when: str, over: int, day: date) -> Breach:
        text = (
            f"{cafe.name_of(dish)} on {when} is {over} too many within "
            f"{counted(self.gap_days, 'day')}"
        )
        return self.breach(text, over, day, dish)

    def share(self, week: Week) -> float:
        """One showing too soon is half a rule, however long the rest asked for."""
        return 0.5

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        """Every pair of showings that are too close, the last one of earlier weeks included."""
        shown: dict[str, list[tuple[date, date]]] = defaultdict(list)
        for served in cafe.history if self.from_history else ():
            if served.day < plan.week and (served.cooked > 0 or served.sold > 0):
                shown[served.dish].append((served.day, date.min))
        for row in plan.shown:
            if self.course in (None, row.course):
                shown[row.dish].append((row.date, row.cooked_on))
        phrases: list[Phrase] = []
        for dish, days in shown.items():
            days.sort()
            for (day, cook), (later, later_cook) in zip(days, days[1:], strict=False):
                if later < plan.week or (self.one_cook_counts_once and cook == later_cook):
                    continue
                if (rest := (later - day).days) < self.gap_days:
                    name, after = cafe.name_of(dish), counted(rest, "day")
                    text = f"let {name} come back after {after} instead of {self.gap_days}"
                    phrases.append((text, later))
        return phrases


def windows(days: tuple[date, ...], gap_days: int) -> list[tuple[date, ...]]:
    """Open days within `gap_days` of each open day: two or more, in no other window."""
    found: list[tuple[date, ...]] = []
    for start in days:
        end = start + timedelta(days=gap_days)
        window = tuple(day for day in days if start <= day < end)
        inside = bool(found) and found[-1][-1] == window[-1]
        if len(window) > 1 and not inside:
            found.append(window)
    return found


RULES: tuple[type[Rule], ...] = (Spacing,)
