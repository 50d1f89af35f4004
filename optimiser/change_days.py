"""What if a van stays away, other guests come, or the kitchen has other minutes on a day?"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Literal

from pydantic import Field, model_validator

from optimiser.cafe import WEEKDAYS, Cafe, Cover, Offer
from optimiser.change_base import (
    ALL,
    Change,
    DayName,
    day_faults,
    day_words,
    falls_on,
    more_or_less,
    span,
    with_cafe,
)
from optimiser.rules.kitchen import Station, StationMinutes
from optimiser.rules.words import on, unknown
from optimiser.week import Week

MOST_PCT, MOST_GUESTS, MOST_MIN = 1000.0, 100_000.0, 10_000.0
DAY_MIN = 1440.0
"""Minutes of a day: the limit of the days that had none, once another day gets one."""


class ShortDelivery(Change):
    """A van that stays away on a date, or comes without one ingredient.

    Packs of each offer of the supplier (of the ingredient, if one is named) that
    arrive on `day` ≤ 0. What is in force for other days and suppliers stays.
    """

    kind: Literal["short"] = "short"
    supplier: str = Field(description="id of the supplier")
    day: date = Field(description="the day of the delivery")
    ingredient: str | None = Field(
        default=None, description="id of what is missing; blank = the van does not come"
    )

    def faults(self, week: Week) -> list[str]:
        cafe = week.cafe
        if self.supplier not in cafe.suppliers:
            return [unknown("supplier", self.supplier, cafe.suppliers)]
        return self._ingredient_faults(cafe) or day_faults(week, self.day) or self._van_faults(week)

    def _ingredient_faults(self, cafe: Cafe) -> list[str]:
        if self.ingredient is None:
            return []
        if self.ingredient not in cafe.ingredients:
            return [unknown("ingredient", self.ingredient, cafe.ingredients)]
        own = [one.ingredient for one in cafe.offers if one.supplier == self.supplier]
        if self.ingredient in own:
            return []
        sellers = {one.supplier: None for one in cafe.offers if one.ingredient == self.ingredient}
        mend = f"it is sold by {', '.join(sellers) or 'nobody'}"
        return [f"{cafe.suppliers[self.supplier].name} does not sell {self.ingredient!r}; {mend}"]

    def _van_faults(self, week: Week) -> list[str]:
        """A fault if no van was due that day (one that was told to stay away was due)."""
        due = week.cafe.suppliers[self.supplier].model_copy(update={"not_on": frozenset()})
        if due.comes_on(self.day):
            return []
        days = ", ".join(on(day) for day in week.open_dates if due.comes_on(day)) or "not this week"
        return [f"{due.name} does not come on {on(self.day)} anyway; it comes on {days}"]

    def describe(self, cafe: Cafe, today: date | None = None) -> str:
        name = cafe.suppliers[self.supplier].name
        if self.ingredient is None:
            return f"{name} does not come on {on(self.day)}."
        return f"{name} comes on {on(self.day)} without {cafe.name_of(self.ingredient)}."

    def _applied(self, week: Week) -> Week:
        cafe = week.cafe
        if self.ingredient is not None:
            return with_cafe(week, offers=tuple(self._without(offer) for offer in cafe.offers))
        supplier = cafe.suppliers[self.supplier]
        supplier = supplier.model_copy(update={"not_on": supplier.not_on | {self.day}})
        return with_cafe(week, suppliers=cafe.suppliers | {supplier.id: supplier})

    def _without(self, offer: Offer) -> Offer:
        if (offer.supplier, offer.ingredient) != (self.supplier, self.ingredient):
            return offer
        return offer.model_copy(update={"missing_on": offer.missing_on | {self.day}})


class _Scaled(Change):
    """A change by a percentage, or to a number."""

    pct: float | None = Field(
        default=None, ge=-100, le=MOST_PCT, description="percent more, or less if negative"
    )
    to: float | None = Field(default=None, ge=0, description="the new number")

    @model_validator(mode="after")
    def _one_way(self) -> _Scaled:
        if (self.pct is None) == (self.to is None):
            raise ValueError("give either pct or to")
        return self

    def changed(self, number: float, middle: float) -> float:
        """`number`, scaled as `middle` is: by (100 + pct)/100, or by to/middle."""
        if self.pct is not None:
            return number * (100 + self.pct) / 100
        return number * (self.to or 0.0) / middle


class CoversChange(_Scaled):
    """More or fewer guests on a weekday, on a date, or every day.

    With m the guests expected before (with `chances`, Σ guests · probability) and
    k = (100 + pct)/100, or to/m: expected, low, high and the guests of `chances` are
    all multiplied by k; k ≥ 0. Where m is 0, `to` guests come for sure. A weekday
    means its dates with a row of their own as well; a date gets a row of its own.
    """

    kind: Literal["covers"] = "covers"
    day: DayName | date = Field(description="a weekday, a date, or all")
    to: float | None = Field(default=None, ge=0, le=MOST_GUESTS, description="guests expected")

    def faults(self, week: Week) -> list[str]:
        if found := day_faults(week, self.day):
            return found
        rows = self._rows(week.cafe).values()
        if self.pct is not None and not any(cover.high or _middle(cover) for cover in rows):
            name = day_words(self.day)
            return [f"{name}: no guests are expected yet, so no percentage of them; give a number"]
        return []

    def describe(self, cafe: Cafe, today: date | None = None) -> str:
        rows = self._rows(cafe)
        old = span(map(_middle, rows.values()))
        new = span(_middle(self._scaled(cover)) for cover in rows.values())
        how = "" if self.pct is None else f"{more_or_less(self.pct, 'more', 'fewer')} guests, "
        return f"{day_words(self.day)}: {how}{new} expected instead of {old}."

    def _rows(self, cafe: Cafe) -> dict[int | date, Cover]:
        """The rows to change, by weekday or date; those that have to be made included."""
        if isinstance(self.day, date):
            return {self.day: cafe.cover_on(self.day)}
        numbers = sorted(cafe.open_days) if self.day == ALL else [WEEKDAYS.index(self.day)]
        dated = [key for key in cafe.covers if isinstance(key, date) and falls_on(self.day, key)]
        keys: list[int | date] = [*numbers, *dated]
        nobody = Cover(expected=0, low=0, high=0)
        return {key: cafe.covers.get(key, nobody) for key in keys}

    def _scaled(self, cover: Cover) -> Cover:
        middle = _middle(cover)
        if self.to is not None and not middle:
            return Cover(expected=self.to, low=self.to, high=self.to)
        return Cover(
            expected=self.changed(cover.expected, middle),
            low=self.changed(cover.low, middle),
            high=self.changed(cover.high, middle),
            chances=tuple((self.changed(n, middle), chance) for n, chance in cover.chances),
        )

    def _applied(self, week: Week) -> Week:
        rows = {key: self._scaled(cover) for key, cover in self._rows(week.cafe).items()}
        return with_cafe(week, covers=week.cafe.covers | rows)


def _middle(cover: Cover) -> float:
    """Guests expected: the mean of `chances` where there are some."""
    if cover.chances:
        return sum(guests * chance for guests, chance in cover.chances)
    return cover.expected


class MinutesChange(_Scaled):
    """More or fewer minutes at a station of the kitchen, on a weekday or every day.

    New minutes of a day = minutes · (100 + pct)/100, or `to`. Cooking then takes
    ≤ these minutes: by the week's own rule on the station, with its share and its
    price, or else by a hard one, which is added. Where the kitchen sets no limit, the
    days not named get the 1440 minutes of a day.
    """

    kind: Literal["minutes"] = "minutes"
    station: Station = Field(description="hands_on, oven, hob or processor")
    day: DayName = Field(description="a weekday, or all")
    to: float | None = Field(default=None, ge=0, le=MOST_MIN, description="minutes a day")

    def faults(self, week: Week) -> list[str]:
        if found := day_faults(week, self.day):
            return found
        if self.pct is not None and self._limit_min(week.cafe) is None:
            name = self.station.replace("_", "-")
            return [f"the kitchen sets no limit on {name} minutes to take a part of; give a number"]
        return []

    def describe(self, cafe: Cafe, today: date | None = None) -> str:
        limit, days = self._limit_min(cafe), self._days(cafe)
        new = span(self._new_min(cafe)[number] for number in days)
        old = "no limit" if limit is None else span(limit[number] for number in days)
        name = self.station.replace("_", "-")
        return f"{day_words(self.day)}: {new} {name} minutes instead of {old}."

    def _limit_min(self, cafe: Cafe) -> tuple[float, ...] | None:
        limit: tuple[float, ...] | None = getattr(cafe.kitchen, f"{self.station}_min")
        return limit

    def _days(self, cafe: Cafe) -> list[int]:
        """Open weekdays that are meant."""
        return [n for n in sorted(cafe.open_days) if self.day in (ALL, WEEKDAYS[n])]

    def _new_min(self, cafe: Cafe) -> tuple[float, ...]:
        """Minutes by weekday, Monday first."""
        limit = self._limit_min(cafe) or (DAY_MIN,) * len(WEEKDAYS)
        return tuple(
            self._amount(minutes) if self.day in (ALL, name) else minutes
            for name, minutes in zip(WEEKDAYS, limit, strict=True)
        )

    def _amount(self, minutes: float) -> float:
        return self.to if self.to is not None else self.changed(minutes, minutes)

    def _applied(self, week: Week) -> Week:
        minutes = {f"{self.station}_min": self._new_min(week.cafe)}
        new = with_cafe(week, kitchen=week.cafe.kitchen.model_copy(update=minutes))
        named = {rule.station for rule in week.rules if isinstance(rule, StationMinutes)}
        if self.station in named:
            return new
        return replace(new, rules=(*new.rules, StationMinutes(station=self.station)))
