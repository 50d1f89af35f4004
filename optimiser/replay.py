"""The week's food, replayed day by day from the rows of a plan.

Each day: vans arrive, pieces are cut or opened, dishes are cooked (parts before
what they go into), each taking from the lots the plan names. Whatever could not
happen in a kitchen becomes a breach. Grams are as purchased for ingredients,
finished for cooked dishes.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date

from optimiser.cafe import Form, State
from optimiser.cook_order import parts_first
from optimiser.ground import Ground, day_plus
from optimiser.plan import Breach, Buy, Cook, Open, Plan, Use

TOLERANCE_G = 0.01
"""Grams below which two amounts are the same."""

CRUMB_G = 0.5
"""What remains of a lot counts from here on."""


@dataclass
class Shelved:
    """A lot in the fridge. `grams` is what is there now, not what there was.

    `until` is the last day of use; `whole` lots have to be cut or opened first.
    `worthless` lots, opened pieces or cooked, have no value after the week (an opened bag
    of weighed goods keeps its value).
    `bought_cents` and `bought_g` are what was paid for a delivered lot.
    """

    id: str
    item: str
    since: date
    until: date
    dated: bool = True
    whole: bool = False
    worthless: bool = False
    grams: float = 0.0
    units: int = 0
    bought_cents: int = 0
    bought_g: float = 0.0

    @property
    def use_by(self) -> date | None:
        """The date written on it; None for dry goods without one."""
        return self.until if self.dated else None


@dataclass
class Replay:
    """Replays `plan`; afterwards `shelf` holds what remains of every lot."""

    plan: Plan
    ground: Ground
    shelf: dict[str, Shelved] = field(default_factory=dict)
    breaches: list[Breach] = field(default_factory=list)
    out_of_order: list[Breach] = field(default_factory=list)

    def run(self) -> Replay:
        """Walk through the days of the week once."""
        self._stock()
        uses = defaultdict(list)
        for use in self.plan.uses:
            uses[use.date, use.dish].append(use)
        for day in self.ground.days:
            for buy in self.plan.buys:
                if buy.deliver_on == day:
                    self._arrive(buy)
            for row in self.plan.opens:
                if row.date == day:
                    self._open(row)
            cooks, circles = parts_first(day, self.plan.cooks, self.plan.uses)
            for circle in circles:
                self._circle(day, circle)
            for cook in cooks:
                self._cook(cook, uses[day, cook.dish])
        return self

    def _stock(self) -> None:
        cafe, first = self.ground.cafe, self.ground.days[0]
        for lot in cafe.stock:
            ingredient = cafe.ingredients.get(lot.item)
            form = ingredient.form if ingredient else None
            self.shelf[lot.id] = Shelved(
                lot.id,
                lot.item,
                since=first,
                until=lot.use_by or date.max,
                dated=lot.use_by is not None,
                whole=form is Form.WHOLE and lot.state is State.WHOLE,
                worthless=lot.state is not State.WHOLE and form in (None, Form.WHOLE),
                grams=lot.grams,
                units=lot.units,
            )

    def _arrive(self, buy: Buy) -> None:
        """Packs of no known offer bring nothing (the orders are checked elsewhere)."""
        id = f"bought-{buy.deliver_on}-{buy.supplier}-{buy.ingredient}"
        whole = self.ground.cafe.ingredients[buy.ingredient].form is Form.WHOLE
        until = self.ground.bought_until(buy.ingredient, buy.deliver_on)
        lot = self.shelf.setdefault(
            id, Shelved(id, buy.ingredient, buy.deliver_on, until, whole=whole)
        )
        offer = self.ground.offer_of(buy)
        if offer is not None:
            pack_g = offer.pieces * self._piece_g(buy.ingredient) if whole else offer.pack_g
            lot.grams += buy.packs * pack_g
            lot.units += buy.packs * offer.pieces
            lot.bought_g += buy.packs * pack_g
            lot.bought_cents += buy.cost_cents

    def _open(self, row: Open) -> None:
        what = f"{row.date}: {row.units} {self._name(row.ingredient)} opened from {row.lot}"
        lot = self.shelf.get(row.lot)
        if lot is None:
            self._breach(row, f"{what}, which has not been delivered by then", row.ingredient)
            return
        if lot.item != row.ingredient:
            self._breach(row, f"{what}, which is a lot of {self._name(lot.item)}", row.ingredient)
            return
        if not lot.whole:
            self._breach(row, f"{what}, which is not a lot of whole pieces", row.ingredient)
            return
        if row.date > lot.until:
            self._breach(row, f"{what}, whose last day is {lot.until}", row.ingredient)
        if row.units > lot.units:
            text = f"{what}, which has only {lot.units} left"
            self._breach(row, text, row.ingredient, row.units - lot.units)
        piece_g = self._piece_g(row.ingredient)
        until = self.ground.opened_until(row.ingredient, row.date, lot.until)
        id = f"opened-{row.date}-{row.lot}"
        new = Shelved(id, lot.item, row.date, until, dated=until < date.max, worthless=True)
        self.shelf.setdefault(id, new).grams += row.units * piece_g
        lot.units -= row.units
        lot.grams -= row.units * piece_g

    def _piece_g(self, item: str) -> float:
        return self.ground.cafe.ingredients[item].piece_g or 0.0

    def _circle(self, day: date, circle: list[str]) -> None:
        names = " and ".join(self._name(dish) for dish in circle)
        text = f"{day}: {names} would each have to be cooked before the other"
        if len(circle) == 1:
            text = f"{day}: {names} would have to be cooked before itself"
        self._add("stock", text, day, circle[0], 1.0)

    def _cook(self, cook: Cook, uses: list[Use]) -> None:
        self._recipe(cook, uses)
        dish = self.ground.cafe.dishes[cook.dish]
        extra = cook.portions - sold_portions(self.plan, cook)
        life_ends = day_plus(cook.date, self.ground.life_days(cook.dish) - 1)
        done_by = max(cook.shown, default=cook.date)
        if extra > 0:
            done_by = max(done_by, life_ends)
        for use in uses:
            carried = self.ground.carries_over(dish, use.item)
            self._take(use, done_by if carried else cook.date)
        for use in uses:
            carried = self.ground.carries_over(dish, use.item)
            self._in_order(use, done_by if carried else cook.date)
        if extra > 0:
            id = f"cooked-{cook.date}-{cook.dish}"
            lot = Shelved(id, cook.dish, cook.date, life_ends, worthless=True)
            lot.grams = extra * dish.portion_g
            self.shelf[id] = lot

    def _recipe(self, cook: Cook, uses: list[Use]) -> None:
        """The uses of a cook are its recipe, times its portions: no more, no less."""
        per_portion = self.ground.recipe_g(self.ground.cafe.dishes[cook.dish])
        due = {item: grams * cook.portions for item, grams in per_portion.items()}
        for row in self.plan.stretched:
            if (row.dish, row.date) == (cook.dish, cook.date):
                due[row.item] = due.get(row.item, 0.0) + row.more_g
        taken: dict[str, float] = dict.fromkeys(due, 0.0)
        for use in uses:
            taken[use.item] = taken.get(use.item, 0.0) + use.grams
        for item, grams in taken.items():
            need = due.get(item, 0.0)
            if close(grams, need) and item in due:
                continue
            text = (
                f"{self._name(cook.dish)} cooked on {cook.date}: {cook.portions} portions need "
                f"{need:.2f} g of {self._name(item)}, the plan uses {grams:.2f} g"
            )
            if item not in due:
                text += "; it is not in the recipe"
            self._add("recipe", text, cook.date, item, abs(grams - need))

    def _take(self, use: Use, needed_until: date) -> None:
        """Take food from a lot that has to be good until `needed_until`."""
        lot = self.shelf.get(use.lot)
        what = self._takes(use)
        if lot is None:
            self._breach(use, f"{what}, of which there is nothing yet on that day", use.item)
            return
        if lot.item != use.item:
            self._breach(use, f"{what}, which is a lot of {self._name(lot.item)}", use.item)
            return
        if lot.whole:
            self._breach(use, f"{what}, whose pieces have to be cut or opened first", use.item)
            return
        if lot.until < needed_until:
            days = (needed_until - lot.until).days
            text = f"{what}, whose last day is {lot.until}; it has to be good on {needed_until}"
            self._breach(use, text, use.item, days)
        over = use.grams - max(lot.grams, 0.0)
        if lot.grams - use.grams < -TOLERANCE_G:
            self._breach(use, f"{what}, which holds only {lot.grams:.2f} g", use.item, over)
        lot.grams -= use.grams

    def _in_order(self, use: Use, needed_until: date) -> None:
        """Note when an older lot that would have served stays behind."""
        taken = self.shelf.get(use.lot)
        for lot in self.shelf.values():
            if taken is None or lot.item != use.item or lot.whole or lot.grams <= CRUMB_G:
                continue
            if needed_until <= lot.until < taken.until:
                text = f"{self._takes(use)}, while {lot.id} ends sooner, on {lot.until}"
                self.out_of_order.append(
                    Breach(rule="first expired first out", text=text, day=use.date, item=use.item)
                )

    def _takes(self, use: Use) -> str:
        name, item = self._name(use.dish), self._name(use.item)
        return f"{name} cooked on {use.date}: takes {use.grams:.2f} g of {item} from {use.lot}"

    def _name(self, item: str) -> str:
        return self.ground.cafe.name_of(item)

    def _breach(self, row: Open | Use, text: str, item: str, amount: float = 1.0) -> None:
        self._add("stock", text, row.date, item, amount)

    def _add(self, rule: str, text: str, day: date, item: str | None, amount: float) -> None:
        self.breaches.append(Breach(rule=rule, text=text, amount=amount, day=day, item=item))


def sold_portions(plan: Plan, cook: Cook) -> int:
    """Portions of a cook that go into the cabinet, over all its days."""
    key = (cook.dish, cook.date)
    return sum(row.portions for row in plan.shown if (row.dish, row.cooked_on) == key)


def close(a: float, b: float) -> bool:
    """Whether two amounts of food, grams, are the same."""
    return abs(a - b) <= TOLERANCE_G + 1e-6 * abs(b)
