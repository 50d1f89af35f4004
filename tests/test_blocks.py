"""The sum of the blocks of a menu, ties kept, is what the whole model earns with that menu."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace

import pytest
from hypothesis import strategies as st

from optimiser.block import Memory
from optimiser.blocks import Blocks
from optimiser.cafe import Cafe, Form
from optimiser.model import Model
from optimiser.rules import parse_rule
from optimiser.week import Week
from tests.generated_cafes import FEATURES, weeks
from tests.near_cafes import CENTS, Held, Whole, each, random_board, random_week, settled, whole

BOUGHT = ("whole", "two_packs", "loose", "two_courses", "two_slots")

SHARED = Memory()
"""One memory for all cafes of this file: what one has asked must not mislead another."""


def boards(model: Model, number: int) -> list[Held]:
    """Menus by the dice: weeks that hold, and boards that may not."""
    dice = random.Random(7)
    found = [random_board(model, dice) for _ in range(number)]
    values = [random_week(model, dice) for _ in range(number)]
    held = [{j: float(round(v[j])) for j in settled(model)} for v in values if v is not None]
    return [*held, *(board for board in found if board is not None)]


def summed(model: Model, held: Held) -> float | None:
    """What the blocks say of a menu; its columns must keep every row."""
    blocks = Blocks(model.lp, dict(held), SHARED)
    best = blocks.best({}) if blocks.kept else None
    if best is None:
        return None
    assert model.lp.worst_breach(best[1]) <= 1e-4
    assert all(best[1][j] == value for j, value in held.items())
    return model.lp.value(best[1])


def agree(week: Week, number: int = 3) -> tuple[int, int, int]:
    """Compares all boards of a week; counts those that hold, those that do not, and those
    that a tie made poorer."""
    model = Model(week)
    solver = Whole(model.lp)
    holds = fails = poorer = 0
    for held in boards(model, number):
        expected, got = solver.best(held), summed(model, held)
        if expected is None:
            assert got is None
            fails += 1
            continue
        assert got == pytest.approx(expected[0], abs=CENTS)
        holds += 1
        poorer += bool(Blocks(model.lp, dict(held)).margin > expected[0] + CENTS)
    return holds, fails, poorer


@pytest.mark.parametrize("feature", FEATURES)
def test_blocks_add_up_to_the_whole_week(feature: str) -> None:
    assert sum(holds for holds, _, _ in each(weeks(feature), 5, agree)) > 0


def lumpy(week: Week) -> bool:
    """Whether two things are bought in whole packs."""
    return sum(one.form is not Form.DRY for one in week.cafe.ingredients.values()) > 1


def tied(week: Week, kind: str) -> Iterator[Week]:
    """The week under limits that some of its menus overrun."""
    if kind == "fridge_litres":
        cafe, limits = roomy(week.cafe), [{"litres": litres} for litres in (1, 2, 4)]
    else:
        model = Model(week)
        found = [whole(model.lp, held) for held in boards(model, 1)]
        costs = [sum(c * one[1][j] for j, c in model.spend()) for one in found if one]
        spent = max(costs, default=0)
        cafe, limits = week.cafe, [{"budget_cents": int(spent * share)} for share in (0.5, 0.9)]
    for limit in limits:
        for price in (None, 0.5, 300.0):
            yield replace(
                week, cafe=cafe, rules=(parse_rule({"kind": kind, **limit, "price_cents": price}),)
            )


def roomy(cafe: Cafe) -> Cafe:
    """The cafe with the litres that things take in the fridge."""
    things = {
        one.id: one if one.form is Form.DRY else one.model_copy(update={"fridge_l_per_kg": 4.0})
        for one in cafe.ingredients.values()
    }
    return Cafe(
        **{name: getattr(cafe, name) for name in Cafe.model_fields} | {"ingredients": things}
    )


@pytest.mark.parametrize("kind", ["purchase_budget", "fridge_litres"])
def test_blocks_tied_by_a_rule_add_up_to_the_whole_week(kind: str) -> None:
    """Among the menus are some that a tie makes poorer, and some that it forbids."""

    def check(week: Week) -> list[tuple[int, int, int]]:
        return [agree(one, 2) for one in tied(week, kind)]

    bought = st.sampled_from(BOUGHT).flatmap(weeks).filter(lumpy)
    seen = [counts for several in each(bought, 6, check) for counts in several]
    assert sum(fails for _, fails, _ in seen) > 0
    assert sum(poorer for _, _, poorer in seen) > 0


def test_blocks_tied_by_an_order_minimum_add_up_to_the_whole_week() -> None:
    assert sum(poorer for _, _, poorer in each(weeks("minimum"), 10, agree)) > 0


@pytest.mark.parametrize("feature", ["whole", "short_dated", "nested", "sold_component", "fee"])
def test_changed_columns_bring_what_the_other_menu_earns_more(feature: str) -> None:
    """From any menu to any other, whatever is remembered of the first."""

    def check(week: Week) -> int:
        model = Model(week)
        menus = boards(model, 3)
        solver = Whole(model.lp)
        known = [(held, found) for held in menus if (found := solver.best(held))]
        if not known:
            return 0
        held, (margin, _) = known[0]
        blocks, moved = Blocks(model.lp, dict(held), SHARED), 0
        for other in menus[1:]:
            changes = {j: value - held[j] for j, value in other.items() if value != held[j]}
            expected, best = solver.best(other), blocks.best(changes)
            if expected is None:
                assert best is None
                continue
            assert best is not None and model.lp.value(best[1]) == pytest.approx(
                expected[0], abs=CENTS
            )
            if not blocks.ties:
                assert best[0] == pytest.approx(expected[0] - margin, abs=CENTS)
                assert blocks.gain(changes) == pytest.approx(best[0])
            moved += bool(changes)
        return moved

    assert sum(each(weeks(feature), 6, check)) > 0


@pytest.mark.parametrize("feature", ["component", "raw_component", "nested", "sold_component"])
def test_parts_that_are_free_again_are_cooked_as_is_best(feature: str) -> None:
    def check(week: Week) -> bool:
        model = Model(week)
        parts = frozenset([*model.extra.values(), *model.steps.values()])
        better = False
        for held in boards(model, 2):
            kept = whole(model.lp, held)
            if kept is None:
                continue
            expected = whole(model.lp, {j: v for j, v in held.items() if j not in parts})
            best = Blocks(model.lp, dict(held), SHARED).best({}, parts)
            assert best is not None and expected is not None
            assert model.lp.value(best[1]) == pytest.approx(expected[0], abs=CENTS)
            assert best[0] == pytest.approx(expected[0] - kept[0], abs=CENTS)
            better |= expected[0] > kept[0] + CENTS
        return better

    assert any(each(weeks(feature), 6, check))


@pytest.mark.parametrize("feature", ["whole", "two_packs", "lasting"])
def test_two_prices_share_a_memory(feature: str) -> None:
    """A model whose prices differ answers as if it were alone, and the first still does."""

    def check(week: Week) -> bool:
        model = Model(week)
        held = boards(model, 1)
        dear = replace(model.lp, gain=[g * 1.5 if g < 0 else g for g in model.lp.gain])
        memory, differ = Memory(), False
        for board in held:
            asked = [Blocks(lp, dict(board), memory) for lp in (model.lp, dear, model.lp)]
            alone = [Blocks(lp, dict(board)) for lp in (model.lp, dear, model.lp)]
            assert [one.kept for one in asked] == [one.kept for one in alone]
            if alone[0].kept:
                assert [one.margin for one in asked] == [one.margin for one in alone]
                differ |= alone[0].margin != alone[1].margin
        return differ

    assert any(each(weeks(feature), 4, check))


def test_what_stands_in_the_way_is_named() -> None:
    """A menu with an empty place breaks its row; one without a delivery has empty-handed blocks."""

    def check(week: Week) -> tuple[bool, bool]:
        model = Model(week)
        found = [held for held in boards(model, 2) if whole(model.lp, held)]
        if not found:
            return False, False
        blocks = Blocks(model.lp, dict(found[0]))
        menu_rows, unmoved = blocks.menu_rows, dict.fromkeys(found[0], 0.0)
        assert not list(menu_rows.broken({})) and not blocks.empty_handed(unmoved)
        gone = next(j for j in model.run_column.values() if found[0][j])
        rows = [menu_rows.rows[n].name for n in menu_rows.broken({gone: -1.0})]
        slots = any(row.startswith("slots__") for row in rows)
        vans = {j: -1.0 for j in model.purchases.orders.values() if found[0][j]}
        short = blocks.empty_handed(vans)
        assert (blocks.gain(vans) is None) == bool(short)
        return slots, bool(short)

    seen = each(weeks("fee"), 8, check)
    assert any(slots for slots, _ in seen) and any(short for _, short in seen)
