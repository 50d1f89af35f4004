"""What more of a thing is worth this week: where a surplus goes, and what the next kilo brings."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from datetime import date

from optimiser.cafe import Form
from optimiser.change_stock import ExtraLot
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.progress import Report
from optimiser.week import Week


@dataclass(frozen=True)
class SurplusWorth:
    """What 0, 1, 2, ... units of `grams_each` more are worth in all, in cents.

    `kept_cents`: the plan's menu stays. `changed_cents`: one cook may change; both against the
    plan's menu without the surplus, so that `changed_cents[0]` is what one change brings anyway.
    Shorter than asked if stopped.
    """

    item: str
    name: str
    grams_each: float
    kept_cents: tuple[float, ...]
    changed_cents: tuple[float, ...]

    def next_unit(self, changed: bool) -> list[float]:
        """What each further unit brings, in cents."""
        totals = self.changed_cents if changed else self.kept_cents
        return [b - a for a, b in zip(totals, totals[1:], strict=False)]


def surplus_worth(
    week: Week,
    plan: Plan,
    item: str,
    grams_each: float,
    units: int,
    use_by: date | None,
    report: Report | None = None,
    stop: threading.Event | None = None,
    near: Nearby | None = None,
) -> SurplusWorth:
    """The worth of up to `units` units of an item more, good until `use_by`.

    Raises ValueError if the lot does not fit the tables or the plan's menu cannot be kept.
    """
    near = near or Nearby(week, plan)
    if near.kept is None:
        raise ValueError(f"this plan cannot be kept as the tables are now: {near.why_not_kept()}")
    base = near.kept.margin_cents
    kept, changed = [], []
    for count in range(units + 1):
        if stop is not None and stop.is_set():
            break
        here = near
        if count:
            lot = extra_lot(week, item, grams_each * count, use_by)
            here = Nearby(lot.apply(week), plan, near.memory)
        if here.kept is None:
            break
        best = here.best_change(report, stop)
        if stop is not None and stop.is_set():
            break
        kept.append(here.kept.margin_cents - base)
        most = here.kept.margin_cents if best is None else best.margin_cents
        changed.append(max(most, here.kept.margin_cents) - base)
    return SurplusWorth(item, week.cafe.name_of(item), grams_each, tuple(kept), tuple(changed))


def extra_lot(week: Week, item: str, grams: float, use_by: date | None) -> ExtraLot:
    """A lot more: pieces of whole things, portions of cooked parts, else grams."""
    ingredient = week.cafe.ingredients.get(item)
    if ingredient is None:
        portion_g = week.cafe.dishes[item].portion_g if item in week.cafe.dishes else 1.0
        return ExtraLot(item=item, qty=grams / portion_g, unit="portion", use_by=use_by)
    if ingredient.form is Form.WHOLE and ingredient.piece_g:
        return ExtraLot(item=item, qty=grams / ingredient.piece_g, unit="each", use_by=use_by)
    return ExtraLot(item=item, qty=grams, unit="g", use_by=use_by)
