"""What if prices, stock, deliveries, guests or minutes change: keep the menu, or change it?

    compare(week, plan, [parse_price("butternut=+30%")])
keeps the plan's menu under the new facts, then looks for better menus near it, and says what the
same few changes would have brought before: only the difference is the doing of the change.
"""

from __future__ import annotations

import threading
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from optimiser.cafe import Lot
from optimiser.change_base import Change, apply_all
from optimiser.ladder import better_menus
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.planner import plan_week
from optimiser.progress import Progress, Report
from optimiser.search import Effort
from optimiser.side_by_side import WORKERS, side_by_side
from optimiser.steps import Step, step_of
from optimiser.week import Week

REPAIR_CHANGES = (1, 2, 4, 8, None)
"""Cooks that may change, one after the other, when a menu cannot be kept; None: all."""


@dataclass(frozen=True)
class BuyChange:
    """Packs of one offer and delivery, before and after."""

    deliver_on: date
    supplier: str
    ingredient: str
    pack: str
    packs_before: int
    packs_after: int
    more_cents: int


@dataclass(frozen=True)
class Comparison:
    """A plan before and after changes.

    `told`: the changes as sentences. `before`: the plan's menu under the old facts. `steps`: its
    menu under the new facts (`steps[0]`), then the best with 1, 2, ... cooks changed; empty if it
    cannot be kept: then `mended` is a week that changes few cooks, if one was found, and
    `reason` says why. `steps_before`: the same under the old facts. `lots`: of stock that is there
    only after the changes, or was counted otherwise.
    """

    told: tuple[str, ...]
    before: Plan
    steps_before: tuple[Step, ...]
    steps: tuple[Step, ...]
    mended: Plan | None = None
    mended_changes: int | None = None
    reason: str = ""
    lots: tuple[Lot, ...] = ()

    @property
    def kept(self) -> Plan | None:
        """The same menu under the new facts."""
        return self.steps[0].plan if self.steps else None

    @property
    def best(self) -> Plan | None:
        """The best menu found under the new facts."""
        return self.steps[-1].plan if self.steps else self.mended

    @property
    def keeping_costs_cents(self) -> int | None:
        """What the change costs if the menu stays (negative: it brings that much)."""
        return (
            None if self.kept is None else self.before.objective_cents - self.kept.objective_cents
        )

    @property
    def changing_saves_cents(self) -> float | None:
        """What changing cooks brings back, under the new facts."""
        return self.steps[-1].gain_cents if self.steps else None


def compare(
    week: Week,
    plan: Plan,
    changes: Sequence[Change],
    cooks: int = 2,
    seconds: float = 30.0,
    report: Report | None = None,
    stop: threading.Event | None = None,
    near: Nearby | None = None,
) -> Comparison:
    """What changes mean for a plan of `week`. Raises ValueError if a change does not fit, or if
    the plan's menu cannot be cooked even before them.

    `seconds` is for each step of several changed cooks, before and after. `near`: of the same
    week and plan, to save building it again.
    """
    told = []
    changed = week
    for change in changes:
        then = change.apply(changed)
        told.append(change.describe(changed.cafe, changed.planned_on))
        changed = then
    old = near or Nearby(week, plan)
    if old.kept is None:
        raise ValueError("this plan cannot be cooked as the tables are now; plan the week again")
    new = Nearby(changed, plan, old.memory)
    told_before = _Later(report)

    def steps(near: Nearby, tell: Report | None) -> list[Step]:
        menus = better_menus(near, cooks, seconds, tell, stop)
        return [step_of(near, found, k) for k, found in enumerate(menus)]

    def ask_after() -> None:
        after.extend(steps(new, report))
        told_before.begin()

    before: list[Step] = []
    after: list[Step] = []
    if cooks > 1:  # many short solves are no quicker at once: only long ones are
        new.best_change(report, stop)
        old.best_change(report, stop)
    jobs = [ask_after, lambda: before.extend(steps(old, told_before.tell))]
    side_by_side(jobs, enough=lambda: False, workers=WORKERS if cooks > 1 else 1)
    lots = tuple(lot for lot in changed.cafe.stock if lot not in week.cafe.stock)
    if after:
        kept = before[0].plan
        return Comparison(tuple(told), kept, tuple(before), tuple(after), lots=lots)
    mended, count = _mended(changed, plan, seconds, report, stop)
    return Comparison(
        tuple(told), before[0].plan, tuple(before), (), mended, count, new.why_not_kept(), lots
    )


class _Later:
    """News of the week before the change, told once there is none of the week after it."""

    def __init__(self, report: Report | None) -> None:
        self._report = report
        self._begun = threading.Event()

    def begin(self) -> None:
        self._begun.set()

    def tell(self, progress: Progress) -> None:
        if self._report is not None and self._begun.is_set():
            self._report(replace(progress, doing=f"before the change: {progress.doing}"))


def _mended(
    week: Week, plan: Plan, seconds: float, report: Report | None, stop: threading.Event | None
) -> tuple[Plan | None, int | None]:
    """A week that changes few cooks, and how many it was allowed to change."""
    for count in REPAIR_CHANGES:
        if stop is not None and stop.is_set():
            break
        outcome = plan_week(week, Effort(seconds), report, stop, plan, count)
        if outcome.plan is not None:
            return outcome.plan, count
    return None, None


def buy_changes(before: Plan, after: Plan) -> list[BuyChange]:
    """Purchases that differ, by delivery."""
    packs: dict[tuple[date, str, str, str], list[int]] = defaultdict(lambda: [0, 0])
    cents: dict[tuple[date, str, str, str], int] = defaultdict(int)
    for which, plan in enumerate((before, after)):
        for buy in plan.buys:
            pack = f"{buy.pack_qty:g} {buy.pack_unit}"
            key = (buy.deliver_on, buy.supplier, buy.ingredient, pack)
            packs[key][which] += buy.packs
            cents[key] += buy.cost_cents if which else -buy.cost_cents
    return [
        BuyChange(*key, packs_before=old, packs_after=new, more_cents=cents[key])
        for key, (old, new) in sorted(packs.items())
        if old != new
    ]


__all__ = ["BuyChange", "Comparison", "apply_all", "buy_changes", "compare"]
