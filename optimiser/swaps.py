"""What could stand in a dish's place, and what each swap would cost."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from optimiser.exchanges import Exchange
from optimiser.in_the_way import obstacles
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.progress import Report
from optimiser.week import Week


@dataclass(frozen=True)
class SwapCost:
    """Another dish in the place of one cook.

    `gain_cents` against the plan's menu (negative: a cost), `exact` if it is proven; None where
    it cannot be: then `blocked_by` names the rules in its way, or what there is not enough of.
    """

    dish: str
    name: str
    portions: int
    gain_cents: float | None
    exact: bool
    blocked_by: tuple[str, ...] = ()


def swap_costs(
    week: Week,
    plan: Plan,
    dish: str,
    cooked_on: date,
    report: Report | None = None,
    stop: threading.Event | None = None,
    near: Nearby | None = None,
) -> list[SwapCost]:
    """Every dish that could take the place of a cook, the best first, the impossible last.

    Deliveries stay on their days. Raises ValueError if the plan has no such cook or cannot be
    cooked as the tables are now. `near`: of the same plan, to save building it again.
    """
    near = near or Nearby(week, plan)
    if near.kept is None:
        raise ValueError(f"this plan cannot be kept as the tables are now: {near.why_not_kept()}")
    place = [run for run in near.menu if (run.dish, run.cook_day) == (dish, cooked_on)]
    if not place:
        raise ValueError(f"{week.cafe.name_of(dish)} is not cooked for sale that day")
    swaps = [
        one for one in near.exchanges() if one.leaves == (place[0],) and one.enters.dish != dish
    ]
    by_dish: dict[str, list[Exchange]] = {}
    for exchange in swaps:
        by_dish.setdefault(exchange.enters.dish, []).append(exchange)
    costs = []
    for other, choices in by_dish.items():
        if stop is not None and stop.is_set():
            break
        costs.append(_cost(near, other, choices))
    return sorted(costs, key=_order)


def _order(swap: SwapCost) -> tuple[bool, float, str]:
    return (swap.gain_cents is None, -(swap.gain_cents or 0.0), swap.name)


def _cost(near: Nearby, dish: str, choices: Sequence[Exchange]) -> SwapCost:
    """The best of the ways in which one dish could come in."""
    assert near.kept is not None
    name = near.week.cafe.name_of(dish)
    gains = [(gain, one) for one in choices if (gain := near.gain(one)) is not None]
    gains.sort(key=lambda pair: (-pair[0], pair[1].enters.index))
    best: tuple[float, Exchange] | None = None
    for limit, exchange in gains:  # with ties kept it may be less than the limit
        if best is not None and near.blocks.margin + limit <= near.kept.margin_cents + best[0]:
            break
        found = near.weigh(exchange)
        gain = None if found is None else found.margin_cents - near.kept.margin_cents
        if gain is not None and (best is None or gain > best[0]):
            best = (gain, exchange)
    if best is None:
        return SwapCost(dish, name, 0, None, False, tuple(obstacles(near, choices)))
    return SwapCost(dish, name, best[1].enters.portions, best[0], True)
