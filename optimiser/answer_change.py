"""What if: the answer about changed facts, with the menu kept and with a few cooks changed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from optimiser.answer import (
    Answer,
    Grid,
    bar,
    cooks_words,
    more_or_less,
    placed_words,
    signed,
)
from optimiser.answer_change_data import (
    CHANGE,
    change_data,
    change_rows,
    compared,
    gone,
    plans_of,
)
from optimiser.answer_rules import conflict_data, conflict_rows
from optimiser.cafe import Cafe
from optimiser.explain import Conflict
from optimiser.plan import Plan
from optimiser.plan_diff import plan_diff
from optimiser.report_base import CRUMB_G, day_text, money_text, number_text
from optimiser.rules.words import counted
from optimiser.steps import Step
from optimiser.stock_report import Fate, fate_of
from optimiser.what_if import BuyChange, Comparison, buy_changes


def change_answer(found: Comparison, plan: Plan, cafe: Cafe, stopped: bool = False) -> Answer:
    """`plan`: the one that was asked about, as it came."""
    lines = [*found.told, _before_words(found, plan)]
    lines += _kept_words(found) if found.steps else _mended_words(found)
    return Answer(
        question=CHANGE,
        about="",
        title="What if",
        lines=tuple(lines),
        data=change_data(found, cafe),
        rows=tuple(change_rows(found, cafe)),
        grids=tuple(_grids(found, cafe)),
        plans=plans_of(found),
        complete=found.best is not None and not stopped,
    )


def with_conflict(answer: Answer, found: Conflict) -> Answer:
    """Where no week mends a change: what the rules have to do with it."""
    if found.holds:
        return answer
    return replace(
        answer,
        lines=(*answer.lines, *found.sentences()),
        data=answer.data | {"conflict": conflict_data(found)},
        rows=(*answer.rows, *conflict_rows(found)),
        complete=found.holds is False,
        impossible=found.holds is False,
    )


# -- text -----------------------------------------------------------------


def _before_words(found: Comparison, plan: Plan) -> str:
    currency = plan.currency
    line = f"Before: this week's menu earns {money_text(found.before.objective_cents, currency)}"
    more = found.before.objective_cents - plan.objective_cents
    if abs(more) > 1:
        line += f", {more_or_less(more, currency)} than in the plan, packs chosen afresh"
    return f"{line}."


def _kept_words(found: Comparison) -> list[str]:
    currency = found.before.currency
    kept, best, before = found.steps[0], found.steps[-1], found.steps_before[-1]
    earns = money_text(kept.plan.objective_cents, currency)
    more = more_or_less(-(found.keeping_costs_cents or 0), currency)
    lines = [f"Menu kept: it earns {earns}, {more}. Exact {kept.within()}."]
    if len(found.steps) == 1:
        return lines
    if best.enters:
        now = money_text(best.plan.objective_cents, currency)
        against = best.plan.objective_cents - found.before.objective_cents
        lines.append(
            f"Best with {cooks_words(best.changes)} changed: {now}, "
            f"{more_or_less(against, currency)} than before the change and "
            f"{best.money(currency)} more than with the menu kept."
        )
    else:
        lines.append(f"With {cooks_words(best.changes)} changed nothing better was found.")
    lines.append(_exact_words(best))
    lines += [line for step in found.steps[1:] for line in _step_words(step)]
    return [*lines, _doing_words(best, before, currency)]


def _exact_words(step: Step) -> str:
    if step.exact:
        return f"Exact {step.within()}."
    return f"Not proven to the end {step.within()}: the gain is told as a range."


def _step_words(step: Step) -> list[str]:
    """What a step changes, if anything."""
    if not step.enters:
        return []
    cooks = cooks_words(step.changes).capitalize()
    coming, going = placed_words(step.enters), placed_words(step.leaves)
    return [f"{cooks} changed: in comes {coming}; out goes {going}."]


def _doing_words(best: Step, before: Step, currency: str) -> str:
    """How much of the gain is the doing of the change; told only if both are proven."""
    line = f"The same freedom would have brought {before.money(currency)} even before the change"
    if before.changes != best.changes:
        return "What as many changes would have brought before was not looked at to the end."
    if not (best.exact and before.exact):
        return f"{line}; how much is the doing of the change is not proven."
    more = best.gain_cents - before.gain_cents
    if round(more) == 0:
        return f"{line}: the change itself gives no new reason to change cooks."
    return f"{line}: the change makes changing cooks worth {more_or_less(more, currency)}."


def _mended_words(found: Comparison) -> list[str]:
    currency = found.before.currency
    lines = [f"The menu cannot be kept: {found.reason or 'why was not found out'}."]
    if found.mended is None:
        return [*lines, "No week was found that mends it in the time given."]
    near = "" if found.mended_changes is None else f" ({cooks_words(found.mended_changes)} changed)"
    earns = money_text(found.mended.objective_cents, currency)
    more = more_or_less(found.mended.objective_cents - found.before.objective_cents, currency)
    lines.append(f"The nearest week found{near} earns {earns}, {more} than before.")
    gap = found.mended.gap_cents
    if gap is None:
        lines.append("How good it is has not been proven.")
    elif gap > 1:
        lines.append(f"No week so near earns more than {money_text(gap, currency)} above it.")
    else:
        lines.append("No week so near earns more.")
    return lines


def _grids(found: Comparison, cafe: Cafe) -> list[Grid]:
    grids = [_steps_grid(found)] if found.steps else []
    if found.best is not None and not found.steps:
        grids.append(_mended_grid(found.before, found.best, cafe))
    for title, plan in compared(found):
        for lot in found.lots:
            grids.append(_lot_grid(title, fate_of(plan, lot), cafe))
        if changes := buy_changes(found.before, plan):
            grids.append(_buys_grid(f"Purchases that change, {title}", changes, cafe))
    return grids


def _steps_grid(found: Comparison) -> Grid:
    """Steps down, money against before, and a bar of what is lost (-) or won (+)."""
    currency, base = found.before.currency, found.before.objective_cents
    against = [step.plan.objective_cents - base for step in found.steps]
    most = max(map(abs, against))
    rows = tuple(
        (
            "menu kept" if step.changes == 0 else f"{cooks_words(step.changes)} changed",
            money_text(step.plan.objective_cents, currency),
            signed(more, currency),
            bar(abs(more), most, "-" if more < 0 else "+"),
        )
        for step, more in zip(found.steps, against, strict=True)
    )
    return Grid("Against before the change", ("", "earns", "against", ""), rows, bars=(3,))


def _mended_grid(before: Plan, after: Plan, cafe: Cafe) -> Grid:
    rows = [
        (day_text(day), cafe.name_of(dish), "comes in")
        for day, dish in sorted(plan_diff(after, before).fresh)
    ]
    rows += [(day_text(d), cafe.name_of(dish), "leaves") for d, dish in gone(before, after)]
    return Grid("In the cabinet", ("day", "dish", ""), tuple(sorted(rows)), words=(0, 1, 2))


def _lot_grid(title: str, fate: Fate, cafe: Cafe) -> Grid:
    """Where more of a thing goes."""
    rows = [
        (day_text(day), cafe.name_of(dish), f"{number_text(grams)} g")
        for day, dish, grams in fate.used_g()
    ]
    for what, grams in (("still good after the week", fate.left_g), ("binned", fate.binned_g)):
        if grams >= CRUMB_G:
            rows.append(("", what, f"{number_text(grams)} g"))
    name = cafe.name_of(fate.lot.item)
    return Grid(f"Where {name} goes, {title}", ("day", "to", "amount"), tuple(rows), words=(0, 1))


def _buys_grid(title: str, changes: Sequence[BuyChange], cafe: Cafe) -> Grid:
    """Packs of the week, deliveries together; what only moves to another day is counted."""
    totals = _totals(changes)
    rows = [
        (
            f"{cafe.name_of(item)}, {pack}",
            cafe.suppliers[supplier].name,
            f"{more:+d}",
            signed(more_cents, cafe.currency),
        )
        for (supplier, item, pack), (more, more_cents) in sorted(
            totals.items(), key=lambda pair: pair[1][1]
        )
        if more
    ]
    if moved := len(totals) - len(rows):
        rows.append((f"on another day only: {counted(moved, 'thing')}", "", "", ""))
    return Grid(title, ("pack", "from", "packs", "cost"), tuple(rows), words=(0, 1))


def _totals(changes: Sequence[BuyChange]) -> dict[tuple[str, str, str], tuple[int, int]]:
    """Packs and cents more over the week, by supplier, ingredient and pack."""
    totals: dict[tuple[str, str, str], tuple[int, int]] = defaultdict(lambda: (0, 0))
    for one in changes:
        key = (one.supplier, one.ingredient, one.pack)
        packs, more_cents = totals[key]
        more = one.packs_after - one.packs_before
        totals[key] = (packs + more, more_cents + one.more_cents)
    return totals
