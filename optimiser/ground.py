"""The cafe's facts worked out a second time, with no help from the planner.

The verifier stands on this: its own calendar, lives, recipe amounts, costs,
prices and expected sales, written from the definitions (it shares the constants of
the definitions with the model, but no code), so that a mistake there cannot repeat itself here.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import cache
from math import isclose

from optimiser.cafe import NO_LIMIT_DAYS, Cover, Dish, Form, Ingredient, Offer, Supplier
from optimiser.plan import Buy
from optimiser.week import DRY_KEEPS_DAYS, Week

Stretch = tuple[float, float, float]
"""(probability, least, most): with this probability, evenly between the two."""


def day_plus(day: date, days: int) -> date:
    """`days` calendar days after `day`, stopping at the end of the calendar."""
    return date.fromordinal(min(day.toordinal() + days, date.max.toordinal()))


class Ground:
    """What can be said about a week before any plan is looked at."""

    def __init__(self, week: Week) -> None:
        self.week, self.cafe = week, week.cafe
        self.life_days, self.cents_per_g = cache(self._life_days), cache(self._cents_per_g)
        span = [week.start + timedelta(days=n) for n in range(week.days)]
        self.days = tuple(day for day in span if day.weekday() in self.cafe.open_days)
        after = week.start + timedelta(days=week.days)
        while after.weekday() not in self.cafe.open_days:
            after += timedelta(days=1)
        self.next_open = after

    # Lives: the last day of use counts.

    def _life_days(self, dish_id: str) -> int:
        """Calendar days a dish may be served: the shortest in the tree of its parts."""
        shortest, waiting = NO_LIMIT_DAYS, [dish_id]
        while waiting:
            dish = self.cafe.dishes[waiting.pop()]
            shortest = min(shortest, dish.hold_days)
            waiting += [line.item for line in dish.lines if line.item in self.cafe.dishes]
        return shortest

    def bought_until(self, item: str, day: date) -> date:
        """Last day of use of what was delivered on `day`."""
        return day_plus(day, min(self.cafe.ingredients[item].keeps_days, NO_LIMIT_DAYS) - 1)

    def opened_until(self, item: str, day: date, own_end: date) -> date:
        """Last day of use of a piece cut or opened on `day`."""
        return min(own_end, day_plus(day, self.cafe.ingredients[item].opened_keeps_days - 1))

    def carries_over(self, dish: Dish, item: str) -> bool:
        """Whether the dish has to be gone by this part's last day.

        Always for cooked parts; for ingredients when nothing is heated, which
        is also assumed when the method is not written down.
        """
        return item in self.cafe.dishes or dish.method in ("", "raw")

    # Recipes and costs.

    def recipe_g(self, dish: Dish) -> dict[str, float]:
        """Grams of each item for one portion: as purchased, or finished for parts."""
        grams: dict[str, float] = {}
        for line in dish.lines:
            share = 1.0 if line.item in self.cafe.dishes else line.yield_pct / 100
            grams[line.item] = grams.get(line.item, 0.0) + line.edible_g / share / dish.portions
        return grams

    def flexible_g(self, dish_id: str, item: str) -> float:
        """Grams of an item in one portion's flexible lines, as `recipe_g` counts them."""
        dish = self.cafe.dishes[dish_id]
        flexible = [line for line in dish.lines if line.flexible and line.item == item]
        return self.recipe_g(dish.model_copy(update={"lines": flexible})).get(item, 0.0)

    def _cents_per_g(self, item: str) -> float:
        """Cost today: of an ingredient at its cheapest offer, of a dish by its recipe."""
        dish = self.cafe.dishes.get(item)
        if dish is not None:
            return self.portion_cents(dish) / dish.portion_g
        return min(
            (self.quoted_cents(offer) / offer.pack_g for offer in self._offers(item)), default=0.0
        )

    def least_cents_per_g(self, item: str) -> float:
        """The lowest cost on any day from planning to the last open day."""
        lowest = self.cents_per_g(item)
        day = self.week.planned_on
        while day < self.days[-1]:
            day = day_plus(day, 1)
            for offer in self._offers(item):
                cents = self.pack_cents(offer, day)
                if cents is not None:
                    lowest = min(lowest, cents / offer.pack_g)
        return lowest

    def portion_cents(self, dish: Dish) -> float:
        """Cents of ingredients in one portion."""
        return sum(g * self.cents_per_g(item) for item, g in self.recipe_g(dish).items())

    def quoted_cents(self, offer: Offer) -> int:
        """Price of a pack on the day of planning; a future offer counts at its first price."""
        now = self.pack_cents(offer, self.week.planned_on)
        return offer.prices[0].price_cents if now is None else now

    @staticmethod
    def pack_cents(offer: Offer, order_day: date) -> int | None:
        """The newest price not later than the order; None if there is none yet."""
        past = [
            (dated.from_date or date.min, at, dated.price_cents)
            for at, dated in enumerate(offer.prices)
            if dated.from_date is None or dated.from_date <= order_day
        ]
        return max(past)[2] if past else None

    def offer_of(self, buy: Buy) -> Offer | None:
        """The offer a row of packs is bought on; None if that supplier has no such pack."""
        for offer in self._offers(buy.ingredient):
            same_pack = offer.pack_unit == buy.pack_unit and isclose(offer.pack_qty, buy.pack_qty)
            if same_pack and offer.supplier == buy.supplier:
                return offer
        return None

    def _offers(self, item: str) -> list[Offer]:
        return [offer for offer in self.cafe.offers if offer.ingredient == item]

    def charged_by_gram(self, ingredient: Ingredient) -> bool:
        """Dry goods with a long life."""
        return ingredient.form is Form.DRY and ingredient.keeps_days >= DRY_KEEPS_DAYS

    # Deliveries.

    def no_delivery(self, supplier: Supplier, day: date) -> str | None:
        """Why nothing can arrive on `day`; None if it can."""
        if day.weekday() not in supplier.delivers and day not in supplier.delivers_on:
            return f"{supplier.name} does not come that day"
        if day in supplier.not_on:
            return f"{supplier.name} stays away that day"
        order_day = day - timedelta(days=supplier.lead_days)
        planned_on, planned_at = self.week.planned_on, self.week.planned_at
        if order_day < planned_on:
            return f"it had to be ordered by {order_day}, before the day of planning {planned_on}"
        if order_day == planned_on and supplier.cut_off is not None and planned_at is not None:
            if planned_at > supplier.cut_off:
                return f"it had to be ordered on {order_day} by {supplier.cut_off}"
        return None

    # Sales.

    def expected_sold(self, dish: Dish, days: list[date], portions: float) -> float:
        """E[min(demand, portions)] of one cook shown on `days`, in portions."""
        course = self.cafe.courses[dish.course]
        if course.slots <= 0:
            return 0.0
        per_guest = course.take_up * dish.appeal / course.slots
        guests = comonotone([stretches(self._cover(day)) for day in days])
        scaled = [(chance, low * per_guest, high * per_guest) for chance, low, high in guests]
        return mean_below(scaled, portions)

    def _cover(self, day: date) -> Cover:
        covers = self.cafe.covers
        nobody = Cover(expected=0, low=0, high=0)
        return covers[day] if day in covers else covers.get(day.weekday(), nobody)


def stretches(cover: Cover) -> list[Stretch]:
    """Guests of a day, quietest first."""
    if cover.chances:
        return [(chance, guests, guests) for guests, chance in sorted(cover.chances)]
    return [(0.5, cover.low, cover.expected), (0.5, cover.expected, cover.high)]


def comonotone(days: list[list[Stretch]]) -> list[Stretch]:
    """The sum over days that are quiet together and busy together.

    Walks all days' stretches side by side, cutting off the shortest front piece
    of probability each time.
    """
    queues = [[s for s in reversed(day) if s[0] > 0] for day in days]
    total: list[Stretch] = []
    while queues and all(queues):
        width = min(queue[-1][0] for queue in queues)
        least = most = 0.0
        for queue in queues:
            chance, low, high = queue.pop()
            cut = low + (high - low) * (width / chance)
            least, most = least + low, most + cut
            if chance - width > 1e-12:
                queue.append((chance - width, cut, high))
        total.append((width, least, most))
    return total


def mean_below(demand: list[Stretch], portions: float) -> float:
    """Integral of P(demand > x) for x from 0 to `portions`.

    Within a stretch P is 1 up to `low` and falls in a straight line to 0 at
    `high`: a rectangle and what lies under the slope.
    """
    area = 0.0
    for chance, low, high in demand:
        flat = min(portions, low)
        end = min(portions, high)
        slope = 0.0
        if end > low:
            at_end = (high - end) / (high - low)
            slope = (end - low) * (1 + at_end) / 2
        area += chance * (flat + slope)
    return area
