"""The cost sheet: the week's money terms, and what a portion costs and earns."""

from __future__ import annotations

from optimiser.cafe import Cafe
from optimiser.costs import Costs
from optimiser.plan import TERMS, Plan
from optimiser.report_base import Row, amount

COST_COLUMNS = (
    "section",
    "item",
    "name",
    "portions",
    "portion_cost",
    "portion_price",
    "food_cost_pct",
    "amount",
    "currency",
)
WEEK, DISH = "week", "dish"
"""Sections: sums of the week, and dishes shown."""

TERM_NAMES = {
    "takings": "Expected takings",
    "purchases": "Purchases",
    "delivery_fees": "Delivery fees",
    "waste": "Binned food and its disposal",
    "left_value": "Value of what is left",
    "rule_breaches": "Broken rules with a price",
    "appeal": "Appeal",
}


def cost_rows(plan: Plan, cafe: Cafe) -> list[Row]:
    """Money terms, margin, bound and food cost of the week; then each dish shown.

    Food cost % is ingredients at the day's cheapest offers over the price (dishes)
    or over expected takings (week, all portions cooked for sale).
    """
    rows = [_sum(plan, term, TERM_NAMES[term], plan.terms_cents[term]) for term in TERMS]
    rows.append(_sum(plan, "margin", "Margin of the week", plan.objective_cents))
    rows.append(_sum(plan, "bound", "No week earns more than", plan.bound_cents))
    rows.append(_sum(plan, "gap", "Between margin and bound", plan.gap_cents))
    costs = Costs(cafe, plan.planned_on)
    food = sum(row.portions * costs.portion_cents(row.dish) for row in plan.shown)
    week_food = _sum(plan, "food", "Food cooked for sale", food)
    week_food["food_cost_pct"] = percent(food, plan.terms_cents["takings"])
    rows.append(week_food)
    portions: dict[str, int] = {}
    for shown in plan.shown:
        portions[shown.dish] = portions.get(shown.dish, 0) + shown.portions
    return rows + [_dish(plan, cafe, costs, dish, n) for dish, n in portions.items()]


def percent(cost: float, price: float) -> float | None:
    """`cost` in percent of `price`; None where nothing is earned."""
    return round(100.0 * cost / price, 1) if price > 0 else None


def _sum(plan: Plan, item: str, name: str, cents: float | None) -> Row:
    row: Row = dict.fromkeys(COST_COLUMNS)
    money = None if cents is None else amount(cents)
    return row | {
        "section": WEEK,
        "item": item,
        "name": name,
        "amount": money,
        "currency": plan.currency,
    }


def _dish(plan: Plan, cafe: Cafe, costs: Costs, dish_id: str, portions: int) -> Row:
    dish = cafe.dishes[dish_id]
    cost, price = costs.portion_cents(dish_id), cafe.price_cents(dish)
    return {
        "section": DISH,
        "item": dish_id,
        "name": dish.name,
        "portions": portions,
        "portion_cost": amount(cost),
        "portion_price": amount(price),
        "food_cost_pct": percent(cost, price),
        "amount": amount(portions * cost),
        "currency": plan.currency,
    }
