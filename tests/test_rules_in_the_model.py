"""Every rule, written into the real model, says the same as its check on every small week.

Boards of a three-day cafe are fixed one after the other; the solver chooses what is
left to choose. There are 324 boards; one in EVERY is tried, so that all is quick.
With a price on the rule, the model's breach must be what `check` counts in the plan;
without, a week exists exactly if that breach is nil.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from optimiser.cafe import (
    Cafe,
    Lot,
    State,
)
from optimiser.finish import finished
from optimiser.model import Model
from optimiser.rules import RULE_CLASSES, parse_rule
from optimiser.solver import Limits, Solver
from optimiser.verify import verify
from optimiser.week import Week
from tests.board_weeks import FAR, MON, TUE, WED, boards, cafe, fixed
from tests.rule_cases import BOARDS

PRICE_CENTS = 1000.0
"""Dear enough that no breach is bought for what it saves."""

EVERY = 11
"""Shares no factor with the 12 rows of mains and 27 of salads, so both are mixed."""


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


@pytest.mark.parametrize("settings", BOARDS, ids=lambda s: "-".join(str(v) for v in s.values()))
def test_rows_and_check_agree_on_every_board(settings: dict[str, Any]):
    kept, broken = compare(settings)
    # Squash can be cut, and rice cooked into a part, for the sake of the rule alone.
    free = settings["kind"] == "use_up" and settings["item"] in ("squash", "rice")
    # Anything on the shelf can be bought; no line need be stretched beyond the rule.
    free = free or settings["kind"] in ("par_level", "recipe_stretch")
    # No day of these weeks is closed; `test_money_kitchen_rules` has weeks with one.
    free = free or settings["kind"] == "closed_day_life"
    # A row of one dish has no neighbours; `test_display_order` has longer rows.
    free = free or settings["kind"] == "neighbours"
    assert kept and (broken or free), "some boards keep the rule, some break it"


def test_every_kind_of_rule_is_compared():
    kinds = {rule.model_fields["kind"].default for rule in RULE_CLASSES}
    assert {case["kind"] for case in BOARDS} == kinds


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
