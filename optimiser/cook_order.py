"""In what order a day's dishes are cooked when some go into others."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from optimiser.plan import Cook, Use


def parts_first(
    day: date, cooks: Iterable[Cook], uses: Iterable[Use]
) -> tuple[list[Cook], list[list[str]]]:
    """The cooks of `day`, each after those whose food it takes that day.

    Also the circles met on the way: dishes of which each needs the next one, the
    last the first. A circle is cut at its first dish, so that the rest has an order.
    """
    waiting = {cook.dish: cook for cook in cooks if cook.date == day}
    makers = {f"cooked-{day}-{dish}": dish for dish in waiting}
    needs: dict[str, set[str]] = {dish: set() for dish in waiting}
    for use in uses:
        if use.date == day and use.dish in needs and use.lot in makers:
            needs[use.dish].add(makers[use.lot])
    order: list[Cook] = []
    circles: list[list[str]] = []
    while waiting:
        ready = [dish for dish in waiting if not needs[dish] & waiting.keys()]
        if not ready:
            circle = _circle(next(iter(waiting)), needs, set(waiting))
            circles.append(circle)
            ready = circle[:1]
        order += [waiting.pop(dish) for dish in ready]
    return order, circles


def _circle(start: str, needs: dict[str, set[str]], waiting: set[str]) -> list[str]:
    """Walk from need to need; the walk has to meet itself, as nobody is ready."""
    walked: list[str] = []
    dish = start
    while dish not in walked:
        walked.append(dish)
        dish = min(needs[dish] & waiting)
    return walked[walked.index(dish) :]
