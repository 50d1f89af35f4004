"""Food by brute force: what is bought, cut, used, left and binned for given cooks.

Every purchase and every piece cut is tried; `brute_lots` serves the needs.

Left out, because it can never pay where prices do not fall and what is left is
worth less than it cost: packs and pieces of which nothing would be used, except
packs that lift an order to its minimum. Dry goods are charged by the gram used.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from itertools import product

from optimiser.cafe import NO_LIMIT_DAYS, Cafe, Dish, Form, Ingredient, Line, Offer, State
from optimiser.week import Week, last_day
from tests.brute_lots import Gives, Need, Needs, kept_cents, ways_to_cut

Vans = tuple[tuple[tuple[str, date], float], ...]
"""What is ordered from each supplier and day: cents, or 1 where only the fee counts."""


@dataclass(frozen=True)
class Batch:
    """A cook: `sold` portions shown on days, `extra` portions for other dishes."""

    dish: str
    day: date
    shown: tuple[date, ...]
    sold: int
    extra: int = 0


class Food:
    """Purchases, stock and lives of one cafe."""

    def __init__(self, week: Week) -> None:
        self.week, self.cafe, self.days = week, week.cafe, week.open_dates
        in_recipes = {line.item for dish in self.cafe.dishes.values() for line in dish.lines}
        self.parts = sorted(in_recipes & set(self.cafe.dishes))
        self.items = sorted(in_recipes | {lot.item for lot in week.usable_stock})
        self.item_table = cache(self._item_table)

    def hold(self, dish: Dish) -> int:
        """Days a dish lives, its cooked parts considered."""
        held = [self.hold(self.cafe.dishes[line.item])
                for line in dish.lines if line.item in self.cafe.dishes]  # fmt: skip
        return min([dish.hold_days, *held])

    def portion_cost(self, dish: Dish) -> float:
        return sum(self._cost_g(line.item) * _taken_g(self.cafe, line) for line in dish.lines) / (
            dish.portions
        )

    def _cost_g(self, item: str) -> float:
        """Cents a gram: the cheapest price on the day of planning."""
        if item in self.cafe.dishes:
            dish = self.cafe.dishes[item]
            return self.portion_cost(dish) / dish.portion_g
        offers = [offer for offer in self.cafe.offers if offer.ingredient == item]
        prices = []
        for offer in offers:
            known = [
                p.price_cents
                for p in offer.prices
                if p.from_date is None or p.from_date <= self.week.planned_on
            ]
            prices.append((known[-1] if known else offer.prices[0].price_cents) / offer.pack_g)
        return min(prices, default=0.0)

    def _bin_g(self, item: str) -> float:
        money = self.cafe.money
        return self._cost_g(item) * money.waste_cost_pct / 100 + money.disposal_cents_per_kg / 1000

    def expired_cents(self) -> float:
        return sum(
            lot.grams * self._bin_g(lot.item)
            for lot in self.cafe.stock
            if last_day(lot.use_by) < self.days[0]
        )

    def _needs(self, batches: tuple[Batch, ...]) -> dict[str, Needs]:
        """Grams by item, by day of use and the day until which they must be good."""
        grams: dict[str, dict[Need, float]] = {}
        for batch in batches:
            dish = self.cafe.dishes[batch.dish]
            until = batch.shown[-1] if batch.shown else batch.day
            if batch.extra:
                until = max(until, batch.day + timedelta(days=self.hold(dish) - 1))
            for line in dish.lines:
                carries = line.item in self.cafe.dishes or dish.method in ("", "raw")
                need = (batch.day, until if carries else batch.day)
                amount = _taken_g(self.cafe, line) * (batch.sold + batch.extra) / dish.portions
                needs = grams.setdefault(line.item, {})
                needs[need] = needs.get(need, 0.0) + amount
        return {item: tuple(sorted(needs.items())) for item, needs in grams.items()}

    def supply_cents(self, batches: tuple[Batch, ...]) -> float | None:
        """Worth of what is left, less purchases, fees and waste; None: cannot be had."""
        needs = self._needs(batches)
        tables = []
        for item in self.items:
            cooked = tuple((b.day, b.extra) for b in batches if b.dish == item and b.extra)
            table = self.item_table(item, needs.get(item, ()), cooked)
            if not table:
                return None
            tables.append(table)
        together: dict[Vans, float] = {(): 0.0}
        for table in tables:
            sums: dict[Vans, float] = {}
            for (vans, cents), (more, worth) in product(together.items(), table.items()):
                key = self._merged(vans, more)
                sums[key] = max(sums.get(key, -math.inf), cents + worth)
            together = sums
        closed = [cents - fee for vans, cents in together.items()
                  if (fee := self._fees(vans)) is not None]  # fmt: skip
        return max(closed, default=None)

    def _fees(self, vans: Vans) -> float | None:
        """Fees of the vans; None if an order is below the minimum."""
        fees = 0.0
        for (name, _), cents in vans:
            supplier = self.cafe.suppliers[name]
            if cents < supplier.minimum_order_cents:
                return None
            fees += supplier.delivery_fee_cents
        return fees

    def _item_table(
        self, item: str, needs: Needs, cooked: tuple[tuple[date, int], ...]
    ) -> dict[Vans, float]:
        """Best cents of one item by what is ordered from whom."""
        ingredient = self.cafe.ingredients.get(item)
        if ingredient is None:
            kept = kept_cents(self._cooked_lots(item, cooked), needs)
            return {} if kept is None else {(): kept}
        table: dict[Vans, float] = {}
        for vans, spent, lots in self._shopping(ingredient, needs):
            if ingredient.form is Form.WHOLE:
                kept = self._best_cuts(ingredient, needs, lots)
            else:
                kept = kept_cents(lots + self._weighed_stock(ingredient), needs)
            if kept is not None:
                table[vans] = max(table.get(vans, -math.inf), kept - spent)
        return table

    def _shopping(
        self, ingredient: Ingredient, needs: Needs
    ) -> Iterator[tuple[Vans, float, list[Gives]]]:
        """Every purchase of one ingredient: vans, cents, lots delivered."""
        doors: list[tuple[Offer, date, int]] = []
        for offer in self.cafe.offers:
            supplier = self.cafe.suppliers[offer.supplier]
            if offer.ingredient == ingredient.id and (needs or supplier.minimum_order_cents):
                for day in self.week.deliveries(supplier):
                    order_by = day - timedelta(days=supplier.lead_days)
                    price = [
                        p.price_cents
                        for p in offer.prices
                        if p.from_date is None or p.from_date <= order_by
                    ]
                    if price:
                        doors.append((offer, day, price[-1]))
        by_gram = ingredient.form is Form.DRY
        assert not by_gram or not any(
            self.cafe.suppliers[offer.supplier].minimum_order_cents for offer, _, _ in doors
        ), "orders of dry goods below a minimum are not tried out here"
        choices = [range(2 if by_gram else self._most(*door, needs) + 1) for door in doors]
        for packs in product(*choices):
            if self._untouched(doors, packs, needs):
                continue
            vans: Vans = ()
            spent, lots = 0.0, []
            for (offer, day, price), count in zip(doors, packs, strict=True):
                if not count:
                    continue
                vans = self._merged(vans, self._van(offer, day, price * count))
                spent += 0 if by_gram else price * count
                grams = sum(g for _, g in needs) if by_gram else offer.pack_g * count
                last = day + timedelta(days=min(ingredient.keeps_days, NO_LIMIT_DAYS) - 1)
                worth = price / offer.pack_g if by_gram else self._left_g(ingredient, last)
                lots.append(Gives(day, last, grams, worth, self._touched(offer, count)))
                spent += worth * grams if by_gram else 0
            yield vans, spent, lots

    def _merged(self, vans: Vans, more: Vans) -> Vans:
        """Orders added up, as far as the minimum (or 1 where only the fee counts)."""
        total = dict(vans)
        for van, cents in more:
            enough = self.cafe.suppliers[van[0]].minimum_order_cents or 1.0
            total[van] = min(total.get(van, 0.0) + cents, enough)
        return tuple(sorted(total.items()))

    def _van(self, offer: Offer, day: date, cents: float) -> Vans:
        """The van of one purchase, as far as it matters who comes."""
        supplier = self.cafe.suppliers[offer.supplier]
        if supplier.minimum_order_cents:
            return (((supplier.id, day), cents),)
        return (((supplier.id, day), 1.0),) if supplier.delivery_fee_cents else ()

    def _most(self, offer: Offer, day: date, price: int, needs: Needs) -> int:
        """Packs beyond which one pack is not touched, or what an order's minimum takes."""
        grams = sum(g for (used, _), g in needs if used >= day)
        days = len({used for (used, _), _ in needs if used >= day})
        if offer.pieces:  # each day's cut leaves less than a piece over
            piece_g = self.cafe.ingredients[offer.ingredient].piece_g
            most = math.ceil((math.floor(grams / piece_g) + days) / offer.pieces)
        else:
            most = math.ceil(grams / offer.pack_g)
        minimum = self.cafe.suppliers[offer.supplier].minimum_order_cents
        return max(most, math.ceil(minimum / price))

    def _touched(self, offer: Offer, packs: int) -> int:
        """Pieces cut of `packs` if each pack is bought for use, not for an order's minimum."""
        if self.cafe.suppliers[offer.supplier].minimum_order_cents:
            return 0
        return max(0, (packs - 1) * offer.pieces + 1) if offer.pieces else 0

    def _untouched(
        self, doors: list[tuple[Offer, date, int]], packs: tuple[int, ...], needs: Needs
    ) -> bool:
        """Whether a delivered lot could do without its smallest pack, and nobody asks for it."""
        lots: dict[tuple[str, date], list[float]] = {}
        for (offer, day, _), count in zip(doors, packs, strict=True):
            if self.cafe.suppliers[offer.supplier].minimum_order_cents or offer.pieces:
                return False
            lots.setdefault((offer.supplier, day), []).extend([offer.pack_g] * count)
        return any(
            len(sizes) > 1 and sum(sizes) - min(sizes) >= sum(g for (c, _), g in needs if c >= day)
            for (_, day), sizes in lots.items()
        )

    def _left_g(self, ingredient: Ingredient, last: date) -> float:
        """Cents a gram of an uncut lot good until `last` is worth in the end."""
        if last < self.week.next_open:
            return -self._bin_g(ingredient.id)
        money, keeps = self.cafe.money, ingredient.keeps_days
        percent = money.left_lasting_pct if keeps >= 14 else money.left_loose_pct
        if ingredient.form is Form.WHOLE:
            percent = money.left_dry_pct if keeps >= 40 else money.left_whole_pct
        elif ingredient.form is Form.DRY:
            percent = money.left_dry_pct
        return self._cost_g(ingredient.id) * percent / 100

    def _opened_g(self, item: str, last: date) -> float:
        """Opened and cooked things are worth nothing, or are binned."""
        return 0.0 if last >= self.week.next_open else -self._bin_g(item)

    def _weighed_stock(self, ingredient: Ingredient) -> list[Gives]:
        lots = []
        for lot in self.week.usable_stock:
            if lot.item == ingredient.id:
                last = last_day(lot.use_by)
                lots.append(
                    Gives(self.days[0], last, lot.grams, self._left_g(ingredient, last))
                )
        return lots

    def _cooked_lots(self, item: str, cooked: tuple[tuple[date, int], ...]) -> list[Gives]:
        dish = self.cafe.dishes[item]
        lots = []
        for day, portions in cooked:
            last = day + timedelta(days=self.hold(dish) - 1)
            lots.append(Gives(day, last, portions * dish.portion_g, self._opened_g(item, last)))
        for lot in self.week.usable_stock:
            if lot.item == item:
                last = last_day(lot.use_by)
                lots.append(Gives(self.days[0], last, lot.grams, self._opened_g(item, last)))
        return lots

    def _best_cuts(
        self, ingredient: Ingredient, needs: Needs, bought: list[Gives]
    ) -> float | None:
        """Try every number of pieces cut from every lot on every day of a cook."""
        item, size = ingredient.id, ingredient.piece_g
        opened, wholes = [], list(bought)
        for lot in self.week.usable_stock:
            if lot.item != item:
                continue
            last = last_day(lot.use_by)
            if lot.state is State.OPENED:
                opened.append(Gives(self.days[0], last, lot.grams, self._opened_g(item, last)))
            else:
                wholes.append(
                    Gives(self.days[0], last, lot.units * size, self._left_g(ingredient, last))
                )
        short = sum(grams for _, grams in needs) - sum(lot.grams for lot in opened)
        ways = [ways_to_cut(lot, needs, size) for lot in wholes]
        best: float | None = None
        if sum(lot.grams for lot in wholes) < short - 1e-6:
            return None
        for cuts in product(*ways):
            if size * sum(units for units_on in cuts for _, units in units_on) < short - 1e-6:
                continue
            lots, uncut = list(opened), 0.0
            for lot, units_on in zip(wholes, cuts, strict=True):
                uncut += (lot.grams - size * sum(u for _, u in units_on)) * lot.worth
                for day, units in units_on:
                    last = min(day + timedelta(days=ingredient.opened_keeps_days - 1), lot.last)
                    lots.append(Gives(day, last, units * size, self._opened_g(item, last)))
            kept = kept_cents(lots, needs)
            if kept is not None:
                best = kept + uncut if best is None else max(best, kept + uncut)
        return best


def _taken_g(cafe: Cafe, line: Line) -> float:
    """Grams of a recipe line: finished for a cooked part, else as purchased."""
    return line.edible_g if line.item in cafe.dishes else line.edible_g / line.yield_pct * 100
