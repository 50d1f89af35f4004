"""Cook runs: every way a dish can be cooked and shown once this week.

A run fixes the dish, the day it is cooked, the consecutive open days it is
shown and the portions. All that follows (grams, minutes, takings, waste) is a
constant worked out here, so that rules are short sums of yes/no choices.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta

from optimiser import demand
from optimiser.cafe import Cafe, Dish
from optimiser.costs import Costs
from optimiser.plan import Cook
from optimiser.week import Week, hold_days


@dataclass(frozen=True, eq=False)
class Run:
    """One way to cook and show a dish. `portions` are those sold in total.

    `uses_g` is grams per item for the whole cook: as purchased for ingredients,
    finished for cooked parts. `food_cents` is the recipe cost of all portions;
    `waste_cents` what binning the portions expected to stay unsold costs.
    """

    index: int
    dish: str
    course: str
    cook_day: date
    shown: tuple[date, ...]
    portions: int
    takings_cents: int
    waste_cents: float
    food_cents: float
    appeal_cents: float
    hands_on_min: float
    oven_min: float
    hob_min: float
    processor_min: float
    uses_g: dict[str, float] = field(repr=False)

    @property
    def name(self) -> str:
        """A name for the solver: dish, cook day, days shown, portions."""
        first, last = self.shown[0], self.shown[-1]
        days = f"{self.cook_day:%m%d}_{first:%m%d}_{last:%m%d}"
        return f"run__{self.dish}__{days}__{self.portions}"


def uses_per_portion(dish: Dish, cafe: Cafe) -> dict[str, float]:
    """Grams of each item in one portion (purchased; cooked parts finished)."""
    grams: dict[str, float] = {}
    for line in dish.lines:
        amount = line.edible_g if line.item in cafe.dishes else line.purchased_g
        grams[line.item] = grams.get(line.item, 0.0) + amount / dish.portions
    return grams


def flexible_per_portion(dish: Dish, cafe: Cafe) -> dict[str, float]:
    """Of these grams, those in lines that may be stretched."""
    flexible = dish.model_copy(update={"lines": tuple(one for one in dish.lines if one.flexible)})
    return uses_per_portion(flexible, cafe)


Sizes = dict[tuple[str, date, tuple[date, ...]], set[int]]
"""Portions by dish, cook day and days shown."""


def sizes_of(sold: Iterable[tuple[Cook, int]]) -> Sizes:
    """The portions for sale of cooks, to be asked of `cook_runs`."""
    sizes: Sizes = {}
    for cook, portions in sold:
        sizes.setdefault((cook.dish, cook.date, cook.shown), set()).add(portions)
    return sizes


def cook_runs(week: Week, also: Sizes | None = None) -> tuple[Run, ...]:
    """All runs of all sold dishes, in table order; `also` of these portions, whatever the
    par is, so that a plan made under other prices or covers can be looked at again."""
    costs = Costs(week.cafe, week.planned_on)
    asked = also or {}
    runs: list[Run] = []
    for dish in week.cafe.dishes.values():
        course = week.cafe.courses.get(dish.course)
        if course is None or course.slots == 0:
            continue
        for cook_day, shown in showings(week, dish):
            usual = portion_choices(week.cafe, dish, shown, costs)
            extra = asked.get((dish.id, cook_day, shown), set())
            for portions in sorted({*usual, *extra}):
                runs.append(_run(len(runs), week, dish, cook_day, shown, portions, costs))
    return tuple(runs)


def showings(week: Week, dish: Dish) -> Iterator[tuple[date, tuple[date, ...]]]:
    """Cook day and consecutive open days shown, within the dish's life."""
    days = week.open_dates
    ahead = timedelta(days=week.cafe.kitchen.cook_ahead_days)
    life = hold_days(week.cafe, dish.id)
    for cook_at, cook_day in enumerate(days):
        last_day = cook_day + timedelta(days=life - 1)
        for first in range(cook_at, len(days)):
            if days[first] > min(cook_day + ahead, last_day):
                break
            for last in range(first, len(days)):
                if days[last] > last_day:
                    break
                yield cook_day, days[first : last + 1]


def critical_ratio(cafe: Cafe, dish: Dish, costs: Costs) -> float:
    """Newsvendor ratio: what running out loses over that plus what binning loses."""
    cost = costs.portion_cents(dish.id)
    lost_sale = cafe.price_cents(dish) - cost
    binned = cost + unsold_cents(cafe, dish, costs)
    if lost_sale <= 0:
        return 0.0
    return lost_sale / (lost_sale + binned) if binned > 0 else 1.0


def unsold_cents(cafe: Cafe, dish: Dish, costs: Costs) -> float:
    """The charge for binning one portion, beyond having bought it."""
    money = cafe.money
    disposal = money.disposal_cents_per_kg * dish.portion_g / 1000
    return costs.portion_cents(dish.id) * money.waste_cost_pct / 100 + disposal


def portion_choices(cafe: Cafe, dish: Dish, shown: tuple[date, ...], costs: Costs) -> list[int]:
    """The par and the steps around it: the newsvendor quantile, down and up."""
    best = demand.quantile(demand.of_dish(cafe, dish, shown), critical_ratio(cafe, dish, costs))
    step = dish.step_portions
    lowest = math.ceil(dish.min_portions / step)
    highest = dish.max_portions // step
    extra = cafe.money.extra_portion_steps
    below = math.floor(best / step + 1e-9) - extra
    above = math.ceil(best / step - 1e-9) + extra
    if highest < max(lowest, 1):
        return []
    clipped = {min(max(n, lowest, 1), highest) for n in range(below, above + 1)}
    return [n * step for n in sorted(clipped)]


def _run(
    index: int,
    week: Week,
    dish: Dish,
    cook_day: date,
    shown: tuple[date, ...],
    portions: int,
    costs: Costs,
) -> Run:
    cafe = week.cafe
    sold = demand.expected_sold(demand.of_dish(cafe, dish, shown), portions)
    per_portion = uses_per_portion(dish, cafe)
    return Run(
        index=index,
        dish=dish.id,
        course=dish.course,
        cook_day=cook_day,
        shown=shown,
        portions=portions,
        takings_cents=math.floor(cafe.price_cents(dish) * sold + 1e-6),
        waste_cents=(portions - sold) * unsold_cents(cafe, dish, costs),
        food_cents=portions * costs.portion_cents(dish.id),
        appeal_cents=cafe.money.appeal_cents * (dish.appeal - 1) * len(shown),
        hands_on_min=dish.hands_on_min + dish.hands_on_min_per_10 * portions / 10,
        oven_min=dish.oven_min,
        hob_min=dish.hob_min,
        processor_min=dish.processor_min,
        uses_g={item: grams * portions for item, grams in per_portion.items()},
    )
