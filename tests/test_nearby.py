"""What is said of the weeks near a plan, against all of its menus tried one by one.

The whole model is solved for each menu with the vans held, and with the cooked parts held that no
changed dish uses; where there are no vans to choose, a menu's worth also comes from plain trying
(`brute_force`).
"""

from __future__ import annotations

import math
import random
import threading
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import pytest

from optimiser.blame import broken_rules, double, short_of
from optimiser.block import Memory
from optimiser.cafe import COMPONENT, Cafe, Form
from optimiser.exchanges import Exchange
from optimiser.near import Ask
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.planner import plan_week, start_from
from optimiser.report_base import cook_portions_sold
from optimiser.rules import parse_rule
from optimiser.search import Effort
from optimiser.solver import Solved, Solver
from optimiser.verify import verify
from optimiser.week import Week
from tests.brute_food import Batch
from tests.brute_force import BruteForce
from tests.generated_cafes import FEATURES, FRI, MON, weeks
from tests.near_cafes import CENTS, Whole, all_menus, each, random_plan
from tests.rule_cases import PARAMETERS
from tests.ruled_cafes import ruled_weeks
from tests.small_cafe import ingredient, line
from tests.story_cafe import cafe as story_cafe
from tests.story_cafe import dish

PARTS = ("component", "raw_component", "nested", "sold_component")
FEW = ("whole", "two_packs", "loose", "minimum", "fee", "rules", "ahead", "weekend", *PARTS)


@dataclass
class Case:
    """A plan by the dice, and every menu of its cafe."""

    week: Week
    plan: Plan
    near: Nearby

    @cached_property
    def menus(self) -> list[frozenset[int]]:
        return all_menus(self.week, self.near.model)

    @cached_property
    def whole(self) -> Whole:
        return Whole(self.near.lp)

    @property
    def own(self) -> frozenset[int]:
        return frozenset(run.index for run in self.near.menu)

    def worth(self, menu: Iterable[int], free: Iterable[str] = ()) -> float | None:
        """Cents of the whole model with this menu; parts cooked as in the plan but for some."""
        model, menu = self.near.model, frozenset(menu)
        held = {column: float(run in menu) for run, column in model.run_column.items()}
        settled = self.near.blocks.settled
        held |= {j: settled[j] for j in model.purchases.orders.values()}
        for columns in (model.extra, model.steps):
            held |= {j: settled[j] for (part, _), j in columns.items() if part not in set(free)}
        found = self.whole.best(held)
        return None if found is None else found[0]

    def parts_of(self, runs: Iterable[int]) -> set[str]:
        """Cooked parts that these runs' dishes are or use, and theirs."""
        model = self.near.model
        found: set[str] = set()
        dishes = [model.runs[n].dish for n in runs]
        while dishes:
            dish = dishes.pop()
            found |= {dish} & set(model.components)
            dishes += [line.item for line in model.cafe.dishes[dish].lines
                       if line.item in model.components]  # fmt: skip
        return found

    def one_away(self) -> dict[tuple[int, frozenset[int]], frozenset[int]]:
        """Menus in which one cook came in, by that cook and those that left."""
        return {
            (min(menu - self.own), self.own - menu): menu
            for menu in self.menus
            if len(menu - self.own) == 1
        }


def case_of(week: Week, seed: int = 5) -> Case | None:
    plan = random_plan(week, random.Random(seed))
    return None if plan is None else Case(week, plan, Nearby(week, plan))


def test_the_best_and_the_worth_of_a_menu_agree_with_plain_trying() -> None:
    """The plan's menu kept: all packs and pieces tried without any model."""

    def check(week: Week) -> bool:
        case = case_of(week)
        if case is None or any(one.delivery_fee_cents for one in week.cafe.suppliers.values()):
            return False
        near, brute = case.near.kept, BruteForce(week)
        batches = tuple(
            Batch(cook.dish, cook.date, cook.shown, sold, cook.portions - sold)
            for cook in case.plan.cooks
            for sold in [cook_portions_sold(case.plan, cook.dish, cook.date)]
        )
        supply, rules = brute.food.supply_cents(batches), brute._rule_cents(batches)
        assert near is not None and supply is not None and rules is not None
        sales = sum(brute._sale_cents(batch) for batch in batches if batch.sold)
        expected = sales + supply - rules - brute.food.expired_cents()
        assert near.margin_cents == pytest.approx(expected, abs=CENTS)
        return True

    for feature in FEATURES:
        seen = each(weeks(feature), 3, check)
        assert any(seen) or feature in ("fee", "minimum")


def exchanges_agree(week: Week) -> int:
    """Compares every exchange of a plan; how many of them are possible."""
    case = case_of(week)
    if case is None:
        return 0
    near, kept = case.near, case.near.kept
    assert kept is not None and kept.exact
    assert kept.margin_cents == pytest.approx(case.worth(case.own), abs=CENTS)
    assert kept.margin_cents >= case.plan.objective_cents - 1
    asked = {(e.enters.index, frozenset(r.index for r in e.leaves)): e for e in near.exchanges()}
    boards = case.one_away()
    for key in boards.keys() - asked.keys():  # only what could never be
        assert near.lp.high[near.model.run_column[key[0]]] == 0
        assert case.worth(boards[key], near.model.components) is None
    worths = []
    for (enters, leaves), exchange in asked.items():
        worth = case.worth((case.own - leaves) | {enters}, case.parts_of([enters, *leaves]))
        compare(near, exchange, worth)
        worths += [] if worth is None else [worth]
        assert worth is None or (enters, leaves) in boards
    found, first = near.all_changes()
    gains = [change.gain_cents for change in found]
    assert gains == sorted(gains, reverse=True)
    assert (first is None) == (not worths)
    if first is not None:
        assert first.exact and first.margin_cents == pytest.approx(max(worths), abs=CENTS)
        assert verify(near.plan_of(first), week).passed
    return len(worths)


def compare(near: Nearby, exchange: Exchange, worth: float | None) -> None:
    """One exchange: its week, what it brings, and where it cannot be, why."""
    assert near.kept is not None
    weighed, gain = near.weigh(exchange), near.gain(exchange)
    assert (weighed is None) == (worth is None)
    if weighed is not None and worth is not None:
        assert weighed.margin_cents == pytest.approx(worth, abs=CENTS)
        assert gain is not None and near.blocks.margin + gain >= worth - CENTS
        if not near.blocks.ties:
            assert gain == pytest.approx(worth - near.kept.margin_cents, abs=CENTS)
    elif gain is None:
        changes = near.changes_of(exchange)
        why = broken_rules(near.blocks, changes) or short_of(near.blocks, changes)
        assert why or double(near.blocks, changes) or near.model.components


@pytest.mark.parametrize("feature", FEATURES)
def test_every_exchange_brings_what_the_whole_model_says(feature: str) -> None:
    """All boards one cook away are found, and no others; each with its worth, the best first."""
    assert sum(each(weeks(feature), 3, exchanges_agree)) > 0


@pytest.mark.parametrize("kind", sorted(PARAMETERS))
def test_every_exchange_under_rules_brings_what_the_whole_model_says(kind: str) -> None:
    assert len(each(ruled_weeks(kind), 5, exchanges_agree)) == 5


@pytest.mark.parametrize("feature", FEW)
def test_a_few_changes_are_the_best_of_all_menus_so_near(feature: str) -> None:
    def check(week: Week) -> int:
        case = case_of(week)
        if case is None or len(case.menus) > 300:
            return 0
        near, parts, changed = case.near, case.near.model.components, 0
        for count in (0, 1, 2):
            expected = max(
                worth
                for menu in case.menus
                if len(case.own - menu) <= count
                if (worth := case.worth(menu, parts)) is not None
            )
            found = near.few_changes(Ask(count, near.model.runs))
            assert found is not None and len(found.leaves) <= count
            assert found.margin_cents == pytest.approx(expected, abs=CENTS)
            assert expected - CENTS <= found.bound_cents <= expected + 1
            plan = near.plan_of(found)
            assert plan.verified and verify(plan, week).passed
            changed += bool(found.leaves)
        return changed

    examples = 12 if feature == "rules" else 3
    assert sum(each(weeks(feature), examples, check)) > 0


def test_a_bound_that_better_packs_disprove_is_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A solver that calls poorer packs of the best menu the best."""

    def check(week: Week) -> bool:
        case = case_of(week)
        found = case.near.few_changes(Ask(1, case.near.model.runs)) if case else None
        if case is None or found is None:
            return False
        solve = Solver.solve

        def poorer(self: Solver, *args: Any, **named: Any) -> Solved:
            solved = solve(self, *args, **named)
            assert solved.margin is not None
            return replace(solved, margin=solved.margin - 5, bound=solved.bound - 5)

        with monkeypatch.context() as patched:
            patched.setattr(Solver, "solve", poorer)
            again = case.near.few_changes(Ask(1, case.near.model.runs))
        assert again is not None and math.isinf(again.bound_cents) and not again.exact
        assert again.margin_cents == pytest.approx(found.margin_cents, abs=CENTS)
        return True

    assert any(each(weeks("two_packs"), 3, check))


def test_what_was_stopped_is_not_remembered_as_all_there_is() -> None:
    def check(week: Week) -> int:
        case = case_of(week)
        if case is None:
            return 0
        stop = threading.Event()
        stop.set()
        found, best = case.near.all_changes(stop=stop)
        assert found == [] and best is None
        return len(case.near.all_changes()[0])

    assert sum(each(weeks("whole"), 2, check)) > 0


@pytest.mark.parametrize("feature", ["whole", "two_packs", "short_dated", "minimum"])
def test_questions_that_share_a_memory_answer_as_if_alone(feature: str) -> None:
    """The same plan under two prices, and under the first again with what both remember."""

    def check(week: Week) -> bool:
        case = case_of(week)
        if case is None:
            return False
        dear = dearer(week)
        memory = Memory()
        together = [Nearby(one, case.plan, memory) for one in (week, dear, week)]
        alone = [Nearby(one, case.plan) for one in (week, dear, week)]
        answers = [
            [(c.exchange.enters.index, c.gain_cents) for c in near.all_changes()[0]]
            for near in (*together, *alone)
        ]
        assert answers[:3] == answers[3:]
        lp = together[1].lp
        if (lp.names, lp.rows) == (case.near.lp.names, case.near.lp.rows):
            other = case.near.with_gains(lp.gain, lp.constant)
            kept = together[1].kept
            assert kept is not None and other.kept is not None
            assert other.kept.margin_cents == pytest.approx(kept.margin_cents, abs=CENTS)
            assert case.near.kept == alone[0].kept
        return answers[0] != answers[1]

    assert any(each(weeks(feature), 3, check))


def dearer(week: Week) -> Week:
    """Every price is half as much again."""
    offers = tuple(
        offer.model_copy(
            update={
                "prices": tuple(
                    one.model_copy(update={"price_cents": one.price_cents * 3 // 2})
                    for one in offer.prices
                )
            }
        )
        for offer in week.cafe.offers
    )
    fields = {name: getattr(week.cafe, name) for name in Cafe.model_fields}
    return replace(week, cafe=Cafe(**fields | {"offers": offers}))


def test_a_menu_that_cannot_be_kept_says_why() -> None:
    """No van comes, a rule is new, a dish is gone: each in words, and no menu is handed out."""
    cafe = loose_cafe()
    week = Week(cafe, (), MON, FRI, 1)
    plan = plan_week(week, Effort(work=1)).plan
    assert plan is not None and Nearby(week, plan).why_not_kept() == ""
    fields = {name: getattr(cafe, name) for name in Cafe.model_fields}
    stays_away = cafe.suppliers["farm"].model_copy(update={"delivers": frozenset()})
    short = Nearby(replace(week, cafe=Cafe(**fields | {"suppliers": {"farm": stays_away}})), plan)
    cook = plan.cooks[0]
    barred = Nearby(
        replace(week, rules=(parse_rule({"kind": "bar", "dish": cook.dish, "day": MON}),)), plan
    )
    others = {name: one for name, one in cafe.dishes.items() if name != cook.dish}
    gone = Nearby(replace(week, cafe=Cafe(**fields | {"dishes": others})), plan)
    part = cafe.dishes[cook.dish].model_copy(update={"course": COMPONENT})
    at_rest = Nearby(
        replace(week, cafe=Cafe(**fields | {"dishes": {**others, part.id: part}})), plan
    )
    assert "kale" in short.why_not_kept() and "not enough" in short.why_not_kept()
    assert barred.why_not_kept() == f"it breaks: {barred.week.rules[0].title}"
    assert gone.why_not_kept() == f"there is no dish {cook.dish!r} any more"
    assert f"{cook.dish} cannot be cooked" in at_rest.why_not_kept()
    for near in (short, barred, gone, at_rest):
        assert near.kept is None and near.all_changes() == ([], None)


def loose_cafe() -> Cafe:
    kale = ingredient("kale", Form.LOOSE, keeps_days=3)
    dishes = [dish("soup", line("kale", 400)), dish("stew", line("kale", 300))]
    return story_cafe(dishes, [kale], [MON])


def test_planning_again_starts_from_the_very_menu() -> None:
    """Portions of a cook that go into other dishes are not taken for portions sold."""

    def check(week: Week) -> bool:
        both = False
        for case in (case_of(week, seed) for seed in range(3)):
            if case is not None:
                start, column = start_from(case.near.model, case.plan), case.near.model.run_column
                assert case.own == {run for run, j in column.items() if start[j] == 1}
                both |= any(
                    cook.portions > cook_portions_sold(case.plan, cook.dish, cook.date) > 0
                    for cook in case.plan.cooks
                )
        return both

    assert any(each(weeks("sold_component"), 40, check))
