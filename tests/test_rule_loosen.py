"""Rules loosened for a week that breaks them: enough, and no more than enough."""

from __future__ import annotations

from typing import Any

import pytest

from optimiser.explain import conflict
from optimiser.rule_effects import effects_on
from optimiser.rule_loosen import NOT_LIMITS, Loosened, loosened, mended, steps_of
from optimiser.rules import Rule, parse_rule
from optimiser.rules.catalogue import parameters
from optimiser.rules.pins import Signature
from optimiser.rules.protein import PlateProtein
from tests.rule_cases import SOLVED
from tests.rule_cases.base import CAFE, Case, plan
from tests.rule_weeks import FRI, MON, TUE, WED
from tests.test_explain import cafe, week_of

FACTS = {name for names in NOT_LIMITS.values() for name in names}

BROKEN = [
    pytest.param(case, id=f"{kind}-{number}")
    for kind, cases in SOLVED.items()
    for number, case in enumerate(cases)
]


def values(rule: Rule, name: str) -> list[float]:
    """Everything a whole number may be, and both ends and some between of a fraction."""
    one = next(one for one in parameters(type(rule)) if one.name == name)
    now = getattr(rule, name)
    low, high = (max(-1e6, one.limits.low or 0), min(1e6, one.limits.high or 1e6))
    if isinstance(now, int):
        return list(range(int(low), int(min(high, 3000)) + 1)) + [int(high)]
    return [low + 0.01, high] + [low + (high - low) * share / 50 for share in range(1, 50)]


@pytest.mark.parametrize("case", BROKEN)
def test_a_loosened_rule_allows_the_week_and_one_step_less_does_not(case: Case) -> None:
    rule = case.rule
    assert rule.check(case.broken, case.cafe)
    found = loosened(rule, case.broken, case.cafe)
    if found is None:
        for one in parameters(type(rule)):
            if one.number and getattr(rule, one.name) and one.name not in FACTS:
                tried = [rule.model_copy(update={one.name: v}) for v in values(rule, one.name)]
                assert all(r.faults(case.cafe) or r.check(case.broken, case.cafe) for r in tried)
        return
    assert found.check(case.broken, case.cafe) == [] and found.faults(case.cafe) == []
    assert parse_rule(found.model_dump()) == found
    before, after = rule.model_dump(), found.model_dump()
    differ = [name for name in before if before[name] != after[name]]
    assert differ
    for name in differ:
        was, now = before[name], after[name]
        if isinstance(was, tuple):
            left_out = [one for one in was if one not in now]
            tried = [rule.model_copy(update={name: (one,)}) for one in left_out]
            assert tried and all(one.check(case.broken, case.cafe) for one in tried)
        else:
            step = (1 if now > was else -1) / steps_of(was)
            nearer = found.model_copy(update={name: type(was)(now - step)})
            assert nearer.check(case.broken, case.cafe)


def test_nearly_all_kinds_can_give_in_a_number_or_a_list() -> None:
    given = {
        kind
        for kind, cases in SOLVED.items()
        if any(loosened(one.rule, one.broken, one.cafe) for one in cases)
    }
    assert set(SOLVED) - given == {
        "bar", "dish_colours", "in_season", "neighbours", "not_together", "pin",
        "spacing", "together",
    }  # fmt: skip


def test_two_limits_give_each_as_far_as_it_must() -> None:
    case = SOLVED["plate_protein"][0]
    lean = case.broken
    rule = PlateProtein(worst_g=250, average_g=290)
    found = loosened(rule, lean, case.cafe)
    assert isinstance(found, PlateProtein) and found.check(lean, case.cafe) == []
    assert 0 < (found.worst_g or 0) < 250 and 0 < (found.average_g or 0) < 290


def test_of_a_list_the_days_that_hold_stay() -> None:
    shown = plan(("lentil_salad", MON, (MON,)), ("lentil_salad", FRI, (FRI,)))
    rule = Signature(dish="lentil_salad", days=("mon", "wed", "fri"))
    assert loosened(rule, shown, CAFE) == Signature(dish="lentil_salad", days=("mon", "fri"))


def test_a_rule_that_holds_already_needs_no_change() -> None:
    shown = plan(("lentil_salad", TUE, (TUE,)))
    assert (
        loosened(parse_rule({"kind": "pin", "dish": "lentil_salad", "day": WED}), shown, CAFE)
        is None
    )


SETTINGS: tuple[dict[str, Any], ...] = (
    {"kind": "colours_daily", "colours": 8},
    {"kind": "pin", "dish": "kale_salad", "day": "mon"},
    {"kind": "bar", "dish": "kale_salad", "day": "mon"},
)


def test_each_repair_becomes_rules_under_which_its_week_is_allowed() -> None:
    week = week_of(cafe(), *SETTINGS, days=1)
    assert conflict(week).holds is False
    found = conflict(week).repairs
    assert found
    for repair in found:
        changes = mended(week.rules, repair, week.cafe)
        assert changes
        new = {one.number: one.rule for one in changes}
        rules = [new.get(n, rule) for n, rule in enumerate(week.rules)]
        assert not effects_on(repair.plan, week, [r for r in rules if r is not None]).broken
        assert effects_on(repair.plan, week, week.rules).broken
        assert Loosened(0, week.rules[0].model_copy(update={"colours": 8})) not in changes
