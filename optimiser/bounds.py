"""What a change of the menu brings at most, by its blocks in fractions."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from optimiser.block import Block
from optimiser.blocks import Blocks, Changes, Columns, Joined

ROUNDING_CENTS = 0.01
"""A bound is higher by so much than the solver says."""


class _Slope:
    """A block around the menu at hand, in fractions. `more_cents`: how much more it could bring
    than it does."""

    def __init__(self, block: Block, outside: np.ndarray, gain: float) -> None:
        most = block.at_most(outside)
        known = most is not None and not math.isinf(most[0])
        self.more_cents = most[0] - gain + ROUNDING_CENTS if known and most else math.inf
        self._per_row = most[1] if known and most else np.zeros(len(outside))
        self._effects = block.effects
        self._per_unit: dict[int, float] = {}

    def per_unit(self, column: int) -> float:
        """By how much that grows at most with a settled column."""
        if column not in self._per_unit:
            effects = self._effects.get(column, ())
            self._per_unit[column] = sum(float(self._per_row[row]) * c for row, c in effects)
        return self._per_unit[column]


@dataclass(frozen=True)
class _Part:
    """A block after a change, and what it earns in fractions; `number`: -1 for a joined one."""

    number: int
    block: Block
    outside: np.ndarray
    most: float


class Bounds:
    """Bounds on `Blocks.gain`: `rough` from the slopes around the menu at hand, at once; `close`
    from each block in fractions after the change, less than a millisecond a block.

    The menu at hand has to be kept.
    """

    def __init__(self, blocks: Blocks) -> None:
        self.blocks = blocks
        self._joined: dict[Columns, _Slope] = {}

    @cached_property
    def _slopes(self) -> list[_Slope]:
        blocks = self.blocks
        return [
            _Slope(block, blocks.outside_after(number, {}), gain)
            for number, (block, gain) in enumerate(zip(blocks.blocks, blocks.gains, strict=True))
        ]

    def rough(self, changes: Changes, loose: Columns = frozenset()) -> float:
        """Cents that these changes bring at most, ties left out, if menu rows allow them."""
        blocks = self.blocks
        joined = blocks.join(loose, ())
        total = sum(self._slopes[n].more_cents for n in blocks.touched(changes) - joined.absorbed)
        for j, change in changes.items():
            slopes = (self._slopes[n].per_unit(j) for n in blocks.of[j] if n not in joined.absorbed)
            total += (blocks.lp.gain[j] + sum(slopes)) * change
        if joined.block is not None:
            slope = self._slope_of(joined, joined.block, loose)
            total += slope.more_cents
            total += sum(slope.per_unit(j) * change for j, change in changes.items())
        return total

    def _slope_of(self, joined: Joined, block: Block, loose: Columns) -> _Slope:
        if loose not in self._joined:
            outside = block.outside(self.blocks.held, {})
            self._joined[loose] = _Slope(block, outside, self._before(joined))
        return self._joined[loose]

    def _before(self, joined: Joined) -> float:
        """What the joined blocks and the columns that are free in them earn now."""
        gains = self.blocks.gains
        return sum(gains[n] for n in joined.absorbed) + joined.settled_gain

    def close(
        self, changes: Changes, loose: Columns = frozenset(), enough: float = math.inf
    ) -> float:
        """The same, less far above; minus infinity if rows forbid the changes.

        One block after the other is solved whole instead, small ones first, until the sum falls
        below `enough`. Of one that does not fall below it, this is what the changes bring.
        """
        blocks = self.blocks
        joined = blocks.join(loose, ())
        if next(blocks.menu_rows.broken(changes, joined.rows), None) is not None:
            return -math.inf
        own = sum(blocks.lp.gain[j] * change for j, change in changes.items())
        parts = [self._part(n, changes) for n in blocks.touched(changes) - joined.absorbed]
        own -= sum(blocks.gains[part.number] for part in parts)
        if joined.block is not None:
            own -= self._before(joined)
            outside = joined.block.outside(blocks.held, changes)
            parts.append(_Part(-1, joined.block, outside, _most(joined.block, outside)))
        parts.sort(key=_size)
        earned = [part.most for part in parts]
        for place, part in enumerate(parts):
            if own + sum(earned) < enough:
                break
            answer = part.block.answer(part.outside)
            earned[place] = -math.inf if answer is None else answer[0]
        return own + sum(earned)

    def _part(self, number: int, changes: Changes) -> _Part:
        block, outside = self.blocks.blocks[number], self.blocks.outside_after(number, changes)
        return _Part(number, block, outside, _most(block, outside))


def _most(block: Block, outside: np.ndarray) -> float:
    most = block.at_most(outside)
    return -math.inf if most is None else most[0] + ROUNDING_CENTS


def _size(part: _Part) -> tuple[int, int]:
    return len(part.block.columns), part.number
