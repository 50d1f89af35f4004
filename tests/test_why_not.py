"""Why not and why: what having a dish costs, what is in its way, and when it comes in by itself.

What stands behind an answer is undone for real: the rule is taken out of the week, the price
written into the tables, and the week asked again.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace

import pytest

from optimiser.change_base import with_cafe
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.price_lines import PriceLine
from optimiser.rules import parse_rule
from optimiser.swaps import swap_costs
from optimiser.week import Week
from optimiser.why_not import why_here, why_not
from tests.generated_cafes import weeks
from tests.near_cafes import each, random_plan

FEATURES = ("whole", "two_packs", "loose", "two_courses", "two_slots", "fee", "rules")
CENTS = 0.6


def cases(examples: int, with_rule: bool = False) -> Iterator[tuple[Week, Plan, Nearby]]:
    """Plans by the dice; with a rule that keeps a dish out that the plan does not have."""
    found: list[tuple[Week, Plan, Nearby]] = []

    def keep(week: Week) -> None:
        plan = random_plan(week, random.Random(3))
        if plan is None:
            return
        if with_rule:
            out = [d for d in week.cafe.dishes if d not in {row.dish for row in plan.shown}]
            bars = [parse_rule({"kind": "bar", "dish": dish}) for dish in out[:1]]
            week = replace(week, rules=(*week.rules, *bars))
            plan = random_plan(week, random.Random(3)) if bars else None
        if plan is not None and Nearby(week, plan).kept is not None:
            found.append((week, plan, Nearby(week, plan)))

    for feature in FEATURES:
        each(weeks(feature), examples, keep)
    yield from found


def missing(week: Week, plan: Plan) -> list[str]:
    return [dish for dish in week.cafe.dishes if dish not in {row.dish for row in plan.shown}]


def test_a_ladder_has_the_dish_is_verified_and_never_falls() -> None:
    possible = 0
    for week, plan, near in cases(2):
        for dish in missing(week, plan):
            answer = why_not(week, plan, dish, changes=3, near=near)
            gains = [step.gain_cents for step in answer.steps if step is not None]
            assert gains == sorted(gains) or all(
                b >= a - CENTS for a, b in zip(gains, gains[1:], strict=False)
            )
            later = [step is not None for step in answer.steps]
            assert later == sorted(later)  # what is possible with one is possible with two
            for step in answer.steps:
                if step is not None:
                    assert step.plan.verified and dish in {r.dish for r in step.plan.shown}
                    more = step.plan.objective_cents - near.plan_of(near.kept).objective_cents
                    assert step.gain_cents == pytest.approx(more, abs=3)
                    assert step.at_most_cents >= step.gain_cents - 0.01
                    possible += 1
            assert answer.sentences("AUD")
    assert possible > 20


def test_a_rule_in_the_way_lets_the_dish_in_when_it_is_gone() -> None:
    """Each obstacle that stands alone: the week without that rule, asked with one change."""
    alone = 0
    for week, plan, near in cases(3, with_rule=True):
        dish = week.rules[-1].dish
        answer = why_not(week, plan, dish, changes=1, near=near)
        assert answer.steps == (None,) or answer.steps == ()
        free = replace(week, rules=week.rules[:-1])
        there = why_not(free, plan, dish, changes=1)
        titles = {one.title: one for one in answer.obstacles}
        if there.steps and there.steps[0] is not None:
            obstacle = titles["Dish kept out"]
            assert obstacle.alone
            # Ties between deliveries are left out of an obstacle's gain: never less than it is.
            assert obstacle.gain_cents >= there.steps[0].gain_cents - CENTS
            alone += 1
        elif "Dish kept out" in titles:
            assert not titles["Dish kept out"].alone or near.blocks.ties
    assert alone > 5


def test_at_the_portion_price_named_the_dish_loses_nothing_and_below_it_does() -> None:
    seen = 0
    for week, plan, near in cases(5):
        for dish in missing(week, plan)[:2]:
            answer = why_not(week, plan, dish, changes=1, near=near)
            if answer.portion_price_cents is None:
                continue
            assert answer.steps[0].gain_cents < 0 or near.blocks.ties
            for cents, enough in ((answer.portion_price_cents, True),
                                  (answer.portion_price_cents - 2, False)):  # fmt: skip
                dishes = {
                    key: d.model_copy(update={"price_cents": cents}) if key == dish else d
                    for key, d in week.cafe.dishes.items()
                }
                there = Nearby(with_cafe(week, dishes=dishes), plan)
                own = [r for r in near.runs_of(dish)]
                sizes = {(r.cook_day, r.shown, r.portions) for r in own}
                gains = [
                    gain
                    for one in there.exchanges()
                    if one.enters.dish == dish
                    and (one.enters.cook_day, one.enters.shown, one.enters.portions) in sizes
                    and (gain := there.gain(one)) is not None
                ]
                # Takings are whole cents, rounded down: a cent or two at most.
                if enough:
                    assert max(gains) >= -2.5
                else:
                    assert max(gains) < 2.5
            seen += 1
    assert seen > 5


def test_at_the_ingredient_price_named_the_dish_comes_in_by_itself() -> None:
    seen = 0
    for week, plan, near in cases(8):
        for dish in missing(week, plan)[:2]:
            answer = why_not(week, plan, dish, changes=1, near=near)
            for entry in answer.entry_prices:
                line = PriceLine(near, entry.ingredient)
                ways = [one for one in near.exchanges() if one.enters.dish == dish]

                def best(factor: float, line: PriceLine = line, ways: list = ways) -> float:
                    there = line.near_at(factor)
                    return max(g for one in ways if (g := there.gain(one)) is not None)

                if entry.factor is None:
                    assert best(0.0) < 0
                else:
                    assert best(entry.factor) >= 0
                    assert best(min(1.0, entry.factor + 0.002)) < 0
                    seen += 1
    assert seen > 1


def test_without_a_dish_the_week_has_it_nowhere_and_the_rest_stays() -> None:
    seen = 0
    for week, plan, near in cases(2):
        dish = plan.shown[0].dish
        answer = why_here(week, plan, dish, changes=1, near=near)
        own = sum(1 for cook in plan.cooks if cook.dish == dish and cook.shown)
        cooks = {(c.dish, c.date, c.shown) for c in plan.cooks if c.shown and c.dish != dish}
        for number, step in enumerate(answer.steps):
            if step is None:
                continue
            assert step.plan.verified and dish not in {r.dish for r in step.plan.shown}
            after = {(c.dish, c.date, c.shown) for c in step.plan.cooks if c.shown}
            assert len(cooks - after) <= number
            assert step.changes == number + own
            seen += 1
        gains = [step.gain_cents for step in answer.steps if step is not None]
        assert all(b >= a - CENTS for a, b in zip(gains, gains[1:], strict=False))
    assert seen > 8


def test_swaps_are_what_each_menu_earns_and_the_impossible_ones_say_why() -> None:
    seen = blocked = 0
    for week, plan, near in (*cases(2), *cases(1, with_rule=True)):
        cook = next(c for c in plan.cooks if c.shown)
        rows = swap_costs(week, plan, cook.dish, cook.date, near=near)
        gains = [row.gain_cents for row in rows if row.gain_cents is not None]
        assert gains == sorted(gains, reverse=True)
        for row in rows:
            if row.gain_cents is None:
                assert row.blocked_by
                blocked += 1
                continue
            best = max(
                found.margin_cents
                for one in near.exchanges()
                if one.enters.dish == row.dish and one.leaves[0].dish == cook.dish
                and one.leaves[0].cook_day == cook.date and len(one.leaves) == 1
                and (found := near.weigh(one)) is not None
            )  # fmt: skip
            assert row.gain_cents == pytest.approx(best - near.kept.margin_cents, abs=CENTS)
            seen += 1
    assert seen > 3 and blocked > 2


def test_an_unknown_dish_and_a_menu_that_cannot_be_kept_are_refused_in_words() -> None:
    week, plan, near = next(cases(1))
    with pytest.raises(ValueError, match="no dish nettle_pie"):
        why_not(week, plan, "nettle_pie", near=near)
    gone = [d for d in week.cafe.dishes if d in {row.dish for row in plan.shown}]
    barred = parse_rule({"kind": "bar", "dish": gone[0]})
    with pytest.raises(ValueError, match="Dish kept out"):
        why_not(replace(week, rules=(*week.rules, barred)), plan, gone[0])
