"""What if: the answer about changed facts as JSON and as rows of the CSV."""

from __future__ import annotations

from datetime import date
from typing import Any

from optimiser.answer import cents, csv_row, step_data, step_rows
from optimiser.cafe import Cafe
from optimiser.plan import Plan
from optimiser.plan_diff import plan_diff
from optimiser.report_base import Row
from optimiser.stock_report import Fate, fate_of
from optimiser.what_if import BuyChange, Comparison, buy_changes

CHANGE = "change"


def plans_of(found: Comparison) -> dict[str, Plan]:
    """The weeks of a comparison by name."""
    named = {"before": found.before, "kept": found.kept, "best": found.best}
    return {name: plan for name, plan in named.items() if plan is not None}


def compared(found: Comparison) -> list[tuple[str, Plan]]:
    """The weeks whose purchases are told, and what they are called."""
    named = []
    if found.kept is not None:
        named.append(("menu kept", found.kept))
    changed = found.mended is not None or (found.steps and found.steps[-1].enters)
    if found.best is not None and changed:
        named.append(("menu changed", found.best))
    return named


def gone(before: Plan, after: Plan) -> list[tuple[date, str]]:
    """Days and dishes that left the cabinet."""
    return [
        (day, dish)
        for (day, _), dishes in sorted(plan_diff(after, before).gone.items())
        for dish in dishes
    ]


def change_data(found: Comparison, cafe: Cafe) -> dict[str, Any]:
    """In JSON, under stable keys."""
    best = found.best
    return {
        "changes": list(found.told),
        "before_cents": found.before.objective_cents,
        "kept_cents": None if found.kept is None else found.kept.objective_cents,
        "best_cents": None if best is None else best.objective_cents,
        "keeping_costs_cents": found.keeping_costs_cents,
        "changing_saves_cents": cents(found.changing_saves_cents),
        "steps": [step_data(step, step.changes) for step in found.steps],
        "steps_before": [step_data(step, step.changes) for step in found.steps_before],
        "why_not_kept": found.reason or None,
        "mended": None if found.mended is None else _mended_data(found.before, found, cafe),
        "purchases": {
            title.replace(" ", "_"): [_buy_data(one) for one in buy_changes(found.before, plan)]
            for title, plan in compared(found)
        },
        "lots": {
            title.replace(" ", "_"): [_lot_data(fate_of(plan, lot)) for lot in found.lots]
            for title, plan in compared(found)
        },
    }


def _lot_data(fate: Fate) -> dict[str, Any]:
    return {
        "lot": fate.lot.id,
        "item": fate.lot.item,
        "uses": [
            {"date": day.isoformat(), "dish": dish, "grams": round(grams, 1)}
            for day, dish, grams in fate.used_g()
        ],
        "left_g": round(fate.left_g, 1),
        "binned_g": round(fate.binned_g, 1),
    }


def _mended_data(before: Plan, found: Comparison, cafe: Cafe) -> dict[str, Any]:
    mended = found.mended
    assert mended is not None
    fresh = sorted(plan_diff(mended, before).fresh)
    left = gone(before, mended)
    return {
        "cooks_changed": found.mended_changes,
        "objective_cents": mended.objective_cents,
        "bound_cents": mended.bound_cents,
        "enters": [{"date": str(d), "dish": dish, "name": cafe.name_of(dish)} for d, dish in fresh],
        "leaves": [{"date": str(d), "dish": dish, "name": cafe.name_of(dish)} for d, dish in left],
    }


def _buy_data(one: BuyChange) -> dict[str, Any]:
    return {
        "deliver_on": one.deliver_on.isoformat(),
        "supplier": one.supplier,
        "ingredient": one.ingredient,
        "pack": one.pack,
        "packs_before": one.packs_before,
        "packs_after": one.packs_after,
        "more_cents": one.more_cents,
    }


def change_rows(found: Comparison, cafe: Cafe) -> list[Row]:
    """In the CSV."""
    rows = [csv_row(CHANGE, "", "if", note=told) for told in found.told]
    for name, plan in plans_of(found).items():
        rows.append(csv_row(CHANGE, "", name, cents=plan.objective_cents, note="margin"))
    if found.reason:
        rows.append(csv_row(CHANGE, "", "why_not_kept", note=found.reason))
    if found.mended is not None and not found.steps:
        fresh = sorted(plan_diff(found.mended, found.before).fresh)
        for row, places in (("enters", fresh), ("leaves", gone(found.before, found.mended))):
            rows += [
                csv_row(CHANGE, "", row, date=day, id=dish, name=cafe.name_of(dish))
                for day, dish in places
            ]
    for step in found.steps:
        rows += step_rows(CHANGE, "", step, step.changes)
    for step in found.steps_before:
        note = "gain before the change"
        rows.append(
            csv_row(CHANGE, "", "step_before", cooks_changed=step.changes, cents=step.gain_cents,
                    cents_at_most=step.at_most_cents, note=note)
        )  # fmt: skip
    for title, plan in compared(found):
        for lot in found.lots:
            rows += _lot_rows(title, fate_of(plan, lot), cafe)
        for one in buy_changes(found.before, plan):
            more = one.packs_after - one.packs_before
            rows.append(
                csv_row(CHANGE, "", "purchase", date=one.deliver_on, id=one.ingredient,
                        name=cafe.name_of(one.ingredient), amount=more,
                        unit=f"packs of {one.pack}", cents=one.more_cents, note=title)
            )  # fmt: skip
    return rows


def _lot_rows(title: str, fate: Fate, cafe: Cafe) -> list[Row]:
    lot = fate.lot.id
    rows = [
        csv_row(CHANGE, lot, "lot_used", date=day, id=dish, name=cafe.name_of(dish),
                amount=round(grams, 1), unit="g", note=title)
        for day, dish, grams in fate.used_g()
    ]  # fmt: skip
    for row, grams in (("lot_left", fate.left_g), ("lot_binned", fate.binned_g)):
        rows.append(csv_row(CHANGE, lot, row, amount=round(grams, 1), unit="g", note=title))
    return rows
