"""Deliveries: packs, order minimums and fees, by supplier and day."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from optimiser.cafe import MOST_STRETCH_PCT, Form, Offer, Supplier
from optimiser.lp import Terms, scaled
from optimiser.week import is_dry

if TYPE_CHECKING:
    from optimiser.model import Model


@dataclass(frozen=True)
class Delivery:
    """One offer that can arrive on one day. `by_gram`: column counts grams, not packs."""

    offer: Offer
    offer_index: int
    day: date
    price_cents: int
    by_gram: bool
    column: int

    @property
    def unit_cents(self) -> float:
        """Cents per unit of the column."""
        return self.price_cents / self.offer.pack_g if self.by_gram else float(self.price_cents)


class Purchases:
    """Columns for everything that can be bought this week."""

    def __init__(self, model: Model) -> None:
        self._model = model
        self.deliveries: list[Delivery] = []
        self.grams: dict[str, dict[date, Terms]] = {}
        self.pieces: dict[str, dict[date, Terms]] = {}
        self.orders: dict[tuple[str, date], int] = {}
        self._shelved: Terms = []
        self._most = self._most_g()
        for supplier in model.cafe.suppliers.values():
            for day in model.week.deliveries(supplier):
                self._add_order(supplier, day)

    def _add_order(self, supplier: Supplier, day: date) -> None:
        """Packs and grams of one van; its minimum and fee hang on one yes/no."""
        model = self._model
        start = len(self.deliveries)
        for index, offer in self._offers(supplier, day):
            self._add_delivery(supplier, day, index, offer)
        van = self.deliveries[start:]
        fee, minimum = supplier.delivery_fee_cents, supplier.minimum_order_cents
        if not van or not (fee or minimum):
            return
        order = model.lp.column(f"order__{supplier.id}__{day:%m%d}", 0, 1, True)
        self.orders[supplier.id, day] = order
        for delivery in van:
            high = model.lp.high[delivery.column] or 0.0
            name = f"van__{delivery.offer_index}__{supplier.id}__{day:%m%d}"
            model.lp.row(name, [(delivery.column, 1.0), (order, -high)], high=0.0)
        if minimum:
            total: Terms = [(d.column, d.unit_cents) for d in van]
            if any(d.by_gram for d in van):
                total.append((self._shelf(supplier, day, order), 1.0))
            name = f"minimum__{supplier.id}__{day:%m%d}"
            model.lp.row(name, [*total, (order, -float(minimum))], low=0.0)

    def _shelf(self, supplier: Supplier, day: date, order: int) -> int:
        """Cents of dry goods ordered for the shelf, to reach the minimum.

        They keep their value, so they cost the week nothing.
        """
        name, minimum = f"{supplier.id}__{day:%m%d}", float(supplier.minimum_order_cents)
        column = self._model.lp.column(f"shelf__{name}", 0, minimum)
        self._model.lp.row(f"shelf__{name}", [(column, 1.0), (order, -minimum)], high=0.0)
        return column

    def _offers(self, supplier: Supplier, day: date) -> list[tuple[int, Offer]]:
        """Offers worth a column: of dry goods only the cheapest per gram at this supplier."""
        found: dict[object, tuple[float, int, Offer]] = {}
        for index, offer in enumerate(self._model.cafe.offers):
            price = offer.price_cents_on(supplier.order_by(day))
            if offer.supplier != supplier.id or price is None or day in offer.missing_on:
                continue
            if not self._most.get(offer.ingredient):
                continue
            dry = is_dry(self._model.cafe.ingredients[offer.ingredient])
            key: object = offer.ingredient if dry else index
            candidate = (price / offer.pack_g, index, offer)
            if key not in found or candidate[:2] < found[key][:2]:
                found[key] = candidate
        return [(index, offer) for _, index, offer in found.values()]

    def _add_delivery(self, supplier: Supplier, day: date, index: int, offer: Offer) -> None:
        lp, item = self._model.lp, offer.ingredient
        ingredient = self._model.cafe.ingredients[item]
        by_gram = is_dry(ingredient)
        price = offer.price_cents_on(supplier.order_by(day)) or 0
        most_g = self._most[item]
        if by_gram:
            column = lp.column(f"grams__{index}__{item}__{day:%m%d}", 0, most_g)
        else:
            size = ingredient.piece_g if ingredient.form is Form.WHOLE else None
            packs = self._most_packs(offer, size or 0.0, most_g, price, supplier)
            column = lp.column(f"packs__{index}__{item}__{day:%m%d}", 0, packs, True)
        self.deliveries.append(Delivery(offer, index, day, price, by_gram, column))
        if ingredient.form is Form.WHOLE:
            pieces = self.pieces.setdefault(item, {}).setdefault(day, [])
            pieces.append((column, float(offer.pieces)))
        else:
            grams = self.grams.setdefault(item, {}).setdefault(day, [])
            grams.append((column, 1.0 if by_gram else offer.pack_g))

    def _most_packs(
        self, offer: Offer, piece_g: float, most_g: float, price: int, supplier: Supplier
    ) -> float:
        """More packs than any good week takes: all needs afresh each day, or the minimum."""
        days = len(self._model.week.open_dates)
        if piece_g:
            needed = math.ceil((most_g / piece_g + days) / max(offer.pieces, 1))
        else:
            needed = math.ceil(most_g / offer.pack_g)
        reach = math.ceil(supplier.minimum_order_cents / price) if price else 0
        return float(max(needed, reach) + 1)

    def _most_g(self) -> dict[str, float]:
        """Grams of each item no week can exceed: the slots filled with its heaviest users."""
        model = self._model
        heaviest: dict[tuple[str, date, str], dict[str, float]] = {}
        for run in model.runs:
            for item, grams in run.uses_g.items():
                by_dish = heaviest.setdefault((item, run.cook_day, run.course), {})
                by_dish[run.dish] = max(by_dish.get(run.dish, 0.0), grams)
        days = len(model.week.open_dates)
        total = {
            item: days * sum(self._component_g(dish, item) for dish in model.components)
            + model.stocked_g.get(item, 0.0)
            for item in model.needs
        }
        showings = 1 + model.cafe.kitchen.cook_ahead_days
        for (item, _, course), by_dish in heaviest.items():
            most = model.cafe.courses[course].slots * showings
            total[item] += sum(sorted(by_dish.values(), reverse=True)[:most])
        for item in model.stretches.items:
            total[item] *= 1 + MOST_STRETCH_PCT / 100
        return total

    def _component_g(self, dish_id: str, item: str) -> float:
        dish = self._model.cafe.dishes[dish_id]
        scale = dish.max_portions / dish.portions
        return sum(line.purchased_g * scale for line in dish.lines if line.item == item)

    def spend(
        self, day: date | None = None, supplier: str | None = None, fresh_only: bool = False
    ) -> Terms:
        """Cents of what is bought, of one day or supplier or of all; of the whole week
        without the dry goods that stay on the shelf for a rule."""
        whole_week = day is None and supplier is None and not fresh_only
        return [
            (d.column, d.unit_cents)
            for d in self.deliveries
            if day in (None, d.day)
            and supplier in (None, d.offer.supplier)
            and not (fresh_only and d.by_gram)
        ] + (self._shelved if whole_week else [])

    def shelve(self, item: str, column: int) -> float:
        """Grams of a dry thing bought and not used are no spending; returns their cents a gram."""
        cents = min(d.unit_cents for d in self.deliveries if d.offer.ingredient == item)
        self._shelved.append((column, -cents))
        return cents

    def fees(self) -> Terms:
        """Cents of delivery fees."""
        suppliers = self._model.cafe.suppliers
        return [
            term
            for (supplier, _), column in self.orders.items()
            for term in scaled([(column, 1.0)], suppliers[supplier].delivery_fee_cents)
            if term[1]
        ]
