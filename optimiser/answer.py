"""One question answered, in a shape that text, JSON and CSV are written from.

What a question is about decides its module: `answer_change`, `answer_prices`, `answer_dishes`,
`answer_rules`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from optimiser.plan import Plan
from optimiser.report_base import Cell, Row, amount, money_text
from optimiser.steps import Placed, Step

COLUMNS = (
    "question",
    "about",
    "row",
    "cooks_changed",
    "date",
    "id",
    "name",
    "amount",
    "unit",
    "money",
    "money_at_most",
    "note",
)
"""Columns of the CSV; a row fills those that its kind has."""

BAR = 10
"""Characters of the longest bar."""


@dataclass(frozen=True)
class Grid:
    """A table for the terminal. `words`: columns of words, which may break; `bars`: of bars; the
    others hold numbers. Numbers and bars never break."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    words: tuple[int, ...] = (0,)
    bars: tuple[int, ...] = ()


@dataclass(frozen=True)
class Answer:
    """`question`: its stable key. `about`: what it was asked of (an id, a rule's number).

    `lines` and `grids` are the text, `data` goes into the JSON, `rows` into the CSV. `plans`:
    verified weeks by name. `complete`: False if time ran out or it was stopped before the end.
    """

    question: str
    about: str
    title: str
    lines: tuple[str, ...]
    data: dict[str, Any]
    rows: tuple[Row, ...] = ()
    grids: tuple[Grid, ...] = ()
    plans: dict[str, Plan] = field(default_factory=dict)
    complete: bool = True
    impossible: bool = False


def csv_row(question: str, about: str, row: str, **cells: Cell) -> Row:
    """A row of the CSV; money is given in cents as `cents` and `cents_at_most`."""
    made: Row = {"question": question, "about": about, "row": row}
    for name, column in (("cents", "money"), ("cents_at_most", "money_at_most")):
        cents = cells.pop(name, None)
        if isinstance(cents, int | float) and math.isfinite(cents):
            made[column] = amount(cents)
    return made | cells


def cents(value: float | None) -> float | None:
    """Cents in JSON: to a hundredth of a cent; None for what is not known or has no end."""
    return None if value is None or not math.isfinite(value) else round(value, 2)


def signed(value_cents: float, currency: str) -> str:
    """`+$4.20`, `-$4.20` or `$0.00`."""
    text = money_text(value_cents, currency)
    return f"+{text}" if round(value_cents) > 0 else text


def more_or_less(value_cents: float, currency: str) -> str:
    """`$4.20 more`, `$4.20 less`, `the same`."""
    if round(value_cents) == 0:
        return "the same"
    word = "more" if value_cents > 0 else "less"
    return f"{money_text(abs(value_cents), currency)} {word}"


def bar(value: float, most: float, mark: str = "#") -> str:
    """A bar as long as the value's share of the most; anything above 0 shows."""
    return mark * (max(1, round(BAR * value / most)) if value > 0 and most > 0 else 0)


def span(low: float, high: float, least: float, most: float) -> str:
    """Where a stretch lies between two ends: `..###.......`."""
    start, end = (round(BAR * (at - least) / (most - least)) for at in (low, high))
    start = min(start, BAR - 1)
    return ("." * start + "#" * max(1, end - start)).ljust(BAR, ".")


def cooks_words(cooks: int) -> str:
    """`no cook`, `one cook`, `up to 2 cooks`."""
    return {0: "no cook", 1: "one cook"}.get(cooks, f"up to {cooks} cooks")


def placed_words(cooks: Sequence[Placed]) -> str:
    """Cooks in one cell."""
    return "; ".join(one.words() for one in cooks) or "-"


def placed_data(cooks: Iterable[Placed]) -> list[dict[str, Any]]:
    """Cooks in JSON."""
    return [
        {
            "dish": one.dish,
            "name": one.name,
            "cooked_on": one.day.isoformat(),
            "shown": [day.isoformat() for day in one.shown],
            "portions": one.portions,
        }
        for one in cooks
    ]


def placed_rows(
    question: str, about: str, row: str, cooks: Iterable[Placed], **cells: Cell
) -> list[Row]:
    """Cooks in the CSV, one row a day on show."""
    return [
        csv_row(question, about, row, date=day, id=one.dish, name=one.name, amount=one.portions,
                unit="portions of the cook", **cells)
        for one in cooks
        for day in one.shown
    ]  # fmt: skip


def step_data(step: Step | None, changes: int) -> dict[str, Any]:
    """A step in JSON; `possible` false where there is no such week so near."""
    if step is None:
        return {"cooks_changed": changes, "possible": False}
    return {
        "cooks_changed": changes,
        "possible": True,
        "objective_cents": step.plan.objective_cents,
        "gain_cents": cents(step.gain_cents),
        "gain_at_most_cents": cents(step.at_most_cents),
        "exact": step.exact,
        "within": step.within(),
        "enters": placed_data(step.enters),
        "leaves": placed_data(step.leaves),
    }


def step_rows(question: str, about: str, step: Step | None, changes: int) -> list[Row]:
    """A step in the CSV: its money, then what comes in and what leaves."""
    if step is None:
        return [csv_row(question, about, "step", cooks_changed=changes, note="not possible")]
    head = csv_row(
        question, about, "step", cooks_changed=changes, cents=step.gain_cents,
        cents_at_most=step.at_most_cents, note=f"gain; {step.within()}",
    )  # fmt: skip
    coming = placed_rows(question, about, "enters", step.enters, cooks_changed=changes)
    return [
        head,
        *coming,
        *placed_rows(question, about, "leaves", step.leaves, cooks_changed=changes),
    ]
