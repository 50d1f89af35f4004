"""Rows across many blocks (a van's minimum, a budget), kept at the least loss.

Rows that share no block are kept one by one. Without the row each block does its best. What a
block loses by giving the row a little more is asked step by step; of all blocks' steps those are
picked that together are enough and lose least. Most of the steps are remembered from earlier
questions, where the blocks solved as one model would start from nothing.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass

import numpy as np

from optimiser.block import TOLERANCE, Block
from optimiser.groups import Groups
from optimiser.lp import Row
from optimiser.solver import Values

STEP = 1e-3
"""By how much more a block is asked to give, in units of the row; less is a matter of rounding."""

TIE_CENTS = 1e-5
"""A row broken by less is a matter of rounding."""

MOST_PICKS = 5000
"""Beyond so many ways to pick steps one model of all blocks is quicker."""

LOSSES_CENTS = (0.01, 50.0, 100.0, 200.0, 400.0, 800.0)
"""Up to which loss steps are looked at, one after the other: the first that is enough is best
of all. A greater one is left to one model."""


@dataclass(frozen=True)
class Step:
    """What a block can do: `more` of the row than it gives freely, losing so many cents."""

    more: float
    loss_cents: float
    values: Values


Steps = list[Step]
Pick = tuple[float, float, tuple[int, ...]]
"""What it gives, what it loses, and which step of each block."""


class Leaning:
    """A block that is asked to give one row more. `row`: more of it is better.

    `guards`: rows of which it has to give what it gives freely, all turned as `row` is.
    Raises ValueError if columns that are not whole take part: its steps would have no end.
    """

    def __init__(self, block: Block, row: Row, guards: Sequence[Row] = ()) -> None:
        self._rows = [_own(block, one) for one in (row, *guards)]
        for one in self._rows:
            block = block.with_row(one)
        self._block, self._place = block, {j: n for n, j in enumerate(block.columns)}
        if not all(block.whole(j) for j in self._rows[0].terms):
            raise ValueError(f"{row.name}: something in it may be bought in any amount")

    def gives(self, values: Values) -> float:
        """How much of the row these values give."""
        return self._given(values)[0]

    def _given(self, values: Values) -> list[float]:
        return [sum(c * values[self._place[j]] for j, c in r.terms.items()) for r in self._rows]

    def at_least(self, outside: np.ndarray, free: tuple[float, Values], more: float) -> Step | None:
        """The least that is lost where `more` is given than freely."""
        given, *guarded = self._given(free[1])
        needs = [-(given + more), *(-amount for amount in guarded)]
        answer = self._block.answer(np.append(outside, needs))
        if answer is None:
            return None
        return Step(self.gives(answer[1]) - given, free[0] - answer[0], answer[1])


def _own(block: Block, row: Row) -> Row:
    """What a block gives of a row, to be at least what is asked."""
    return Row(row.name, {j: row.terms[j] for j in block.columns if j in row.terms}, 0.0, None)


class Member:
    """A block with what settled columns add to its rows, and the best it does freely."""

    def __init__(
        self, leaning: Leaning, outside: np.ndarray, free: tuple[float, Values], need: float
    ) -> None:
        self._leaning, self._outside, self._free, self._need = leaning, outside, free, need
        self._known = [Step(0.0, 0.0, free[1])]
        self._ended = False

    def steps(self, most_loss: float) -> Steps:
        """What it can give at no greater loss, one giving more and losing more than the other."""
        while not self._ended and self._known[-1].loss_cents <= most_loss:
            more = self._known[-1].more + STEP
            step = self._leaning.at_least(self._outside, self._free, more)
            if more >= self._need or step is None:
                self._ended = True
            else:
                self._known.append(step)
        return [step for step in self._known if step.loss_cents <= most_loss]


def cheapest(members: Sequence[Member], need: float) -> list[Step] | None:
    """A step of each member, together giving `need` more at the least loss.

    None if that is too much to work out.
    """
    for most_loss in LOSSES_CENTS:
        choices = [member.steps(most_loss) for member in members]
        picked = _pick(choices, need, most_loss)
        if picked is None:
            return None
        if picked:
            return [steps[number] for steps, number in zip(choices, picked, strict=True)]
    return None


def _pick(choices: Sequence[Steps], need: float, most_loss: float) -> tuple[int, ...] | None:
    """Which step of each gives enough at the least loss; empty if none does, None if there are
    too many ways."""
    picks: list[Pick] = [(0.0, 0.0, ())]
    for steps in choices:
        wider = [
            (min(more + step.more, need), loss + step.loss_cents, (*numbers, number))
            for more, loss, numbers in picks
            for number, step in enumerate(steps)
            if loss + step.loss_cents <= most_loss
        ]
        picks = _undominated(wider)
        if len(picks) > MOST_PICKS:
            return None
    enough = [pick for pick in picks if pick[0] >= need - TOLERANCE]
    return min(enough, key=lambda pick: pick[1])[2] if enough else ()


def _undominated(picks: list[Pick]) -> list[Pick]:
    """Without picks that give no more than another that loses no more."""
    kept: list[Pick] = []
    for pick in sorted(picks, key=lambda pick: (pick[1], -pick[0])):
        if not kept or pick[0] > kept[-1][0]:
            kept.append(pick)
    return kept


def _total(row: Row, values: Values) -> float:
    return sum(c * values[j] for j, c in row.terms.items())


def turned(row: Row, values: Values) -> tuple[Row, float]:
    """A broken row, turned so that more of it is better, and how much more it needs."""
    total = _total(row, values)
    if row.high is not None and total > row.high:
        less = {j: -c for j, c in row.terms.items()}
        return Row(f"less__{row.name}", less, None, None), total - row.high
    assert row.low is not None, f"{row.name} is not broken"
    return Row(row.name, row.terms, None, None), row.low - total


def breaks(row: Row, values: Values) -> bool:
    total = _total(row, values)
    over = row.high is not None and total > row.high + TIE_CENTS
    return over or (row.low is not None and total < row.low - TIE_CENTS)


def sharing(blocks: Sequence[Set[int]]) -> list[list[int]]:
    """Rows that share blocks put together: `blocks` are the numbers of those that each touches."""
    groups = Groups(range(len(blocks)))
    first: dict[int, int] = {}
    for row, touched in enumerate(blocks):
        for number in touched:
            groups.join([first.setdefault(number, row), row])
    together: dict[int, list[int]] = {}
    for row in range(len(blocks)):
        together.setdefault(groups.of(row), []).append(row)
    return list(together.values())
