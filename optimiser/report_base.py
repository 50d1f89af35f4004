"""What every report shares: rows, money, days in words, and how long a lot lives."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal

from optimiser import formats
from optimiser.cafe import Cafe
from optimiser.formats import weekday as weekday
from optimiser.plan import Plan
from optimiser.week import delivered_use_by, hold_days, last_day, opened_use_by

Cell = str | int | float | Decimal | date | None
"""What a cell may hold; None is blank, money is a Decimal in the cafe's currency."""

Row = dict[str, Cell]
"""One row of a report, by column."""

CRUMB_G = 0.5
"""Smaller rests of a lot are crumbs and count as nothing."""


def amount(cents: float) -> Decimal:
    """Cents as an amount of the currency with two places."""
    return (Decimal(str(cents)) / 100).quantize(Decimal("0.01"))


def money_text(cents: float, currency: str) -> str:
    """An amount as the cafe's place writes it: `$12.50` for AUD (`formats.money`)."""
    return formats.money(amount(cents), currency)


def day_text(day: date | None) -> str:
    """`Mon 2026-11-30` (`formats.full_day`); a lot without a date is `no date`."""
    return "no date" if day is None else formats.full_day(day)


def listed(words: Iterable[str]) -> str:
    """Several words in one cell."""
    return "; ".join(words)


def number_text(value: float) -> str:
    """A number with at most one place: `20`, `12.5`."""
    return formats.number(value, places=1)


def cook_portions_sold(plan: Plan, dish: str, cooked_on: date) -> int:
    """Portions of one cook that go into the cabinet."""
    return sum(
        row.portions for row in plan.shown if row.dish == dish and row.cooked_on == cooked_on
    )


def lot_lives(plan: Plan, cafe: Cafe) -> dict[str, date]:
    """Last day of use of every lot of the week, by the lot's name."""
    lives = {lot.id: last_day(lot.use_by) for lot in cafe.stock}
    for buy in plan.buys:
        lot = f"bought-{buy.deliver_on}-{buy.supplier}-{buy.ingredient}"
        lives[lot] = delivered_use_by(cafe.ingredients[buy.ingredient], buy.deliver_on)
    for cut in plan.opens:
        ingredient = cafe.ingredients[cut.ingredient]
        lives[f"opened-{cut.date}-{cut.lot}"] = opened_use_by(ingredient, cut.date, lives[cut.lot])
    for cook in plan.cooks:
        last = cook.date + timedelta(days=hold_days(cafe, cook.dish) - 1)
        lives[f"cooked-{cook.date}-{cook.dish}"] = last
    return lives


def cook_use_by(plan: Plan, cafe: Cafe, lives: dict[str, date], dish: str, day: date) -> date:
    """Last day of a cook: its hold life, never past the oldest part that carries its life.

    Cooked parts always carry theirs; ingredients do in raw dishes. `lives` is `lot_lives`.
    """
    last = day + timedelta(days=hold_days(cafe, dish) - 1)
    carried = [
        lives[use.lot]
        for use in plan.uses
        if (use.dish, use.date) == (dish, day)
        and (use.item in cafe.dishes or cafe.dishes[dish].is_raw)
    ]
    return min([last, *carried])
