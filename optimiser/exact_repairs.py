"""The cheapest ways out of an impossible week, proven cheapest where time allows.

A repair is the set of rules that give in a found week. The cheapest of all is looked for,
then the next one with one giving rule of an earlier one held firm, each in turn (a hitting-set
tree), first rule by rule, so that choices differ, then by day or dish.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Callable, Iterable
from itertools import count

from optimiser.deadlines import part_of
from optimiser.elastic import Elastic
from optimiser.giving import Columns, Give, Mend
from optimiser.kept_repairs import KeptRepairs, fine_atom
from optimiser.repair_choice import Atom
from optimiser.solver import Values
from optimiser.supports import MOST_RULES

LEAST_PATIENCE = 1 / 3
"""Fraction of the time left for one suspect, however many there are."""


class ExactRepairs:
    """A search for the cheapest repairs, kept in `kept`."""

    def __init__(self, kept: KeptRepairs) -> None:
        self.kept = kept
        self.elastic: Elastic = kept.elastic
        self._until = 0.0
        self._looked: dict[Columns, Mend | None] = {}

    def look_for(self, suspects: Iterable[int], firm: Columns, until: float) -> None:
        """The cheapest of all, proven if time allows, and others.

        Letting one suspect give is the quicker question; then any rules may; and where
        that is too little, places in the cabinet.
        """
        self._until = until
        alone = [firm | (self.elastic.gives.keys() - self.elastic.of_parts([p])) for p in suspects]
        for left, here in zip(range(len(alone), 0, -1), alone, strict=True):
            self._look(here, max(1 / (left + 1), LEAST_PATIENCE), self.kept.start(here))
        mend = self._look(firm, start=self.kept.start(firm))
        if mend is not None and mend.least:
            self.kept.least_pct = mend.pct
        self._tree([firm], lambda give: (give.part, ""))
        self._tree([firm, *alone], lambda give: fine_atom(self.elastic, give))
        if not self.kept.enough():
            self._look(self.elastic.rule_columns)

    def _look(
        self, firm: Columns, patience: float = 0.5, start: Values | None = None
    ) -> Mend | None:
        """The cheapest week with these columns firm; verified, it becomes a repair.

        `patience`: fraction of the time left to spend on it.
        """
        if firm in self._looked:
            return self._looked[firm]
        mend = self.elastic.cheapest(firm, part_of(self._until, patience), start)
        self._looked[firm] = mend
        if mend is not None:
            self.kept.take(mend)
        return mend

    def _tree(self, roots: list[Columns], atom_of: Callable[[Give], Atom]) -> None:
        """Hold firm one atom of each found repair after the other, cheapest repair first."""
        columns_of: dict[Atom, set[int]] = defaultdict(set)
        for column, give in self.elastic.gives.items():
            columns_of[atom_of(give)].add(column)
        order = count()
        queue = [(0.0, next(order), firm) for firm in roots]
        seen = set(roots)
        while queue and not self.kept.enough() and not self.elastic.over(self._until):
            _, _, here = heapq.heappop(queue)
            mend = self._look(here)
            if mend is None:
                continue
            if not mend.least and len(self.elastic.parts_of(mend.broken)) > MOST_RULES:
                return  # too large a week for this: neither cheapest nor what one would read
            for atom in sorted({atom_of(self.elastic.gives[c]) for c in mend.broken}):
                child = here | columns_of[atom]
                if child not in seen and not self.elastic.impossible(child):
                    seen.add(child)
                    heapq.heappush(queue, (mend.pct, next(order), child))
