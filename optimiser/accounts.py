"""What a drafted week is worth: what is left, what is binned, and the money terms.

Rounding is against the plan and by the running total, so that the lines of a
table add up to its term and a term is never better than exact arithmetic.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date

from optimiser import demand
from optimiser.cafe import Cafe, Form, State
from optimiser.costs import Costs
from optimiser.plan import Binned, Buy, Cook, Left, Open, Plan, RuleResult, Shown, Stretch, Use
from optimiser.runs import unsold_cents
from optimiser.week import Week, is_dry, left_pct

SMALLEST_REST_G = 0.5
"""Smaller rests of a lot are crumbs and not listed."""


@dataclass
class Holding:
    """What remains of one lot. `units` are uncut pieces; `paid_cents` for deliveries.

    `due_g` is what the model draws from a lot that a rule wants used.
    """

    lot: str
    item: str
    grams: float
    first: date
    last: date
    state: State
    units: int = 0
    paid_cents: int = 0
    bought_g: float = 0.0
    due_g: float = 0.0

    def usable(self, cafe: Cafe) -> bool:
        """Whether cooks can take from it: whole pieces have to be cut first."""
        ingredient = cafe.ingredients.get(self.item)
        return ingredient is None or ingredient.form is not Form.WHOLE or (
            self.state is State.OPENED
        )


@dataclass
class Draft:
    """A plan while it is being put together."""

    cooks: list[Cook] = field(default_factory=list)
    shown: list[Shown] = field(default_factory=list)
    buys: list[Buy] = field(default_factory=list)
    opens: list[Open] = field(default_factory=list)
    uses: list[Use] = field(default_factory=list)
    stretched: list[Stretch] = field(default_factory=list)
    holdings: list[Holding] = field(default_factory=list)


def settle(week: Week, draft: Draft) -> Plan:
    """Close the books of a drafted week. Rules are judged later, by the verifier."""
    costs = Costs(week.cafe, week.planned_on)
    unsold, takings = _sales(week, draft, costs)
    left = _left(week, draft, costs)
    rests, waste = _binned(week, draft, costs)
    fees = {(buy.deliver_on, buy.supplier) for buy in draft.buys}
    appeal = sum(
        week.cafe.money.appeal_cents * (week.cafe.dishes[row.dish].appeal - 1)
        for row in draft.shown
    )
    waste += sum(
        row[1] * unsold_cents(week.cafe, week.cafe.dishes[row[0].dish], costs) for row in unsold
    )
    binned = rests + [_unsold_row(week, cook, portions, costs) for cook, portions in unsold]
    terms = {
        "takings": takings,
        "purchases": -sum(buy.cost_cents for buy in draft.buys),
        "delivery_fees": -sum(week.cafe.suppliers[s].delivery_fee_cents for _, s in fees),
        "waste": -math.ceil(waste - 1e-6),
        "left_value": sum(row.value_cents for row in left),
        "rule_breaches": 0,
        "appeal": math.floor(appeal + 1e-6),
    }
    return Plan(
        week=week.start,
        days=week.days,
        planned_on=week.planned_on,
        currency=week.cafe.currency,
        objective_cents=sum(terms.values()),
        terms_cents=terms,
        cooks=tuple(draft.cooks),
        shown=tuple(draft.shown),
        buys=tuple(draft.buys),
        opens=tuple(draft.opens),
        uses=tuple(draft.uses),
        stretched=tuple(draft.stretched),
        left=tuple(left),
        binned=_in_cents(binned),
    )


def with_rules(plan: Plan, results: Iterable[RuleResult], breach_cents: float) -> Plan:
    """The plan with its rules judged and priced breaches charged."""
    terms = dict(plan.terms_cents, rule_breaches=-math.ceil(breach_cents - 1e-6))
    return plan.model_copy(
        update={
            "rules": tuple(results),
            "terms_cents": terms,
            "objective_cents": sum(terms.values()),
        }
    )


def running(amounts: Iterable[float], whole: Callable[[float], int]) -> list[int]:
    """Whole cents per line that add up to the whole of the exact sum."""
    lines, total, before = [], 0.0, 0
    for amount in amounts:
        total += amount
        now = whole(total)
        lines.append(now - before)
        before = now
    return lines


def round_down(cents: float) -> int:
    """Down to a cent, forgiving what floats lose."""
    return math.floor(cents + 1e-6)


def round_up(cents: float) -> int:
    """Up to a cent, forgiving what floats add."""
    return math.ceil(cents - 1e-6)


def _sales(
    week: Week, draft: Draft, costs: Costs
) -> tuple[list[tuple[Cook, float]], int]:
    """Portions expected to stay unsold by cook, and takings."""
    takings, unsold = 0, []
    for cook in draft.cooks:
        if not cook.shown:
            continue
        dish = week.cafe.dishes[cook.dish]
        offered = sum(
            row.portions
            for row in draft.shown
            if row.dish == cook.dish and row.cooked_on == cook.date
        )
        wanted = demand.of_dish(week.cafe, dish, cook.shown)
        sold = demand.expected_sold(wanted, offered)
        takings += round_down(week.cafe.price_cents(dish) * sold)
        if (offered - sold) * dish.portion_g > SMALLEST_REST_G:
            unsold.append((cook, offered - sold))
    return unsold, takings


def _left(week: Week, draft: Draft, costs: Costs) -> list[Left]:
    """Lots still good on the first open day after the week."""
    kept = [h for h in draft.holdings if h.grams > SMALLEST_REST_G and h.last >= week.next_open]
    values = running((_value(week, h, costs) for h in kept), round_down)
    return [
        Left(
            item=h.item,
            grams=round(h.grams, 3),
            use_by=None if h.last == date.max else h.last,
            value_cents=cents,
            lot=h.lot,
        )
        for h, cents in zip(kept, values, strict=True)
    ]


def _value(week: Week, holding: Holding, costs: Costs) -> float:
    """Cents: nothing for opened and cooked things, a share of cost for the rest."""
    ingredient = week.cafe.ingredients.get(holding.item)
    opened = holding.state is State.OPENED and ingredient and ingredient.form is Form.WHOLE
    if ingredient is None or opened:
        return 0.0
    if is_dry(ingredient) and holding.bought_g:
        return holding.paid_cents * holding.grams / holding.bought_g
    share = left_pct(week.cafe, ingredient) / 100
    return holding.grams * costs.left_per_g(holding.item, week.last) * share


def _binned(week: Week, draft: Draft, costs: Costs) -> tuple[list[_Row], float]:
    """Lots past their life, and what binning them is charged (exact cents)."""
    money, rows, charge = week.cafe.money, [], 0.0
    lost = [
        (h.item, h.grams, max(min(h.last, week.last), week.open_dates[0]), h.lot)
        for h in draft.holdings
        if h.last < week.next_open
    ]
    lost += [
        (lot.item, lot.grams, week.open_dates[0], lot.id) for lot in week.expired_stock
    ]
    for item, grams, day, lot_id in lost:
        if grams <= SMALLEST_REST_G:
            continue
        cost = grams * costs.per_g(item)
        charge += cost * money.waste_cost_pct / 100 + grams / 1000 * money.disposal_cents_per_kg
        rows.append(_Row(day, item, grams, cost, lot_id))
    return rows, charge


@dataclass(frozen=True)
class _Row:
    """A binned line with exact cents."""

    day: date
    item: str
    grams: float
    cost: float
    lot: str


def _unsold_row(week: Week, cook: Cook, portions: float, costs: Costs) -> _Row:
    dish = week.cafe.dishes[cook.dish]
    cost = portions * costs.portion_cents(cook.dish)
    return _Row(cook.shown[-1], cook.dish, portions * dish.portion_g, cost, "")


def _in_cents(rows: list[_Row]) -> tuple[Binned, ...]:
    ordered = sorted(rows, key=lambda row: (row.day, row.item, row.lot))
    cents = running((row.cost for row in ordered), round_up)
    return tuple(
        Binned(date=r.day, item=r.item, grams=round(r.grams, 3), cost_cents=c, lot=r.lot)
        for r, c in zip(ordered, cents, strict=True)
    )
