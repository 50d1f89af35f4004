"""Which columns of a model depend on each other."""

from __future__ import annotations

from collections.abc import Iterable


class Groups:
    """Sets of columns that are joined step by step."""

    def __init__(self, columns: Iterable[int]) -> None:
        self._above = {j: j for j in columns}

    def of(self, j: int) -> int:
        """The column that stands for the set of this one."""
        while self._above[j] != j:
            self._above[j] = self._above[self._above[j]]
            j = self._above[j]
        return j

    def join(self, columns: list[int]) -> None:
        """Make one set of those that these are in."""
        for a, b in zip(columns, columns[1:], strict=False):
            self._above[self.of(a)] = self.of(b)
