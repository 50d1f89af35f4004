"""What is said of the weeks near a plan, against all of its menus tried one by one.

The whole model is solved for each menu with the vans held, and with the cooked parts held that no
changed dish uses; where there are no vans to choose, a menu's worth also comes from plain trying
(`brute_force`).
"""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import pytest

from optimiser.exchanges import Exchange
from optimiser.near import Ask
from optimiser.nearby import Nearby
from optimiser.plan import Plan
from optimiser.report_base import cook_portions_sold
from optimiser.verify import verify
from optimiser.week import Week
from tests.brute_food import Batch
from tests.brute_force import BruteForce
from tests.generated_cafes import FEATURES, weeks
from tests.near_cafes import CENTS, Whole, all_menus, each, random_plan
from tests.rule_cases import PARAMETERS
from tests.ruled_cafes import ruled_weeks

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
        assert near.broken_rows(exchange) or near.short_of(exchange) or near.model.components


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

    assert sum(each(weeks(feature), 3, check)) > 0
