"""Rows and check agree on all 324 boards of the three-day cafe, board by board.

`test_rules_in_the_model` asks the solver about one board in 11. Here the rows of the
rule are evaluated without one, so that every board can be tried, with a price on the
rule and without.
"""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import Any

import pytest

from optimiser.cafe import Cafe
from optimiser.model import Model
from optimiser.plan import Breach, Plan
from optimiser.rules import RULE_CLASSES, Rule, parse_rule
from optimiser.rules.base import Rows
from optimiser.rules.variety import WeeklyCap
from optimiser.week import Week
from tests.board_rows import Board, NotOnABoard, board_of, board_rows
from tests.board_weeks import MON, boards, cafe
from tests.rule_cases import BOARDS

BY_SOLVER_ONLY = frozenset(
    {
        "delivery_budget",
        "finish_opened",
        "fridge_litres",
        "opened_over_closed",
        "par_level",
        "purchase_budget",
        "recipe_stretch",
        "use_up",
    }
)
"""What these ask about is not settled by the board: many purchases, cuts, uses and rests
go with one board, and the solver chooses among them. `test_rules_in_the_model` compares
them, on the solver's choice."""

NEVER_BROKEN = {
    "closed_day_life": "no day of these weeks is closed",
    "neighbours": "a row of one dish has no neighbours",
}
"""Kinds that no board of this cafe can break; other tests have weeks that do."""

HOW_MANY = 324
ON_BOARDS = [settings for settings in BOARDS if settings["kind"] not in BY_SOLVER_ONLY]


@cache
def the_model() -> Model:
    return Model(Week(cafe(), (), MON, date(2026, 1, 2), 3))


@cache
def every_board() -> tuple[Board, ...]:
    return tuple(board_of(the_model(), runs) for runs in boards(the_model()))


def compare(rule: Rule) -> tuple[int, int]:
    """Boards that keep the rule and that break it, rows and check agreeing on each."""
    model = the_model()
    rows = board_rows(rule, model.week, model.runs, every_board()[0].plan)
    kept = broken = 0
    for board in every_board():
        by_check = sorted(breach.amount for breach in rule.check(board.plan, model.cafe))
        by_rows = rows.breaches_on(board)
        names = [run.name for run in board.runs]
        assert by_rows == pytest.approx(by_check, abs=1e-5), names
        kept, broken = kept + (not by_check), broken + bool(by_check)
    return kept, broken


def named(settings: dict[str, Any]) -> str:
    return "-".join(str(value) for value in settings.values())


@pytest.mark.parametrize("settings", ON_BOARDS, ids=named)
def test_rows_and_check_agree_on_every_board(settings: dict[str, Any]) -> None:
    hard = compare(parse_rule(settings))
    assert hard == compare(parse_rule({**settings, "price_cents": 1000.0}))
    kept, broken = hard
    assert kept + broken == HOW_MANY and kept
    assert bool(broken) == (settings["kind"] not in NEVER_BROKEN)


def test_every_kind_is_compared_here_or_by_the_solver() -> None:
    kinds = {str(rule.model_fields["kind"].default) for rule in RULE_CLASSES}
    assert BY_SOLVER_ONLY | NEVER_BROKEN.keys() <= kinds
    assert {settings["kind"] for settings in ON_BOARDS} == kinds - BY_SOLVER_ONLY


@pytest.mark.parametrize("kind", sorted(BY_SOLVER_ONLY))
def test_a_kind_left_to_the_solver_does_ask_for_more_than_the_board(kind: str) -> None:
    model = the_model()
    for settings in BOARDS:
        if settings["kind"] == kind:
            with pytest.raises(NotOnABoard):
                board_rows(parse_rule(settings), model.week, model.runs, every_board()[0].plan)


def test_all_boards_are_there_once_and_some_cook_a_part() -> None:
    boards_seen = {board.runs for board in every_board()}
    assert len(boards_seen) == len(every_board()) == HOW_MANY
    cooks = [{cook.dish for cook in board.plan.cooks} for board in every_board()]
    assert 0 < sum("pot" in dishes for dishes in cooks) < HOW_MANY
    assert all(("pot" in dishes) == ("stew" in dishes) for dishes in cooks)


# -- the comparison can fail ----------------------------------------------


class LooksAway(WeeklyCap):
    """Its check does not see the last breach: Σ ≤ 1."""

    def check(self, plan: Plan, cafe: Cafe) -> list[Breach]:
        return super().check(plan, cafe)[:-1]


class Forgets(WeeklyCap):
    """Its rows leave one dish out: Σ ≤ 1."""

    def add_to(self, model: Rows) -> None:
        before = len(model.rows)  # type: ignore[attr-defined]
        super().add_to(model)
        del model.rows[before]  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    "rule", [LooksAway(days=2), Forgets(days=2)], ids=lambda r: type(r).__name__
)
def test_a_check_or_a_row_that_is_missing_is_seen(rule: Rule) -> None:
    compare(WeeklyCap(days=2))
    with pytest.raises(AssertionError):
        compare(rule)
