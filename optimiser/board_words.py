"""What the board says below its tables: used up, binned, orders, broken rules, cautions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from optimiser import nutrition
from optimiser.cafe import Cafe
from optimiser.formats import grouped
from optimiser.label_report import CHECK_LABELS, unread_dishes
from optimiser.order_report import orders
from optimiser.plan import Binned, Breach, Plan
from optimiser.report_base import day_text, money_text
from optimiser.stock_report import stock_fates

Section = tuple[str, list[str]]
"""A heading and its lines."""

MOST_OF_A_RULE = 4
"""Breaches of one rule that are written out; a page has no room for two dozen."""


def sections(plan: Plan, cafe: Cafe, priced: Sequence[Breach]) -> Iterator[Section]:
    """Headings with their lines, those without lines left out."""
    for title, lines in (
        ("Stock used up", _used_up(plan, cafe)),
        ("Binned", _binned(plan, cafe)),
        ("Orders, delivery fees included", _orders(plan, cafe)),
        ("Rules broken for their price", _broken(priced)),
        ("Take care", _cautions(plan, cafe)),
    ):
        if lines:
            yield title, lines


def _broken(priced: Sequence[Breach]) -> list[str]:
    """Up to MOST_OF_A_RULE breaches of each rule, and how many more there are."""
    texts: dict[str, list[str]] = {}
    for breach in priced:
        texts.setdefault(breach.rule, []).append(breach.text)
    lines = []
    for rule, found in texts.items():
        lines += found[:MOST_OF_A_RULE]
        if len(found) > MOST_OF_A_RULE:
            lines.append(f"{rule}: {len(found) - MOST_OF_A_RULE} more")
    return lines


def _used_up(plan: Plan, cafe: Cafe) -> list[str]:
    """The lots that cooking finishes, and by when; use_up.csv says what for."""
    return [
        f"{cafe.name_of(fate.lot.item)}: {grouped(fate.lot.grams, 0)} g ({fate.lot.id}), "
        f"the last on {day_text(max(use.date for use in fate.uses))}"
        for fate in stock_fates(plan, cafe)
        if fate.finished
    ]


def _binned(plan: Plan, cafe: Cafe) -> list[str]:
    """Each day: portions expected to stay unsold together, then ingredients and parts."""
    lines = []
    for day in sorted({row.date for row in plan.binned}):
        rows = [row for row in plan.binned if row.date == day]
        unsold = [row for row in rows if not row.lot]
        if unsold:
            lines.append(f"{day_text(day)} portions expected unsold: {_weight(plan, unsold)}")
        for item in dict.fromkeys(row.item for row in rows if row.lot):
            parts = [row for row in rows if row.lot and row.item == item]
            lines.append(f"{day_text(day)} {cafe.name_of(item)}: {_weight(plan, parts)}")
    return lines


def _weight(plan: Plan, rows: Sequence[Binned]) -> str:
    grams = sum(row.grams for row in rows)
    cost = money_text(sum(row.cost_cents for row in rows), plan.currency)
    return f"{grouped(grams, 0)} g, {cost}"


def _orders(plan: Plan, cafe: Cafe) -> list[str]:
    lines = []
    for order in orders(plan, cafe):
        total = money_text(order.total_cents, plan.currency)
        by = f"{day_text(order.order_by)} {order.cut_off or ''}".rstrip()
        to = day_text(order.deliver_on)
        lines.append(f"{order.supplier.name}: {total}, order by {by}, comes {to}")
    return lines


def _cautions(plan: Plan, cafe: Cafe) -> list[str]:
    lines = [
        f"{cafe.name_of(dish)}: allergens unknown, no label read for {', '.join(names)}."
        for dish, names in unread_dishes(plan, cafe).items()
    ]
    shown = {row.dish for row in plan.shown}
    unknown = {item for dish in shown for item in nutrition.protein_unknown(cafe, dish)}
    if unknown:
        names = ", ".join(sorted(cafe.name_of(item) for item in unknown))
        lines.append(f"Protein unknown, counted as none: {names}.")
    return [*lines, CHECK_LABELS]
