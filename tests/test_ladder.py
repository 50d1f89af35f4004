"""Ladders of menus against all menus of tiny cafes: best at every step, rising, never claiming
more than is so."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from optimiser import ladder
from optimiser.ladder import better_menus, likely, menus_with, menus_without
from optimiser.near import Near
from optimiser.verify import verify
from optimiser.week import Week
from tests.generated_cafes import weeks
from tests.near_cafes import CENTS, each
from tests.test_nearby import Case, case_of

FEATURES = (
    "whole", "two_packs", "loose", "ahead", "weekend", "minimum", "fee", "rules",
    "component", "nested", "sold_component", "three_days",
)  # fmt: skip
MOST_MENUS = 300
RULED = 12
"""Weeks tried where a rule often leaves no choice."""

Menu = frozenset[int]


def best_of(
    case: Case,
    changes: int,
    among: Menu | None = None,
    must: Menu | None = None,
    without: Menu = frozenset(),
) -> float | None:
    """Cents of the best of all menus that leave out so many of the plan's cooks, all parts
    cooked as is best. `among`: what may come in; `must`: one of these is there; `without`:
    none of these is, and those of the plan are not counted."""
    parts = case.near.model.components
    worths = (
        case.worth(menu, parts)
        for menu in case.menus
        if len(case.own - without - menu) <= changes
        and (among is None or menu - case.own <= among)
        and (must is None or menu & must)
        and not menu & without
    )
    return max((worth for worth in worths if worth is not None), default=None)


def menu_of(case: Case, near: Near) -> Menu:
    return case.own - {r.index for r in near.leaves} | {r.index for r in near.enters}


def small(week: Week) -> Case | None:
    case = case_of(week)
    return case if case is not None and len(case.menus) <= MOST_MENUS else None


def passes(case: Case, near: Near) -> bool:
    plan = case.near.plan_of(near)
    shown = {(row.dish, row.date) for row in plan.shown}
    runs = case.near.model.runs
    asked = {(runs[n].dish, day) for n in menu_of(case, near) for day in runs[n].shown}
    return verify(plan, case.week).passed and shown == asked


@pytest.mark.parametrize("feature", FEATURES)
def test_each_step_is_the_best_with_so_many_cooks_changed(feature: str) -> None:
    def check(week: Week) -> int:
        case = small(week)
        if case is None:
            return 0
        steps = better_menus(case.near, 3)
        assert len(steps) == 4 and steps[0] == case.near.kept
        rises(steps)
        for count, step in enumerate(steps[2:], 2):
            expected = best_of(case, count)
            assert expected is not None
            assert step.margin_cents == pytest.approx(expected, abs=0.5)
            assert step.bound_cents >= expected - CENTS
        assert all(passes(case, step) for step in steps)
        return len(steps[-1].leaves)

    assert sum(each(weeks(feature), RULED if feature == "rules" else 3, check)) > 0


def rises(steps: Sequence[Near]) -> None:
    for before, after in zip(steps, steps[1:], strict=False):
        assert after.margin_cents >= before.margin_cents - 0.5
    for step in steps:
        assert step.bound_cents >= step.margin_cents - CENTS


@pytest.mark.parametrize("most", [1, 3])
@pytest.mark.parametrize("feature", ["whole", "minimum", "fee", "rules", "weekend"])
def test_no_bound_is_below_a_week_among_the_likely(
    feature: str, most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where only the likeliest may come in, the bound is about those, and holds for them."""
    monkeypatch.setattr(ladder, "LIKELY", most)

    def check(week: Week) -> int:
        case = small(week)
        if case is None:
            return 0
        steps = better_menus(case.near, 3)
        rises(steps)
        found, _ = case.near.all_changes()
        among = frozenset(run.index for run in likely(case.near, found, most))
        for count, step in enumerate(steps[2:], 2):
            expected = best_of(case, count, among=among)
            assert expected is not None and step.bound_cents >= expected - CENTS
            assert step.margin_cents >= expected - 0.5
        return len(steps[-1].leaves)

    assert sum(each(weeks(feature), RULED if feature == "rules" else 4, check)) > 0


@pytest.mark.parametrize("feature", FEATURES)
def test_menus_with_a_dish_are_the_best_that_have_it(feature: str) -> None:
    def check(week: Week) -> int:
        case = small(week)
        if case is None:
            return 0
        near, dice, met = case.near, random.Random(1), 0
        shown = {(row.dish, row.date) for row in case.plan.shown}
        for dish in [d.id for d in week.cafe.dishes.values() if d.course in week.cafe.courses]:
            day = dice.choice(week.open_dates)
            if (dish, day) in shown:
                continue
            wanted = frozenset(run.index for run in near.runs_of(dish, day))
            steps = menus_with(near, dish, day)
            assert len(steps) == 3
            rises([step for step in steps if step is not None])
            for count, step in enumerate(steps, 1):
                if step is not None:
                    assert menu_of(case, step) & wanted
                    assert len(step.enters) == 1 if count == 1 else len(step.leaves) <= count
                    assert passes(case, step)
                    met += 1
                if count == 1:
                    continue
                expected = best_of(case, count, must=wanted)
                assert (step is None) == (expected is None)
                if step is not None:
                    assert step.margin_cents == pytest.approx(expected, abs=0.5)
                    assert step.bound_cents >= expected - CENTS
        return met

    assert sum(each(weeks(feature), RULED if feature == "rules" else 3, check)) > 0


@pytest.mark.parametrize("feature", FEATURES)
def test_menus_without_a_dish_are_the_best_that_have_it_not(feature: str) -> None:
    def check(week: Week) -> int:
        case = small(week)
        if case is None:
            return 0
        near, met = case.near, 0
        for dish in sorted({row.dish for row in case.plan.shown}):
            barred = frozenset(run.index for run in near.runs_of(dish))
            steps = menus_without(near, dish)
            assert len(steps) == 2
            rises([step for step in steps if step is not None])
            for count, step in enumerate(steps):
                if step is not None:
                    assert not menu_of(case, step) & barred
                    assert dish not in {row.dish for row in near.plan_of(step).shown}
                    assert passes(case, step)
                    met += 1
                expected = best_of(case, count, without=barred)
                assert (step is None) == (expected is None)
                if step is not None:
                    assert step.margin_cents == pytest.approx(expected, abs=0.5)
                    assert step.bound_cents >= expected - CENTS
        return met

    assert sum(each(weeks(feature), RULED if feature == "rules" else 3, check)) > 0
