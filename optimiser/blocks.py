"""The rest of a week once its menu is settled, in independent blocks.

With the cooks and the vans given, packs and pieces of one ingredient do not depend on
those of another: the model falls apart into blocks, each solved to the cent in a
millisecond or two and remembered by its numbers, so that the next question that meets
the same block (another menu, another price elsewhere) pays nothing for it.

What ties blocks together all the same (a supplier's minimum, a budget, the fridge) is left
out at first: the sum of the blocks is then at least what the week can earn, and exactly that if
the solution put together keeps every tie. `best` sees to that.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from copy import copy
from dataclasses import dataclass

import numpy as np

from optimiser.block import Answer, Block, Memory, sure
from optimiser.block_split import split
from optimiser.lp import Lp, Row
from optimiser.menu_rows import MenuRows
from optimiser.solver import Values
from optimiser.tie_keeping import Keeping, LeaningKey
from optimiser.tied import Leaning, breaks

Columns = frozenset[int]

Changes = Mapping[int, float]
"""By how much settled columns differ from the menu at hand."""


@dataclass(frozen=True)
class Joined:
    """Blocks that become one because settled columns are free again or a tie counts.

    `rows`: menu rows that it holds; `settled_gain`: what those columns earned before.
    """

    block: Block | None
    absorbed: frozenset[int]
    rows: frozenset[int]
    settled_gain: float


class Blocks:
    """All blocks of a model around one menu: `settled` gives the columns held and their values.

    Raises ValueError if not even that menu can be kept.
    """

    def __init__(self, lp: Lp, settled: dict[int, float], memory: Memory | None = None) -> None:
        self.lp, self.settled = lp, settled
        self._memory = memory or Memory()
        fixed = {j for j, high in enumerate(lp.high) if high is not None and lp.low[j] == high}
        self.held = {j: lp.low[j] for j in fixed if j not in settled} | settled
        self.blocks, menu_rows, self.ties = split(lp, self.held, self._memory)
        self.menu_rows = MenuRows(menu_rows, self.held)
        self.of: dict[int, list[int]] = defaultdict(list)
        for number, block in enumerate(self.blocks):
            for j in block.effects:
                self.of[j].append(number)
        self._outside = [block.outside(self.held, {}) for block in self.blocks]
        self.block_of = {j: n for n, block in enumerate(self.blocks) for j in block.columns}
        self._joined: dict[tuple[Columns, tuple[str, ...]], Joined] = {}
        self._gains: list[float] = []
        self.leaning: dict[LeaningKey, tuple[Block, Leaning]] = {}

    def with_gains(self, lp: Lp) -> Blocks:
        """The same menu where columns earn something else; blocks that do not are shared.

        `lp` has the columns and rows of this one's.
        """
        other = copy(self)
        other.lp, other._gains, other.leaning = lp, [], {}
        moved = {j for j, gain in enumerate(lp.gain) if gain != self.lp.gain[j]}
        other.blocks = [
            block if moved.isdisjoint(block.columns) else block.priced(lp) for block in self.blocks
        ]
        other._joined = {
            key: joined
            for key, joined in self._joined.items()
            if joined.block is None or moved.isdisjoint(joined.block.columns)
        }
        return other

    def waiving(self, waived: Callable[[Row], bool]) -> Blocks:
        """The same menu where some rows need not hold."""
        other = copy(self)
        other._joined, other._gains, other.leaning = {}, [], {}
        other.ties = [row for row in self.ties if not waived(row)]
        other.menu_rows = self.menu_rows.waiving(waived)
        other.blocks = [block.without(waived) for block in self.blocks]
        other._outside = [
            old if block is before else block.outside(self.held, {})
            for block, before, old in zip(other.blocks, self.blocks, self._outside, strict=True)
        ]
        return other

    # -- questions --------------------------------------------------------

    @property
    def kept(self) -> bool:
        """Whether the menu at hand fits all rows but the ties."""
        return next(self.menu_rows.broken({}), None) is None and None not in [
            block.answer(outside) for block, outside in zip(self.blocks, self._outside, strict=True)
        ]

    @property
    def margin(self) -> float:
        """The margin of the menu at hand in cents, ties left out. Raises ValueError."""
        settled = sum(self.lp.gain[j] * value for j, value in self.held.items())
        return self.lp.constant + sum(self.gains) + settled

    @property
    def gains(self) -> list[float]:
        """What each block earns with the menu at hand. Raises ValueError if one cannot."""
        if not self._gains:
            self._gains = [
                sure(block.answer(outside))[0]
                for block, outside in zip(self.blocks, self._outside, strict=True)
            ]
        return self._gains

    def gain(
        self,
        changes: Changes,
        loose: Columns = frozenset(),
        ties: tuple[Row, ...] = (),
    ) -> float | None:
        """Cents that these changes bring, of all ties only `ties` kept; None: they cannot be.

        `loose`: settled columns that may be chosen afresh.
        """
        joined = self.join(loose, ties)
        if next(self.menu_rows.broken(changes, joined.rows), None) is not None:
            return None
        total = sum(self.lp.gain[j] * change for j, change in changes.items())
        for number in self.touched(changes) - joined.absorbed:
            answer = self._answer(number, changes)
            if answer is None:
                return None
            total += answer[0] - self.gains[number]
        if joined.block is not None:
            answer = joined.block.answer(joined.block.outside(self.held, changes))
            if answer is None:
                return None
            total += answer[0] - sum(self.gains[n] for n in joined.absorbed) - joined.settled_gain
        return total

    def best(self, changes: Changes, loose: Columns = frozenset()) -> tuple[float, Values] | None:
        """Cents that these changes bring, all ties kept, and all columns of that week.

        Ties that the solution put together breaks are added until it breaks none.
        """
        ties: tuple[Row, ...] = ()
        while True:
            gain = self.gain(changes, loose, ties)
            if gain is None:
                return None
            values = self._values(changes, self.join(loose, ties))
            broken = [row for row in self.ties if breaks(row, values)]
            if not broken:
                return gain, values
            if not ties:
                lost = Keeping(self, changes, loose, values).keep_all(broken)
                if lost is not None:
                    return gain - lost, values
            ties = (*ties, *(row for row in broken if row not in ties))

    def empty_handed(self, changes: Changes) -> list[int]:
        """Numbers of the blocks in which nothing fits after these changes."""
        touched = sorted(self.touched(changes))
        return [n for n in touched if not self.blocks[n].fits(self.outside_after(n, changes))]

    def fits(self, number: int, changes: Changes, waived: Callable[[Row], bool]) -> bool:
        """Whether something fits in a block after these changes, some rows left out."""
        block = self.blocks[number].without(waived)
        return block.fits(block.outside(self.held, changes))

    # -- parts of the answers ---------------------------------------------

    def touched(self, changes: Changes) -> set[int]:
        """Numbers of the blocks that these changes matter to."""
        return {number for j in changes for number in self.of[j]}

    def _answer(self, number: int, changes: Changes) -> Answer:
        return self.blocks[number].answer(self.outside_after(number, changes))

    def outside_after(self, number: int, changes: Changes) -> np.ndarray:
        """What settled columns add to the rows of a block after these changes."""
        block = self.blocks[number]
        outside = self._outside[number].copy()
        for j, change in changes.items():
            for row, coefficient in block.effects.get(j, ()):
                outside[row] += coefficient * change
        return outside

    def join(self, loose: Columns, ties: tuple[Row, ...]) -> Joined:
        key = (loose, tuple(row.name for row in ties))
        if key not in self._joined:
            self._joined[key] = self._joined_block(loose, ties)
        return self._joined[key]

    def _joined_block(self, loose: Columns, ties: tuple[Row, ...]) -> Joined:
        """The block that holds these columns and rows and all that depends on them."""
        if not loose and not ties:
            return Joined(None, frozenset(), frozenset(), 0.0)
        tied = {self.block_of[j] for row in ties for j in row.terms if j in self.block_of}
        absorbed = frozenset(number for j in loose for number in self.of[j]) | tied
        rows = frozenset(number for j in loose for number in self.menu_rows.with_column(j))
        columns = sorted({j for n in absorbed for j in self.blocks[n].columns} | loose)
        own = [row for n in sorted(absorbed) for row in self.blocks[n].rows]
        own += [self.menu_rows.rows[n] for n in sorted(rows)]
        block = Block(self.lp, columns, [*own, *ties], self._memory)
        return Joined(block, absorbed, rows, sum(self.lp.gain[j] * self.held[j] for j in loose))

    def _values(self, changes: Changes, joined: Joined) -> Values:
        values = [0.0] * len(self.lp.names)
        for j, value in self.held.items():
            values[j] = value + changes.get(j, 0.0)
        for number, block in enumerate(self.blocks):
            if number not in joined.absorbed:
                block.put(values, sure(self._answer(number, changes))[1])
        if joined.block is not None:
            outside = joined.block.outside(self.held, changes)
            joined.block.put(values, sure(joined.block.answer(outside))[1])
        return values
