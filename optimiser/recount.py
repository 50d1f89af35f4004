"""The money of a plan, counted again from its rows and what the replay left over.

Sums are exact; cents are rounded once per table against the cafe (values down,
costs up), the lines of a table so that they add up to its rounded sum.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date

from optimiser.cafe import Form
from optimiser.ground import Ground
from optimiser.house import LASTING_DAYS
from optimiser.plan import Binned, Breach, Left, Plan
from optimiser.replay import CRUMB_G, Shelved, close, sold_portions
from optimiser.week import DRY_KEEPS_DAYS


@dataclass(frozen=True)
class Remainder:
    """Food at the end of its way: `cents` is its value, or its cost when binned."""

    item: str
    lot: str
    grams: float
    day: date | None
    cents: float


def cents_down(amount: float) -> int:
    """Whole cents of something worth at most `amount`."""
    return math.floor(amount + 1e-6)


def cents_up(amount: float) -> int:
    """Whole cents of something that costs at least `amount`."""
    return math.ceil(amount - 1e-6)


class Recount:
    """What is left and binned, and the terms of the objective, in cents."""

    def __init__(self, plan: Plan, ground: Ground, shelf: dict[str, Shelved]) -> None:
        self.plan, self.ground = plan, ground
        remains = [lot for lot in shelf.values() if lot.grams > CRUMB_G]
        self.left = [self._left(lot) for lot in remains if lot.until >= ground.next_open]
        self.binned = [self._spoilt(lot) for lot in remains if lot.until < ground.next_open]
        self.takings = 0
        self._sell()

    def terms(self, rule_cents: float) -> dict[str, int]:
        """The money terms; `rule_cents` is what broken rules cost."""
        money, plan, cafe = self.ground.cafe.money, self.plan, self.ground.cafe
        vans = {(buy.supplier, buy.deliver_on) for buy in plan.buys}
        waste = sum(
            row.cents * money.waste_cost_pct / 100 + row.grams * money.disposal_cents_per_kg / 1000
            for row in self.binned
        )
        liked = sum(cafe.dishes[row.dish].appeal - 1 for row in plan.shown)
        return {
            "takings": self.takings,
            "purchases": -sum(buy.cost_cents for buy in plan.buys),
            "delivery_fees": -sum(cafe.suppliers[who].delivery_fee_cents for who, _ in vans),
            "waste": -cents_up(waste),
            "left_value": cents_down(sum(row.cents for row in self.left)),
            "rule_breaches": -cents_up(rule_cents),
            "appeal": cents_down(money.appeal_cents * liked),
        }

    def breaches(self) -> Iterator[Breach]:
        """Rows of `left` and `binned` that differ from the recount, line by line."""
        left = [_as_remainder(row) for row in self.plan.left]
        binned = [_as_remainder(row) for row in self.plan.binned]
        yield from self._compare("left", left, self.left, cents_down)
        yield from self._compare("binned", binned, self.binned, cents_up)

    def _sell(self) -> None:
        """Takings of every cook, and the portions expected to be unsold."""
        cafe = self.ground.cafe
        for cook in self.plan.cooks:
            days = sorted(
                row.date
                for row in self.plan.shown
                if (row.dish, row.cooked_on) == (cook.dish, cook.date)
            )
            dish = cafe.dishes[cook.dish]
            if not days or dish.course not in cafe.courses:
                continue
            offered = sold_portions(self.plan, cook)
            taken = self.ground.expected_sold(dish, days, offered)
            price = dish.price_cents
            if price is None:
                price = cafe.courses[dish.course].price_cents
            self.takings += cents_down(price * taken)
            unsold = offered - taken
            if unsold * dish.portion_g > CRUMB_G:
                cents = unsold * self.ground.portion_cents(dish)
                grams = unsold * dish.portion_g
                self.binned.append(Remainder(dish.id, "", grams, days[-1], cents))

    def _left(self, lot: Shelved) -> Remainder:
        return Remainder(lot.item, lot.id, lot.grams, lot.use_by, self._value(lot))

    def _spoilt(self, lot: Shelved) -> Remainder:
        first, last = self.ground.days[0], self.ground.days[-1]
        day = max(first, min(lot.until, last))
        cents = lot.grams * self.ground.cents_per_g(lot.item)
        return Remainder(lot.item, lot.id, lot.grams, day, cents)

    def _value(self, lot: Shelved) -> float:
        """Cents that what remains of a lot is worth on the next open day."""
        if lot.worthless:
            return 0.0
        ingredient, money = self.ground.cafe.ingredients[lot.item], self.ground.cafe.money
        dry = self.ground.charged_by_gram(ingredient)
        if dry and lot.bought_g > 0:
            return lot.grams * lot.bought_cents / lot.bought_g
        pct = money.left_loose_pct
        long_life = ingredient.keeps_days >= DRY_KEEPS_DAYS
        if dry or (ingredient.form is Form.WHOLE and long_life):
            pct = money.left_dry_pct
        elif ingredient.form is Form.WHOLE:
            pct = money.left_whole_pct
        elif ingredient.keeps_days >= LASTING_DAYS:
            pct = money.left_lasting_pct
        return lot.grams * self.ground.least_cents_per_g(lot.item) * pct / 100

    def _compare(
        self,
        table: str,
        rows: list[Remainder],
        due: list[Remainder],
        rounded: Callable[[float], int],
    ) -> Iterator[Breach]:
        expected = {self._key(row): row for row in due}
        exact, before = 0.0, 0
        for row in rows:
            right = expected.pop(self._key(row), None)
            if right is None:
                yield self._breach(table, row, "the replay finds none", row.grams)
                continue
            if row.item != right.item:
                name = self.ground.cafe.name_of(right.item)
                yield self._breach(table, row, f"the lot is one of {name}", 1.0)
            if not close(row.grams, right.grams):
                off = abs(row.grams - right.grams)
                yield self._breach(table, row, f"the replay finds {right.grams:.2f} g", off)
            if row.day != right.day:
                yield self._breach(table, row, f"it should be dated {right.day}", 1.0)
            exact += right.cents
            after = rounded(exact)
            if row.cents != after - before:
                text = f"it should be {after - before} cents"
                yield self._breach(table, row, text, abs(row.cents - after + before))
            before = after
        for missing in expected.values():
            yield self._breach(table, missing, "the plan has no such row", missing.grams)

    @staticmethod
    def _key(row: Remainder) -> tuple[str, str, date | None]:
        return (row.lot, "", None) if row.lot else ("", row.item, row.day)

    def _breach(self, table: str, row: Remainder, text: str, amount: float) -> Breach:
        name = self.ground.cafe.name_of(row.item)
        where = f" of {row.lot}" if row.lot else ""
        what = f"{table}: {row.grams:.2f} g {name}{where}, {row.day}, {row.cents:g} cents"
        return Breach(
            rule="remains", text=f"{what}: {text}", amount=amount, day=row.day, item=row.item
        )


def _as_remainder(row: Left | Binned) -> Remainder:
    if isinstance(row, Left):
        return Remainder(row.item, row.lot, row.grams, row.use_by, row.value_cents)
    return Remainder(row.item, row.lot, row.grams, row.date, row.cost_cents)
