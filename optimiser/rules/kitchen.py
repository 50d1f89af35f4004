"""Rules about the kitchen's time."""

from __future__ import annotations

from datetime import date
from typing import ClassVar, Literal

from pydantic import Field

from optimiser.cafe import Cafe, Dish
from optimiser.plan import Breach, Plan
from optimiser.rules.base import HOUSE_RULE, Phrase, Rows, Rule, Terms
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
        name = _name(self.station)
        limit = self._limit_min(cafe)
        if limit is None:
            return f"The kitchen sets no limit on {name} minutes, so this rule holds nothing."
        each = [limit[number] * self.share_pct / 100 for number in sorted(cafe.open_days)]
        low, high = plain(min(each)), plain(max(each))
        span = low if low == high else f"{low} to {high}"
        return f"A day's cooking takes at most {span} {name} minutes."

    def _limit_min(self, cafe: Cafe) -> tuple[float, ...] | None:
        limit: tuple[float, ...] | None = getattr(cafe.kitchen, f"{self.station}_min")
        return limit

    def add_to(self, model: Rows) -> None:
        limit = self._limit_min(model.week.cafe)
        if limit is None:
            return
        for day in model.week.open_dates:
            terms = _minutes(model, self.station, day)
            bound = limit[day.weekday()] * self.share_pct / 100
            model.at_most(self, row_key(self.station, day), terms, bound)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Compares the prep sheet's minutes with each day's limit."""
        limit = self._limit_min(cafe)
        if limit is None:
            return []
        breaches = []
        for day, taken_min in _taken_min(plan, cafe, self.station).items():
            over = taken_min - limit[day.weekday()] * self.share_pct / 100
            if over > MEASURE_TOLERANCE:
                taken = f"{plain(taken_min)} {_name(self.station)} minutes"
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
            (f"{plain(up_to(b.amount, MINUTES_UP_TO))} {_name(self.station)} minutes more", b.day)
            for b in breaches
        ]


class EvenLoad(Rule):
    """The heaviest day at a station is not too heavy; with a price, days even out.

    With minutes[t] the sum of `station_minutes` for open day t, and a helper peak ≥ 0:
        peak ≥ minutes[t] for each t   (always hard)
        peak ≤ most_min
    The best peak is the heaviest day's minutes. With most_min 0 every minute of that
    day is charged the price, so the plan takes from it what another day can bear.
    """

    kind: Literal["even_load"] = "even_load"
    title: ClassVar[str] = "Heaviest day in the kitchen"
    unit: ClassVar[str] = "minute of the heaviest day"
    source: ClassVar[str] = HOUSE_RULE
    kept: ClassVar[str] = "60 and 120 oven minutes, at most 120"
    broken: ClassVar[str] = "30 and 150: broken by 30"

    station: Station = Field(description="hands_on, oven, hob or processor minutes")
    most_min: float = Field(
        default=0.0,
        ge=0.0,
        le=1440.0,
        description="minutes on the heaviest day, at most; 0 with a price evens out all days",
    )

    def describe(self, cafe: Cafe) -> str:
        name = _name(self.station)
        if self.most_min == 0:
            return f"The fewer {name} minutes the heaviest day takes, the better."
        return f"The heaviest day takes at most {plain(self.most_min)} {name} minutes."

    def faults(self, cafe: Cafe) -> list[str]:
        if self.most_min == 0 and self.price_cents is None:
            return ["no day takes 0 minutes: give price_cents, or most_min of more than 0"]
        return []

    def add_to(self, model: Rows) -> None:
        peak = model.continuous("peak", 0, None)
        for day in model.week.open_dates:
            terms = _minutes(model, self.station, day)
            model.define(self, row_key(self.station, day), [*terms, (peak, -1.0)], 0)
        model.at_most(self, "week", [(peak, 1.0)], self.most_min)

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        """Finds the heaviest day of the prep sheet."""
        taken_min = _taken_min(plan, cafe, self.station)
        day = max(taken_min, key=lambda d: taken_min[d])
        over = taken_min[day] - self.most_min
        if over <= MEASURE_TOLERANCE:
            return []
        taken = f"{plain(taken_min[day])} {_name(self.station)} minutes"
        return [self.breach(f"{on(day)} needs {taken}, {plain(over)} over", over, day)]

    def share(self, week: Week) -> float:
        return 1 / max(self.most_min, LEAST_MIN)

    def concede(self, plan: Plan, cafe: Cafe, breaches: list[Breach]) -> list[Phrase]:
        """The limit is the week's, whichever day is the heaviest."""
        phrases: list[Phrase] = []
        for breach in breaches:
            now = plain(self.most_min + up_to(breach.amount, MINUTES_UP_TO))
            name = f"{_name(self.station)} minutes on the heaviest day"
            phrases.append((f"{now} {name} instead of {plain(self.most_min)}", None))
        return phrases


def _name(station: Station) -> str:
    return station.replace("_", "-")


def _cook_min(dish: Dish, station: Station) -> float:
    """Minutes of one cook, whatever its size."""
    minutes: float = getattr(dish, f"{station}_min")
    return minutes


def _portion_min(dish: Dish, station: Station) -> float:
    """Minutes that each portion adds."""
    return dish.hands_on_min_per_10 / 10 if station == "hands_on" else 0.0


def _minutes(model: Rows, station: Station, day: date) -> Terms:
    """Minutes of all that is cooked on a day, for the cabinet and as parts."""
    terms = model.run_terms(
        (run, getattr(run, f"{station}_min")) for run in model.runs if run.cook_day == day
    )
    for dish in model.week.cafe.dishes.values():
        per_cook, per_portion = _cook_min(dish, station), _portion_min(dish, station)
        terms += model.batches(dish.id, day, per_cook, per_portion)
    return terms


def _taken_min(plan: Plan, cafe: Cafe, station: Station) -> dict[date, float]:
    """Minutes of each open day by the prep sheet: every cook once, with all its portions."""
    taken_min = dict.fromkeys(open_dates(cafe, plan.week, plan.days), 0.0)
    for cook in plan.cooks:
        if cook.date in taken_min:
            dish = cafe.dishes[cook.dish]
            minutes = _cook_min(dish, station) + _portion_min(dish, station) * cook.portions
            taken_min[cook.date] += minutes
    return taken_min


RULES: tuple[type[Rule], ...] = (StationMinutes, EvenLoad)
