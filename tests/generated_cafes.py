"""Cafes small enough to try out every week of them, with one feature surely on.

All amounts are multiples of 25 g, so that no rest is small enough to count as a
crumb. Prices never fall, so that nothing is worth buying for the shelf alone.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from optimiser.cafe import (
    COMPONENT,
    Cafe,
    Course,
    Cover,
    DatedPrice,
    Dish,
    Form,
    Ingredient,
    Kitchen,
    Line,
    Lot,
    Money,
    Offer,
    State,
    Supplier,
)
from optimiser.rules import Rule, parse_rule
from optimiser.week import Week

FRI, SAT = date(2026, 1, 2), date(2026, 1, 3)
MON, TUE, WED = (date(2026, 1, day) for day in (5, 6, 7))
FEATURES = (
    "whole",
    "two_packs",
    "loose",
    "lasting",
    "dry",
    "opened",
    "short_dated",
    "component",
    "raw_component",
    "nested",
    "sold_component",
    "raw",
    "ahead",
    "minimum",
    "fee",
    "rules",
    "chances",
    "two_slots",
    "two_courses",
    "three_days",
    "weekend",
)


@dataclass
class Sketch:
    """A cafe while it is being drawn; `after` is the first open day after the week."""

    feature: str
    days: tuple[date, ...]
    after: date
    ingredients: list[Ingredient] = field(default_factory=list)
    offers: list[Offer] = field(default_factory=list)
    dishes: list[Dish] = field(default_factory=list)
    stock: list[Lot] = field(default_factory=list)
    rules: list[Rule] = field(default_factory=list)

    def add_lot(self, item: str, grams: float, use_by: date | None, **changes: Any) -> None:
        """One more row of stock."""
        body: dict[str, Any] = {"state": State.WHOLE, "qty": grams, "unit": "g"} | changes
        number = len(self.stock) + 1
        self.stock.append(
            Lot(id=f"stock-{number}", item=item, grams=grams, use_by=use_by, **body)
        )


def some(draw: st.DrawFn, *choices: Any) -> Any:
    """One of the choices."""
    return draw(st.sampled_from(choices))


@st.composite
def weeks(draw: st.DrawFn, feature: str) -> Week:
    """A week of a tiny cafe in which `feature` plays a part."""
    days = _days(draw, feature)
    sketch = Sketch(feature, days, days[-1] + timedelta(days=some(draw, 1, 2)))
    items = _shelf(draw, sketch)
    parts = _parts(draw, sketch, items)
    _dishes(draw, sketch, parts or items)
    _lots(draw, sketch)
    if feature == "rules":
        _rules(draw, sketch)
    cafe = _cafe(draw, sketch)
    start = days[0]
    length = (days[-1] - start).days + 1
    return Week(cafe, tuple(sketch.rules), start, FRI, length)


def _days(draw: st.DrawFn, feature: str) -> tuple[date, ...]:
    if feature == "three_days":
        return (MON, TUE, WED)
    if feature == "weekend":
        return (SAT, MON)
    return some(draw, (MON, TUE), (MON, TUE), (SAT, MON))


def _shelf(draw: st.DrawFn, sketch: Sketch) -> list[str]:
    """Ingredients and offers: the one the feature is about, sometimes another."""
    form = {
        "whole": "squash",
        "opened": "squash",
        "two_packs": some(draw, "squash", "kale"),
        "loose": "kale",
        "minimum": some(draw, "squash", "kale"),
        "lasting": "onion",
        "dry": "rice",
    }.get(sketch.feature) or some(draw, "squash", "kale", "rice")
    items = [form]
    if sketch.feature not in ("two_packs", "three_days") and draw(st.booleans()):
        other = some(draw, "kale", "rice", "squash")
        items += [other] if other != form else []
    for item in items:
        _stock_item(draw, sketch, item)
    return items


def _stock_item(draw: st.DrawFn, sketch: Sketch, item: str) -> None:
    facts: dict[str, dict[str, Any]] = {
        "squash": {
            "form": Form.WHOLE,
            "piece_g": 500,
            "keeps_days": some(draw, 1, 2, 3, 8, 365),
            "opened_keeps_days": some(draw, 1, 2, 3),
        },
        "kale": {"form": Form.LOOSE, "keeps_days": some(draw, 1, 2, 3, 5)},
        "onion": {"form": Form.LOOSE, "keeps_days": 20},
        "rice": {"form": Form.DRY, "keeps_days": 365},
    }
    sketch.ingredients.append(Ingredient(id=item, name=item, **facts[item]))
    supplier = "mill" if item == "rice" else "farm"
    price = some(draw, 200, 300, 330)
    packs = {"squash": [(500.0, 1)], "rice": [(1000.0, 0)]}.get(item, [(400.0, 0)])
    if sketch.feature == "two_packs":
        packs.append((1000.0, 2) if item == "squash" else (1000.0, 0))
    for n, (pack_g, pieces) in enumerate(packs):
        dear = price if n == 0 else round(price * pack_g / packs[0][0] * some(draw, 0.6, 0.9))
        prices = [DatedPrice(from_date=None, price_cents=dear)]
        if draw(st.integers(0, 5)) == 0:
            prices.append(DatedPrice(from_date=TUE, price_cents=dear + 40))
        sketch.offers.append(
            Offer(
                ingredient=item,
                supplier=supplier,
                pack_qty=pack_g,
                pack_unit="g",
                pack_g=pack_g,
                pieces=pieces,
                prices=tuple(prices),
            )
        )


def _parts(draw: st.DrawFn, sketch: Sketch, items: list[str]) -> list[str]:
    """Cooked parts, if the feature wants them; what the dishes are then made of."""
    if sketch.feature not in ("component", "raw_component", "nested"):
        return []
    method = "raw" if sketch.feature == "raw_component" else some(draw, "boiled", "raw")
    sketch.dishes.append(_part(draw, "pot", items[0], method))
    if sketch.feature == "nested":
        sketch.dishes.append(_part(draw, "sauce", "pot", "boiled"))
        return ["sauce", *items[1:]]
    return ["pot", *items[1:]]


def _part(draw: st.DrawFn, dish: str, item: str, method: str) -> Dish:
    return Dish(
        id=dish,
        name=dish,
        course=COMPONENT,
        portions=2,
        portion_g=100,
        step_portions=some(draw, 2, 3),
        min_portions=some(draw, 1, 4),
        max_portions=6,
        hold_days=some(draw, 1, 2, 3, 6),
        method=method,
        hands_on_min=10,
        hands_on_min_per_10=20,
        lines=(_line(item, 200),),
    )


def _line(item: str, edible_g: float, yield_pct: float = 100.0) -> Line:
    return Line(item=item, qty=edible_g, unit="g", edible_g=edible_g, yield_pct=yield_pct)


def _dishes(draw: st.DrawFn, sketch: Sketch, items: list[str]) -> None:
    two_slots = sketch.feature == "two_slots"
    parts = {dish.id for dish in sketch.dishes}
    for n in range(3 if two_slots or sketch.feature == "two_courses" else 2):
        item = items[0] if n == 0 else some(draw, *items)
        if item in parts:
            lines = [_line(item, some(draw, 100, 150, 200))]
        else:
            lines = [_line(item, some(draw, 200, 300, 400), 80)]
        others = [one for one in items if one != item]
        if others and draw(st.booleans()):
            lines.append(_line(some(draw, *others), 100))
        if sketch.feature == "sold_component" and n == 1:
            lines = [_line("dish_0", 200)]
        raw = draw(st.booleans()) and sketch.feature != "sold_component"
        sketch.dishes.append(
            Dish(
                id=f"dish_{n}",
                name=f"dish {n}",
                course="side" if sketch.feature == "two_courses" and n == 2 else "main",
                portions=2,
                portion_g=100,
                step_portions=2,
                min_portions=4 if sketch.feature == "three_days" else 2,
                max_portions=6 if sketch.feature == "sold_component" else 4,
                hold_days=some(draw, 1, 2, 3),
                # A dish sold at a loss: rather another one twice, if that were allowed.
                price_cents=some(draw, None, 20) if two_slots and n else None,
                method="raw" if raw or sketch.feature == "raw" else "boiled",
                appeal=some(draw, 0.75, 1.0, 1.25),
                hands_on_min=20,
                hands_on_min_per_10=30,
                lines=tuple(lines),
            )
        )


def _lots(draw: st.DrawFn, sketch: Sketch) -> None:
    """Stock: opened or short-dated lots where the feature asks, else sometimes any."""
    first, last = sketch.days[0], sketch.days[-1]
    soon = [first - timedelta(days=1), first, last, sketch.after]
    far = last + timedelta(days=30)
    item = sketch.ingredients[0].id
    if sketch.feature == "opened":
        sketch.add_lot(item, some(draw, 100, 250), some(draw, *soon[1:]), state=State.OPENED)
    if sketch.feature == "short_dated" or draw(st.integers(0, 3)) == 0:
        use_by = some(draw, *soon)
        if item == "squash":
            sketch.add_lot(item, 500, use_by, units=1, unit="each")
        else:
            sketch.add_lot(item, some(draw, 150, 400), use_by)
    if draw(st.integers(0, 3)) == 0:
        lasting = {"rice": None}.get(item, far)
        if item == "squash":
            sketch.add_lot(item, 1000, lasting, units=2, unit="each")
        else:
            sketch.add_lot(item, 300, lasting)
    parts = [dish.id for dish in sketch.dishes if dish.course == COMPONENT]
    if parts and draw(st.booleans()):
        sketch.add_lot(parts[-1], some(draw, 100, 250), some(draw, *soon), state=State.COOKED)


def _rules(draw: st.DrawFn, sketch: Sketch) -> None:
    dish = some(draw, "dish_0", "dish_1")
    choices: list[dict[str, Any]] = [
        {"kind": "weekly_cap", "days": 1, "price_cents": some(draw, None, 120, 900)},
        {"kind": "pin", "dish": dish, "day": some(draw, *sketch.days)},
        {"kind": "bar", "dish": dish, "day": sketch.days[0], "price_cents": some(draw, None, 150)},
        {"kind": "station_minutes", "station": "hands_on", "share_pct": some(draw, 50, 90)},
    ]
    for settings in draw(st.lists(st.sampled_from(choices), min_size=1, max_size=2)):
        sketch.rules.append(parse_rule(settings))


def _van_days(days: tuple[date, ...]) -> list[set[date]]:
    """On which days a supplier may come: most often from the first, at most on two."""
    first, *others = days
    return [{first}, {first, others[0]}, {first, others[-1]}, {others[0]}, {first, others[0]}]


def _cafe(draw: st.DrawFn, sketch: Sketch) -> Cafe:
    slots = 2 if sketch.feature == "two_slots" else 1
    courses = {"main": Course(slots=slots, price_cents=700, take_up=0.5, portion_g=100)}
    if sketch.feature == "two_courses":
        courses["side"] = Course(slots=1, price_cents=450, take_up=0.4, portion_g=100)
    days = st.sampled_from(_van_days(sketch.days))
    fee_at_most = "fee" if sketch.feature == "fee" else ""
    wanted = [
        _supplier(draw, "farm", sketch.feature, draw(days)),
        _supplier(draw, "mill", fee_at_most, draw(days)),
    ]
    return Cafe(
        name="Tiny",
        open_days=frozenset(day.weekday() for day in (*sketch.days, sketch.after)),
        courses=courses,
        kitchen=Kitchen(
            cook_ahead_days=1 if sketch.feature == "ahead" else 0,
            hands_on_min=(some(draw, 45, 60, 80),) * 7 if sketch.rules else None,
        ),
        money=Money(
            extra_portion_steps=5,
            appeal_cents=some(draw, 0, 200),
            left_whole_pct=some(draw, 0, 80),
            left_loose_pct=some(draw, 0, 30),
            waste_cost_pct=some(draw, 0, 100),
            disposal_cents_per_kg=some(draw, 0, 20, 200),
        ),
        ingredients={one.id: one for one in sketch.ingredients},
        suppliers={supplier.id: supplier for supplier in wanted},
        offers=tuple(sketch.offers),
        dishes={dish.id: dish for dish in sketch.dishes},
        stock=tuple(sketch.stock),
        covers={day: _cover(draw, sketch.feature, slots) for day in sketch.days},
    )


def _supplier(draw: st.DrawFn, name: str, feature: str, days: set[date]) -> Supplier:
    """Comes on some days; a fee and a minimum where the feature asks for them."""
    return Supplier(
        id=name,
        name=name,
        delivers_on=frozenset(days),
        lead_days=some(draw, 0, 1, 3),
        delivery_fee_cents=some(draw, 150, 700) if feature in ("fee", "minimum") else 0,
        minimum_order_cents=some(draw, 500, 700) if feature == "minimum" else 0,
    )


def _cover(draw: st.DrawFn, feature: str, slots: int) -> Cover:
    if feature == "chances" and draw(st.booleans()):
        table = some(draw, ((2, 0.25), (6, 0.75)), ((0, 0.1), (4, 0.2), (8, 0.7)))
        return Cover(expected=5, low=2, high=8, chances=table)
    expected = some(draw, 4, 6, 8) * slots
    return Cover(expected=expected, low=expected - some(draw, 0, 3), high=expected + 2)
