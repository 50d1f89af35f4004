"""Why a dish is not on, what having it would cost, and what would bring it in by itself;
why a dish is on, and what the week would lose without it."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from optimiser.costs import Costs
from optimiser.demand import expected_sold, of_dish
from optimiser.exchanges import Exchange
from optimiser.in_the_way import Obstacle, obstacles, rule_obstacles
from optimiser.ladder import menus_with, menus_without
from optimiser.near import Near
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.price_lines import PriceLine
from optimiser.progress import Report
from optimiser.report_base import day_text, money_text
from optimiser.runs import uses_per_portion
from optimiser.steps import Placed, Step, step_of
from optimiser.week import Week

HALVINGS = 10
"""Of the range of a price: the answer is within a thousandth of today's."""
LEAST_SHARE = 0.05
"""Of a portion's cost: cheaper ingredients are not asked for their price."""
MOST_INGREDIENTS = 4


@dataclass(frozen=True)
class EntryPrice:
    """The factor of today's price of an ingredient below which the dish pays by itself, one cook
    changed; None: it does not even for nothing."""

    ingredient: str
    name: str
    factor: float | None


@dataclass(frozen=True)
class WhyNot:
    """Having a dish (on `day`, or on any day) with 1, 2, ... cooks changed; None: not so near.

    `portion_price_cents`: of the dish, from which the first step loses nothing; None where there
    is no first step, or it loses nothing already.
    """

    dish: str
    name: str
    day: date | None
    steps: tuple[Step | None, ...]
    obstacles: tuple[Obstacle, ...]
    blocked_by: tuple[str, ...]
    portion_price_cents: int | None
    entry_prices: tuple[EntryPrice, ...]

    def sentences(self, currency: str) -> list[str]:
        """The answer, line by line."""
        when = f" on {day_text(self.day)}" if self.day else ""
        lines = [f"{self.name}{when}:"]
        for number, step in enumerate(self.steps, 1):
            cooks = "one cook" if number == 1 else f"up to {number} cooks"
            if step is None:
                lines.append(f"  changing {cooks}: not possible")
            else:
                lines.append(f"  changing {cooks}: {_worth(step, currency)}")
                lines.append(f"    in: {_words(step.enters)}; out: {_words(step.leaves)}")
        lines += [
            f"  without the rule “{one.title}”, one change would {_gain(one.gain_cents, currency)}"
            for one in self.obstacles
            if one.gain_cents is not None
        ]
        if together := [one.title for one in self.obstacles if not one.alone]:
            lines.append(f"  in the way only together with others: {', '.join(together)}")
        if self.steps and self.steps[0] is None and self.blocked_by:
            lines.append(f"  in the way of one change: {', '.join(self.blocked_by)}")
        if self.portion_price_cents is not None:
            price = money_text(self.portion_price_cents, currency)
            lines.append(f"  it pays by itself from {price} a portion, at the same portions")
        for entry in self.entry_prices:
            if entry.factor is not None:
                pct = f"{100 * entry.factor:.0f} %"
                lines.append(f"  or once {entry.name} costs no more than {pct} of today's price")
        return lines


@dataclass(frozen=True)
class WhyHere:
    """The week without a dish, with 0, 1, ... other cooks changed; None: not so near."""

    dish: str
    name: str
    steps: tuple[Step | None, ...]

    def sentences(self, currency: str) -> list[str]:
        """The answer, line by line."""
        lines = [f"{self.name}, if it were not there:"]
        for number, step in enumerate(self.steps):
            others = "" if number == 0 else f", and up to {number} other cooks changed"
            if step is None:
                lines.append(f"  its places filled by others{others}: not possible")
            else:
                lines.append(f"  its places filled by others{others}: {_worth(step, currency)}")
                lines.append(f"    in: {_words(step.enters)}")
        return lines


def why_not(
    week: Week,
    plan: Plan,
    dish: str,
    day: date | None = None,
    changes: int = 3,
    seconds: float = 30.0,
    report: Report | None = None,
    stop: threading.Event | None = None,
    near: Nearby | None = None,
) -> WhyNot:
    """What having a dish costs and what stands in its way.

    Raises ValueError if the cafe has no such dish or the plan's menu cannot be kept. `seconds`
    is for each step of several changed cooks.
    """
    near = _near(week, plan, dish, near)
    found = menus_with(near, dish, day, changes, seconds, report, stop)
    steps = tuple(_step(near, one, number) for number, one in enumerate(found, 1))
    ways = [
        one
        for one in near.exchanges(ruled_out=True)
        if one.enters.dish == dish and (day is None or day in one.enters.shown)
    ]
    first = found[0] if found else None
    return WhyNot(
        dish=dish,
        name=week.cafe.name_of(dish),
        day=day,
        steps=steps,
        obstacles=tuple(rule_obstacles(near, ways)),
        blocked_by=tuple(obstacles(near, ways)) if first is None else (),
        portion_price_cents=_portion_price_cents(near, ways),
        entry_prices=tuple(_entry_prices(near, dish, ways, stop)) if first else (),
    )


def why_here(
    week: Week,
    plan: Plan,
    dish: str,
    changes: int = 1,
    seconds: float = 30.0,
    report: Report | None = None,
    stop: threading.Event | None = None,
    near: Nearby | None = None,
) -> WhyHere:
    """What the week would lose without a dish. Raises ValueError as `why_not`."""
    near = _near(week, plan, dish, near)
    found = menus_without(near, dish, changes, seconds, report, stop)
    # Its own cooks leave uncounted: a step of n other cooks may change that many more.
    own = sum(1 for run in near.menu if run.dish == dish)
    steps = tuple(_step(near, one, number + own) for number, one in enumerate(found))
    return WhyHere(dish, week.cafe.name_of(dish), steps)


def _near(week: Week, plan: Plan, dish: str, near: Nearby | None) -> Nearby:
    if dish not in week.cafe.dishes:
        raise ValueError(f"there is no dish {dish}")
    near = near or Nearby(week, plan)
    if near.kept is None:
        raise ValueError(f"this plan cannot be kept as the tables are now: {near.why_not_kept()}")
    return near


def _step(near: Nearby, found: Near | None, changes: int) -> Step | None:
    return None if found is None else step_of(near, found, changes)


def _portion_price_cents(near: Nearby, ways: Sequence[Exchange]) -> int | None:
    """The portion price from which some way of having the dish loses nothing.

    Takings are price × portions expected to sell; portions stay as they are.
    """
    prices = []
    for way in ways:
        gain = near.gain(way)
        cafe, run = near.week.cafe, way.enters
        dish = cafe.dishes[run.dish]
        sold = expected_sold(of_dish(cafe, dish, run.shown), run.portions)
        if gain is None or not sold:
            continue
        if gain >= 0:
            return None
        prices.append(cafe.price_cents(dish) - gain / sold)
    return round(min(prices) + 0.5) if prices else None


def _entry_prices(
    near: Nearby, dish: str, ways: Sequence[Exchange], stop: threading.Event | None
) -> list[EntryPrice]:
    """For each of the dearest ingredients, the price below which the dish comes in by itself."""
    possible = [way for way in ways if near.gain(way) is not None]
    if any((near.gain(way) or 0.0) >= 0 for way in possible):
        return []
    entries = []
    for ingredient in _dearest(near.week, dish):
        if stop is not None and stop.is_set():
            break
        factor = _entry_factor(PriceLine(near, ingredient), possible)
        entries.append(EntryPrice(ingredient, near.week.cafe.name_of(ingredient), factor))
    return entries


def _dearest(week: Week, dish: str) -> list[str]:
    """Ingredients that are bought and make a good part of a portion's cost, dearest first."""
    costs = Costs(week.cafe, week.planned_on)
    per_portion = uses_per_portion(week.cafe.dishes[dish], week.cafe)
    cents = {
        item: grams * costs.per_g(item)
        for item, grams in per_portion.items()
        if week.cafe.offers_of.get(item)
    }
    least = LEAST_SHARE * costs.portion_cents(dish)
    dear = sorted((item for item in cents if cents[item] >= least), key=lambda i: -cents[i])
    return dear[:MOST_INGREDIENTS]


def _entry_factor(line: PriceLine, ways: Sequence[Exchange]) -> float | None:
    """The highest factor, to a thousandth, at which some way loses nothing: halving between
    nothing and today's price. None if even then all lose."""

    def paying(factor: float) -> list[Exchange]:
        here = line.near_at(factor)
        gains = [(here.gain(way), way) for way in ways]
        return [way for gain, way in gains if gain is not None and gain >= 0]

    low, high = 0.0, 1.0
    ways = paying(low)
    if not ways:
        return None
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if pay := paying(middle):
            low, ways = middle, pay  # the others stop paying earlier
        else:
            high = middle
    return low


def _worth(step: Step, currency: str) -> str:
    text = _gain(step.gain_cents, currency)
    if step.exact:
        return text
    if step.at_most_cents == float("inf"):
        return f"{text}, or better"
    return f"{text}, or up to {money_text(step.at_most_cents - step.gain_cents, currency)} better"


def _gain(cents: float, currency: str) -> str:
    if cents < 0:
        return f"cost {money_text(-cents, currency)}"
    return f"bring {money_text(cents, currency)}"


def _words(cooks: Sequence[Placed]) -> str:
    return ", ".join(one.words() for one in cooks) or "nothing"
