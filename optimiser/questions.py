"""The questions that the pages ask in the background."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from datetime import date

from optimiser.cafe import Cafe
from optimiser.change_prices import PriceChange
from optimiser.exposure import Exposure, exposures
from optimiser.formats import short_day
from optimiser.nearby import Nearby
from optimiser.price_lines import PriceRange, breakpoints
from optimiser.question_jobs import Question, Report
from optimiser.surplus import SurplusWorth, surplus_worth
from optimiser.what_if import Comparison, compare
from optimiser.why_not import WhyHere, WhyNot, why_here, why_not

SECONDS = 15.0
"""For each step of several changed cooks."""
FOLLOWED = 3
"""Ingredients of the ranking whose next price is looked for: it takes longest."""
LOW, HIGH = 0.25, 3.0
"""Factors of today's price between which a menu is followed, and that a page offers."""


@dataclass(frozen=True)
class PricesMove(Question[Comparison]):
    """Keep the menu or change up to `cooks` cooks, if prices move?"""

    changes: tuple[PriceChange, ...]
    cooks: int = 2

    def words(self, cafe: Cafe) -> str:
        return "Keep the menu or change it at these prices"

    def ask(self, near: Nearby, report: Report, stop: threading.Event) -> Comparison:
        week, plan = near.week, near.plan
        return compare(week, plan, self.changes, self.cooks, SECONDS, report, stop, near)


@dataclass(frozen=True)
class Followed:
    """The best menus over a range of prices, and what the plan's own menu earns at today's."""

    found: PriceRange
    kept_cents: float


@dataclass(frozen=True)
class WhenItChanges(Question[Followed]):
    """At which prices of an ingredient does another menu pay?"""

    ingredient: str

    def words(self, cafe: Cafe) -> str:
        return f"When the price of {cafe.name_of(self.ingredient)} changes the menu"

    def ask(self, near: Nearby, report: Report, stop: threading.Event) -> Followed:
        item, week, plan = self.ingredient, near.week, near.plan
        found = breakpoints(week, plan, item, LOW, HIGH, report, stop, near)
        assert near.kept is not None  # else breakpoints had raised
        return Followed(found, near.kept.margin_cents)


@dataclass(frozen=True)
class WhatItHangsOn(Question[list[Exposure]]):
    """Which prices does the week depend on most?"""

    def words(self, cafe: Cafe) -> str:
        return "Which prices the week depends on"

    def ask(self, near: Nearby, report: Report, stop: threading.Event) -> list[Exposure]:
        return exposures(near.week, near.plan, report, stop, near, FOLLOWED)


@dataclass(frozen=True)
class WhatMoreIsWorth(Question[SurplusWorth]):
    """What are 1, 2, ... units more of an item worth, good until `use_by`?"""

    item: str
    grams_each: float
    units: int
    use_by: date | None

    def words(self, cafe: Cafe) -> str:
        return f"What more {cafe.name_of(self.item)} is worth"

    def ask(self, near: Nearby, report: Report, stop: threading.Event) -> SurplusWorth:
        return surplus_worth(
            near.week,
            near.plan,
            self.item,
            self.grams_each,
            self.units,
            self.use_by,
            report,
            stop,
            near,
        )


@dataclass(frozen=True)
class WhyIsItNotOn(Question[WhyNot]):
    """Why is a dish not on, on a day or at all?"""

    dish: str
    day: date | None
    cooks: int = 3

    def words(self, cafe: Cafe) -> str:
        when = f" on {short_day(self.day)}" if self.day else ""
        return f"Why {cafe.name_of(self.dish)} is not on{when}"

    def ask(self, near: Nearby, report: Report, stop: threading.Event) -> WhyNot:
        return why_not(
            near.week, near.plan, self.dish, self.day, self.cooks, SECONDS, report, stop, near
        )


@dataclass(frozen=True)
class WhyIsItOn(Question[WhyHere]):
    """Why is a dish on?"""

    dish: str

    def words(self, cafe: Cafe) -> str:
        return f"Why {cafe.name_of(self.dish)} is on"

    def ask(self, near: Nearby, report: Report, stop: threading.Event) -> WhyHere:
        return why_here(near.week, near.plan, self.dish, 1, SECONDS, report, stop, near)
