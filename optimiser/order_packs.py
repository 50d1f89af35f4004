"""From grams and packs in the model's solution to orders of whole packs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

from optimiser.cafe import Supplier
from optimiser.model import Model
from optimiser.plan import Buy

CRUMB_G = 0.001
"""Grams a solver may be short by."""


def orders(model: Model, values: Sequence[float]) -> list[Buy]:
    """Whole packs; grams of dry goods are rounded up, delivery by delivery.

    What an earlier delivery's last pack holds over may spare a later pack, unless
    that order would then fall under the supplier's minimum.
    """
    buys: list[Buy] = []
    over: dict[int, float] = {}
    by_van: dict[tuple[date, str], list[int]] = {}
    for n, delivery in enumerate(model.purchases.deliveries):
        by_van.setdefault((delivery.day, delivery.offer.supplier), []).append(n)
    for (_, supplier), van in sorted(by_van.items()):
        packs = _order(model, values, van, model.cafe.suppliers[supplier], over)
        buys += [_buy(model, n, count) for n, count in packs.items() if count > 0]
    return sorted(buys, key=lambda b: (b.deliver_on, b.supplier, b.ingredient))


def _order(
    model: Model,
    values: Sequence[float],
    van: list[int],
    supplier: Supplier,
    over: dict[int, float],
) -> dict[int, int]:
    """Packs by delivery number of one order; updates the dry grams held over by offer."""
    full: dict[int, int] = {}
    spared: dict[int, int] = {}
    dry = [n for n in van if model.purchases.deliveries[n].by_gram]
    for n in van:
        offer, value = model.purchases.deliveries[n].offer, values[_column(model, n)]
        if n not in dry:
            full[n] = spared[n] = round(value)
            continue
        held = over.get(model.purchases.deliveries[n].offer_index, 0.0)
        full[n] = max(0, math.ceil((value - CRUMB_G) / offer.pack_g))
        spared[n] = max(0, math.ceil((value - held - CRUMB_G) / offer.pack_g))
    cost = _cost(model, spared)
    packs = spared if cost >= supplier.minimum_order_cents or not cost else full
    _fill_shelf(model, packs, dry, supplier)
    for n in dry:
        delivery = model.purchases.deliveries[n]
        held = over.get(delivery.offer_index, 0.0) + packs[n] * delivery.offer.pack_g
        over[delivery.offer_index] = max(0.0, held - values[_column(model, n)])
    return packs


def _fill_shelf(model: Model, packs: dict[int, int], dry: list[int], supplier: Supplier) -> None:
    """Lift an order to its minimum with dry goods, best such as it has already."""
    short = supplier.minimum_order_cents - _cost(model, packs)
    if short <= 0 or not dry or not any(packs.values()):
        return

    def worse(n: int) -> tuple[bool, int]:
        return packs[n] == 0, model.purchases.deliveries[n].price_cents

    n = min(dry, key=worse)
    packs[n] += math.ceil(short / model.purchases.deliveries[n].price_cents)


def _cost(model: Model, packs: dict[int, int]) -> int:
    return sum(count * model.purchases.deliveries[n].price_cents for n, count in packs.items())


def _column(model: Model, n: int) -> int:
    return model.purchases.deliveries[n].column


def _buy(model: Model, n: int, count: int) -> Buy:
    delivery = model.purchases.deliveries[n]
    offer = delivery.offer
    return Buy(
        deliver_on=delivery.day,
        supplier=offer.supplier,
        ingredient=offer.ingredient,
        packs=count,
        pack_qty=offer.pack_qty,
        pack_unit=offer.pack_unit,
        cost_cents=count * delivery.price_cents,
    )
