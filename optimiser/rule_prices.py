"""The price of a house rule: what the week in hand would gain without it, as a proven range.

    price_of_rule(week, plan, 3)
At least: the best week found without the rule, near the plan or in the whole week, less the best
week in hand that keeps it. At most: a proven bound of all weeks without the rule, less the same.
In hand is the plan or a better week near it, so that what the plan might gain anyway is not
put down to the rule.
"""

from __future__ import annotations

import math
import threading
from dataclasses import dataclass, replace

from optimiser.ladder import better_menus
from optimiser.lp import rule_number
from optimiser.near import Near, Watched
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.progress import Report
from optimiser.report_base import money_text
from optimiser.rules import Rule
from optimiser.solver import Limits, Solver
from optimiser.week import Week

CHANGES = 2
"""Cooks that may change when better weeks are looked for near the plan."""

EXACT_CENTS = 1.0

Stop = threading.Event | None


@dataclass(frozen=True)
class RulePrice:
    """What the week would gain without a rule: `low_cents` at least, `high_cents` at most.

    `number`: the rule's place in `week.rules`. `high_cents` is infinite if nothing was proven;
    neither is negative. `exact`: they meet, to the cent.
    """

    number: int
    title: str
    low_cents: float
    high_cents: float
    exact: bool
    sentence: str


def price_of_rule(
    week: Week,
    plan: Plan,
    number: int,
    seconds: float = 20.0,
    report: Report | None = None,
    stop: Stop = None,
    near: Nearby | None = None,
) -> RulePrice:
    """The price of the rule at this place in `week.rules`. Raises ValueError if there is none, or
    if the plan cannot be kept as the tables are now.

    `seconds`: for the proof; half as many for each look at several changed cooks. `near`: of
    the same week and plan, to save building it again.
    """
    if not 0 <= number < len(week.rules):
        raise ValueError(f"this week has no rule number {number}")
    rule = week.rules[number]
    near = near or Nearby(week, plan)
    if near.kept is None:
        raise ValueError(f"this plan cannot be kept as the tables are now: {near.why_not_kept()}")
    if rule.stretches:
        return _nothing(number, rule, "it gives recipes room and takes none")
    if all(rule_number(row.name) != number for row in near.lp.rows):
        return _nothing(number, rule, "it asks nothing of these dishes and days")
    rules = (*week.rules[:number], *week.rules[number + 1 :])
    free = Nearby(replace(week, rules=rules), plan, near.memory)
    best, bound = _without(free, seconds, report, stop)
    with_it = better_menus(near, CHANGES, seconds / 2, report, stop)[-1].margin_cents
    low = 0.0
    if best is not None:
        with_it = max(with_it, best.margin_cents - _charged(rule, free.plan_of(best), week))
        low = max(0.0, best.margin_cents - with_it)
    return _told(number, rule, low, max(low, bound - with_it), week.cafe.currency)


def _without(
    free: Nearby, seconds: float, report: Report | None, stop: Stop
) -> tuple[Near | None, float]:
    """The best week found without the rule, and a bound that no such week exceeds."""
    steps = better_menus(free, CHANGES, seconds / 2, report, stop)
    best = steps[-1] if steps else None
    watch = Watched(report, best.margin_cents if best else -math.inf)
    solved = Solver(free.lp).solve(
        Limits(seconds),
        start=best.values if best else None,
        stop=stop.is_set if stop else None,
        watch=watch.solving,
    )
    if solved.values is not None and solved.margin is not None:
        if best is None or solved.margin > best.margin_cents:
            best = Near((), (), solved.margin, solved.bound, solved.values)
    return best, solved.bound


def _charged(rule: Rule, plan: Plan, week: Week) -> float:
    """Cents that a week pays under the rule; infinite if it may not be at all."""
    amount = sum(breach.amount for breach in rule.check(plan, week.cafe))
    if amount <= 0:
        return 0.0
    return math.inf if rule.price_cents is None else amount * rule.price_cents


def _nothing(number: int, rule: Rule, why: str) -> RulePrice:
    return RulePrice(number, rule.title, 0.0, 0.0, True, f"{rule.title} costs nothing: {why}.")


def _told(number: int, rule: Rule, low: float, high: float, currency: str) -> RulePrice:
    exact = high - low <= EXACT_CENTS
    least, most = math.floor(low + 0.01), high if math.isinf(high) else math.ceil(high - 0.01)
    if exact and most <= EXACT_CENTS:
        why = "no week without it earns more"
        return RulePrice(number, rule.title, low, high, True, f"{rule.title} costs nothing: {why}.")
    without = f"Without “{rule.title}” this week could earn"
    if exact:
        words = f"{money_text(most, currency)} more"
    elif math.isinf(high):
        words = f"at least {money_text(least, currency)} more; how much at most is not proven"
    elif least <= 0:
        words = f"at most {money_text(most, currency)} more, perhaps nothing"
    else:
        words = f"between {money_text(least, currency)} and {money_text(most, currency)} more"
    return RulePrice(number, rule.title, low, high, exact, f"{without} {words}.")
