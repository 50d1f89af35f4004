"""A menu whose whole packs break a hard rule is changed until they keep it."""

from __future__ import annotations

import math

import pytest

from optimiser.cafe import Form
from optimiser.ease import week_of_menu
from optimiser.finish import finished
from optimiser.model import Model
from optimiser.rules import parse_rule
from optimiser.solver import Limits, Solver, Values
from optimiser.verify import verify
from optimiser.week import Week
from tests.small_cafe import ingredient, line, offer
from tests.story_cafe import BEFORE, MON, cafe, dish

KALE = ingredient("kale", Form.LOOSE, keeps_days=3)
LEEK = ingredient("leek", Form.LOOSE, keeps_days=3)
CHARD = ingredient("chard", Form.LOOSE, keeps_days=3)


def week_with(*settings: dict) -> Week:
    """Soup of 300 g of kale and 100 g of leek, each in sacks of 4 kg for 450 cents, or of
    400 g of chard for 300 cents, by the 400 g."""
    packs = (
        offer("kale", "farm", 450, pack_qty=4, pack_g=4000),
        offer("leek", "farm", 450, pack_qty=4, pack_g=4000),
        offer("chard", "farm", 300, pack_qty=0.4, pack_g=400),
    )
    dishes = [
        dish("kale_soup", line("kale", 300), line("leek", 100)),
        dish("chard_soup", line("chard", 400)),
    ]
    this = cafe(dishes, [KALE, LEEK, CHARD], [MON], offers=packs)
    return Week(this, tuple(parse_rule(one) for one in settings), MON, BEFORE, 1)


def kale_menu(model: Model) -> Values:
    """The menu that looks best with packs in fractions: 45 cents of kale and leek."""
    relaxed = Solver(model.lp, relax=model.lumps()).solve(Limits())
    assert relaxed.values is not None
    chosen = [run.dish for run in model.runs if relaxed.values[model.run_column[run.index]] > 0.5]
    assert chosen == ["kale_soup"]
    return relaxed.values


@pytest.mark.parametrize(
    "rule",
    [
        {"kind": "purchase_budget", "budget_cents": 500},
        {"kind": "delivery_budget", "budget_cents": 500},
    ],
    ids=lambda rule: rule["kind"],
)
def test_a_menu_that_only_fits_in_fractions_of_packs_is_mended(rule: dict):
    week = week_with(rule)
    model = Model(week)
    values = week_of_menu(model, kale_menu(model), 0, lambda: math.inf, lambda: False)
    assert values is not None
    plan = finished(model, values, math.inf)
    assert verify(plan, week).passed
    assert [cook.dish for cook in plan.cooks] == ["chard_soup"]


def test_where_no_rule_hangs_on_packs_there_is_nothing_to_mend():
    model = Model(week_with({"kind": "weekly_cap"}))
    assert week_of_menu(model, kale_menu(model), 0, lambda: math.inf, lambda: False) is None


def test_mending_stops_when_asked_or_out_of_time():
    model = Model(week_with({"kind": "purchase_budget", "budget_cents": 500}))
    menu = kale_menu(model)
    assert week_of_menu(model, menu, 0, lambda: math.inf, lambda: True) is None
    assert week_of_menu(model, menu, 0, lambda: 0.1, lambda: False) is None


def test_without_a_limit_of_time_no_round_looks_at_the_clock(monkeypatch: pytest.MonkeyPatch):
    model = Model(week_with({"kind": "purchase_budget", "budget_cents": 500}))
    menu, seconds, solve = kale_menu(model), [], Solver.solve

    def noted(solver: Solver, limits: Limits, **how):
        seconds.append(limits.seconds)
        return solve(solver, limits, **how)

    monkeypatch.setattr(Solver, "solve", noted)
    assert week_of_menu(model, menu, 0, lambda: math.inf, lambda: False) is not None
    assert len(seconds) > 1 and set(seconds) == {math.inf}
