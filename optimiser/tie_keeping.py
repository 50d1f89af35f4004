"""Ties of one week, kept at the least loss once every block has done its best."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from optimiser.block import sure
from optimiser.lp import Row
from optimiser.solver import Values
from optimiser.tied import TIE_CENTS, Leaning, Member, breaks, cheapest, sharing, turned

if TYPE_CHECKING:
    from optimiser.block import Block
    from optimiser.blocks import Blocks

JOINED = -1
"""Stands for the blocks that are one because some settled columns are free again."""

LeaningKey = tuple[int, tuple[str, ...]]
"""A block, and the rows that it is asked to give."""


@dataclass
class Keeping:
    """The week of `values`, in which settled columns differ by `changes` from the menu at hand
    and those in `loose` are free; `values` are changed as ties are kept."""

    blocks: Blocks
    changes: Mapping[int, float]
    loose: frozenset[int]
    values: Values

    def keep_all(self, broken: Sequence[Row]) -> float | None:
        """Keep all ties, of which some are broken, at the least loss, which is returned; None if
        that takes more than to keep those.

        Where to keep them breaks others, these are guarded: if no more is lost so, nothing is
        better.
        """
        free = list(self.values)
        lost = self._keep(broken)
        hurt = self._broken()
        if lost is None or not hurt:
            return lost
        guards = [turned(row, self.values)[0] for row in hurt]
        self.values[:] = free
        guarded = self._keep(broken, guards)
        if guarded is None or guarded > lost + TIE_CENTS or self._broken():
            return None
        return guarded

    def _broken(self) -> list[Row]:
        return [row for row in self.blocks.ties if breaks(row, self.values)]

    def _keep(self, broken: Sequence[Row], guards: Sequence[Row] = ()) -> float | None:
        """The least loss at which these ties are kept; None if they cannot be. Ties that share
        no block are kept one by one. `guards`: rows of which no block may give less than now."""
        touched = [self._blocks_of(row) for row in broken]
        lost = 0.0
        for numbers in sharing(touched):
            ties = tuple(broken[n] for n in numbers)
            loss = self._keep_one(ties[0], guards) if len(ties) == 1 else None
            if loss is None and not guards:
                freed = any(JOINED in touched[n] for n in numbers)
                loss = self._keep_jointly(ties, self.loose if freed else frozenset())
            if loss is None:
                return None
            lost += loss
        return lost

    def _blocks_of(self, tie: Row) -> set[int]:
        """Numbers of the blocks that a tie touches; `JOINED` for all that `loose` makes one."""
        block_of = self.blocks.block_of
        numbers = {block_of[j] for j in tie.terms if j in block_of}
        absorbed = self.blocks.join(self.loose, ()).absorbed
        if numbers.isdisjoint(absorbed) and self.loose.isdisjoint(tie.terms):
            return numbers
        return (numbers - absorbed) | {JOINED}

    def _keep_jointly(self, ties: tuple[Row, ...], loose: frozenset[int]) -> float | None:
        """The same by one model of all blocks that these ties touch."""
        block = self.blocks.join(loose, ties).block
        if block is None:
            return None
        answer = block.answer(block.outside(self.blocks.held, self.changes))
        if answer is None:
            return None
        gain = self.blocks.lp.gain
        before = sum(gain[j] * self.values[j] for j in block.columns)
        block.put(self.values, answer[1])
        return before - answer[0]

    def _keep_one(self, tie: Row, guards: Sequence[Row]) -> float | None:
        """The same step by step; None, and nothing changed, if one model is the better way."""
        row, need = turned(tie, self.values)
        joined = self.blocks.join(self.loose, ())
        numbers = self._blocks_of(tie)
        own = sorted(numbers - {JOINED})
        blocks = [(self.blocks.blocks[n], self.blocks.outside_after(n, self.changes)) for n in own]
        if JOINED in numbers and joined.block is not None:
            outside = joined.block.outside(self.blocks.held, self.changes)
            blocks.append((joined.block, outside))
        try:
            frees = [sure(block.answer(outside)) for block, outside in blocks]
            members = [
                Member(self._leaning(block, row, guards), outside, free, need)
                for (block, outside), free in zip(blocks, frees, strict=True)
            ]
        except ValueError:
            return None
        steps = cheapest(members, need)
        if steps is None:
            return None
        for (block, _), step in zip(blocks, steps, strict=True):
            block.put(self.values, step.values)
        return sum(step.loss_cents for step in steps)

    def _leaning(self, block: Block, row: Row, guards: Sequence[Row]) -> Leaning:
        known = self.blocks.leaning
        key = id(block), tuple(one.name for one in (row, *guards))
        if key not in known:
            known[key] = (block, Leaning(block, row, guards))
        return known[key][1]
