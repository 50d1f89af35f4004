"""Every rule, written into the real model, says the same as its check on every small week.

Boards of a three-day cafe are fixed one after the other; the solver chooses what is
left to choose. There are 432 boards; one in EVERY is tried, so that all is quick.
With a price on the rule, the model's breach must be what `check` counts in the plan;
without, a week exists exactly if that breach is nil.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import product
from typing import Any

import pytest

from optimiser.cafe import (
    COMPONENT,
    Cafe,
    Course,
    Cover,
    Dish,
    Form,
    Kitchen,
    Lot,
    Served,
    State,
    Supplier,
)
from optimiser.model import Model
from optimiser.planner import finished
from optimiser.rules import RULE_CLASSES, parse_rule
from optimiser.runs import Run
from optimiser.solver import Limits, Solver
from optimiser.verify import verify
from optimiser.week import Week
from tests.small_cafe import ingredient, line, offer

MON, TUE, WED = (date(2026, 1, day) for day in (5, 6, 7))
DAYS = (MON, TUE, WED)
FAR = WED + timedelta(days=30)
PRICE_CENTS = 1000.0
"""Dear enough that no breach is bought for what it saves."""

EVERY = 17
"""Shares no factor with the 16 rows of mains and 27 of salads, so both are mixed."""

CASES: tuple[dict[str, Any], ...] = (
    {"kind": "spacing", "gap_days": 2},
    {"kind": "spacing", "gap_days": 3, "one_cook_counts_once": True},
    {"kind": "spacing", "gap_days": 3, "course": "salad"},
    {"kind": "weekly_cap", "days": 1, "course": "salad"},
    {"kind": "weekly_cap", "days": 2},
    {"kind": "hero_daily", "dishes": 1},
    {"kind": "colours_daily", "colours": 2},
    {"kind": "main_colour_cap", "course": None, "dishes": 1},
    {"kind": "protein_dishes", "dishes": 1, "protein_g": 5},
    {"kind": "plate_protein", "worst_g": 4.1, "average_g": 5},
    {"kind": "portion_cost_cap", "cap_cents": 30},
    {"kind": "food_cost_pct", "pct": 2.5},
    {"kind": "purchase_budget", "budget_cents": 300},
    {"kind": "station_minutes", "station": "oven"},
    {"kind": "station_minutes", "station": "hands_on", "share_pct": 70},
    {"kind": "use_up", "item": "kale"},
    {"kind": "use_up", "item": "squash", "share_pct": 60},
    {"kind": "use_up", "item": "rice", "share_pct": 90},
    {"kind": "use_up", "item": "pot"},
    {"kind": "pin", "dish": "kale_salad", "day": "tue"},
    {"kind": "bar", "dish": "rice_salad", "day": MON},
    {"kind": "not_together", "a": "bake", "b": "kale_salad"},
    {"kind": "not_together", "a": "stew", "b": "rice_salad"},
)


def cafe() -> Cafe:
    """One main and one salad a day; two mains, three salads, a cooked part."""
    shelf = [
        ingredient("kale", Form.LOOSE, keeps_days=3, colour="green", protein_g=4),
        ingredient("squash", Form.WHOLE, piece_g=500, keeps_days=9, opened_keeps_days=2,
                   colour="orange", protein_g=1),
        ingredient("rice", Form.DRY, keeps_days=365, colour="white", protein_g=8),
    ]  # fmt: skip
    return Cafe(
        name="Rules",
        courses={
            "main": Course(slots=1, price_cents=1200, take_up=0.5, portion_g=100),
            "salad": Course(slots=1, price_cents=700, take_up=0.5, portion_g=100),
        },
        plate={"main": 1, "salad": 1},
        kitchen=Kitchen(hands_on_min=(120.0,) * 7, oven_min=(60.0,) * 7),
        ingredients={one.id: one for one in shelf},
        suppliers={"farm": Supplier(id="farm", name="Farm", delivers=frozenset(range(7)))},
        offers=(
            offer("kale", "farm", 200, pack_g=400.0, pack_qty=400, pack_unit="g"),
            offer("squash", "farm", 150, pack_g=500.0, pack_unit="each", pieces=1),
            offer("rice", "farm", 300),
        ),
        dishes={dish.id: dish for dish in _dishes()},
        stock=(
            Lot(id="stock-1", item="kale", state=State.WHOLE, qty=300, unit="g", grams=300,
                use_by=TUE),
            Lot(id="stock-2", item="squash", state=State.WHOLE, qty=1, unit="each", grams=500,
                units=1, use_by=TUE),
            Lot(id="stock-3", item="rice", state=State.WHOLE, qty=400, unit="g", grams=400),
            Lot(id="stock-4", item="pot", state=State.COOKED, qty=250, unit="g", grams=250,
                use_by=MON),
            Lot(id="stock-5", item="squash", state=State.WHOLE, qty=1, unit="each", grams=500,
                units=1, use_by=FAR),
        ),
        covers={day: Cover(expected=8, low=8, high=8) for day in DAYS},
        history=(Served(day=date(2026, 1, 3), dish="kale_salad", cooked=4, sold=4),),
    )  # fmt: skip


def _dishes() -> list[Dish]:
    common: dict[str, Any] = {
        "portions": 2, "portion_g": 100, "step_portions": 2, "max_portions": 8,
        "method": "boiled", "hands_on_min": 15, "hands_on_min_per_10": 30,
    }  # fmt: skip
    return [
        Dish(id="stew", name="Stew", course="main", hold_days=2, lines=(line("pot", 150),),
             **common),
        Dish(id="bake", name="Bake", course="main", hold_days=1, oven_min=45,
             lines=(line("squash", 200),), **common),
        Dish(id="kale_salad", name="Kale salad", course="salad", lines=(line("kale", 150),),
             **common),
        Dish(id="rice_salad", name="Rice salad", course="salad", lines=(line("rice", 150),),
             **common),
        Dish(id="squash_salad", name="Squash salad", course="salad", oven_min=30,
             lines=(line("squash", 150), line("kale", 50)), **common),
        Dish(id="pot", name="Pot", course=COMPONENT, hold_days=2, lines=(line("rice", 80),),
             **common),
    ]  # fmt: skip


def boards(model: Model) -> Iterator[tuple[Run, ...]]:
    """Every set of runs that fills both slots on all days."""
    filling = {
        course: [
            chosen
            for count in range(1, len(DAYS) + 1)
            for chosen in _sequences([r for r in model.runs if r.course == course], count)
        ]
        for course in ("main", "salad")
    }
    for mains, salads in product(*filling.values()):
        yield (*mains, *salads)


def _sequences(runs: list[Run], count: int, at: int = 0) -> Iterator[tuple[Run, ...]]:
    """Runs one after another from day `at` to the last."""
    if at == len(DAYS):
        yield ()
    elif count:
        for run in runs:
            if run.shown[0] == DAYS[at]:
                for rest in _sequences(runs, count - 1, at + len(run.shown)):
                    yield (run, *rest)


def fixed(model: Model, board: tuple[Run, ...]) -> dict[int, tuple[float, float]]:
    """Column bounds that allow this board only."""
    chosen = {model.run_column[run.index] for run in board}
    return {j: (1.0, 1.0) if j in chosen else (0.0, 0.0) for j in model.run_column.values()}


def week_with(settings: dict[str, Any], this: Cafe | None = None) -> Week:
    """Monday to Wednesday under one rule."""
    return Week(this or cafe(), (parse_rule(settings),), MON, date(2026, 1, 2), 3)


def compare(settings: dict[str, Any], this: Cafe | None = None) -> tuple[int, int]:
    """Boards under the rule, with a price and without; how many kept, how many broke it."""
    week = week_with({**settings, "price_cents": PRICE_CENTS}, this)
    priced, hard = Model(week), Model(week_with(settings, this))
    priced_solver, hard_solver = Solver(priced.lp), Solver(hard.lp)
    kept = broken = 0
    hard_boards = {tuple(r.name for r in board): board for board in boards(hard)}
    for board in list(boards(priced))[::EVERY]:
        priced_solver.restrict(fixed(priced, board))
        solved = priced_solver.solve(Limits(gap_cents=0.01))
        assert solved.values is not None
        by_rows = sum(solved.values[j] for j, _ in priced.breach_cents)
        plan = finished(priced, solved.values, solved.bound)
        found = week.rules[0].check(plan, week.cafe)
        names = tuple(run.name for run in board)
        assert by_rows == pytest.approx(sum(b.amount for b in found), abs=0.02), names
        assert verify(plan, week).breaches == (), names
        hard_solver.restrict(fixed(hard, hard_boards[names]))
        assert hard_solver.solve(Limits()).infeasible == (by_rows > 0.02), names
        kept, broken = kept + (not found), broken + bool(found)
    return kept, broken


@pytest.mark.parametrize("settings", CASES, ids=lambda s: "-".join(str(v) for v in s.values()))
def test_rows_and_check_agree_on_every_board(settings: dict[str, Any]):
    kept, broken = compare(settings)
    # Squash can be cut, and rice cooked into a part, for the sake of the rule alone.
    free = settings["kind"] == "use_up" and settings["item"] in ("squash", "rice")
    assert kept and (broken or free), "some boards keep the rule, some break it"


def test_every_kind_of_rule_is_compared():
    kinds = {rule.model_fields["kind"].default for rule in RULE_CLASSES}
    assert {case["kind"] for case in CASES} == kinds


def two_lots(item: str, first: date | None, second: date | None, state: State) -> Cafe:
    """The cafe with two stock lots of 300 g of one item and no other stock."""
    lots = tuple(
        Lot(id=f"stock-{n}", item=item, state=state, qty=300, unit="g", grams=300, use_by=day)
        for n, day in enumerate((first, second), 1)
    )
    return cafe().model_copy(update={"stock": lots})


@pytest.mark.parametrize(
    ("item", "first", "second", "state"),
    [
        ("rice", None, None, State.WHOLE),
        ("kale", TUE, WED, State.WHOLE),
        ("kale", WED, FAR, State.WHOLE),
        ("kale", FAR, FAR, State.WHOLE),
        ("squash", WED, FAR, State.OPENED),
        ("pot", TUE, FAR, State.COOKED),
    ],
)
def test_a_part_of_each_of_two_lots_is_used_up(
    item: str, first: date | None, second: date | None, state: State
):
    settings = {"kind": "use_up", "item": item, "share_pct": 50}
    kept, _ = compare(settings, two_lots(item, first, second, state))
    assert kept
