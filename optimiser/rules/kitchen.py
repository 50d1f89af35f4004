"""Rules about the kitchen's time."""

from __future__ import annotations

from datetime import date
from typing import ClassVar, Literal

from pydantic import Field

from optimiser.cafe import Cafe, Dish
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule
from optimiser.rules.words import (
    LEAST_MIN,
    MEASURE_TOLERANCE,
    MINUTES_UP_TO,
    on,
    plain,
    row_key,
    up_to,
)
from optimiser.week import Week, open_dates

Station = Literal["hands_on", "oven", "hob", "processor"]


class StationMinutes(Rule):
    """All cooks of a day fit into a station's minutes.

    For each open day t, with ρ the cook runs of t, e[r,t] = 1 if a component r is
    cooked on t only for other dishes, and x[r,t] its extra portions:
        Σ_ρ minutes[ρ]·z[ρ] + Σ_r (cook_min[r]·e[r,t] + min_per_10[r]/10·x[r,t])
            ≤ share_pct/100 · station minutes of t
    min_per_10 is 0 except for hands-on minutes. No rows without a limit.
    """

    kind: Literal["station_minutes"] = "station_minutes"
    title: ClassVar[str] = "Minutes in the kitchen"
    unit: ClassVar[str] = "minute"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "two bakes of 60 oven minutes, 120 a day"
    broken: ClassVar[str] = "three of them: broken by 60"

    station: Station = Field(description="hands_on, oven, hob or processor minutes of [kitchen]")
    share_pct: float = Field(
        default=100.0, gt=0.0, le=200.0, description="percent of the station's minutes, at most"
    )

    def describe(self, cafe: Cafe) -> str:
        name = self._name()
        limit = self._limit_min(cafe)
        if limit is None:
            return f"The kitchen sets no limit on {name} minutes, so this rule holds nothing."
        each = [limit[number] * self.share_pct / 100 for number in sorted(cafe.open_days)]
        low, high = plain(min(each)), plain(max(each))
        span = low if low == high else f"{low} to {high}"
        return f"A day's cooking takes at most {span} {name} minutes."

    def _name(self) -> str:
        return self.station.replace("_", "-")

    def _limit_min(self, cafe: Cafe) -> tuple[float, ...] | None:
        limit: tuple[float, ...] | None = getattr(cafe.kitchen, f"{self.station}_min")
        return limit

    def _cook_min(self, dish: Dish) -> float:
        """Minutes of one cook, whatever its size."""
        minutes: float = getattr(dish, f"{self.station}_min")
        return minutes

    def _portion_min(self, dish: Dish) -> float:
        """Minutes that each portion adds."""
        return dish.hands_on_min_per_10 / 10 if self.station == "hands_on" else 0.0

    def add_to(self, model: Rows) -> None:
        limit = self._limit_min(model.week.cafe)
        if limit is None:
            return
        for day in model.week.open_dates:
            terms = model.run_terms(
                (run, getattr(run, f"{self.station}_min"))
                for run in model.runs
                if run.cook_day == day
            )
            for dish in model.week.cafe.dishes.values():
                per_cook, per_portion = self._cook_min(dish), self._portion_min(dish)
                terms += model.batches(dish.id, day, per_cook, per_portion)
            bound = limit[day.weekday()] * self.share_pct / 100
            model.at_most(self, row_key(self.station, day), terms, bound)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Adds up the prep sheet: every cook of the day once, with all its portions."""
        limit = self._limit_min(cafe)
        if limit is None:
            return []
        days = open_dates(cafe, plan.week, plan.days)
        taken_min: dict[date, float] = dict.fromkeys(days, 0.0)
        for cook in plan.cooks:
            dish = cafe.dishes[cook.dish]
            minutes = self._cook_min(dish) + self._portion_min(dish) * cook.portions
            taken_min[cook.date] = taken_min.get(cook.date, 0.0) + minutes
        breaches = []
        for day in days:
            over = taken_min[day] - limit[day.weekday()] * self.share_pct / 100
            if over > MEASURE_TOLERANCE:
                taken = f"{plain(taken_min[day])} {self._name()} minutes"
                text = f"{on(day)} needs {taken}, {plain(over)} over"
                breaches.append(self.breach(text, over, day))
        return breaches

    def share(self, week: Week) -> float:
        limit = self._limit_min(week.cafe)
        if limit is None:
            return 1 / LEAST_MIN
        days = week.open_dates
        usual = sum(limit[day.weekday()] for day in days) / len(days) * self.share_pct / 100
        return 1 / max(usual, LEAST_MIN)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        return [
            (f"{plain(up_to(b.amount, MINUTES_UP_TO))} {self._name()} minutes more", b.day)
            for b in breaches
        ]


RULES: tuple[type[Rule], ...] = (StationMinutes,)
