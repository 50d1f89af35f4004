"""The average plate of a day: k[c] dishes of each course c, the mean over its places.

Rows see it as a sum over dishes, checks as grams of its ingredients.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from optimiser import nutrition
from optimiser.cafe import Cafe
from optimiser.plan import Plan
from optimiser.rules.base import Rows, Terms, sold_dishes

OnPlate = dict[str, dict[str, float]]
"""Course on the plate -> dish -> an amount in one portion."""

Amount = Callable[[Cafe, str], float]
Unknown = Callable[[Cafe, str], tuple[str, ...]]
"""Of a dish of the cafe: an amount in a portion; the ingredients of which it is unknown."""

NAMED_AT_MOST = 3
"""Ingredients named in a breach; the rest are counted."""


def on_plate(cafe: Cafe, amount: Amount) -> OnPlate:
    """The amount in a portion of each dish that can be on a plate."""
    found = {
        course: {dish.id: amount(cafe, dish.id) for dish in sold_dishes(cafe, course)}
        for course, picked in cafe.plate.items()
        if picked
    }
    return {course: amounts for course, amounts in found.items() if amounts}


def average_terms(model: Rows, day: date, amounts: OnPlate) -> Terms:
    """Σ_c k[c]/slots[c] · Σ_{r in c} amount[r] · shown[r,t]."""
    cafe = model.week.cafe
    return [
        (variable, one * amount * cafe.plate[course] / cafe.courses[course].slots)
        for course, amount_of in amounts.items()
        for dish, amount in amount_of.items()
        if amount
        for variable, one in model.shown(dish, day)
    ]


def most_on_average(cafe: Cafe, amounts: OnPlate) -> float:
    """The average plate's amount if each course shows the dishes with most of it."""
    total = 0.0
    for course, amount_of in amounts.items():
        slots = cafe.courses[course].slots
        best = sorted(amount_of.values(), reverse=True)[:slots]
        total += cafe.plate[course] * sum(best) / slots
    return total


def plate_g(plan: Plan, cafe: Cafe, day: date) -> dict[str, float]:
    """Edible grams of each ingredient on the average plate of a day."""
    grams: dict[str, float] = {}
    for course, picked in cafe.plate.items():
        for dish in plan.dishes_on(day, course) if picked else ():
            part = picked / cafe.courses[course].slots
            for item, edible_g in nutrition.edible_parts(cafe, dish).items():
                grams[item] = grams.get(item, 0.0) + part * edible_g
    return grams


def dishes_unknown(cafe: Cafe, unknown: Unknown) -> str:
    """A clause on how many dishes of the plate's courses are not known throughout."""
    dishes = [dish for course in on_plate(cafe, nutrition.protein_g).values() for dish in course]
    number = sum(bool(unknown(cafe, dish)) for dish in dishes)
    if not number:
        return "but all is known"
    return f"as in part of {number} of {len(dishes)} dishes"


def unknown_on(plan: Plan, cafe: Cafe, day: date, unknown: Unknown) -> str:
    """A clause naming what is unknown of the day's dishes; empty if nothing is."""
    items = sorted(
        {
            item
            for course, picked in cafe.plate.items()
            if picked
            for dish in plan.dishes_on(day, course)
            for item in unknown(cafe, dish)
        }
    )
    if not items:
        return ""
    names = [cafe.name_of(item) for item in items[:NAMED_AT_MOST]]
    more = f" and {len(items) - NAMED_AT_MOST} more" if len(items) > NAMED_AT_MOST else ""
    return f"; unknown for {', '.join(names)}{more}"
