"""The best margin of a tiny week by trying everything, in plain Python.

Every board, every number of portions, every cook of a part, every purchase and
every piece cut (`brute_food`) is tried. Nothing here is shared with the model:
only the facts (`cafe`) and the calendar (`week`) are read. Margin is a real
number of cents, except that the takings of a cook are whole cents.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import combinations, product

from optimiser.cafe import Dish
from optimiser.week import Week
from tests.brute_food import Batch, Food


def best_margin(week: Week) -> float | None:
    """Cents of the best week, or None if there is no week at all."""
    return BruteForce(week).best()


class BruteForce:
    """All weeks of one cafe."""

    def __init__(self, week: Week) -> None:
        self.week, self.cafe, self.days = week, week.cafe, week.open_dates
        self.food = Food(week)

    def best(self) -> float | None:
        """Try every board with every cook of parts."""
        found: float | None = None
        for menu in self._menus():
            sales = sum(self._sale_cents(batch) for batch in menu)
            for batches in self._with_parts(menu):
                rules = self._rule_cents(batches)
                supply = self.food.supply_cents(batches) if rules is not None else None
                if rules is None or supply is None:
                    continue
                margin = sales + supply - rules
                found = margin if found is None else max(found, margin)
        return None if found is None else found - self.food.expired_cents()

    # -- the board ----------------------------------------------------------

    def _starts(self, day: date) -> Iterator[Batch]:
        """Every cook first shown on `day`."""
        ahead = self.cafe.kitchen.cook_ahead_days
        for dish in self.cafe.dishes.values():
            if dish.course not in self.cafe.courses:
                continue
            for cooked in (d for d in self.days if d <= day <= d + timedelta(days=ahead)):
                for last in (d for d in self.days if d >= day):
                    if (last - cooked).days >= self.food.hold(dish):
                        continue
                    shown = tuple(d for d in self.days if day <= d <= last)
                    for sold in range(dish.min_portions, dish.max_portions + 1):
                        if sold > 0 and sold % dish.step_portions == 0:
                            yield Batch(dish.id, cooked, shown, sold)

    def _menus(self, at: int = 0, menu: tuple[Batch, ...] = ()) -> Iterator[tuple[Batch, ...]]:
        """All ways to fill the slots from day number `at` on."""
        if at == len(self.days):
            yield menu
            return
        day = self.days[at]
        running = [self.cafe.dishes[b.dish].course for b in menu if day in b.shown]
        choices = []
        for course, facts in self.cafe.courses.items():
            starts = [b for b in self._starts(day) if self.cafe.dishes[b.dish].course == course]
            missing = facts.slots - running.count(course)
            choices.append(list(combinations(starts, missing)) if missing >= 0 else [])
        for chosen in product(*choices):
            more = menu + tuple(batch for group in chosen for batch in group)
            today = [b.dish for b in more if day in b.shown]
            cooks = [(b.dish, b.day) for b in more]
            if len(set(today)) == len(today) and len(set(cooks)) == len(cooks):
                yield from self._menus(at + 1, more)

    def _with_parts(self, menu: tuple[Batch, ...]) -> Iterator[tuple[Batch, ...]]:
        """The menu with every choice of portions cooked for other dishes."""
        sold = {(batch.dish, batch.day): batch for batch in menu}
        others = tuple(b for b in menu if b.dish not in self.food.parts)
        cooks = []
        for name in self.food.parts:
            dish = self.cafe.dishes[name]
            for day in self.days:
                sale = sold.get((name, day)) or Batch(name, day, (), 0)
                options = [sale] if sale.sold else [None]
                for extra in range(dish.step_portions, dish.max_portions + 1, dish.step_portions):
                    if dish.min_portions <= sale.sold + extra <= dish.max_portions:
                        options.append(Batch(name, day, sale.shown, sale.sold, extra))
                cooks.append(options)
        for chosen in product(*cooks):
            yield others + tuple(batch for batch in chosen if batch)

    # -- selling ------------------------------------------------------------

    def _sale_cents(self, batch: Batch) -> float:
        """Takings, less unsold portions binned, and the appeal of what is shown."""
        dish, money = self.cafe.dishes[batch.dish], self.cafe.money
        sold = self._expected_sold(dish, batch)
        price = dish.price_cents
        if price is None:
            price = self.cafe.courses[dish.course].price_cents
        a_portion = self.food.portion_cost(dish) * money.waste_cost_pct / 100
        a_portion += dish.portion_g / 1000 * money.disposal_cents_per_kg
        appeal = money.appeal_cents * (dish.appeal - 1) * len(batch.shown)
        return math.floor(price * sold + 1e-6) - (batch.sold - sold) * a_portion + appeal

    def _expected_sold(self, dish: Dish, batch: Batch) -> float:
        """The mean over luck u in [0, 1] of what is sold if every day has luck u."""
        course = self.cafe.courses[dish.course]
        share = course.take_up / course.slots * dish.appeal
        tables = []
        for day in batch.shown:
            cover = self.cafe.covers.get(day) or self.cafe.covers[day.weekday()]
            steps, u = [], 0.0
            for guests, chance in sorted(cover.chances):
                steps.append((u, u + chance, guests, guests))
                u += chance
            tables.append(steps or [(0.0, 0.5, cover.low, cover.expected),
                                    (0.5, 1.0, cover.expected, cover.high)])  # fmt: skip
        edges = sorted({round(edge, 12) for steps in tables for s in steps for edge in s[:2]})
        mean = 0.0
        for a, b in zip(edges, edges[1:], strict=False):
            at_a = at_b = 0.0
            for steps in tables:
                u, v, low, high = next(s for s in steps if s[0] <= (a + b) / 2 < s[1])
                at_a += share * (low + (high - low) * (a - u) / (v - u))
                at_b += share * (low + (high - low) * (b - u) / (v - u))
            mean += (b - a) * _mean_of_smaller(at_a, at_b, batch.sold)
        return mean

    # -- rules --------------------------------------------------------------

    def _rule_cents(self, batches: tuple[Batch, ...]) -> float | None:
        """Cents of priced breaches; None if a hard rule breaks."""
        cents = 0.0
        for rule in self.week.rules:
            over = self._breach(rule, batches)
            if over > 1e-6 and rule.price_cents is None:
                return None
            cents += over * (rule.price_cents or 0.0)
        return cents

    def _breach(self, rule: object, batches: tuple[Batch, ...]) -> float:
        """Units by which a rule of generated cafes is broken."""
        kind = getattr(rule, "kind", "")
        times = {
            name: [day for b in batches if b.dish == name for day in b.shown]
            for name in self.cafe.dishes
        }
        if kind == "weekly_cap":
            return sum(max(0, len(days) - rule.days) for days in times.values())
        if kind == "pin":
            return float(rule.day in self.days and rule.day not in times[rule.dish])
        if kind == "bar":
            return float(rule.day in times[rule.dish])
        if kind == "station_minutes" and rule.station == "hands_on":
            return sum(self._minutes_over(day, rule.share_pct, batches) for day in self.days)
        raise NotImplementedError(f"no brute force for rule {kind!r}")

    def _minutes_over(self, day: date, share_pct: float, batches: tuple[Batch, ...]) -> float:
        minutes = 0.0
        for batch in batches:
            if batch.day == day:
                dish = self.cafe.dishes[batch.dish]
                minutes += dish.hands_on_min
                minutes += dish.hands_on_min_per_10 * (batch.sold + batch.extra) / 10
        return max(0.0, minutes - self.cafe.kitchen.hands_on_min[day.weekday()] * share_pct / 100)


def _mean_of_smaller(a: float, b: float, most: float) -> float:
    """Mean of min(x, most) while x goes evenly from a up to b."""
    if b <= most:
        return (a + b) / 2
    if a >= most:
        return most
    rising = (most - a) / (b - a)
    return rising * (a + most) / 2 + (1 - rising) * most
