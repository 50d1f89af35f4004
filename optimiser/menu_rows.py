"""Rows of a model that hold settled columns only: whether a change of the menu breaks them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from copy import copy
from dataclasses import replace

from optimiser.block import TOLERANCE
from optimiser.lp import Row


class MenuRows:
    """`held`: the settled columns of the menu at hand and their values."""

    def __init__(self, rows: Sequence[Row], held: Mapping[int, float]) -> None:
        self.rows = list(rows)
        self._sums = [sum(c * held[j] for j, c in row.terms.items()) for row in rows]
        self._of: dict[int, list[tuple[int, float]]] = defaultdict(list)
        for number, row in enumerate(rows):
            for j, c in row.terms.items():
                self._of[j].append((number, c))

    def waiving(self, waived: Callable[[Row], bool]) -> MenuRows:
        """The same rows, of which some need not hold."""
        other = copy(self)
        other.rows = [replace(r, low=None, high=None) if waived(r) else r for r in self.rows]
        return other

    def with_column(self, column: int) -> list[int]:
        """Numbers of the rows in which a column stands."""
        return [number for number, _ in self._of.get(column, ())]

    def broken(
        self, changes: Mapping[int, float], but: frozenset[int] = frozenset()
    ) -> Iterator[int]:
        """Numbers of the rows that these changes break, some rows left out. Without changes all
        rows are looked at, with some only those that they move."""
        moved: dict[int, float] = defaultdict(float)
        for j, change in changes.items():
            for number, coefficient in self._of.get(j, ()):
                moved[number] += coefficient * change
        for number in moved if changes else range(len(self.rows)):
            row, total = self.rows[number], self._sums[number] + moved[number]
            over = row.high is not None and total > row.high + TOLERANCE
            under = row.low is not None and total < row.low - TOLERANCE
            if (over or under) and number not in but:
                yield number
