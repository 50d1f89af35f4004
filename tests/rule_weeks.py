"""A tiny cafe and its weeks, small enough to count on fingers, for tests of rules.

One portion of every dish is 100 g of its ingredient, so protein per portion is the
ingredient's protein per 100 g. Monday is 5 January 2026.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from typing import Any

from optimiser.cafe import Cafe, Course, Dish, Form, Ingredient, Kitchen, Line, Lot, Offer, Supplier
from optimiser.cafe import DatedPrice as Price
from optimiser.display_order import placed
from optimiser.plan import Cook, Plan, Shown
from optimiser.rules import Rule
from optimiser.week import Week
from tests.fake_rows import FakeRows, fake_run

MON = date(2026, 1, 5)
TUE, WED, THU, FRI, SAT = (MON + timedelta(days=n) for n in range(1, 6))

# ingredient, colour, form, piece_g, protein g per 100 g, cents per kg
SHELF = (
    ("lentil", "brown", Form.LOOSE, None, 10.0, 500),
    ("kale", "green", Form.LOOSE, None, 4.0, 900),
    ("beet", "red", Form.LOOSE, None, 2.0, 400),
    ("pumpkin", "orange", Form.WHOLE, 1000.0, 1.0, 300),
    ("tofu", "white", Form.WHOLE, 500.0, 15.0, 1200),
    ("quinoa", "white", Form.DRY, None, 14.0, 1000),
)
# More of each ingredient. January is the only month of these weeks; per 100 g edible.
MORE: dict[str, dict[str, Any]] = {
    "lentil": {"allergens": frozenset(), "veg_group": "pulses", "sodium_mg": 10, "fibre_g": 8,
               "amino_mg_per_g_protein": {"lys": 70, "saa": 20}},
    "kale": {"allergens": frozenset(), "veg_group": "dark_green", "sodium_mg": 50, "fibre_g": 4,
             "months": frozenset(range(5, 10)), "fridge_l_per_kg": 5.0,
             "amino_mg_per_g_protein": {"lys": 60, "saa": 30}},
    "beet": {"allergens": frozenset({"celery"}), "veg_group": "other", "sodium_mg": 80,
             "fibre_g": 3, "months": frozenset({1, 2}), "fridge_l_per_kg": 2.0,
             "amino_mg_per_g_protein": {"lys": 40, "saa": 25}},
    "pumpkin": {"allergens": frozenset(), "veg_group": "orange", "months": frozenset({1}),
                "diets_excluded": frozenset({"paleo"})},
    "tofu": {"allergens": frozenset({"soy"}), "veg_group": "pulses", "fibre_g": 1,
             "amino_mg_per_g_protein": {"lys": 65, "saa": 22}},
    "quinoa": {"sodium_mg": 5, "fibre_g": 7, "amino_mg_per_g_protein": {"lys": 54, "saa": 36}},
}  # fmt: skip
# dish, course, ingredient of its one line
BOOK = (
    ("lentil_salad", "salad", "lentil"),
    ("kale_salad", "salad", "kale"),
    ("kale_slaw", "salad", "kale"),
    ("kale_bowl", "salad", "kale"),
    ("beet_salad", "salad", "beet"),
    ("quinoa_salad", "salad", "quinoa"),
    ("tofu_bake", "main", "tofu"),
    ("pumpkin_bake", "main", "pumpkin"),
    ("grain_bake", "main", "quinoa_salad"),
    ("stock_base", "component", "kale"),
    ("soup", "main", "stock_base"),
)
# cuisine, method, texture, oven temperature
STYLE: dict[str, tuple[str, str, str, float | None]] = {
    "lentil_salad": ("plains", "boiled", "soft", None),
    "kale_salad": ("coast", "steamed", "soft", None),
    "kale_slaw": ("coast", "steamed", "crunchy", None),
    "kale_bowl": ("plains", "boiled", "soft", None),
    "beet_salad": ("hills", "roasted", "crunchy", None),
    "quinoa_salad": ("hills", "boiled", "", None),
    "tofu_bake": ("coast", "roasted", "crisp", 220.0),
    "pumpkin_bake": ("hills", "roasted", "soft", 180.0),
    "grain_bake": ("", "roasted", "crunchy", None),
    "stock_base": ("", "boiled", "", None),
    "soup": ("plains", "boiled", "soft", None),
}


def tiny_cafe(**changes: Any) -> Cafe:
    """The cafe of the tables above; `changes` replace whole fields."""
    return Cafe(
        **{
            "name": "Tiny",
            "courses": {
                "salad": Course(slots=2, price_cents=600, take_up=0.5, portion_g=100),
                "main": Course(slots=1, price_cents=1500, take_up=0.5, portion_g=100),
            },
            "plate": {"salad": 1, "main": 1},
            "ingredients": {row[0]: _ingredient(*row[:5]) for row in SHELF},
            "suppliers": {"market": Supplier(id="market", name="Market", delivers={0, 2})},
            "offers": tuple(_offer(row[0], row[5]) for row in SHELF),
            "dishes": {row[0]: _dish(*row) for row in BOOK},
            **changes,
        }
    )


def _ingredient(id: str, colour: str, form: Form, piece_g: float | None, protein_g: float) -> Any:
    return Ingredient(
        id=id,
        name=id.capitalize(),
        group="vegetable",
        colour=colour,
        form=form,
        piece_g=piece_g,
        protein_g=protein_g,
        keeps_days=365 if form is Form.DRY else 5,
        opened_keeps_days=3,
        **MORE[id],
    )


def _offer(ingredient: str, cents_per_kg: int) -> Offer:
    prices = (Price(from_date=None, price_cents=cents_per_kg),)
    kilo = {"pack_qty": 1, "pack_unit": "kg", "pack_g": 1000}
    return Offer(ingredient=ingredient, supplier="market", prices=prices, **kilo)


def _dish(id: str, course: str, item: str) -> Dish:
    return Dish(
        id=id,
        name=id.replace("_", " ").capitalize(),
        course=course,
        portions=10,
        portion_g=100,
        hold_days=3,
        hands_on_min=20,
        hands_on_min_per_10=10,
        oven_min=60 if id.endswith("bake") else 0,
        hob_min=15,
        **dict(zip(("cuisine", "method", "texture", "oven_c"), STYLE[id], strict=True)),
        lines=(Line(item=item, qty=1000, unit="g", edible_g=1000),),
    )


def lot(number: int, item: str, grams: float, use_by: date | None, **changes: Any) -> Lot:
    """A row of the stock count."""
    body = {"state": "whole", "qty": grams, "unit": "g", **changes}
    return Lot(id=f"stock-{number}", item=item, grams=grams, use_by=use_by, **body)


def limited(**minutes: float) -> Kitchen:
    """A kitchen with the same minutes every day."""
    return Kitchen(**{name: (value,) * 7 for name, value in minutes.items()})


def week_plan(
    cafe: Cafe, cooks: list[tuple[str, date, tuple[date, ...]]], extra: int = 0, **fields: Any
) -> Plan:
    """A plan whose cooks are (dish, cook day, days shown), 10 portions a day shown.

    A cook that is not shown makes 10 portions for other dishes; `extra` portions are
    added to every shown cook of a dish that goes into others.
    """
    parts = {line.item for dish in cafe.dishes.values() for line in dish.lines}
    made, shown, takings = [], [], 0
    for dish, cook_day, days in cooks:
        more = extra if dish in parts else 0
        portions = 10 * len(days) + more if days else 10
        made.append(Cook(date=cook_day, dish=dish, portions=portions, shown=days))
        course = cafe.dishes[dish].course
        for day in days:
            body = {"course": course, "dish": dish, "portions": 10, "cooked_on": cook_day}
            shown.append(Shown(date=day, **body))
        takings += takings_of(cafe, dish, len(days))
    return Plan(
        **{
            "week": MON,
            "planned_on": MON - timedelta(days=3),
            "currency": "AUD",
            "objective_cents": 0,
            "terms_cents": {"takings": takings},
            "cooks": tuple(made),
            "shown": tuple(placed(cafe, shown)),
            **fields,
        }
    )


def takings_of(cafe: Cafe, dish: str, days: int) -> int:
    """Cents from selling 10 portions on each of `days`."""
    return 10 * days * cafe.price_cents(cafe.dishes[dish])


def fake_rows(rule: Rule, plan: Plan, cafe: Cafe) -> FakeRows:
    """The rows of `rule`, over the plan's own runs and as many that it does not choose."""
    week = Week(cafe=cafe, rules=(), start=plan.week, planned_on=plan.planned_on, days=plan.days)
    portions: dict[tuple[str, date], int] = defaultdict(int)
    for row in plan.shown:
        portions[row.dish, row.cooked_on] += row.portions
    runs = []
    for cook in plan.cooks:
        if cook.shown:
            sold = portions[cook.dish, cook.date]
            takings = takings_of(cafe, cook.dish, len(cook.shown))
            runs.append(fake_run(cafe, cook, sold, takings))
            runs.append(fake_run(cafe, cook, sold + 5, takings, chosen=False))
    model = FakeRows(week, plan, tuple(runs))
    rule.add_to(model)
    return model


TOLERANCE = 0.01
"""Less than this is rounding to most rules; salt is judged more closely."""


def amounts(rule: Rule, plan: Plan, cafe: Cafe) -> tuple[list[float], list[float]]:
    """Breaches by rows and by check, smallest first, to a millionth."""
    by_rows = fake_rows(rule, plan, cafe).breaches(TOLERANCE).values()
    by_check = (b.amount for b in rule.check(plan, cafe) if b.amount > TOLERANCE)
    return sorted(round(a, 6) for a in by_rows), sorted(round(a, 6) for a in by_check)
