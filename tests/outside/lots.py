"""One-dish cafes that are lot-sizing and newsvendor problems.

The cafe sells one dish made of one ingredient, one gram a portion, one slot, no waste
charge, no appeal. One unit of a source's money is CENTS cents here.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from optimiser.cafe import (
    Cafe,
    Course,
    Cover,
    DatedPrice,
    Dish,
    Form,
    Ingredient,
    Line,
    Money,
    Offer,
    Supplier,
)
from optimiser.week import Week
from tests.outside.bench import Planned, plan_of

START = date(2026, 1, 5)
CENTS = 100


def day(n: int) -> date:
    """Period n, from 0."""
    return START + timedelta(days=n)


def surely(guests: int) -> Cover:
    """That many guests, neither more nor fewer."""
    return Cover(expected=guests, low=guests, high=guests)


def grain() -> Ingredient:
    """Something that never spoils."""
    return Ingredient(id="rice", name="rice", form=Form.DRY, keeps_days=365)


def one_offer(item: str, supplier: str, pack_g: int, price: float) -> Offer:
    """Packs of `pack_g` grams at `price` (money of the source)."""
    prices = (DatedPrice(from_date=None, price_cents=round(price * CENTS)),)
    return Offer(
        ingredient=item, supplier=supplier, pack_qty=pack_g, pack_unit="g", pack_g=pack_g,
        prices=prices,
    )  # fmt: skip


def one_dish_week(
    covers: list[Cover], price: float, item: Ingredient, shops: dict[str, Any], steps: int = 0
) -> Week:
    """A week of as many days as covers; one gram of `item` makes a portion.

    A portion sells at `price` (money of the source); `shops` are the suppliers and
    offers; `steps` is how far portions may differ from the par.
    """
    dish = Dish(
        id="dish",
        name="dish",
        course="main",
        portions=1,
        portion_g=1,
        max_portions=1000,
        method="boiled",
        lines=(Line(item=item.id, qty=1, unit="g", edible_g=1),),
    )
    course = Course(slots=1, price_cents=round(price * CENTS), take_up=1, portion_g=1)
    cafe = Cafe(
        name="One dish",
        open_days=frozenset(range(7)),
        courses={"main": course},
        money=Money(
            waste_cost_pct=0,
            disposal_cents_per_kg=0,
            appeal_cents=0,
            left_loose_pct=0,
            left_dry_pct=0,
            extra_portion_steps=steps,
        ),
        ingredients={item.id: item},
        dishes={"dish": dish},
        covers={day(n): cover for n, cover in enumerate(covers)},
        **shops,
    )
    return Week(cafe, (), START, START - timedelta(days=7), len(covers))


def best_week(week: Week) -> tuple[float, Planned]:
    """Proven best margin in the source's money, and its verified plan."""
    found = plan_of(week, work=20)
    assert found.plan.status == "optimal"
    return found.plan.objective_cents / CENTS, found


def lot_sizing(demands: list[int], set_up: list[int], hold: int) -> tuple[float, Planned]:
    """Least cost of ordering and holding, and the plan.

    The model has no holding cost, but the price may depend on the day. With n days,
    let a gram delivered on day s cost p + hold x (n - s). Used on day t it costs
        p + hold x (n - s) = [p + hold x (n - t)] + hold x (t - s):
    a constant that its day of use fixes, and the cost of holding it from s to t.
    """
    n, p = len(demands), 10
    suppliers, offers = {}, []
    for s, fee in enumerate(set_up):
        name = f"van_{s}"
        suppliers[name] = Supplier(
            id=name, name=name, delivers_on=frozenset({day(s)}), delivery_fee_cents=fee * CENTS
        )
        offers.append(one_offer("rice", name, 1, p + hold * (n - s)))
    shops = {"suppliers": suppliers, "offers": tuple(offers)}
    week = one_dish_week([surely(d) for d in demands], 10 * n * p, grain(), shops)
    margin, found = best_week(week)
    assert [cook.portions for cook in found.plan.cooks] == demands
    constant = sum(d * (p + hold * (n - t)) for t, d in enumerate(demands))
    takings = sum(demands) * 10 * n * p
    return takings - margin - constant, found


def newsvendor_week(cover: Cover, price: float, cost: float) -> Week:
    """One day; a portion too few loses price - cost, one too many its cost."""
    mill = Supplier(id="mill", name="mill", delivers=frozenset(range(7)))
    shops = {"suppliers": {"mill": mill}, "offers": (one_offer("rice", "mill", 1, cost),)}
    return one_dish_week([cover], price, grain(), shops, steps=10)
