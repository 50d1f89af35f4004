"""The week itself: dishes in the cabinet, and what each day comes to."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from optimiser import demand, nutrition
from optimiser.allergens import DIET_BREAKERS, DIET_TOPIC, DIET_WORDS
from optimiser.cafe import Cafe
from optimiser.costs import Costs
from optimiser.display_order import in_order
from optimiser.plan import Plan
from optimiser.prep_report import hands_on_min
from optimiser.report_base import Row, cook_portions_sold, listed, weekday
from optimiser.week import open_dates

WEEK_COLUMNS = (
    "date",
    "weekday",
    "course",
    "place",
    "dish",
    "name",
    "portions",
    "cooked_on",
    "colours",
    "diets",
    "diets_unknown",
    "protein_g",
    "protein_unknown",
)


def week_rows(plan: Plan, cafe: Cafe) -> list[Row]:
    """Every dish of every day, in the order of the cabinet; `place` counts from the left.

    `diets` says what its ingredients are for certain, in the words of the labels;
    protein is the known part of a portion, ingredients of unknown protein beside it.
    """
    rows: list[Row] = []
    for shown in in_order(cafe, plan.shown):
        dish = shown.dish
        fits = {diet: nutrition.diet(cafe, dish, diet) for diet in DIET_BREAKERS}
        rows.append(
            {
                "date": shown.date,
                "weekday": weekday(shown.date),
                "course": shown.course,
                "place": shown.place,
                "dish": dish,
                "name": cafe.name_of(dish),
                "portions": shown.portions,
                "cooked_on": shown.cooked_on,
                "colours": listed(nutrition.colours(cafe, dish)),
                "diets": listed(DIET_WORDS[d]["yes"] for d, a in fits.items() if a == "yes"),
                "diets_unknown": listed(DIET_TOPIC[d] for d, a in fits.items() if a == "unknown"),
                "protein_g": round(nutrition.protein_g(cafe, dish), 1),
                "protein_unknown": listed(nutrition.protein_unknown(cafe, dish)),
            }
        )
    return rows


@dataclass(frozen=True)
class Day:
    """What one open day comes to. `food_cents`: ingredients of the portions shown, at the
    cheapest offers of the day of planning. Protein is the known part, on a plate as
    `cafe.plate` has it; None without a plate or where it asks for too many dishes."""

    date: date
    covers: float
    takings_cents: int
    food_cents: int
    hands_on_min: float
    protein_average_g: float | None
    protein_worst_g: float | None
    colours: int


def days(plan: Plan, cafe: Cafe) -> list[Day]:
    """The open days of a week. Takings of a cook shown on several days are shared by
    the portions shown."""
    takings, food = takings_by_day(plan, cafe), food_by_day(plan, cafe)
    found = []
    for day in open_dates(cafe, plan.week, plan.days):
        average, worst = plate_protein_g(plan, cafe, day)
        cooks = [cook for cook in plan.cooks if cook.date == day]
        shown = {c for dish in plan.dishes_on(day) for c in nutrition.colours(cafe, dish)}
        found.append(
            Day(
                date=day,
                covers=cafe.cover_on(day).expected,
                takings_cents=takings[day],
                food_cents=food[day],
                hands_on_min=sum(hands_on_min(cafe.dishes[c.dish], c.portions) for c in cooks),
                protein_average_g=average,
                protein_worst_g=worst,
                colours=len(shown),
            )
        )
    return found


def takings_by_day(plan: Plan, cafe: Cafe) -> dict[date, int]:
    """Expected takings in whole cents, which add up to the plan's takings."""
    exact = dict.fromkeys(open_dates(cafe, plan.week, plan.days), 0.0)
    for cook in plan.cooks:
        portions = cook_portions_sold(plan, cook.dish, cook.date)
        if not portions:
            continue
        dish = cafe.dishes[cook.dish]
        sold = demand.expected_sold(demand.of_dish(cafe, dish, cook.shown), portions)
        cents = math.floor(cafe.price_cents(dish) * sold + 1e-6)
        for row in plan.shown:
            if (row.dish, row.cooked_on) == (cook.dish, cook.date):
                exact[row.date] += cents * row.portions / portions
    return _whole(exact)


def food_by_day(plan: Plan, cafe: Cafe) -> dict[date, int]:
    """Cost of the portions shown in whole cents, as the cost sheet counts them."""
    exact = dict.fromkeys(open_dates(cafe, plan.week, plan.days), 0.0)
    costs = Costs(cafe, plan.planned_on)
    for row in plan.shown:
        exact[row.date] += row.portions * costs.portion_cents(row.dish)
    return _whole(exact)


def _whole(exact: dict[date, float]) -> dict[date, int]:
    """Whole cents that add up to the rounded sum."""
    whole, total, before = {}, 0.0, 0
    for day, cents_of_day in exact.items():
        total += cents_of_day
        whole[day] = round(total) - before
        before = round(total)
    return whole


def plate_protein_g(plan: Plan, cafe: Cafe, day: date) -> tuple[float | None, float | None]:
    """Grams of known protein on the average plate and on the leanest one.

    With k dishes of a course on a plate: k times the course's mean, and the sum of
    its k leanest dishes.
    """
    average = worst = 0.0
    if not any(cafe.plate.values()):
        return None, None
    for course, picked in cafe.plate.items():
        grams = sorted(nutrition.protein_g(cafe, dish) for dish in plan.dishes_on(day, course))
        if picked > len(grams):
            return None, None
        if picked:
            average += picked * sum(grams) / len(grams)
            worst += sum(grams[:picked])
    return average, worst
