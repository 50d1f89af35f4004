"""The hard rules of a week, and how much of a rule one unit of breach gives up,
so that minutes and colours compare.

1 is a whole rule given up: a colour of five is 0.2, twelve minutes of an hour are 0.2,
a dish left out on its day is 1. A judgement of ours, no fact of the trade.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from optimiser.rules.base import Rule
from optimiser.rules.colour import ColoursDaily, MainColourCap
from optimiser.rules.kitchen import StationMinutes
from optimiser.rules.money import FoodCostPct, PortionCostCap, PurchaseBudget
from optimiser.rules.protein import PlateProtein, ProteinDishes
from optimiser.rules.spacing import Spacing
from optimiser.rules.stock import ANY, UseUp, lot_g
from optimiser.rules.variety import HeroDaily, WeeklyCap
from optimiser.week import Week

TOO_SOON = 0.5
"""One showing too soon is half a rule, however long the rest asked for."""

LEAST_MIN, LEAST_CENTS, LEAST_G = 30.0, 100.0, 100.0
"""Limits near nothing are counted as these, or the first step would seem endless."""


@dataclass(frozen=True)
class Part:
    """A hard rule, or half of one with two limits. `number` is its place in week.rules."""

    number: int
    rule: Rule


def hard_parts(rules: Iterable[Rule]) -> tuple[Part, ...]:
    """Hard rules; the two limits on plates are told apart."""
    parts = []
    for number, rule in enumerate(rules):
        if rule.price_cents is not None:
            continue
        if isinstance(rule, PlateProtein) and None not in (rule.worst_g, rule.average_g):
            parts.append(Part(number, rule.model_copy(update={"average_g": None})))
            parts.append(Part(number, rule.model_copy(update={"worst_g": None})))
        else:
            parts.append(Part(number, rule))
    return tuple(parts)


def share(rule: Rule, week: Week) -> float:
    """The part of the rule that one unit of its breach is; more than 0."""
    match rule:
        case Spacing():
            return TOO_SOON
        case WeeklyCap():
            return 1 / rule.days
        case HeroDaily() | MainColourCap() | ProteinDishes():
            return 1 / rule.dishes
        case ColoursDaily():
            return 1 / rule.colours
        case PlateProtein():
            return 1 / (rule.worst_g or rule.average_g or 1.0)
        case PortionCostCap():
            return 1 / max(rule.cap_cents, LEAST_CENTS)
        case PurchaseBudget():
            return 1 / max(rule.budget_cents, LEAST_CENTS)
        case FoodCostPct():
            return 1 / max(rule.pct / 100 * _full_takings_cents(week), LEAST_CENTS)
        case StationMinutes():
            return 1 / max(_usual_min(rule, week), LEAST_MIN)
        case UseUp():
            return 1 / max(_stock_g(rule, week), LEAST_G)
    return 1.0


def _full_takings_cents(week: Week) -> float:
    """Takings if every guest expected takes what guests take."""
    a_guest = sum(course.price_cents * course.take_up for course in week.cafe.courses.values())
    return a_guest * sum(week.cafe.cover_on(day).expected for day in week.open_dates)


def _usual_min(rule: StationMinutes, week: Week) -> float:
    limit: tuple[float, ...] | None = getattr(week.cafe.kitchen, f"{rule.station}_min")
    if limit is None:
        return LEAST_MIN
    days = week.open_dates
    return sum(limit[day.weekday()] for day in days) / len(days) * rule.share_pct / 100


def _stock_g(rule: UseUp, week: Week) -> float:
    lots = [lot for lot in week.usable_stock if rule.item in (ANY, lot.item)]
    return sum(lot_g(week.cafe, lot) for lot in lots) * rule.share_pct / 100
