"""Where even a week without rules is impossible: which places stay empty, and why."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from optimiser.cafe import Dish
from optimiser.elastic import Elastic
from optimiser.rules.base import sold_dishes
from optimiser.rules.words import counted, dish_word, on, plain
from optimiser.runs import Run, cook_runs
from optimiser.week import Week, hold_days, last_day

MOST_DISHES_NAMED = 6


@dataclass(frozen=True)
class Shortages:
    """Sentences about empty places; `proven`: no week leaves fewer of them empty."""

    facts: tuple[str, ...]
    proven: bool


def shortages(week: Week, until: float, stop: threading.Event | None = None) -> Shortages:
    """Fill as many places as stock, deliveries and lives allow, and name the others."""
    elastic = Elastic(replace(week, rules=()), stop)
    mend = elastic.cheapest(frozenset(), until)
    if mend is None:
        return Shortages(("The search ended before it was known which places stay empty.",), False)
    runs = cook_runs(week)
    facts: list[str] = []
    for column in sorted(mend.broken):
        give = elastic.gives[column]
        if give.day is None:
            continue
        facts += _fact(week, runs, give.item, give.day, round(mend.values[column]))
    return Shortages(tuple(facts), mend.least)


def _fact(week: Week, runs: tuple[Run, ...], course: str, day: date, empty: int) -> list[str]:
    """A sentence on one course and day, and what keeps its dishes out."""
    slots = week.cafe.courses[course].slots
    dishes = sold_dishes(week.cafe, course)
    head = (
        f"{course.replace('_', ' ')} on {on(day)}: {counted(slots, 'place')}, "
        f"but only {slots - empty} can be filled"
    )
    if len(dishes) < slots:
        return [f"{head}; there are only {len(dishes)} {dish_word(course, len(dishes))} at all"]
    reasons = [r for r in (_reason(week, runs, dish, day) for dish in dishes) if r]
    if not reasons:
        return [f"{head}; stock and deliveries do not stretch to more, or not in time"]
    more = len(reasons) - MOST_DISHES_NAMED
    tail = [f"and {more} more like these"] if more > 0 else []
    return [f"{head}; {'; '.join(reasons[:MOST_DISHES_NAMED] + tail)}"]


def _reason(week: Week, runs: tuple[Run, ...], dish: Dish, day: date) -> str:
    """Why this dish cannot be shown that day; empty if nothing simple is in its way."""
    if not any(run.dish == dish.id and day in run.shown for run in runs):
        return f"no cook of {dish.name} can be shown then"
    lacking = sorted(set(_lacking(week, dish, day)))
    if not lacking:
        return ""
    return f"{dish.name} lacks {', '.join(lacking)}"


def _lacking(week: Week, dish: Dish, day: date) -> Iterator[str]:
    """Ingredients neither in stock for any cook of the dish nor delivered by `day`."""
    earliest = day - timedelta(days=hold_days(week.cafe, dish.id) - 1)
    for line in dish.lines:
        lots = [lot for lot in week.usable_stock if lot.item == line.item]
        in_stock = any(last_day(lot.use_by) >= earliest for lot in lots)
        if in_stock or _delivered(week, line.item, day):
            continue
        if line.item in week.cafe.dishes:
            yield from _lacking(week, week.cafe.dishes[line.item], day)
        elif lots:
            amount = plain(sum(lot.grams for lot in lots))
            yield f"{week.cafe.name_of(line.item)} ({amount} g in stock spoil before)"
        else:
            yield f"{week.cafe.name_of(line.item)} (none in stock, none delivered by then)"


def _delivered(week: Week, item: str, day: date) -> bool:
    for offer in week.cafe.offers_of.get(item, ()):
        supplier = week.cafe.suppliers[offer.supplier]
        for delivery in week.deliveries(supplier):
            priced = offer.price_cents_on(supplier.order_by(delivery)) is not None
            if delivery <= day and priced and delivery not in offer.missing_on:
                return True
    return False
