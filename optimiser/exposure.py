"""Which prices this week's menu depends on most.

For each ingredient that is bought: what is spent on it, what a rise of half costs with the menu
kept and with one cook changed, what its usual move of a month would cost (the standard deviation of
its weekly price changes, times the square root of 4 weeks), and how far its price is from the next
one at which changing a cook begins to pay.
"""

from __future__ import annotations

import math
import statistics
import threading
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from optimiser.cafe import Offer
from optimiser.near import Watched
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.price_lines import Envelope, PriceLine
from optimiser.progress import Report
from optimiser.week import Week

RISE = 1.5
"""The factor at which losses are told."""
FARTHEST = 4.0
"""The factor up to which the next price is looked for."""
WEEKS_OF_A_MONTH = 4
FEWEST_WEEKS = 8
"""Fewer weekly changes say nothing about the usual one."""


@dataclass(frozen=True)
class Exposure:
    """How much a week depends on the price of one ingredient; money in cents.

    Losses are against today's price and the plan's menu. `usual_move_pct` of a month, and what a
    rise by that much costs with the menu kept; None without enough history. `next_break`: the
    factor of today's price at which changing one cook begins to pay; None: none up to
    `searched_to`, or not looked for (then that is None too).
    """

    ingredient: str
    name: str
    spend_cents: int
    usual_move_pct: float | None
    loss_usual_cents: float | None
    loss_kept_cents: float
    loss_changed_cents: float
    next_break: float | None = None
    searched_to: float | None = None


def exposures(
    week: Week,
    plan: Plan,
    report: Report | None = None,
    stop: threading.Event | None = None,
    near: Nearby | None = None,
    with_breakpoints: int = 6,
) -> list[Exposure]:
    """All ingredients that the plan buys, the most exposed first: by what their usual move costs
    where it is known, then by what a rise of half costs.

    The next price is looked for with the first `with_breakpoints` of them. If stopped, those that
    were looked at. Raises ValueError if the plan's menu cannot be kept.
    """
    near = near or Nearby(week, plan)
    if near.kept is None:
        raise ValueError(f"this plan cannot be kept as the tables are now: {near.why_not_kept()}")
    watch = Watched(report, near.kept.margin_cents)
    found, _ = near.all_changes(report, stop)
    spend: dict[str, int] = defaultdict(int)
    for buy in plan.buys:
        spend[buy.ingredient] += buy.cost_cents
    rows, envelopes = [], {}
    for ingredient in sorted(spend, key=lambda item: (-spend[item], item)):
        if stop is not None and stop.is_set():
            break
        watch.looked(
            f"{week.cafe.name_of(ingredient)} at {RISE:g} times its price", near.kept.margin_cents
        )
        envelopes[ingredient] = Envelope(PriceLine(near, ingredient), found, watch)
        rows.append(_exposure(near, envelopes[ingredient], ingredient, spend[ingredient]))
    rows.sort(key=lambda row: (-(row.loss_usual_cents or 0.0), -row.loss_kept_cents, row.name))
    for number, row in enumerate(rows[:with_breakpoints]):
        if stop is not None and stop.is_set():
            break
        rows[number] = _with_break(row, envelopes[row.ingredient])
    return rows


def _exposure(near: Nearby, envelope: Envelope, ingredient: str, spend: int) -> Exposure:
    assert near.kept is not None
    margin = near.kept.margin_cents
    move = usual_move_pct(near.week.cafe.offers_of.get(ingredient, ()), near.week.planned_on)
    return Exposure(
        ingredient=ingredient,
        name=near.week.cafe.name_of(ingredient),
        spend_cents=spend,
        usual_move_pct=move,
        loss_usual_cents=None if move is None else margin - envelope.kept_cents(1 + move / 100),
        loss_kept_cents=margin - envelope.kept_cents(RISE),
        loss_changed_cents=margin - envelope.best(RISE).cents,
    )


def _with_break(row: Exposure, envelope: Envelope) -> Exposure:
    """The next dearer price at which the menu changes."""
    for factor, left, right in envelope.corners(1.0, FARTHEST):
        if left.menu != right.menu:
            return replace(row, next_break=factor, searched_to=FARTHEST)
    return replace(row, searched_to=FARTHEST)


def usual_move_pct(offers: Sequence[Offer], today: date) -> float | None:
    """Percent that the price usually moves in a month, from the offer with the longest history.

    Weekly: the price in force every 7 days up to today. One standard deviation of the logarithm
    of its changes, times √4.
    """
    longest = max(offers, key=lambda offer: len(offer.prices), default=None)
    dates = [] if longest is None else [p.from_date for p in longest.prices if p.from_date]
    if longest is None or not dates:
        return None
    prices: list[int] = []
    day = min(dates)
    while day <= today:
        price = longest.price_cents_on(day)
        if price:
            prices.append(price)
        day += timedelta(days=7)
    moves = [math.log(b / a) for a, b in zip(prices, prices[1:], strict=False)]
    if len(moves) < FEWEST_WEEKS:
        return None
    spread = statistics.stdev(moves) * math.sqrt(WEEKS_OF_A_MONTH)
    return (math.exp(spread) - 1) * 100
