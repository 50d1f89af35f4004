"""The weeks near a plan: its own menu under other facts, and menus that differ by a few cooks.

Held while the menu changes: the days on which vans come, and cooked parts that no changed dish
uses. Exact within that:
    keep()         the plan's menu, packs and pieces bought and cut afresh
    one_change()   every menu in which one cook comes in for those it displaces
    few_changes()  menus that differ by up to k cooks, among the dishes that look likely
Every answer that is handed out as a plan has passed the verifier.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Iterable, Iterator
from copy import copy
from dataclasses import replace
from datetime import date
from functools import cached_property

from optimiser.blame import broken_rules, everywhere, short_of
from optimiser.block import Memory
from optimiser.blocks import Blocks
from optimiser.bounds import Bounds
from optimiser.exchanges import Exchange, exchanges
from optimiser.few_changes import solve_few
from optimiser.finish import finished
from optimiser.model import Model
from optimiser.near import Ask, Change, Near, Watched
from optimiser.plan import Plan
from optimiser.progress import Report
from optimiser.ranked import Ranked
from optimiser.report_base import cook_portions_sold, day_text
from optimiser.runs import Run, sizes_of
from optimiser.solver import Values
from optimiser.verify import verify
from optimiser.week import Week


class Nearby:
    """A plan's menu in a week, which may be another than it was planned for."""

    def __init__(self, week: Week, plan: Plan, memory: Memory | None = None) -> None:
        self.week, self.plan = week, plan
        sold = [(cook, cook_portions_sold(plan, cook.dish, cook.date)) for cook in plan.cooks]
        sold = [(cook, portions) for cook, portions in sold if portions]
        self.model = Model(week, sizes_of(sold))
        self.lp = self.model.lp
        by_key = {(r.dish, r.cook_day, r.shown, r.portions): r for r in self.model.runs}
        wanted = [(cook.dish, cook.date, cook.shown, portions) for cook, portions in sold]
        self.menu: tuple[Run, ...] = tuple(by_key[key] for key in wanted if key in by_key)
        self.lost = tuple(
            cook for (cook, _), key in zip(sold, wanted, strict=True) if key not in by_key
        )
        self.memory = memory or Memory()
        self._every: Ranked | None = None
        self._plans: dict[tuple[tuple[Run, ...], tuple[Run, ...]], tuple[Values, Plan]] = {}
        self.blocks = Blocks(self.lp, self._settled(), self.memory)
        self._parts = {
            dish: frozenset(
                column
                for columns in (self.model.extra, self.model.steps)
                for (part, _), column in columns.items()
                if part == dish
            )
            for dish in self.model.components
        }

    def _settled(self) -> dict[int, float]:
        """Cooks, cooked parts and vans of the plan as columns."""
        model = self.model
        settled = dict.fromkeys(model.run_column.values(), 0.0)
        settled |= {model.run_column[run.index]: 1.0 for run in self.menu}
        settled |= dict.fromkeys([*model.extra.values(), *model.steps.values()], 0.0)
        for cook in self.plan.cooks:
            sold = cook_portions_sold(self.plan, cook.dish, cook.date)
            key = (cook.dish, cook.date)
            if cook.portions > sold and key in model.steps:
                step = model.cafe.dishes[cook.dish].step_portions
                settled[model.steps[key]] = float((cook.portions - sold) // step)
                settled[model.extra[key]] = 0.0 if sold else 1.0
        return settled | self.vans_of(self.plan)

    def vans_of(self, plan: Plan) -> dict[int, float]:
        """Columns of vans: whether each brings something in a plan."""
        vans = {(buy.supplier, buy.deliver_on) for buy in plan.buys}
        return {j: float(van in vans) for van, j in self.model.purchases.orders.items()}

    # -- the menu as it is ------------------------------------------------

    @cached_property
    def kept(self) -> Near | None:
        """The plan's menu, packs and pieces chosen afresh; None if it cannot be kept so."""
        if self.lost or not self.blocks.kept:
            return None
        best = self.blocks.best({})
        if best is None:
            return None
        margin = self.lp.value(best[1])
        return Near((), (), margin, margin, best[1])

    def why_not_kept(self) -> str:
        """Why the plan's menu cannot be kept; blank if it can."""
        cafe = self.week.cafe
        if self.lost:
            dish, day = self.lost[0].dish, day_text(self.lost[0].date)
            if dish not in cafe.dishes:
                return f"there is no dish {dish!r} any more"
            return f"{cafe.name_of(dish)} cannot be cooked on {day}"
        asked = everywhere(self.blocks)
        if rules := broken_rules(self.blocks, asked):
            return f"it breaks: {', '.join(sorted({self.week.rules[n].title for n in rules}))}"
        if missing := sorted(cafe.name_of(item) for item in short_of(self.blocks, asked)):
            return f"there is not enough of {', '.join(missing)} with these deliveries"
        return "" if self.kept else "what must be bought together does not fit"

    def with_gains(self, gain: list[float], constant: float) -> Nearby:
        """The same menu and rows where columns earn something else: another price."""
        other = copy(self)
        other.lp = replace(self.lp, gain=gain, constant=constant)
        other.blocks = self.blocks.with_gains(other.lp)
        other._every, other._plans = None, {}
        for known in ("kept", "_bounds"):
            other.__dict__.pop(known, None)
        return other

    # -- one change -------------------------------------------------------

    def exchanges(self, ruled_out: bool = False) -> list[Exchange]:
        """All of them, likely ones first; `ruled_out`: also those with cooks that a rule on
        its own forbids."""
        runs = [run for run in self.model.runs if ruled_out or self._may_be(run)]
        found = list(exchanges(runs, self.menu))
        return sorted(found, key=lambda one: (-one.guess_cents, one.enters.index))

    def _may_be(self, run: Run) -> bool:
        return self.lp.high[self.model.run_column[run.index]] != 0

    def one_change(
        self,
        wanted: Callable[[Exchange], bool] = lambda exchange: True,
        report: Report | None = None,
        stop: threading.Event | None = None,
    ) -> tuple[list[Change], Near | None]:
        """All exchanges that are wanted and possible, best first, ties left out; and the best
        of them with all ties kept. Empty and None if the menu cannot be kept.

        If stopped, the bound of the best is infinite.
        """
        if self.kept is None:
            return [], None
        ranked = self._ranked(one for one in self.exchanges() if wanted(one))
        found = list(ranked.best_first(Watched(report, self.kept.margin_cents), stop))
        return found, self._best_of(found, lambda: ranked.ended)

    def all_changes(
        self, report: Report | None = None, stop: threading.Event | None = None
    ) -> tuple[list[Change], Near | None]:
        """Every exchange that is possible, as `one_change`; worked out once."""
        found = list(self.changes(report, stop))
        return found, self._best_of(found, self._all_known)

    def changes(
        self, report: Report | None = None, stop: threading.Event | None = None
    ) -> Iterator[Change]:
        """The same without the best, worked out as far as somebody asks, and remembered."""
        if self.kept is None:
            return iter(())
        if self._every is None:
            self._every = self._ranked(self.exchanges())
        return self._every.best_first(Watched(report, self.kept.margin_cents), stop)

    def best_change(
        self, report: Report | None = None, stop: threading.Event | None = None
    ) -> Near | None:
        """The best exchange with all ties kept; None if there is none.

        If stopped, its bound is infinite.
        """
        return self._best_of(self.changes(report, stop), self._all_known)

    def _all_known(self) -> bool:
        return self._every is not None and self._every.ended

    def _ranked(self, asked: Iterable[Exchange]) -> Ranked:
        def moves(exchange: Exchange) -> tuple[dict[int, float], frozenset[int]]:
            return self.changes_of(exchange), self.loose_of(exchange)

        return Ranked(self._bounds, asked, moves)

    @cached_property
    def _bounds(self) -> Bounds:
        return Bounds(self.blocks)

    def runs_of(self, dish: str, day: date | None = None) -> tuple[Run, ...]:
        """Runs of a dish that may take place, on show that day if one is given."""
        return tuple(
            run
            for run in self.model.runs
            if run.dish == dish and (day is None or day in run.shown) and self._may_be(run)
        )

    def _best_of(self, found: Iterable[Change], complete: Callable[[], bool]) -> Near | None:
        """The best with ties kept: `gain_cents` is never less than what is left with them.

        `found`: best first. `complete`: whether it told them all, asked once it has ended: of
        those that a stop kept from it nothing is proven.
        """
        best: Near | None = None
        for change in found:
            limit = self.blocks.margin + change.gain_cents
            if best is not None and limit <= best.margin_cents + 0.01:
                return best  # nor is any after it better
            near = self.weigh(change.exchange)
            if near is not None and (best is None or near.margin_cents > best.margin_cents):
                best = near
        if best is not None and not complete():
            best = replace(best, bound_cents=math.inf)
        return best

    def gain(self, exchange: Exchange) -> float | None:
        """Cents that an exchange brings, ties left out; None if rules or larder forbid it."""
        return self.gain_of((exchange.enters,), exchange.leaves)

    def gain_of(self, enters: tuple[Run, ...], leaves: tuple[Run, ...]) -> float | None:
        """The same for several cooks that come in and leave."""
        return self.blocks.gain(self._changes(enters, leaves), self._loose([*enters, *leaves]))

    def weigh(self, exchange: Exchange) -> Near | None:
        """The week after an exchange with all ties kept; None if it cannot be."""
        return self.weigh_all((exchange.enters,), exchange.leaves)

    def weigh_all(self, enters: tuple[Run, ...], leaves: tuple[Run, ...]) -> Near | None:
        """The same for several cooks that come in and leave."""
        loose = self._loose([*enters, *leaves])
        solved = self.blocks.best(self._changes(enters, leaves), loose)
        if solved is None:
            return None
        margin = self.lp.value(solved[1])
        return Near(enters, leaves, margin, margin, solved[1])

    def changes_of(self, exchange: Exchange) -> dict[int, float]:
        """By how much an exchange moves settled columns."""
        return self._changes((exchange.enters,), exchange.leaves)

    def _changes(self, enters: Iterable[Run], leaves: Iterable[Run]) -> dict[int, float]:
        column = self.model.run_column
        changes = {column[run.index]: -1.0 for run in leaves}
        return changes | {column[run.index]: 1.0 for run in enters}

    def loose_of(self, exchange: Exchange) -> frozenset[int]:
        """Columns of the cooked parts that the changed dishes use or are."""
        return self._loose([exchange.enters, *exchange.leaves])

    def _loose(self, runs: Iterable[Run]) -> frozenset[int]:
        ahead = {run.dish for run in runs}
        parts: set[str] = set()
        while ahead:
            dish = ahead.pop()
            if dish in self._parts:
                parts.add(dish)
            ahead |= {
                line.item
                for line in self.model.cafe.dishes[dish].lines
                if line.item in self._parts and line.item not in parts
            }
        return frozenset(column for part in parts for column in self._parts[part])

    # -- several changes --------------------------------------------------

    def few_changes(
        self,
        ask: Ask,
        seconds: float = math.inf,
        start: Near | None = None,
        report: Report | None = None,
        stop: threading.Event | None = None,
    ) -> Near | None:
        """The best menu that leaves out at most `ask.changes` of the plan's cooks, bringing in
        none but `ask.among` and what is there; None if there is none or none was found."""
        return solve_few(self, ask, seconds, start, report, stop)

    # -- plans ------------------------------------------------------------

    def plan_of(self, near: Near) -> Plan:
        """A verified plan of the week. Raises ValueError with the verifier's first reason."""
        key = near.enters, near.leaves
        if key not in self._plans or self._plans[key][0] != near.values:
            plan = finished(self.model, near.values)
            verdict = verify(plan, self.week)
            if not verdict.passed:
                raise ValueError(f"the verifier turned it down: {verdict.breaches[0].text}")
            self._plans[key] = near.values, plan.model_copy(update={"verified": True})
        return self._plans[key][1]
