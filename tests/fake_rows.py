"""`Rows` without a solver: records the rows of a rule and evaluates them on a given plan.

Every variable is a key of a table of values worked out from the plan, so a row is
plain arithmetic. Helper variables take their best values: each is bounded by the
`define` rows in which it is the helper made last; one that no row bounds (the free
level of a piecewise linear sum) is tried at every point where a bound changes sides.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from itertools import product
from typing import Any

from optimiser.cafe import Cafe
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
        assert high is not None, f"{name} has no upper limit"
        self.helpers.append(Helper(len(self.helpers), low, high))
        return self.helpers[-1]

    def used_from_stock(self, lot: str) -> Terms:
        cut = [o for o in self.plan.opens if o.lot == lot]
        pieces = [(float(o.units), self.week.cafe.ingredients[o.ingredient].piece_g) for o in cut]
        return [*pieces, *((u.grams, 1.0) for u in self.plan.uses if u.lot == lot)]

    def spend(self, day: date | None = None, supplier: str | None = None) -> Terms:
        cafe, terms = self.week.cafe, []
        for buy in self.plan.buys:
            if not is_dry(cafe.ingredients[buy.ingredient]):
                terms.append((float(buy.packs), buy.cost_cents / buy.packs))
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
        excesses = {row.key: self._excess(row) for row in self.rows}
        assert len(excesses) == len(self.rows), "two rows of one rule share a name"
        return {key: excess for key, excess in excesses.items() if excess > tolerance}

    def _excess(self, row: FakeRow) -> float:
        return min(
            row.sign * (self._value(row.terms, values) - row.bound)
            for values in self._assignments(row)
        )

    def _value(self, terms: Terms, values: dict[Helper, float]) -> float:
        total = 0.0
        for variable, coefficient in terms:
            if isinstance(variable, Helper):
                total += coefficient * values[variable]
            elif isinstance(variable, FakeRun):
                total += coefficient * variable.chosen
            else:
                total += coefficient * variable
        return total

    def _assignments(self, row: FakeRow) -> Iterator[dict[Helper, float]]:
        """Values of the helpers of `row`: all points among which its best one is."""
        bounding = {helper: self._bounding(helper) for helper in _helpers(row.terms)}
        free = [helper for helper, rows in bounding.items() if not rows]
        for levels in product(*(self._turns(helper) for helper in free)):
            values = dict(zip(free, levels, strict=True))
            for helper, rows in sorted(bounding.items(), key=lambda item: item[0].number):
                if rows:
                    values[helper] = self._extreme(helper, rows, values)
            yield values

    def _bounding(self, helper: Helper) -> list[FakeRow]:
        return [
            row
            for row in self.definitions
            if max(_helpers(row.terms), key=lambda one: one.number) == helper
        ]

    def _turns(self, free: Helper) -> set[float]:
        """Levels of a free helper at which some definition stops binding, and its limits."""
        levels = {free.low, free.high}
        for row in self.definitions:
            if free in _helpers(row.terms):
                others = {one: 0.0 for one in _helpers(row.terms)}
                slope = sum(k for variable, k in row.terms if variable is free)
                levels.add((row.bound - self._value(row.terms, others)) / slope)
        return {level for level in levels if free.low <= level <= free.high}

    def _extreme(self, helper: Helper, rows: list[FakeRow], values: dict[Helper, float]) -> float:
        """The largest value that rows bounding from above allow, or the smallest from below."""
        limits, slopes = [], set()
        for row in rows:
            slope = sum(k for variable, k in row.terms if variable is helper)
            rest = row.bound - self._value(row.terms, {**values, helper: 0.0})
            limits.append(rest / slope)
            slopes.add(slope > 0)
        (from_above,) = slopes
        best = min([helper.high, *limits]) if from_above else max([helper.low, *limits])
        assert helper.low - 1e-9 <= best <= helper.high + 1e-9, "a definition cannot be met"
        return best


def _helpers(terms: Terms) -> list[Helper]:
    return [variable for variable, _ in terms if isinstance(variable, Helper)]
