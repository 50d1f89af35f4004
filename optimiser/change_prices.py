"""What if something costs more, or less?"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date
from typing import Literal

from pydantic import Field, model_validator

from optimiser.cafe import Cafe, DatedPrice, Ingredient, Offer
from optimiser.change_base import Change, capital, more_or_less, with_cafe
from optimiser.rules.words import counted, money, on, unknown
from optimiser.week import Week

LOWEST_PCT, HIGHEST_PCT = -99.0, 1000.0
NAMED = 3
"""So many ingredients are named in a fault, and not more."""

Of = Literal["ingredient", "group", "supplier", "all"]
Per = Literal["kg", "l", "each", "pack"]


class PriceChange(Change):
    """Packs cost more or less, or a new price, for orders placed from a date on.

    With s the later of `from_date` and the day of planning (blank: that day), and
    p[o,d] the cents of a pack of offer o ordered on day d:
        new p[o,d] = p[o,d]                                         for d < s
        new p[o,d] = max(1, half_up(p[o,d] · (100 + pct)/100))      for d ≥ s, by a percentage
        new p[o,d] = max(1, half_up(to_cents · amount of the pack)) for d ≥ s, to a new price
    half_up rounds to whole cents, halves upwards; no pack costs less than 1 cent. A
    percentage also moves the dated prices after s; a new price takes their place. An
    offer without a price on s keeps its first day: it is not sold any earlier. The
    amount of a pack is in kg as purchased, litres (grams / g_per_ml), pieces, or 1.
    """

    kind: Literal["price"] = "price"
    of: Of = Field(description="what `name` is the id of; all: everything that is bought")
    name: str = Field(default="", description="the ingredient, group or supplier; blank for all")
    pct: float | None = Field(
        default=None, ge=LOWEST_PCT, le=HIGHEST_PCT, description="percent more, or less if negative"
    )
    to_cents: int | None = Field(
        default=None, ge=1, le=100_000_000_000, description="the new price, in cents"
    )
    per: Per | None = Field(default=None, description="what the new price is for")
    from_date: date | None = Field(
        default=None, description="orders placed from this date on; blank = from planning on"
    )

    @model_validator(mode="after")
    def _one_way(self) -> PriceChange:
        if (self.name == "") != (self.of == "all"):
            raise ValueError("name what changes its price, or leave `name` blank with of = all")
        if (self.pct is None) == (self.to_cents is None):
            raise ValueError("give either pct or to_cents")
        if (self.to_cents is None) != (self.per is None):
            raise ValueError("give `per` with to_cents: kg, l, each or pack; never with pct")
        return self

    def faults(self, week: Week) -> list[str]:
        cafe = week.cafe
        known: dict[str, list[str]] = {
            "ingredient": list(cafe.ingredients),
            "group": sorted({one.group for one in cafe.ingredients.values()} - {""}),
            "supplier": list(cafe.suppliers),
        }
        if self.of != "all" and self.name not in known[self.of]:
            return [unknown(self.of, self.name, known[self.of])]
        offers = list(self._offers(cafe))
        if not offers:
            return [f"no supplier offers anything of {self._who(cafe)}; add it to offers.csv"]
        if self.from_date is not None and self.from_date > week.last:
            late = f"orders from {on(self.from_date)} on come after the week's last day"
            return [f"{late}; name a date up to {on(week.last)}"]
        return self._unit_faults(cafe, offers)

    def _unit_faults(self, cafe: Cafe, offers: list[Offer]) -> list[str]:
        """A fault if packs cannot be measured in the unit of the new price."""
        if self.per is None:
            return []
        items = {
            offer.ingredient: None
            for offer in offers
            if _amount(offer, cafe.ingredients[offer.ingredient], self.per) is None
        }
        if not items:
            return []
        names = ", ".join(cafe.name_of(item) for item in list(items)[:NAMED])
        names += f" and {len(items) - NAMED} more" if len(items) > NAMED else ""
        what = "g_per_ml" if self.per == "l" else "piece_g"
        return [f"{what} of {names} is unknown; give the price per kg, or add {what}"]

    def describe(self, cafe: Cafe, today: date | None = None) -> str:
        if self.pct is not None:
            how = more_or_less(self.pct, "dearer", "cheaper")
        else:
            how = f"{money(cafe, self.to_cents or 0)} {_PER_WORDS[self.per or 'pack']}"
        when = "" if self.from_date is None else f" for orders from {on(self.from_date)} on"
        return f"{capital(self._who(cafe))}: {how}{when}{self._old_and_new(cafe, today)}."

    def _who(self, cafe: Cafe) -> str:
        if self.of == "all":
            return "everything that is bought"
        if self.of == "ingredient":
            return cafe.name_of(self.name)
        number = counted(len({offer.ingredient for offer in self._offers(cafe)}), "ingredient")
        if self.of == "group":
            return f"{number} of the group {self.name.replace('_', ' ')}"
        return f"{number} from {cafe.suppliers[self.name].name}"

    def _old_and_new(self, cafe: Cafe, today: date | None) -> str:
        """`, at the cheapest AUD 4.20/kg instead of AUD 4.00/kg`, of an ingredient or a group."""
        if self.of not in ("ingredient", "group"):
            return ""
        start = self._start(today)
        old: dict[str, list[float]] = {}
        new: dict[str, list[float]] = {}
        for offer in self._offers(cafe):
            for prices, one in ((old, offer), (new, self._repriced(offer, cafe, start))):
                cents = one.price_cents_on(start)
                if cents is not None:
                    per_kg = cents * 1000 / offer.pack_g
                    prices.setdefault(offer.ingredient, []).append(per_kg)
        if not old:
            return ""
        return f", at the cheapest {_per_kg(cafe, new)} instead of {_per_kg(cafe, old)}"

    def _start(self, today: date | None) -> date:
        """The first order day at the new price; without any date, the end of the calendar."""
        return max((day for day in (self.from_date, today) if day is not None), default=date.max)

    def _offers(self, cafe: Cafe) -> Iterator[Offer]:
        for offer in cafe.offers:
            own = {
                "ingredient": offer.ingredient,
                "group": cafe.ingredients[offer.ingredient].group,
                "supplier": offer.supplier,
                "all": "",
            }
            if own[self.of] == self.name:
                yield offer

    def _applied(self, week: Week) -> Week:
        start = self._start(week.planned_on)
        meant = {id(offer) for offer in self._offers(week.cafe)}
        offers = tuple(
            self._repriced(offer, week.cafe, start) if id(offer) in meant else offer
            for offer in week.cafe.offers
        )
        return with_cafe(week, offers=offers)

    def _repriced(self, offer: Offer, cafe: Cafe, start: date) -> Offer:
        """The offer with its prices from `start` on changed, those before kept."""
        before = [one for one in offer.prices if (one.from_date or date.min) < start]
        later = [one for one in offer.prices if (one.from_date or date.min) > start]
        in_force = offer.price_cents_on(start)
        if in_force is not None:
            later = [DatedPrice(from_date=start, price_cents=in_force), *later]
        changed = [
            one.model_copy(update={"price_cents": self._new_cents(one.price_cents, offer, cafe)})
            for one in later
        ]
        return offer.model_copy(update={"prices": (*before, *changed)})

    def _new_cents(self, old_cents: int, offer: Offer, cafe: Cafe) -> int:
        """Cents of the pack after the change."""
        if self.pct is not None:
            return _half_up(old_cents * (100 + self.pct) / 100)
        amount = _amount(offer, cafe.ingredients[offer.ingredient], self.per or "pack")
        return _half_up((self.to_cents or 0) * (amount or 0.0))


_PER_WORDS: dict[Per, str] = {"kg": "a kg", "l": "a litre", "each": "a piece", "pack": "a pack"}


def _amount(offer: Offer, ingredient: Ingredient, per: Per) -> float | None:
    """How much a pack holds, in the unit of the price; None if that is unknown."""
    if per == "pack":
        return 1.0
    if per == "kg":
        return offer.pack_g / 1000
    if per == "l":
        return offer.pack_g / ingredient.g_per_ml / 1000 if ingredient.g_per_ml else None
    if offer.pieces:
        return float(offer.pieces)
    return offer.pack_g / ingredient.piece_g if ingredient.piece_g else None


def _half_up(cents: float) -> int:
    """Whole cents, halves upwards, at least 1; a millionth of a cent is rounding."""
    return max(1, math.floor(round(cents, 6) + 0.5))


def _per_kg(cafe: Cafe, cents: dict[str, list[float]]) -> str:
    """`AUD 4.20/kg`, or the span over several ingredients, each at its cheapest offer."""
    cheapest = [min(prices) for prices in cents.values()]
    low, high = money(cafe, min(cheapest)), money(cafe, max(cheapest))
    return f"{low}/kg" if low == high else f"{low} to {high}/kg"
