"""The order list: what to order, by when, from whom, and what each order comes to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from optimiser.cafe import Cafe, Supplier
from optimiser.plan import Buy, Plan
from optimiser.report_base import Row, amount, weekday
from optimiser.week import is_dry

ORDER_COLUMNS = (
    "order_by",
    "cut_off",
    "deliver_on",
    "weekday",
    "supplier",
    "supplier_name",
    "line",
    "ingredient",
    "name",
    "packs",
    "pack",
    "dry",
    "cost",
    "currency",
)
GOODS, FEE, TOTAL = "goods", "delivery fee", "total"
"""What a line of the order list is."""


@dataclass(frozen=True)
class Order:
    """All packs that one supplier delivers on one day."""

    supplier: Supplier
    deliver_on: date
    buys: tuple[Buy, ...]

    @property
    def order_by(self) -> date:
        """The last date on which it can be placed."""
        return self.supplier.order_by(self.deliver_on)

    @property
    def cut_off(self) -> str | None:
        """The time of that date by which it has to be in."""
        return self.supplier.cut_off.strftime("%H:%M") if self.supplier.cut_off else None

    @property
    def total_cents(self) -> int:
        """Packs and delivery fee."""
        return sum(buy.cost_cents for buy in self.buys) + self.supplier.delivery_fee_cents


def orders(plan: Plan, cafe: Cafe) -> list[Order]:
    """The orders of a week, in the order in which they have to be placed."""
    vans: dict[tuple[date, str], list[Buy]] = {}
    for buy in sorted(plan.buys, key=lambda b: (cafe.name_of(b.ingredient), b.pack_qty)):
        vans.setdefault((buy.deliver_on, buy.supplier), []).append(buy)
    found = [
        Order(cafe.suppliers[supplier], day, tuple(buys)) for (day, supplier), buys in vans.items()
    ]
    return sorted(found, key=lambda o: (o.order_by, o.deliver_on, o.supplier.id))


def order_rows(plan: Plan, cafe: Cafe) -> list[Row]:
    """Per order a row for each pack size, the delivery fee and the total.

    `dry` marks goods that keep, of which a little more does no harm.
    """
    return [row for order in orders(plan, cafe) for row in _rows(order, cafe, plan.currency)]


def _rows(order: Order, cafe: Cafe, currency: str) -> Iterator[Row]:
    blank: Row = dict.fromkeys(ORDER_COLUMNS)
    head = blank | {
        "order_by": order.order_by,
        "cut_off": order.cut_off,
        "deliver_on": order.deliver_on,
        "weekday": weekday(order.deliver_on),
        "supplier": order.supplier.id,
        "supplier_name": order.supplier.name,
        "currency": currency,
    }
    for buy in order.buys:
        ingredient = cafe.ingredients[buy.ingredient]
        yield head | {
            "line": GOODS,
            "ingredient": ingredient.id,
            "name": ingredient.name,
            "packs": buy.packs,
            "pack": f"{buy.pack_qty:g} {buy.pack_unit}",
            "dry": "yes" if is_dry(ingredient) else "no",
            "cost": amount(buy.cost_cents),
        }
    if order.supplier.delivery_fee_cents:
        yield head | {"line": FEE, "cost": amount(order.supplier.delivery_fee_cents)}
    yield head | {"line": TOTAL, "cost": amount(order.total_cents)}
