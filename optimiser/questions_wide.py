"""Questions that pages ask about whole weeks: what a rule costs, which other weeks are as good."""

from __future__ import annotations

import threading
from dataclasses import dataclass

from optimiser.cafe import Cafe
from optimiser.good_weeks import GoodWeek, good_weeks
from optimiser.nearby import Nearby
from optimiser.question_jobs import Question, Report
from optimiser.rule_prices import RulePrice, price_of_rule

RULE_SECONDS = 20.0
WEEKS_SECONDS = 60.0
WEEKS = 3


@dataclass(frozen=True)
class WhatARuleCosts(Question[RulePrice]):
    """What would the week gain without the rule of that place among its rules?"""

    number: int
    title: str

    def words(self, cafe: Cafe) -> str:
        return f"What the rule “{self.title}” costs"

    def ask(self, near: Nearby, report: Report, stop: threading.Event) -> RulePrice:
        return price_of_rule(near.week, near.plan, self.number, RULE_SECONDS, report, stop, near)


@dataclass(frozen=True)
class OtherGoodWeeks(Question[tuple[GoodWeek, ...]]):
    """Which weeks, as different as can be, are short of this one by no more than this?"""

    within_cents: int

    def words(self, cafe: Cafe) -> str:
        return "Other good weeks"

    def ask(self, near: Nearby, report: Report, stop: threading.Event) -> tuple[GoodWeek, ...]:
        within = self.within_cents
        return tuple(good_weeks(near.week, near.plan, within, WEEKS, WEEKS_SECONDS, report, stop))
