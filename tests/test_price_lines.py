"""Corners of the best menu over one price, against every menu tried at many prices.

The whole model is solved anew with the changed prices in the offers, for the plan's menu and for
each menu one exchange away; nothing of `blocks` is used on that side.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import pairwise

import pytest

from optimiser.cafe import DatedPrice, Offer
from optimiser.change_base import with_cafe
from optimiser.exposure import FEWEST_WEEKS, exposures, usual_move_pct
from optimiser.model import Model
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.price_lines import Piece, PriceLine, breakpoints
from optimiser.runs import Sizes
from optimiser.steps import Placed
from optimiser.surplus import extra_lot, surplus_worth
from optimiser.week import Week
from tests.generated_cafes import weeks
from tests.near_cafes import Whole, each, random_plan

FEATURES = ("whole", "two_packs", "loose", "two_courses", "two_slots", "opened", "fee")
FACTORS = (0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0)
"""Quarters: packs of the tiny cafes cost multiples of 4 cents after `in_quarters`."""
CENTS = 0.6


def in_quarters(week: Week) -> Week:
    """The week with prices that stay whole cents at every quarter."""
    offers = tuple(
        offer.model_copy(
            update={
                "prices": tuple(
                    price.model_copy(update={"price_cents": 4 * max(1, price.price_cents // 4)})
                    for price in offer.prices
                )
            }
        )
        for offer in week.cafe.offers
    )
    return with_cafe(week, offers=offers)


def at_price(week: Week, item: str, factor: float) -> Week:
    """The week with other prices of one ingredient written into its offers."""
    offers = tuple(
        offer
        if offer.ingredient != item
        else offer.model_copy(
            update={
                "prices": tuple(
                    p.model_copy(update={"price_cents": round(p.price_cents * factor)})
                    for p in offer.prices
                )
            }
        )
        for offer in week.cafe.offers
    )
    return with_cafe(week, offers=offers)


class Tried:
    """Every menu near a plan at every price, by solving the whole model."""

    def __init__(self, near: Nearby, item: str) -> None:
        self.near, self.item = near, item
        self.sizes: Sizes = {}
        for run in near.model.runs:
            key = (run.dish, run.cook_day, run.shown)
            self.sizes.setdefault(key, set()).add(run.portions)
        own = frozenset(run.index for run in near.menu)
        self.menus = [own] + [
            own - {r.index for r in one.leaves} | {one.enters.index} for one in near.exchanges()
        ]

    def cents(self, factor: float) -> list[float | None]:
        """What each menu earns; vans stay as in the plan; rules see today's costs."""
        near = self.near
        dear = Model(at_price(near.week, self.item, factor), self.sizes)
        gains = dict(zip(dear.lp.names, dear.lp.gain, strict=True))
        lp = near.lp
        gain = [gains.get(name, own) for name, own in zip(lp.names, lp.gain, strict=True)]
        priced = near.with_gains(gain, dear.lp.constant).lp
        whole = Whole(priced)
        vans = {j: near.blocks.settled[j] for j in near.model.purchases.orders.values()}
        found = []
        for menu in self.menus:
            held = {c: float(run in menu) for run, c in near.model.run_column.items()}
            best = whole.best(held | vans)
            found.append(None if best is None else best[0])
        return found


def bought(plan: Plan) -> list[str]:
    return sorted({buy.ingredient for buy in plan.buys})


def cases(examples: int) -> Iterator[tuple[Week, Plan, Nearby, str]]:
    """Plans by the dice in which something is bought."""
    found: list[tuple[Week, Plan, Nearby, str]] = []

    def keep(week: Week) -> None:
        week = in_quarters(week)
        plan = random_plan(week, random.Random(5))
        if plan is None or not bought(plan):
            return
        near = Nearby(week, plan)
        if near.kept is not None:
            found.append((week, plan, near, bought(plan)[0]))

    for feature in FEATURES:
        each(weeks(feature), examples, keep)
    yield from found


def test_corners_are_those_of_all_menus_tried_at_many_prices() -> None:
    """Between its corners each piece's menu earns the most of all, and no less by a cent."""
    checked = corners = pieces_changed = 0
    for week, plan, near, item in cases(4):
        answer = breakpoints(week, plan, item, 0.25, 3.0, near=near)
        assert answer.complete
        assert answer.pieces[0].low == 0.25 and answer.pieces[-1].high == 3.0
        assert all(a.high == b.low for a, b in pairwise(answer.pieces))
        tried = Tried(near, item)
        for factor in FACTORS:
            cents = tried.cents(factor)
            best = max(value for value in cents if value is not None)
            piece = next(p for p in answer.pieces if p.low <= factor <= p.high)
            mine = cents[tried.menus.index(menu_of(near, piece))]
            assert mine is not None and mine == pytest.approx(best, abs=CENTS)
            checked += 1
        for piece in answer.pieces:
            if (piece.low, piece.high) <= (3.0, 3.0) and piece.low in FACTORS:
                cents = tried.cents(piece.low)
                assert piece.kept_low_cents == pytest.approx(cents[0], abs=CENTS)
                best = max(value for value in cents if value is not None)
                assert piece.best_low_cents == pytest.approx(best, abs=CENTS)
        corners += len(answer.pieces) - 1
        pieces_changed += sum(bool(piece.enters) for piece in answer.pieces)
    assert checked > 100 and corners > 3 and pieces_changed > 3


def menu_of(near: Nearby, piece: Piece) -> frozenset[int]:
    """Run numbers of a piece's menu."""
    runs = {(r.dish, r.cook_day, r.shown, r.portions): r.index for r in near.model.runs}

    def numbers(cooks: tuple[Placed, ...]) -> set[int]:
        return {runs[one.dish, one.day, one.shown, one.portions] for one in cooks}

    return frozenset(r.index for r in near.menu) - numbers(piece.leaves) | numbers(piece.enters)


def test_a_price_moves_the_gains_of_the_model_in_proportion() -> None:
    """Interpolated between today's and twice the price, they are those of a model built at the
    price itself."""
    seen = 0
    for week, _plan, near, item in cases(2):
        line = PriceLine(near, item)
        dear = Model(at_price(week, item, 1.5), Tried(near, item).sizes).lp
        gains = dict(zip(dear.names, dear.gain, strict=True))
        there = line.near_at(1.5).lp
        for name, gain in zip(there.names, there.gain, strict=True):
            if name in gains:
                assert gain == pytest.approx(gains[name], abs=1e-6), name
        assert there.constant == pytest.approx(dear.constant, abs=1e-6)
        seen += 1
    assert seen > 5


def test_losses_of_a_rise_are_those_of_all_menus_tried() -> None:
    seen = 0
    for week, plan, near, _ in cases(2):
        today = near.kept.margin_cents
        for row in exposures(week, plan, near=near, with_breakpoints=1):
            cents = Tried(near, row.ingredient).cents(1.5)
            assert row.loss_kept_cents == pytest.approx(today - cents[0], abs=CENTS)
            best = max(value for value in cents if value is not None)
            assert row.loss_changed_cents == pytest.approx(today - best, abs=CENTS)
            assert row.loss_changed_cents <= row.loss_kept_cents + CENTS
            spent = sum(b.cost_cents for b in plan.buys if b.ingredient == row.ingredient)
            assert row.spend_cents == spent
            seen += 1
    assert seen > 5


def test_the_next_price_of_an_exposure_is_the_first_corner_above_today() -> None:
    seen = 0
    for week, plan, near, _ in cases(2):
        row = exposures(week, plan, near=near, with_breakpoints=1)[0]
        answer = breakpoints(week, plan, row.ingredient, 1.0, 4.0, near=near)
        first = answer.pieces[0].high if len(answer.pieces) > 1 else None
        if first is None or row.next_break is None:
            assert first is None and row.next_break is None
        else:
            assert row.next_break == pytest.approx(first, abs=2e-3)
            seen += 1
    assert seen > 0


def offer_with(prices: list[int], start: date) -> Offer:
    """An offer whose price changes every week."""
    dated = tuple(
        DatedPrice(price_cents=cents, from_date=start + timedelta(days=7 * n))
        for n, cents in enumerate(prices)
    )
    return Offer.model_construct(prices=tuple(reversed(dated)))


def test_the_usual_move_is_one_deviation_of_four_weeks() -> None:
    """Up and down by a factor of 1.1 in turn: by hand, the weekly logarithms are ±ln 1.1, their
    sample deviation is ln 1.1 · √(n/(n−1)), and four weeks double it."""
    start = date(2026, 1, 5)
    prices = [10_000 if n % 2 else 11_000 for n in range(11)]
    offer = offer_with(prices, start)
    offer = offer.model_copy(update={"prices": tuple(sorted(offer.prices, key=_day))})
    got = usual_move_pct([offer], start + timedelta(days=7 * 10))
    expected = (1.1 ** (2 * (10 / 9) ** 0.5) - 1) * 100
    assert got == pytest.approx(expected, rel=1e-9)
    short = offer.model_copy(update={"prices": offer.prices[:FEWEST_WEEKS]})
    assert usual_move_pct([short], start + timedelta(days=7 * (FEWEST_WEEKS - 1))) is None
    assert usual_move_pct([], start) is None


def _day(price: DatedPrice) -> date:
    assert price.from_date is not None
    return price.from_date


def test_the_worth_of_more_is_that_of_the_week_with_the_lot_in_stock() -> None:
    """Against the whole model with the lot written into the tables; and never below nothing
    but for what binning it costs."""
    seen = gains = 0
    for week, plan, near, item in cases(2):
        ingredient = week.cafe.ingredients[item]
        each_g = ingredient.piece_g or 500.0
        until = week.last
        worth = surplus_worth(week, plan, item, each_g, 2, until, near=near)
        assert len(worth.kept_cents) == 3 and worth.kept_cents[0] == 0
        for kept, changed in zip(worth.kept_cents, worth.changed_cents, strict=True):
            assert changed >= kept - CENTS
        more = Nearby(extra_lot(week, item, 2 * each_g, until).apply(week), plan)
        held = dict(more.blocks.settled)
        best = Whole(more.lp).best(held)
        assert worth.kept_cents[2] == pytest.approx(best[0] - near.kept.margin_cents, abs=CENTS)
        seen += 1
        gains += worth.kept_cents[2] > 1
    assert seen > 3 and gains > 1
