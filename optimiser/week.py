"""One week to plan: the cafe, its rules, and the calendar between them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

from optimiser.cafe import NO_LIMIT_DAYS, Cafe, Form, Ingredient, Lot, Supplier
from optimiser.house import LASTING_DAYS

if TYPE_CHECKING:
    from optimiser.rules.base import Rule

MAX_DAYS = 28
"""The longest horizon accepted."""

DRY_KEEPS_DAYS = 40
"""Dry goods that keep for less than this (a horizon and some closed days) are planned as fresh."""


@dataclass(frozen=True)
class Week:
    """The problem: `days` calendar days from `start`, planned on `planned_on`.

    `planned_at` is the time of day of planning, compared with suppliers'
    cut-offs; None means early enough for every cut-off of that day.
    """

    cafe: Cafe
    rules: tuple[Rule, ...]
    start: date
    planned_on: date
    days: int = 7
    planned_at: time | None = None

    def __post_init__(self) -> None:
        if not 1 <= self.days <= MAX_DAYS:
            raise ValueError(f"a plan covers 1 to {MAX_DAYS} days, not {self.days}")
        if not self.open_dates:
            raise ValueError("the cafe is closed on every day of this week")

    @cached_property
    def open_dates(self) -> tuple[date, ...]:
        """The days on which the cafe cooks and sells."""
        return open_dates(self.cafe, self.start, self.days)

    @property
    def last(self) -> date:
        """The last open day."""
        return self.open_dates[-1]

    @cached_property
    def next_open(self) -> date:
        """The first open day after the week: what lives until then is left over."""
        return next_open(self.cafe, self.start, self.days)

    def deliveries(self, supplier: Supplier) -> tuple[date, ...]:
        """Open days of the week on which an order placed now or later can arrive."""
        return tuple(
            day
            for day in self.open_dates
            if supplier.comes_on(day) and self._can_order(supplier, day)
        )

    def _can_order(self, supplier: Supplier, day: date) -> bool:
        order_by = supplier.order_by(day)
        if order_by != self.planned_on or supplier.cut_off is None or self.planned_at is None:
            return order_by >= self.planned_on
        return self.planned_at <= supplier.cut_off

    @cached_property
    def usable_stock(self) -> tuple[Lot, ...]:
        """Stock lots that are still good on the first open day."""
        return tuple(lot for lot in self.cafe.stock if last_day(lot.use_by) >= self.open_dates[0])

    @cached_property
    def expired_stock(self) -> tuple[Lot, ...]:
        """Stock lots whose use-by passes before the first open day."""
        return tuple(lot for lot in self.cafe.stock if last_day(lot.use_by) < self.open_dates[0])


def open_dates(cafe: Cafe, start: date, days: int) -> tuple[date, ...]:
    """The open days among `days` calendar days from `start`."""
    every = (start + timedelta(days=n) for n in range(days))
    return tuple(day for day in every if day.weekday() in cafe.open_days)


def next_open(cafe: Cafe, start: date, days: int) -> date:
    """The first open day on or after `start + days`."""
    day = start + timedelta(days=days)
    while day.weekday() not in cafe.open_days:
        day += timedelta(days=1)
    return day


def last_day(use_by: date | None) -> date:
    """`use_by`, or the far future for dry goods without a date."""
    return use_by or date.max


def delivered_use_by(ingredient: Ingredient, day: date) -> date:
    """Last day of use of something delivered on `day` (that day included)."""
    return day + timedelta(days=min(ingredient.keeps_days, NO_LIMIT_DAYS) - 1)


def opened_use_by(ingredient: Ingredient, day: date, whole_use_by: date) -> date:
    """Last day of use of a piece opened on `day`; never after its own use-by."""
    return min(day + timedelta(days=ingredient.opened_keeps_days - 1), whole_use_by)


def hold_days(cafe: Cafe, dish_id: str) -> int:
    """Days a dish lives, never longer than any cooked part in it."""
    dish = cafe.dishes[dish_id]
    parts = [hold_days(cafe, line.item) for line in dish.lines if line.item in cafe.dishes]
    return min([dish.hold_days, *parts])


def is_dry(ingredient: Ingredient) -> bool:
    """Whether the plan charges this by the gram used, not by the pack."""
    return ingredient.form is Form.DRY and ingredient.keeps_days >= DRY_KEEPS_DAYS


def left_pct(cafe: Cafe, ingredient: Ingredient) -> float:
    """Percent of its cost that an unopened thing is worth when left after the week."""
    if ingredient.form is not Form.LOOSE and ingredient.keeps_days >= DRY_KEEPS_DAYS:
        return cafe.money.left_dry_pct
    if ingredient.form is Form.WHOLE:
        return cafe.money.left_whole_pct
    lasting = ingredient.keeps_days >= LASTING_DAYS
    return cafe.money.left_lasting_pct if lasting else cafe.money.left_loose_pct


def default_start(cafe: Cafe, today: date) -> date:
    """The week to plan when none is named: the cafe's own, else the next Monday."""
    return cafe.week or today + timedelta(days=7 - today.weekday())
