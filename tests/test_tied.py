"""A row across blocks is kept at the least loss: against all choices, tried one by one."""

from __future__ import annotations

import itertools
from collections.abc import Sequence, Set
from dataclasses import dataclass, replace

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from optimiser import tie_keeping
from optimiser.block import Block, Memory
from optimiser.cafe import Cafe
from optimiser.lp import Lp, Row
from optimiser.tied import Leaning, Member, Step, cheapest, sharing, turned
from optimiser.week import Week
from tests.generated_cafes import weeks
from tests.near_cafes import each
from tests.test_blocks import agree, tied


@dataclass(frozen=True)
class Shelf:
    """Packs of two sizes of one thing: at least `need_g` of it; what packs cost."""

    pack_g: tuple[int, int]
    cents: tuple[int, int]
    need_g: int


SHELVES = st.builds(
    Shelf,
    st.tuples(st.integers(1, 9), st.integers(1, 9)),
    st.tuples(st.integers(1, 60), st.integers(1, 60)),
    st.integers(0, 15),
)
MOST_PACKS = 4


def choices(shelf: Shelf) -> list[tuple[int, int]]:
    """Cents spent where at least the need is bought, each way of buying."""
    return [
        packs
        for packs in itertools.product(range(MOST_PACKS + 1), repeat=2)
        if sum(n * g for n, g in zip(packs, shelf.pack_g, strict=True)) >= shelf.need_g
    ]


def spent(shelf: Shelf, packs: tuple[int, int]) -> int:
    return sum(n * cents for n, cents in zip(packs, shelf.cents, strict=True))


def member(shelf: Shelf, counted: tuple[int, int], need: float) -> Member | None:
    """The shelf as a block of a model that earns nothing; `counted`: what a pack adds to the
    row."""
    lp = Lp()
    columns = [lp.column(f"packs{n}", 0, MOST_PACKS, True) for n in range(2)]
    lp.earn([(j, -float(c)) for j, c in zip(columns, shelf.cents, strict=True)])
    grams = {j: float(g) for j, g in zip(columns, shelf.pack_g, strict=True)}
    block = Block(lp, columns, [Row("need", grams, float(shelf.need_g), None)], Memory())
    tie = Row("tie", {j: float(c) for j, c in zip(columns, counted, strict=True)}, 0.0, None)
    free = block.answer(np.zeros(1))
    return None if free is None else Member(Leaning(block, tie), np.zeros(1), free, need)


@given(st.lists(SHELVES, min_size=1, max_size=3), st.integers(1, 120), st.booleans())
def test_least_loss_of_all_choices(shelves: list[Shelf], more: int, money: bool) -> None:
    """The row counts money spent, or grams: then what is given is not what is lost."""
    if not all(choices(shelf) for shelf in shelves):
        return
    counted = [shelf.cents if money else shelf.pack_g for shelf in shelves]
    frees = [member(shelf, c, 0.0) for shelf, c in zip(shelves, counted, strict=True)]
    given_freely = sum(
        sum(n * c for n, c in zip(one.steps(0.0)[0].values, counts, strict=True))
        for one, counts in zip(frees, counted, strict=True)
        if one is not None
    )
    least = [
        sum(spent(shelf, packs) for shelf, packs in zip(shelves, several, strict=True))
        for several in itertools.product(*map(choices, shelves))
        if sum(
            n * c
            for packs, counts in zip(several, counted, strict=True)
            for n, c in zip(packs, counts, strict=True)
        )
        >= given_freely + more - 1e-6
    ]
    freely = sum(min(spent(shelf, packs) for packs in choices(shelf)) for shelf in shelves)
    members = [member(shelf, c, more) for shelf, c in zip(shelves, counted, strict=True)]
    steps = cheapest([one for one in members if one is not None], more)
    if not least:
        assert steps is None
        return
    assert steps is not None
    assert sum(step.loss_cents for step in steps) == pytest.approx(min(least) - freely, abs=0.01)
    assert sum(step.more for step in steps) >= more - 1e-4


def test_a_row_is_turned_so_that_more_is_better() -> None:
    over, need = turned(Row("budget", {0: 2.0, 1: 3.0}, None, 10.0), [2.0, 3.0])
    assert (over.terms, need) == ({0: -2.0, 1: -3.0}, 3.0)
    under, need = turned(Row("minimum", {0: 2.0, 1: 3.0}, 20.0, None), [2.0, 3.0])
    assert (under.terms, need) == ({0: 2.0, 1: 3.0}, 7.0)


def test_amounts_that_are_not_whole_are_left_to_one_model() -> None:
    lp = Lp()
    loose, whole = lp.column("loose", 0, 9), lp.column("whole", 0, 9, True)
    for column, refused in ((loose, True), (whole, False)):
        block = Block(lp, [column], [Row("need", {column: 1.0}, 1.0, None)], Memory())
        tie = Row("tie", {column: 1.0}, 0.0, None)
        if refused:
            with pytest.raises(ValueError, match="tie"):
                Leaning(block, tie)
        else:
            Leaning(block, tie)


def test_weeks_with_an_order_minimum_are_kept_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """The weeks that `agree` holds against the whole model do come this way."""
    kept: list[list[Step]] = []

    def counted(members: list[Member], need: float) -> list[Step] | None:
        steps = cheapest(members, need)
        if steps is not None:
            kept.append(steps)
        return steps

    monkeypatch.setattr(tie_keeping, "cheapest", counted)
    each(weeks("minimum"), 10, agree)
    assert any(step.loss_cents > 1 for steps in kept for step in steps)


def test_rows_that_share_blocks_are_put_together() -> None:
    assert sharing([{1, 2}, {3}, {2, 4}, {5}, {4, 5}]) == [[0, 2, 3, 4], [1]]
    assert sharing([{1}, {2}]) == [[0], [1]]


def two_suppliers(week: Week) -> bool:
    return len({offer.supplier for offer in week.cafe.offers}) > 1


def with_minimum(cafe: Cafe, cents: int) -> Cafe:
    """The cafe whose suppliers all ask for orders of so much."""
    dear = {"minimum_order_cents": cents}
    suppliers = {one.id: one.model_copy(update=dear) for one in cafe.suppliers.values()}
    return Cafe(
        **{name: getattr(cafe, name) for name in Cafe.model_fields} | {"suppliers": suppliers}
    )


def test_several_broken_rows_are_kept_together_or_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two vans' minimums that share no block, and a minimum with a fridge or a budget over the
    same packs: `agree` holds what comes of both against the whole model."""
    seen: set[str] = set()

    def watched(touched: Sequence[Set[int]]) -> list[list[int]]:
        found = sharing(touched)
        seen.update("together" for group in found if len(group) > 1)
        seen.update("apart" for _ in found[1:])
        return found

    monkeypatch.setattr(tie_keeping, "sharing", watched)

    def check(week: Week) -> None:
        for cents in (900, 1500):
            agree(replace(week, cafe=with_minimum(week.cafe, cents)), 2)
        for kind in ("purchase_budget", "fridge_litres"):
            for one in (week, *tied(week, kind)):
                agree(one, 2)

    each(weeks("minimum").filter(two_suppliers), 10, check)
    assert seen == {"together", "apart"}
