"""Stretched recipes, places, pars, closed days: a good plan spoilt by hand is refused in words."""

from __future__ import annotations

import math
import random
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from optimiser.cafe import Cafe
from optimiser.plan import Binned, Cook, Open, Plan, Record, RuleResult, Stretch
from optimiser.planner import plan_week
from optimiser.rules import RULE_CLASSES, parse_rule
from optimiser.search import Effort
from optimiser.verify import Verdict, verify
from optimiser.week import Week
from tests import board_weeks
from tests.rule_cases import BOARDS
from tests.stock_week import BEFORE, MON, RULES, THU, TUE, WED, stock_plan, stock_week

WEEK = stock_week()
PLAN = stock_plan()
TABLES = ("cooks", "shown", "buys", "opens", "uses", "stretched", "left", "binned")


def change(plan: Plan, table: str, where: dict[str, Any], **fields: Any) -> Plan:
    """The plan with other fields in the one row that `where` tells."""
    rows = [
        row.model_copy(update=fields) if _is(row, where) else row for row in getattr(plan, table)
    ]
    assert sum(_is(row, where) for row in getattr(plan, table)) == 1
    return plan.model_copy(update={table: tuple(rows)})


def _is(row: Record, where: dict[str, Any]) -> bool:
    return all(getattr(row, name) == value for name, value in where.items())


def drop(plan: Plan, table: str, **where: Any) -> Plan:
    """The plan without the rows that `where` tells."""
    rows = tuple(row for row in getattr(plan, table) if not _is(row, where))
    assert len(rows) < len(getattr(plan, table))
    return plan.model_copy(update={table: rows})


def add(plan: Plan, table: str, *rows: Record) -> Plan:
    return plan.model_copy(update={table: (*getattr(plan, table), *rows)})


def terms(plan: Plan, **more_cents: int) -> Plan:
    """Terms and objective with so many cents more."""
    cents = {name: said + more_cents.get(name, 0) for name, said in plan.terms_cents.items()}
    return plan.model_copy(
        update={"terms_cents": cents, "objective_cents": sum(cents.values()), "bound_cents": 10**6,
                "status": "feasible"}
    )  # fmt: skip


def stretch(more_g: float, used_g: float) -> Plan:
    """Monday's soup stretched by `more_g`, with `used_g` from the squash that is cut for it."""
    plan = change(PLAN, "stretched", SOUP, more_g=more_g)
    return change(plan, "uses", SOUP | {"lot": CUT_MON}, grams=used_g)


def texts(verdict: Verdict) -> str:
    return "\n".join(f"{breach.rule}: {breach.text}" for breach in verdict.breaches)


SOUP = {"date": MON, "dish": "soup", "item": "squash"}
SOUP_RICE = {"date": MON, "dish": "soup", "item": "rice"}
CUT_MON, CUT_THU = f"opened-{MON}-stock-3", f"opened-{THU}-stock-3"
KALE_MON = {"date": MON, "dish": "kale_salad"}


def test_the_plan_holds_all_that_is_spoilt_below() -> None:
    verdict = verify(PLAN, WEEK)
    assert verdict.passed, texts(verdict)
    assert {row.more_g > 0 for row in PLAN.stretched} == {True, False}
    assert any(len(cook.shown) == 2 for cook in PLAN.cooks)
    assert all(getattr(PLAN, table) for table in TABLES)


SPOILT: list[tuple[str, Plan, tuple[str, ...]]] = [
    # Stretched recipes.
    ("stretched beyond the rule", stretch(-140, 510), ("against the recipe's 950 g",)),
    ("stretched beyond half", stretch(-500, 150), ("flexible lines may give 475.00 g",)),
    ("taken without being stretched", drop(PLAN, "stretched", **SOUP), ("need 950.00 g",)),
    ("less stretched than taken", change(PLAN, "stretched", SOUP, more_g=-94), ("uses 855.00 g",)),
    ("stretched the other way", change(PLAN, "stretched", SOUP, more_g=95), ("uses 855.00 g",)),
    (
        "stretched in two rows",
        add(change(PLAN, "stretched", SOUP, more_g=-45), "stretched",
            Stretch(date=MON, dish="soup", item="squash", more_g=-50)),
        ("a line is stretched once",),
    ),
    (
        "a stiff line stretched",
        change(add(PLAN, "stretched", Stretch(**SOUP_RICE, more_g=4)), "uses", SOUP_RICE, grams=44),
        ("flexible lines may give 0.00 g",),
    ),
    (
        "an ingredient that is not in the recipe",
        add(PLAN, "stretched", Stretch(date=MON, dish="soup", item="kale", more_g=4)),
        ("flexible lines may give 0.00 g",),
    ),
    ("a dish not cooked", change(PLAN, "stretched", SOUP, dish="pie"), ("is not cooked that day",)),
    ("on a closed day", change(PLAN, "stretched", SOUP, date=WED), ("not an open day",)),
    ("no number", change(PLAN, "stretched", SOUP, more_g=math.nan), ("not an amount of food",)),
    ("endless", change(PLAN, "stretched", SOUP, more_g=-math.inf), ("not an amount of food",)),
    ("no such item", change(PLAN, "stretched", SOUP, item="gold"), ("no item called 'gold'",)),
    # Places in the row, and rows.
    ("two on one place", change(PLAN, "shown", KALE_MON, place=2), ("have the places 2, 2, 3",)),
    ("a place too far", change(PLAN, "shown", KALE_MON, place=4), ("have the places 2, 3, 4",)),
    ("no place", change(PLAN, "shown", KALE_MON, place=0), ("have the places 0, 2, 3",)),
    ("a negative place", change(PLAN, "shown", KALE_MON, place=-1), ("place is -1",)),
    (
        "a salad in the row of mains",
        change(PLAN, "shown", KALE_MON, course="main"),
        ("is shown as main, but is a salad", "2 dishes shown as main"),
    ),
    (
        "two dishes that swap their rows",
        change(change(PLAN, "shown", KALE_MON, course="main"), "shown",
               {"date": MON, "dish": "soup"}, course="salad"),
        ("kale_salad is shown as main", "soup is shown as salad"),
    ),
    (
        "a part in the cabinet",
        change(change(PLAN, "shown", KALE_MON, dish="pot"), "cooks",
               {"date": MON, "dish": "pot"}, shown=(MON,)),
        ("pot is shown as salad, but is a component",),
    ),
    # Pars and what is left.
    ("more left", change(PLAN, "left", {"item": "rice"}, grams=4000.0), ("replay finds 3210.00",)),
    ("left for more", change(PLAN, "left", {"item": "rice"}, value_cents=1300), ("1284 cents",)),
    ("left twice", add(PLAN, "left", PLAN.left[0]), ("a lot is left over once",)),
    (
        "left of a lot of another name",
        change(PLAN, "left", {"item": "rice"}, lot="stock-2"),
        ("the replay finds none",),
    ),
    ("nothing left", PLAN.model_copy(update={"left": ()}), ("the plan has no such row", "short")),
    (
        "a pack less, the books closed again",
        terms(change(change(PLAN, "buys", {"ingredient": "rice"}, packs=3, cost_cents=1200), "left",
                     {"item": "rice"}, grams=2210.0, value_cents=884),
              purchases=400, left_value=-400),
        ("2,210 g of rice are left, 290 g short",),
    ),
    # What is binned.
    ("a binned row dropped", drop(PLAN, "binned", item="kale"), ("the plan has no such row",)),
    (
        "nothing binned, and no waste",
        terms(PLAN.model_copy(update={"binned": ()}), waste=29),
        ("the plan has no such row", "waste is given as 0 cents"),
    ),
    ("binned too soon", change(PLAN, "binned", {"item": "kale"}, date=MON), ("should be dated",)),
    # Opened things.
    ("opened on another day", change(PLAN, "opens", {"date": TUE}, date=THU), ("no lot",)),
    (
        "opened after it is used",
        change(change(change(PLAN, "opens", {"date": TUE}, date=THU), "uses",
                      {"date": TUE, "item": "squash"}, lot=CUT_THU), "uses",
               {"date": THU, "item": "squash"}, lot=CUT_THU),
        ("nothing yet on that day",),
    ),
    (
        "opened so early that it is over",
        change(change(change(PLAN, "opens", {"date": TUE}, date=MON), "uses",
                      {"date": TUE, "item": "squash"}, lot=CUT_MON), "uses",
               {"date": THU, "item": "squash"}, lot=CUT_MON),
        ("whose last day is 2026-01-07; it has to be good on 2026-01-08",),
    ),
    ("opened on a closed day", change(PLAN, "opens", {"date": TUE}, date=WED), ("an open day",)),
    ("more opened than there is", change(PLAN, "opens", {"date": TUE}, units=2), ("only 1 left",)),
    (
        "a piece opened for the bin",
        add(PLAN, "opens", Open(date=THU, ingredient="squash", units=1,
                                lot=f"bought-{MON}-farm-squash")),
        ("g of opened squash are not used",),
    ),
    ("rice opened", add(PLAN, "opens", Open(date=TUE, ingredient="rice", units=1, lot="stock-2")),
     ("not a lot of whole pieces",)),
    # Lives, closed days, orders.
    (
        "a part past its life",
        change(PLAN, "uses", {"date": THU, "item": "pot"}, lot=f"cooked-{MON}-pot"),
        ("whose last day is",),
    ),
    (
        "kept over the closed day to its last day",
        change(change(change(PLAN, "cooks", {"date": MON, "dish": "rice_salad"}, portions=8,
                             shown=(MON, THU)),
                      "shown", {"date": THU, "dish": "rice_salad"}, cooked_on=MON),
               "cooks", {"date": TUE, "dish": "rice_salad"}, portions=4, shown=(TUE,)),
        ("0 days of its life will be left", "not on open days in a row"),
    ),
    ("cooked on a closed day", add(PLAN, "cooks", Cook(date=WED, dish="pot", portions=4)),
     ("not an open day",)),
    ("a van on the closed day", change(PLAN, "buys", {"ingredient": "rice"}, deliver_on=WED),
     ("not an open day",)),
    (
        "a fridge too full",
        change(PLAN, "buys", {"deliver_on": MON, "ingredient": "kale"}, packs=20, cost_cents=6000),
        ("litres are to be kept cold",),
    ),
    # Money and claims.
    ("sums that are right in sum", terms(PLAN, purchases=100, left_value=-100),
     ("purchases is given as -2900", "left_value is given as 1824")),
    ("a rule left out", PLAN.model_copy(update={"rules": PLAN.rules[1:]}), ("14",)),
    (
        "a rule said to be broken",
        PLAN.model_copy(update={"rules": (
            RuleResult(kind="recipe_stretch", title="Recipes that give a little", holds=False,
                       slack=-1), *PLAN.rules[1:])}),
        ("is reported as broken",),
    ),
    ("binned out of nothing", add(PLAN, "binned", Binned(date=TUE, item="rice", grams=1e-9,
     cost_cents=0)), ("the replay finds none",)),
]  # fmt: skip


@pytest.mark.parametrize(("plan", "words"), [(p, w) for _, p, w in SPOILT],
                         ids=[name for name, _, _ in SPOILT])  # fmt: skip
def test_a_plan_spoilt_by_hand_is_refused_in_words(plan: Plan, words: tuple[str, ...]) -> None:
    verdict = verify(plan, WEEK)
    assert not verdict.passed
    for word in words:
        assert word in texts(verdict)


@pytest.mark.parametrize(
    ("kind", "tighter"),
    [
        ("recipe_stretch", {"pct": 5}),
        ("par_level", {"par_g": 3300}),
        ("fridge_litres", {"litres": 2}),
        ("opened_over_closed", {"things": 0}),
        ("closed_day_life", {"spare_days": 3}),
        ("plate_salt", {"most_g": 0.03}),
    ],
)
def test_the_same_plan_fails_under_a_tighter_rule_or_pays_for_it(
    kind: str, tighter: dict[str, Any]
) -> None:
    at = next(n for n, one in enumerate(RULES) if one["kind"] == kind)
    for price_cents in (None, 1000):
        rule = parse_rule(RULES[at] | tighter | {"price_cents": price_cents})
        week = replace(WEEK, rules=(*WEEK.rules[:at], rule, *WEEK.rules[at + 1 :]))
        over = sum(breach.amount for breach in rule.check(PLAN, WEEK.cafe))
        verdict = verify(PLAN, week)
        assert over > 0 and not verdict.passed
        if price_cents is None:
            assert any(breach.rule == rule.title for breach in verdict.breaches)
        else:
            assert verdict.terms_cents["rule_breaches"] == -math.ceil(1000 * over - 1e-6)


def single_changes(plan: Plan, cafe: Cafe, week: Week) -> Iterator[Plan]:
    """Each field of each row set to what the same field holds elsewhere, and a little more."""
    seen: dict[str, set[Any]] = defaultdict(set)
    for table in TABLES:
        for row in getattr(plan, table):
            for name, value in row.__dict__.items():
                seen[name].add(value)
    seen["dish"] |= set(cafe.dishes)
    seen["item"] |= {*cafe.dishes, *cafe.ingredients}
    for name in ("date", "deliver_on", "cooked_on"):
        seen[name] |= {week.start + timedelta(days=n) for n in range(-1, week.days + 1)}
    for table in TABLES:
        rows = getattr(plan, table)
        for at, row in enumerate(rows):
            yield plan.model_copy(update={table: rows[:at] + rows[at + 1 :]})
            for name, value in row.__dict__.items():
                others = seen[name] - {value}
                if isinstance(value, int | float):
                    others |= {value + 1, value - 1, -value}
                for other in sorted(others - {value}, key=str):
                    changed = row.model_copy(update={name: other})
                    yield plan.model_copy(update={table: (*rows[:at], changed, *rows[at + 1 :])})


def test_no_single_field_can_be_changed_unnoticed() -> None:
    tried = 0
    for plan in single_changes(PLAN, WEEK.cafe, WEEK):
        verdict = verify(plan, WEEK)
        assert not verdict.passed and texts(verdict)
        tried += 1
    assert tried > 2000


def board_week() -> Week:
    """The cafe of the boards under rules of every kind, each with a price of next to nothing."""
    settings = [*BOARDS, {"kind": "food_cost_pct", "by": "day", "pct": 10}]
    rules = tuple(parse_rule({**one, "price_cents": 0.01}) for one in settings)
    cafe = board_weeks.cafe()
    kept = tuple(rule for rule in rules if not rule.faults(cafe))
    return Week(cafe, kept, MON, BEFORE, 3)


def mangled(plan: Plan, cafe: Cafe, week: Week, dice: random.Random) -> Plan:
    """One to four rows changed, and half of the time one dish put in another's place."""
    changes = list(single_changes(plan, cafe, week))
    for one in dice.sample(changes, dice.randint(1, 4)):
        update = {t: getattr(one, t) for t in TABLES if getattr(one, t) != getattr(plan, t)}
        plan = plan.model_copy(update=update)
    if dice.random() < 0.5:
        old, new = dice.choices(list(cafe.dishes), k=2)
        plan = plan.model_copy(
            update={
                table: tuple(
                    row.model_copy(update={"dish": new}) if row.dish == old else row
                    for row in getattr(plan, table)
                )
                for table in ("cooks", "shown", "uses", "stretched")
            }
        )
    return plan


def test_no_rule_of_any_kind_raises_on_a_mangled_plan() -> None:
    week, dice = board_week(), random.Random(3)
    kinds = {rule.kind for rule in week.rules}
    assert len(kinds) >= len(RULE_CLASSES) - 5
    plan = plan_week(week, Effort(seconds=20, work=2)).plan
    assert plan is not None
    judged = 0
    for _ in range(60):
        verdict = verify(mangled(plan, week.cafe, week, dice), week)
        judged += bool(verdict.rule_results)
        assert all(breach.text for breach in verdict.breaches)
    assert judged >= 10
