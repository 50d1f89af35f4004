"""`Rows` without a solver: records the rows of a rule and evaluates them on a given plan.

Every variable but the helpers has the value the plan gives it, so a row without
helpers is plain arithmetic. Helpers take the values that break least: scipy finds
them, subject to the rows that define them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from optimiser.cafe import Cafe, Form, State
from optimiser.plan import Cook, Plan
from optimiser.rules import Rule
from optimiser.week import Week, is_dry

Terms = list[tuple[Any, float]]


@dataclass(frozen=True, eq=False)
class FakeRun:
    """A run as rules see it; `chosen` says whether the plan cooks it."""

    dish: str
    course: str
    cook_day: date
    shown: tuple[date, ...]
    portions: int
    takings_cents: int
    hands_on_min: float
    oven_min: float
    hob_min: float
    processor_min: float
    chosen: bool


@dataclass(frozen=True)
class FakeRow:
    """terms <= bound (sign 1) or terms >= bound (sign -1)."""

    key: str
    terms: Terms
    sign: int
    bound: float


@dataclass(frozen=True)
class Helper:
    """A helper variable, numbered in the order of making."""

    number: int
    low: float
    high: float
    whole: bool = False


def fake_run(cafe: Cafe, cook: Cook, sold: int, takings_cents: int, chosen: bool = True) -> FakeRun:
    """The run of a cook of which `sold` portions are meant for the cabinet."""
    dish = cafe.dishes[cook.dish]
    return FakeRun(
        dish=dish.id,
        course=dish.course,
        cook_day=cook.date,
        shown=cook.shown,
        portions=sold,
        takings_cents=takings_cents,
        hands_on_min=dish.hands_on_min + dish.hands_on_min_per_10 * sold / 10,
        oven_min=dish.oven_min,
        hob_min=dish.hob_min,
        processor_min=dish.processor_min,
        chosen=chosen,
    )


@dataclass
class FakeRows:
    """The rows of rules for one week, with the values that `plan` gives to all variables."""

    week: Week
    plan: Plan
    runs: tuple[FakeRun, ...] = ()
    rows: list[FakeRow] = field(default_factory=list)
    definitions: list[FakeRow] = field(default_factory=list)
    helpers: list[Helper] = field(default_factory=list)

    def run_terms(self, runs: Iterable[tuple[FakeRun, float]]) -> Terms:
        return [(run, coefficient) for run, coefficient in runs]

    def shown(self, dish: str, day: date) -> Terms:
        return self.run_terms((r, 1.0) for r in self.runs if r.dish == dish and day in r.shown)

    def batches(self, dish: str, day: date, per_cook: float, per_portion: float) -> Terms:
        """A component's cooks: portions beyond those sold, and whether none are sold."""
        used = {line.item for one in self.week.cafe.dishes.values() for line in one.lines}
        if dish not in used:
            return []
        cooks = [c for c in self.plan.cooks if c.dish == dish and c.date == day]
        extra = sum(c.portions for c in cooks)
        extra -= sum(
            r.portions for r in self.runs if (r.dish, r.cook_day, r.chosen) == (dish, day, True)
        )
        alone = float(bool(cooks) and not any(c.shown for c in cooks))
        return [(alone, per_cook), (float(extra), per_portion)]

    def continuous(self, name: str, low: float, high: float | None) -> Helper:
        return self._helper(low, math.inf if high is None else high, False)

    def yes_no(self, name: str) -> Helper:
        return self._helper(0.0, 1.0, True)

    def _helper(self, low: float, high: float, whole: bool) -> Helper:
        self.helpers.append(Helper(len(self.helpers), low, high, whole))
        return self.helpers[-1]

    def cooks_of(self, dish: str, day: date) -> Terms:
        runs = self.run_terms((r, 1.0) for r in self.runs if (r.dish, r.cook_day) == (dish, day))
        return runs + self.batches(dish, day, 1.0, 0.0)[:1]

    def left_g(self, item: str) -> tuple[Terms, float]:
        opened = {lot.id for lot in self.week.cafe.stock if lot.state is State.OPENED}
        whole = self.week.cafe.ingredients[item].form is Form.WHOLE
        rows = [row for row in self.plan.left if row.item == item]
        if whole:
            rows = [r for r in rows if r.lot not in opened and not r.lot.startswith("opened-")]
        return [], sum(row.grams for row in rows)

    def unfinished_g(self, item: str, day: date) -> tuple[Terms, float]:
        piece_g = self.week.cafe.ingredients[item].piece_g or 0.0
        lots = {
            lot.id: lot.grams
            for lot in self.week.usable_stock
            if lot.item == item and lot.state is State.OPENED
        }
        cuts = [cut for cut in self.plan.opens if cut.ingredient == item and cut.date <= day]
        grams = sum(lots.values()) + sum(cut.units * piece_g for cut in cuts)
        for use in self.plan.uses:
            if use.item == item and use.date <= day:
                grams -= use.grams * (use.lot in lots or use.lot.startswith("opened-"))
        return [], grams

    def stretched(self, dish: str, item: str, day: date) -> tuple[Terms, Terms]:
        more_g = sum(
            row.more_g
            for row in self.plan.stretched
            if (row.dish, row.item, row.date) == (dish, item, day)
        )
        return [(max(more_g, 0.0), 1.0)], [(max(-more_g, 0.0), 1.0)]

    def on_hand_g(self, item: str, day: date) -> tuple[Terms, float]:
        cafe = self.week.cafe
        grams = sum(lot.grams for lot in self.week.usable_stock if lot.item == item)
        for buy in self.plan.buys:
            if buy.ingredient == item and buy.deliver_on <= day:
                (offer,) = cafe.offers_of[item]
                whole = cafe.ingredients[item].form is Form.WHOLE
                piece_g = cafe.ingredients[item].piece_g or 0.0
                grams += buy.packs * (offer.pieces * piece_g if whole else offer.pack_g)
        if item in cafe.dishes:
            for cook in self.plan.cooks:
                if cook.dish == item and cook.date <= day:
                    sold = sum(
                        row.portions
                        for row in self.plan.shown
                        if (row.dish, row.cooked_on) == (item, cook.date)
                    )
                    grams += (cook.portions - sold) * cafe.dishes[item].portion_g
        return [], grams - self._used_g(item, day)

    def _used_g(self, item: str, day: date) -> float:
        return sum(use.grams for use in self.plan.uses if use.item == item and use.date <= day)

    def used_from_stock(self, lot: str) -> Terms:
        cut = [o for o in self.plan.opens if o.lot == lot]
        pieces = [(float(o.units), self.week.cafe.ingredients[o.ingredient].piece_g) for o in cut]
        return [*pieces, *((u.grams, 1.0) for u in self.plan.uses if u.lot == lot)]

    def spend(
        self, day: date | None = None, supplier: str | None = None, fresh_only: bool = False
    ) -> Terms:
        cafe, terms = self.week.cafe, []
        for buy in self.plan.buys:
            if day not in (None, buy.deliver_on) or supplier not in (None, buy.supplier):
                continue
            dry = is_dry(cafe.ingredients[buy.ingredient])
            if not dry:
                terms.append((float(buy.packs), buy.cost_cents / buy.packs))
            if fresh_only or not dry:
                continue
            (offer,) = cafe.offers_of[buy.ingredient]
            lot = f"bought-{buy.deliver_on}-{buy.supplier}-{buy.ingredient}"
            grams = sum(use.grams for use in self.plan.uses if use.lot == lot)
            terms.append((grams, buy.cost_cents / buy.packs / offer.pack_g))
        return terms

    def at_most(self, rule: Rule, key: str, terms: Terms, bound: float) -> None:
        self.rows.append(FakeRow(key, terms, 1, bound))

    def at_least(self, rule: Rule, key: str, terms: Terms, bound: float) -> None:
        self.rows.append(FakeRow(key, terms, -1, bound))

    def define(self, rule: Rule, key: str, terms: Terms, bound: float) -> None:
        self.definitions.append(FakeRow(key, terms, 1, bound))

    def breaches(self, tolerance: float = 0.01) -> dict[str, float]:
        """Excess of each broken row, by key, with helpers at their best."""
        keys = [row.key for row in self.rows]
        assert len(set(keys)) == len(keys), "two rows of one rule share a name"
        excesses: Iterable[float] = map(self._excess, self.rows)
        if self.helpers:
            excesses = self._least_excesses(self.rows, self.definitions)
        return {
            key: excess for key, excess in zip(keys, excesses, strict=True) if excess > tolerance
        }

    def _excess(self, row: FakeRow) -> float:
        return row.sign * (self._fixed(row.terms) - row.bound)

    def _fixed(self, terms: Terms) -> float:
        """The part of a sum that the plan decides."""
        return sum(
            coefficient * self._value(variable)
            for variable, coefficient in terms
            if not _is_helper(variable)
        )

    def _value(self, variable: Any) -> float:
        """What the plan makes of a variable that is no helper."""
        return float(variable.chosen if isinstance(variable, FakeRun) else variable)

    def _least_excesses(self, rows: list[FakeRow], definitions: list[FakeRow]) -> list[float]:
        """Excess of each row when their sum is least, over all values of their helpers.

        Columns: the helpers, then the excess of each row.
        """
        every = [*rows, *definitions]
        helpers = list(dict.fromkeys(v for row in every for v, _ in row.terms if _is_helper(v)))
        column = {helper: number for number, helper in enumerate(helpers)}
        sides = np.zeros((len(every), len(helpers) + len(rows)))
        for number, row in enumerate(every):
            for variable, coefficient in row.terms:
                if _is_helper(variable):
                    sides[number, column[variable]] += row.sign * coefficient
            if number < len(rows):
                sides[number, len(helpers) + number] = -1.0
        low = [helper.low for helper in helpers] + [0.0] * len(rows)
        high = [helper.high for helper in helpers] + [math.inf] * len(rows)
        found = milp(
            np.array([0.0] * len(helpers) + [1.0] * len(rows)),
            constraints=LinearConstraint(sides, -np.inf, [-self._excess(row) for row in every]),
            bounds=Bounds(low, high),
            integrality=[helper.whole for helper in helpers] + [False] * len(rows),
        )
        assert found.success, "the definitions of a rule cannot be met"
        return [float(value) for value in found.x[len(helpers) :]]


def _is_helper(variable: Any) -> bool:
    return isinstance(variable, Helper)
