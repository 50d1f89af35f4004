"""What a gram costs today: the cheapest offer, as purchased."""

from __future__ import annotations

from datetime import date
from functools import cache

from optimiser.cafe import Cafe


class Costs:
    """Unit costs on one day. Ingredients nobody sells cost nothing."""

    def __init__(self, cafe: Cafe, day: date) -> None:
        self._cafe, self._day = cafe, day
        self.per_g = cache(self._per_g)

    def _per_g(self, item: str) -> float:
        """Cents per gram: of an ingredient as purchased, of a dish finished."""
        dish = self._cafe.dishes.get(item)
        if dish is not None:
            return self.portion_cents(item) / dish.portion_g
        prices = []
        for offer in self._cafe.offers_of.get(item, ()):
            price = offer.price_cents_on(self._day)
            prices.append((offer.prices[0].price_cents if price is None else price) / offer.pack_g)
        return min(prices, default=0.0)

    def left_per_g(self, item: str, until: date) -> float:
        """Cents per gram for valuing what is left: the cheapest price in force from
        today to `until`, so that buying cheaply later never pays by itself."""
        soon = [
            dated.price_cents / offer.pack_g
            for offer in self._cafe.offers_of.get(item, ())
            for dated in offer.prices
            if dated.from_date is not None and self._day < dated.from_date <= until
        ]
        return min([self.per_g(item), *soon])

    def portion_cents(self, dish_id: str) -> float:
        """Ingredients of one portion of a recipe as written, cents."""
        dish = self._cafe.dishes[dish_id]
        total = 0.0
        for line in dish.lines:
            grams = line.edible_g if line.item in self._cafe.dishes else line.purchased_g
            total += grams * self.per_g(line.item)
        return total / dish.portions
