"""The cheapest ways out of an impossible week, each shown by a week that the verifier passed.

A repair is the set of rules that give in a found week. The next one is looked for
with one giving rule of an earlier one held firm, each in turn (a hitting-set tree),
first rule by rule, so that choices differ, then by day or dish.
"""

from __future__ import annotations

import heapq
import time
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date
from itertools import count

from optimiser.elastic import GAP_PCT, SLOTS, Columns, Elastic, Give, Mend
from optimiser.plan import Breach, Plan
from optimiser.planner import finished
from optimiser.repair_words import Change, changes_of, grouped
from optimiser.rules.spacing import Spacing
from optimiser.rules.variety import WeeklyCap
from optimiser.rules.words import dish_word
from optimiser.solver import Values
from optimiser.verify import verify

LEAST_PATIENCE = 1 / 3
"""Fraction of the time left for one suspect, however many there are."""

Atom = tuple[int, str]


@dataclass(frozen=True)
class Repair:
    """Changes after which `plan` is a week that keeps every rule.

    `given_up_pct` adds up which part of each rule is given up, 100 a whole rule;
    `least`: proven that no set of changes gives up less.
    """

    changes: tuple[Change, ...]
    given_up_pct: float
    least: bool
    plan: Plan

    def sentence(self) -> str:
        """All changes, each with its rule's title."""
        return "; ".join(f"{change.title}: {change.sentence}" for change in self.changes)


def find_repairs(
    elastic: Elastic, suspects: Iterable[int], firm: Columns, until: float, want: int = 3
) -> tuple[Repair, ...]:
    """At least `want` repairs where time and the week allow, cheapest first.

    `suspects`: parts of which one has to give; `firm`: columns that may never give.
    Letting one suspect give is the quicker question; then any rules may.
    """
    search = _Search(elastic, until, want)
    alone = [
        firm | {c for c, give in elastic.gives.items() if give.part != part} for part in suspects
    ]
    for left, here in zip(range(len(alone), 0, -1), alone, strict=True):
        search.look(here, max(1 / (left + 1), LEAST_PATIENCE))
    search.root(firm)
    search.tree([firm], lambda give: (give.part, ""))
    search.tree([firm, *alone], lambda give: _fine_atom(elastic, give))
    return search.repairs()


class _Search:
    def __init__(self, elastic: Elastic, until: float, want: int) -> None:
        self.elastic, self.until, self.want = elastic, until, want
        self._looked: dict[Columns, Mend | None] = {}
        self._found: dict[frozenset[Atom], Repair] = {}
        self._least_pct: float | None = None

    def repairs(self) -> tuple[Repair, ...]:
        """Cheapest first, without those that only add to another, none said twice."""
        least_pct = -1.0 if self._least_pct is None else self._least_pct + 2 * GAP_PCT
        said: dict[str, Repair] = {}
        for atoms, repair in sorted(self._found.items(), key=lambda f: f[1].given_up_pct):
            if not any(other < atoms for other in self._found):
                least = repair.given_up_pct <= least_pct
                said.setdefault(repair.sentence(), replace(repair, least=least))
        return tuple(said.values())

    def look(
        self, firm: Columns, patience: float = 0.5, start: Values | None = None
    ) -> Mend | None:
        """The cheapest week with these columns firm; verified, it becomes a repair.

        `patience`: fraction of the time left to spend on it.
        """
        if firm in self._looked:
            return self._looked[firm]
        now = time.monotonic()
        mend = self.elastic.cheapest(firm, now + (self.until - now) * patience, start)
        self._looked[firm] = mend
        if mend is None:
            return None
        atoms = frozenset(_fine_atom(self.elastic, self.elastic.gives[c]) for c in mend.broken)
        old = self._found.get(atoms)
        if old is None or mend.pct < old.given_up_pct - GAP_PCT:
            repair = self._verified(mend)
            if repair is not None:
                self._found[atoms] = repair
        return mend

    def root(self, firm: Columns) -> None:
        """The cheapest of all repairs; a cheap one found before is a start."""
        known = [mend for mend in self._looked.values() if mend is not None]
        best = min(known, key=lambda mend: mend.pct, default=None)
        mend = self.look(firm, start=best.values if best else None)
        if mend is not None and mend.least:
            self._least_pct = mend.pct

    def tree(self, roots: list[Columns], atom_of: Callable[[Give], Atom]) -> None:
        """Hold firm one atom of each found repair after the other, cheapest repair first."""
        columns_of: dict[Atom, set[int]] = defaultdict(set)
        for column, give in self.elastic.gives.items():
            columns_of[atom_of(give)].add(column)
        order = count()
        queue = [(0.0, next(order), firm) for firm in roots]
        seen = set(roots)
        while queue and len(self.repairs()) < self.want and time.monotonic() < self.until:
            _, _, here = heapq.heappop(queue)
            mend = self.look(here)
            if mend is None:
                continue
            for atom in sorted({atom_of(self.elastic.gives[c]) for c in mend.broken}):
                child = here | columns_of[atom]
                if child not in seen and not self.elastic.impossible(child):
                    seen.add(child)
                    heapq.heappush(queue, (mend.pct, next(order), child))

    def _verified(self, mend: Mend) -> Repair | None:
        """The repair, if an independent check finds nothing else wrong with its week."""
        elastic = self.elastic
        plan = finished(elastic.model, mend.values)
        empty = {
            (give.item, give.day): round(mend.values[c])
            for c in mend.broken & elastic.places
            for give in [elastic.gives[c]]
        }
        wrong = [b for b in verify(plan, elastic.week).breaches if not _expected(b, empty)]
        if wrong:
            return None
        changes = [_fewer_places(elastic, give, mend) for give in _empty(elastic, mend)]
        for part in elastic.parts:
            changes += changes_of(part.number, part.rule, plan, elastic.week.cafe)
        return Repair(tuple(changes), mend.pct, False, plan)


def _fine_atom(elastic: Elastic, give: Give) -> Atom:
    """A dish of a rule that looks across days, else a day, else an item."""
    if give.part == SLOTS:
        return give.part, f"{give.item} {give.day}"
    across = isinstance(elastic.parts[give.part].rule, Spacing | WeeklyCap)
    return give.part, give.item if across or give.day is None else give.day.isoformat()


def _expected(breach: Breach, empty: dict[tuple[str, date | None], int]) -> bool:
    """Whether the verifier only says that a place stays empty which we left empty."""
    return breach.rule == "menu" and empty.get((breach.item or "", breach.day)) == breach.amount


def _empty(elastic: Elastic, mend: Mend) -> list[Give]:
    return [elastic.gives[c] for c in sorted(mend.broken & elastic.places)]


def _fewer_places(elastic: Elastic, give: Give, mend: Mend) -> Change:
    slots = elastic.week.cafe.courses[give.item].slots
    filled = slots - round(mend.values[give.column])
    phrase = f"{filled} {dish_word(give.item, filled)} instead of {slots}"
    return grouped(None, "slots", "Places in the cabinet", [(phrase, give.day)])[0]
