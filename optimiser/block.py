"""One independent block of a week: a small model, solved for whatever is settled around it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from copy import copy
from dataclasses import dataclass, field
from itertools import count

import numpy as np

from optimiser.lp import Lp, Row
from optimiser.small_solver import SmallRelaxed, SmallSolver
from optimiser.solver import Values

TOLERANCE = 1e-6

Answer = tuple[float, Values] | None
"""Gain in cents and values of a block's columns; None: nothing fits."""


Most = tuple[float, np.ndarray]
"""Gain in fractions, and by how much it grows at most with what comes from outside, by row."""


@dataclass
class Memory:
    """Answers of blocks by their numbers; may be shared by models of one cafe and by threads."""

    numbers: dict[tuple[object, ...], int] = field(default_factory=dict)
    next_number: Iterator[int] = field(default_factory=count)
    answers: dict[tuple[int, tuple[float, ...]], Answer] = field(default_factory=dict)
    fits: dict[tuple[int, tuple[float, ...]], bool] = field(default_factory=dict)
    most: dict[tuple[int, bytes], Most | None] = field(default_factory=dict)

    def number(self, signature: tuple[object, ...]) -> int:
        """The same for blocks of the same numbers, whichever thread asks."""
        return self.numbers.setdefault(signature, next(self.next_number))


class Block:
    """Columns that depend on each other only, with the rows among them."""

    def __init__(self, lp: Lp, columns: list[int], rows: list[Row], memory: Memory) -> None:
        self.columns, self.rows = columns, rows
        self._lp, self._memory = lp, memory
        place = {j: n for n, j in enumerate(columns)}
        self._inside = [{place[j]: c for j, c in r.terms.items() if j in place} for r in rows]
        self.effects: dict[int, list[tuple[int, float]]] = defaultdict(list)
        for number, row in enumerate(rows):
            for j, c in row.terms.items():
                if j not in place:
                    self.effects[j].append((number, c))
        self._low = np.array([-math.inf if r.low is None else r.low for r in rows])
        self._high = np.array([math.inf if r.high is None else r.high for r in rows])
        self._number = memory.number(self._signature())
        self._solver: SmallSolver | None = None
        self._relaxed: SmallRelaxed | None = None

    def priced(self, lp: Lp) -> Block:
        """The same block where its columns earn something else."""
        other = copy(self)
        other._lp, other._solver, other._relaxed = lp, None, None
        other._number = self._memory.number(other._signature())
        return other

    def without(self, waived: Callable[[Row], bool]) -> Block:
        """The same block with some of its rows left out."""
        rows = [row for row in self.rows if not waived(row)]
        if len(rows) == len(self.rows):
            return self
        return Block(self._lp, self.columns, rows, self._memory)

    def with_row(self, row: Row) -> Block:
        """The same block with one row more, put last."""
        return Block(self._lp, self.columns, [*self.rows, row], self._memory)

    def whole(self, column: int) -> bool:
        """Whether a column takes whole numbers only."""
        return self._lp.integer[column]

    def _signature(self) -> tuple[object, ...]:
        lp = self._lp
        columns = tuple((lp.gain[j], lp.low[j], lp.high[j], lp.integer[j]) for j in self.columns)
        rows = tuple(tuple(sorted(row.items())) for row in self._inside)
        return columns, rows, tuple(self._low), tuple(self._high)

    def outside(self, settled: Mapping[int, float], changes: Mapping[int, float]) -> np.ndarray:
        """What settled columns, changed by `changes`, add to each row."""
        total = np.zeros(len(self.rows))
        for j, effects in self.effects.items():
            if value := settled[j] + changes.get(j, 0.0):
                for number, coefficient in effects:
                    total[number] += coefficient * value
        return total

    def answer(self, outside: np.ndarray) -> Answer:
        """The best the block can do."""
        rounded = np.round(outside, 7)
        key = (self._number, tuple(rounded.tolist()))
        if key not in self._memory.answers:
            self._memory.answers[key] = self._solve(self._low - rounded, self._high - rounded)
        return self._memory.answers[key]

    def fits(self, outside: np.ndarray) -> bool:
        """Whether the block can do anything at all: quicker to find out than its best."""
        rounded = np.round(outside, 7)
        key = (self._number, tuple(rounded.tolist()))
        if key in self._memory.answers:
            return self._memory.answers[key] is not None
        if key not in self._memory.fits:
            self._memory.fits[key] = (
                self.at_most(rounded) is not None
                and self._solver_of().fits(self._low - rounded, self._high - rounded)
            )
        return self._memory.fits[key]

    def at_most(self, outside: np.ndarray) -> Most | None:
        """What the block can do in fractions: gain, and by how much that grows at most where a row
        gets one more from outside, by row. None if nothing fits even so."""
        key = self._number, outside.tobytes()
        if key not in self._memory.most:
            if self._relaxed is None:
                self._relaxed = SmallRelaxed(self._lp, self.columns, self._inside)
            low, high = self._low - outside, self._high - outside
            self._memory.most[key] = self._relaxed.solve(low, high)
        return self._memory.most[key]

    def _solver_of(self) -> SmallSolver:
        if self._solver is None:
            self._solver = SmallSolver(self._lp, self.columns, self._inside)
        return self._solver

    def _solve(self, low: np.ndarray, high: np.ndarray) -> Answer:
        if len(self.columns) == 1 and not self._lp.integer[self.columns[0]]:
            return self._one_column(low, high)
        return self._solver_of().solve(low, high)

    def put(self, values: Values, own: Values) -> None:
        """Write the values of its columns among those of all."""
        for j, value in zip(self.columns, own, strict=True):
            values[j] = value

    def _one_column(self, low: np.ndarray, high: np.ndarray) -> Answer:
        """A single continuous column goes as far as its rows let it."""
        lp, j = self._lp, self.columns[0]
        least, limit = lp.low[j], lp.high[j]
        most = math.inf if limit is None else limit
        for row, row_low, row_high in zip(self._inside, low, high, strict=True):
            ends = sorted((row_low / row[0], row_high / row[0]))
            least, most = max(least, ends[0]), min(most, ends[1])
        if least > most + TOLERANCE:
            return None
        value = most if lp.gain[j] > 0 else least
        return lp.gain[j] * value, [float(value)]


def sure(answer: Answer) -> tuple[float, Values]:
    """An answer that is there. Raises ValueError if it is none."""
    if answer is None:
        raise ValueError("the menu cannot be kept: nothing fits in one of its blocks")
    return answer
