"""Tiny cafes dressed so that every kind of rule has something to say, and rules for them."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from optimiser.cafe import Cafe, Dish, Form, Ingredient, Kitchen, Served
from optimiser.rules import Rule, parse_rule
from optimiser.week import Week
from tests.generated_cafes import FEATURES, some, weeks
from tests.rule_cases import PARAMETERS
from tests.rule_weeks import tiny_cafe

PRICES = (None, None, 0.5, 20.0, 700.0)
"""Most of a rule's weeks are small: hard half of the time, else cheap or dear."""

MOST_RULES = 4
_BOOK = tiny_cafe()


@st.composite
def ruled_weeks(draw: st.DrawFn, kind: str | None = None) -> Week:
    """A tiny week with one to four rules that its cafe has no fault with, one of `kind`."""
    bare = draw(weeks(draw(st.sampled_from(FEATURES))))
    cafe = dressed(draw, bare)
    kinds = draw(st.lists(st.sampled_from(sorted(PARAMETERS)), min_size=1, max_size=MOST_RULES))
    kinds[0] = kind or kinds[0]
    rules = tuple(rule for one in kinds if (rule := rule_for(draw, cafe, bare, one)) is not None)
    return Week(cafe, rules, bare.start, bare.planned_on, bare.days)


def dressed(draw: st.DrawFn, week: Week) -> Cafe:
    """The cafe with colours, nutrients, labels, an oven, flexible lines and a past."""
    cafe = week.cafe
    dishes = {dish.id: _dish(draw, dish) for dish in cafe.dishes.values()}
    sold = [dish.id for dish in dishes.values() if dish.course in cafe.courses]
    limits = [st.none(), st.integers(30, 150).map(lambda n: (float(n),) * 7)]
    return Cafe(
        **{name: getattr(cafe, name) for name in Cafe.model_fields}
        | {
            "ingredients": {one.id: _ingredient(draw, one) for one in cafe.ingredients.values()},
            "dishes": dishes,
            "plate": {name: draw(st.integers(0, one.slots)) for name, one in cafe.courses.items()},
            "history": tuple(
                Served(
                    day=week.start - timedelta(days=some(draw, 1, 2, 7, 13)),
                    dish=some(draw, *sold),
                    cooked=some(draw, 0, 4),
                    sold=some(draw, 0, 3),
                )
                for _ in range(draw(st.integers(0, 2)))
            ),
            "kitchen": Kitchen(
                cook_ahead_days=cafe.kitchen.cook_ahead_days,
                hands_on_min=draw(st.one_of(limits)),
                oven_min=draw(st.one_of(limits)),
            ),
        }
    )


def _ingredient(draw: st.DrawFn, one: Ingredient) -> Ingredient:
    nutrients: dict[str, Any] = {
        "protein_g": some(draw, None, 2.0, 9.0),
        "sodium_mg": some(draw, None, 10.0, 60.0),
        "fibre_g": some(draw, None, 1.0, 5.0),
        "amino_mg_per_g_protein": some(draw, {}, {"lys": 30.0, "saa": 30.0}, {"lys": 60.0}),
    }
    return one.model_copy(
        update={
            "colour": some(draw, None, "green", "orange", "white"),
            "allergens": some(draw, None, frozenset(), frozenset({"soy"})),
            "months": some(draw, frozenset(), frozenset({1}), frozenset({6})),
            "veg_group": some(draw, None, "orange", "other"),
            "fridge_l_per_kg": None if one.form is Form.DRY else some(draw, None, 2.0, 5.0),
            **nutrients,
        }
    )


def _dish(draw: st.DrawFn, dish: Dish) -> Dish:
    """Some lines flexible; a raw dish stays raw."""
    baked = not dish.is_raw and draw(st.booleans())
    return dish.model_copy(
        update={
            "lines": tuple(
                line.model_copy(update={"flexible": draw(st.booleans())}) for line in dish.lines
            ),
            "cuisine": some(draw, "", "coast", "hills"),
            "texture": some(draw, "", "soft", "crunchy"),
            "method": "roasted" if baked else dish.method,
            "oven_min": 45.0 if baked else 0.0,
            "oven_c": some(draw, None, 180.0, 220.0) if baked else None,
        }
    )


def rule_for(draw: st.DrawFn, cafe: Cafe, week: Week, kind: str) -> Rule | None:
    """A rule with the parameters of `tests.rule_cases`, its names and days those of this cafe;
    None if the cafe finds fault with it."""
    drawn = draw(st.fixed_dictionaries(PARAMETERS[kind]))
    settings = {
        name: value if name == "scope" else _here(draw, cafe, week, value)
        for name, value in drawn.items()
    }
    for name, low, high in _NEARER.get(kind, ()):
        if draw(st.booleans()):
            settings[name] = draw(st.integers(low, high))
    for name, value in settings.items():
        if isinstance(value, list):
            settings[name] = list(dict.fromkeys(value))
    rule = parse_rule({"kind": kind, **settings, "price_cents": some(draw, *PRICES)})
    return None if rule.faults(cafe) else rule


_NEARER: dict[str, tuple[tuple[str, int, int], ...]] = {
    "purchase_budget": (("budget_cents", 0, 3000),),
    "delivery_budget": (("budget_cents", 0, 1200),),
    "portion_cost_cap": (("cap_cents", 20, 200),),
    "portion_margin": (("least_cents", 300, 690),),
    "plate_cost_cap": (("most_cents", 20, 300),),
    "par_level": (("par_g", 25, 1500),),
    "fridge_litres": (("litres", 1, 8),),
    "finish_opened": (("rest_g", 0, 400),),
}
"""Limits nearer to what these cafes cook and buy than those of the cases."""


def _here(draw: st.DrawFn, cafe: Cafe, week: Week, value: Any) -> Any:
    """A value of the cases' cafe in terms of this one."""
    if isinstance(value, list | tuple):
        return [_here(draw, cafe, week, one) for one in value]
    if isinstance(value, date):
        return some(draw, *week.open_dates)
    if not isinstance(value, str):
        return value
    if value in ("mon", "tue", "wed", "thu", "fri", "sat", "sun"):
        return some(draw, *("mon", "tue", "wed", "thu", "fri", "sat", "sun"))
    if value in ("salad", "main"):
        return some(draw, *cafe.courses)
    if value in _BOOK.ingredients:
        return some(draw, *cafe.ingredients)
    if value in _BOOK.dishes:
        return some(draw, *cafe.dishes)
    return some(draw, *cafe.suppliers) if value in _BOOK.suppliers else value
