"""Answers about dishes and menus: why, why not, swaps, other good weeks."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from optimiser.answer import Answer, Grid, bar, cents, csv_row, signed, step_data, step_rows
from optimiser.cafe import Cafe
from optimiser.plan import Plan
from optimiser.plan_diff import plan_diff
from optimiser.report_base import Row, day_text, money_text, number_text
from optimiser.steps import Step
from optimiser.swaps import SwapCost
from optimiser.why_not import WhyHere, WhyNot

if TYPE_CHECKING:
    from optimiser.good_weeks import GoodWeek

WHY, WHY_NOT, SWAP, WEEKS = "why", "why_not", "swap", "other_weeks"
IMPOSSIBLE_SHOWN = 10
"""So many swaps that cannot be are listed, and not more."""


def why_answer(found: WhyHere, currency: str, complete: bool) -> Answer:
    """What the week would lose without a dish."""
    steps = list(enumerate(found.steps))
    return Answer(
        question=WHY,
        about=found.dish,
        title=f"Why {found.name}?",
        lines=(*found.sentences(currency), *_within(found.steps)),
        data={
            "dish": found.dish,
            "name": found.name,
            "without": [step_data(step, n) for n, step in steps],
        },
        rows=tuple(row for n, step in steps for row in step_rows(WHY, found.dish, step, n)),
        plans={f"without_{n}": step.plan for n, step in steps if step is not None},
        complete=complete,
    )


def why_not_answer(found: WhyNot, currency: str, complete: bool) -> Answer:
    """What having a dish would cost, what is in its way, what would bring it in."""
    steps = list(enumerate(found.steps, 1))
    when = f" on {day_text(found.day)}" if found.day else ""
    return Answer(
        question=WHY_NOT,
        about=found.dish,
        title=f"Why not {found.name}{when}?",
        lines=(*found.sentences(currency), *_within(found.steps)),
        data={
            "dish": found.dish,
            "name": found.name,
            "day": None if found.day is None else found.day.isoformat(),
            "with": [step_data(step, n) for n, step in steps],
            "obstacles": [
                {"title": one.title, "alone": one.alone, "gain_cents": cents(one.gain_cents)}
                for one in found.obstacles
            ],
            "blocked_by": list(found.blocked_by),
            "portion_price_cents": found.portion_price_cents,
            "entry_prices": [
                {"ingredient": one.ingredient, "name": one.name, "factor": one.factor}
                for one in found.entry_prices
            ],
        },
        rows=tuple(_why_not_rows(found)),
        plans={f"with_{n}": step.plan for n, step in steps if step is not None},
        complete=complete,
    )


def _within(steps: Sequence[Step | None]) -> list[str]:
    """What the longest step is exact within."""
    last = next((step for step in reversed(steps) if step is not None), None)
    if last is None:
        return []
    return [f"{'Exact' if last.exact else 'Not proven to the end'} {last.within()}."]


def _why_not_rows(found: WhyNot) -> list[Row]:
    dish = found.dish
    rows: list[Row] = []
    for number, step in enumerate(found.steps, 1):
        rows += step_rows(WHY_NOT, dish, step, number)
    for one in found.obstacles:
        note = "gain of one change without this rule" if one.alone else "in the way with others"
        rows.append(
            csv_row(WHY_NOT, dish, "obstacle", name=one.title, cents=one.gain_cents, note=note)
        )
    if found.portion_price_cents is not None:
        rows.append(csv_row(WHY_NOT, dish, "portion_price", cents=found.portion_price_cents))
    for entry in found.entry_prices:
        at_none = "at no price" if entry.factor is None else ""
        rows.append(
            csv_row(WHY_NOT, dish, "entry_price", id=entry.ingredient, name=entry.name,
                    amount=None if entry.factor is None else round(entry.factor, 4),
                    unit="times today's price", note=at_none)
        )  # fmt: skip
    return rows


def swap_answer(
    found: Sequence[SwapCost], dish: str, name: str, day: date, currency: str, complete: bool
) -> Answer:
    """Every dish that could stand in a cook's place."""
    possible = [one for one in found if one.gain_cents is not None]
    rest = len(found) - len(possible) - IMPOSSIBLE_SHOWN
    lines = [
        f"{len(possible)} dishes could stand in its place. Exact for one cook, same deliveries."
    ]
    if rest > 0:
        lines.append(f"{rest} more that cannot be are left out here; JSON and CSV have all.")
    return Answer(
        question=SWAP,
        about=dish,
        title=f"Instead of {name}, cooked on {day_text(day)}",
        lines=tuple(lines),
        data={
            "dish": dish,
            "name": name,
            "cooked_on": day.isoformat(),
            "swaps": [
                {
                    "dish": one.dish,
                    "name": one.name,
                    "portions": one.portions,
                    "gain_cents": cents(one.gain_cents),
                    "exact": one.exact,
                    "blocked_by": list(one.blocked_by),
                }
                for one in found
            ],
        },
        rows=tuple(
            csv_row(SWAP, dish, "swap", date=day, id=one.dish, name=one.name, amount=one.portions,
                    unit="portions", cents=one.gain_cents, note="; ".join(one.blocked_by))
            for one in found
        ),
        grids=(_swap_grid(found[: len(possible) + IMPOSSIBLE_SHOWN], currency),) if found else (),
        complete=complete,
    )  # fmt: skip


def _swap_grid(found: Sequence[SwapCost], currency: str) -> Grid:
    most = max(abs(one.gain_cents or 0.0) for one in found)
    rows = tuple(
        (one.name, "-", "-", "", ", ".join(one.blocked_by))
        if one.gain_cents is None
        else (
            one.name,
            str(one.portions),
            signed(one.gain_cents, currency),
            bar(abs(one.gain_cents), most, "-" if one.gain_cents < 0 else "+"),
            "",
        )
        for one in found
    )
    columns = ("dish", "portions", "against the plan", "", "in the way")
    return Grid("Best first", columns, rows, words=(0, 4), bars=(3,))


def weeks_answer(
    found: Sequence[GoodWeek], plan: Plan, cafe: Cafe, within_cents: int, complete: bool
) -> Answer:
    """Weeks nearly as good and as different as can be."""
    money = money_text(within_cents, cafe.currency)
    lines = [f"{len(found)} other weeks within {money} of this one, each verified."]
    lines += [] if found else ["None was found in the time given."]
    return Answer(
        question=WEEKS,
        about="",
        title="Other good weeks",
        lines=tuple(lines),
        data={
            "within_cents": within_cents,
            "weeks": [
                {
                    "objective_cents": one.plan.objective_cents,
                    "short_cents": cents(one.short_cents),
                    "different": one.different,
                    "enters": [
                        {"date": str(day), "dish": dish, "name": cafe.name_of(dish)}
                        for day, dish in sorted(plan_diff(one.plan, plan).fresh)
                    ],
                }
                for one in found
            ],
        },
        rows=tuple(_week_rows(found, plan, cafe)),
        grids=tuple(_week_grid(number, one, plan, cafe) for number, one in enumerate(found, 1)),
        plans={f"week_{number}": one.plan for number, one in enumerate(found, 1)},
        complete=complete,
    )


def _week_rows(found: Sequence[GoodWeek], plan: Plan, cafe: Cafe) -> list[Row]:
    rows = []
    for number, one in enumerate(found, 1):
        week = f"week_{number}"
        rows.append(
            csv_row(WEEKS, week, "week", amount=one.different, unit="places different",
                    cents=one.plan.objective_cents, note="margin")
        )  # fmt: skip
        for day, dish in sorted(plan_diff(one.plan, plan).fresh):
            name = cafe.name_of(dish)
            rows.append(csv_row(WEEKS, week, "enters", date=day, id=dish, name=name))
    return rows


def _week_grid(number: int, one: GoodWeek, plan: Plan, cafe: Cafe) -> Grid:
    """What is on show by day, only what this week has not."""
    fresh = plan_diff(one.plan, plan).fresh
    rows = tuple(
        (day_text(day), "; ".join(sorted(cafe.name_of(d) for other, d in fresh if other == day)))
        for day in sorted({day for day, _ in fresh})
    )
    short = money_text(one.short_cents, cafe.currency)
    places = f"{number_text(one.different)} places other"
    return Grid(f"Week {number}: {short} less, {places}", ("day", "comes in"), rows, words=(0, 1))
